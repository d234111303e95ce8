"""Where our columns go in a person's sheet, and what the formulas in them refer to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.answers.sheet.cells import (
    MOST_COLUMNS,
    FilledColumn,
    column_letters,
    plain_number,
    xml_text,
)
from pipeline.answers.sheet.formulas import Renderer, keys_of
from pipeline.answers.sheet.headers import AMOUNT_FIELDS, DATE_FIELDS
from pipeline.answers.sheet.reader import SheetReader, our_columns, same_header
from pipeline.errors import SheetError

OTHER_WORDING = "{} (comparables)"
"""Our header where the person has a column of her own with the same one."""

FILTER_NOTE = (
    "the filter of your sheet now takes in the added columns, so that sorting keeps rows together"
)

Signature = tuple[str | None, ...]
_ROW = "\x00"  # stands for the row's number in a formula that many rows share


@dataclass(frozen=True)
class Layout:
    """The places of our columns and the rows of the items."""

    reader: SheetReader
    columns: Sequence[FilledColumn]
    places: tuple[int, ...]  # the column, from 1, of each of ours
    headers: tuple[str, ...]
    existing: Mapping[str, int]  # our headers that the sheet has already, with their columns

    @property
    def sheet_name(self) -> str:
        """The person's sheet."""
        return self.reader.sheet_name

    @property
    def header_row(self) -> int:
        """The row that our headers go into."""
        return self.reader.header_row

    @property
    def letters(self) -> list[str]:
        """The letters of our columns."""
        return [column_letters(place) for place in self.places]

    @property
    def base_column(self) -> int:
        """The column whose cells ours are made to look like."""
        columns = self.reader.columns
        return columns.get("description") or columns["category"]


class RowFormulas:
    """The formulas of our columns, row by row, in one dialect.

    A cell of hers that is a number or empty is referred to, so that the formula follows what she
    types there; one that is text or an error gives its amount as it was read, or the default.
    Items whose formulas differ in nothing but the row share a signature.
    """

    def __init__(self, layout: Layout, dialect: str) -> None:
        reader = layout.reader
        self._renderer = Renderer(dialect)
        self._escape = xml_text if dialect == "ods" else str
        self._letters = dict(
            zip((column.key for column in layout.columns), layout.letters, strict=True)
        )
        hers = {name: column_letters(column) for name, column in reader.columns.items()}
        self._letters = {**hers, **self._letters}
        self._numeric = {name: reader.numeric_cells[name] for name in AMOUNT_FIELDS if name in hers}
        self._amounts = {name: reader.items.column(name).to_pylist() for name in self._numeric}
        self._amount_keys: dict[str, tuple[str, ...]] = {}
        self._texts: dict[tuple[str, Signature], str] = {}

    def signature(self, template: str, item: int) -> Signature:
        """What stands in the template in place of cells of hers: None for a reference."""
        keys = self._amount_keys.get(template)
        if keys is None:
            keys = tuple(key for key in keys_of(template) if key in self._numeric)
            self._amount_keys[template] = keys
        return tuple(
            None if self._numeric[key][item] else _literal(self._amounts[key][item]) for key in keys
        )

    def text(self, template: str, item: int, row: int) -> str:
        """The formula of an item without the equals sign; for .ods escaped as markup.

        Raises:
            SheetError: the template asks for what the sheet does not have.
        """
        signature = self.signature(template, item)
        text = self._texts.get((template, signature))
        if text is None:
            literals = dict(zip(self._amount_keys[template], signature, strict=True))
            text = self._renderer.render(template, lambda key: self._find(key, literals))
            text = self._escape(text)
            self._texts[template, signature] = text
        return text.replace(_ROW, str(row))

    def _find(self, key: str, literals: Mapping[str, str | None]) -> str | tuple[str, str] | None:
        literal = literals.get(key)
        if literal is not None:
            return "literal", literal
        letters = self._letters.get(key)
        return f"{letters}{_ROW}" if letters is not None else None


def _literal(amount: float | None) -> str:
    return "" if amount is None else plain_number(amount)


def lay_out(reader: SheetReader, columns: Sequence[FilledColumn]) -> Layout:
    """Find places for our columns: where they are already, else right of everything of hers.

    Raises:
        SheetError: two columns share a key or header, a column has not one value an item, or
            there is no room.
    """
    n_items = reader.items.num_rows
    if not columns:
        raise SheetError("there is nothing to fill in: no columns were given")
    for column in columns:
        if len(column.values) != n_items:
            raise SheetError(
                f"the column {column.header!r} has {len(column.values):,} values for "
                f"{n_items:,} pieces"
            )
    for what, texts in (
        ("key", [c.key for c in columns]),
        ("header", [same_header(c.header) for c in columns]),
    ):
        if len(set(texts)) != len(texts):
            raise SheetError(f"two of the columns to fill in have the same {what}")
    reserved = {*AMOUNT_FIELDS, *DATE_FIELDS} & {column.key for column in columns}
    if reserved:
        raise SheetError(f"{sorted(reserved)[0]!r} is a column of the person's own sheet")
    headings = [*reader.understood.columns, *reader.understood.unknown]
    existing = dict(reader.ours) or our_columns(
        {heading.column: heading.text for heading in headings}, [c.header for c in columns]
    )
    hers = {same_header(h.text) for h in headings if h.column not in existing.values()}
    places: list[int] = []
    headers: list[str] = []
    free = reader.first_free_column
    for column in columns:
        place = existing.get(column.header)
        if place is None:
            place, free = free, free + 1
        places.append(place)
        twin = same_header(column.header) in hers
        headers.append(OTHER_WORDING.format(column.header) if twin else column.header)
    if free - 1 > MOST_COLUMNS:
        raise SheetError(
            "there is no room for our columns right of yours",
            where=f"{reader.path}, sheet {reader.sheet_name!r}, column "
            f"{column_letters(reader.last_column)}",
            todo="clear what stands in the last columns of the sheet",
        )
    return Layout(reader, columns, tuple(places), tuple(headers), existing)


def free_name(name: str, taken: set[str]) -> str:
    """A name for a sheet that no other sheet has; `taken` holds names in folded case."""
    candidate, number = name, 1
    while candidate.casefold() in taken:
        number += 1
        candidate = f"{name[:26]} ({number})"
    return candidate
