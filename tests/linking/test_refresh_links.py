"""Links through a whole refresh: the balance of every file, the tables, people's decisions."""

from __future__ import annotations

from pathlib import Path

import pipeline
from pipeline.refresh import refresh
from tests.conftest import HEADER, WorkspaceMaker, shop_rows

TWIN = '"Coromandel {} clock, brass plate engraved H. Quillfeather 1843",mantel clock,good'


def told(ws: Path, query: str) -> list[tuple[object, ...]]:
    with pipeline.connect(ws) as con:
        return con.execute(query).fetchall()


def test_events_and_pieces_in_the_published_tables(make_workspace: WorkspaceMaker) -> None:
    kind = TWIN.format("lacquer")
    one = HEADER + shop_rows(60) + f"900,{kind},2024-03-05,321.50\n"
    one += f"901,{kind},2024-09-20,390.00\n"
    other = HEADER + shop_rows(60, start=300, price=700) + f"77,{kind},2024-03-06,321.50\n"
    ws = make_workspace({"shop": {"a.csv": one}, "stall": {"b.csv": other}})
    result = refresh(ws)
    assert (result.n_rows, result.n_sales, result.n_duplicates) == (123, 122, 1)
    links = told(
        ws, "SELECT sale_id, other_sale_id, reason, is_dropped, cells IS NOT NULL FROM duplicates "
        "ORDER BY reason"
    )  # fmt: skip
    assert links == [
        ("shop:901", "shop:900", "resale", False, False),
        ("shop:900", "stall:77", "same_event", True, True),
    ] or links == [
        ("shop:901", "stall:77", "resale", False, False),
        ("stall:77", "shop:900", "same_event", True, True),
    ]
    kept = links[1][0]
    assert told(ws, "SELECT resale_of_sale_id FROM sales WHERE sale_id = 'shop:901'") == [(kept,)]
    assert told(
        ws, "SELECT count(*) FROM refresh_files WHERE n_rows <> n_sales + n_duplicates + "
        "n_rows_set_aside"
    ) == [(0,)]  # fmt: skip
    (ws / "data/decisions").mkdir(exist_ok=True)
    (ws / "data/decisions/links.csv").write_text(
        "sale_id,other_sale_id,link,who,decided_on,why\n"
        "shop:900,stall:77,different,Ada,2024-10-01,seen both\n"
        "shop:900,shop:12345,same,Ada,2024-10-01,x\n"
    )
    again = refresh(ws)
    assert (again.n_sales, again.is_new) == (123, True)
    assert again.unused_decisions == ["links.csv, line 3: there is no sale 'shop:12345'."]


def test_a_listing_of_several_pieces_is_several_sales_and_no_resale(
    make_workspace: WorkspaceMaker,
) -> None:
    """One export shows number 7 on three days, one of them twice; the next shows the last again."""
    rows = [f"7,Glass carafe,decanter,good,2024-03-{day:02},12.00\n" for day in (1, 9, 9, 20)]
    newer = HEADER + "7,Glass carafe,decanter,good,2024-03-20,13.00\n" + shop_rows(1, start=90)
    newer += "91,Oak clock,mantel clock,good,2024-05-01,70\n"
    ws = make_workspace({"shop": {"a.csv": HEADER + "".join(rows), "b.csv": newer}})
    refresh(ws)
    assert told(
        ws, "SELECT sale_id, sold_on::VARCHAR, price_amount::DOUBLE, resale_of_sale_id FROM sales "
        "WHERE listing_id = '7' ORDER BY 2"
    ) == [
        ("shop:7", "2024-03-01", 12.0, None),
        ("shop:7@2024-03-09", "2024-03-09", 12.0, None),
        ("shop:7@2024-03-20", "2024-03-20", 13.0, None),
    ]  # fmt: skip
    assert told(ws, "SELECT reason, differs FROM duplicates ORDER BY 1") == [
        ("corrected_listing", ["price"]), ("same_listing", []),
    ]  # fmt: skip


def test_a_date_corrected_in_a_newer_export_is_one_sale(make_workspace: WorkspaceMaker) -> None:
    """Only an export that shows both days makes a listing one of several pieces."""
    old = HEADER + "7,Glass carafe,decanter,good,2024-03-01,12.00\n"
    new = HEADER + "7,Glass carafe,decanter,good,2024-03-02,12.00\n"
    ws = make_workspace({"shop": {"a.csv": old, "b.csv": new}})
    refresh(ws)
    assert told(ws, "SELECT sale_id, sold_on::VARCHAR FROM sales") == [("shop:7", "2024-03-02")]
    assert told(ws, "SELECT differs FROM duplicates") == [(["sold"],)]
