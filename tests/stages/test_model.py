"""The tables of the price model, on sales whose true effects are known."""

from __future__ import annotations

import random
from pathlib import Path

import duckdb
import pyarrow as pa
import pytest

import pipeline
from pipeline.columns import SALES
from pipeline.refresh import refresh
from pipeline.settings import load_settings
from pipeline.stages.model import TABLES as DECLARED
from pipeline.stages.model import fitted, kept_model, sales_of_model
from tests.conftest import HEADER, WorkspaceMaker

SETTINGS = """\
[model]
enabled = true
least_sales = 100
most_words = 20
interactions = false
n_neighbours = 0
"""
FAIR_AGAINST_GOOD = 0.6
TABLES = [t.name for t in DECLARED]


def rows(n: int) -> list[str]:
    """Sales of two kinds; a fair one brings 60 % of a good one, with a scatter of about 20 %."""
    chance = random.Random(7)
    lines = []
    for k in range(n):
        kind, level = (("mantel clock", 200.0), ("longcase clock", 900.0))[k % 2]
        fair = chance.random() < 0.4
        price = level * (FAIR_AGAINST_GOOD if fair else 1.0) * chance.lognormvariate(0, 0.2)
        day = f"20{22 + k % 3}-{1 + k % 12:02}-{1 + k % 27:02}"
        state = "fair" if fair else "good"
        lines.append(f"{k},{kind} piece {k * 7919},{kind},{state},{day},{price:.2f}\n")
    return lines


def published(workspace: Path) -> dict[str, list[tuple[object, ...]]]:
    with pipeline.connect(workspace) as con:
        return {name: con.execute(f"FROM {name}").fetchall() for name in TABLES}


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return rows(240)


def test_effects_come_out_whatever_the_order_of_files(
    make_workspace: WorkspaceMaker, lines: list[str]
) -> None:
    half = len(lines) // 2
    parts = ("".join(lines[:half]), "".join(lines[half:]))
    told = []
    for name, order in (("one", (0, 1)), ("two", (1, 0))):
        files: dict[str, str | bytes] = {
            f"{k}.csv": HEADER + parts[part] for k, part in enumerate(order)
        }
        place = make_workspace({"shop": files}, SETTINGS, name)
        refresh(place)
        told.append(published(place))
    assert told[0] == told[1]
    with pipeline.connect(place) as con:
        effect = con.execute(
            "SELECT effect_percent, low_percent, high_percent, reference FROM price_adjustments "
            "WHERE scope = 'all' AND kind = 'condition' AND term = 'fair'"
        ).fetchone()
        medians = dict(
            con.execute(
                "SELECT category_id, median FROM pooled_bands "
                "WHERE condition = 'good' AND attribution = 'unknown'"
            ).fetchall()
        )
        last = con.execute("SELECT price_level FROM price_index ORDER BY period DESC").fetchone()
        failed = con.execute("SELECT count(*) FROM check_results WHERE NOT passed").fetchone()
    assert effect is not None
    assert effect[3] == "good"
    assert effect[1] <= 100 * (FAIR_AGAINST_GOOD - 1) <= effect[2]
    assert effect[2] - effect[1] < 25
    assert 150 < medians["mantel-clock"] < 260
    assert 700 < medians["longcase-clock"] < 1150
    assert last is not None and abs(last[0] - 1) < 1e-6
    assert failed == (0,)


def test_no_model_no_figures(make_workspace: WorkspaceMaker, lines: list[str]) -> None:
    off = SETTINGS.replace("enabled = true", "enabled = false")
    for name, settings, n in (("off", off, len(lines)), ("few", SETTINGS, 40)):
        place = make_workspace({"shop": {"a.csv": HEADER + "".join(lines[:n])}}, settings, name)
        refresh(place)
        assert all(not found for found in published(place).values())
        with pipeline.connect(place) as con:
            assert kept_model(con) is None


def test_the_model_kept_is_the_one_that_was_fitted(
    make_workspace: WorkspaceMaker, lines: list[str]
) -> None:
    place = make_workspace({"shop": {"a.csv": HEADER + "".join(lines)}}, SETTINGS)
    refresh(place)
    with pipeline.connect(place) as con:
        kept = kept_model(con)
        sales = sales_of_model(con)
    if kept is None:
        pytest.fail("the database holds no model")
    fitted_now = fitted(sales, load_settings(place / "data/settings.toml").model)
    items = sales.slice(0, 20)
    assert kept.predict(items) == fitted_now.predict(items)


@pytest.mark.parametrize(
    ("n_with_a_height", "names"),
    [(10, {"largest_cm", "height_cm", "drawers"}), (9, {"largest_cm", "drawers"})],
)
def test_a_side_stands_for_itself_where_half_the_sales_tell_it(
    n_with_a_height: int, names: set[str]
) -> None:
    """A column of an export tells it of every sale; texts tell it of a few, by the way."""
    rows = [
        {
            "sale_id": f"s{k:02}", "is_comparable": True, "compared_amount": 100.0,
            "measures": [("largest_cm", 40.0), ("drawers", 3.0)]
            + ([("height_cm", 30.0)] if k < n_with_a_height else []),
        }
        for k in range(20)
    ]  # fmt: skip
    schema = pa.schema(
        [
            ("sale_id", pa.string()), ("is_comparable", pa.bool_()),
            ("compared_amount", pa.float64()), ("measures", pa.map_(pa.string(), pa.float64())),
        ]
    )  # fmt: skip
    with duckdb.connect() as con:
        con.execute(SALES.ddl().replace("NOT NULL", ""))
        con.register("made", pa.Table.from_pylist(rows, schema))
        con.execute("INSERT INTO sales BY NAME SELECT * FROM made")
        told = sales_of_model(con)["measures"].to_pylist()
    assert len(told) == 20
    assert {name for one in told for name, _ in one} == names
