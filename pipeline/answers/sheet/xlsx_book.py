"""The parts of an .xlsx workbook and its cells, read one row at a time."""

from __future__ import annotations

import datetime as dt
import io
import posixpath
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from pipeline.answers.sheet.archive import Archive, bad_xml, climbs_out, parse_part, refuse_doctype
from pipeline.answers.sheet.cells import (
    MOST_ROWS,
    Cell,
    Span,
    parse_span,
)
from pipeline.answers.sheet.markup import attribute, plain_markup, root_of, start_tag
from pipeline.answers.sheet.values import is_date_format
from pipeline.answers.sheet.xlsx_cells import CellReader, unescape
from pipeline.errors import SheetError

TRANSITIONAL = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
RELATIONSHIPS = {
    TRANSITIONAL: "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    STRICT: "http://purl.oclc.org/ooxml/officeDocument/relationships",
}
PACKAGE = "http://schemas.openxmlformats.org/package/2006"

SHEET_MARK = "comparables_sheet_"
"""Start of the hidden defined names by which an extra sheet of ours is known again."""


@dataclass(frozen=True)
class SheetEntry:
    """A sheet of a workbook: its name as shown, where it lies, whether it is hidden or ours."""

    name: str
    part: str
    hidden: bool
    ours: bool


@dataclass(frozen=True)
class DefinedName:
    """A name that a workbook gives to a reference."""

    name: str
    reference: str
    local_sheet: int | None


def split_reference(reference: str) -> tuple[str, str] | None:
    """Sheet and cells of a reference as 'my sheet'!$A$1:$B$2; None if it is anything else."""
    match = re.fullmatch(r"(?:'((?:[^']|'')+)'|([^'!\[\]]+))!([$A-Za-z0-9:]+)", reference.strip())
    if not match:
        return None
    sheet = match[1].replace("''", "'") if match[1] else match[2]
    return sheet, match[3].replace("$", "")


