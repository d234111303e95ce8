"""Her sheet, priced by the command: the demo's round of forty tagged pieces."""

from __future__ import annotations

import csv
import re
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from python_calamine import CalamineWorkbook
from typer.testing import CliRunner

from pipeline.answers.estimate import Estimator
from pipeline.answers.pricing import HEADERS, empty_sheet, price_sheet
from pipeline.answers.sheet import open_sheet
from pipeline.cli import app
from pipeline.errors import SettingsError, SheetError
from pipeline.workspace import Workspace
from tests.answers.sheets import make

needs_office = pytest.mark.skipif(
    shutil.which("soffice") is None, reason="LibreOffice (soffice) is not installed"
)
MONEY = ("expected price", "highest price to pay", "break-even price", "chance of clearing costs")


@pytest.fixture(scope="module")
def place(demo_workspace: Path) -> Workspace:
    return Workspace.at(demo_workspace)


def as_ods(rows: list[list[object]], target: Path) -> Path:
    """A plain .ods, written by a library that is not ours."""
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    table = Table(name="round")
    for row in rows:
        line = TableRow()
        for value in row:
            if isinstance(value, float):
                cell = TableCell(valuetype="float", value=value)
            else:
                cell = TableCell(valuetype="string")
            cell.addElement(P(text=str(value)))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    book.save(str(target))
    return target


def rows_of(path: Path, sheet: str) -> list[list[object]]:
    return CalamineWorkbook.from_path(path).get_sheet_by_name(sheet).to_python()


def table_of(path: Path, sheet: str) -> list[dict[str, object]]:
    header, *rows = rows_of(path, sheet)
    return [dict(zip(map(str, header), row, strict=True)) for row in rows]


