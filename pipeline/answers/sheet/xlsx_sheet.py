"""One worksheet part of an .xlsx workbook: patched as text, or written anew."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from pipeline.answers.sheet.cells import (
    CellValue,
    ExtraSheet,
    Formula,
    Link,
    Plain,
    Shown,
    cell_name,
    clean_text,
    column_number,
    format_for,
    holdable,
    parse_span,
    plain_number,
    starts_live,
    xml_text,
)
from pipeline.answers.sheet.formulas import Renderer
from pipeline.answers.sheet.markup import (
    attribute,
    children_of_root,
    root_of,
    start_tag,
    with_attribute,
    without_attribute,
)
from pipeline.answers.sheet.xlsx_styles import Styles
from pipeline.answers.sheet.xlsx_workbook import quoted_sheet

# ECMA-376 part 1, 18.3.1.99: the order of a worksheet's children.
_ORDER = (
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr",
    "sheetProtection", "protectedRanges", "scenarios", "autoFilter", "sortState",
    "dataConsolidate", "customSheetViews", "mergeCells", "phoneticPr", "conditionalFormatting",
    "dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup", "headerFooter",
    "rowBreaks", "colBreaks", "customProperties", "cellWatches", "ignoredErrors", "smartTags",
    "drawing", "legacyDrawing", "legacyDrawingHF", "picture", "oleObjects", "controls",
    "webPublishItems", "tableParts", "extLst",
)  # fmt: skip

_LINE_HEIGHT = 15  # points, of text of 11 points
_LETTERS_IN_WIDTH = 1.1  # a width counts the figure 0, and words are narrower (measured)

_ESCAPED = re.compile(r"_x(?=[0-9A-Fa-f]{4}_)")

RowCells = Callable[[int, bytes], "list[tuple[int, bytes]] | None"]
"""Row number and the row's old markup -> our cells, sorted; None leaves the row as it is."""


def serial_of(day: dt.date, from_1904: bool) -> int:
    """A day as the number that a spreadsheet counts."""
    return (day - (dt.date(1904, 1, 1) if from_1904 else dt.date(1899, 12, 30))).days


class CellFormula(NamedTuple):
    """A formula's text and the attributes of its element."""

    text: str
    attributes: str = ""


class CellWriter:
    """Writes single cells as markup, with the prefix of the sheet they go into."""

    def __init__(self, prefix: bytes, from_1904: bool) -> None:
        self._p = prefix.decode()
        self._from_1904 = from_1904

    def write(
        self, address: str, style: int, value: Plain, formula: CellFormula | None = None
    ) -> bytes:
        """A cell with a value, or with a formula and the value as its cached result."""
        p = self._p
        start = f'<{p}c r="{address}"' + (f' s="{style}"' if style else "")
        live = ""
        if formula is not None:
            opened = f"<{p}f {formula.attributes}" if formula.attributes else f"<{p}f"
            text = xml_text(formula.text)
            live = f"{opened}>{text}</{p}f>" if text else f"{opened}/>"
        if value is None or value == "":
            if formula is not None:
                return f'{start} t="str">{live}<{p}v></{p}v></{p}c>'.encode()
            return f"{start}/>".encode()
        if isinstance(value, bool):
            return f'{start} t="b">{live}<{p}v>{int(value)}</{p}v></{p}c>'.encode()
        if isinstance(value, dt.date):
            value = serial_of(value, self._from_1904)
        if isinstance(value, int | float):
            return f"{start}>{live}<{p}v>{plain_number(value)}</{p}v></{p}c>".encode()
        text = xml_text(_ESCAPED.sub("_x005F_x", clean_text(value)))
        if formula is not None:
            return f'{start} t="str">{live}<{p}v>{text}</{p}v></{p}c>'.encode()
        space = ' xml:space="preserve"' if text != text.strip() or "\n" in text else ""
        return f'{start} t="inlineStr"><{p}is><{p}t{space}>{text}</{p}t></{p}is></{p}c>'.encode()


