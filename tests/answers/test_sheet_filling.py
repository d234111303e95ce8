"""Sheets filled in place: ours is there, and all that was hers is as it was."""

from __future__ import annotations

import datetime as dt
import re
import tempfile
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.answers.buying import FeeStep, MarketTerms, TargetKind
from pipeline.answers.sheet import (
    ExtraSheet,
    FilledColumn,
    Formula,
    Link,
    Shown,
    fill_sheet,
    new_sheet,
    open_sheet,
)
from pipeline.answers.sheet.assumptions import assumptions_sheet, money_columns, terms_from_sheet
from pipeline.answers.sheet.fill import Filled
from pipeline.errors import SheetError
from tests.answers.sheets import make

TERMS = MarketTerms(
    market="Harbour Road",
    fee_steps=(
        FeeStep(from_amount=Decimal(0), share=Decimal("0.18")),
        FeeStep(from_amount=Decimal(100), share=Decimal("0.1")),
    ),
    fee_fixed=Decimal("0.3"),
    shipping_out=Decimal("6.5"),
    purchase_tax_share=Decimal("0.07"),
)
OUR_HEADERS = (
    "understood as", "low (P10)", "value", "high (P90)", "expected price", "highest price to pay",
    "break-even price", "chance of clearing costs", "decision", "sales", "why",
)  # fmt: skip


def fill(
    source: Path, target: Path, terms: MarketTerms = TERMS, scale: float = 1.0, **more: object
) -> Filled:
    """Fill a sheet as the estimates will: bands, money, links to and fro, three sheets."""
    reader = open_sheet(source, our_headers=OUR_HEADERS)
    n = reader.items.num_rows
    value = [scale * (40.0 + 35 * i) if i != 3 else None for i in range(n)]
    low = [None if v is None else v * 0.6 for v in value]
    high = [None if v is None else v * 1.9 for v in value]
    sold = 4
    columns = [
        FilledColumn("understood", "understood as", [f"kind {i}" for i in range(n)], width=30),
        *money_columns(reader, [terms] * n, low, value, high),
        FilledColumn(
            "sales", "sales", [i + 3 for i in range(n)], number_format="whole",
            links=[Link("", "comparables", f"A{sold + i}") for i in range(n)],
        ),
        FilledColumn("why", "why", [f"-{i} <&> \"so\"" for i in range(n)], width=40),
    ]  # fmt: skip
    evidence: list[list[object]] = [
        ["Comparables"], ["An estimate is not an appraisal."],
        ["piece", "sold on", "price", "adjusted"],
    ]  # fmt: skip
    evidence += [
        [Link(f"piece {i + 1}", item=i), dt.date(2025, 1, 2 + i), Shown(10.0 + i, "money"),
         Shown(Formula(f"{{C{sold + i}}}*1.1", (10.0 + i) * 1.1), "money")]
        for i in range(n)
    ]  # fmt: skip
    extras = [
        assumptions_sheet([terms]),
        ExtraSheet("comparables", evidence, bold_rows=frozenset({1, 3}), freeze_below=3,
                   widths=(20, 12, 12, 12)),
        ExtraSheet("notes", [["Notes"], ["=not a formula"], ["line one\nline  two"]],
                   wrap_columns=frozenset({1}), widths=(80,)),
    ]  # fmt: skip
    return fill_sheet(reader, target, columns, extras, **more)  # type: ignore[arg-type]


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def raw_entries(path: Path) -> dict[str, tuple[bytes, tuple[int, ...]]]:
    """Compressed bytes and date of every part, as they lie in the file."""
    found = {}
    data = path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        for info in archive.infolist():
            at = info.header_offset
            skip = 30 + int.from_bytes(data[at + 26 : at + 28], "little")
            skip += int.from_bytes(data[at + 28 : at + 30], "little")
            packed = data[at + skip : at + skip + info.compress_size]
            found[info.filename] = (packed, info.date_time)
    return found


# -- .xlsx -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def filled_xlsx(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Filled]:
    folder = tmp_path_factory.mktemp("xlsx")
    source = make.rich_xlsx(folder / "round.xlsx")
    before = source.read_bytes()
    result = fill(source, folder / "filled.xlsx")
    assert source.read_bytes() == before
    return source, folder / "filled.xlsx", result


