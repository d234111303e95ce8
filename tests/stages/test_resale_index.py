"""The published index of pieces sold twice, on prices whose true movement is known."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pytest

from pipeline.columns import RESALE_INDEX, SALES
from pipeline.stages.resale_index import LEAST_PAIRS_A_PERIOD, index_resales, resale_levels


def pairs(n: int, *, years: int = 4, noise: float = 0.0, seed: int = 1) -> pa.Table:
    """Pieces sold twice in a market that rises by 10 % a quarter, from 2021 on."""
    rng = np.random.default_rng(seed)
    quarters = np.sort(np.array([rng.choice(4 * years, 2, replace=False) for _ in range(n)]))
    worth = np.exp(rng.normal(5, 1, n))
    amounts = worth[:, None] * 1.1**quarters * np.exp(rng.normal(0, noise, (n, 2)))
    month = np.datetime64("2021-01", "M") + 3 * quarters + 1
    days = month.astype("datetime64[D]") + 9
    return pa.table(
        {
            "family_id": ["clocks" if k % 4 else "glass" for k in range(n)],
            "first_on": pa.array(days[:, 0]),
            "second_on": pa.array(days[:, 1]),
            "first_amount": amounts[:, 0],
            "second_amount": amounts[:, 1],
        }
    )


def test_the_movement_comes_out_by_quarter_and_by_family() -> None:
    told = resale_levels(pairs(400)).to_pylist()
    whole = [row for row in told if row["scope"] == "all"]
    assert [row["period"] for row in whole][:2] == ["2021-Q1", "2021-Q2"]
    assert len(whole) == 16
    for k, row in enumerate(whole):
        assert row["price_level"] == pytest.approx(1.1 ** (k - 15), abs=1e-5)
    assert sum(row["n_pairs"] for row in whole) == 800
    clocks = [row["price_level"] for row in told if row["family_id"] == "clocks"]
    assert clocks == pytest.approx([1.1 ** (k - 15) for k in range(16)], abs=1e-5)


def test_intervals_hold_the_true_level_as_often_as_they_say() -> None:
    """200 markets with a scatter of 20 %: 95 % within Monte Carlo error over 15 levels each."""
    held = []
    for seed in range(200):
        told = resale_levels(pairs(160, noise=0.2, seed=seed)).to_pylist()
        for row in told:
            if row["scope"] == "all" and row["period"] != "2024-Q4":
                quarter = 4 * (int(row["period"][:4]) - 2021) + int(row["period"][-1]) - 1
                held.append(row["low"] <= 1.1 ** (quarter - 15) <= row["high"])
    assert len(held) == 200 * 15
    # levels of one market share its last period: its 15 count for about 3
    assert np.mean(held) == pytest.approx(0.95, abs=0.025)


def test_few_pairs_are_told_by_the_year_and_fewer_not_at_all() -> None:
    enough = LEAST_PAIRS_A_PERIOD * 16
    by_year = [
        row for row in resale_levels(pairs(enough - 40)).to_pylist() if row["scope"] == "all"
    ]
    assert [row["period"] for row in by_year] == ["2021", "2022", "2023", "2024"]
    assert resale_levels(pairs(LEAST_PAIRS_A_PERIOD * 3)).num_rows == 0
    assert resale_levels(pairs(1).slice(0, 0)).num_rows == 0


def sale(key: str, day: dt.date, amount: float, **changed: object) -> dict[str, object]:
    usual = {
        "sale_id": key, "family_id": "clocks", "category_id": "clock", "condition": "good",
        "attribution": "period", "set_size": "single", "sold_on": day, "compared_amount": amount,
        "is_comparable": True, "resale_of_sale_id": None,
    }  # fmt: skip
    return {**usual, **changed}


@pytest.mark.parametrize(
    "changed",
    [{}, {"condition": "fair"}, {"is_comparable": False}, {"set_size": "pair"},
     {"attribution": "style"}, {"compared_amount": None}],
)  # fmt: skip
def test_only_like_sales_of_a_piece_make_a_pair(changed: dict[str, object]) -> None:
    """A piece restored between its sales says nothing of the market."""
    rows = []
    for k in range(60):
        first = dt.date(2021 + k % 3, 1 + k % 12, 5)
        rows.append(sale(f"a{k}", first, 100.0))
        later = dt.date(2022 + k % 3, 1 + k % 12, 5)
        rows.append(sale(f"b{k}", later, 110.0, **{"resale_of_sale_id": f"a{k}", **changed}))
    with duckdb.connect() as con:
        con.execute(SALES.ddl().replace("NOT NULL", ""))
        con.register("made", pa.Table.from_pylist(rows))
        con.execute("INSERT INTO sales BY NAME SELECT * FROM made")
        index_resales(con, "1")
        told = con.execute("SELECT price_level, n_pairs FROM resale_index").fetchall()
    if changed:
        assert told == []
    else:
        levels = [level for level, _ in told[: len(told) // 2]]
        assert levels == pytest.approx([1.1**k for k in range(-3, 1)], abs=1e-5)


def test_the_demo_tells_an_index_of_its_resales(demo_workspace: Path) -> None:
    database = demo_workspace / "data" / "curated" / "comparables.duckdb"
    with duckdb.connect(str(database), read_only=True) as con:
        rows = con.execute(f"FROM {RESALE_INDEX.name} WHERE scope = 'all'").fetchall()
        linked = con.execute("SELECT count(resale_of_sale_id) FROM sales").fetchone()
    assert len(rows) >= 3
    assert linked is not None
    assert 0 < sum(row[RESALE_INDEX.names.index("n_pairs")] for row in rows) <= 2 * linked[0]
