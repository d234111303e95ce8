"""The tables of an .ods workbook, read one row at a time, repeats not written out."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from lxml import etree

from pipeline.answers.sheet.archive import Archive, parse_part, safe_parser
from pipeline.answers.sheet.cells import MOST_COLUMNS, MOST_ROWS, Cell, Span, parse_span
from pipeline.answers.sheet.markup import attribute, content_text, plain_markup, root_of, start_tag
from pipeline.answers.sheet.xlsx_book import SHEET_MARK, SheetEntry, split_reference
from pipeline.errors import SheetError

OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
STYLE = "urn:oasis:names:tc:opendocument:xmlns:style:1.0"
XLINK = "http://www.w3.org/1999/xlink"
MANIFEST = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
MOST_KNOWN = 200_000  # attributes of cells that are kept, to read equal ones once

_ATTRIBUTE = re.compile(rb'([\w:.-]+)\s*=\s*"([^"]*)"')

MIMETYPES = (
    b"application/vnd.oasis.opendocument.spreadsheet",
    b"application/vnd.oasis.opendocument.spreadsheet-template",
)


class TableSlice(NamedTuple):
    """Where a table lies in the content: start of its tag, start of its inside, its end."""

    name: str
    start: int
    inside: int
    end: int
    hidden: bool


_ROW = f"{{{TABLE}}}table-row"
_CELLS = (f"{{{TABLE}}}table-cell", f"{{{TABLE}}}covered-table-cell")
_PARAGRAPH = f"{{{TEXT}}}p"


def _with_styles(content: bytes) -> bytes:
    """The content with a prefix for styles, which a plain workbook need not declare."""
    root, _ = root_of(content)
    if re.search(rb"=\s*[\"']" + re.escape(STYLE.encode()) + rb"[\"']", root[0]):
        return content
    name = b"style"
    while b"xmlns:" + name in root[0]:
        name += b"s"
    end = root.end() - (2 if root[0].endswith(b"/>") else 1)
    return content[:end] + b' xmlns:%s="%s"' % (name, STYLE.encode()) + content[end:]


class OdsBook:
    """An .ods workbook that was opened for reading.

    Raises:
        SheetError: the archive is no spreadsheet, encrypted or damaged.
    """

    kind = "ods"

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.path: Path = archive.path
        if "content.xml" not in archive or "mimetype" not in archive:
            raise SheetError(
                "the archive is no .ods workbook",
                where=self.path,
                todo="save it again from your spreadsheet program as .ods",
            )
        if archive.read("mimetype").strip() not in MIMETYPES:
            raise SheetError("the archive holds no spreadsheet", where=self.path)
        self._refuse_encrypted()
        raw = archive.read("content.xml")
        self.content = _with_styles(plain_markup(raw, self.path, "content.xml"))
        self.epoch = dt.date(1899, 12, 30)
        self.root, _ = root_of(self.content)
        self.prefixes = self._prefixes()
        self.tables = self._tables()
        t, x = (re.escape(self.prefixes[name]) for name in (TABLE, TEXT))
        self._usual = re.compile(
            rb"\s*<" + t + rb'table-cell((?:\s[^<>"]*(?:"[^"]*"[^<>"]*?)*)?)(?:/>|>'
            rb"<" + x + rb"p>([^<]*)</" + x + rb"p></" + t + rb"table-cell>)"
        )
        self._attributes_of: dict[bytes, tuple[str, float, int]] = {}
        self._merges: dict[str, list[Span]] = {}
        self.named = self._named_ranges()
        ours = {
            place[0]
            for name, reference in self.named.items()
            if name.startswith(SHEET_MARK) and (place := split_reference(reference))
        }
        self.sheets = [
            SheetEntry(table.name, "content.xml", table.hidden, table.name in ours)
            for table in self.tables
        ]

    def rows(
        self, sheet_name: str, wanted: frozenset[int] | None = None
    ) -> Iterator[tuple[int, list[Cell]]]:
        """Rows that hold anything, from the top: (row from 1, cells from left to right).

        A row that is repeated and holds something comes as often as it is repeated.

        Raises:
            SheetError: the table is damaged, or repeats more than a sheet can hold.
        """
        merges = self._merges[sheet_name] = []
        table = self.table(sheet_name)
        content = self.content
        t = self.prefixes[TABLE]
        row_pattern = start_tag(t + b"table-row")
        end_mark = b"</%stable-row>" % t
        number, at = 0, table.inside
        try:
            while (match := row_pattern.search(content, at, table.end)) is not None:
                repeated = int(attribute(match[0], t + b"number-rows-repeated") or 1)
                at = match.end()
                cells: list[Cell] = []
                if not match[2]:
                    closing = row_end(content, match.end(), row_pattern, end_mark)
                    at = closing + len(end_mark)
                    usual = self._usual_cells(match.end(), closing)
                    cells = (
                        usual
                        if usual is not None
                        else self._any_cells(content[match.start() : at], number + 1, merges)
                    )
                if cells and number + repeated > MOST_ROWS:
                    raise SheetError(
                        "the table repeats a filled row more often than a sheet can hold",
                        where=f"{self.path}, sheet {sheet_name!r}, row {number + 1}",
                    )
                if cells:
                    for offset in range(repeated):
                        yield number + 1 + offset, cells
                number += repeated
        except ValueError as error:
            raise SheetError(
                f"the workbook is damaged: {error}",
                where=f"{self.path}, sheet {sheet_name!r}, row {number + 1}",
            ) from error

    def _usual_cells(self, start: int, end: int) -> list[Cell] | None:
        """The cells of a row that has only plain ones; None where one takes a closer look."""
        cells: list[Cell] = []
        column = 1
        position = start
        match_usual = self._usual.match
        attributes_of = self._attributes_of
        while position < end:
            match = match_usual(self.content, position, end)
            if match is None:
                return None
            raw, text = match.groups()
            known = attributes_of.get(raw)
            if known is None:
                known = self._read_attributes(raw)
                if len(attributes_of) < MOST_KNOWN:
                    attributes_of[raw] = known
            kind, value, repeated = known
            position = match.end()
            if kind == "other":
                return None
            if kind == "number":
                cell = Cell(column, "number", value)
            elif kind == "text" and text:
                cell = Cell(column, "text", content_text(text))
            else:
                column += repeated
                continue
            if column + repeated - 1 > MOST_COLUMNS:
                raise ValueError("a filled cell is repeated beyond the last column")
            cells.append(cell)
            cells.extend(cell._replace(column=column + i) for i in range(1, repeated))
            column += repeated
        return cells

    def _read_attributes(self, raw: bytes) -> tuple[str, float, int]:
        found = dict(_ATTRIBUTE.findall(raw))
        table, office = self.prefixes[TABLE], self.prefixes[OFFICE]
        repeated = int(found.get(table + b"number-columns-repeated", 1))
        odd = (b"formula", b"number-columns-spanned", b"number-rows-spanned")
        if any(table + name in found for name in odd):
            return "other", 0.0, repeated
        kind = found.get(office + b"value-type")
        if kind is None:
            return "blank", 0.0, repeated
        if kind == b"string" and office + b"string-value" not in found:
            return "text", 0.0, repeated
        if kind in (b"float", b"percentage", b"currency"):
            return "number", float(found[office + b"value"]), repeated
        return "other", 0.0, repeated

    def _any_cells(self, row: bytes, number: int, merges: list[Span]) -> list[Cell]:
        document = self.root[0] + row + b"</%s>" % self.root_name
        element = etree.fromstring(document, safe_parser())[0]
        return self._cells(element, number, merges)

    def merges(self, sheet_name: str) -> list[Span]:
        """The merged cells of a sheet."""
        if sheet_name not in self._merges:
            for _ in self.rows(sheet_name):
                pass
        return self._merges[sheet_name]

    def pictures(self, sheet_name: str) -> list[Span]:
        """Cells that a picture lies over: those that hold one, as far as it says."""
        table = self.table(sheet_name)
        inside = self.content[table.inside : table.end]
        name = self.prefixes[TABLE] + b"end-cell-address"
        ends = re.findall(rb"\s" + re.escape(name) + rb'="([^"]*)"', inside)
        spans: list[Span] = []
        for raw in ends:
            place = split_reference(plain_reference(content_text(raw)))
            if place is not None:
                end = parse_span(place[1])
                spans.append(Span(1, 1, end.last_row, end.last_column))
        return spans

    def names_of_ours(self) -> dict[str, float | str | None]:
        """Values of the single cells that our names point to (name -> value)."""
        wanted: dict[str, dict[tuple[int, int], str]] = {}
        for name, reference in self.named.items():
            place = split_reference(reference)
            ours = name.startswith("comparables_") and not name.startswith(SHEET_MARK)
            if ours and place and ":" not in place[1]:
                span = parse_span(place[1])
                wanted.setdefault(place[0], {})[span.first_row, span.first_column] = name
        found: dict[str, float | str | None] = {}
        known = {entry.name for entry in self.sheets}
        for sheet, cells in wanted.items():
            if sheet in known:
                for row, row_cells in self.rows(sheet):
                    for cell in row_cells:
                        if (row, cell.column) in cells:
                            found[cells[row, cell.column]] = cell.value
        return found

    def table(self, sheet_name: str) -> TableSlice:
        """Where a sheet's table lies in the content."""
        return next(table for table in self.tables if table.name == sheet_name)

    @property
    def root_name(self) -> bytes:
        """The root's name as it is written."""
        return re.split(rb"[\s>]", self.root[0][1:], maxsplit=1)[0]

    def _prefixes(self) -> dict[str, bytes]:
        """The prefix, with its colon, that the root gives to each namespace."""
        found: dict[str, bytes] = {}
        for match in re.finditer(rb"\sxmlns(?::([\w.-]+))?\s*=\s*[\"']([^\"']*)", self.root[0]):
            found[match[2].decode()] = match[1] + b":" if match[1] else b""
        for needed in (OFFICE, TABLE, TEXT, STYLE):
            if needed not in found:
                raise SheetError(
                    "content.xml does not declare what a spreadsheet needs",
                    where=self.path,
                    todo="open the workbook in your spreadsheet program and save it again",
                )
        return found

    def _tables(self) -> list[TableSlice]:
        prefix = self.prefixes[TABLE]
        start_pattern = start_tag(prefix + b"table")
        end_mark = b"</" + prefix + b"table>"
        hidden_styles = self._hidden_styles()
        tables: list[TableSlice] = []
        position = self.root.end()
        while (start := start_pattern.search(self.content, position)) is not None:
            end = start.end()
            depth = 0 if start[2] else 1
            while depth:  # a table may hold another one in a cell
                closing = self.content.index(end_mark, end)
                inner = start_pattern.search(self.content, end, closing)
                if inner is not None:
                    depth += 0 if inner[2] else 1
                    end = inner.end()
                else:
                    depth -= 1
                    end = closing + len(end_mark)
            raw_name = attribute(start[0], prefix + b"name") or b""
            style = attribute(start[0], prefix + b"style-name") or b""
            tables.append(
                TableSlice(
                    content_text(raw_name),
                    start.start(),
                    start.end(),
                    end,
                    style in hidden_styles,
                )
            )
            position = end
        return tables

    def _hidden_styles(self) -> set[bytes]:
        style, table = self.prefixes[STYLE], self.prefixes[TABLE]
        hidden: set[bytes] = set()
        head = self.content[: self.content.find(b"<" + self.prefixes[OFFICE] + b"body")]
        for match in start_tag(style + b"style").finditer(head):
            if attribute(match[0], style + b"family") != b"table" or match[2]:
                continue
            end = head.find(b"</" + style + b"style>", match.end())
            if attribute(head[match.end() : end], table + b"display") == b"false":
                hidden.add(attribute(match[0], style + b"name") or b"")
        return hidden

    def _named_ranges(self) -> dict[str, str]:
        prefix = self.prefixes[TABLE]
        found: dict[str, str] = {}
        after_tables = self.tables[-1].end if self.tables else 0
        for match in start_tag(prefix + b"named-range").finditer(self.content, after_tables):
            name = attribute(match[0], prefix + b"name") or b""
            reference = attribute(match[0], prefix + b"cell-range-address") or b""
            found[content_text(name)] = plain_reference(content_text(reference))
        return found

    def _cells(self, row: etree._Element, number: int, merges: list[Span]) -> list[Cell]:
        cells: list[Cell] = []
        column = 1
        for element in row:
            if element.tag not in _CELLS:
                continue
            attributes = element.attrib
            repeated = int(attributes.get(f"{{{TABLE}}}number-columns-repeated", "1"))
            wide = int(attributes.get(f"{{{TABLE}}}number-columns-spanned", "1"))
            high = int(attributes.get(f"{{{TABLE}}}number-rows-spanned", "1"))
            if wide > 1 or high > 1:
                merges.append(Span(number, column, number + high - 1, column + wide - 1))
            cell = _read(element, column)
            if cell is not None and element.tag == _CELLS[0]:
                if column + repeated - 1 > MOST_COLUMNS:
                    raise ValueError("a filled cell is repeated beyond the last column")
                cells.extend(cell._replace(column=column + i) for i in range(repeated))
            column += repeated
        return cells

    def _refuse_encrypted(self) -> None:
        name = "META-INF/manifest.xml"
        if name not in self.archive:
            return
        root = parse_part(self.archive.read(name), self.path, name)
        if root.find(f".//{{{MANIFEST}}}encryption-data") is not None:
            raise SheetError(
                "the workbook is protected with a password",
                where=self.path,
                todo="save it without a password and try again",
            )


