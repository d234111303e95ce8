"""LibreOffice opens the filled sheets, computes them anew and finds our figures to the cent."""

from __future__ import annotations

import re
import shutil
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook

from pipeline.answers.buying import MarketTerms, TargetKind
from pipeline.answers.sheet import fill_sheet, new_sheet, open_sheet
from pipeline.answers.sheet.assumptions import assumptions_sheet, money_columns, terms_from_sheet
from tests.answers.sheets import make
from tests.answers.test_sheet_filling import OUR_HEADERS, TERMS, fill

pytestmark = pytest.mark.skipif(
    shutil.which("soffice") is None, reason="LibreOffice (soffice) is not installed"
)

OTHER_TERMS: tuple[MarketTerms, ...] = (
    TERMS.model_copy(update={"fee_fixed": Decimal(2), "cautious_quantile": Decimal("0.62")}),
    TERMS.model_copy(
        update={
            "target_kind": TargetKind.MARKUP, "target": Decimal("0.8"), "fee_steps": (),
            "fee_share": Decimal("0.05"), "bargain_share": Decimal("0.4"),
        }
    ),
    TERMS.model_copy(
        update={
            "target_kind": TargetKind.PROFIT, "target": Decimal(15), "shipping_out": Decimal(0),
            "purchase_tax_share": Decimal("0.2"),
        }
    ),
)  # fmt: skip


def with_assumptions_of(first: Path, second: Path, target: Path) -> Path:
    """The first filled sheet, its computed values and all, with the assumptions of the second.

    So it looks as if a person had changed the figures there and not yet computed anything.
    """
    if first.suffix == ".xlsx":
        part = "xl/worksheets/comparables1.xml"
        with zipfile.ZipFile(second) as archive:
            theirs = archive.read(part)
        return make.edit_part(first, target, {part: lambda _: theirs})
    table = re.compile(rb'<table:table table:name="assumptions">.*?</table:table>', re.S)
    with zipfile.ZipFile(second) as archive:
        found = table.search(archive.read("content.xml"))
    assert found is not None
    other = found[0]
    return make.edit_part(
        first, target, {"content.xml": lambda data: table.sub(lambda _: other, data)}
    )


def all_values(path: Path) -> dict[str, list[list[object]]]:
    book = CalamineWorkbook.from_path(path)
    return {
        name: book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        for name in book.sheet_names
    }


DEALER = MarketTerms(market="Dealer, by hand", currency="JPY", minor_digits=0)


def fill_for_two_markets(folder: Path, ending: str) -> Path:
    """A sheet whose pieces are meant for two markets, one in a currency without cents."""
    if ending == ".xlsx":
        rows: list[list[object]] = [["Item", "Price", "Repair"]]
        rows += [[f"piece {i}", 10 * i or None, i] for i in range(12)]
        source = make.plain_xlsx(folder / "two.xlsx", rows)
    else:
        source = make.round_ods(folder / "two.ods")
    reader = open_sheet(source)
    n = reader.items.num_rows
    markets = [TERMS if i % 2 else DEALER for i in range(n)]
    value = [30.0 + 7.77 * i for i in range(n)]
    low: list[float | None] = [0.001 if i == 4 else v / 3 for i, v in enumerate(value)]
    low[5] = None  # a range without an end is no range
    columns = money_columns(reader, markets, low, value, [v * 2 for v in value])
    target = folder / f"two markets{ending}"
    fill_sheet(reader, target, columns, [assumptions_sheet([TERMS, DEALER])])
    return target


@pytest.fixture(scope="module")
def computed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, Path]]:
    """Name -> (what we say, what LibreOffice says), with one start of the program."""
    folder = tmp_path_factory.mktemp("office")
    expected: dict[str, Path] = {}
    asked: dict[str, Path] = {}
    for ending, maker in ((".xlsx", make.rich_xlsx), (".ods", make.round_ods)):
        source = maker(folder / f"round{ending}")
        first = folder / f"first{ending}"
        fill(source, first)
        expected[f"as filled{ending}"] = asked[f"as filled{ending}"] = first
        again = folder / f"again{ending}"
        fill(first, again, scale=1.7)
        expected[f"filled again{ending}"] = asked[f"filled again{ending}"] = again
        for number, terms in enumerate(OTHER_TERMS):
            name = f"terms {number}{ending}"
            expected[name] = folder / f"terms{number}{ending}"
            fill(source, expected[name], terms)
            asked[name] = with_assumptions_of(
                first, expected[name], folder / f"changed{number}{ending}"
            )
    lists = {"condition": ["good", "fair"], "category": ["lamp", "chair & table"]}
    for ending in (".xlsx", ".ods"):
        two = fill_for_two_markets(folder, ending)
        expected[f"two markets{ending}"] = asked[f"two markets{ending}"] = two
        empty = new_sheet(folder / f"empty{ending}", lists)
        expected[f"empty{ending}"] = asked[f"empty{ending}"] = empty
    results = make.recalculated(list(dict.fromkeys(asked.values())), folder)
    return {name: (expected[name], results[asked[name]]) for name in asked}