def test_only_the_parts_that_must_change_do(filled_xlsx: tuple[Path, Path, Filled]) -> None:
    source, target, _ = filled_xlsx
    old, new = raw_entries(source), raw_entries(target)
    assert [n for n in new if n in old] == list(old)  # all there, in their order
    changed = {name for name in old if old[name] != new[name]}
    assert changed == {
        "xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels",
        "[Content_Types].xml", "xl/styles.xml",
    }  # fmt: skip
    assert set(new) - set(old) == {f"xl/worksheets/comparables{i}.xml" for i in (1, 2, 3)}


def test_her_markup_stays_in_the_changed_sheet(filled_xlsx: tuple[Path, Path, Filled]) -> None:
    source, target, _ = filled_xlsx
    part = "xl/worksheets/sheet1.xml"
    old, new = parts(source)[part], parts(target)[part]
    cell = re.compile(rb'<c r="[A-I]\d+"[^>]*?(?:/>|>.*?</c>)')
    assert all(match in new for match in cell.findall(old))
    for element in (b"<mergeCells", b"<conditionalFormatting", b"<dataValidations", b"<extLst",
                    b"<drawing", b"<legacyDrawing", b"<sheetViews", b"<headerFooter"):  # fmt: skip
        start = old.index(element)
        end = old.index(b">", old.index(b"</" + element[1:], start) if b"</" + element[1:] in old
                        else start) + 1  # fmt: skip
        assert old[start:end] in new, element
    styles_old, styles_new = parts(source)["xl/styles.xml"], parts(target)["xl/styles.xml"]
    formats = re.compile(rb"<cellXfs[^>]*>(.*?)</cellXfs>", re.S)
    was, now = formats.search(styles_old), formats.search(styles_new)
    assert was and now and now[1].startswith(was[1])


def test_other_libraries_read_the_filled_sheet(filled_xlsx: tuple[Path, Path, Filled]) -> None:
    from openpyxl import load_workbook
    from python_calamine import CalamineWorkbook

    _, target, result = filled_xlsx
    values = load_workbook(target, data_only=True)
    live = load_workbook(target)
    assert values.sheetnames == [
        "Saturday round", "Old stock", "secret", "assumptions", "comparables", "notes",
    ]  # fmt: skip
    sheet, formulas = values["Saturday round"], live["Saturday round"]
    place = result.columns
    assert list(place) == list(OUR_HEADERS)
    assert sheet[f"{place['value']}4"].value == "value"
    assert sheet[f"{place['value']}5"].value == 40
    assert sheet[f"{place['expected price']}5"].value == pytest.approx(36.15, abs=0.01)
    assert str(formulas[f"{place['highest price to pay']}6"].value).startswith("=IF(")
    assert sheet[f"{place['decision']}9"].value == "not enough sales"
    assert sheet[f"{place['why']}5"].value == '-0 <&> "so"'
    assert formulas[f"{place['why']}5"].data_type == "s"  # text, not a formula
    assert sheet[f"{place['value']}5"].number_format == "#,##0.00"
    link = formulas[f"{place['sales']}6"].hyperlink
    assert link is not None and link.location == "'comparables'!A5"
    back = live["comparables"]["A5"].hyperlink
    assert back is not None and back.location == "'Saturday round'!A6"
    assert values["notes"]["A2"].value == "=not a formula"
    assert live["notes"]["A2"].data_type == "s"
    assert values["comparables"]["B4"].value == dt.datetime(2025, 1, 2)
    assert {"my_rate", "comparables_harbour_road_target"} <= set(live.defined_names)
    assert formulas.auto_filter.ref == "A4:R11" and any("filter" in n for n in result.notes)
    assert not formulas.column_dimensions[place["value"]].hidden
    rows = (
        CalamineWorkbook.from_path(target)
        .get_sheet_by_name("Saturday round")
        .to_python(skip_empty_area=False)
    )
    assert rows[3][7:18] == list(OUR_HEADERS)
    assert rows[4][9] == 40.0


def test_a_second_run_updates_its_own_columns_only(
    filled_xlsx: tuple[Path, Path, Filled], tmp_path: Path
) -> None:
    from openpyxl import load_workbook

    source, first, result = filled_xlsx
    again = fill(first, tmp_path / "again.xlsx", scale=2.0)
    assert again.columns == result.columns and again.extra_sheets == result.extra_sheets
    names = set(parts(first))
    assert set(parts(tmp_path / "again.xlsx")) == names
    changed = {
        n for n, v in raw_entries(tmp_path / "again.xlsx").items() if v != raw_entries(first)[n]
    }
    assert changed == {"xl/worksheets/sheet1.xml"}
    sheet = load_workbook(tmp_path / "again.xlsx", data_only=True)["Saturday round"]
    assert sheet[f"{result.columns['value']}5"].value == 80
    # Back to the first values: the very same bytes.
    fill(tmp_path / "again.xlsx", tmp_path / "back.xlsx")
    assert parts(tmp_path / "back.xlsx") == parts(first)
    assert fill(first, tmp_path / "same.xlsx").columns == result.columns
    assert parts(tmp_path / "same.xlsx") == parts(first)
    del source


