"""`comparables sheet` on sheets as people keep them: filled, or refused in words, never half."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.table import Table

from pipeline.answers import pricing, pricing_evidence
from pipeline.answers.sheet import output
from pipeline.answers.sheet.archive import ENCRYPTED_MARK, OLE_START
from pipeline.progress import Silent
from pipeline.workspace import Workspace
from tests.answers.sheets import make
from tests.answers.test_sheet_refusals import small_disk
from tests.test_cli import run

HEADER: list[object] = ["Item", "Condition", "Asking price"]
CLOCK: list[object] = ["oak mantel clock, about 1900", "good", 45]
TEAPOT: list[object] = ["Victorian porcelain teapot", "fair", 30]
SHEET = "xl/worksheets/sheet1.xml"


def filled(path: Path, place: Path) -> tuple[str, list[dict[str, object]]]:
    """What the command says of a sheet, and the rows of the copy; hers is as it was."""
    before = path.read_bytes()
    code, said = run("sheet", path, "-w", place)
    assert code == 0, said
    assert path.read_bytes() == before
    target = path.with_name(f"{path.stem}-priced{path.suffix}")
    if path.suffix == ".csv":
        with target.open(encoding="utf-8-sig", newline="") as file:
            return said, list(csv.DictReader(file))
    values = [list(row) for row in load_workbook(target, data_only=True).worksheets[0].values]
    at = next(i for i, row in enumerate(values) if "understood as" in row)
    names = [str(name) for name in values[at]]
    return said, [dict(zip(names, row, strict=True)) for row in values[at + 1 :]]


# -- refused --------------------------------------------------------------------------------------


def cut(path: Path) -> None:
    whole = make.plain_xlsx(path, [HEADER, CLOCK]).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


def headless(path: Path) -> None:
    make.plain_xlsx(path, [["a", "b"], [1, 2]])


def nothing_to_fill(path: Path) -> None:
    make.plain_xlsx(path, [HEADER, [None, "good", 3]])


def protected(path: Path) -> None:
    path.write_bytes(OLE_START + b"\x00" * 1024 + ENCRYPTED_MARK + b"\x00" * 512)


def old(path: Path) -> None:
    path.write_bytes(OLE_START + b"\x00" * 2048)


def text(path: Path) -> None:
    path.write_text("Item,Price\nlamp,3\n")


def nothing(path: Path) -> None:
    path.write_bytes(b"")


def print_out(path: Path) -> None:
    path.write_bytes(b"%PDF")


def protected_ods(path: Path) -> None:
    # OpenDocument 1.2 part 3, 4.8.2: an entry with encryption-data is encrypted.
    make.ods(path, "<table:table/>", '<manifest:encryption-data manifest:checksum-type="SHA1"/>')


def cut_ods(path: Path) -> None:
    whole = make.round_ods(path).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


REFUSED: list[tuple[str, Callable[[Path], None], str]] = [
    ("locked.xlsx", protected, "protected with a password"),
    ("locked.ods", protected_ods, "protected with a password"),
    ("cut.xlsx", cut, "damaged"),
    ("cut.ods", cut_ods, "damaged"),
    ("old.xls", old, "old binary .xls"),
    ("text.xlsx", text, "no workbook"),
    ("empty.csv", nothing, "empty"),
    ("headless.xlsx", headless, "no row looks like a header"),
    ("none.xlsx", nothing_to_fill, "nothing to fill"),
    ("folder.xlsx", Path.mkdir, "folder"),
    ("list.pdf", print_out, "cannot be read from a .pdf"),
]


@pytest.mark.parametrize(("name", "make_it", "message"), REFUSED, ids=[r[0] for r in REFUSED])
def test_what_cannot_be_read(
    demo_workspace: Path, tmp_path: Path, name: str, make_it: Callable[[Path], None], message: str
) -> None:
    path = tmp_path / name
    make_it(path)
    before = path.read_bytes() if path.is_file() else b""
    code, said = run("sheet", path, "-w", demo_workspace)
    assert (code, message in said) == (9, True), said
    assert name in said
    assert "Traceback" not in said
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert not path.is_file() or path.read_bytes() == before


def test_targets_that_will_not_do(demo_workspace: Path, tmp_path: Path) -> None:
    path = make.plain_xlsx(tmp_path / "a.xlsx", [HEADER, CLOCK])
    (tmp_path / "there.xlsx").write_bytes(b"hers")
    (tmp_path / "open.xlsx").write_bytes(b"hers")
    (tmp_path / ".~lock.open.xlsx#").write_text("someone")
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    for out, more, message in (
        ("a.xlsx", ["--replace"], "take the place of your own"),
        ("there.xlsx", [], "file of this name already"),
        ("open.xlsx", ["--replace"], "open in a spreadsheet program"),
        ("no/b.xlsx", [], "no such folder"),
        ("b.ods", [], "filled as a .xlsx"),
    ):
        code, said = run("sheet", path, "--out", tmp_path / out, *more, "-w", demo_workspace)
        assert (code, message in said) == (9, True), said
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_full_disk_and_a_locked_file_leave_nothing(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    path = tmp_path / f"a.{ending}"
    rows = [HEADER, *([CLOCK, TEAPOT] * 20)]
    if ending == "xlsx":
        make.plain_xlsx(path, rows)
    else:
        path.write_text("\n".join(";".join(map(str, row)) for row in rows) + "\n")
    with small_disk():
        code, said = run("sheet", path, "-w", demo_workspace)
    assert (code, "disk is full; nothing was written" in said) == (9, True), said

    def locked(self: Path, target: Path) -> Path:
        raise PermissionError(13, "the file is in use", str(target))

    monkeypatch.setattr(output.Path, "replace", locked)
    code, said = run("sheet", path, "-w", demo_workspace)
    assert (code, "cannot be written" in said) == (9, True), said
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_sheet_that_another_program_keeps_to_itself(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    path = tmp_path / f"a.{ending}"
    path.write_text("Item\nlamp\n")

    opened = Path.open

    def denied(self: Path, *args: str, **more: str) -> object:
        if self == path:
            raise PermissionError(13, "the file is in use", str(self))
        return opened(self, *args, **more)

    monkeypatch.setattr(Path, "open", denied)
    code, said = run("sheet", path, "-w", demo_workspace)
    assert (code, "cannot be read (the file is in use)" in said) == (9, True), said
    assert "close it in other programs" in said and path.name in said


def test_a_target_that_will_not_do_is_told_before_the_work(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = make.plain_xlsx(tmp_path / "a.xlsx", [HEADER, CLOCK])
    (tmp_path / "a-priced.xlsx").write_bytes(b"hers")

    def too_early(*args: object) -> None:
        raise AssertionError("the pieces were estimated first")

    monkeypatch.setattr(pricing, "Estimator", too_early)
    code, said = run("sheet", path, "-w", demo_workspace)
    assert (code, "file of this name already" in said) == (9, True), said


def test_stopped_halfway_nothing_is_left(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.csv"
    path.write_text("Item,Price\n" + "oak mantel clock,4\n" * 5)
    monkeypatch.setattr(pricing, "AT_ONCE", 2)

    class Stopping(Silent):
        def step(self, n: int = 1) -> None:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        pricing.price_sheet(Workspace.at(demo_workspace), path, progress=Stopping())
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


# -- filled ---------------------------------------------------------------------------------------


def test_merged_headers_in_two_rows(demo_workspace: Path, tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for cells, text in (
        ("A1:F1", "Stock of the shop, spring"), ("A3:A4", "Piece"), ("B3:C3", "What it is like"),
        ("D3:E3", "Price"), ("F3:F4", "Seen"),
    ):  # fmt: skip
        sheet.merge_cells(cells)
        sheet[cells.split(":")[0]] = text
    sheet["B4"], sheet["C4"], sheet["D4"], sheet["E4"] = "Condition", "Faults", "asked", "paid"
    for column, value in enumerate([*CLOCK[:2], "dents", 45, 12, dt.date(2026, 10, 3)], start=1):
        sheet.cell(5, column, value)
    for column, value in enumerate([TEAPOT[0], None, None, 30], start=1):
        sheet.cell(8, column, value)  # after two empty rows
    path = tmp_path / "two.xlsx"
    book.save(path)
    said, rows = filled(path, demo_workspace)
    assert "header in rows 3 and 4" in said and "2 pieces, 0 rows without one" in said
    for told in ("A 'Piece': description", "C 'Faults': faults", "D 'Price asked': asking price",
                 "E 'Price paid': paid price", "F 'Seen': seen on"):  # fmt: skip
        assert f"column {told}" in said, said
    assert [row["value"] is not None for row in rows] == [True, False, False, True]
    assert "dented" in str(rows[0]["understood as"])
    copy = load_workbook(tmp_path / "two-priced.xlsx").worksheets[0]
    assert {"A1:F1", "A3:A4", "B3:C3", "D3:E3", "F3:F4"} == {str(m) for m in copy.merged_cells}


def test_formulas_that_fail_in_the_cells_that_are_read(
    demo_workspace: Path, tmp_path: Path
) -> None:
    """Kept as they are in the copy, named, and their rows valued all the same."""
    import xlsxwriter

    book = xlsxwriter.Workbook(str(tmp_path / "a.xlsx"))
    sheet = book.add_worksheet("round")
    sheet.write_row(0, 0, HEADER)
    for row in (1, 2, 3):
        sheet.write_row(row, 0, CLOCK[:2])
    sheet.write_formula(1, 2, "=1/0", None, "#DIV/0!")
    sheet.write_formula(2, 2, "=VLOOKUP(A3,Z1:Z2,1,FALSE)", None, "#N/A")
    sheet.write_formula(3, 2, "=2*3", None, 6)
    sheet.write_formula(4, 0, "=NoSuchName", None, "#NAME?")
    book.close()
    said, rows = filled(tmp_path / "a.xlsx", demo_workspace)
    assert "C2: holds the error #DIV/0!" in said and "C3: holds the error #N/A" in said
    assert [str(row["decision"])[:8] for row in rows[:3]] == ["no price", "no price", "buy"]
    assert all(row["value"] for row in rows[:3]) and rows[3]["value"] is None
    copy = load_workbook(tmp_path / "a-priced.xlsx").worksheets[0]
    assert [copy.cell(r, 3).value for r in (2, 3, 4)] == [
        "=1/0", "=VLOOKUP(A3,Z1:Z2,1,FALSE)", "=2*3",
    ]  # fmt: skip


def test_many_pieces_are_estimated_in_turns_and_told(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In turns or at once the sheet is the same, and the person sees how far it is."""
    path = make.plain_xlsx(tmp_path / "a.xlsx", [HEADER, CLOCK, TEAPOT, CLOCK, ["zorble"], TEAPOT])
    place = Workspace.at(demo_workspace)
    pricing.price_sheet(place, path, tmp_path / "once.xlsx")
    monkeypatch.setattr(pricing, "AT_ONCE", 2)
    heard: list[tuple[str, int | None]] = []
    done: list[int] = []

    class Listening(Silent):
        def stage(self, name: str, n_steps: int | None = None) -> None:
            heard.append((name, n_steps))

        def step(self, n: int = 1) -> None:
            done.append(n)

    told: list[int] = []
    pricing.price_sheet(
        place, path, tmp_path / "turns.xlsx", progress=Listening(),
        told=lambda understood: told.append(understood.n_items),
    )  # fmt: skip
    assert heard == [("estimating", 5), ("writing the sheet", None)]
    assert (done, told) == ([2, 2, 1], [5])
    once, turns = (
        [[list(row) for row in sheet.values] for sheet in load_workbook(tmp_path / name)]
        for name in ("once.xlsx", "turns.xlsx")
    )
    assert once == turns


