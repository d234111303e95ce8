"""Values out of line, with a score, a reason and the group statistics that explain it.

Prices are judged on their logarithm, inside the finest group that has something to say. A small
group leans on its parent for its centre and its two scales; the two sides have scales of their
own, so that a group with a long dear tail is skewed and not full of errors. MAD = 0 (half the
group at one price) has its own answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import special

from pipeline.statistics.arrays import Bools, Floats, Ints, group_starts, present
from pipeline.statistics.quantiles import QuantileType, quantile

# The normal distribution's upper quartile: a MAD divided by it estimates a standard deviation.
# Scaling by it once is right; by it and by 1.4826 as well is a known mistake.
NORMAL_QUARTILE = float(special.ndtri(0.75))
# Iglewicz & Hoaglin (1993) print 0.6745.
PUBLISHED_MODIFIED_Z_FACTOR = 0.6745
# A mean absolute deviation times this estimates a standard deviation: sqrt(pi / 2).
MEAN_DEVIATION_TO_SD = float(np.sqrt(np.pi / 2))

# Reasons in the order in which they are asked; the first that holds is given.
BELOW_HARD_BOUND = "below_hard_bound"
ABOVE_HARD_BOUND = "above_hard_bound"
FAR_BELOW_GROUP = "far_below_group"
FAR_ABOVE_GROUP = "far_above_group"
REASONS = (BELOW_HARD_BOUND, ABOVE_HARD_BOUND, FAR_BELOW_GROUP, FAR_ABOVE_GROUP)


def modified_z(values: npt.ArrayLike) -> Floats:
    """Modified z-scores 0.6745 (x - median) / MAD (Iglewicz & Hoaglin 1993); beyond 3.5 is far.

    Where MAD is 0 the mean absolute deviation takes its place, (x - median) / (1.2533 mean
    deviation); where all values are equal every score is 0.

    Returns:
        An array of the shape of values; NaN stays NaN.
    """
    x = np.asarray(values, dtype=np.float64)
    there = present(x)
    if there.size == 0:
        return np.full(x.shape, np.nan)
    middle = np.median(there)
    away = np.abs(there - middle)
    mad, mean_deviation = float(np.median(away)), float(away.mean())
    if mad > 0:
        return PUBLISHED_MODIFIED_Z_FACTOR * (x - middle) / mad
    if mean_deviation > 0:
        return (x - middle) / (MEAN_DEVIATION_TO_SD * mean_deviation)
    return np.where(np.isnan(x), np.nan, 0.0)


class ExtremeTest(NamedTuple):
    """A test of the value farthest from the mean: its position, statistic and critical value."""

    position: int
    statistic: float
    critical: float

    @property
    def is_outlier(self) -> bool:
        return self.statistic > self.critical


def _esd_critical(n: int, tail: float) -> float:
    t = float(special.stdtrit(n - 2, 1 - tail / n))
    return (n - 1) * t / float(np.sqrt(n * (n - 2 + t * t)))


def grubbs(
    values: npt.ArrayLike, alpha: float = 0.05, side: Literal["both", "high", "low"] = "both"
) -> ExtremeTest | None:
    """Grubbs' test for one outlier in a normal sample; None where no value differs or n < 3.

    Source: Grubbs (1969), Technometrics 11; NIST/SEMATECH e-Handbook, section 1.3.5.17.1.
    The position counts in `values` without its NaN.

    Args:
        alpha: the level of the test.
        side: whether the outlier sought is the farthest value, the highest or the lowest.
    """
    x = present(values)
    if x.size < 3 or np.ptp(x) == 0:
        return None
    away = (x - x.mean()) / x.std(ddof=1)
    away = {"both": np.abs(away), "high": away, "low": -away}[side]
    far = int(np.argmax(away))
    tail = alpha / 2 if side == "both" else alpha
    return ExtremeTest(far, float(away[far]), _esd_critical(x.size, tail))


@dataclass(frozen=True)
class EsdResult:
    """tests: one a step, the farthest value first; n_outliers: how many of them are outliers."""

    tests: tuple[ExtremeTest, ...]
    n_outliers: int

    @property
    def outliers(self) -> tuple[int, ...]:
        return tuple(test.position for test in self.tests[: self.n_outliers])


def generalised_esd(values: npt.ArrayLike, most: int, alpha: float = 0.05) -> EsdResult:
    """Rosner's generalised ESD test for up to `most` outliers in a normal sample.

    The number of outliers is the LARGEST step whose statistic exceeds its critical value, since
    two outliers may hide each other (Rosner 1983, Technometrics 25; NIST section 1.3.5.17.3).
    Fit for samples of 15 and more. Positions count in `values` without its NaN.
    """
    x = present(values)
    alive = np.arange(x.size)
    tests: list[ExtremeTest] = []
    found = 0
    for step in range(1, most + 1):
        if alive.size < 3:
            break
        rest = x[alive]
        sd = float(rest.std(ddof=1))
        if sd == 0:
            break
        away = np.abs(rest - rest.mean())
        far = int(np.argmax(away))
        test = ExtremeTest(
            int(alive[far]), float(away[far]) / sd, _esd_critical(int(alive.size), alpha / 2)
        )
        tests.append(test)
        if test.is_outlier:
            found = step
        alive = np.delete(alive, far)
    return EsdResult(tuple(tests), found)


class Fences(NamedTuple):
    """Values below `low` or above `high` are out of line."""

    low: float
    high: float


def fences(values: npt.ArrayLike, reach: float = 1.5, kind: QuantileType = 7) -> Fences:
    """Tukey's fences: quartiles -/+ reach interquartile ranges, by the named quantile type."""
    q1, q3 = quantile(values, [0.25, 0.75], kind)
    return Fences(float(q1 - reach * (q3 - q1)), float(q3 + reach * (q3 - q1)))