def test_rows_that_describe_nothing_any_more_are_cleared(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    path = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["stool", 5]])
    result = fill(path, tmp_path / "b.xlsx")
    book = load_workbook(tmp_path / "b.xlsx")
    book["pieces"]["A3"] = None
    book.save(tmp_path / "c.xlsx")  # openpyxl drops computed values, which is what some programs do
    fill(tmp_path / "c.xlsx", tmp_path / "d.xlsx")
    sheet = load_workbook(tmp_path / "d.xlsx", data_only=True)["pieces"]
    assert sheet[f"{result.columns['value']}2"].value == 40
    assert all(sheet[f"{letters}3"].value is None for letters in result.columns.values())


def test_her_formulas_over_our_columns_are_computed_again(tmp_path: Path) -> None:
    import xlsxwriter

    book = xlsxwriter.Workbook(str(tmp_path / "a.xlsx"))
    sheet = book.add_worksheet("s")
    sheet.write_row(0, 0, ["Item", "Price"])
    sheet.write_row(1, 0, ["lamp", 4])
    sheet.write_formula("B4", "=B2*3", None, 12)
    other = book.add_worksheet("mine")
    other.write_formula("A1", "=SUM(s!E2:E9)", None, 40)
    book.close()
    fill(tmp_path / "a.xlsx", tmp_path / "b.xlsx")
    first = parts(tmp_path / "b.xlsx")
    assert b"fullCalcOnLoad" not in first["xl/workbook.xml"].replace(b'fullCalcOnLoad="1"', b"", 1)
    assert b"<v>40</v>" in first["xl/worksheets/sheet2.xml"]
    result = fill(tmp_path / "b.xlsx", tmp_path / "c.xlsx", scale=2.0)
    second = parts(tmp_path / "c.xlsx")
    assert b"<v>40</v>" not in second["xl/worksheets/sheet2.xml"]
    assert b"SUM(s!E2:E9)</f>" in second["xl/worksheets/sheet2.xml"]
    assert b'fullCalcOnLoad="1"' in second["xl/workbook.xml"]
    assert any("computed again" in note for note in result.notes)


def test_her_own_column_of_our_wording_is_left_alone(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    path = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "value", "Price"], ["lamp", "dear", 4]])
    result = fill(path, tmp_path / "b.xlsx")
    assert "value (comparables)" in result.columns
    again = fill(tmp_path / "b.xlsx", tmp_path / "c.xlsx")
    assert again.columns == result.columns
    assert load_workbook(tmp_path / "c.xlsx")["pieces"]["B2"].value == "dear"


@pytest.mark.parametrize("manner", ["prefix", "unnamed cells", "comments and cdata", "utf-16"])
def test_markup_of_other_writers(tmp_path: Path, manner: str) -> None:
    """What other programs write: prefixed names, cells without addresses, other encodings."""
    from openpyxl import load_workbook

    source = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["stool", 5.5]])

    def edit(data: bytes) -> bytes:
        if manner == "prefix":
            data = re.sub(rb"<(/?)(?![?!/])(\w)", rb"<\1x:\2", data)
            return data.replace(b"xmlns=", b"xmlns:x=")
        if manner == "unnamed cells":
            return re.sub(rb'(<(?:c|row)) r="\w+"', rb"\1", data)
        if manner == "comments and cdata":
            data = data.replace(b"<sheetData>", b"<sheetData><!-- <row r='9'> -->")
            return data.replace(b"<v>5.5</v>", b"<v><![CDATA[5.5]]></v>")
        text = data.decode().replace('<?xml version="1.0"?>', "")
        return ('<?xml version="1.0" encoding="UTF-16"?>' + text).encode("utf-16")

    odd = make.edit_part(source, tmp_path / "odd.xlsx", {"xl/worksheets/sheet1.xml": edit})
    result = fill(odd, tmp_path / "b.xlsx")
    sheet = load_workbook(tmp_path / "b.xlsx", data_only=True)["pieces"]
    assert [sheet["A2"].value, sheet["B3"].value] == ["lamp", 5.5]
    assert sheet[f"{result.columns['value']}3"].value == 75
    again = fill(tmp_path / "b.xlsx", tmp_path / "c.xlsx")
    assert again.columns == result.columns


