"""Partial pooling against the classic published examples."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.statistics import pooling as p

HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
# Averages of the rest of the season, Efron & Morris (1977), table; from memory.
REST = [.346, .298, .276, .222, .273, .270, .263, .210, .269, .230, .264, .256, .303, .264, .226,
        .286, .316, .200]  # fmt: skip
# Colditz et al. (1994), 13 trials of the BCG vaccine: log risk ratios and variances.
BCG = [-.8893, -1.5854, -1.3481, -1.4416, -.2175, -.7861, -1.6209, .0120, -.4694, -1.3713, -.3394,
       .4459, -.0173]  # fmt: skip
BCG_VARIANCE = [.3256, .1946, .4154, .0200, .0512, .0069, .2230, .0040, .0564, .0730, .0124, .5325,
                .0714]  # fmt: skip
# The same trials' counts (ill and well, vaccinated and not), from memory; they are used because
# four decimals of a variance of .004 are too few, and are checked against the figures above.
BCG_COUNTS = """4 119 11 128, 6 300 29 274, 3 228 11 209, 62 13536 248 12619, 33 5036 47 5761,
180 1361 372 1079, 8 2537 10 619, 505 87886 499 87892, 29 7470 45 7232, 17 1699 65 1600,
186 50448 141 27197, 5 2493 3 2338, 27 16886 29 17825"""
# Rubin (1981), eight schools.
SCHOOLS = [28.39, 7.94, -2.75, 6.82, -0.64, 0.63, 18.01, 12.16]
SCHOOLS_SE = [14.9, 10.2, 16.3, 11.0, 9.4, 11.4, 10.4, 17.6]


def test_baseball():
    """Efron & Morris (1975, 1977): shrink factor .212, and the shrunk averages as printed."""
    average = np.array(HITS) / 45
    mean = average.mean()
    result = p.james_stein(average, mean * (1 - mean) / 45)
    assert result.mean == pytest.approx(0.265, abs=5e-4)
    assert result.own_share[0] == pytest.approx(0.211653, abs=5e-7)
    assert np.round(result.values, 3).tolist() == [
        .294, .289, .285, .280, .275, .275, .270, .266, .261, .261, .256, .256, .256, .256, .256,
        .252, .247, .242]  # fmt: skip


def test_baseball_errors():
    """Efron & Morris (1977): squared errors .07537 raw and .02131 shrunk."""
    average = np.array(HITS) / 45
    result = p.james_stein(average, average.mean() * (1 - average.mean()) / 45)
    raw = ((average - REST) ** 2).sum()
    shrunk = ((result.values - REST) ** 2).sum()
    assert raw == pytest.approx(0.0755, abs=5e-4)
    assert shrunk == pytest.approx(0.0214, abs=5e-4)


def test_bcg_vaccine():
    """Colditz (1994) as worked in the literature: fixed, DerSimonian-Laird and REML."""
    a, b, c, d = np.array([row.split() for row in BCG_COUNTS.split(",")], dtype=float).T
    ratio = np.log(a / (a + b) / (c / (c + d)))
    variance = 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)
    assert ratio == pytest.approx(BCG, abs=6e-5)
    assert variance == pytest.approx(BCG_VARIANCE, abs=6e-5)
    fixed = p.fixed_effect(ratio, variance)
    assert fixed.mean == pytest.approx(-0.4303, abs=6e-5)
    assert fixed.heterogeneity == pytest.approx(152.233, abs=6e-4)
    moments = p.dersimonian_laird(ratio, variance)
    assert moments.between == pytest.approx(0.3088, abs=6e-5)
    assert (moments.mean, moments.standard_error) == pytest.approx((-0.7141, 0.1787), abs=6e-5)
    likely = p.reml(ratio, variance)
    assert likely.between == pytest.approx(0.3132, abs=6e-5)
    assert (likely.mean, likely.standard_error) == pytest.approx((-0.7145, 0.1798), abs=6e-5)


@pytest.mark.parametrize("method", [p.dersimonian_laird, p.reml])
def test_eight_schools_have_no_spread_of_their_own(method):
    """Rubin (1981): pooled 7.87 (4.17); tau^2 is cut off at 0 by both methods."""
    result = method(SCHOOLS, np.square(SCHOOLS_SE))
    assert result.between == 0
    assert (result.mean, result.standard_error) == pytest.approx((7.87, 4.17), abs=5e-3)
    assert result.values == pytest.approx(np.full(8, result.mean))


def test_reml_agrees_with_its_likelihood():
    """The restricted likelihood, maximised on a grid, as the reference."""
    y, v = np.array(BCG), np.array(BCG_VARIANCE)

    def restricted(t: float) -> float:
        w = 1 / (v + t)
        mean = (w * y).sum() / w.sum()
        return -0.5 * (np.log(v + t).sum() + np.log(w.sum()) + (w * (y - mean) ** 2).sum())

    grid = np.linspace(0.25, 0.4, 15001)
    best = grid[np.argmax([restricted(t) for t in grid])]
    assert p.reml(y, v).between == pytest.approx(best, abs=2e-5)


def test_bad_estimates_are_refused():
    with pytest.raises(ValueError, match="two estimates"):
        p.reml([1.0], [1.0])
    with pytest.raises(ValueError, match="above zero"):
        p.fixed_effect([1.0, 2.0], [1.0, 0.0])
    with pytest.raises(ValueError, match="four"):
        p.james_stein([1.0, 2.0, 3.0], 1.0)


def test_equal_estimates():
    result = p.james_stein([2.0] * 5, 1.0)
    assert result.own_share.tolist() == [0.0] * 5