@dataclass(frozen=True)
class GroupStatistics:
    """What a flag is explained from: one entry a group, in the unit of the values.

    n: values; centre: median; lower_scale, upper_scale: robust standard deviations of either
    side; own_share: how much of them is the group's own (1 where nothing was borrowed).
    Centre and scales are NaN in an empty group.
    """

    n: Ints
    centre: Floats
    lower_scale: Floats
    upper_scale: Floats
    own_share: Floats


def _grouped_median(sorted_values: Floats, starts: Ints) -> Floats:
    n = np.diff(starts)
    out = np.full(n.size, np.nan)
    some = n > 0
    first = starts[:-1][some]
    low, high = first + (n[some] - 1) // 2, first + n[some] // 2
    out[some] = (sorted_values[low] + sorted_values[high]) / 2
    return out


def _side_scale(away: Floats, group: Ints, n_groups: int) -> tuple[Floats, Ints]:
    """Scale of the distances of one side: their median, or their mean where that is 0."""
    order = np.lexsort((away, group))
    starts = group_starts(group[order], n_groups)
    n = np.diff(starts)
    median = _grouped_median(away[order], starts) / NORMAL_QUARTILE
    mean = np.bincount(group, away, n_groups) / np.maximum(n, 1) * MEAN_DEVIATION_TO_SD
    return np.where(median > 0, median, mean), n


def group_statistics(values: Floats, group: Ints, n_groups: int) -> GroupStatistics:
    """Median and two-sided scales (double MAD) of every group, in one pass over sorted values.

    Args:
        values: without NaN; group: of the same length, whole numbers from 0 to n_groups - 1.
    """
    order = np.lexsort((values, group))
    starts = group_starts(group[order], n_groups)
    n = np.diff(starts)
    centre = _grouped_median(values[order], starts)
    away = values - centre[group]
    below, above = away <= 0, away >= 0
    lower, _ = _side_scale(-away[below], group[below], n_groups)
    upper, _ = _side_scale(away[above], group[above], n_groups)
    empty = n == 0
    lower[empty], upper[empty] = np.nan, np.nan
    return GroupStatistics(n, centre, lower, upper, np.where(empty, 0.0, 1.0))


