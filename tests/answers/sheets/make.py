"""Makes small workbooks as people have them; all pieces, people and places are invented."""

from __future__ import annotations

import shutil
import subprocess
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

PIECES = [
    # description, condition, asking, cleaning, repair
    ("brass student lamp, about 1890, rewired", "good", 45, 4, None),
    ("oak chest of drawers", "fair", 120.5, None, 30),
    ("set of 6 pressed glass goblets", "very good", "£38.00", None, None),
    ("terrestrial globe, 12 inch", "poor", None, 10, None),
    ("=cmd|' /C calc'!A0", "good", 10, None, None),
    ("mantel clock, 8 day", "good", "POA", 5, 12.25),
]

HEADERS = ("Item", "Condition", "Asking price (£)", "Cleaning", "Repairs")


def rich_xlsx(path: Path) -> Path:
    """A workbook with most of what a spreadsheet can hold, by XlsxWriter."""
    import xlsxwriter

    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Saturday round")
    bold = book.add_format({"bold": True, "bg_color": "#DDEEFF", "border": 1})
    money = book.add_format({"num_format": "£#,##0.00", "font_color": "#303030"})
    day = book.add_format({"num_format": "d mmm yyyy"})
    wide = book.add_format({"bold": True, "align": "center"})
    sheet.merge_range("A1:F1", "Saturday round, Harbour Road fair", wide)
    sheet.write("H1", "printed for M. Ferring")
    for column, header in enumerate((*HEADERS, "Seen on", "Their total")):
        sheet.write(3, column, header, bold)
    for index, (text, condition, asking, cleaning, repair) in enumerate(PIECES):
        row = 4 + index + (index > 2)  # an empty row between
        if index == 0:
            italic = book.add_format({"italic": True})
            sheet.write_rich_string(
                row, 0, "brass ", italic, "student", " lamp, about 1890, rewired"
            )
        else:
            sheet.write_string(row, 0, text)
        sheet.write(row, 1, condition)
        if isinstance(asking, str):
            sheet.write_string(row, 2, asking, money)
        elif asking is not None:
            sheet.write_number(row, 2, asking, money)
        for column, cost in ((3, cleaning), (4, repair)):
            if cost is not None:
                sheet.write_number(row, column, cost, money)
        sheet.write_number(row, 5, 45_000 + index, day)
        total = (asking if not isinstance(asking, str) and asking else 0) + (cleaning or 0)
        sheet.write_formula(row, 6, f"=N(C{row + 1})+D{row + 1}", money, total)
    sheet.write("A12", "Total")
    sheet.write_formula("C12", "=SUM(C5:C11)", money, 175.5)
    sheet.write_formula("D13", "=1/0", None, "#DIV/0!")
    sheet.set_column("A:A", 40)
    sheet.set_column("C:E", 12, money)
    sheet.set_column("H:XFD", None, None, {"hidden": True})
    sheet.freeze_panes(4, 1)
    sheet.autofilter("A4:G11")
    sheet.data_validation("B5:B11", {"validate": "list", "source": ["good", "fair", "poor"]})
    sheet.conditional_format("C5:C11", {"type": "data_bar", "data_bar_2010": True})
    sheet.conditional_format("B5:B11", {"type": "cell", "criteria": "==", "value": '"poor"',
                                        "format": bold})  # fmt: skip
    sheet.add_sparkline("A14", {"range": "C5:C11"})
    sheet.write_comment("A5", "ask about the shade")
    sheet.write_url("H2", "https://example.org/", string="a page")
    sheet.write_url("H3", "internal:'Old stock'!A1", string="old stock")
    sheet.insert_textbox("A20", "a box")
    sheet.set_header("&CRound")
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": "='Saturday round'!$C$5:$C$11"})
    sheet.insert_chart("A25", chart)
    other = book.add_worksheet("Old stock")
    other.write_row("A1", ["what", "paid"])
    other.write_row("A2", ["chair", 10])
    other.add_table("C1:D4", {"columns": [{"header": "k"}, {"header": "v"}]})
    other.write_formula("F1", "='Saturday round'!C12*2", None, 351)
    hidden = book.add_worksheet("secret")
    hidden.hide()
    book.define_name("my_rate", "='Old stock'!$B$2")
    book.set_properties({"title": "Round", "author": "M. Ferring"})
    book.close()
    return path


def plain_xlsx(path: Path, rows: list[list[object]], title: str = "pieces") -> Path:
    """A workbook of one sheet, by openpyxl."""
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    book.save(path)
    return path


def edit_part(source: Path, target: Path, edits: Mapping[str, Callable[[bytes], bytes]]) -> Path:
    """A copy of an archive with some parts changed, for instance damaged."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        assert set(edits) <= set(old.namelist())
        for info in old.infolist():
            data = old.read(info)
            if info.filename in edits:
                data = edits[info.filename](data)
            new.writestr(info, data, compress_type=info.compress_type)
    return target


ODS_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0" '
    'xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" '
    'xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2">'
    "<office:automatic-styles/><office:body><office:spreadsheet>"
)
ODS_TAIL = "</office:spreadsheet></office:body></office:document-content>"
ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"


def ods_text(text: str, **more: str) -> str:
    """A cell of text in OpenDocument's markup."""
    given = "".join(f' table:{k.replace("_", "-")}="{v}"' for k, v in more.items())
    return (
        f'<table:table-cell office:value-type="string"{given}><text:p>{text}</text:p>'
        "</table:table-cell>"
    )