def test_a_number_of_hers_is_referred_to_and_a_text_is_read(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    rows: list[list[object]] = [["Item", "Price"], ["lamp", 30], ["lamp", "£31"], ["lamp", None],
                                ["lamp", "POA"]]  # fmt: skip
    path = make.plain_xlsx(tmp_path / "a.xlsx", rows)
    result = fill(path, tmp_path / "b.xlsx")
    sheet = load_workbook(tmp_path / "b.xlsx")["pieces"]
    letters = result.columns["decision"]
    texts = [str(sheet[f"{letters}{row}"].value) for row in (2, 3, 4, 5)]
    assert 'IF(B2=""' in texts[0] and 'IF(31=""' in texts[1]
    assert "B4" in texts[2] and 'IF(""=""' in texts[3]


@pytest.mark.parametrize(
    ("formula", "own", "depends"),
    [
        ("SUM(H5:H9)", True, True), ("SUM(A5:G9)", True, False), ("SUM(H5:H9)", False, False),
        ("SUM(stock!H5:H9)", False, True), ("SUM(stock!$A$5:$B$9)", False, False),
        ("SUM(A:Z)", True, True), ("SUM(5:5)", True, True), ("LOG10(A1)", True, False),
        ("INDIRECT(A1)", False, True), ("SUM(Table1[value])", False, True),
        ('IF(A1="H5",1,2)', True, False), ("of:=SUM([.H5:.H9])", True, True),
        ("of:=SUM([$stock.G5:.J9])", False, True), ("of:=SUM([.A5:.B9])", True, False),
    ],
)  # fmt: skip
def test_formulas_that_may_build_on_our_columns(formula: str, own: bool, depends: bool) -> None:
    from pipeline.answers.sheet.stale import builds_on

    assert builds_on(formula, own, "stock", {8, 9}) is depends


# -- .ods ------------------------------------------------------------------------------------------


def test_ods_keeps_every_other_part_and_all_of_her_cells(tmp_path: Path) -> None:
    from python_calamine import CalamineWorkbook

    source = make.round_ods(tmp_path / "round.ods")
    result = fill(source, tmp_path / "filled.ods")
    old, new = raw_entries(source), raw_entries(tmp_path / "filled.ods")
    assert list(old) == list(new) and next(iter(new)) == "mimetype"
    assert {name for name in old if old[name] != new[name]} == {"content.xml"}
    with zipfile.ZipFile(tmp_path / "filled.ods") as archive:
        assert archive.infolist()[0].compress_type == zipfile.ZIP_STORED
    before = CalamineWorkbook.from_path(source)
    after = CalamineWorkbook.from_path(tmp_path / "filled.ods")
    assert after.sheet_names == [*before.sheet_names, "assumptions", "comparables", "notes"]
    mine = before.get_sheet_by_name("Round").to_python(skip_empty_area=False)
    theirs = after.get_sheet_by_name("Round").to_python(skip_empty_area=False)
    assert [row[:5] for row in theirs] == [row[:5] for row in mine]
    assert theirs[1][5:16] == list(OUR_HEADERS)
    assert theirs[2][7] == 40.0
    # Rows that were written once as three come apart, for their values differ.
    assert [theirs[row][7] for row in (10, 11, 12)] == [250.0, 285.0, 320.0]
    content = parts(tmp_path / "filled.ods")["content.xml"].decode()
    assert 'table:name="my_rate"' in content and "comparables_harbour_road_target" in content
    assert "HYPERLINK(&quot;#comparables.A5&quot;;4)" in content
    assert 'xlink:href="#Round.A3"' in content
    assert 'table:formula="of:=IF([.H3]=&quot;&quot;;' in content
    assert result.columns["value"] == "H"


def test_ods_second_run_gives_the_same_bytes(tmp_path: Path) -> None:
    source = make.round_ods(tmp_path / "round.ods")
    first = fill(source, tmp_path / "1.ods")
    second = fill(tmp_path / "1.ods", tmp_path / "2.ods", scale=2.0)
    fill(tmp_path / "2.ods", tmp_path / "3.ods")
    fill(tmp_path / "3.ods", tmp_path / "4.ods")
    assert first.columns == second.columns and first.extra_sheets == second.extra_sheets
    assert parts(tmp_path / "4.ods") == parts(tmp_path / "3.ods") == parts(tmp_path / "1.ods")
    assert parts(tmp_path / "4.ods")["content.xml"].count(b"<table:table ") == 5
    assert parts(tmp_path / "3.ods")["content.xml"].count(b"comparables_sheet_notes") == 1

    def shown(path: Path) -> list[list[object]]:
        from python_calamine import CalamineWorkbook

        return CalamineWorkbook.from_path(path).get_sheet_by_name("Round").to_python()

    assert shown(tmp_path / "1.ods") == shown(tmp_path / "3.ods") == shown(tmp_path / "4.ods")
    assert shown(tmp_path / "2.ods")[2][7] == 80.0


# -- .csv and .tsv ---------------------------------------------------------------------------------


def test_csv_keeps_her_fields_as_they_came(tmp_path: Path) -> None:
    lines = [
        "My round;;\r\n", "Stück;Preis;Zustand\r\n", '"Lampe; ""alt""";12,50;gut\r\n', ";;\r\n",
        "=1+1;3;\r\n", "Stuhl;4",
    ]  # fmt: skip
    source = tmp_path / "liste.csv"
    source.write_bytes("".join(lines).encode("cp1252"))
    mapping = {"description": "A"}
    reader = open_sheet(source, mapping)
    columns = [
        FilledColumn("a", "value", [12.5, None, 1000.0], number_format="money"),
        FilledColumn("b", "why", ["=HYPERLINK(1)", "a;b", "\t@x – y"]),
    ]
    result = fill_sheet(reader, tmp_path / "neu.csv", columns, [ExtraSheet("notes", [["n"]])])
    text = (tmp_path / "neu.csv").read_bytes().decode("cp1252")
    assert text == (
        "My round;;\r\nStück;Preis;Zustand;value;why\r\n"
        '"Lampe; ""alt""";12,50;gut;12,50;\'=HYPERLINK(1)\r\n;;\r\n'
        '=1+1;3;;;"a;b"\r\nStuhl;4;;1000,00;\'\t@x – y'
    )
    assert result.left_out == ["notes"] and any("apostrophe" in note for note in result.notes)
    again = open_sheet(tmp_path / "neu.csv", mapping, our_headers=["value", "why"])
    assert again.ours == {"value": 4, "why": 5}
    fill_sheet(again, tmp_path / "3.csv", columns)
    assert (tmp_path / "3.csv").read_bytes() == (tmp_path / "neu.csv").read_bytes()


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b'"Item","Price"\n"lamp","3"\n', b'"Item","Price","value"\n"lamp","3","2.00"\n'),
        (b"\xef\xbb\xbfItem,Price\rlamp,3\r", b"\xef\xbb\xbfItem,Price,value\rlamp,3,2.00\r"),
        ("Item\tPrice\nlamp\t3\n".encode("utf-16"),
         "Item\tPrice\tvalue\nlamp\t3\t2.00\n".encode("utf-16")),
        (b"Item,Price\nlamp\n", b"Item,Price,value\nlamp,,2.00\n"),
    ],
)  # fmt: skip
def test_csv_manners_are_kept(tmp_path: Path, data: bytes, expected: bytes) -> None:
    (tmp_path / "a.csv").write_bytes(data)
    reader = open_sheet(tmp_path / "a.csv")
    fill_sheet(
        reader, tmp_path / "b.csv", [FilledColumn("v", "value", [2.0], number_format="money")]
    )
    assert (tmp_path / "b.csv").read_bytes() == expected


