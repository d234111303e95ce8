"""The repeat-sales index against a constructed case, least squares and known truth."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics.repeat_sales import repeat_sales_index


def test_three_sales_between_three_periods():
    """Constructed: 0 to 1 100 to 120, 1 to 2 100 to 110, 0 to 2 100 to 121."""
    index = repeat_sales_index([0, 1, 0], [1, 2, 2], [100, 100, 100], [120, 110, 121])
    assert index.index == pytest.approx([1, 1.1656953, 1.2456085], abs=5e-8)
    assert index.degrees_of_freedom == 1
    assert (index.low[1:] < index.index[1:]).all()
    assert index.low[0] == index.high[0] == 1


def simulated(seed: int, n: int = 400) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    truth = np.concatenate([[0.0], np.cumsum(rng.normal(0.02, 0.05, 11))])
    start = rng.integers(0, 11, n)
    end = start + 1 + (rng.random(n) * (11 - start)).astype(int)
    before = rng.lognormal(4, 1, n)
    after = before * np.exp(truth[end] - truth[start] + rng.normal(0, 0.3, n))
    return truth, start, end, before, after


def test_agrees_with_least_squares():
    """statsmodels OLS on the design of Bailey, Muth & Nourse: values, errors and intervals."""
    statsmodels = pytest.importorskip("statsmodels.api")
    _, start, end, before, after = simulated(1)
    design = np.zeros((start.size, 12))
    design[np.arange(start.size), start] -= 1
    design[np.arange(start.size), end] += 1
    fit = statsmodels.OLS(np.log(after / before), design[:, 1:]).fit()
    index = repeat_sales_index(start, end, before, after)
    assert index.log_index[1:] == pytest.approx(fit.params, abs=1e-10)
    assert index.standard_error[1:] == pytest.approx(fit.bse, abs=1e-10)
    assert np.log(index.low[1:]) == pytest.approx(fit.conf_int()[:, 0], abs=1e-9)
    assert index.residual_sd == pytest.approx(np.sqrt(fit.scale))


def test_intervals_hold_on_known_truth():
    """200 seeds: the 95 % intervals hold the true index within Monte Carlo error."""
    held = []
    for seed in range(200):
        truth, start, end, before, after = simulated(seed, 120)
        index = repeat_sales_index(start, end, before, after, n_periods=12)
        inside = (np.log(index.low) <= truth) & (truth <= np.log(index.high))
        held.append(inside[1:][index.tied[1:]].mean())
    assert np.mean(held) == pytest.approx(0.95, abs=0.015)


def test_a_period_that_no_resale_ties_to_the_base_has_no_index():
    index = repeat_sales_index([0, 3], [1, 4], [10, 10], [20, 30], n_periods=6)
    assert index.tied.tolist() == [True, True, False, False, False, False]
    assert np.isnan(index.index[2:]).all()
    assert index.index[1] == pytest.approx(2)
    assert np.isnan(index.low[1])


def test_another_base_only_moves_the_level():
    _, start, end, before, after = simulated(2)
    first = repeat_sales_index(start, end, before, after)
    third = repeat_sales_index(start, end, before, after, base=3)
    assert np.diff(first.log_index) == pytest.approx(np.diff(third.log_index))
    assert third.index[3] == 1


def test_bad_pairs_are_refused():
    with pytest.raises(ValueError, match="above zero"):
        repeat_sales_index([0], [1], [0], [1])
    with pytest.raises(ValueError, match="outside"):
        repeat_sales_index([0], [5], [1], [1], n_periods=3)
    with pytest.raises(ValueError, match="two periods"):
        repeat_sales_index([0, 1], [5], [1], [1])


def test_nothing_sold_twice():
    index = repeat_sales_index([], [], [], [], n_periods=3)
    assert index.index[0] == 1
    assert np.isnan(index.index[1:]).all()
