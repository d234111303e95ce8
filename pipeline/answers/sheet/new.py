"""An empty sheet to describe pieces in, with pick-lists of the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import BinaryIO

from pipeline.answers.sheet.archive import new_archive
from pipeline.answers.sheet.cells import clean_text, column_letters, xml_text
from pipeline.answers.sheet.output import KINDS, check_target, whole_file
from pipeline.errors import SheetError

SHEET = "pieces"
LISTS = "lists"
ROWS = 2000  # rows that offer the pick-lists

COLUMNS: Mapping[str, tuple[str, float, str]] = {
    "tag": ("tag", 10.0, "your own number of the piece"),
    "description": ("description", 44.0, "the piece in your own words"),
    "category": ("category", 20.0, "pick one or write your own word"),
    "material": ("material", 18.0, "pick one or write your own word"),
    "period": ("period", 18.0, "a year, a range, a style"),
    "condition": ("condition", 14.0, "pick one or write your own word"),
    "quantity": ("quantity", 10.0, "1 where it is left empty"),
    "asking_price": ("asking price", 14.0, "what the seller asks"),
    "cleaning_cost": ("cleaning cost", 14.0, "what cleaning will cost"),
    "repair_cost": ("repair cost", 14.0, "what repair will cost"),
    "market": ("market", 16.0, "where you mean to sell it"),
    "notes": ("notes", 40.0, "kept as it is"),
}
"""Field -> header, width in characters, hint."""

_MONEY = ("asking_price", "cleaning_cost", "repair_cost")


def new_sheet(
    target: str | Path, pick_lists: Mapping[str, Sequence[str]], *, replace: bool = False
) -> Path:
    """Make an empty sheet that `open_sheet` understands.

    Args:
        target: the new file: .xlsx, .ods, or .csv and .tsv (which hold no pick-lists).
        pick_lists: field -> values that may be picked; other words may be written all the same.
        replace: whether a file of that name may be replaced.

    Raises:
        SheetError: a pick-list is for no column of the sheet, or the file cannot be written.
    """
    target = Path(target)
    check_target(target, None, replace)
    for name in pick_lists:
        if name not in COLUMNS:
            raise SheetError(
                f"there is no column {name!r} to pick values in",
                todo=f"the columns are {', '.join(COLUMNS)}",
            )
    lists = {name: [clean_text(v) for v in values] for name, values in pick_lists.items() if values}
    if target.suffix.lower() == ".xlsm":
        raise SheetError("a new sheet has no macros", where=target, todo="let it end in .xlsx")
    kind = KINDS[target.suffix.lower()]
    with whole_file(target) as file:
        if kind == "xlsx":
            _write_xlsx(file, lists)
        elif kind == "ods":
            new_archive(file, _ods_parts(lists), frozenset({"mimetype"}))
        else:
            delimiter = "\t" if target.suffix.lower() == ".tsv" else ","
            headers = delimiter.join(header for header, _, _ in COLUMNS.values())
            file.write(b"\xef\xbb\xbf" + f"{headers}\r\n".encode())
    return target


def _write_xlsx(file: BinaryIO, lists: Mapping[str, Sequence[str]]) -> None:
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.worksheet.datavalidation import DataValidation

    book = Workbook()
    sheet = book.active
    if sheet is None:
        raise SheetError("the workbook came without a sheet")
    sheet.title = SHEET
    sheet.freeze_panes = "C2"
    offered = book.create_sheet(LISTS) if lists else None
    for number, (name, (header, width, hint)) in enumerate(COLUMNS.items(), start=1):
        letters = column_letters(number)
        cell = sheet.cell(1, number, header)
        cell.font = Font(bold=True)
        sheet.column_dimensions[letters].width = width
        if name in _MONEY:
            for row in range(2, ROWS + 2):
                sheet.cell(row, number).number_format = "#,##0.00"
        check = DataValidation(showInputMessage=True, promptTitle=header, prompt=hint)
        if name in lists and offered is not None:
            place = list(lists).index(name) + 1
            offered.cell(1, place, header).font = Font(bold=True)
            offered.column_dimensions[column_letters(place)].width = 28
            for row, value in enumerate(lists[name], start=2):
                offered.cell(row, place).value = value
                offered.cell(row, place).data_type = "s"
            check.type = "list"
            check.formula1 = (
                f"{LISTS}!${column_letters(place)}$2:${column_letters(place)}"
                f"${len(lists[name]) + 1}"
            )
            check.errorStyle = "information"  # her own words are welcome
            check.showErrorMessage = False
        check.add(f"{letters}2:{letters}{ROWS + 1}")
        sheet.add_data_validation(check)
    book.save(file)


_ODS_NAMESPACES = (
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0" '
    'xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" '
    'xmlns:config="urn:oasis:names:tc:opendocument:xmlns:config:1.0" '
    'xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2"'
)
_XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
_MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"


def _ods_parts(lists: Mapping[str, Sequence[str]]) -> dict[str, bytes]:
    manifest = (
        _XML
        + '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" '
        'manifest:version="1.2">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{_MIMETYPE}"/>'
        + "".join(
            f'<manifest:file-entry manifest:full-path="{name}" manifest:media-type="text/xml"/>'
            for name in ("content.xml", "styles.xml", "settings.xml")
        )
        + "</manifest:manifest>"
    )
    styles = f"{_XML}<office:document-styles {_ODS_NAMESPACES}><office:styles>" + (
        '<style:default-style style:family="table-cell"/>'
        '<style:style style:name="Default" style:family="table-cell"/></office:styles>'
        "</office:document-styles>"
    )
    settings = f"{_XML}<office:document-settings {_ODS_NAMESPACES}><office:settings>" + (
        '<config:config-item-set config:name="ooo:view-settings"><config:config-item-map-indexed '
        'config:name="Views"><config:config-item-map-entry><config:config-item-map-named '
        f'config:name="Tables"><config:config-item-map-entry config:name="{SHEET}">'
        + "".join(
            f'<config:config-item config:name="{key}" config:type="{kind}">{value}'
            "</config:config-item>"
            for key, kind, value in (
                ("HorizontalSplitMode", "short", 2),
                ("VerticalSplitMode", "short", 2),
                ("HorizontalSplitPosition", "int", 2),
                ("VerticalSplitPosition", "int", 1),
                ("PositionRight", "int", 2),
                ("PositionBottom", "int", 1),
            )
        )
        + "</config:config-item-map-entry></config:config-item-map-named>"
        "</config:config-item-map-entry></config:config-item-map-indexed>"
        "</config:config-item-set></office:settings></office:document-settings>"
    )
    return {
        "mimetype": _MIMETYPE.encode(),
        "content.xml": _ods_content(lists).encode(),
        "styles.xml": styles.encode(),
        "settings.xml": settings.encode(),
        "META-INF/manifest.xml": manifest.encode(),
    }


def _ods_content(lists: Mapping[str, Sequence[str]]) -> str:
    widths = [width for _, width, _ in COLUMNS.values()]
    column_styles = "".join(
        f'<style:style style:name="co{i}" style:family="table-column">'
        f'<style:table-column-properties style:column-width="{width * 0.21:.2f}cm"/></style:style>'
        for i, width in enumerate([*widths, 28.0], start=1)
    )
    cell_styles = (
        '<number:number-style style:name="n1"><number:number number:decimal-places="2" '
        'number:min-decimal-places="2" number:min-integer-digits="1" number:grouping="true"/>'
        '</number:number-style><style:style style:name="money" style:family="table-cell" '
        'style:parent-style-name="Default" style:data-style-name="n1"/>'
        '<style:style style:name="head" style:family="table-cell" '
        'style:parent-style-name="Default"><style:text-properties fo:font-weight="bold"/>'
        "</style:style>"
    )
    validations: list[str] = []
    blanks: list[str] = []
    for number, (name, (header, _, hint)) in enumerate(COLUMNS.items(), start=1):
        condition = ""
        if name in lists:
            letters = column_letters(list(lists).index(name) + 1)
            reference = f"[${LISTS}.${letters}$2:.${letters}${len(lists[name]) + 1}]"
            condition = f'table:condition="of:cell-content-is-in-list({reference})" '
        validations.append(
            f'<table:content-validation table:name="v{number}" {condition}'
            f'table:allow-empty-cell="true" table:base-cell-address="{SHEET}.A1">'
            f'<table:help-message table:title="{xml_text(header)}" table:display="true">'
            f"<text:p>{xml_text(hint)}</text:p></table:help-message>"
            '<table:error-message table:display="false"/></table:content-validation>'
        )
        style = ' table:style-name="money"' if name in _MONEY else ""
        blanks.append(f'<table:table-cell{style} table:content-validation-name="v{number}"/>')
    head = "".join(_ods_text(header, "head") for header, _, _ in COLUMNS.values())
    columns = "".join(
        f'<table:table-column table:style-name="co{i}"/>' for i in range(1, len(widths) + 1)
    )
    tables = (
        f'<table:table table:name="{SHEET}">{columns}<table:table-row>{head}</table:table-row>'
        f'<table:table-row table:number-rows-repeated="{ROWS}">{"".join(blanks)}'
        "</table:table-row></table:table>"
    )
    if lists:
        longest = max(len(values) for values in lists.values())
        rows = "".join(
            "<table:table-row>"
            + "".join(
                _ods_text(values[i]) if i < len(values) else "<table:table-cell/>"
                for values in lists.values()
            )
            + "</table:table-row>"
            for i in range(longest)
        )
        titles = "".join(_ods_text(COLUMNS[name][0], "head") for name in lists)
        tables += (
            f'<table:table table:name="{LISTS}"><table:table-column '
            f'table:style-name="co{len(widths) + 1}" '
            f'table:number-columns-repeated="{len(lists)}"/>'
            f"<table:table-row>{titles}</table:table-row>{rows}</table:table>"
        )
    return (
        f"{_XML}<office:document-content {_ODS_NAMESPACES}><office:automatic-styles>"
        f"{column_styles}{cell_styles}</office:automatic-styles><office:body><office:spreadsheet>"
        f"<table:content-validations>{''.join(validations)}</table:content-validations>{tables}"
        "</office:spreadsheet></office:body></office:document-content>"
    )


def _ods_text(text: str, style: str = "") -> str:
    named = f' table:style-name="{style}"' if style else ""
    return (
        f'<table:table-cell{named} office:value-type="string"><text:p>{xml_text(text)}</text:p>'
        "</table:table-cell>"
    )
