"""The quick back-test of held-back sales, on errors whose law is known."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.calibration import LEAST_JUDGED, quick_backtest
from pipeline.statistics.ranges import HeldBack


def held_back(
    seed: int, n: int = 1600, *, newer_scale: float = 1.0, newer_shift: float = 0.0
) -> HeldBack:
    """Normal errors of the width stated; those of the newer half scaled or shifted."""
    rng = np.random.default_rng(seed)
    width = rng.choice([0.2, 0.5], n)
    newer = np.arange(n) >= n // 2
    error = rng.normal(size=n) * width * np.where(newer, newer_scale, 1.0)
    error += np.where(newer, newer_shift, 0.0)
    centre = rng.normal(4, 1, n)
    return HeldBack(
        np.arange(float(n)), centre + error, centre, width, rng.integers(0, 3, n),
        tuple(rng.choice(["clock", "lamp"], n)),
    )  # fmt: skip


def test_ranges_that_hold_are_not_off_and_hold() -> None:
    """200 seeds: false alarms at most the 1 % stated, within Monte Carlo error (4 at 95 %)."""
    covered, alarms = [], 0
    for seed in range(200):
        found = quick_backtest(held_back(seed), 0.5)
        alarms += bool(np.any(found["is_off"].to_numpy(zero_copy_only=False)))
        covered.append(found["coverage_80"][0].as_py())
    assert alarms <= 5
    assert np.mean(covered) == pytest.approx(0.8, abs=0.005)


@pytest.mark.parametrize(
    "change", [{"newer_scale": 1.6}, {"newer_scale": 0.5}, {"newer_shift": 0.3}]
)
def test_ranges_that_drift_are_told(change: dict[str, float]) -> None:
    found = quick_backtest(held_back(3, **change), 0.5)
    whole = found.to_pylist()[0]
    assert (whole["kind"], whole["is_off"]) == ("all", True)


def test_counts_and_measures_by_hand() -> None:
    held = held_back(5)
    rows = {(r["kind"], r["group"]): r for r in quick_backtest(held, 0.0).to_pylist()}
    newer = slice(800, None)
    whole = rows["all", "all"]
    assert (whole["n"], whole["n_learned_from"]) == (800, 800)
    assert sum(r["n"] for (kind, _), r in rows.items() if kind == "family") == 800
    error = (held.log_price - held.centre)[newer]
    assert whole["male"] == pytest.approx(np.abs(error).mean())
    assert whole["share_below"] == pytest.approx((error < 0).mean())


def test_too_few_are_not_judged() -> None:
    assert quick_backtest(held_back(1, 2 * LEAST_JUDGED - 2), 0.5).num_rows == 0
    one_day = held_back(1, 400)
    one_day.day[:] = 7.0
    assert quick_backtest(one_day, 0.5).num_rows == 0
