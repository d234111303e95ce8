"""Cells, styles and tables in the markup of OpenDocument."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lxml import etree

from pipeline.answers.sheet.cells import (
    CellValue,
    ExtraSheet,
    Formula,
    Link,
    Plain,
    Shown,
    clean_text,
    format_for,
    holdable,
    parse_span,
    plain_number,
    xml_text,
)
from pipeline.answers.sheet.formulas import Renderer

NUMBER_NS = "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0"
FO_NS = "urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"
STYLE_NS = "urn:oasis:names:tc:opendocument:xmlns:style:1.0"
OFFICE_NS = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
TABLE_NS = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
TEXT_NS = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
XLINK_NS = "http://www.w3.org/1999/xlink"
FORMULA_NS = "urn:oasis:names:tc:opendocument:xmlns:of:1.2"

_NUMBER_STYLES: Mapping[str, str] = {
    "money": '<number:number-style style:name="{name}"><number:number number:decimal-places="2" '
    'number:min-decimal-places="2" number:min-integer-digits="1" number:grouping="true"/>'
    "</number:number-style>",
    "whole": '<number:number-style style:name="{name}"><number:number number:decimal-places="0" '
    'number:min-integer-digits="1"/></number:number-style>',
    "share": '<number:percentage-style style:name="{name}"><number:number '
    'number:decimal-places="1" number:min-integer-digits="1"/><number:text>%</number:text>'
    "</number:percentage-style>",
    "date": '<number:date-style style:name="{name}"><number:year number:style="long"/>'
    '<number:text>-</number:text><number:month number:style="long"/><number:text>-</number:text>'
    '<number:day number:style="long"/></number:date-style>',
    "figure": '<number:number-style style:name="{name}"><number:number number:decimal-places="3" '
    'number:min-decimal-places="3" number:min-integer-digits="1"/></number:number-style>',
}

_SPACES = re.compile(r"  +|^ | $")


@dataclass
class OdsStyles:
    """Automatic styles that we add to a content part; existing ones keep their names.

    `existing` maps the names of automatic cell styles to their elements.
    """

    existing: Mapping[str, etree._Element]
    taken: set[str]
    added: list[str] = field(default_factory=list)
    _cells: dict[tuple[str, str, str], str] = field(default_factory=dict)

    def cell(
        self,
        base: str,
        number_format: str,
        *,
        bold: bool = False,
        wrap: bool = False,
        indented: bool = False,
        linked: bool = False,
    ) -> str:
        """Name of a style that looks as `base` but shows numbers another way; `indented` sets
        words a little apart from a number left of them."""
        flags = "b" * bold + "w" * wrap + "i" * indented + "l" * linked
        key = (base, number_format, flags)
        if key not in self._cells:
            name = _name_of("cell", base, number_format, flags)
            if self._is_new(name):
                self._make(name, base, number_format, flags)
            self._cells[key] = name
        return self._cells[key]

    def column(self, width: float) -> str:
        """Name of a column style of a width in characters."""
        centimetres = plain_number(round(width * 0.21, 2))
        name = _name_of("column", centimetres)
        if self._is_new(name):
            self.added.append(
                f'<style:style {_declared("style")} style:name="{name}" '
                f'style:family="table-column"><style:table-column-properties '
                f'style:column-width="{centimetres}cm"/></style:style>'
            )
        return name

    def _make(self, name: str, base: str, number_format: str, flags: str) -> None:
        data_style = self._number(number_format)
        element = self.existing.get(base)
        if element is None:
            parent = xml_text(base or "Default")
            element = etree.fromstring(
                f'<style:style {_declared("style")} style:family="table-cell" '
                f'style:parent-style-name="{parent}"/>'
            )
        else:
            element = etree.fromstring(etree.tostring(element, with_tail=False))
        s = f"{{{STYLE_NS}}}"
        element.set(f"{s}name", name)
        element.attrib.pop(f"{s}data-style-name", None)
        if data_style:
            element.set(f"{s}data-style-name", data_style)
        for old in [*element.iterfind(f"{s}map"), *element.iterfind(f"{s}paragraph-properties")]:
            element.remove(old)
        if "w" in flags or "i" in flags:
            properties = element.find(f"{s}table-cell-properties")
            if properties is None:
                properties = etree.Element(f"{s}table-cell-properties")
                element.insert(0, properties)
            if "w" in flags:
                properties.set(f"{{{FO_NS}}}wrap-option", "wrap")
                properties.set(f"{s}vertical-align", "top")
            if "i" in flags:
                properties.set(f"{s}text-align-source", "fix")
                paragraph = etree.Element(f"{s}paragraph-properties")
                paragraph.set(f"{{{FO_NS}}}text-align", "start")
                paragraph.set(f"{{{FO_NS}}}margin-left", "0.2cm")
                properties.addnext(paragraph)
        marks = {f"{{{FO_NS}}}font-weight": "bold"} if "b" in flags else {}
        if "l" in flags:
            marks |= {f"{s}text-underline-style": "solid", f"{{{FO_NS}}}color": "#0563c1"}
        if marks:
            properties = element.find(f"{s}text-properties")
            if properties is None:
                properties = etree.SubElement(element, f"{s}text-properties")
            for attribute_name, value in marks.items():
                properties.set(attribute_name, value)
        self.added.append(etree.tostring(element, encoding="unicode", with_tail=False))

    def _number(self, number_format: str) -> str | None:
        if number_format not in _NUMBER_STYLES:
            return None
        name = _name_of("number", number_format)
        if self._is_new(name):
            text = _NUMBER_STYLES[number_format].format(name=name)
            end = text.index(" ")
            self.added.append(text[:end] + " " + _declared("style", "number") + text[end:])
        return name

    def _is_new(self, name: str) -> bool:
        """Whether a style is still to be made: one of an earlier run does as well."""
        if name in self.taken:
            return False
        self.taken.add(name)
        return True


def _name_of(*parts: str) -> str:
    return "comparables_" + "_".join(re.sub(r"\W", "_", part) for part in parts if part)


_NAMESPACES = {
    "style": STYLE_NS, "number": NUMBER_NS, "fo": FO_NS, "table": TABLE_NS, "office": OFFICE_NS,
    "text": TEXT_NS, "xlink": XLINK_NS, "of": FORMULA_NS,
}  # fmt: skip


def _declared(*prefixes: str) -> str:
    return " ".join(f'xmlns:{prefix}="{_NAMESPACES[prefix]}"' for prefix in prefixes)


class OdsCellWriter:
    """Writes single cells with the prefixes of the part that they go into."""

    def __init__(self, prefixes: Mapping[str, bytes]) -> None:
        self.t = prefixes[TABLE_NS].decode()
        self.o = prefixes[OFFICE_NS].decode()
        self.x = prefixes[TEXT_NS].decode()
        link = prefixes.get(XLINK_NS)
        self._link = link.decode() if link else "xlink:"
        self._link_declared = "" if link else f' xmlns:xlink="{XLINK_NS}"'
        self._formula_declared = (
            "" if prefixes.get(FORMULA_NS) == b"of:" else f' xmlns:of="{FORMULA_NS}"'
        )

    def write(
        self,
        style: str,
        value: Plain,
        number_format: str = "text",
        formula: str | None = None,
        link: str | None = None,
    ) -> str:
        """A cell with a value, or with a formula (escaped) and the value as its cached result.

        A link makes the text of the cell lead to a place ("#sheet.A1").
        """
        t, o = self.t, self.o
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if link and is_number and formula is None:
            # A number's text cannot carry a link in the programs that read it: a formula can.
            text = f'HYPERLINK("{link}";{plain_number(float(str(value)))})'
            formula, link = xml_text(text), None
        start = f"<{t}table-cell"
        if style:
            start += f' {t}style-name="{xml_text(style)}"'
        if formula is not None:
            start += f'{self._formula_declared} {t}formula="of:={formula}"'
        if value is None or value == "":
            if formula is None:
                return f"{start}/>"
            return f'{start} {o}value-type="string" {o}string-value=""/>'
        if isinstance(value, bool):
            truth = str(value).lower()
            return self._whole(
                f'{start} {o}value-type="boolean" {o}boolean-value="{truth}"', truth.upper(), link
            )
        if isinstance(value, dt.date):
            day = value.isoformat()
            return self._whole(f'{start} {o}value-type="date" {o}date-value="{day}"', day, link)
        if isinstance(value, int | float):
            kind = "percentage" if number_format == "share" else "float"
            return self._whole(
                f'{start} {o}value-type="{kind}" {o}value="{plain_number(value)}"',
                _shown(value, number_format),
                link,
            )
        return self._whole(f'{start} {o}value-type="string"', clean_text(value), link)

    def _whole(self, start: str, text: str, link: str | None) -> str:
        x = self.x
        lines = [self._line(line) for line in text.split("\n")]
        if link:
            target = xml_text(link)
            lines = [
                f'<{x}a{self._link_declared} {self._link}href="{target}" '
                f'{self._link}type="simple">{line}</{x}a>'
                for line in lines
            ]
        body = "".join(f"<{x}p>{line}</{x}p>" for line in lines)
        return f"{start}>{body}</{self.t}table-cell>"

    def _line(self, line: str) -> str:
        """A line with its spaces and tabs marked: markup would lose them."""
        x = self.x
        if "\t" not in line and _SPACES.search(line) is None:
            return xml_text(line)

        def spaces(match: re.Match[str]) -> str:
            return f'\x00{x}s {x}c="{len(match[0])}"/\x01'

        marked = _SPACES.sub(spaces, line).replace("\t", f"\x00{x}tab/\x01")
        escaped = "".join(
            part if index % 2 else xml_text(part)
            for index, part in enumerate(re.split("(\x00[^\x01]*\x01)", marked))
        )
        return escaped.replace("\x00", "<").replace("\x01", ">")

    def blanks(self, count: int) -> str:
        """So many empty cells."""
        repeated = f' {self.t}number-columns-repeated="{count}"' if count > 1 else ""
        return f"<{self.t}table-cell{repeated}/>" if count > 0 else ""


def _shown(value: float, number_format: str) -> str:
    if number_format == "money":
        return f"{value:,.2f}"
    if number_format == "share":
        return f"{value:.1%}"
    if number_format == "figure":
        return f"{value:.3f}"
    return f"{value:.0f}" if number_format == "whole" else plain_number(value)


def ods_place(sheet: str, cell: str) -> str:
    """The place that a link leads to."""
    return f"#'{sheet}'.{cell}" if re.search(r"\W", sheet) else f"#{sheet}.{cell}"


def ods_reference(sheet: str, cells: str) -> str:
    """The address of a named range: $'sheet'.$A$1:.$B$2."""
    first, colon, last = cells.partition(":")
    name = "'" + sheet.replace("'", "''") + "'"
    address = f"${name}.{_fixed(first)}"
    return address + (f":.{_fixed(last)}" if colon else "")


def _fixed(cell: str) -> str:
    return re.sub(r"^\$?([A-Za-z]+)\$?(\d+)$", r"$\1$\2", cell)


def write_ods_table(
    extra: ExtraSheet,
    name: str,
    writer: OdsCellWriter,
    styles: OdsStyles,
    sheet_names: Mapping[str | None, str],
    item_rows: Sequence[int],
) -> bytes:
    """The table of a sheet of ours."""
    t = writer.t
    renderer = Renderer("ods")
    width = max((len(row) for row in extra.rows), default=1)
    picks = pick_validations(extra)
    columns = "".join(
        f'<{t}table-column {t}style-name="{styles.column(float(w))}"/>' for w in extra.widths
    )
    rest = width - len(extra.widths)
    if rest > 0:
        columns += f'<{t}table-column {t}number-columns-repeated="{rest}"/>'
    rows: list[bytes] = []
    for number, row in enumerate(extra.rows, start=1):
        cells: list[str] = []
        after_number = False
        for column, given in enumerate(row, start=1):
            value: CellValue = given
            number_format = extra.number_formats.get(column, "text")
            if isinstance(value, Shown):
                number_format, value = value.number_format, value.value
            link = formula = None
            if isinstance(value, Link):
                cell = value.cell
                if value.sheet is None and value.item is not None:
                    cell = f"A{item_rows[value.item]}"
                link = ods_place(sheet_names[value.sheet], cell)
                value = value.text
            if isinstance(value, Formula):
                formula = xml_text(renderer.render(value.template, lambda key: None))
                value = value.value
            value = holdable(value)
            number_format = format_for(value, number_format, formula is not None)
            words = isinstance(value, str) and formula is None
            style = styles.cell(
                "Default", number_format, bold=number in extra.bold_rows,
                wrap=column in extra.wrap_columns and number not in extra.bold_rows,
                indented=words and after_number, linked=link is not None,
            )  # fmt: skip
            after_number = value is not None and not words
            markup = writer.write(style if value is not None else "", value, number_format, formula,
                                  link)  # fmt: skip
            validation = picks.get((number, column))
            if validation:
                markup = markup.replace(
                    f"<{t}table-cell",
                    f'<{t}table-cell {t}content-validation-name="{validation}"', 1,
                )  # fmt: skip
            cells.append(markup)
        if not cells:
            cells.append(writer.blanks(1))
        rows.append(f"<{t}table-row>{''.join(cells)}</{t}table-row>".encode())
    start = f'<{t}table {t}name="{xml_text(name)}">{columns}'
    return b"".join([start.encode(), *rows, f"</{t}table>".encode()])


def pick_validations(extra: ExtraSheet) -> dict[tuple[int, int], str]:
    """Cells of an extra sheet that have a pick-list, with the name of its validation."""
    found: dict[tuple[int, int], str] = {}
    for index, cells in enumerate(extra.pick_lists, start=1):
        span = parse_span(cells)
        name = f"comparables_{re.sub(r'[^A-Za-z0-9]', '_', extra.name)}_{index}"
        for row in range(span.first_row, span.last_row + 1):
            for column in range(span.first_column, span.last_column + 1):
                found[row, column] = name
    return found