def test_the_sales_behind_a_long_sheet_end_and_say_so(
    demo_workspace: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pricing_evidence, "MOST_BLOCKS", 2)
    path = make.plain_xlsx(tmp_path / "a.xlsx", [HEADER, CLOCK, ["zorble"], TEAPOT, CLOCK, TEAPOT])
    said, rows = filled(path, demo_workspace)
    assert "behind the first 2 figures; 2 figures further down are without" in " ".join(
        said.split()
    )
    assert [row["value"] is not None for row in rows] == [True, False, True, True, True]
    book = load_workbook(tmp_path / "a-priced.xlsx")
    links = [cell.hyperlink is not None for cell in book["pieces"]["H"][1:]]
    assert links == [True, False, True, False, False]
    assert sum(cell.hyperlink is not None for cell in book["comparables"]["A"]) == 2
    assert "further down" in " ".join(str(row[1].value) for row in book["notes"].rows)


def test_cells_that_cannot_be_used_are_named(demo_workspace: Path, tmp_path: Path) -> None:
    path = make.plain_xlsx(
        tmp_path / "a.xlsx",
        [
            [*HEADER, "Seen on"], [*CLOCK[:2], "£45", dt.date(2026, 10, 3)], [None] * 4,
            [*TEAPOT[:2], "ask at desk", 46298], [*TEAPOT[:2], -4, "3/4/26"],
            [*CLOCK[:2], "#N/A", None], [*CLOCK[:2], None, None],
        ],
    )  # fmt: skip
    said, rows = filled(path, demo_workspace)
    for cell in ("C4", "C5", "D5", "C6"):
        assert f"{cell}: " in said, said
    assert "5 pieces, 0 rows without one" in said
    decisions = [row["decision"] for row in rows if row["Item"]]
    assert str(decisions[0]).startswith(("buy", "bargain", "leave"))
    assert decisions[-1] == "no price asked"


