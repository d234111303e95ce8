"""Sheets as people keep them, read and understood."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from pipeline.answers.sheet import open_sheet
from pipeline.answers.sheet.headers import FIELDS, plain_header, recognise
from pipeline.answers.sheet.values import amount_of_text, is_date_format, serial_to_text
from pipeline.errors import SheetError
from tests.answers.sheets import make


@pytest.mark.parametrize(
    ("header", "field"),
    [
        ("Description", "description"),
        ("DESCRIPTION OF PIECE:", "description"),
        ("Item", "description"),
        ("Desciption", "description"),  # a slip of the pen
        ("What is it?", "description"),
        ("Beschreibung", "description"),
        ("Type", "category"),
        ("Materials", "material"),
        ("made of", "material"),
        ("Age / period", None),  # two things at once: left alone
        ("Circa", "period"),
        ("Date or period", "period"),
        ("Cond.", "condition"),
        ("Zustand", "condition"),
        ("Asking price (£)", "asking_price"),
        ("ASKING $", "asking_price"),
        ("Tag price", "asking_price"),
        ("Price", "asking_price"),
        ("Preis", "asking_price"),
        ("Paid", "paid_price"),
        ("Sold for", "sold_price"),
        ("Qty", "quantity"),
        ("How many?", "quantity"),
        ("Cleaning cost", "cleaning_cost"),
        ("Repairs [USD]", "repair_cost"),
        ("Where to sell", "market"),
        ("Remarks", "notes"),
        ("Stock no.", "tag"),
        ("Date seen", "seen_on"),
        ("Desc.", "description"),
        ("Ask", "asking_price"),
        ("Cond", "condition"),
        ("What I paid", "paid_price"),
        ("Their price", "asking_price"),
        ("#", "tag"),
        ("Tag", "tag"),
        ("Tag £", "asking_price"),  # with a currency it is what stands on the tag
        ("Repairs needed", "faults"),
        ("Repairs needed £", "repair_cost"),
        ("EK-Preis", "paid_price"),
        ("Erhaltungszustand", "condition"),
        ("Künstler", "maker"),
        ("Epoque", "period"),  # as a keyboard without accents has it
        ("Prix affiché", "asking_price"),
        ("Dealer", None),
        ("My price", None),  # paid, or to be asked?
        ("Shelf", None),
        ("Colour", None),
        ("Weight", None),
        ("Prize", None),  # too near to nothing
        ("x", None),
    ],
)
def test_usual_wordings_of_headers(header: str, field: str | None) -> None:
    assert recognise(1, header).field == field


def test_every_field_is_known_by_its_own_name() -> None:
    for field in FIELDS:
        assert recognise(1, field).field == field, field
        assert plain_header(field) == field.replace("_", " ")


def test_rich_workbook_is_understood(tmp_path: Path) -> None:
    reader = open_sheet(make.rich_xlsx(tmp_path / "round.xlsx"))
    assert reader.sheet_name == "Saturday round"
    assert reader.header_row == 4
    assert reader.columns == {
        "description": 1, "condition": 2, "asking_price": 3, "cleaning_cost": 4, "repair_cost": 5,
        "seen_on": 6,
    }  # fmt: skip
    items = reader.items.to_pylist()
    assert [item["row"] for item in items] == [5, 6, 7, 9, 10, 11]
    assert [item["description"] for item in items] == [piece[0] for piece in make.PIECES]
    assert [item["asking_price"] for item in items] == [45.0, 120.5, 38.0, None, 10.0, None]
    assert items[5]["asking_price_text"] == "POA"
    assert items[0]["seen_on"] == dt.date(2023, 3, 15)  # serial 45000 of the 1900 system
    assert any("C11" in problem.cell for problem in reader.understood.problems)
    text = "\n".join(reader.understood.lines())
    assert "column A 'Item': description" in text and "6 pieces" in text
    assert "column G 'Their total': kept" in text


def test_our_reader_and_calamine_see_the_same_cells(tmp_path: Path) -> None:
    # python-calamine is the reference reader.
    from python_calamine import CalamineWorkbook

    from pipeline.answers.sheet.archive import Archive
    from pipeline.answers.sheet.reader import open_book

    paths = [make.rich_xlsx(tmp_path / "round.xlsx"), make.round_ods(tmp_path / "round.ods")]
    for path in paths:
        reference = CalamineWorkbook.from_path(path)
        with Archive(path) as archive:
            book = open_book(archive)
            for entry in book.sheets:
                theirs = {
                    (r, c): value
                    for r, row in enumerate(
                        reference.get_sheet_by_name(entry.name).to_python(skip_empty_area=False), 1
                    )
                    for c, value in enumerate(row, 1)
                    if value != ""
                }
                ours = {
                    (number, cell.column): cell
                    for number, cells in book.rows(entry.name)
                    for cell in cells
                    if cell.kind in ("text", "number", "date")
                }
                assert ours.keys() <= theirs.keys()
                missing = {k: v for k, v in theirs.items() if k not in ours}
                assert all(str(v).startswith("#") for v in missing.values()), missing
                for place, cell in ours.items():
                    value = theirs[place]
                    shown = value.isoformat() if isinstance(value, dt.date) else value
                    assert shown == cell.value, (path.name, entry.name, place)


def test_ods_repeats_are_followed_and_not_written_out(tmp_path: Path) -> None:
    reader = open_sheet(make.round_ods(tmp_path / "round.ods"))
    rows = reader.items.column("row").to_pylist()
    assert rows == [3, 4, 5, 8, 9, 10, 11, 12, 13]
    assert reader.items.column("description").to_pylist()[-3:] == ["pine stool"] * 3
    assert reader.last_column == 5


def test_two_header_rows_with_merged_cells(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"] = "Winter stock"
    sheet.merge_cells("A3:A4")
    sheet["A3"] = "Piece"
    sheet.merge_cells("B3:C3")
    sheet["B3"] = "Costs"
    sheet["B4"], sheet["C4"] = "Cleaning", "Repair"
    sheet.merge_cells("D3:E3")
    sheet["D3"] = "Price"
    sheet["D4"], sheet["E4"] = "asked", "paid"
    sheet["A5"], sheet["B5"], sheet["D5"], sheet["E5"] = "oak stool", 3, 20, 9
    book.save(tmp_path / "two.xlsx")
    reader = open_sheet(tmp_path / "two.xlsx")
    assert reader.understood.header_rows == (3, 4)
    assert reader.columns == {
        "description": 1, "cleaning_cost": 2, "repair_cost": 3, "asking_price": 4, "paid_price": 5,
    }  # fmt: skip
    assert reader.items.num_rows == 1


def test_numbers_dates_errors_and_lost_rows(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Description", "Period", "Condition", "Price", "Date"],
        ["lamp", 1890, "good", "1.250,00 EUR", 45000],
        ["lamp", "1890s", None, "1.250", dt.date(2024, 5, 6)],
        [None, None, None, 30, None],
        ["Description", "Period", "Condition", "Price", "Date"],
        ["lamp", None, None, True, "soon"],
        ["Total", None, None, 99, None],
        ["lamp", None, None, -4, "2024-02-29"],
    ]
    reader = open_sheet(make.plain_xlsx(tmp_path / "odd.xlsx", rows))
    items = reader.items.to_pylist()
    assert [item["row"] for item in items] == [2, 3, 6, 8]
    assert [item["asking_price"] for item in items] == [1250.0, None, None, None]
    assert [item["period"] for item in items] == ["1890", "1890s", None, None]
    assert [item["seen_on"] for item in items] == [
        dt.date(2023, 3, 15), dt.date(2024, 5, 6), None, dt.date(2024, 2, 29),
    ]  # fmt: skip
    told = {problem.cell: problem.what for problem in reader.understood.problems}
    assert set(told) == {"D3", "D4", "D6", "E6", "D8"}
    assert "describes no piece" in told["D4"] and "negative" in told["D8"]
    assert reader.understood.n_skipped == 3


def test_formulas_that_fail_or_were_never_computed(tmp_path: Path) -> None:
    import xlsxwriter

    book = xlsxwriter.Workbook(str(tmp_path / "f.xlsx"))
    sheet = book.add_worksheet()
    sheet.write_row(0, 0, ["Item", "Asking price"])
    sheet.write_row(1, 0, ["lamp"])
    sheet.write_formula(1, 1, "=1/0", None, "#DIV/0!")
    sheet.write_row(2, 0, ["lamp"])
    sheet.write_formula(2, 1, "=2*3", None, 6)
    book.close()
    reader = open_sheet(tmp_path / "f.xlsx")
    assert reader.items.column("asking_price").to_pylist() == [None, 6.0]
    assert reader.understood.problems[0].what == "holds the error #DIV/0!"
    plain = make.plain_xlsx(tmp_path / "g.xlsx", [["Item", "Price"], ["lamp", "=2*3"]])
    never = open_sheet(plain)  # openpyxl writes formulas without computed values
    assert "no program has calculated" in never.understood.problems[0].what


def test_a_mapping_outranks_the_wording(tmp_path: Path) -> None:
    path = make.plain_xlsx(
        tmp_path / "m.xlsx",
        [["What I saw", "Item", "Limit"], ["a brass lamp, dented", "lamp", 30]],
    )
    assert open_sheet(path).columns["description"] == 2
    reader = open_sheet(path, {"description": "what i saw", "asking_price": "C"})
    assert reader.columns["description"] == 1 and reader.columns["asking_price"] == 3
    with pytest.raises(SheetError, match="did you mean 'asking_price'"):
        open_sheet(path, {"asking_prise": "C"})


def test_two_money_columns_that_could_be_one_are_both_left(tmp_path: Path) -> None:
    path = make.plain_xlsx(
        tmp_path / "two.xlsx", [["Item", "Asking price", "Tag price"], ["lamp", 3, 5]]
    )
    reader = open_sheet(path)
    assert "asking_price" not in reader.columns
    assert "neither is used" in reader.understood.doubts[0]
    clear = make.plain_xlsx(
        tmp_path / "one.xlsx", [["Item", "Price", "Asking price"], ["lamp", 3, 5]]
    )
    assert open_sheet(clear).columns["asking_price"] == 3  # the specific wording has it


def test_the_right_sheet_is_found_and_can_be_named(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    first = book.active
    assert first is not None
    first.title = "diary"
    first.append(["went to the fair", "rain"])
    for name, price in (("stock", 5), ("March", 7)):
        sheet = book.create_sheet(name)
        sheet.append(["Item", "Condition", "Price"])
        sheet.append(["lamp", "good", price])
    book.save(tmp_path / "b.xlsx")
    assert open_sheet(tmp_path / "b.xlsx").sheet_name == "stock"
    march = open_sheet(tmp_path / "b.xlsx", sheet_name="March")
    assert march.items.column("asking_price").to_pylist() == [7.0]
    with pytest.raises(SheetError, match="no sheet 'April'"):
        open_sheet(tmp_path / "b.xlsx", sheet_name="April")


@pytest.mark.parametrize(
    ("data", "asking"),
    [
        (b"Item,Price\r\nlamp,45\r\n", 45.0),
        ("Item;Preis\nLämpchen;12,50\n".encode("cp1252"), 12.5),
        (b"\xef\xbb\xbfItem\tPrice\nlamp\t1,250.00", 1250.0),
        ("Item,Price\nlamp,£7\n".encode("utf-16"), 7.0),
        (b'My list\n\n"Item","Notes","Price"\n"lamp, ""old""","two\nlines","3"\n', 3.0),
        (b'Item|Price\n12" globe|5\n', 5.0),
    ],
)
def test_delimited_text_in_many_manners(tmp_path: Path, data: bytes, asking: float) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(data)
    reader = open_sheet(path)
    assert reader.items.column("asking_price").to_pylist() == [asking]


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("£45", 45.0), ("45.-", 45.0), ("1,250.00", 1250.0), ("1.250,00 €", 1250.0),
        ("1'250.50", 1250.5), ("12,5", 12.5), ("US$ 30", 30.0), ("2 000", 2000.0),
        ("1.250", None), ("POA", None), ("", None), ("45 or near", None), ("10-20", None),
        ("1,2,3", None), ("1e5", None),
    ],
)  # fmt: skip
def test_plain_amounts(text: str, amount: float | None) -> None:
    assert amount_of_text(text) == amount