class SheetPatch:
    """Changes one worksheet part; everything that is not named stays byte for byte."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.root, self.prefix = root_of(data)
        name = self.prefix + b"sheetData"
        start = start_tag(name).search(data)
        if start is None:
            raise ValueError("there is no sheetData")
        if start[2]:
            self._before, self._inside, self._after = (
                data[: start.end() - 2] + b">", b"", b"</%s>" % name + data[start.end() :]
            )  # fmt: skip
        else:
            end = data.index(b"</%s>" % name, start.end())
            self._before, self._inside, self._after = (
                data[: start.end()], data[start.end() : end], data[end:]
            )  # fmt: skip

    def patch_rows(self, cells_of: RowCells, ours: frozenset[int]) -> None:
        """Set our cells, in the columns `ours`, of every row that `cells_of` has cells for."""
        row_pattern = start_tag(self.prefix + b"row")
        end_mark = b"</%srow>" % self.prefix
        inside = self._inside
        out: list[bytes] = []
        position = 0
        number = 0
        for match in row_pattern.finditer(inside):
            stated = attribute(match[0], b"r")
            number = int(stated) if stated else number + 1
            body_end = match.end() if match[2] else inside.index(end_mark, match.end())
            body = inside[match.end() : body_end]
            cells = cells_of(number, body)
            if cells is None or not (cells or self._holds_ours(number, body, ours)):
                continue
            out.append(inside[position : match.start()])
            tag = match[0]
            if match[2]:
                tag = tag[:-2].rstrip() + b">"
            if b"spans" in tag:
                tag = _with_spans(tag, cells)
            out.append(tag)
            out.append(self._merge(number, body, cells, ours))
            out.append(end_mark)
            position = body_end if match[2] else body_end + len(end_mark)
        out.append(inside[position:])
        self._inside = b"".join(out)

    def set_widths(self, widths: Mapping[int, float]) -> None:
        """Set the widths of columns and show them if they were hidden."""
        p = self.prefix
        match = re.search(rb"<" + p + rb"cols\s*>(.*?)</" + p + rb"cols>", self._before, re.S)
        old = [m[0] for m in start_tag(p + b"col").finditer(match[1])] if match else []
        columns: list[tuple[int, int, bytes]] = []
        for tag in old:
            first, last = int(attribute(tag, b"min") or 0), int(attribute(tag, b"max") or 0)
            at = first
            for column in sorted(c for c in widths if first <= c <= last):
                if column > at:
                    columns.append((at, column - 1, tag))
                columns.append((column, column, _wide(tag, widths[column])))
                at = column + 1
            if at <= last:
                columns.append((at, last, tag))
        covered = {first for first, _, _ in columns}
        plain = b"<%scol/>" % p
        columns.extend(
            (column, column, _wide(plain, width))
            for column, width in widths.items()
            if column not in covered
        )
        columns.sort(key=lambda item: item[0])
        text = b"<%scols>" % p
        for first, last, tag in columns:
            closed = tag if tag.endswith(b"/>") else tag[:-1] + b"/>"
            text += with_attribute(
                with_attribute(closed, b"min", b"%d" % first), b"max", b"%d" % last
            )
        text += b"</%scols>" % p
        if match:
            self._before = self._before[: match.start()] + text + self._before[match.end() :]
        else:
            at = self._before.rindex(b"<%ssheetData" % p)
            self._before = self._before[:at] + text + self._before[at:]

    def set_dimension(self, last_row: int, last_column: int) -> None:
        """Widen the stated dimension, if there is one, to hold a cell."""
        match = start_tag(self.prefix + b"dimension").search(self._before)
        reference = attribute(match[0], b"ref") if match else None
        if match is None or not reference:
            return
        span = parse_span(reference.decode())
        wide = (
            f"{cell_name(span.first_row, span.first_column)}:"
            f"{cell_name(max(span.last_row, last_row), max(span.last_column, last_column))}"
        )
        tag = with_attribute(match[0], b"ref", wide.encode())
        self._before = self._before[: match.start()] + tag + self._before[match.end() :]

    def widen_filter(self, first_of_ours: int, last_of_ours: int) -> tuple[str, str] | None:
        """Let a filter that ends where our columns begin take them in: (old, new) range."""
        child = next((c for c in self._tail() if c[0] == "autoFilter"), None)
        if child is None:
            return None
        start = child[1]
        match = start_tag(self.prefix + b"autoFilter").match(self._after, start)
        reference = attribute(match[0], b"ref") if match else None
        if match is None or not reference:
            return None
        span = parse_span(reference.decode())
        if span.last_column != first_of_ours - 1:
            return None
        new = (
            f"{cell_name(span.first_row, span.first_column)}:"
            f"{cell_name(span.last_row, last_of_ours)}"
        )
        tag = with_attribute(match[0], b"ref", new.encode())
        self._after = self._after[:start] + tag + self._after[match.end() :]
        return reference.decode(), new

    def set_links(self, links: Iterable[tuple[str, str]], ours: frozenset[int], below: int) -> None:
        """Set our links (cell, place that it leads to) and drop those of ours that were there."""
        p = self.prefix
        added = b"".join(
            b'<%shyperlink ref="%s" location="%s"/>' % (p, cell.encode(), xml_text(place).encode())
            for cell, place in links
        )
        child = next((c for c in self._tail() if c[0] == "hyperlinks"), None)
        kept = b""
        if child is None and not added:
            return
        if child is not None:
            _, start, end = child
            old = self._after[start:end]
            for match in start_tag(p + b"hyperlink").finditer(old):
                span = parse_span((attribute(match[0], b"ref") or b"A1").decode())
                if not (span.first_column in ours and span.first_row > below):
                    kept += match[0] if match[2] else match[0][:-1] + b"/>"
            self._after = self._after[:start] + self._after[end:]
        if added or kept:
            self._insert("hyperlinks", b"<%shyperlinks>%s</%shyperlinks>" % (p, kept + added, p))

    def render(self) -> bytes:
        """The part as it is now."""
        return self._before + self._inside + self._after

    def _tail(self) -> list[tuple[str, int, int]]:
        """Children after the cells: (name, start, end) in the text after them."""
        name = b"<%ssheetData>" % self.prefix
        skeleton = self.root[0] + name + self._after
        shift = len(self.root[0]) + len(name)
        return [
            (child.name, child.start - shift, child.end - shift)
            for child in children_of_root(skeleton)
            if child.name != "sheetData"
        ]

    def _insert(self, name: str, markup: bytes) -> None:
        # What a program may not know (controls, drawings) is wrapped in AlternateContent.
        later = {*_ORDER[_ORDER.index(name) + 1 :], "AlternateContent"}
        for child, start, _ in self._tail():
            if child in later:
                self._after = self._after[:start] + markup + self._after[start:]
                return
        end = self._after.rindex(b"</")
        self._after = self._after[:end] + markup + self._after[end:]

    def _holds_ours(self, row: int, body: bytes, ours: frozenset[int]) -> bool:
        last = _last_column(body, self.prefix)
        if last is not None and last < min(ours):
            return False
        return any(column in ours for column, _ in _cells_of(body, self.prefix, row)[0])

    def _merge(
        self, row: int, body: bytes, cells: Sequence[tuple[int, bytes]], ours: frozenset[int]
    ) -> bytes:
        first = cells[0][0] if cells else min(ours)
        last = _last_column(body, self.prefix)
        if last is not None and last < first:
            return body + b"".join(markup for _, markup in cells)
        old, rest = _cells_of(body, self.prefix, row)
        mine = {column for column, _ in cells}
        kept = [(c, m) for c, m in old if c not in mine and c not in ours]
        merged = sorted([*kept, *cells], key=lambda item: item[0])
        return b"".join(markup for _, markup in merged) + rest


def _last_column(body: bytes, prefix: bytes) -> int | None:
    """Column of the last cell of a row; 0 for an empty row, None where it takes a closer look."""
    if not body.strip():
        return 0
    if b"extLst" in body:
        return None
    at = body.rfind(b"<%sc " % prefix)
    if at < 0:
        return None
    match = re.compile(rb"[^>]*?\sr=\"([A-Z]+)\d+\"").match(body, at)
    return column_number(match[1].decode()) if match else None


def _cells_of(body: bytes, prefix: bytes, row: int) -> tuple[list[tuple[int, bytes]], bytes]:
    """Cells of a row with their columns, and what follows the last of them."""
    pattern = start_tag(prefix + b"c")
    end_mark = b"</%sc>" % prefix
    cells: list[tuple[int, bytes]] = []
    column = 0
    position = 0
    while (match := pattern.search(body, position)) is not None:
        end = match.end() if match[2] else body.index(end_mark, match.end()) + len(end_mark)
        reference = attribute(match[0], b"r")
        column = column_number(re.sub(rb"\d", b"", reference).decode()) if reference else column + 1
        markup = body[match.start() : end]
        if not reference:  # cells without a name are counted, which ours would upset
            named = with_attribute(match[0], b"r", cell_name(row, column).encode())
            markup = named + body[match.end() : end]
        cells.append((column, markup))
        position = end
    return cells, body[position:]


def _with_spans(tag: bytes, cells: Sequence[tuple[int, bytes]]) -> bytes:
    spans = attribute(tag, b"spans") or b""
    match = re.fullmatch(rb"(\d+):(\d+)", spans.strip())
    if not cells:
        return tag
    if not match:
        return without_attribute(tag, b"spans")
    first, last = min(int(match[1]), cells[0][0]), max(int(match[2]), cells[-1][0])
    return with_attribute(tag, b"spans", b"%d:%d" % (first, last))


def _wide(tag: bytes, width: float) -> bytes:
    for name in (b"hidden", b"collapsed", b"bestFit"):
        tag = without_attribute(tag, name)
    tag = with_attribute(tag, b"width", plain_number(width).encode())
    return with_attribute(tag, b"customWidth", b"1")


def place_of(link: Link, sheet_names: Mapping[str | None, str], item_rows: Sequence[int]) -> str:
    """The reference that a link leads to."""
    cell = link.cell
    if link.sheet is None and link.item is not None:
        cell = f"A{item_rows[link.item]}"
    return f"{quoted_sheet(sheet_names[link.sheet])}!{cell}"


def write_extra_sheet(
    extra: ExtraSheet,
    namespace: str,
    styles: Styles,
    sheet_names: Mapping[str | None, str],
    item_rows: Sequence[int],
    from_1904: bool,
) -> bytes:
    """The worksheet part of a sheet of ours."""
    writer = CellWriter(b"", from_1904)
    renderer = Renderer("xlsx")
    rows: list[str] = []
    links: list[str] = []
    for number, row in enumerate(extra.rows, start=1):
        cells: list[bytes] = []
        after_number = False
        for column, given in enumerate(row, start=1):
            value: CellValue = given
            if value is None:
                after_number = False
                continue
            address = cell_name(number, column)
            number_format = extra.number_formats.get(column, "text")
            linked = False
            if isinstance(value, Shown):
                number_format, value = value.number_format, value.value
            if isinstance(value, Link):
                place = place_of(value, sheet_names, item_rows)
                linked = True
                links.append(f'<hyperlink ref="{address}" location="{xml_text(place)}"/>')
                value = value.text
            formula: CellFormula | None = None
            if isinstance(value, Formula):
                formula = CellFormula(renderer.render(value.template, lambda key: None))
                value = value.value
            value = holdable(value)
            words = isinstance(value, str) and formula is None
            style = styles.format_like(
                0,
                format_for(value, number_format, formula is not None),
                bold=number in extra.bold_rows,
                wrap=column in extra.wrap_columns and number not in extra.bold_rows,
                indented=words and after_number,
                quoted=words and starts_live(str(value)),
                linked=linked,
            )
            after_number = not words
            cells.append(writer.write(address, style, value, formula))
        height = _height_of(extra, number, row)
        rows.append(f'<row r="{number}"{height}>{b"".join(cells).decode()}</row>')
    view = ""
    if extra.freeze_below:
        top = extra.freeze_below + 1
        view = (
            '<sheetViews><sheetView workbookViewId="0">'
            f'<pane ySplit="{extra.freeze_below}" topLeftCell="A{top}" activePane="bottomLeft" '
            'state="frozen"/></sheetView></sheetViews>'
        )
    columns = "".join(
        f'<col min="{i}" max="{i}" width="{plain_number(float(width))}" customWidth="1"/>'
        for i, width in enumerate(extra.widths, start=1)
    )
    picks = "".join(
        f'<dataValidation type="list" allowBlank="1" showErrorMessage="1" sqref="{cells_}">'
        f"<formula1>{xml_text(chr(34) + ','.join(values) + chr(34))}</formula1></dataValidation>"
        for cells_, values in extra.pick_lists.items()
    )
    parts = [
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n',
        f'<worksheet xmlns="{namespace}">',
        '<sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>',
        view,
        f"<cols>{columns}</cols>" if columns else "",
        "<sheetData>", *rows, "</sheetData>",
        f'<dataValidations count="{len(extra.pick_lists)}">{picks}</dataValidations>'
        if picks else "",
        f"<hyperlinks>{''.join(links)}</hyperlinks>" if links else "",
        '<pageSetup orientation="landscape" fitToWidth="1" fitToHeight="0"/>',
        "</worksheet>",
    ]  # fmt: skip
    return "".join(parts).encode()


def _height_of(extra: ExtraSheet, number: int, row: Sequence[CellValue]) -> str:
    """The height of a row with wrapped text, which programs do not work out when they open it."""
    if number in extra.bold_rows:
        return ""
    lines = max(
        (
            math.ceil(len(text) / extra.widths[column - 1] / _LETTERS_IN_WIDTH)
            for column in extra.wrap_columns
            if column <= len(row) and isinstance(text := row[column - 1], str)
        ),
        default=1,
    )
    return f' ht="{_LINE_HEIGHT * lines}" customHeight="1"' if lines > 1 else ""