class XlsxBook:
    """An .xlsx (or .xlsm) workbook that was opened for reading.

    Raises:
        SheetError: no workbook is in the archive, or one of its parts is damaged.
    """

    kind = "xlsx"

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.path: Path = archive.path
        self.workbook_part = self._find_workbook()
        self.workbook = parse_part(archive.read(self.workbook_part), self.path, self.workbook_part)
        self.namespace = etree.QName(self.workbook).namespace or ""
        if self.namespace not in RELATIONSHIPS:
            raise SheetError("the archive holds no spreadsheet", where=self.path)
        self.relations = self._relations_of(self.workbook_part)
        properties = self.workbook.find(self.tag("workbookPr"))
        from_1904 = properties is not None and properties.get("date1904") in ("1", "true")
        self.from_1904 = from_1904
        self.epoch = dt.date(1904, 1, 1) if from_1904 else dt.date(1899, 12, 30)
        self.defined_names = self._defined_names()
        self.sheets = self._sheets()
        self._strings: list[str] | None = None
        self._last_markup: tuple[str, bytes] = ("", b"")
        self._date_styles: frozenset[str] | None = None

    def tag(self, name: str) -> str:
        """A name in the namespace of this workbook."""
        return f"{{{self.namespace}}}{name}"

    def part_of(self, sheet_name: str) -> str:
        """The part that holds a sheet."""
        return next(entry.part for entry in self.sheets if entry.name == sheet_name)

    def related_part(self, kind: str) -> str | None:
        """The part that the workbook relates to as its `styles`, `sharedStrings` ..."""
        for relation_type, target in self.relations.values():
            if relation_type.endswith("/" + kind):
                return target
        return None

    # -- cells --

    def rows(
        self, sheet_name: str, wanted: frozenset[int] | None = None
    ) -> Iterator[tuple[int, list[Cell]]]:
        """Rows that hold anything, from the top: (row from 1, cells from left to right).

        With `wanted`, only cells of those columns come, and such as lie right of all before.

        Raises:
            SheetError: the part is damaged; the sheet is named.
        """
        part = self.part_of(sheet_name)
        data = self._markup(part)
        prefix = root_of(data)[1]
        reader = CellReader(prefix, self._shared_strings(), self._styles_with_dates(),
                            self.from_1904)  # fmt: skip
        row_pattern = start_tag(prefix + b"row")
        end_mark = b"</%srow>" % prefix
        number = 0
        start = data.find(b"<%ssheetData" % prefix)
        end = max(data.find(b"</%ssheetData>" % prefix), start)
        try:
            for match in row_pattern.finditer(data, start, end):
                stated = attribute(match[0], b"r")
                number = int(stated) if stated else number + 1
                if not 1 <= number <= MOST_ROWS:
                    raise ValueError(f"row {number} is outside a sheet")
                if match[2]:
                    continue
                cells = reader.read(
                    data, match.end(), data.index(end_mark, match.end()), number, wanted
                )
                if cells:
                    yield number, cells
        except ValueError as error:
            raise SheetError(
                f"the workbook is damaged: {error}", where=self._at(sheet_name, f"row {number}")
            ) from error

    def merges(self, sheet_name: str) -> list[Span]:
        """The merged cells of a sheet."""
        data = self._markup(self.part_of(sheet_name))
        tail = data[data.rfind(b"sheetData") :]
        return [
            parse_span(match[1].decode())
            for match in re.finditer(rb"<(?:\w+:)?mergeCell\s[^>]*?ref=[\"']([^\"']+)", tail)
        ]

    def pictures(self, sheet_name: str) -> list[Span]:
        """Cells that a picture, chart or shape lies over."""
        spans: list[Span] = []
        for kind, part in self._relations_of(self.part_of(sheet_name)).values():
            if not kind.endswith("/drawing") or part not in self.archive:
                continue
            root = parse_part(self.archive.read(part), self.path, part)
            for anchor in root:
                corners = [
                    int(number.text or 0) + 1
                    for corner in anchor
                    if isinstance(corner.tag, str) and corner.tag.endswith(("}from", "}to"))
                    for number in corner
                    if number.tag.endswith(("}col", "}row"))
                ]
                if len(corners) == 4:
                    spans.append(Span(corners[1], corners[0], corners[3], corners[2]))
        return spans

    def names_of_ours(self) -> dict[str, float | str | None]:
        """Values of the single cells that our defined names point to (name -> value)."""
        wanted: dict[str, dict[tuple[int, int], str]] = {}
        for defined in self.defined_names:
            place = split_reference(defined.reference)
            if not place or not defined.name.startswith("comparables_") or ":" in place[1]:
                continue
            if defined.name.startswith(SHEET_MARK):
                continue
            span = parse_span(place[1])
            wanted.setdefault(place[0], {})[span.first_row, span.first_column] = defined.name
        found: dict[str, float | str | None] = {}
        known = {entry.name for entry in self.sheets}
        for sheet, cells in wanted.items():
            if sheet not in known:
                continue
            for row, row_cells in self.rows(sheet):
                for cell in row_cells:
                    name = cells.get((row, cell.column))
                    if name:
                        found[name] = cell.value
        return found

    def _markup(self, part: str) -> bytes:
        if self._last_markup[0] != part:
            self._last_markup = (part, plain_markup(self.archive.read(part), self.path, part))
        return self._last_markup[1]

    def _shared_strings(self) -> list[str]:
        if self._strings is None:
            part = self.related_part("sharedStrings")
            self._strings = []
            if part and part in self.archive:
                data = self.archive.read(part)
                refuse_doctype(data, self.path, part)
                try:
                    for _, element in etree.iterparse(
                        io.BytesIO(data), events=("end",), tag=self.tag("si"),
                        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False,
                    ):  # fmt: skip
                        self._strings.append(unescape(_text_of_runs(element, self.tag)))
                        element.clear()
                except etree.XMLSyntaxError as error:
                    raise bad_xml(self.path, part, error) from error
        return self._strings

    def _styles_with_dates(self) -> frozenset[str]:
        if self._date_styles is None:
            part = self.related_part("styles")
            dates: set[str] = set()
            if part and part in self.archive:
                root = parse_part(self.archive.read(part), self.path, part)
                codes = {
                    int(element.get("numFmtId", "0")): element.get("formatCode", "")
                    for element in root.iterfind(f"{self.tag('numFmts')}/{self.tag('numFmt')}")
                }
                for index, xf in enumerate(
                    root.iterfind(f"{self.tag('cellXfs')}/{self.tag('xf')}")
                ):
                    number_format = int(xf.get("numFmtId", "0"))
                    if is_date_format(number_format, codes.get(number_format)):
                        dates.add(str(index))
            self._date_styles = frozenset(dates)
        return self._date_styles

    # -- the workbook's own parts --

    def _find_workbook(self) -> str:
        if "_rels/.rels" not in self.archive or "[Content_Types].xml" not in self.archive:
            raise SheetError(
                "the archive is no .xlsx workbook",
                where=self.path,
                todo="save it again from your spreadsheet program as .xlsx",
            )
        for kind, target in self._relations_of("").values():
            if kind.endswith("/officeDocument"):
                return target
        raise SheetError("the archive names no workbook", where=self.path)

    def _relations_of(self, part: str) -> dict[str, tuple[str, str]]:
        folder, name = posixpath.split(part)
        rels = posixpath.join(folder, "_rels", f"{name}.rels")
        if rels not in self.archive:
            return {}
        found: dict[str, tuple[str, str]] = {}
        for element in parse_part(self.archive.read(rels), self.path, rels):
            if not isinstance(element.tag, str) or element.get("TargetMode") == "External":
                continue
            target = element.get("Target", "")
            resolved = (
                posixpath.normpath(target.lstrip("/"))
                if target.startswith("/")
                else posixpath.normpath(posixpath.join(folder, target))
            )
            if climbs_out(resolved):
                raise SheetError(
                    f"the workbook is damaged: it names a part outside itself ({target!r})",
                    where=self.path,
                )
            found[element.get("Id", "")] = (element.get("Type", ""), resolved)
        return found

    def _defined_names(self) -> list[DefinedName]:
        names: list[DefinedName] = []
        for element in self.workbook.iterfind(
            f"{self.tag('definedNames')}/{self.tag('definedName')}"
        ):
            local = element.get("localSheetId")
            names.append(
                DefinedName(
                    element.get("name", ""),
                    (element.text or "").strip(),
                    int(local) if local and local.isdigit() else None,
                )
            )
        return names

    def _sheets(self) -> list[SheetEntry]:
        ours = set()
        for defined in self.defined_names:
            place = split_reference(defined.reference)
            if place and defined.name.startswith(SHEET_MARK):
                ours.add(place[0])
        entries: list[SheetEntry] = []
        relation_id = f"{{{RELATIONSHIPS[self.namespace]}}}id"
        for element in self.workbook.iterfind(f"{self.tag('sheets')}/{self.tag('sheet')}"):
            kind, part = self.relations.get(element.get(relation_id, ""), ("", ""))
            if not kind.endswith("/worksheet"):
                continue  # a sheet that is one large chart, or a dialogue of old times
            if part not in self.archive:
                raise SheetError(
                    f"the workbook is damaged: the sheet {element.get('name')!r} is missing",
                    where=self.path,
                )
            name = element.get("name", "")
            hidden = element.get("state", "visible") != "visible"
            entries.append(SheetEntry(name, part, hidden, name in ours))
        return entries

    def _at(self, sheet_name: str, cell: str = "") -> str:
        return f"{self.path}, sheet {sheet_name!r}" + (f", {cell}" if cell else "")


def _text_of_runs(element: etree._Element, tag: Callable[[str], str]) -> str:
    """Text of a string item: its own text or its runs', without the phonetic guides."""
    text_tag, run_tag = tag("t"), tag("r")
    parts: list[str] = []
    for child in element:
        if child.tag == text_tag:
            parts.append(child.text or "")
        elif child.tag == run_tag:
            parts.extend(grandchild.text or "" for grandchild in child.iterchildren(text_tag))
    return "".join(parts)