def ods_number(number: float) -> str:
    """A cell of a number in OpenDocument's markup."""
    return (
        f'<table:table-cell office:value-type="float" office:value="{number}">'
        f"<text:p>{number}</text:p></table:table-cell>"
    )


def ods(path: Path, tables: str, manifest: str = "") -> Path:
    """A workbook of hand-written tables."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", ODS_TYPE, compress_type=zipfile.ZIP_STORED)
        archive.writestr("Thumbnails/thumbnail.png", b"\x89PNG not really")
        archive.writestr("content.xml", ODS_HEAD + tables + ODS_TAIL)
        archive.writestr("styles.xml", '<?xml version="1.0"?><office:document-styles xmlns:office='
                         '"urn:oasis:names:tc:opendocument:xmlns:office:1.0"/>')  # fmt: skip
        archive.writestr(
            "META-INF/manifest.xml",
            '<?xml version="1.0"?><manifest:manifest xmlns:manifest='
            '"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS_TYPE}"/>'
            '<manifest:file-entry manifest:full-path="content.xml" '
            f'manifest:media-type="text/xml">{manifest}</manifest:file-entry>'
            '<manifest:file-entry manifest:full-path="styles.xml" manifest:media-type="text/xml"/>'
            '<manifest:file-entry manifest:full-path="Thumbnails/thumbnail.png" '
            'manifest:media-type="image/png"/>'
            "</manifest:manifest>",
        )
    return path


def round_ods(path: Path) -> Path:
    """The round of pieces as .ods: repeated cells and rows, a formula, a second table."""
    head = "".join(ods_text(header) for header in HEADERS)
    rows = ""
    blank = '<table:table-cell table:number-columns-repeated="{}"/>'
    for index, (text, condition, asking, cleaning, repair) in enumerate(PIECES):
        cells = ods_text(text.replace("&", "&amp;")) + ods_text(condition)
        for value in (asking, cleaning, repair):
            if value is None:
                cells += "<table:table-cell/>"
            elif isinstance(value, str):
                cells += ods_text(value)
            else:
                cells += ods_number(value)
        rows += f"<table:table-row>{cells}{blank.format(1019)}</table:table-row>"
        if index == 2:
            rows += '<table:table-row table:number-rows-repeated="2">'
            rows += f"{blank.format(1024)}</table:table-row>"
    same = ods_text("pine stool") + ods_text("good") + ods_number(8)
    rows += f'<table:table-row table:number-rows-repeated="3">{same}</table:table-row>'
    rows += (
        "<table:table-row><table:table-cell/><table:table-cell/><table:table-cell "
        'table:formula="of:=SUM([.C3:.C13])" office:value-type="float" office:value="199.5">'
        "<text:p>199.5</text:p></table:table-cell></table:table-row>"
        '<table:table-row table:number-rows-repeated="1048560"><table:table-cell '
        'table:number-columns-repeated="1024"/></table:table-row>'
    )
    title = ods_text("Saturday round", number_columns_spanned="5", number_rows_spanned="1")
    title += '<table:covered-table-cell table:number-columns-repeated="4"/>'
    return ods(
        path,
        '<table:table table:name="Round"><table:table-column table:number-columns-repeated="1024"/>'
        f"<table:table-row>{title}</table:table-row><table:table-row>{head}</table:table-row>{rows}"
        "</table:table>"
        f'<table:table table:name="Old stock"><table:table-column/><table:table-row>'
        f"{ods_text('chair')}</table:table-row></table:table>"
        '<table:named-expressions><table:named-range table:name="my_rate" '
        "table:base-cell-address=\"$'Old stock'.$A$1\" "
        "table:cell-range-address=\"$'Old stock'.$A$1\"/></table:named-expressions>",
    )


def recalculated(files: list[Path], folder: Path) -> dict[Path, Path]:
    """The files as LibreOffice computes them anew, each as .xlsx (one start of the program)."""
    profile = folder / "profile"
    (profile / "user").mkdir(parents=True)
    always = "".join(
        '<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop '
        f'oor:name="{name}" oor:op="fuse"><value>0</value></prop></item>'
        for name in ("OOXMLRecalcMode", "ODFRecalcMode")
    )
    (profile / "user" / "registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?><oor:items '
        'xmlns:oor="http://openoffice.org/2001/registry" '
        'xmlns:xs="http://www.w3.org/2001/XMLSchema" '
        f'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">{always}</oor:items>'
    )
    copies: dict[Path, Path] = {}
    sources = folder / "in"
    sources.mkdir()
    for number, file in enumerate(files):
        copies[file] = sources / f"{number}{file.suffix}"
        shutil.copy(file, copies[file])
    subprocess.run(
        [
            "soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless",
            "--convert-to", "xlsx", "--outdir", str(folder / "out"),
            *map(str, copies.values()),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    return {file: folder / "out" / f"{copy.stem}.xlsx" for file, copy in copies.items()}