def lean_on_parent(
    own: GroupStatistics,
    parent: GroupStatistics,
    parent_of: Ints,
    *,
    scale_strength: float,
) -> GroupStatistics:
    """Group statistics that borrow from the parent as far as the group itself is too small.

    The centre of a group of n moves to its parent's by v / (v + n t): v is the parent's variance,
    t the variance between the centres of the parent's children beyond what chance explains (a
    robust DerSimonian-Laird, from medians). The logarithm of a scale counts n / 2 own values of
    its side against `scale_strength` of the parent's.

    Args:
        parent_of: for every group its parent's place in `parent`.
        scale_strength: how many values the parent's scale is worth.
    """
    n = own.n.astype(np.float64)
    parent_scale = (parent.lower_scale + parent.upper_scale)[parent_of] / 2
    distance = np.where(own.n > 0, own.centre - parent.centre[parent_of], 0.0)
    # The variance of a median is pi / 2 that of a mean.
    chance = np.pi / 2 * parent_scale**2 / np.maximum(n, 1.0)
    between = _between_children(distance**2, chance, own.n, parent_of, parent.n.size)[parent_of]
    pull = chance / np.maximum(chance + between, np.finfo(np.float64).tiny)
    share = np.where(own.n > 0, 1 - pull, 0.0)
    centre = parent.centre[parent_of] + share * distance

    scale_share = n / 2 / (n / 2 + scale_strength)

    def mix(mine: Floats, theirs: Floats) -> Floats:
        usable = (mine > 0) & (own.n > 1)
        base = theirs[parent_of]
        ratio = np.where(usable & (base > 0), mine, 1.0) / np.where(base > 0, base, 1.0)
        mixed = base * np.where(usable & (base > 0), ratio, 1.0) ** scale_share
        return np.where(base > 0, mixed, np.where(usable, mine, 0.0))

    return GroupStatistics(
        n=own.n,
        centre=centre,
        lower_scale=mix(own.lower_scale, parent.lower_scale),
        upper_scale=mix(own.upper_scale, parent.upper_scale),
        own_share=np.minimum(share, np.where(own.n > 0, scale_share, 0.0)),
    )


def _between_children(
    squares: Floats, chance: Floats, n: Ints, parent_of: Ints, n_parents: int
) -> Floats:
    """Variance between children beyond chance, per parent, pooled over all parents for support."""
    weight = np.where(n > 0, 1.0 / (chance + np.finfo(np.float64).tiny), 0.0)
    weight = np.minimum(weight, 1e12)
    excess = np.where(n > 0, squares - chance, 0.0)
    overall = max(float((weight * excess).sum() / max(weight.sum(), 1e-300)), 0.0)
    mine = np.bincount(parent_of, np.where(n > 0, excess, 0.0), n_parents)
    children = np.bincount(parent_of, (n > 0).astype(np.float64), n_parents)
    # A parent's own view of its children counts as they do, the view from all parents as five.
    return np.maximum((mine + 5 * overall) / (children + 5), 0.0)


@dataclass(frozen=True)
class OutlierSettings:
    """Knobs of `screen`.

    far: scores beyond it are flagged; in robust standard deviations of the side. Iglewicz &
        Hoaglin's 3.5 for a normal sample.
    far_above: the same for the dear side. Wider, since a treasure is worth more to keep than a
        typing error to lose: log prices have the longer tail upwards.
    scale_strength: values that the parent's scale is worth against a group's own.
    least_scale: smallest scale in log units, so that a group sold at one fixed price does not
        flag a difference of a few per cent.
    least_count: groups below it in every level give no flag but the hard bounds.
    """

    far: float = 3.5
    far_above: float = 4.0
    scale_strength: float = 20.0
    least_scale: float = 0.10
    least_count: int = 8


