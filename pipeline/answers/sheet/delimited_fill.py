"""A .csv or .tsv sheet filled in place: her fields as they came, ours after them."""

from __future__ import annotations

import datetime as dt
from typing import BinaryIO

from pipeline.answers.sheet.cells import Plain, clean_text, plain_number, starts_live
from pipeline.answers.sheet.delimited import DelimitedBook, Record
from pipeline.answers.sheet.layout import Layout


class FieldWriter:
    """Writes fields in the manner of a file: its delimiter, quotes and decimal mark."""

    def __init__(self, delimiter: str, quotes_all: bool, decimal_comma: bool) -> None:
        self._delimiter = delimiter
        self._quotes_all = quotes_all
        self._decimal_comma = decimal_comma

    def write(self, value: Plain, number_format: str = "text") -> str:
        """A raw field.

        Text of ours that a spreadsheet program would take for a formula gets an apostrophe in
        front, as a person would type it.
        """
        if value is None:
            return ""
        if isinstance(value, bool):
            text = "yes" if value else "no"
        elif isinstance(value, dt.date):
            text = value.isoformat()
        elif isinstance(value, int | float):
            is_money = number_format == "money"
            text = f"{value:.2f}" if is_money else plain_number(value)
            if self._decimal_comma:
                text = text.replace(".", ",")
        else:
            text = clean_text(value)
            if starts_live(text):
                text = "'" + text
        if self._quotes_all or any(mark in text for mark in (self._delimiter, '"', "\n", "\r")):
            return '"' + text.replace('"', '""') + '"'
        return text


class DelimitedFill:
    """Works out the whole text of a filled file."""

    def __init__(self, book: DelimitedBook, layout: Layout) -> None:
        self.book = book
        self.layout = layout
        self.notes: list[str] = []

    def write(self, file: BinaryIO) -> None:
        """Write the filled text in the encoding of the source."""
        book, layout = self.book, self.layout
        writer = FieldWriter(book.delimiter, book.quotes_all, book.decimal_comma)
        rows: list[int] = layout.reader.items.column("row").to_pylist()
        item_of = {row: index for index, row in enumerate(rows)}
        guarded = any(
            isinstance(value, str) and starts_live(value)
            for column in layout.columns
            for value in column.values
        )
        if guarded:
            self.notes.append(
                "text of ours that begins with = + - or @ has an apostrophe in front, so that no "
                "program takes it for a formula"
            )
        out: list[str] = []
        for number, record in enumerate(book.records, start=1):
            item = item_of.get(number)
            if item is not None:
                mine = [
                    writer.write(column.value(item), column.number_format)
                    for column in layout.columns
                ]
            elif number == layout.header_row:
                mine = [writer.write(header) for header in layout.headers]
            elif number > layout.header_row and self._holds_ours(record):
                mine = [""] * len(layout.columns)
            else:
                mine = []
            out.append(self._record(record, mine))
        text = "".join(out)
        try:
            data = text.encode(book.encoding)
        except UnicodeEncodeError:
            data = text.encode(book.encoding, errors="replace")
            self.notes.append(
                f"the file is in {book.encoding}, which lacks a letter of ours: a question mark "
                "stands there"
            )
        file.write(book.bom + data)

    def _holds_ours(self, record: Record) -> bool:
        fields = record.fields
        places = self.layout.existing.values()
        return any(place <= len(fields) and fields[place - 1] for place in places)

    def _record(self, record: Record, mine: list[str]) -> str:
        if not mine:
            return self.book.delimiter.join(record.fields) + record.end
        fields = list(record.fields)
        width = max(self.layout.places)
        fields += [""] * (width - len(fields))
        for place, field in zip(self.layout.places, mine, strict=True):
            fields[place - 1] = field
        return self.book.delimiter.join(fields) + record.end