# -- new sheets, assumptions, columns --


@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_an_empty_sheet_offers_the_vocabulary(tmp_path: Path, ending: str) -> None:
    lists = {"condition": ["good", "fair"], "category": [f"kind {i}" for i in range(400)]}
    path = new_sheet(tmp_path / f"new{ending}", lists)
    with pytest.raises(SheetError, match="nothing to fill"):
        open_sheet(path)
    content = b"".join(parts(path).values())
    assert b"kind 399" in content
    rule = b"lists!$B$2:$B$401" if ending == ".xlsx" else b"[$lists.$B$2:.$B$401]"
    assert rule in content
    with pytest.raises(SheetError, match="no column 'colour'"):
        new_sheet(tmp_path / f"other{ending}", {"colour": ["red"]})


def test_an_empty_sheet_is_understood_once_it_is_filled(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    path = new_sheet(tmp_path / "new.xlsx", {"condition": ["good", "=1"]})
    book = load_workbook(path)
    assert book["lists"]["A3"].data_type == "s"
    for column, value in zip("BFH", ("lamp", "good", 12.5), strict=True):
        book["pieces"][f"{column}2"] = value
    book.save(tmp_path / "mine.xlsx")
    reader = open_sheet(tmp_path / "mine.xlsx")
    assert reader.sheet_name == "pieces" and len(reader.columns) == 12
    assert reader.items.column("asking_price").to_pylist() == [12.5]
    text = new_sheet(tmp_path / "new.csv", {}).read_bytes()
    assert text.startswith(b"\xef\xbb\xbftag,description,category")


@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_changed_assumptions_are_read_back(tmp_path: Path, ending: str) -> None:
    make_source = make.rich_xlsx if ending == ".xlsx" else make.round_ods
    fill(make_source(tmp_path / f"a{ending}"), tmp_path / f"b{ending}")
    other = TERMS.model_copy(update={"target_kind": TargetKind.MARKUP, "target": Decimal("1.25")})
    fill(tmp_path / f"b{ending}", tmp_path / f"c{ending}", other)
    reader = open_sheet(tmp_path / f"c{ending}", our_headers=OUR_HEADERS)
    read = terms_from_sheet(TERMS, reader)
    assert read.target_kind is TargetKind.MARKUP and read.target == Decimal("1.25")
    assert [float(step.share) for step in read.steps] == [0.18, 0.1]
    assert read.shipping_out == TERMS.shipping_out


def test_columns_that_do_not_fit_are_refused(tmp_path: Path) -> None:
    reader = open_sheet(make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4]]))
    for columns, message in (
        ([], "nothing to fill in"),
        ([FilledColumn("a", "x", [1, 2])], "2 values for 1 pieces"),
        ([FilledColumn("a", "x", [1]), FilledColumn("a", "y", [1])], "same key"),
        ([FilledColumn("a", "x", [1]), FilledColumn("b", "X ", [1])], "same header"),
        ([FilledColumn("a", "x", [1], formula="{nowhere}+1")], "asks for 'nowhere'"),
        ([FilledColumn("a", "x", [1], formula="{b")], "brace"),
    ):
        with pytest.raises(SheetError, match=message):
            fill_sheet(reader, tmp_path / "b.xlsx", columns)
    with pytest.raises(SheetError, match="number format"):
        FilledColumn("a", "x", [1], number_format="roman")
    with pytest.raises(SheetError, match="name of a sheet"):
        ExtraSheet("a/b", [])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.xlsx"]


