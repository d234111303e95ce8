"""From a sale back to the file and line it came from, with every change on the way."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import duckdb
import pyarrow as pa

from pipeline import reasons
from pipeline.answers.query import connect
from pipeline.columns import MEANINGS
from pipeline.errors import UsageError
from pipeline.exports.source import Source, load_source
from pipeline.money.explain import ExplainedStep, Sale, explain_basis
from pipeline.money.rates import Rates, rates_with
from pipeline.money.real_money import RealMoney, real_money
from pipeline.settings import Settings
from pipeline.stages.price import read_stated
from pipeline.workspace import Workspace


@dataclass
class Explanation:
    """Everything that is known of one sale, in the order in which it came about."""

    sale: dict[str, Any]
    file: dict[str, Any]
    cells: list[tuple[str, str]]
    terms: list[dict[str, Any]]
    price_steps: list[tuple[str, str]]
    group: dict[str, Any] | None
    flags: list[tuple[str, str]]
    duplicates: list[dict[str, Any]]
    corrections: list[dict[str, Any]] = field(default_factory=list)
    bands: list[dict[str, Any]] = field(default_factory=list)


def explain(workspace: Workspace, sale_id: str) -> Explanation:
    """The whole way of one sale.

    Raises:
        UsageError: no sale has this key; says so if it was set aside or dropped as a duplicate.
    """
    con = connect(workspace)
    sale = _one(con, "SELECT * FROM sales WHERE sale_id = ?", [sale_id])
    if sale is None:
        raise _not_a_sale(con, sale_id)
    file = _one(con, "SELECT * FROM refresh_files WHERE file_id = ? AND status = 'read'",
                [sale["file_id"]]) or {}  # fmt: skip
    source = load_source(workspace.raw / sale["source_id"] / "source.toml")
    cells = [
        (source.header_of.get(meaning, "stated in source.toml"), str(sale[f"{meaning}_text"]))
        for meaning in MEANINGS
        if meaning != "listing_id" and sale.get(f"{meaning}_text") is not None
    ]
    cells += [(k, str(v)) for k, v in (sale["other_cells"] or {}).items()]
    terms = [
        row
        for kind in ("category", "material", "period", "condition", "attribution", "maker")
        if sale.get(f"{kind}_text")
        for row in _all(
            con, "SELECT * FROM term_matches WHERE kind = ? AND text = ?",
            [kind, sale[f"{kind}_text"]],
        )
    ]  # fmt: skip
    group = _one(con, "SELECT * FROM group_statistics WHERE group_id = ?", [sale["group_id"]])
    links = _all(
        con, "SELECT * FROM duplicates WHERE sale_id = ? ORDER BY file_id, line_number", [sale_id]
    )
    bands = _all(
        con,
        "SELECT * FROM price_bands WHERE category_id = ? AND attribution = ? AND set_size = ? "
        "AND condition IN (?, 'any') ORDER BY condition = 'any'",
        [sale["category_id"], sale["attribution"], sale["set_size"], sale["condition"]],
    )
    return Explanation(
        sale, file, cells, terms, _price_steps(workspace, sale, source), group,
        [(f, reasons.FLAGS[f]) for f in sale["flags"]], links,
        _all(
            con, "SELECT * FROM corrections WHERE sale_id = ? ORDER BY column_name", [sale_id]
        ),
        bands if sale["is_comparable"] else [],
    )  # fmt: skip


STEP_NAMES = {
    "text": "price as found",
    "amount": "read as",
    "pieces": "all pieces",
    "shipping": "shipping",
    "tax": "tax",
    "fees": "seller's fees",
    "premium": "buyer's premium",
    "basis": "on the basis",
    "rate": "rate of exchange",
    "per_piece": "one piece",
    "price_level": "in real terms",
}


def price_way(
    sale: dict[str, Any],
    source: Source,
    settings: Settings,
    rates: Rates,
    real: RealMoney | None = None,
) -> list[ExplainedStep]:
    """A sale's way from the text of its price to the price that bands compare, and real terms.

    Args:
        sale: a row of `sales`; its texts are read again by the functions that a refresh uses.
        source: what the source's prices mean.
        real: the price index, where the workspace has one.

    Returns:
        The steps in order; the last before "price_level" holds `compared_amount`, that one holds
        `real_amount`.
    """
    texts = {
        name: [sale[name.removesuffix("_text") if name == "listing_id_text" else name]]
        for name in (f"{meaning}_text" for meaning in MEANINGS)
    }
    said = read_stated(
        pa.table({name: pa.array(text, pa.string()) for name, text in texts.items()}), source
    ).to_pylist()[0]
    stated = Sale(
        text=sale["price_text"],
        terms=source.price,
        decimal_mark=source.decimal_mark or None,
        currency=said["default_currency"],
        price_type=said["price_type"],
        sold_on=sale["sold_on"],
        shipping_amount=said["shipping_amount"],
        tax_amount=said["tax_amount"],
        premium_amount=said["premium_amount"],
        premium_rate=said["premium_rate"],
        n_pieces=said["n_pieces"],
        is_each=said["is_each"],
        whole_lot=source.price_of == "lot",
    )
    return explain_basis(
        stated,
        basis=settings.basis.kind,
        to=settings.basis.currency,
        rates=rates,
        price_level=real.level if real else None,
        base_month=real.base_month if real else None,
    )


def _price_steps(
    workspace: Workspace, sale: dict[str, Any], source: Source
) -> list[tuple[str, str]]:
    """From the price as found to the price that bands compare, a line a step."""
    settings = workspace.settings()
    rates = rates_with(workspace.decisions / "rates.csv", settings.basis.max_rate_age_days)
    way = price_way(sale, source, settings, rates, real_money(settings.basis, workspace.decisions))
    steps = [(STEP_NAMES[s.name], s.sentence) for s in way if s.name != "price_level"]
    pieces = sale["n_pieces"] if sale["n_pieces"] is not None else "not counted"
    steps.append(("lot", f"{sale['lot_kind']}, pieces: {pieces}, compared as: {sale['set_size']}"))
    if sale["compared_amount"] is not None:
        compared = f"{sale['compared_amount']:,f} {settings.basis.currency}"
        steps.append(("what bands compare", compared))
    steps += [(STEP_NAMES[s.name], s.sentence) for s in way if s.name == "price_level"]
    last = [s.amount for s in way if s.name != "price_level"][-1]
    if last != sale["compared_amount"]:
        steps.append(
            ("note", "The settings, the source or the rates have changed since the last refresh; "
             "refresh to bring the table up to them.")
        )  # fmt: skip
    return steps + [("note", reasons.NOTES[name]) for name in sale["notes"]]


def _not_a_sale(con: duckdb.DuckDBPyConnection, sale_id: str) -> UsageError:
    kept = _one(
        con, "SELECT sale_id, reason FROM duplicates WHERE other_sale_id = ? AND is_dropped",
        [sale_id],
    )  # fmt: skip
    if kept:
        return UsageError(
            f"{sale_id} is no sale of its own: {reasons.LINKS[kept['reason']]}",
            todo=f"Run `comparables explain {kept['sale_id']}`.",
        )
    return UsageError(
        f"No sale has the key '{sale_id}'.",
        todo='`comparables sql "SELECT sale_id FROM sales LIMIT 5"` shows keys.',
    )


def _all(con: duckdb.DuckDBPyConnection, query: str, values: list[Any]) -> list[dict[str, Any]]:
    result = con.execute(query, values)
    names = [d[0] for d in result.description or []]
    return [dict(zip(names, row, strict=True)) for row in result.fetchall()]


def _one(con: duckdb.DuckDBPyConnection, query: str, values: list[Any]) -> dict[str, Any] | None:
    found = _all(con, query, values)
    return found[0] if found else None