def test_no_column_of_prices(demo_workspace: Path, tmp_path: Path) -> None:
    path = make.plain_xlsx(tmp_path / "a.xlsx", [["Item"], CLOCK[:1], TEAPOT[:1]])
    _, rows = filled(path, demo_workspace)
    assert [row["decision"] for row in rows] == ["no price asked"] * 2
    assert all(row["highest price to pay"] for row in rows)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_text_that_opens_like_a_formula_stays_text(
    demo_workspace: Path, tmp_path: Path, ending: str
) -> None:
    nasty = ['=HYPERLINK("http://x","teapot")', "+teapot", "-teapot", "@teapot", "\tteapot"]
    rows: list[list[object]] = [["Item", "Price"], *([text, 4] for text in nasty)]
    path = tmp_path / f"a.{ending}"
    if ending == "csv":
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
        filled(path, demo_workspace)
        with (tmp_path / "a-priced.csv").open(encoding="utf-8-sig", newline="") as file:
            header, *lines = list(csv.reader(file))
        ours = [cell for line in lines for cell in line[len(rows[0]) :]]
        assert "understood as" in header
        assert not [cell for cell in ours if cell[:1] in ("=", "+", "@", "\t")]
        return
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    for number in range(2, len(rows) + 1):
        sheet.cell(number, 1).data_type = "s"
    book.save(path)
    filled(path, demo_workspace)
    for one in load_workbook(tmp_path / "a-priced.xlsx"):
        for line in one.iter_rows():
            for cell in line:
                if cell.data_type == "f":
                    assert 'HYPERLINK("http' not in str(cell.value)
                if str(cell.value).startswith(("=HYPER", "+tea", "-tea", "@tea")):
                    assert cell.data_type == "s"


