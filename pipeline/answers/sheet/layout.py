"""Where our columns go in a person's sheet, and what the formulas in them refer to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pipeline.answers.sheet.cells import MOST_COLUMNS, FilledColumn, column_letters, plain_number
from pipeline.answers.sheet.headers import AMOUNT_FIELDS, DATE_FIELDS
from pipeline.answers.sheet.reader import SheetReader, same_header
from pipeline.errors import SheetError

OTHER_WORDING = "{} (comparables)"
"""Our header where the person has a column of her own with the same one."""

Found = str | tuple[str, str] | None


@dataclass(frozen=True)
class Layout:
    """The places of our columns and the rows of the items."""

    reader: SheetReader
    columns: Sequence[FilledColumn]
    places: tuple[int, ...]  # the column, from 1, of each of ours
    headers: tuple[str, ...]

    @property
    def sheet_name(self) -> str:
        """The person's sheet."""
        return self.reader.sheet_name

    @property
    def header_row(self) -> int:
        """The row that our headers go into."""
        return self.reader.header_row

    @property
    def existing(self) -> dict[str, int]:
        """Our headers that the sheet has already, with their columns."""
        return self.reader.ours

    @property
    def letters(self) -> list[str]:
        """The letters of our columns."""
        return [column_letters(place) for place in self.places]

    @property
    def base_column(self) -> int:
        """The column whose cells ours are made to look like."""
        columns = self.reader.columns
        return columns.get("description") or columns["category"]

    def finder(self, rows: Sequence[int]) -> Callable[[int], Callable[[str], Found]]:
        """Item -> (key -> address in its row, literal, or None where there is no such thing).

        A cell of hers that is a number or empty is referred to, so that the formula follows what
        she types there; one that is text or an error gives its amount, or the default.
        """
        ours = {column.key: letters for column, letters in zip(self.columns, self.letters,
                                                               strict=True)}  # fmt: skip
        hers = {name: column_letters(column) for name, column in self.reader.columns.items()}
        numeric = self.reader.numeric_cells
        amounts = {
            name: self.reader.items.column(name).to_pylist()
            for name in AMOUNT_FIELDS
            if name in hers
        }

        def of_item(item: int) -> Callable[[str], Found]:
            row = rows[item]

            def find(key: str) -> Found:
                letters = ours.get(key)
                if letters is not None:
                    return f"{letters}{row}"
                letters = hers.get(key)
                if letters is None:
                    return None
                if key in amounts and not numeric[key][item]:
                    amount = amounts[key][item]
                    return "literal", "" if amount is None else plain_number(amount)
                return f"{letters}{row}"

            return find

        return of_item


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
    hers = {
        same_header(heading.text)
        for heading in [*reader.understood.columns, *reader.understood.unknown]
    }
    places: list[int] = []
    headers: list[str] = []
    free = reader.first_free_column
    for column in columns:
        place = reader.ours.get(column.header)
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
    return Layout(reader, columns, tuple(places), tuple(headers))


def free_name(name: str, taken: set[str]) -> str:
    """A name for a sheet that no other sheet has; `taken` holds names in folded case."""
    candidate, number = name, 1
    while candidate.casefold() in taken:
        number += 1
        candidate = f"{name[:26]} ({number})"
    return candidate