# -- more of what sheets hold --


def test_our_columns_keep_clear_of_pictures(tmp_path: Path) -> None:
    import xlsxwriter

    book = xlsxwriter.Workbook(str(tmp_path / "a.xlsx"))
    sheet = book.add_worksheet()
    sheet.write_row(0, 0, ["Item", "Price"])
    sheet.write_row(1, 0, ["lamp", 4])
    sheet.insert_textbox("D2", "beside", {"width": 60, "height": 20})
    sheet.insert_textbox("A20", "below", {"width": 2000, "height": 20})
    book.close()
    assert open_sheet(tmp_path / "a.xlsx").first_free_column == 5  # D is taken, the lower one not


def test_a_reader_that_was_not_told_our_headers_adds_nothing_twice(tmp_path: Path) -> None:
    path = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4]])
    columns = [FilledColumn(k, k, [1.0]) for k in ("low", "mid", "high")]
    first = fill_sheet(open_sheet(path), tmp_path / "b.xlsx", columns)
    again = fill_sheet(open_sheet(tmp_path / "b.xlsx"), tmp_path / "c.xlsx", columns)
    assert again.columns == first.columns == {"low": "C", "mid": "D", "high": "E"}


def test_a_table_of_hers_stays_and_is_named_in_the_notes(tmp_path: Path) -> None:
    import xlsxwriter
    from openpyxl import load_workbook

    book = xlsxwriter.Workbook(str(tmp_path / "a.xlsx"))
    sheet = book.add_worksheet("t")
    data = [["lamp", 4], ["stool", 5]]
    sheet.add_table(
        "A1:B3",
        {"data": data, "columns": [{"header": "Item"}, {"header": "Price"}], "name": "Mine"},
    )
    book.close()
    result = fill(tmp_path / "a.xlsx", tmp_path / "b.xlsx")
    assert any("table" in note for note in result.notes)
    assert (
        parts(tmp_path / "b.xlsx")["xl/tables/table1.xml"]
        == parts(tmp_path / "a.xlsx")["xl/tables/table1.xml"]
    )
    assert load_workbook(tmp_path / "b.xlsx")["t"].tables["Mine"].ref == "A1:B3"


