"""The same row again without a number: in overlapping exports one sale; twice in one export one
sale too, until a person says that two like pieces were sold."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

import pipeline
from pipeline.cli import app
from pipeline.errors import UsageError
from pipeline.refresh import refresh
from tests.conftest import HEADER, WorkspaceMaker, shop_rows

CARAFE = ",Glass carafe,decanter,good,2024-03-09,12.00\n"
WEEK_1 = HEADER + ",Oak clock,mantel clock,good,2024-03-01,70\n" + CARAFE + CARAFE
WEEK_2 = HEADER + CARAFE + CARAFE + CARAFE + ",Oak table,side table,good,2024-03-12,95\n"
WEEK_3 = HEADER + CARAFE + ",Pine box,box,good,2024-03-20,15\n"
WEEKS = [WEEK_1, WEEK_2, WEEK_3]
OF_CARAFES = "FROM sales WHERE title_text = 'Glass carafe' ORDER BY sale_id"


def told(ws: Path, query: str) -> list[tuple[object, ...]]:
    with pipeline.connect(ws) as con:
        return con.execute(query).fetchall()


def part(ws: Path, *pairs: tuple[str, str]) -> None:
    (ws / "data/decisions").mkdir(exist_ok=True)
    (ws / "data/decisions/links.csv").write_text(
        "sale_id,other_sale_id,link,who,decided_on,why\n"
        + "".join(f"{x},{y},different,Ada,2024-10-01,two carafes\n" for x, y in pairs)
    )


def the_carafe(ws: Path) -> str:
    ((key,),) = told(ws, f"SELECT sale_id {OF_CARAFES}")
    return str(key)


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 0, 2)])
def test_weekly_exports_without_numbers_give_each_sale_once(
    make_workspace: WorkspaceMaker, order: tuple[int, ...]
) -> None:
    """Whatever the names of the files, hence their order where their newest sales are equal."""
    files = {f"{name}.csv": WEEKS[k] for name, k in zip("abc", order, strict=True)}
    ws = make_workspace({"shop": files})
    result = refresh(ws)
    assert (result.n_rows, result.n_sales, result.n_duplicates) == (9, 4, 5)
    key = the_carafe(ws)
    assert told(
        ws, "SELECT other_sale_id, reason, count(*) FROM duplicates GROUP BY ALL ORDER BY 1"
    ) == [
        (key, "same_row", 2), (f"{key}#2", "repeated_row", 2), (f"{key}#3", "repeated_row", 1),
    ]  # fmt: skip


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0)])
def test_a_person_parts_two_like_pieces_in_every_export(
    make_workspace: WorkspaceMaker, order: tuple[int, ...]
) -> None:
    files = {f"{name}.csv": WEEKS[k] for name, k in zip("abc", order, strict=True)}
    ws = make_workspace({"shop": files})
    refresh(ws)
    key = the_carafe(ws)
    part(ws, (f"{key}#2", key))
    two = refresh(ws)
    assert (two.n_sales, two.n_duplicates, two.unused_decisions) == (5, 4, [])
    assert told(ws, f"SELECT sale_id {OF_CARAFES}") == [(key,), (f"{key}#2",)]
    assert told(
        ws, "SELECT sale_id, other_sale_id, reason, count(*) FROM duplicates GROUP BY ALL "
        "ORDER BY 2"
    ) == [
        (key, key, "same_row", 2),
        (f"{key}#2", f"{key}#2", "same_row", 1),
        (key, f"{key}#3", "repeated_row", 1),
    ]  # fmt: skip
    part(ws, (key, f"{key}#2"), (key, f"{key}#3"))
    three = refresh(ws)
    assert (three.n_sales, three.n_duplicates) == (6, 3)
    assert told(ws, "SELECT count(*) FROM link_review") == [(0,)]


def test_the_other_source_tells_of_one_of_them_each(make_workspace: WorkspaceMaker) -> None:
    """Two like pieces told by two sources are two sales: one partner a row."""
    kind = '"Coromandel clock, brass plate engraved H. Quillfeather 1843",mantel clock,good'
    shop = HEADER + shop_rows(60) + 2 * f",{kind},2024-03-05,321.50\n"
    stall = HEADER + shop_rows(60, start=300, price=700)
    stall += f"77,{kind},2024-03-05,321.50\n78,{kind},2024-03-05,321.50\n"
    ws = make_workspace({"shop": {"a.csv": shop}, "stall": {"b.csv": stall}})
    refresh(ws)
    ((key,),) = told(ws, "SELECT other_sale_id FROM duplicates WHERE reason = 'repeated_row'")
    part(ws, (str(key).removesuffix("#2"), str(key)))
    assert refresh(ws).n_sales == 122
    assert told(
        ws, "SELECT reason, count(DISTINCT sale_id), count(*) FROM duplicates GROUP BY 1"
    ) == [("same_event", 2, 2)]  # fmt: skip


def test_explain_names_the_line_and_how_to_part_it(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": WEEK_1}})
    refresh(ws)
    key = the_carafe(ws)
    kept = CliRunner().invoke(app, ["explain", key, "-w", str(ws)])
    said = " ".join(kept.output.split())
    assert "line 3: The same cells twice in one export" in said
    assert f"Its key is {key}#2." in said
    gone = CliRunner().invoke(app, ["explain", f"{key}#2", "-w", str(ws)])
    assert isinstance(gone.exception, UsageError)
    assert "data/decisions/links.csv" in str(gone.exception)


def test_a_correction_of_the_second_line_alone(make_workspace: WorkspaceMaker) -> None:
    """The plain key corrects every such line; `#2` the second alone, which then is a sale of its
    own where its cells differ."""
    ws = make_workspace({"shop": {"a.csv": WEEK_1}})
    refresh(ws)
    key = the_carafe(ws)
    place = ws / "data/decisions/corrections.csv"
    place.parent.mkdir(exist_ok=True)
    top = "sale_id,column,expected,new,who,decided_on,why\n"
    both = f"{key},price,12.00,13.00,Ada,2024-05-01,slip\n"
    place.write_text(top + both)
    assert refresh(ws).n_sales == 2
    prices = f"SELECT sale_id, price_amount::DOUBLE {OF_CARAFES}"
    assert told(ws, prices) == [(key, 13.0)]
    place.write_text(top + both + f"{key}#2,price,12.00,45.00,Ada,2024-05-01,another carafe\n")
    result = refresh(ws)
    assert (result.n_sales, result.unused_decisions) == (3, [])
    assert told(ws, prices) == [(key, 13.0), (f"{key}#2", 45.0)]