def plain_reference(reference: str) -> str:
    """An OpenDocument address ($'my sheet'.$A$1:.$B$2) in the form 'my sheet'!A1:B2."""
    first, _, last = reference.partition(":")
    sheet, _, cells = first.rpartition(".")
    if last:
        cells += ":" + last.rpartition(".")[2]
    sheet = sheet.lstrip("$")
    if not sheet:
        return cells.replace("$", "")
    return f"{sheet}!{cells.replace('$', '')}"


def row_end(data: bytes, start: int, row_pattern: re.Pattern[bytes], end_mark: bytes) -> int:
    """Where the end tag of a row stands, past the rows of tables that lie in its cells."""
    closing = data.index(end_mark, start)
    inner = row_pattern.search(data, start, closing)
    while inner is not None:
        if not inner[2]:
            closing = data.index(end_mark, closing + 1)
        inner = row_pattern.search(data, inner.end(), closing)
    return closing


def _read(element: etree._Element, column: int) -> Cell | None:
    attributes = element.attrib
    kind = attributes.get(f"{{{OFFICE}}}value-type")
    formula = attributes.get(f"{{{TABLE}}}formula")
    if kind is None:
        return Cell(column, "uncalculated", None, formula) if formula else None
    text = paragraphs(element)
    if formula and text.startswith(("#", "Err:")):
        return Cell(column, "error", text, formula)
    if kind == "string":
        stated = attributes.get(f"{{{OFFICE}}}string-value")
        value = stated if stated is not None and not text else text
        return Cell(column, "text", value, formula) if value else None
    if kind in ("float", "percentage", "currency"):
        return Cell(column, "number", float(attributes[f"{{{OFFICE}}}value"]), formula)
    if kind == "date":
        stated = attributes.get(f"{{{OFFICE}}}date-value", "")
        return Cell(column, "date", stated.replace("T", " "), formula)
    if kind == "boolean":
        truth = attributes.get(f"{{{OFFICE}}}boolean-value") == "true"
        return Cell(column, "truth", float(truth), formula)
    return Cell(column, "text", text, formula) if text else None


def paragraphs(element: etree._Element) -> str:
    """The text of a cell: its own paragraphs, one a line, with spaces and breaks as marked."""
    return "\n".join(_flat(child) for child in element if child.tag == _PARAGRAPH)


def _flat(element: etree._Element) -> str:
    parts = [element.text or ""]
    for child in element:
        if child.tag == f"{{{TEXT}}}s":
            parts.append(" " * int(child.get(f"{{{TEXT}}}c", "1")))
        elif child.tag == f"{{{TEXT}}}tab":
            parts.append("\t")
        elif child.tag == f"{{{TEXT}}}line-break":
            parts.append("\n")
        elif isinstance(child.tag, str) and not child.tag.endswith("}annotation"):
            parts.append(_flat(child))
        parts.append(child.tail or "")
    return "".join(parts)