def test_an_ods_filter_takes_our_columns_in(tmp_path: Path) -> None:
    def add_filter(data: bytes) -> bytes:
        ranges = (
            b'<table:database-ranges><table:database-range table:name="__Anonymous" '
            b'table:target-range-address="Round.A2:Round.E13" '
            b'table:display-filter-buttons="true"/></table:database-ranges>'
        )
        return data.replace(b"</table:named-expressions>", b"</table:named-expressions>" + ranges)

    source = make.edit_part(
        make.round_ods(tmp_path / "a.ods"), tmp_path / "f.ods", {"content.xml": add_filter}
    )
    result = fill(source, tmp_path / "g.ods")
    content = parts(tmp_path / "g.ods")["content.xml"]
    assert b"table:target-range-address=\"'Round'.A2:'Round'.P13\"" in content
    assert any("filter" in note for note in result.notes)
    again = fill(tmp_path / "g.ods", tmp_path / "h.ods")
    assert not any("filter" in note for note in again.notes)


def test_ods_formulas_of_hers_over_our_columns_are_computed_again(tmp_path: Path) -> None:
    def add_formula(data: bytes) -> bytes:
        cell = (
            b'<table:table-cell table:formula="of:=SUM([$Round.H3:$Round.H9])" '
            b'office:value-type="float" office:value="40"><text:p>40</text:p></table:table-cell>'
        )
        return data.replace(b"<text:p>chair</text:p></table:table-cell>",
                            b"<text:p>chair</text:p></table:table-cell>" + cell)  # fmt: skip

    source = make.edit_part(
        make.round_ods(tmp_path / "a.ods"), tmp_path / "f.ods", {"content.xml": add_formula}
    )
    fill(source, tmp_path / "g.ods")
    assert b'office:value="40"><text:p>40' in parts(tmp_path / "g.ods")["content.xml"]
    result = fill(tmp_path / "g.ods", tmp_path / "h.ods", scale=2.0)
    content = parts(tmp_path / "h.ods")["content.xml"]
    assert b'of:=SUM([$Round.H3:$Round.H9])"></table:table-cell>' in content
    assert any("computed again" in note for note in result.notes)


@pytest.mark.parametrize("what", ["strict", "no styles", "1904", "calc chain", "xlsm"])
def test_workbooks_of_unusual_make(tmp_path: Path, what: str) -> None:
    from openpyxl import load_workbook

    source = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["stool", 5]])
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rels = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    edits = {}
    ending = ".xlsm" if what == "xlsm" else ".xlsx"
    if what == "strict":

        def strict(data: bytes) -> bytes:
            data = data.replace(main, b"http://purl.oclc.org/ooxml/spreadsheetml/main")
            return data.replace(rels, b"http://purl.oclc.org/ooxml/officeDocument/relationships")

        edits = dict.fromkeys(
            ("xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml", "_rels/.rels",
             "xl/_rels/workbook.xml.rels"), strict,
        )  # fmt: skip
    if what == "no styles":
        edits = {
            "xl/_rels/workbook.xml.rels": lambda d: re.sub(
                rb"<Relationship [^>]*styles\.xml[^>]*/>", b"", d
            ),
            "xl/worksheets/sheet1.xml": lambda d: re.sub(rb' s="\d+"', b"", d),
        }
    if what == "1904":
        edits = {
            "xl/workbook.xml": lambda d: re.sub(
                rb"<workbookPr(?=[\s/>])", b'<workbookPr date1904="1"', d
            )
        }
    odd = make.edit_part(source, tmp_path / f"b{ending}", edits)
    if what == "calc chain":
        with zipfile.ZipFile(odd, "a") as archive:
            archive.writestr(
                "xl/calcChain.xml",
                b'<calcChain xmlns="' + main + b'"><c r="E2" i="1"/></calcChain>',
            )
        odd = make.edit_part(
            odd, tmp_path / "c.xlsx",
            {"xl/_rels/workbook.xml.rels": lambda d: d.replace(
                b"</Relationships>", b'<Relationship Id="rIdC" Type="' + rels
                + b'/calcChain" Target="calcChain.xml"/></Relationships>'),
             "[Content_Types].xml": lambda d: d.replace(
                b"</Types>", b'<Override PartName="/xl/calcChain.xml" ContentType="application/'
                b'vnd.openxmlformats-officedocument.spreadsheetml.calcChain+xml"/></Types>')},
        )  # fmt: skip
    result = fill(odd, tmp_path / f"d{ending}")
    again = fill(tmp_path / f"d{ending}", tmp_path / f"e{ending}")
    assert again.columns == result.columns
    assert open_sheet(tmp_path / f"e{ending}").items.column("asking_price").to_pylist() == [4, 5]
    if what == "calc chain":
        assert "xl/calcChain.xml" in parts(tmp_path / "d.xlsx")
        last = parts(tmp_path / "e.xlsx")
        assert "xl/calcChain.xml" not in last
        assert b"calcChain" not in last["[Content_Types].xml"] + last["xl/_rels/workbook.xml.rels"]
    if what != "strict":  # openpyxl does not read strict workbooks
        book = load_workbook(tmp_path / f"e{ending}", data_only=True)
        assert book["pieces"][f"{result.columns['value']}3"].value == 75
        assert book["comparables"]["B4"].value == dt.datetime(2025, 1, 2)