@pytest.mark.parametrize(
    ("number", "code", "is_date"),
    [
        # ECMA-376 part 1, 18.8.30: built-in formats by number.
        (0, None, False), (2, None, False), (14, None, True), (22, None, True), (45, None, True),
        (164, "yyyy-mm-dd", True), (165, '[Red]#,##0.00" days"', False), (166, "d mmm", True),
        (167, "General", False), (168, "[h]:mm", True), (169, "0.00E+00", False),
        (170, '[$-409]mmmm\\ d;@', True), (171, '"y"0', False),
    ],
)  # fmt: skip
def test_date_formats(number: int, code: str | None, is_date: bool) -> None:
    assert is_date_format(number, code) is is_date


def test_serial_numbers_of_days() -> None:
    # ECMA-376 part 1, 18.17.4.1: 1 is 1900-01-01, and 61 is 1900-03-01 (60 never was).
    assert serial_to_text(1, False) == "1900-01-01"
    assert serial_to_text(61, False) == "1900-03-01"
    assert serial_to_text(0, True) == "1904-01-01"
    assert serial_to_text(45000.5, False) == "2023-03-15 12:00:00"
    assert serial_to_text(1e9, False) is None


def test_a_stray_cell_far_away_costs_nothing(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Item", "Price"])
    sheet.append(["lamp", 4])
    sheet["XFB1048576"] = "x"
    book.save(tmp_path / "far.xlsx")
    reader = open_sheet(tmp_path / "far.xlsx")
    assert reader.items.num_rows == 1 and reader.last_column == 16382