def test_a_sheet_as_a_dealer_keeps_it(demo_workspace: Path, tmp_path: Path) -> None:
    """Titles above, a table with a filter, hidden row and column, totals below."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Sat round"
    sheet.append(["Market round, Saturday"])
    sheet.merge_cells("A1:G1")
    sheet.append(["prices in pounds, as ticketed"])
    sheet.append(["#", "Desc.", "Cond", "Tag £", "What I paid", "Seen on", "Shelf"])
    day = dt.date(2026, 10, 3)
    sheet.append([1, *CLOCK[:2], "£45", None, day, "by the door"])
    sheet.append([2, "set of 6 mahogany dining chairs, Victorian", "fair", 280, 20, day, None])
    sheet.append([None] * 7)
    sheet.append([3, *TEAPOT[:2], "110.00", None, day, None])
    sheet.append([None, "Total", None, "=SUM(D4:D7)"])
    sheet.add_table(Table(displayName="Round", ref="A3:G7"))
    sheet.column_dimensions["G"].hidden = True
    sheet.row_dimensions[5].hidden = True
    path = tmp_path / "real.xlsx"
    book.save(path)
    said, rows = filled(path, demo_workspace)
    for column in ("A '#': tag", "B 'Desc.': description", "C 'Cond': condition",
                   "D 'Tag £': asking price", "E 'What I paid': paid price", "F 'Seen on': seen on",
                   "G 'Shelf': kept"):  # fmt: skip
        assert f"column {column}" in said
    assert "header in row 3" in said and "3 pieces, 1 rows without one" in said
    assert "sorting the table alone" in said
    valued = [row["Desc."] for row in rows if row["value"]]
    assert valued == [CLOCK[0], "set of 6 mahogany dining chairs, Victorian", TEAPOT[0]]
    copy = load_workbook(tmp_path / "real-priced.xlsx")["Sat round"]
    assert copy.column_dimensions["G"].hidden and copy.row_dimensions[5].hidden
    assert copy.tables["Round"].ref == "A3:G7" and "A1:G1" in str(copy.merged_cells)


@pytest.mark.parametrize(
    "header",
    [
        ["Nr.", "Bezeichnung", "Erhaltung", "Preis (EUR)", "EK", "Epoche", "Anzahl", "Bemerkung"],
        ["Numéro", "Désignation", "État", "Prix affiché (€)", "Payé", "Époque", "Qté",
         "Remarques"],
        ["numero", "designation", "etat", "prix affiche", "paye", "epoque", "quantite",
         "remarques"],
    ],
    ids=["German", "French", "French without accents"],
)  # fmt: skip
def test_headers_in_other_languages(
    demo_workspace: Path, tmp_path: Path, header: list[object]
) -> None:
    row: list[object] = [1, "oak mantel clock", "good", 45, 20, "Victorian", 1, "by the door"]
    path = make.plain_xlsx(tmp_path / "a.xlsx", [header, row])
    said, rows = filled(path, demo_workspace)
    for number, field in enumerate(
        ("tag", "description", "condition", "asking price", "paid price", "period", "quantity",
         "notes")
    ):  # fmt: skip
        assert f"column {'ABCDEFGH'[number]} {header[number]!r}: {field}" in said, said
    assert rows[0]["value"]


def test_a_hundred_thousand_rows_are_understood(demo_workspace: Path, tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    path.write_text("Item,Price\n" + "".join(f"oak clock {k},4\n" for k in range(100_000)))
    code, said = run("sheet", path, "--dry-run", "-w", demo_workspace)
    assert (code, "100,000 pieces" in said) == (0, True), said
    assert [p.name for p in tmp_path.iterdir()] == ["long.csv"]
