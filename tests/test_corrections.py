"""Corrections of single cells, end to end and by themselves."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

import pipeline
from pipeline.cli import app
from pipeline.corrections import read_corrections
from pipeline.errors import DecisionError
from pipeline.refresh import refresh
from tests.conftest import HEADER, WorkspaceMaker, shop_rows

TOP = "sale_id,column,expected,new,who,decided_on,why\n"


def correct(ws: Path, *lines: str) -> None:
    place = ws / "data" / "decisions"
    place.mkdir(exist_ok=True)
    (place / "corrections.csv").write_text(TOP + "".join(f"{one}\n" for one in lines))


def one(ws: Path, query: str) -> tuple[object, ...]:
    with pipeline.connect(ws) as con:
        return con.execute(query).fetchall()[0]


def test_a_correction_flows_through_to_the_price_and_is_told(
    make_workspace: WorkspaceMaker,
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    correct(ws, "shop:3,price,103.00,130.00,Ada,2024-05-01,slip of the keyboard",
            "shop:4,condition,good,fair,Ada,2024-05-01,seen again")  # fmt: skip
    result = refresh(ws)
    assert result.is_new
    assert result.unused_decisions == []
    read = one(ws, "SELECT price_text, compared_amount::DOUBLE FROM sales WHERE sale_id = 'shop:3'")
    assert read == ("130.00", 130.0)
    assert one(ws, "SELECT condition FROM sales WHERE sale_id = 'shop:4'") == ("fair",)
    told = one(ws, "SELECT expected_text, new_text, who, decided_on::VARCHAR, why, line_number "
               "FROM corrections WHERE sale_id = 'shop:3'")  # fmt: skip
    assert told == ("103.00", "130.00", "Ada", "2024-05-01", "slip of the keyboard", 5)
    correct(ws)
    assert refresh(ws).is_new
    assert one(ws, "SELECT price_amount::DOUBLE FROM sales WHERE sale_id = 'shop:3'") == (103.0,)


def test_the_way_of_a_sale_tells_its_corrections(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(6)}})
    correct(ws, "shop:2,price,102.00,120.00,Ada,2024-05-01,slip of the key")
    refresh(ws)
    done = CliRunner().invoke(app, ["explain", "shop:2", "-w", str(ws)])
    assert "corrected price: the export has '102.00', by Ada on 2024-05-01: slip of the key" in (
        done.output
    )
    assert "Price: 120.00" in done.output
    assert "corrected" not in CliRunner().invoke(app, ["explain", "shop:3", "-w", str(ws)]).output


def test_an_empty_cell_is_filled_and_a_cell_is_emptied(make_workspace: WorkspaceMaker) -> None:
    text = HEADER + shop_rows(6) + "90,Oak mantel clock,mantel clock,,2024-03-03,50\n"
    ws = make_workspace({"shop": {"a.csv": text}})
    correct(
        ws, "shop:90,condition,,good,Ada,2024-05-01,x", "shop:1,condition,good,,Ada,2024-05-01,y"
    )
    refresh(ws)
    with pipeline.connect(ws) as con:
        found = con.execute(
            "SELECT sale_id, condition FROM sales WHERE sale_id IN ('shop:90', 'shop:1') ORDER BY 1"
        ).fetchall()
    assert found == [("shop:1", "unknown"), ("shop:90", "good")]


def test_a_source_that_mended_itself_stops_the_refresh(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(6)}})
    correct(ws, "shop:2,price,102.00,120.00,Ada,2024-05-01,x")
    refresh(ws)
    newer = HEADER + "2,Oak mantel clock number 2,mantel clock,good,2024-03-03,121.00\n"
    newer += "60,Oak mantel clock,mantel clock,good,2024-06-01,160.00\n"
    (ws / "data/raw/shop/b.csv").write_text(newer)
    expected = "expects '102.00' as price, but the export says '121.00'"
    with pytest.raises(DecisionError, match=expected) as told:
        refresh(ws)
    assert "corrections.csv, line 2" in str(told.value)
    assert one(ws, "SELECT price_amount::DOUBLE FROM sales WHERE sale_id = 'shop:2'") == (120.0,)


def test_an_older_export_may_say_something_else(make_workspace: WorkspaceMaker) -> None:
    """Only the row that counts is asked."""
    old = HEADER + "2,Oak mantel clock,mantel clock,good,2024-03-03,99.00\n"
    new = (
        HEADER + "2,Oak mantel clock,mantel clock,good,2024-03-03,102.00\n" + shop_rows(4, start=9)
    )
    ws = make_workspace({"shop": {"old.csv": old, "new.csv": new}})
    correct(ws, "shop:2,price,102.00,120.00,Ada,2024-05-01,x")
    refresh(ws)
    assert one(ws, "SELECT price_amount::DOUBLE FROM sales WHERE sale_id = 'shop:2'") == (120.0,)


def test_a_row_without_a_number_keeps_its_key(make_workspace: WorkspaceMaker) -> None:
    text = (
        HEADER
        + ",Brass lamp,table lamp,good,2024-03-03,20\n,Oak box,writing box,good,2024-03-03,30\n"
    )
    ws = make_workspace({"shop": {"a.csv": text}})
    refresh(ws)
    (key,) = one(ws, "SELECT sale_id FROM sales WHERE title_text = 'Brass lamp'")
    correct(
        ws, f"{key},price,20,25,Ada,2024-05-01,x", f"{key},condition,good,poor,Ada,2024-05-01,x"
    )
    refresh(ws)
    read = one(ws, f"SELECT price_amount::DOUBLE, condition FROM sales WHERE sale_id = '{key}'")
    assert read == (25.0, "poor")


def test_a_correction_of_no_sale_is_reported(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(3)}})
    correct(ws, "shop:99,price,1,2,Ada,2024-05-01,x")
    assert refresh(ws).unused_decisions == [
        "corrections.csv, line 2: there is no sale 'shop:99' whose price could be corrected."
    ]
    assert refresh(ws).unused_decisions != []


def test_each_day_of_a_listing_of_several_pieces_is_corrected_by_itself(
    make_workspace: WorkspaceMaker,
) -> None:
    text = HEADER + "".join(
        f"7,Oak box,writing box,good,2024-03-{day:02},10\n" for day in (1, 5, 9)
    )
    ws = make_workspace({"shop": {"a.csv": text}})
    correct(ws, "shop:7@2024-03-05,price,10,12,Ada,2024-05-01,x")
    refresh(ws)
    with pipeline.connect(ws) as con:
        found = con.execute("SELECT sale_id, price_amount::DOUBLE FROM sales ORDER BY 1").fetchall()
    assert found == [("shop:7", 10.0), ("shop:7@2024-03-05", 12.0), ("shop:7@2024-03-09", 10.0)]
    correct(ws, "shop:7,price,10,11,Ada,2024-05-01,x")
    refresh(ws)
    with pipeline.connect(ws) as con:
        found = con.execute("SELECT price_amount::DOUBLE FROM sales ORDER BY sale_id").fetchall()
    assert found == [(11.0,), (10.0,), (10.0,)]


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (
            ["shop:1,price,1,2,Ada,2024-05-01,x", "shop:1,price,2,3,Ada,2024-05-01,x"],
            "concern one cell",
        ),
        (["shop:1,price,1,2,Ada,2024-05-01,x", "shop:1,price,2,1,Ada,2024-05-01,x"], "in a loop"),
        (["shop:1,price,1,1,Ada,2024-05-01,x"], "both '1'"),
        (["shop:1,weight,1,2,Ada,2024-05-01,x"], "(?s)is no column.*Use one of"),
        (["shop:1,listing_id,1,2,Ada,2024-05-01,x"], "(?s)is no column.*Use one of"),
        (["shop1,price,1,2,Ada,2024-05-01,x"], "no key of a sale"),
        (["shop:1,price,1,2,,2024-05-01,x"], "column who is empty"),
        (["shop:1,price,1,2,Ada,1.5.24,x"], "is no date"),
        (["shop:1,price,1,2,Ada,2024-05-01,"], "column why is empty"),
    ],
)
def test_what_does_not_hold_names_file_and_line(
    tmp_path: Path, lines: list[str], message: str
) -> None:
    path = tmp_path / "corrections.csv"
    path.write_text(TOP + "\n".join(lines) + "\n")
    with pytest.raises(DecisionError, match=message) as told:
        read_corrections(path)
    assert f"corrections.csv, line {1 + len(lines)}" in str(told.value)


def test_another_header_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "corrections.csv"
    path.write_text("sale,column\n")
    with pytest.raises(DecisionError, match="The column sale_id is missing"):
        read_corrections(path)
    assert read_corrections(tmp_path / "none.csv").num_rows == 0
