"""The back-test never looks ahead, and measures what it says."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from pipeline.errors import NotEnoughSales
from pipeline.statistics.backtest import CELL, MODEL, RIDGE, Folds, backtest, pinball, time_folds
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.ratio_study import cod
from tests.statistics.simulated import simulate


def test_folds_go_forward_and_keep_days_together():
    day = np.repeat(np.arange(20.0), 5)
    seen = []
    for earlier, later in time_folds(day, Folds(4, 0.5)):
        assert day[earlier].max() < day[later].min()
        seen.extend(later.tolist())
    assert seen == sorted(set(seen))
    assert len(seen) == 50


def test_a_small_backtest():
    truth = simulate(11, 1200)
    result = backtest(truth.sales, ModelSettings(n_neighbours=0), Folds(2), rivals=(CELL, RIDGE))
    rows = {(r["method"], r["kind"], r["group"]): r for r in result.measures.to_pylist()}
    best, plain = rows[MODEL, "all", "all"], rows[CELL, "all", "all"]
    assert best["male"] < plain["male"]
    assert best["pinball"] < plain["pinball"]
    assert best["n"] == plain["n"] == result.predictions.num_rows // 3
    families = [r["n"] for key, r in rows.items() if key[:2] == (MODEL, "family")]
    assert sum(families) == best["n"]
    mine = result.predictions.filter(
        pa.array([m == MODEL for m in result.predictions.column("method").to_pylist()])
    )
    found = np.concatenate(
        [np.asarray(c.flatten()) for c in mine.column("quantiles").chunks]
    ).reshape(-1, 19)
    price = mine.column("log_price").to_numpy()
    assert best["male"] == pytest.approx(np.abs(found[:, 9] - price).mean())
    assert best["cod"] == pytest.approx(cod(np.exp(found[:, 9]), np.exp(price)))
    inside = (found[:, 1] <= price) & (price <= found[:, 17])
    assert best["coverage_80"] == pytest.approx(inside.mean())


def test_pinball_by_hand():
    assert pinball(np.array([3.0, 1.0]), np.array([2.0, 2.0]), 0.9).tolist() == pytest.approx(
        [0.9, 0.1]
    )


def test_without_dates_there_is_no_backtest():
    with pytest.raises(NotEnoughSales, match="dates"):
        backtest({"log_price": [1.0, 2.0, 3.0]})