CASES = [
    f"{name}{ending}"
    for ending in (".xlsx", ".ods")
    for name in ("as filled", "filled again", "terms 0", "terms 1", "terms 2", "two markets")
]


@pytest.mark.parametrize("case", CASES)
def test_every_formula_gives_our_figure(computed: dict[str, tuple[Path, Path]], case: str) -> None:
    ours, theirs = (all_values(path) for path in computed[case])
    assert list(ours) == list(theirs)
    compared = 0
    for sheet in ours:
        for row, (mine, other) in enumerate(zip(ours[sheet], theirs[sheet], strict=False)):
            for column, (a, b) in enumerate(zip(mine, other, strict=False)):
                where = (sheet, row + 1, column + 1)
                if isinstance(a, float):
                    assert isinstance(b, float), where
                    assert b == pytest.approx(a, abs=1e-6, rel=1e-12), where
                    compared += 1
                elif isinstance(a, str) and not a.startswith("#"):
                    assert a == b, where
    assert compared > 60


@pytest.mark.parametrize("case", [case for case in CASES if "two" not in case])
def test_the_changed_figure_did_change_something(
    computed: dict[str, tuple[Path, Path]], case: str
) -> None:
    ending = case[case.rindex(".") :]
    start = all_values(computed[f"as filled{ending}"][1])
    now = all_values(computed[case][1])
    sheet = next(iter(start))
    if not case.startswith("as filled"):
        assert start[sheet] != now[sheet]
    header = next(row for row in now[sheet] if "decision" in row)
    assert [h for h in header if h in OUR_HEADERS] == list(OUR_HEADERS)


@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_pick_lists_are_there(computed: dict[str, tuple[Path, Path]], ending: str) -> None:
    from openpyxl import load_workbook

    book = load_workbook(computed[f"empty{ending}"][1])
    assert book["lists"]["A3"].value == "fair" and book["lists"]["B3"].value == "chair & table"
    sheet = book["pieces"]
    rules = {
        str(rule.formula1).replace("$", ""): rule
        for rule in sheet.data_validations.dataValidation
        if rule.type == "list"
    }
    assert set(rules) == {"lists!A2:A3", "lists!B2:B3"}
    # LibreOffice cuts the range on writing; the column of conditions is F.
    assert str(rules["lists!A2:A3"].sqref).startswith("F2:F")
    if ending == ".xlsx":  # without a window LibreOffice writes no panes: see our own file
        assert load_workbook(computed["empty.xlsx"][0])["pieces"].freeze_panes == "C2"
    filled = load_workbook(computed[f"as filled{ending}"][1])["assumptions"]
    kinds = [r for r in filled.data_validations.dataValidation if r.type == "list"]
    assert len(kinds) == 1 and "mark-up on cost" in str(kinds[0].formula1)


def test_every_kind_of_decision_was_compared(computed: dict[str, tuple[Path, Path]]) -> None:
    seen = set()
    for name, (_, theirs) in computed.items():
        if name.startswith("empty"):
            continue
        rows = next(iter(all_values(theirs).values()))
        header = next(row for row in rows if "decision" in row)
        column = header.index("decision")
        seen |= {str(row[column]).split(" ")[0] for row in rows if len(row) > column}
    assert {"buy", "bargain", "leave", "not", "no"} <= seen


@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_a_sheet_that_libreoffice_saved_is_known_again(
    computed: dict[str, tuple[Path, Path]], ending: str, tmp_path: Path
) -> None:
    saved = computed[f"as filled{ending}"][1]  # as .xlsx, whatever it was
    reader = open_sheet(saved, our_headers=OUR_HEADERS)
    assert list(reader.ours) == list(OUR_HEADERS)
    assert not set(reader.ours.values()) & set(reader.columns.values())
    read = terms_from_sheet(TERMS, reader)
    assert read.target == TERMS.target and read.fee_fixed == TERMS.fee_fixed
    assert [step.share for step in read.steps] == [step.share for step in TERMS.steps]
    result = fill(saved, tmp_path / "again.xlsx", scale=2.0)
    assert set(result.extra_sheets.values()) == {"assumptions", "comparables", "notes"}
    book = CalamineWorkbook.from_path(tmp_path / "again.xlsx")
    assert book.sheet_names == CalamineWorkbook.from_path(saved).sheet_names
