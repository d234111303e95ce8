"""Ratio studies: estimates held against the prices that were realised.

Measures and names follow the IAAO, "Standard on Ratio Studies" (April 2013): A is the estimate,
S the sale price and r = A / S the ratio.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from pipeline.statistics.arrays import Floats, paired, present

# Under so many pairs the price-related differential is too wild to read: a rank correlation of
# ratio and price takes its place (Indiana, 50 IAC 27-4-5).
LEAST_PAIRS_FOR_PRD = 20


@dataclass(frozen=True)
class RankCorrelation:
    """Spearman's rank correlation (-1 to 1) with its two-sided p-value (NaN under 3 pairs)."""

    value: float
    p_value: float
    n: int


@dataclass(frozen=True)
class Slope:
    """A slope with its standard error and the ends of its interval (NaN under 3 pairs)."""

    value: float
    standard_error: float
    low: float
    high: float


@dataclass(frozen=True)
class RatioStudy:
    """All measures of one study. Every field but the counts is NaN where it cannot be had.

    cod: coefficient of dispersion, per cent. prd: price-related differential. prb: price-related
    bias with its interval. rank: the rank correlation that stands in for prd under 20 pairs, and
    is None from there on.
    """

    n: int
    median_ratio: float
    mean_ratio: float
    weighted_mean_ratio: float
    cod: float
    prd: float
    prb: Slope
    rank: RankCorrelation | None


def _pairs(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> tuple[Floats, Floats]:
    estimate, price = paired(estimates, prices)
    if (price <= 0).any() or (estimate <= 0).any():
        raise ValueError("a ratio study takes estimates and prices above zero")
    return estimate, price


def ratios(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> Floats:
    """Estimate over price, pair by pair; pairs of which one half is NaN are left out.

    Raises:
        ValueError: lengths differ, or an estimate or a price is not above zero.
    """
    estimate, price = _pairs(estimates, prices)
    return estimate / price


def median_ratio(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> float:
    """The median of the ratios; NaN without pairs."""
    r = ratios(estimates, prices)
    return float(np.median(r)) if r.size else float("nan")


def weighted_mean_ratio(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> float:
    """Sum of estimates over sum of prices; NaN without pairs."""
    estimate, price = _pairs(estimates, prices)
    return float(estimate.sum() / price.sum()) if price.size else float("nan")


def dispersion(ratio: npt.ArrayLike) -> float:
    """Coefficient of dispersion (COD) of given ratios: 100 mean |r - median| / median, per cent."""
    r = present(ratio)
    if r.size == 0:
        return float("nan")
    middle = float(np.median(r))
    return float(100 * np.abs(r - middle).mean() / middle)


def cod(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> float:
    """Coefficient of dispersion, per cent; the mean divides by n."""
    return dispersion(ratios(estimates, prices))


def prd(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> float:
    """Price-related differential: mean ratio over weighted mean ratio; 0.98 to 1.03 is usual.

    Above 1 dear pieces are estimated lower than cheap ones.
    """
    r = ratios(estimates, prices)
    return float(r.mean() / weighted_mean_ratio(estimates, prices)) if r.size else float("nan")


def prb(estimates: npt.ArrayLike, prices: npt.ArrayLike, level: float = 0.95) -> Slope:
    """Price-related bias: the change of the ratio, as a share of its median, per doubling of value.

    The slope of (r - median) / median on log2 of half of (S + A / median), by least squares;
    -.05 to .05 is usual.
    """
    estimate, price = _pairs(estimates, prices)
    n = price.size
    nan = float("nan")
    if n < 2:
        return Slope(nan, nan, nan, nan)
    r = estimate / price
    middle = float(np.median(r))
    value = np.log2((price + estimate / middle) / 2)
    share = (r - middle) / middle
    centred = value - value.mean()
    spread = float(centred @ centred)
    if spread <= 0:
        return Slope(nan, nan, nan, nan)
    slope = float(centred @ share) / spread
    if n < 3:
        return Slope(slope, nan, nan, nan)
    rest = share - share.mean() - slope * centred
    error = float(np.sqrt(rest @ rest / (n - 2) / spread))
    reach = float(special.stdtrit(n - 2, (1 + level) / 2)) * error
    return Slope(slope, error, slope - reach, slope + reach)


def _ranks(values: Floats) -> Floats:
    """Ranks from 1, ties sharing the mean of theirs."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    return np.asarray((last - (counts - 1) / 2)[inverse], dtype=np.float64)


def rank_correlation(first: npt.ArrayLike, second: npt.ArrayLike) -> RankCorrelation:
    """Spearman's rank correlation, ties by mean rank, p-value by Student's t on n - 2."""
    x, y = paired(first, second)
    n = x.size
    nan = float("nan")
    if n < 2:
        return RankCorrelation(nan, nan, n)
    a, b = _ranks(x), _ranks(y)
    a, b = a - a.mean(), b - b.mean()
    scale = float(np.sqrt((a @ a) * (b @ b)))
    if scale == 0:
        return RankCorrelation(nan, nan, n)
    rho = float(np.clip(a @ b / scale, -1, 1))
    if n < 3:
        return RankCorrelation(rho, nan, n)
    if abs(rho) == 1:
        return RankCorrelation(rho, 0.0, n)
    t = rho * np.sqrt((n - 2) / (1 - rho**2))
    return RankCorrelation(rho, float(2 * special.stdtr(n - 2, -abs(t))), n)


def ratio_study(estimates: npt.ArrayLike, prices: npt.ArrayLike) -> RatioStudy:
    """Every measure of one study at once.

    Args:
        estimates, prices: one length, one unit of money; pairs with NaN are left out.

    Raises:
        ValueError: lengths differ, or an estimate or a price is not above zero.
    """
    estimate, price = _pairs(estimates, prices)
    r = estimate / price
    few = r.size < LEAST_PAIRS_FOR_PRD
    return RatioStudy(
        n=int(r.size),
        median_ratio=median_ratio(estimate, price),
        mean_ratio=float(r.mean()) if r.size else float("nan"),
        weighted_mean_ratio=weighted_mean_ratio(estimate, price),
        cod=cod(estimate, price),
        prd=prd(estimate, price),
        prb=prb(estimate, price),
        rank=rank_correlation(r, price) if few else None,
    )
