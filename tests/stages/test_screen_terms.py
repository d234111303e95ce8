"""The second screening: slips that hide in a mixed group, and dear pieces that their terms explain."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

import pipeline
from pipeline.refresh import refresh
from tests.conftest import SHOP, WorkspaceMaker
from tests.test_cli import run

HEADER = "Id,Title,Kind,Stuff,State,Sold,Price\n"
SOURCE = SHOP + '"Stuff" = "material"\n'
SETTINGS = "[model]\nenabled = false\n"
N = 400


def lines(n: int = N) -> list[str]:
    """Boxes of oak at 30 and of silver at 600, a spread of 15 %: of oak one slipped to 300.

    Silver is rare: held against all boxes it is far out of line, and only its material says why.
    """
    chance = random.Random(3)
    out = []
    for k in range(n):
        silver = k % 10 == 0
        price = (600.0 if silver else 30.0) * chance.lognormvariate(0, 0.15)
        out.append(row(k, "silver" if silver else "oak", price))
    out.append(row(900, "oak", 300.0))
    out.append(row(901, "silver", 60.0))
    return out


def row(k: int, stuff: str, price: float) -> str:
    day = f"2024-{1 + k % 12:02}-{1 + k % 27:02}"
    return f"{k},jewellery box piece {k * 7919},jewellery box,{stuff},good,{day},{price:.2f}\n"


def made(make: WorkspaceMaker, name: str, files: dict[str, str | bytes]) -> Path:
    place = make({"shop": files}, SETTINGS, name)
    (place / "data" / "raw" / "shop" / "source.toml").write_text(SOURCE)
    refresh(place)
    return place


def flags_of(place: Path) -> dict[str, tuple[list[str], bool]]:
    with pipeline.connect(place) as con:
        rows = con.execute("SELECT sale_id, flags, is_comparable FROM sales").fetchall()
    return {key: (flags, comparable) for key, flags, comparable in rows}


def test_slips_are_found_and_treasures_kept(make_workspace: WorkspaceMaker) -> None:
    place = made(make_workspace, "one", {"a.csv": HEADER + "".join(lines())})
    flags = flags_of(place)
    assert flags["shop:901"] == (["price_unlike_terms_low"], False)
    assert flags["shop:900"][1] is False
    # held against all boxes every silver one is out of line; by terms those beyond 2 scores stay so
    silver = [flags[f"shop:{k}"] for k in range(0, N, 10)]
    assert sum(told == ([], True) for told in silver) >= 0.95 * len(silver)
    others = [
        key for key, (told, _) in flags.items() if told and key not in ("shop:900", "shop:901")
    ]
    assert len(others) <= 0.01 * N


def test_a_flag_is_explained_from_the_kept_statistics(make_workspace: WorkspaceMaker) -> None:
    place = made(make_workspace, "one", {"a.csv": HEADER + "".join(lines())})
    code, told = run("explain", "shop:901", "-w", place)
    assert (code, "led one to expect about" in told) == (0, True)
    expected = float(told.split("expect about ")[1].split(";")[0].replace(",", ""))
    assert expected == pytest.approx(600, rel=0.1)
    with pipeline.connect(place) as con:
        z, median, mad, price = con.execute(
            "SELECT z_score, median_log, mad_log, compared_amount FROM sales "
            "INNER JOIN group_statistics USING (group_id) WHERE sale_id = 'shop:901'"
        ).fetchall()[0]
        failed = con.execute("SELECT count(*) FROM check_results WHERE NOT passed").fetchone()
    assert z <= -3.5
    assert float(price) / 2.718281828459045 ** (median + z * mad / 0.6745) == pytest.approx(
        expected, rel=1e-3
    )
    assert failed == (0,)


def test_whatever_the_order_of_files(make_workspace: WorkspaceMaker) -> None:
    rows = lines()
    parts = ["".join(rows[:200]), "".join(rows[200:])]
    told = []
    for name, order in (("one", (0, 1)), ("two", (1, 0))):
        files: dict[str, str | bytes] = {f"{k}.csv": HEADER + parts[p] for k, p in enumerate(order)}
        place = made(make_workspace, name, files)
        with pipeline.connect(place) as con:
            told.append(
                con.execute(
                    "SELECT sale_id, z_score, group_id, flags FROM sales ORDER BY 1"
                ).fetchall()
                + con.execute("FROM group_statistics").fetchall()
            )
    assert told[0] == told[1]


def test_few_sales_are_judged_by_their_group_alone(make_workspace: WorkspaceMaker) -> None:
    place = made(make_workspace, "few", {"a.csv": HEADER + "".join(lines(60))})
    with pipeline.connect(place) as con:
        levels = {
            level for (level,) in con.execute("SELECT level FROM group_statistics").fetchall()
        }
    assert levels == {"condition"}
