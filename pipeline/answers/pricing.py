"""Her sheet, priced: every piece estimated, our columns beside hers, the evidence behind them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow as pa

from pipeline.answers.buying import MarketTerms
from pipeline.answers.estimate import Estimator
from pipeline.answers.pricing_evidence import NOTES, Comparables, Notes
from pipeline.answers.selling import Selling, read_selling
from pipeline.answers.sheet import (
    FilledColumn,
    Link,
    SheetReader,
    Understood,
    fill_sheet,
    new_sheet,
    open_sheet,
)
from pipeline.answers.sheet.assumptions import assumptions_sheet, money_columns, terms_from_sheet
from pipeline.answers.sheet.fill import Filled
from pipeline.answers.sheet.output import check_target
from pipeline.progress import Progress, Silent
from pipeline.terms.size_words import with_unit_of
from pipeline.workspace import Workspace

COMPARABLES = "comparables"
HEADERS = (
    "understood as", "low (P10)", "value", "high (P90)", "number of sales", "newest sale",
    "evidence", "expected price", "highest price to pay", "break-even price",
    "chance of clearing costs", "decision", "cautions", "why",
)  # fmt: skip
_ITEM_FIELDS = (
    "description", "category", "material", "period", "condition", "maker", "size", "faults",
    "quantity",
)  # fmt: skip
_TOLD = (
    "market", "currency", "basis", "as_of", "refresh_id", "method_version", "low_amount",
    "value_amount", "high_amount", "n_sales", "newest_sold_on", "evidence", "cautions",
    "understood", "not_understood", "why",
)  # fmt: skip
AT_ONCE = 1_000  # pieces that are estimated together: what lies behind a figure is bulky
PICKED = ("category", "material", "period", "condition")


@dataclass(frozen=True)
class Priced:
    """What was understood, and what was written; `filled` is None after a dry run."""

    understood: Understood
    filled: Filled | None
    n_valued: int
    decisions: dict[str, int]
    notes: list[str]


def priced_name(source: Path) -> Path:
    """The name of the filled copy beside a sheet."""
    return source.with_name(f"{source.stem}-priced{source.suffix}")


def price_sheet(
    workspace: Workspace,
    source: Path,
    target: Path | None = None,
    *,
    sheet_name: str | None = None,
    dry_run: bool = False,
    replace: bool = False,
    told: Callable[[Understood], None] = lambda understood: None,
    progress: Progress | None = None,
) -> Priced:
    """Estimate every piece of a sheet and write a filled copy of it.

    Args:
        target: the copy; None takes `priced_name`.
        sheet_name: which sheet; None takes the one that looks most like a list of pieces.
        dry_run: only say what is understood; nothing is written.
        replace: whether a file of the target's name may be replaced.
        told: is told what was understood, before the work begins.
        progress: is told of stages and pieces.

    Raises:
        SheetError: the sheet cannot be read or written, with sheet and cell.
        SettingsError: data/decisions/sheet.toml does not hold.
        WorkspaceError: nothing has been published, or no price model.
    """
    # sheet.toml is proved and the sheet read before the database is opened: both are quick
    mapping = read_selling(workspace, workspace.settings().basis.currency, "buyer").columns
    reader = open_sheet(source, mapping, sheet_name, HEADERS)
    told(reader.understood)
    if dry_run:
        return Priced(reader.understood, None, 0, {}, [])
    target = target or priced_name(source)
    check_target(target, reader.path, replace)
    progress = progress or Silent()  # from here on: drawn bars and what is told would mix
    estimator = Estimator(workspace)
    selling = read_selling(workspace, estimator.currency, estimator.basis)
    markets, notes = _markets(reader, selling, estimator.markets)
    names = [name for name in _ITEM_FIELDS if name in reader.items.column_names]
    items = reader.items.select(names).append_column("market", pa.array(markets, pa.string()))
    items = _with_units(items, reader)
    evidence = Comparables(COMPARABLES)
    pieces = _estimated(estimator, items, None if reader.kind == "csv" else evidence, progress)
    notes += evidence.notes()
    # the market of a piece decides its terms; a person may have changed them in an earlier copy
    terms = {
        market: terms_from_sheet(selling.terms_of(market), reader)
        for market in dict.fromkeys(piece["market"] for piece in pieces)
    }
    of_piece = [terms[piece["market"]] for piece in pieces]
    told_of = Notes(estimator, pieces, notes)
    columns, decisions = _columns(reader, pieces, of_piece, evidence.first_rows, told_of)
    extras = [
        evidence.sheet(),
        assumptions_sheet(list(dict.fromkeys(of_piece))),
        told_of.sheet(),
    ]
    progress.stage("writing the sheet")
    filled = fill_sheet(reader, target, columns, extras, replace=replace)
    n_valued = sum(piece["value_amount"] is not None for piece in pieces)
    return Priced(reader.understood, filled, n_valued, decisions, notes)


def _with_units(items: pa.Table, reader: SheetReader) -> pa.Table:
    """Sizes with the unit that the header of their column names."""
    header = next((h.text for h in reader.understood.columns if h.field == "size"), None)
    if header is None:
        return items
    sizes = with_unit_of(header, items["size"].to_pylist())
    place = items.column_names.index("size")
    return items.set_column(place, "size", pa.array(sizes, pa.string()))


def _estimated(
    estimator: Estimator, items: pa.Table, evidence: Comparables | None, progress: Progress
) -> list[dict[str, Any]]:
    """What the columns tell of each piece; the sales behind it go into the evidence, if any."""
    progress.stage("estimating", items.num_rows)
    descriptions = items["description"].to_pylist()
    pieces: list[dict[str, Any]] = []
    for start in range(0, items.num_rows, AT_ONCE):
        some = items.slice(start, AT_ONCE)
        with_sales = evidence is not None and not evidence.is_full
        found = estimator.estimate(some, with_sales=with_sales)
        if evidence is not None:
            for row in found.to_pylist():
                evidence.add(row, descriptions[len(evidence.first_rows)])
        pieces += found.select(_TOLD).to_pylist()
        progress.step(some.num_rows)
    return pieces


def empty_sheet(workspace: Workspace, target: Path) -> Path:
    """Make an empty sheet with pick-lists: what has sales, and the words of the vocabulary.

    Raises:
        SheetError: it cannot be written.
    """
    from pipeline.answers.lookup import vocabulary_of
    from pipeline.answers.query import connect

    vocabulary = vocabulary_of(workspace)
    lists = {kind: [c.pref_label for c in vocabulary.concepts(kind)] for kind in PICKED}
    if workspace.database.exists():
        with connect(workspace) as con:
            sold = con.execute(
                "SELECT c.pref_label FROM concepts AS c SEMI JOIN sales AS s "
                "ON c.concept_id = s.category_id AND s.is_comparable "
                "WHERE c.kind = 'category' ORDER BY c.pref_label"
            ).fetchall()
            markets = con.execute("SELECT DISTINCT market FROM sales ORDER BY market").fetchall()
        lists["category"] = [label for (label,) in sold] or lists["category"]
        lists["market"] = [market for (market,) in markets]
    return new_sheet(target, lists)


def _markets(
    reader: SheetReader, selling: Selling, known: Sequence[str]
) -> tuple[list[str | None], list[str]]:
    """The market of each piece, and a note for each name that no sales are known of."""
    by_name = {market.casefold(): market for market in known}
    usual = by_name.get(selling.terms[0].market.casefold(), known[0] if known else None)
    out: list[str | None] = []
    strange: dict[str, int] = {}
    for text in reader.items["market"].to_pylist():
        said = (text or "").strip()
        found = by_name.get(said.casefold(), usual)
        out.append(found)
        if said and said.casefold() not in by_name:
            strange[said] = strange.get(said, 0) + 1
    notes = [
        f"No sales are known of the market '{name}' ({n:,} piece{'s' * (n > 1)}): held against "
        f"'{usual}'. Markets with sales: {', '.join(known)}."
        for name, n in strange.items()
    ]
    return out, notes


def _columns(
    reader: SheetReader,
    pieces: list[dict[str, Any]],
    terms: list[MarketTerms],
    first_rows: list[int | None],
    notes: Notes,
) -> tuple[list[FilledColumn], dict[str, int]]:
    """Our columns in the order in which they are read, and how often each decision is."""

    def of(name: str) -> list[Any]:
        return [piece[name] for piece in pieces]

    money = {
        column.key: column
        for column in money_columns(
            reader, terms, of("low_amount"), of("value_amount"), of("high_amount")
        )
    }
    links = [None if row is None else Link("", COMPARABLES, f"A{row}") for row in first_rows]
    links = links or [None] * len(pieces)  # a text file holds no sheet to lead to
    # A caution in full is longer than any cell: the sheet names it and leads to the notes, where
    # it stands whole. A text file has no other place for it.
    raised = [piece["cautions"] for piece in pieces]
    if reader.kind == "csv":
        cautions, to_notes = [notes.in_full(ids) for ids in raised], None
    else:
        cautions = [notes.named(ids) for ids in raised]
        to_notes = [Link("", NOTES, f"A{notes.row_of(ids[0])}") if ids else None for ids in raised]
    understood = [
        piece["understood"] + (
            f" (told nothing: {', '.join(piece['not_understood'])})"
            if piece["not_understood"] else ""
        )
        for piece in pieces
    ]  # fmt: skip
    columns = [
        FilledColumn("understood", HEADERS[0], understood, width=60),
        money["low"], money["value"], money["high"],
        FilledColumn("n_sales", HEADERS[4], of("n_sales"), number_format="whole", width=16,
                     links=links),
        FilledColumn("newest", HEADERS[5], of("newest_sold_on"), number_format="date", width=12),
        FilledColumn("evidence", HEADERS[6], of("evidence"), width=10),
        money["expected"], money["highest"], money["break_even"], money["clearing"],
        money["decision"],
        FilledColumn("cautions", HEADERS[12], cautions, width=44, links=to_notes),
        FilledColumn("why", HEADERS[13], of("why"), width=60),
    ]  # fmt: skip
    decisions: dict[str, int] = {}
    for text in money["decision"].values:
        word = str(text).split(" down to ")[0]
        decisions[word] = decisions.get(word, 0) + 1
    return columns, decisions