@pytest.fixture(scope="module")
def priced(place: Workspace, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The round as .csv, .xlsx and .ods, each priced."""
    folder = tmp_path_factory.mktemp("round")
    shutil.copy(place.root / "round.csv", folder / "round.csv")
    shutil.copy(place.root / "round.xlsx", folder / "round.xlsx")
    as_ods(rows_of(folder / "round.xlsx", "round"), folder / "round.ods")
    out = {}
    for ending in (".csv", ".xlsx", ".ods"):
        source = folder / f"round{ending}"
        before = source.read_bytes()
        result = price_sheet(place, source)
        assert source.read_bytes() == before
        assert result.filled is not None and result.filled.n_items == 40
        assert sum(result.decisions.values()) == 40
        out[ending] = result.filled.target
    return out


def test_every_kind_of_file_tells_the_same(priced: dict[str, Path]) -> None:
    with priced[".csv"].open(encoding="utf-8-sig", newline="") as file:
        plain = list(csv.DictReader(file))
    book, office = (table_of(priced[e], "round") for e in (".xlsx", ".ods"))
    assert list(book[0]) == list(plain[0]) == list(office[0])
    assert [h for h in book[0] if h in HEADERS] == list(HEADERS)
    valued = 0
    for a, b, c in zip(plain, book, office, strict=True):
        assert a["decision"] == b["decision"] == c["decision"]
        assert a["understood as"] == b["understood as"] == c["understood as"]
        for name in ("value", *MONEY):
            assert b[name] == c[name]
            if a[name] == "":
                assert b[name] == ""
                continue
            assert float(a[name]) == pytest.approx(b[name], abs=1e-9)
            valued += 1
    assert valued >= 100


def test_the_sheet_says_what_the_estimate_says(priced: dict[str, Path], place: Workspace) -> None:
    rows = table_of(priced[".xlsx"], "round")
    items = [{"description": r["what it is"], "condition": r["condition"] or None} for r in rows]
    found = Estimator(place).estimate(items).to_pylist()
    for row, piece in zip(rows, found, strict=True):
        value = piece["value_amount"]
        assert row["value"] == ("" if value is None else pytest.approx(value, abs=0.0051))
        assert row["number of sales"] == piece["n_sales"]
        if piece["newest_sold_on"]:
            assert row["newest sale"] == piece["newest_sold_on"]
        assert row["why"] == piece["why"]


def test_evidence_leads_to_and_fro(priced: dict[str, Path]) -> None:
    book = load_workbook(priced[".xlsx"])
    sheet, evidence = book["round"], book["comparables"]
    header = {cell.value: cell.column for cell in sheet[1]}
    seen = 0
    for row in range(2, sheet.max_row + 1):
        link = sheet.cell(row, header["number of sales"]).hyperlink
        if sheet.cell(row, header["value"]).value is None:
            assert link is None
            continue
        back = evidence[link.location.split("!")[1]]
        assert back.value == sheet.cell(row, header["what it is"]).value
        assert f"{row}" in back.hyperlink.location.split("!")[1]
        seen += 1
    assert seen >= 20
    notes = [str(cell.value) for cell in book["notes"]["B"]]
    assert any("not an appraisal for tax, insurance or a court" in text for text in notes)
    assert ("prices as of", "2026-10-25") in rows_pairs(priced[".xlsx"], "notes")


@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_a_caution_is_named_in_its_cell_and_stands_whole_on_the_notes(
    priced: dict[str, Path], ending: str
) -> None:
    """A cell of hers is not widened for it; in a text file there is nowhere else to put it."""
    with priced[".csv"].open(encoding="utf-8-sig", newline="") as file:
        in_full = [row["cautions"] for row in csv.DictReader(file)]
    whole = dict(rows_pairs(priced[ending], "notes"))
    named = [str(row["cautions"]) for row in table_of(priced[ending], "round")]
    assert sum(bool(text) for text in named) >= 10
    for short, long in zip(named, in_full, strict=True):
        assert len(short) <= 80
        for name in short.split("; ") if short else []:
            said = str(whole[name])
            assert "check local rules" in said.lower()
            assert f"{name}: {said.rsplit(' (', 1)[0]}" in long
    if ending == ".ods":
        return
    book = load_workbook(priced[ending])
    cells = {cell.value: cell for cell in book["round"][1]}
    for (cell,) in book["round"].iter_rows(
        min_row=2, min_col=cells["cautions"].column, max_col=cells["cautions"].column
    ):
        if cell.value is None:
            assert cell.hyperlink is None
            continue
        place = book["notes"][cell.hyperlink.location.split("!")[1]]
        assert place.value == cell.value.split("; ")[0]


def rows_pairs(path: Path, sheet: str) -> list[tuple[object, object]]:
    return [(row[0], row[1]) for row in rows_of(path, sheet) if len(row) > 1]


def test_running_again_updates_our_columns_alone(
    priced: dict[str, Path], place: Workspace, tmp_path: Path
) -> None:
    for ending in (".csv", ".xlsx", ".ods"):
        again = tmp_path / f"again{ending}"
        result = price_sheet(place, priced[ending], again)
        assert sorted(result.understood.ours) == sorted(HEADERS)
        if ending == ".csv":
            assert again.read_bytes() == priced[ending].read_bytes()
        else:
            assert rows_of(again, "round") == rows_of(priced[ending], "round")
            assert CalamineWorkbook.from_path(again).sheet_names == [
                "round", "comparables", "assumptions", "notes"
            ]  # fmt: skip


@needs_office
def test_the_spreadsheet_computes_our_figures_and_follows_a_changed_fee(
    priced: dict[str, Path], place: Workspace, tmp_path: Path
) -> None:
    """LibreOffice against our own sums to the cent, as filled and with a fee of 25 % in place."""
    root = tmp_path / "other"
    shutil.copytree(place.root, root, ignore=shutil.ignore_patterns("stages", "generations"))
    # the market that is assumed where nobody names one, whichever has the most sales
    market = Estimator(place.root).estimate([{"category": "chest of drawers"}])["market"][0].as_py()
    (root / "data" / "decisions" / "sheet.toml").write_text(
        f'[[market]]\nmarket = "{market}"\nfee_share = 0.25\n'
    )
    for ending in (".xlsx", ".ods"):
        source = place.root / "round.xlsx" if ending == ".xlsx" else None
        if source is None:
            source = as_ods(rows_of(place.root / "round.xlsx", "round"), tmp_path / "round.ods")
        dearer = tmp_path / f"dearer{ending}"
        price_sheet(Workspace.at(root), source, dearer)
        changed = change_fee(priced[ending], tmp_path / f"changed{ending}")
        office = tmp_path / f"office{ending}"
        office.mkdir()
        results = make.recalculated([priced[ending], changed], office)
        for ours, theirs in ((priced[ending], priced[ending]), (dearer, changed)):
            compare_money(table_of(ours, "round"), table_of(results[theirs], "round"))
        assert rows_of(dearer, "round") != rows_of(priced[ending], "round")


def change_fee(source: Path, target: Path) -> Path:
    """The file with the first step's share of 15 % turned into 25 %, nothing computed anew."""
    sheet = "xl/worksheets/comparables2.xml" if source.suffix == ".xlsx" else "content.xml"

    def edit(data: bytes) -> bytes:
        # the cell of the figure, not one whose formula gives the same
        if source.suffix == ".xlsx":
            pattern = rb"(<c [^>]*>)<v>0\.15</v>"
            out, n = re.subn(pattern, rb"\1<v>0.25</v>", data)
        else:
            pattern = rb'(<table:table-cell(?:(?!table:formula)[^>])*office:value=")0\.15"'
            out, n = re.subn(pattern, rb'\g<1>0.25"', data)
        assert n == 1, n
        return out

    return make.edit_part(source, target, {sheet: edit})


def compare_money(ours: list[dict[str, object]], theirs: list[dict[str, object]]) -> None:
    compared = 0
    for mine, other in zip(ours, theirs, strict=True):
        assert mine["decision"] == other["decision"], mine
        for name in MONEY:
            if isinstance(mine[name], float):
                assert Decimal(str(mine[name])) == round(Decimal(str(other[name])), 4), mine
                compared += 1
            else:
                assert other[name] == mine[name] == ""
    assert compared >= 100


def test_a_dry_run_writes_nothing(place: Workspace, tmp_path: Path) -> None:
    shutil.copy(place.root / "round.csv", tmp_path / "round.csv")
    done = CliRunner().invoke(
        app, ["sheet", str(tmp_path / "round.csv"), "--dry-run", "-w", str(place.root)]
    )
    assert done.exit_code == 0 and "description" in done.output
    assert "Nothing was written" in done.output
    assert [p.name for p in tmp_path.iterdir()] == ["round.csv"]


def test_a_column_of_sizes_is_read_in_the_unit_of_its_header(
    place: Workspace, tmp_path: Path
) -> None:
    sheet = tmp_path / "sizes.csv"
    sheet.write_text(
        'item,size (in)\n"oil painting, landscape",40 x 60\n"oil painting, landscape",8 x 12\n'
    )
    filled = price_sheet(place, sheet).filled
    assert filled is not None
    with filled.target.open(encoding="utf-8-sig") as file:
        large, small = csv.DictReader(file)
    assert "largest side 152.4 cm" in large["understood as"]
    assert "largest side 30.5 cm" in small["understood as"]
    assert Decimal(large["value"]) > Decimal(small["value"])


def test_an_earlier_copy_is_kept_unless_told(place: Workspace, tmp_path: Path) -> None:
    source = tmp_path / "round.csv"
    source.write_text("description,asking price\noak mantel clock,40\n")
    price_sheet(place, source)
    copy = (tmp_path / "round-priced.csv").read_bytes()
    with pytest.raises(SheetError, match="file of this name already"):
        price_sheet(place, source)
    assert (tmp_path / "round-priced.csv").read_bytes() == copy
    price_sheet(place, source, replace=True)
    with pytest.raises(SheetError, match="take the place of your own"):
        price_sheet(place, source, source)


def test_a_market_without_sales_is_told(place: Workspace, tmp_path: Path) -> None:
    source = tmp_path / "round.csv"
    source.write_text("description,asking price,market\noak mantel clock,40,moon\noak chest,9,\n")
    result = price_sheet(place, source)
    assert any("'moon' (1 piece)" in note for note in result.notes)


def test_words_that_look_like_formulas_stay_words(place: Workspace, tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["description", "asking price"])
    book.active.append(["=HYPERLINK(1)", 3])
    book.active["A2"].data_type = "s"
    book.active.append(["+oak mantel clock =SUM(A1)", 30])
    source = tmp_path / "round.xlsx"
    book.save(source)
    price_sheet(place, source)
    filled = load_workbook(tmp_path / "round-priced.xlsx")
    for sheet in filled:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert "HYPERLINK(1)" not in cell.value and "SUM(A1)" not in cell.value


def test_headers_that_only_the_file_of_decisions_explains(place: Workspace, tmp_path: Path) -> None:
    root = tmp_path / "ws"
    shutil.copytree(place.root, root, ignore=shutil.ignore_patterns("stages", "generations"))
    told = root / "data" / "decisions" / "sheet.toml"
    told.write_text('[columns]\ndescription = "qqq"\nasking_price = "B"\n')
    source = tmp_path / "round.csv"
    source.write_text("qqq,zzz\noak mantel clock,40\n")
    result = price_sheet(Workspace.at(root), source)
    assert result.n_valued == 1
    told.write_text("[[market]]\nfee_share = 1.5\n")
    with pytest.raises(SettingsError, match="fee_share"):
        price_sheet(Workspace.at(root), source, tmp_path / "b.csv")
    told.write_text("[[market]]\nfee = 0.1\n")
    with pytest.raises(SettingsError, match="nearest known key is 'fee_"):
        price_sheet(Workspace.at(root), source, tmp_path / "b.csv")


@pytest.mark.parametrize("ending", [".xlsx", ".ods", ".csv"])
def test_an_empty_sheet_can_be_filled_in(place: Workspace, tmp_path: Path, ending: str) -> None:
    made = empty_sheet(place, tmp_path / f"new{ending}")
    if ending == ".csv":
        text = made.read_text(encoding="utf-8-sig")
        made.write_text(text + ",oak mantel clock,,,,good,,40,,,,\n", encoding="utf-8")
        assert price_sheet(place, made).n_valued == 1
        return
    with pytest.raises(SheetError):
        open_sheet(made)  # nothing is described yet
    if ending == ".xlsx":
        book = load_workbook(made)
        lists = [v for row in book["lists"].iter_rows(values_only=True) for v in row]
        assert {"mantel clock", "good", "auction"} <= set(lists)
        book["pieces"]["B2"] = "oak mantel clock, good"
        book.save(made)
        assert price_sheet(place, made).n_valued == 1
