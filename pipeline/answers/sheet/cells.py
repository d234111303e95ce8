"""What goes into a sheet: values, formulas, links, the columns we add and the sheets we add."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

import numpy as np

from pipeline.errors import SheetError

MOST_ROWS = 1_048_576
MOST_COLUMNS = 16_384
LONGEST_TEXT = 32_767  # ECMA-376 part 1, 18.4: the longest text of one cell

NUMBER_FORMATS: Mapping[str, str] = {
    "text": "General",
    "money": "#,##0.00",
    "whole": "0",
    "share": "0.0%",
    "date": "yyyy-mm-dd",
    "figure": "0.000",
}
"""Number formats by our name; the values are spreadsheet format codes."""


class Cell(NamedTuple):
    """One cell that was read.

    `kind` is `text`, `number`, `date` (value: ISO text), `truth`, `error` (value: its code) or
    `uncalculated` (a formula that no program has calculated yet).
    """

    column: int  # from 1
    kind: str
    value: str | float | None
    formula: str | None = None


class Span(NamedTuple):
    """A rectangle of cells, first and last included, rows and columns from 1."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int


@dataclass(frozen=True)
class Formula:
    """A live formula and the value that we have computed for it.

    `template` is written in the English wording with commas; `{key}` stands for the cell of
    that column in the same row (or, in an extra sheet, `{B4}` for a cell of it) and
    `{key|0}` says what to put where the sheet has no such column.
    """

    template: str
    value: float | str | bool | None


@dataclass(frozen=True)
class Link:
    """Text that leads to another cell of the workbook.

    `sheet` is the name of an extra sheet, or None for the person's own sheet; there `item` (the
    position among the items that were read) may stand in place of `cell`.
    """

    text: str
    sheet: str | None = None
    cell: str = "A1"
    item: int | None = None


@dataclass(frozen=True)
class Shown:
    """A value with a number format of its own (a name out of `NUMBER_FORMATS`)."""

    value: float | dt.date | Formula | None
    number_format: str


Plain = None | str | float | int | bool | dt.date
CellValue = Plain | Formula | Link | Shown


@dataclass(frozen=True)
class FilledColumn:
    """A column that we add to the sheet, or update in it.

    `values` has one value an item. `formula` (a template, see `Formula`, or one an item, None
    for a plain value) makes the cells live, with the values as their cached results. `links`,
    where given, has one `Link` or None an item; the link's text gives way to the value.
    """

    key: str
    header: str
    values: Sequence[Plain]
    formula: str | Sequence[str | None] | None = None
    number_format: str = "text"
    width: float = 12.0
    links: Sequence[Link | None] | None = None
    wrap: bool = False

    def value(self, item: int) -> Plain:
        """The value of an item, as a cell can hold it."""
        return holdable(self.values[item])

    def template(self, item: int) -> str | None:
        """The formula's template of an item."""
        if self.formula is None or isinstance(self.formula, str):
            return self.formula
        return self.formula[item]

    def __post_init__(self) -> None:
        if self.number_format not in NUMBER_FORMATS:
            raise SheetError(
                f"the column {self.header!r} asks for an unknown number format "
                f"{self.number_format!r}",
                todo=f"use one of {', '.join(NUMBER_FORMATS)}",
            )
        if isinstance(self.formula, list | tuple) and len(self.formula) != len(self.values):
            raise SheetError(
                f"the column {self.header!r} has {len(self.values)} values but "
                f"{len(self.formula)} formulas"
            )
        if self.links is not None and len(self.links) != len(self.values):
            raise SheetError(
                f"the column {self.header!r} has {len(self.values)} values but "
                f"{len(self.links)} links"
            )


@dataclass(frozen=True)
class ExtraSheet:
    """A whole sheet of ours: `rows[0]` is row 1, every row a sequence of cell values.

    `names` gives defined names to cells or ranges of it ("B4", "B4:B8"); `bold_rows` counts
    from 1; `pick_lists` maps a range of cells to the values that may be picked there.
    """

    name: str
    rows: Sequence[Sequence[CellValue]]
    names: Mapping[str, str] = field(default_factory=dict)
    widths: Sequence[float] = ()
    number_formats: Mapping[int, str] = field(default_factory=dict)  # column from 1 -> format
    bold_rows: frozenset[int] = frozenset({1})
    freeze_below: int | None = None
    wrap_columns: frozenset[int] = frozenset()
    pick_lists: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.name or len(self.name) > 31 or re.search(r"[\[\]:*?/\\]", self.name):
            raise SheetError(f"{self.name!r} cannot be the name of a sheet")


def column_letters(column: int) -> str:
    """Letters of a column counted from 1: 1 is A, 28 is AB."""
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Column counted from 1 of its letters: AB is 28."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def cell_name(row: int, column: int) -> str:
    """The address of a cell, as B7."""
    return f"{column_letters(column)}{row}"


_ADDRESS = re.compile(r"^\$?([A-Za-z]{1,3})\$?([0-9]{1,7})$")


def parse_cell(address: str) -> tuple[int, int]:
    """Row and column, from 1, of an address as B7 or $B$7.

    Raises:
        SheetError: the text is no address inside a sheet.
    """
    match = _ADDRESS.match(address)
    if match:
        row, column = int(match[2]), column_number(match[1])
        if 1 <= row <= MOST_ROWS and column <= MOST_COLUMNS:
            return row, column
    raise SheetError(f"{address!r} is no address of a cell")


def parse_span(reference: str) -> Span:
    """The rectangle of a reference as A1:C9 or A1."""
    first, _, last = reference.partition(":")
    row, column = parse_cell(first)
    last_row, last_column = parse_cell(last) if last else (row, column)
    return Span(
        min(row, last_row), min(column, last_column), max(row, last_row), max(column, last_column)
    )


_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_SPECIAL = re.compile('[&<>"\r]')
_LIVE_START = ("=", "+", "-", "@", "\t", "\r", "\n")


def clean_text(text: str) -> str:
    """Text that XML 1.0 and a cell can hold: no control characters, not too long."""
    text = _NOT_IN_XML.sub("\ufffd", text)
    if len(text) > LONGEST_TEXT:
        text = text[: LONGEST_TEXT - 1] + "…"
    return text


def starts_live(text: str) -> bool:
    """Whether a spreadsheet program could take the text for a formula when it is typed in."""
    return text.startswith(_LIVE_START)


def xml_text(text: str) -> str:
    """Text escaped for the content of an element or an attribute in double quotes."""
    if _SPECIAL.search(text) is None:
        return text
    return (
        text.replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace(">", "&gt;")
        .replace('"', "&quot;")
        .replace("\r", "&#13;")
    )


def holdable(value: object) -> Plain:
    """A value as a cell can hold it: no NaN or infinity, numbers of numpy and Decimal as plain.

    Raises:
        SheetError: the value is nothing that a cell can hold.
    """
    if isinstance(value, np.generic):  # its text is not that of a plain number
        value = value.item()
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, dt.datetime):
        return value.date()
    if isinstance(value, dt.date):
        return value
    if not isinstance(value, int | float):
        if not isinstance(value, Decimal):
            raise SheetError(f"a cell cannot hold {value!r}")
        value = float(value)
    return value if math.isfinite(value) else None


def format_for(value: object, number_format: str, is_live: bool) -> str:
    """The number format of a cell: words have none, and a day is shown as a day."""
    if isinstance(value, str) and not is_live:
        return "text"
    if isinstance(value, dt.date) and number_format == "text":
        return "date"
    return number_format


def plain_number(value: float) -> str:
    """The shortest text that gives the same number back."""
    if isinstance(value, int):
        return str(value)
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
