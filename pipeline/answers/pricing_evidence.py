"""The sheets that stand behind a priced sheet: the comparables of each piece, and the notes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pipeline.answers.estimate import Estimator
from pipeline.answers.estimate.grid import effects_alone_of
from pipeline.answers.sheet import ExtraSheet, Link, Shown
from pipeline.answers.sheet.cells import CellValue
from pipeline.answers.show import NO_APPRAISAL
from pipeline.answers.show_estimate import shown_differences

NOTES = "notes"
MOST_ROWS = 1_000_000  # a sheet of .xlsx ends at 1,048,576 (ECMA-376)
_HEADER = (
    "piece", "sold on", "market", "the sale", "key of the sale", "price", "adjusted price",
    "weight", "what differs",
)  # fmt: skip
_WIDTHS = (34.0, 12.0, 14.0, 50.0, 26.0, 12.0, 14.0, 9.0, 90.0)


def comparables_sheet(
    pieces: Sequence[dict[str, Any]], descriptions: Sequence[str | None], name: str
) -> tuple[ExtraSheet, list[int | None]]:
    """The sales behind each figure, a block a piece, and the first row of each block.

    A piece without a figure has no block (None). The weights and adjusted prices of a block,
    averaged geometrically and moved by the drift, give the piece's value.
    """
    rows: list[list[CellValue]] = [
        ["Comparables: the sales behind each figure, adjusted to the piece"], [NO_APPRAISAL], [],
        list(_HEADER),
    ]  # fmt: skip
    bold = {1, 4}
    first_rows: list[int | None] = []
    for item, piece in enumerate(pieces):
        block = _block(piece)
        if not block or len(rows) + len(block) > MOST_ROWS:
            first_rows.append(None)
            continue
        first_rows.append(len(rows) + 1)
        said = descriptions[item] if item < len(descriptions) else None
        for k, line in enumerate(block):
            start: CellValue = Link(said or f"piece {item + 1}", item=item) if k == 0 else ""
            rows.append([start, *line])
        rows.append([])
    return (
        ExtraSheet(
            name, rows, widths=_WIDTHS, bold_rows=frozenset(bold), freeze_below=4,
        ),
        first_rows,
    )  # fmt: skip


def notes_sheet(estimator: Estimator, piece: dict[str, Any], notes: Sequence[str]) -> ExtraSheet:
    """What the figures mean, where they come from, and what they are not."""
    of = "buyer's price before tax and shipping" if piece["basis"] == "buyer" else "seller's net"
    told: list[tuple[str, CellValue]] = [
        ("what a figure is", "value: half of such pieces bring less. low and high: one in ten "
         "bring less, one in ten more, so that eight in ten lie between."),
        ("what it is not", NO_APPRAISAL),
        ("basis", f"{piece['currency']}, {of}"),
        ("prices as of", Shown(piece["as_of"], "date")),
        ("refresh", f"{piece['refresh_id']}, made {estimator.refreshed_at:%Y-%m-%d}"),
        ("method", f"version {piece['method_version']}; {estimator.model.n_sales:,} sales"),
        ("evidence", "strong, fair, thin: by the sales of the same kind and attribution class; "
         "family, none: not enough of them, and no figure"),
        ("live columns", "expected price, highest price to pay, break-even price, chance and "
         "decision follow the sheet of assumptions"),
        ("cautions", "hints to check, never findings; local rules and licensed people decide"),
    ]  # fmt: skip
    rows: list[list[CellValue]] = [["Notes"], []]
    rows += [[name, value] for name, value in told]
    rows += [["to see to", note] for note in notes]
    return ExtraSheet(
        NOTES, rows, widths=(20.0, 110.0), bold_rows=frozenset({1}), wrap_columns=frozenset({2})
    )


def _block(piece: dict[str, Any]) -> list[list[CellValue]]:
    if piece["value_amount"] is None:
        return []
    block: list[list[CellValue]] = []
    for one in piece["comparables"]:
        differences = "; ".join(shown_differences(one))
        block.append(
            [
                Shown(one["sold_on"], "date"), one["market"], one["title_text"], one["sale_id"],
                Shown(one["sold_amount"], "money"), Shown(one["adjusted_amount"], "money"),
                Shown(one["weight"], "share"), differences,
            ]
        )  # fmt: skip
    effects, drift = effects_alone_of(piece["sum"])
    product = "; ".join(f"{s['what']} x {math.exp(s['log_effect']):.4g}" for s in piece["sum"])
    share = 1 - sum(one["weight"] for one in piece["comparables"])
    block.append(
        [None, None, "what the effects of all sales say", None, None, Shown(effects, "money"),
         Shown(share, "share"), product]
    )  # fmt: skip
    block.append(
        [None, None, "the value", None, None, Shown(piece["value_amount"], "money"), None,
         f"their weighted geometric mean, x {drift:.4g} for the drift of the newest sales"]
    )  # fmt: skip
    return block
