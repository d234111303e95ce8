"""Quantiles, and what a sample can say about them without assuming a distribution.

Every quantile names its definition, because a P90 of eight prices moves by half with it.
Type numbers are those of Hyndman & Fan (1996), "Sample Quantiles in Statistical Packages",
The American Statistician 50(4). NaN is missing and left out; no value at all gives NaN.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from pipeline.statistics.arrays import Floats, Ints, paired, present

QuantileType = Literal[1, 2, 3, 4, 5, 6, 7, 8, 9]
WeightedType = Literal[1, 2, 7]

# Plotting positions p_k = (k - a) / (n + 1 - a - b) of the continuous types, Hyndman & Fan table 1.
_POSITIONS: dict[int, tuple[float, float]] = {
    4: (0.0, 1.0),
    5: (0.5, 0.5),
    6: (0.0, 0.0),
    7: (1.0, 1.0),
    8: (1 / 3, 1 / 3),
    9: (3 / 8, 3 / 8),
}
# n * p is computed in binary: 10 * 0.3 must count as exactly 3.
_FUZZ = 4 * float(np.finfo(np.float64).eps)


class Interval(NamedTuple):
    """An interval between two observed values.

    low, high: in the unit of the values; coverage: the true probability, at least the one asked.
    """

    low: float
    high: float
    coverage: float


class Ranks(NamedTuple):
    """Ranks (from 1) whose order statistics enclose a quantile; 0 where no such interval exists."""

    low: Ints
    high: Ints
    coverage: Floats


def _probabilities(p: npt.ArrayLike) -> Floats:
    shares = np.asarray(p, dtype=np.float64)
    if np.isnan(shares).any() or (shares < 0).any() or (shares > 1).any():
        raise ValueError("a quantile's share lies between 0 and 1")
    return shares


def _floor_with_fuzz(position: Floats, n: int) -> tuple[Floats, Floats]:
    """Whole part and rest of a position, where a rest within rounding error of 0 or 1 is none."""
    tolerance = _FUZZ * max(n, 1)
    whole = np.floor(position + tolerance)
    rest = position - whole
    rest[np.abs(rest) < tolerance] = 0.0
    return whole, rest


def quantile(values: npt.ArrayLike, p: npt.ArrayLike, kind: QuantileType = 7) -> Floats:
    """Quantiles by one of the nine definitions of Hyndman & Fan (1996).

    Args:
        values: any shape, flattened; NaN is left out.
        p: a share or an array of shares between 0 and 1.
        kind: 1 (a value that occurred, the inverse of the distribution) to 9; 7 is the usual
            linear one of spreadsheets and of DuckDB's `quantile_cont`, 1 its `quantile_disc`.

    Returns:
        An array of p's shape (a 0-d array for one share), in the unit of the values.

    Raises:
        ValueError: a share outside 0 to 1, an unknown kind, an infinite value.
    """
    shares = _probabilities(p)
    x = np.sort(present(values))
    n = x.size
    if n == 0:
        return np.full(shares.shape, np.nan)
    flat = shares.ravel()
    if kind in (1, 2, 3):
        position = n * flat - (0.5 if kind == 3 else 0.0)
        whole, rest = _floor_with_fuzz(position, n)
        if kind == 1:
            gamma = np.where(rest > 0, 1.0, 0.0)
        elif kind == 2:
            gamma = np.where(rest > 0, 1.0, 0.5)
        else:
            gamma = np.where((rest == 0) & (whole % 2 == 0), 0.0, 1.0)
    elif kind in _POSITIONS:
        a, b = _POSITIONS[kind]
        whole, gamma = _floor_with_fuzz(a + flat * (n + 1 - a - b), n)
    else:
        raise ValueError(f"{kind} is not one of the nine quantile types")
    lower = np.clip(whole, 1, n).astype(np.int64) - 1
    upper = np.clip(whole + 1, 1, n).astype(np.int64) - 1
    result = np.where(gamma == 0, x[lower], x[lower] + gamma * (x[upper] - x[lower]))
    result = np.where(gamma == 1, x[upper], result)
    return result.reshape(shares.shape)


def quantile_interval_ranks(n: npt.ArrayLike, p: float, level: float = 0.95) -> Ranks:
    """Ranks of the order statistics that enclose a quantile whatever the distribution.

    The count of values below the p quantile is binomial (n, p); each tail outside the interval
    holds at most half of 1 - level (David & Nagaraja, "Order Statistics", section 7.1).

    Args:
        n: a count or an array of counts.
        p: the quantile's share, strictly between 0 and 1.
        level: the least coverage asked, strictly between 0 and 1.

    Returns:
        Arrays of n's shape; low and high are 0 and coverage NaN where n is too small.
    """
    if not 0 < p < 1 or not 0 < level < 1:
        raise ValueError("a share and a level lie strictly between 0 and 1")
    counts = np.atleast_1d(np.asarray(n, dtype=np.int64))
    if (counts < 0).any():
        raise ValueError("a count is not negative")
    tail = (1 - level) / 2
    low = _largest_rank_within(counts, p, tail)
    high = counts + 1 - _largest_rank_within(counts, 1 - p, tail)
    found = (low >= 1) & (high <= counts) & (low <= high)
    low, high = np.where(found, low, 0), np.where(found, high, 0)
    coverage = np.full(counts.shape, np.nan)
    coverage[found] = _at_most(high[found] - 1, counts[found], p) - _at_most(
        low[found] - 1, counts[found], p
    )
    shape = np.shape(n)
    return Ranks(low.reshape(shape), high.reshape(shape), coverage.reshape(shape))


def _at_most(k: Ints, n: Ints, p: float) -> Floats:
    """P(Binomial(n, p) <= k), for k from -1 to n."""
    from scipy import special

    inside = special.betainc(np.maximum(n - k, 1), np.maximum(k, 0) + 1.0, 1 - p)
    return np.where(k < 0, 0.0, np.where(k >= n, 1.0, inside))


def _largest_rank_within(n: Ints, p: float, tail: float) -> Ints:
    """The largest rank r with P(Binomial(n, p) <= r - 1) at most `tail`; 0 where even 1 is not."""
    below, above = np.zeros_like(n), n + 1
    while ((above - below) > 1).any():
        middle = (below + above) // 2
        fits = _at_most(middle - 1, n, p) <= tail * (1 + 1e-12)
        below, above = np.where(fits, middle, below), np.where(fits, above, middle)
    return below


def median_interval_ranks(n: npt.ArrayLike, level: float = 0.95) -> Ranks:
    """Ranks of the order statistics that enclose the median: see `quantile_interval_ranks`.

    For n = 20 at 95 %: (6, 15), coverage .9586. Under 6 values no 95 % interval exists, under 5
    no 90 % one: the ranks are 0.
    """
    return quantile_interval_ranks(n, 0.5, level)


def quantile_interval(values: npt.ArrayLike, p: float, level: float = 0.95) -> Interval | None:
    """A distribution-free interval for the p quantile; None where n is too small for one."""
    x = np.sort(present(values))
    ranks = quantile_interval_ranks(x.size, p, level)
    if int(ranks.low) == 0:
        return None
    return Interval(
        float(x[int(ranks.low) - 1]), float(x[int(ranks.high) - 1]), float(ranks.coverage)
    )


def median_interval(values: npt.ArrayLike, level: float = 0.95) -> Interval | None:
    """A distribution-free interval for the median; None where n is too small for one."""
    return quantile_interval(values, 0.5, level)


def bounds_quantile(n: npt.ArrayLike, p: float, confidence: float = 0.95) -> npt.NDArray[np.bool_]:
    """Whether the extreme of n values lies beyond the p quantile with the confidence asked.

    For p of a half and more the largest value bounds it from above, below a half the smallest
    from below (Wilks 1941, "Determination of sample sizes for setting tolerance limits").
    A P75 is bounded from 11 values, a P90 from 29 (95 %).
    """
    counts = np.asarray(n, dtype=np.float64)
    return np.asarray(1 - max(p, 1 - p) ** counts >= confidence)


def least_count_that_bounds(p: float, confidence: float = 0.95) -> int:
    """The smallest n for which `bounds_quantile` holds."""
    if not 0 < p < 1 or not 0 < confidence < 1:
        raise ValueError("a share and a confidence lie strictly between 0 and 1")
    n = int(np.ceil(np.log1p(-confidence) / np.log(max(p, 1 - p))))
    while n > 1 and bool(bounds_quantile(n - 1, p, confidence)):
        n -= 1
    return n


def harrell_davis(values: npt.ArrayLike, p: npt.ArrayLike) -> Floats:
    """Quantiles as a weighted mean of all order statistics (Harrell & Davis 1982, Biometrika 69).

    Smoother than one or two order statistics, and not robust: one wild price moves all of them.

    Returns:
        An array of p's shape, in the unit of the values.
    """
    shares = _probabilities(p)
    x = np.sort(present(values))
    n = x.size
    if n == 0:
        return np.full(shares.shape, np.nan)
    from scipy import special

    edges = np.arange(n + 1) / n
    out = np.empty(shares.size)
    for i, share in enumerate(shares.ravel()):
        if share in (0.0, 1.0):
            out[i] = x[0] if share == 0.0 else x[-1]
            continue
        weights = np.diff(special.betainc((n + 1) * share, (n + 1) * (1 - share), edges))
        out[i] = float(weights @ x)
    return out.reshape(shares.shape)


def weighted_quantile(
    values: npt.ArrayLike, weights: npt.ArrayLike, p: npt.ArrayLike, kind: WeightedType = 1
) -> Floats:
    """Quantiles of weighted values, by a stated definition.

    With cumulative weight C_k of the values in order and total W:

    - 1: the smallest value with C_k >= p W. Right for any weights, and always a value that
      occurred; at a half it is the lower weighted median.
    - 2: as 1, but the mean of it and the next one where C_k = p W exactly.
    - 7: weights are counts: type 7 of Hyndman & Fan on every value repeated so often; between
      counts the position 1 + (W - 1) p is read off the same step function.

    Of 1 2 3 4 with weights 1 1 1 5 the lower quartile is 2, 2.5 and 2.75.

    Args:
        values, weights: one length; weights are not negative and not all zero.
        p: a share or an array of shares.

    Returns:
        An array of p's shape; NaN where no value has weight.

    Raises:
        ValueError: a negative weight, lengths that differ, an unknown kind.
    """
    shares = _probabilities(p)
    x, w = paired(values, weights)
    if (w < 0).any():
        raise ValueError("a weight is not negative")
    keep = w > 0
    x, w = x[keep], w[keep]
    if x.size == 0:
        return np.full(shares.shape, np.nan)
    order = np.argsort(x, kind="stable")
    x, cumulative = x[order], np.cumsum(w[order])
    total = cumulative[-1]
    fuzz = _FUZZ * x.size * total

    def first_reaching(target: Floats) -> Floats:
        at = np.searchsorted(cumulative, target - fuzz, side="left")
        return x[np.minimum(at, x.size - 1)]

    flat = shares.ravel()
    if kind == 1:
        out = first_reaching(flat * total)
    elif kind == 2:
        out = (first_reaching(flat * total) + first_reaching(flat * total + 2 * fuzz)) / 2
    elif kind == 7:
        position = 1 + (total - 1) * flat
        whole, rest = _floor_with_fuzz(np.atleast_1d(position), x.size)
        below, above = first_reaching(whole), first_reaching(np.minimum(whole + 1, total))
        out = below + rest * (above - below)
    else:
        raise ValueError(f"{kind} is not a definition of a weighted quantile (1, 2 or 7)")
    return out.reshape(shares.shape)


def effective_count(weights: npt.ArrayLike) -> float:
    """Kish's effective sample size (sum w)^2 / sum w^2: what so many weighted values are worth."""
    w = present(weights)
    squares = float(w @ w)
    return float(w.sum()) ** 2 / squares if squares > 0 else 0.0