def test_numbers_of_all_makes_and_none_that_a_cell_cannot_hold(tmp_path: Path) -> None:
    import numpy as np
    from openpyxl import load_workbook

    rows: list[list[object]] = [["Item", "Price"], *([f"lamp {i}", i] for i in range(6))]
    given = [np.float64(1.5), np.int64(3), Decimal("2.25"), float("nan"), float("inf"),
             dt.datetime(2025, 1, 2, 3)]  # fmt: skip
    path = make.plain_xlsx(tmp_path / "a.xlsx", rows)
    result = fill_sheet(open_sheet(path), tmp_path / "b.xlsx", [FilledColumn("x", "x", given)])
    sheet = load_workbook(tmp_path / "b.xlsx")["pieces"]
    read = [sheet[f"{result.columns['x']}{row}"].value for row in range(2, 8)]
    assert read == [1.5, 3, 2.25, None, None, dt.datetime(2025, 1, 2)]
    with pytest.raises(SheetError, match="cannot hold"):
        fill_sheet(
            open_sheet(path), tmp_path / "c.xlsx", [FilledColumn("x", "x", [{}, 1, 2, 3, 4, 5])]
        )


def test_a_name_of_hers_for_our_column_counts_as_building_on_it(tmp_path: Path) -> None:
    from pipeline.answers.sheet.stale import builds_on, names_on

    names = names_on([("My_sum", "stock!$H$5:$H$9"), ("rate", "other!$A$1")], "stock", {8})
    assert names == {"my_sum"}
    assert builds_on("my_sum*2", False, "stock", {8}, names)
    assert not builds_on("rate*2", False, "stock", {8}, names)


texts = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs"])
    | st.sampled_from("=+-@'\"<&>;, \n\t_x"),
    max_size=30,
)  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(texts, min_size=2, max_size=2), st.sampled_from([".xlsx", ".ods", ".csv"]))
def test_any_text_of_ours_comes_back_and_is_never_live(values: list[str], ending: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if ending == ".xlsx":
            source = make.plain_xlsx(folder / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["s", 5]])
        elif ending == ".ods":
            row = "<table:table-row>{}{}</table:table-row>"
            source = make.ods(
                folder / "a.ods",
                '<table:table table:name="s"><table:table-column/>'
                + row.format(make.ods_text("Item"), make.ods_text("Price"))
                + row.format(make.ods_text("lamp"), make.ods_number(4))
                + row.format(make.ods_text("s"), make.ods_number(5))
                + "</table:table>",
            )
        else:
            source = folder / "a.csv"
            source.write_text("Item,Price\nlamp,4\ns,5\n")
        target = folder / f"b{ending}"
        fill_sheet(open_sheet(source), target, [FilledColumn("w", "material", values)])
        read = open_sheet(target).items.column("material").to_pylist()
        allowed = [re.sub("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", v)
                   for v in values]  # fmt: skip
        if ending == ".csv":
            guarded = ["'" + v if v.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) else v
                       for v in allowed]  # fmt: skip
            allowed = guarded
        assert [r or "" for r in read] == [v.strip() for v in allowed]
        if ending != ".csv":
            markup = b"".join(parts(target).values())
            assert b"<f>" not in markup and b"table:formula" not in markup
