"""From a sale back to the file and line it came from, with every change on the way."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import duckdb

from pipeline import reasons
from pipeline.answers.query import connect
from pipeline.columns import MEANINGS
from pipeline.errors import UsageError
from pipeline.exports.source import Source, load_source
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
        bands if sale["is_comparable"] else [],
    )  # fmt: skip


def _price_steps(
    workspace: Workspace, sale: dict[str, Any], source: Source
) -> list[tuple[str, str]]:
    """From the price as found to the price that bands compare, a line a step."""
    basis = workspace.settings().basis
    if sale["price_amount"] is None:
        return [("price as found", sale["price_text"] or "none")]
    steps = [
        ("price as found", f"{sale['price_text']}"),
        ("read as", f"{sale['price_amount']:,.2f} {sale['currency']}"),
        ("which means", sale["price_type"].replace("_", " ")),
    ]
    if source.price.premium is not None and sale["price_type"] == "hammer":
        steps.append(("buyer's premium", str(source.price.premium)))
    if sale["lot_amount"] is not None:
        what = {"buyer": "buyer's price before tax and shipping", "seller": "seller's net"}
        steps.append((what[basis.kind], f"{sale['lot_amount']:,.2f} {sale['currency']}"))
    if sale["rate"] is not None and sale["currency"] != basis.currency:
        steps.append(
            (f"rate of {sale['rate_on']}", f"1 {sale['currency']} = {sale['rate']:.6f} "
             f"{basis.currency}")
        )  # fmt: skip
    if sale["basis_amount"] is not None:
        steps.append(("on the basis", f"{sale['basis_amount']:,.2f} {basis.currency}"))
    pieces = sale["n_pieces"] if sale["n_pieces"] is not None else "not counted"
    steps.append(("lot", f"{sale['lot_kind']}, pieces: {pieces}"))
    if sale["compared_amount"] is not None:
        steps.append(
            ("what bands compare", f"{sale['compared_amount']:,.2f} {basis.currency} "
             f"({sale['set_size']})")
        )  # fmt: skip
    return steps


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
