"""Sheets as .csv and .tsv: cut into records and fields whose text stays exactly as it was."""

from __future__ import annotations

import codecs
import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.answers.sheet.archive import OLE_START, refuse_foreign_container, unreadable
from pipeline.answers.sheet.cells import MOST_ROWS, Cell, Span
from pipeline.answers.sheet.xlsx_book import SheetEntry
from pipeline.errors import SheetError

MOST_BYTES = 512 << 20
LONGEST_QUOTED_LINES = 200  # a quoted field over more lines is a stray quote

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\n|\r|$)")


@dataclass
class Record:
    """One record: the raw text of its fields and of its line end, and the line it starts on."""

    line: int
    fields: list[str]
    end: str


class DelimitedBook:
    """A file of delimited text, as a workbook of one sheet.

    Raises:
        SheetError: the file is empty, not text, or a quote in it is never closed.
    """

    kind = "csv"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.bom, self.encoding, text = _decode(path)
        self.delimiter = "\t" if path.suffix.lower() in (".tsv", ".tab") else _delimiter_of(text)
        self.records = list(_records(text, self.delimiter, path))
        self.sheets = [SheetEntry(path.name, "", False, False)]
        self.epoch = dt.date(1899, 12, 30)
        self.width = max((len(record.fields) for record in self.records), default=0)
        self.line_end = Counter(r.end for r in self.records).most_common(1)[0][0] or "\n"
        self.quotes_all = self._quotes_all()
        self.decimal_comma = self._decimal_comma()

    def rows(
        self, sheet_name: str, wanted: frozenset[int] | None = None
    ) -> Iterator[tuple[int, list[Cell]]]:
        """Records that hold anything; a row's number is the record's, from 1."""
        for number, record in enumerate(self.records, start=1):
            cells = [
                Cell(column, "text", value)
                for column, value in enumerate(map(unquote, record.fields), start=1)
                if value.strip()
            ]
            if cells:
                yield number, cells

    def merges(self, sheet_name: str) -> list[Span]:
        """Text has no merged cells."""
        return []

    def pictures(self, sheet_name: str) -> list[Span]:
        """Text has no pictures."""
        return []

    def names_of_ours(self) -> dict[str, float | str | None]:
        """Text has no names."""
        return {}

    def _quotes_all(self) -> bool:
        fields = [f for record in self.records[:200] for f in record.fields if f]
        return bool(fields) and all(field.startswith('"') for field in fields)

    def _decimal_comma(self) -> bool:
        if self.delimiter == ",":
            return False
        sample = [unquote(f) for record in self.records[:2000] for f in record.fields]
        commas = sum(bool(re.fullmatch(r"-?\d+(?:\.\d{3})*,\d{1,2}", field)) for field in sample)
        dots = sum(bool(re.fullmatch(r"-?\d+(?:,\d{3})*\.\d{1,2}", field)) for field in sample)
        return commas > dots


def unquote(field: str) -> str:
    """The value of a raw field."""
    if len(field) >= 2 and field[0] == '"' and field[-1] == '"':
        return field[1:-1].replace('""', '"')
    return field


def _decode(path: Path) -> tuple[bytes, str, str]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise SheetError("the file is larger than a sheet can be", where=path)
        data = path.read_bytes()
    except OSError as error:
        raise unreadable(path, error) from error
    if not data:
        raise SheetError("the file is empty", where=path)
    if data.startswith((OLE_START, b"PK\x03\x04")):
        if data.startswith(OLE_START):
            refuse_foreign_container(path)
        raise SheetError(
            "the file is a workbook, though its name says text",
            where=path,
            todo="give it the ending .xlsx or .ods, whichever it is",
        )
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            try:
                return bom, encoding, data[len(bom) :].decode(encoding)
            except UnicodeDecodeError as error:
                raise SheetError(
                    f"the text is not the {encoding} that it says it is: {error.reason} at byte "
                    f"{error.start}",
                    where=path,
                ) from error
    if b"\x00" in data:
        raise SheetError("the file is not text", where=path, todo="save it as CSV in UTF-8")
    for encoding in ("utf-8", "cp1252", "latin-1"):
        try:
            return b"", encoding, data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise SheetError("the file is not text", where=path)


def _delimiter_of(text: str) -> str:
    """The delimiter that cuts the first lines into the most equal numbers of fields."""
    lines = [line for line in text[:200_000].splitlines() if line.strip()][:60]
    best, best_score = ",", 0.0
    for delimiter in (",", ";", "\t", "|"):
        counts = Counter(_outside_quotes(line).count(delimiter) for line in lines)
        counts.pop(0, None)
        if not counts:
            continue
        count, n_lines = max(counts.items(), key=lambda item: (item[1], item[0]))
        score = n_lines / len(lines) + min(count, 30) / 1000
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _outside_quotes(line: str) -> str:
    return re.sub(r'"[^"]*"', "", line)


def _records(text: str, delimiter: str, path: Path) -> Iterator[Record]:
    line_number = 1
    position = 0
    length = len(text)
    number = 0
    while position < length:
        number += 1
        if number > MOST_ROWS:
            raise SheetError(
                f"the file has more than the {MOST_ROWS:,} rows that a sheet can hold", where=path
            )
        match = _LINE.match(text, position)
        line = match[0] if match else ""
        body = line.rstrip("\r\n")
        if '"' not in body:
            yield Record(line_number, body.split(delimiter), line[len(body) :])
            position += len(line)
            line_number += 1
            continue
        fields, end_position = _quoted_fields(text, position, delimiter, path, line_number)
        end = _LINE_END.match(text, end_position)
        end_text = end[0] if end else ""
        yield Record(line_number, fields, end_text)
        consumed = text[position : end_position + len(end_text)]
        line_number += max(len(consumed.splitlines()), 1)
        position = end_position + len(end_text)


_LINE_END = re.compile(r"\r\n|\n|\r|")
_QUOTED = re.compile(r'"(?:[^"]|"")*"')


def _quoted_fields(
    text: str, position: int, delimiter: str, path: Path, line_number: int
) -> tuple[list[str], int]:
    """Raw fields of the record that starts at a position, and where it ends."""
    fields: list[str] = []
    plain = re.compile(rf"[^{re.escape(delimiter)}\r\n]*")
    while True:
        if text.startswith('"', position):
            match = _QUOTED.match(text, position)
            after = text[match.end()] if match and match.end() < len(text) else ""
            if (
                match is None
                or after not in ("", delimiter, "\r", "\n")
                or match[0].count("\n") > LONGEST_QUOTED_LINES
            ):
                raise SheetError(
                    "a quotation mark opens a field that is never properly closed",
                    where=f"{path}, line {line_number}, field {len(fields) + 1}",
                    todo='double a quotation mark that belongs to the text ("12"" globe")',
                )
        else:
            match = plain.match(text, position)
        raw = match[0] if match else ""
        fields.append(raw)
        position += len(raw)
        if not text.startswith(delimiter, position):
            return fields, position
        position += len(delimiter)