@dataclass(frozen=True)
class Screening:
    """One entry a value. score: signed distance in scales (NaN where nothing could be said);
    reason: a member of REASONS or "" ; group: place in `statistics`, the finest level's.
    statistics: of the finest level after leaning, to be kept with the run.
    """

    score: Floats
    reason: npt.NDArray[np.str_]
    group: Ints
    statistics: GroupStatistics

    @property
    def flagged(self) -> Bools:
        return np.asarray(self.reason != "")


def _parents(fine: Ints, coarse: Ints, n_fine: int) -> Ints:
    parent_of = np.zeros(n_fine, dtype=np.int64)
    parent_of[fine] = coarse
    if not np.array_equal(parent_of[fine], coarse):
        raise ValueError("a group of a finer level lies in two groups of the coarser one")
    return parent_of


def lean_down(
    own: Sequence[GroupStatistics], parent_of: Sequence[Ints], scale_strength: float
) -> GroupStatistics:
    """Lean every level on the one above it, from the whole down; the finest level's statistics.

    Args:
        own: statistics of each level, finest first; the last is the coarsest.
        parent_of: for each level but the last, the place of a group's parent in the next one.
    """
    result = own[-1]
    for level in range(len(own) - 2, -1, -1):
        result = lean_on_parent(own[level], result, parent_of[level], scale_strength=scale_strength)
    return result


def score(values: Floats, group: Ints, statistics: GroupStatistics, least_scale: float) -> Floats:
    """Signed distance from the group's centre, in scales of the side on which the value lies."""
    away = values - statistics.centre[group]
    scale = np.where(away < 0, statistics.lower_scale[group], statistics.upper_scale[group])
    return away / np.maximum(scale, least_scale)


def screen(
    values: npt.ArrayLike,
    levels: Sequence[npt.ArrayLike],
    settings: OutlierSettings | None = None,
    *,
    low_bound: npt.ArrayLike | None = None,
    high_bound: npt.ArrayLike | None = None,
) -> Screening:
    """Flag what lies out of line in its group.

    Args:
        values: logarithms of prices (or residuals of a model), without NaN.
        levels: group numbers from 0, finest level first, each nested in the next; a last level of
            everything together is added by itself.
        low_bound, high_bound: hard bounds, one number or one a value, in the unit of values.

    Raises:
        ValueError: NaN among the values, lengths that differ, levels that are not nested.
    """
    rules = settings if settings is not None else OutlierSettings()
    x = np.asarray(values, dtype=np.float64).ravel()
    if not np.isfinite(x).all():
        raise ValueError("values to be screened are numbers")
    codes = [np.asarray(level, dtype=np.int64).ravel() for level in levels]
    codes.append(np.zeros(x.size, dtype=np.int64))
    if any(code.size != x.size for code in codes):
        raise ValueError("every level has one group a value")
    sizes = [int(code.max()) + 1 if code.size else 1 for code in codes]
    own = [group_statistics(x, code, size) for code, size in zip(codes, sizes, strict=True)]
    parent_of = [_parents(codes[i], codes[i + 1], sizes[i]) for i in range(len(codes) - 1)]
    statistics = lean_down(own, parent_of, rules.scale_strength)
    scores = score(x, codes[0], statistics, rules.least_scale)

    enough = np.zeros(x.size, dtype=bool)
    for code, one in zip(codes, own, strict=True):
        enough |= one.n[code] >= rules.least_count
    scores = np.where(enough, scores, np.nan)
    low = np.full(x.size, -np.inf) if low_bound is None else np.broadcast_to(low_bound, x.shape)
    high = np.full(x.size, np.inf) if high_bound is None else np.broadcast_to(high_bound, x.shape)
    reason = np.select(
        [x < low, x > high, enough & (scores < -rules.far), enough & (scores > rules.far_above)],
        list(REASONS),
        default="",
    )
    return Screening(scores, reason, codes[0], statistics)
