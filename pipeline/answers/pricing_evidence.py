"""The sheets that stand behind a priced sheet: the comparables of each piece, and the notes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from pipeline.answers.estimate import Estimator
from pipeline.answers.estimate.grid import effects_alone_of
from pipeline.answers.sheet import ExtraSheet, Link, Shown
from pipeline.answers.sheet.cells import CellValue
from pipeline.answers.show import NO_APPRAISAL
from pipeline.answers.show_estimate import caution_sentence, caution_text, shown_differences

NOTES = "notes"
WEIGH_NOTHING = (
    "what the effects say: the sales above foretell no better here, are shown, and weigh nothing"
)
# A sheet of .xlsx opens with 65,530 links at most (Microsoft: Excel specifications and limits), and
# a sheet of a million rows is none that a person looks through.
MOST_BLOCKS = 10_000
_HEADER = (
    "piece", "sold on", "market", "the sale", "key of the sale", "price", "adjusted price",
    "weight", "what differs",
)  # fmt: skip
_WIDTHS = (34.0, 12.0, 14.0, 50.0, 26.0, 12.0, 14.0, 9.0, 90.0)


class Comparables:
    """The sheet of sales behind the figures, made block by block: one a piece that has a figure.

    The weights and adjusted prices of a block, averaged geometrically and moved by the drift, give
    the piece's value.
    """

    def __init__(self, name: str) -> None:
        self._name = name
        self._rows: list[list[CellValue]] = [
            ["Comparables: the sales behind each figure, adjusted to the piece"], [NO_APPRAISAL],
            [], list(_HEADER),
        ]  # fmt: skip
        self.first_rows: list[int | None] = []  # of each piece, the first row of its block
        self._n_blocks = 0
        self.n_left_out = 0

    @property
    def is_full(self) -> bool:
        """Whether further pieces get no block."""
        return self._n_blocks >= MOST_BLOCKS

    def add(self, piece: dict[str, Any], description: str | None) -> None:
        """Add the block of the next piece of the sheet."""
        item = len(self.first_rows)
        if piece["value_amount"] is None or self.is_full:
            self.n_left_out += piece["value_amount"] is not None
            self.first_rows.append(None)
            return
        self.first_rows.append(len(self._rows) + 1)
        self._n_blocks += 1
        start: CellValue = Link(description or f"piece {item + 1}", item=item)
        for line in _block(piece):
            self._rows.append([start, *line])
            start = ""
        self._rows.append([])

    def sheet(self) -> ExtraSheet:
        """The sheet of what was added."""
        return ExtraSheet(
            self._name, self._rows, widths=_WIDTHS, bold_rows=frozenset({1, 4}), freeze_below=4
        )

    def notes(self) -> list[str]:
        """What a person should know of it."""
        if not self.n_left_out:
            return []
        return [
            f"The sheet of comparables holds the sales behind the first {MOST_BLOCKS:,} figures; "
            f"{self.n_left_out:,} figures further down are without. For their sales, price those "
            "rows in a sheet of their own, or ask `comparables estimate`."
        ]


class Notes:
    """The sheet of notes: what the figures mean, where they come from, what they are not, and the
    cautions that pieces raise, each in full."""

    def __init__(
        self, estimator: Estimator, pieces: Sequence[dict[str, Any]], notes: Sequence[str]
    ) -> None:
        vocabulary = estimator.reader.vocabulary
        raised = Counter(id_ for piece in pieces for id_ in piece["cautions"])
        self._cautions = {id_: vocabulary.concept("caution", id_) for id_ in sorted(raised)}
        self._rows: list[list[CellValue]] = [["Notes"], []]
        self._rows += [[name, value] for name, value in _meanings(estimator, pieces[0])]
        self._rows += [["to see to", note] for note in notes]
        self._first_of_cautions = len(self._rows) + 3
        if raised:
            self._rows += [[], ["Cautions", "what they say, and how many pieces raise them"]]
        for id_, caution in self._cautions.items():
            n = raised[id_]
            by = "1 piece" if n == 1 else f"{n:,} pieces"
            self._rows.append([caution.pref_label, f"{caution_text(caution)} ({by})"])

    def row_of(self, caution: str) -> int:
        """Where a caution stands."""
        return self._first_of_cautions + list(self._cautions).index(caution)

    def named(self, cautions: Sequence[str]) -> str:
        """The names of cautions."""
        return "; ".join(self._cautions[id_].pref_label for id_ in cautions)

    def in_full(self, cautions: Sequence[str]) -> str:
        """Cautions as they stand on the sheet."""
        return "; ".join(caution_sentence(self._cautions[id_]) for id_ in cautions)

    def sheet(self) -> ExtraSheet:
        """The sheet."""
        bold = {1, self._first_of_cautions - 1} if self._cautions else {1}
        return ExtraSheet(
            NOTES, self._rows, widths=(40.0, 110.0), bold_rows=frozenset(bold),
            wrap_columns=frozenset({1, 2}),
        )  # fmt: skip


def _meanings(estimator: Estimator, piece: dict[str, Any]) -> list[tuple[str, CellValue]]:
    of = "buyer's price before tax and shipping" if piece["basis"] == "buyer" else "seller's net"
    return [
        ("what a figure is", "value: half of such pieces bring less. low and high: one in ten "
         "bring less, one in ten more, so that eight in ten lie between."),
        ("what it is not", NO_APPRAISAL),
        ("basis", f"{piece['currency']}, {of}"),
        ("prices as of", f"{piece['as_of']}"),
        ("refresh", f"{piece['refresh_id']}, made {estimator.refreshed_at:%Y-%m-%d}"),
        ("method", f"version {piece['method_version']}; {estimator.model.n_sales:,} sales"),
        ("evidence", "strong, fair, thin: by the sales of the same kind and attribution class; "
         "family, none: not enough of them, and no figure"),
        ("live columns", "expected price, highest price to pay, break-even price, chance and "
         "decision follow the sheet of assumptions"),
        ("cautions", "hints to check, never findings; local rules and licensed people decide"),
    ]  # fmt: skip


def _block(piece: dict[str, Any]) -> list[list[CellValue]]:
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
    how = f"their weighted geometric mean, x {drift:.4g} for the drift of the newest sales"
    if share == 1:
        how = f"{WEIGH_NOTHING}; x {drift:.4g} for the drift of the newest sales"
    block.append(
        [None, None, "the value", None, None, Shown(piece["value_amount"], "money"), None, how]
    )  # fmt: skip
    return block
