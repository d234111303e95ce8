"""A price index from pieces that were sold more than once.

Bailey, Muth & Nourse (1963), "A Regression Method for Real Estate Price Index Construction",
Journal of the American Statistical Association 58: the log ratio of two prices of one piece is
regressed on the two periods. What the piece is cancels out, so nothing about it need be known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from pipeline.statistics.arrays import Bools, Floats, Ints


@dataclass(frozen=True)
class RepeatSalesIndex:
    """One entry a period, from 0.

    log_index: logarithm of the index (base period 0). standard_error: of log_index, in log units.
    index, low, high: the index and its interval, base 1. All are NaN in a period that no chain of
    resales ties to the base; the interval is NaN, too, where no degree of freedom is left.
    n_pairs: pairs of sales that touch the period. residual_sd: log units, of one pair.
    """

    log_index: Floats
    standard_error: Floats
    index: Floats
    low: Floats
    high: Floats
    n_pairs: Ints
    tied: Bools
    residual_sd: float
    degrees_of_freedom: int


def repeat_sales_index(
    first_period: npt.ArrayLike,
    second_period: npt.ArrayLike,
    first_price: npt.ArrayLike,
    second_price: npt.ArrayLike,
    *,
    n_periods: int | None = None,
    base: int = 0,
    level: float = 0.95,
) -> RepeatSalesIndex:
    """The index by period, with an interval, from pairs of sales of one piece.

    Args:
        first_period, second_period: whole numbers from 0; a pair within one period says nothing
            and is left out.
        first_price, second_price: above zero, one currency and basis.
        n_periods: how many periods there are; one more than the last seen if None.
        base: the period whose index is 1.
        level: of the interval.

    Raises:
        ValueError: lengths differ, a price is not above zero, a period lies outside.
    """
    start = np.asarray(first_period, dtype=np.int64).ravel()
    end = np.asarray(second_period, dtype=np.int64).ravel()
    before = np.asarray(first_price, dtype=np.float64).ravel()
    after = np.asarray(second_price, dtype=np.float64).ravel()
    if not start.shape == end.shape == before.shape == after.shape:
        raise ValueError("a pair has two periods and two prices")
    if not ((before > 0) & (after > 0) & np.isfinite(before) & np.isfinite(after)).all():
        raise ValueError("prices of a pair are above zero")
    size = n_periods if n_periods is not None else int(max(start.max(), end.max(), base)) + 1
    if start.size and (min(start.min(), end.min()) < 0 or max(start.max(), end.max()) >= size):
        raise ValueError(f"a period lies outside 0 to {size - 1}")
    if not 0 <= base < size:
        raise ValueError(f"the base lies outside 0 to {size - 1}")
    moved = start != end
    start, end = start[moved], end[moved]
    growth = np.log(after[moved]) - np.log(before[moved])

    graph = coo_array((np.ones(start.size), (start, end)), shape=(size, size)).tocsr()
    _, component = connected_components(graph, directed=False)
    tied = component == component[base]
    inside = tied[start]
    start, end, growth = start[inside], end[inside], growth[inside]

    free = np.flatnonzero(tied & (np.arange(size) != base))
    place = np.full(size, -1)
    place[free] = np.arange(free.size)
    normal = np.zeros((size, size))
    np.add.at(normal, (start, start), 1.0)
    np.add.at(normal, (end, end), 1.0)
    np.add.at(normal, (start, end), -1.0)
    np.add.at(normal, (end, start), -1.0)
    right = np.bincount(end, growth, size) - np.bincount(start, growth, size)

    log_index = np.full(size, np.nan)
    error = np.full(size, np.nan)
    log_index[base], error[base] = 0.0, 0.0
    degrees = int(growth.size - free.size)
    residual_sd = float("nan")
    if free.size:
        inverse = np.linalg.inv(normal[np.ix_(free, free)])
        log_index[free] = inverse @ right[free]
        rest = growth - (log_index[end] - log_index[start])
        if degrees > 0:
            residual_sd = float(np.sqrt(rest @ rest / degrees))
            error[free] = residual_sd * np.sqrt(np.diag(inverse))
    reach = float(special.stdtrit(degrees, (1 + level) / 2)) if degrees > 0 else float("nan")
    width = np.where(error == 0, 0.0, reach * error)
    return RepeatSalesIndex(
        log_index=log_index,
        standard_error=error,
        index=np.exp(log_index),
        low=np.exp(log_index - width),
        high=np.exp(log_index + width),
        n_pairs=np.bincount(start, minlength=size) + np.bincount(end, minlength=size),
        tied=tied,
        residual_sd=residual_sd,
        degrees_of_freedom=degrees,
    )
