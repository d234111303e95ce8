"""Sales as a sparse matrix of features that people can read: one column, one named effect.

The same columns serve three levels: shared by all, departures of a family, departures of a
category. Which group of columns lives on which level, and how its effects hang together, is said
by `Group`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
import pyarrow as pa

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Bools, Floats, Ints
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.usual_measures import log_of, shares_untold, usual_logs, usual_measures
from pipeline.statistics.usual_words import tells_within, usual_words
from pipeline.statistics.words import TitleIndex, choose_words

DAYS_IN_YEAR = 365.25
SHARED, FAMILY, CATEGORY = 0, 1, 2
# Terms whose effects all scale together, more in one category and less in another.
CONDITION, FAULT = "condition", "fault"
SEVERITY = " severity"
# Faults stand for a worse condition too, where none is told.
FAULT_ALONE = "fault alone"
# With more measures than this, families keep slopes of their own but share the curves.
_MOST_FAMILY_CURVES = 8
_COARSE_KNOTS = 8
# Words are chosen among so many times as many; those that only name the category are passed over.
_WORDS_LOOKED_AT = 2
# Sales per knot of a curve, so that a short list of sales has a short curve.
_SALES_PER_KNOT = 25


@dataclass(frozen=True)
class Group:
    """Columns whose effects are of one kind.

    name: as shown; columns start to stop - 1. kind: "fixed" (no shrinkage where shared), "iid"
    (shrunk to zero), "walk" (neighbours in order stay close, shrunk to the anchor). levels: on
    which of the three levels the group has effects. spacing: of a walk, lengths of its steps;
    anchor: after which column the walk's zero lies (0: before the first). reference: of terms that
    exclude each other, the column of the most frequent one, from whose effect a family and a
    category depart by the others alone; else their level would lie on all their terms. -1: none.
    """

    name: str
    start: int
    stop: int
    kind: str
    levels: tuple[bool, bool, bool]
    labels: tuple[str, ...]
    spacing: tuple[float, ...] = ()
    anchor: int = 0
    reference: int = -1

    @property
    def size(self) -> int:
        return self.stop - self.start

    def precision(self) -> Floats:
        """The prior precision of the group's effects for a variance of one, size x size."""
        if self.kind != "walk":
            return np.eye(self.size)
        # Points in order with the anchor, whose effect is zero, put in its place.
        steps = np.zeros((self.size, self.size + 1))
        for i in range(self.size):
            steps[i, i], steps[i, i + 1] = -1.0, 1.0
        steps = np.delete(steps, self.anchor, axis=1)
        return np.asarray(steps.T @ np.diag(1.0 / np.asarray(self.spacing)) @ steps)


@dataclass(frozen=True)
class Measure:
    """How a numeric measure enters: by logarithm or not, centred and scaled, with its knots."""

    name: str
    logarithm: bool
    centre: float
    scale: float
    low: float
    high: float
    knots: tuple[float, ...]

    def standard(self, values: Floats) -> Floats:
        """Standard units, held inside the range seen; NaN where missing or not a size."""
        out = values.astype(np.float64).copy()
        if self.logarithm:
            out[~(out > 0)] = np.nan
            out = np.log(out)
        return np.clip((out - self.centre) / self.scale, self.low, self.high)


@dataclass(frozen=True)
class TimeGrid:
    """Months or quarters from `first` (months since year 0) to the one of `as_of_days`."""

    first: int
    n: int
    months: int
    as_of_days: float

    def bins(self, day: Floats) -> Ints:
        """The period of each day, held inside the grid; a missing day counts as the last."""
        month = _months(np.where(np.isnan(day), self.as_of_days, day))
        return np.clip((month - self.first) // self.months, 0, self.n - 1).astype(np.int64)

    def years(self, day: Floats, damping: float) -> Floats:
        """Years since the day of reference, negative before it and damped after it."""
        away = (np.where(np.isnan(day), self.as_of_days, day) - self.as_of_days) / DAYS_IN_YEAR
        return np.where(away > 0, away * damping, away)

    def label(self, i: int) -> str:
        month = self.first + i * self.months
        year, rest = divmod(month, 12)
        return f"{year:04d}-{rest + 1:02d}" if self.months == 1 else f"{year:04d}-Q{rest // 3 + 1}"


def _months(day: Floats) -> Ints:
    return day.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) + 1970 * 12


@dataclass
class FeatureSpace:
    """The columns, learned once from sales and applied to any later item."""

    settings: ModelSettings
    families: tuple[str, ...]
    categories: tuple[str, ...]
    family_of: Ints
    classes: tuple[str, ...]
    factors: dict[str, tuple[str, ...]]
    references: dict[str, int]  # of each factor, the place of its most frequent label
    # of a scaled factor, the effect that all share, label by label, against that of the reference
    severities: dict[str, Floats]
    faults: tuple[str, ...]
    words: tuple[str, ...]
    measures: tuple[Measure, ...]
    pairs: tuple[tuple[str, str], ...]
    pair_labels: dict[str, tuple[tuple[int, int], ...]]
    slopes: dict[str, tuple[tuple[int, int], ...]]
    products: tuple[tuple[int, int], ...]
    bends: tuple[str, ...]
    time: TimeGrid | None
    usual_words: Floats  # categories x words: share of a category's titles that hold the word
    usual_measures: Floats  # (categories and one never seen) x measures, in standard units
    usual_logs: dict[str, Floats]  # of a relative measure, by category and one never seen
    untold_measures: Floats  # in the same shape, the share of sales that do not tell the measure
    groups: list[Group] = field(default_factory=list)
    n_columns: int = 0

    def group(self, name: str) -> Group | None:
        return next((g for g in self.groups if g.name == name), None)


def _usual_labels(
    one: read.Factor, least: int, weight_rows: Bools | None = None
) -> tuple[str, ...]:
    codes = one.codes if weight_rows is None else one.codes[weight_rows]
    counts = np.bincount(codes, minlength=len(one.labels))
    return tuple(label for label, n in zip(one.labels, counts, strict=True) if n >= least)


def _most_frequent(codes: Ints) -> int:
    return int(np.argmax(np.bincount(codes[codes >= 0])))


def _measure(name: str, values: Floats, knots: int) -> Measure | None:
    there = values[np.isfinite(values)]
    if there.size < 10 or np.ptp(there) == 0:
        return None
    q = np.quantile(there, [0.01, 0.5, 0.99])
    logarithm = bool(there.min() > 0 and q[2] > 2 * q[0])
    if logarithm:
        there = np.log(there)
    centre, scale = float(there.mean()), float(there.std())
    if scale < 1e-12:
        return None
    z = (there - centre) / scale
    points = (
        np.unique(np.round(np.quantile(z, np.linspace(0.005, 0.995, knots)), 9)) if knots else z[:0]
    )
    distinct = np.unique(np.round(z, 9))
    if distinct.size <= knots:
        points = distinct
    # Knots closer than a hundredth of the range only make the walk stiff.
    if points.size > 1:
        keep = np.concatenate([[True], np.diff(points) > 0.01 * np.ptp(points)])
        points = points[keep]
    return Measure(
        name, logarithm, centre, scale, float(z.min()), float(z.max()), tuple(points.tolist())
    )


def coarse_knots(m: Measure) -> Floats:
    """A few of a measure's knots, for curves that depend on a term; none for a short curve."""
    knots = np.array(m.knots)
    if knots.size < 4:
        return knots[:0]
    return knots[np.unique(np.linspace(0, knots.size - 1, _COARSE_KNOTS).astype(int))]


def learn_features(
    table: pa.Table, settings: ModelSettings, as_of_days: float, *, family_of_category: bool = True
) -> FeatureSpace:
    """Decide the columns from the sales of the fit.

    Args:
        table: the sales; see `model.fit_model` for its columns.
        as_of_days: the day that effects are brought to, days since 1970.
    """
    n = table.num_rows
    least = settings.least_level_count
    category = read.factor(table, "category_id") or read.Factor(np.zeros(n, np.int64), ("all",))
    family = read.factor(table, "family_id") or read.Factor(np.zeros(n, np.int64), ("all",))
    family_of = np.zeros(len(category.labels), dtype=np.int64)
    family_of[category.codes] = family.codes
    attribution = read.factor(table, "attribution") or read.Factor(
        np.zeros(n, np.int64), (read.UNKNOWN,)
    )
    factors: dict[str, tuple[str, ...]] = {}
    coded: dict[str, Ints] = {}
    for name in (*read.FACTORS, *settings.extra_factors):
        one = read.factor(table, name)
        if one is None:
            continue
        labels = _usual_labels(one, least)
        if len(labels) > 1:
            factors[name] = labels
            coded[name] = one.coded_as(labels)
    faults: tuple[str, ...] = ()
    flagged = read.flags(table)
    if flagged is not None:
        faults = _usual_labels(flagged[1], least)
    words: tuple[str, ...] = ()
    usual = np.zeros((len(category.labels), 0))
    titles = read.texts(table, "title_text")
    if titles is not None and settings.most_words:
        share = settings.most_word_share if n >= settings.least_word_sales else 0.67
        index = TitleIndex(titles)
        words = tuple(
            choose_words(
                index.counts(),
                n,
                least=settings.least_word_count,
                most=_WORDS_LOOKED_AT * settings.most_words,
                most_share=share,
            )
        )
        usual = usual_words(index, titles != "", words, category)
        sizes = np.bincount(category.codes, titles != "", minlength=len(category.labels))
        telling = tells_within(usual, sizes.astype(np.float64))[: settings.most_words]
        words = tuple(words[i] for i in telling)
        # rows together in memory, as they come back from a file: sums add up in one order
        usual = np.ascontiguousarray(usual[:, telling])
    measured = read.measures(table)
    knots = min(settings.curve_knots, max(n // _SALES_PER_KNOT, 4))
    if len(measured) > _MOST_FAMILY_CURVES:
        knots = min(knots, 12)
    logs = {
        name: usual_logs(measured[name], category, family_of)
        for name in settings.relative_measures
        if name in measured
    }
    for name, usual_log in logs.items():
        measured[name] = log_of(measured[name]) - usual_log[category.codes]
    found = [
        _measure(name, values, knots)
        for name, values in measured.items()
        if np.isfinite(values).sum() >= min(settings.least_measure_count, n)
    ]
    kept = tuple(m for m in found if m is not None)
    standard = np.full((n, len(kept)), np.nan)
    for i, m in enumerate(kept):
        standard[:, i] = m.standard(measured[m.name])
    space = FeatureSpace(
        settings=settings,
        families=family.labels,
        categories=category.labels,
        family_of=family_of,
        classes=attribution.labels,
        factors=factors,
        references={name: _most_frequent(codes) for name, codes in coded.items()},
        severities={
            name: np.zeros(len(labels))
            for name, labels in ((CONDITION, factors.get(CONDITION, ())), (FAULT, faults))
            if len(labels) > 2
        },
        faults=faults,
        words=words,
        measures=kept,
        pairs=(),
        pair_labels={},
        slopes={},
        products=(),
        bends=(),
        time=_time_grid(read.days(table), as_of_days, settings),
        usual_words=usual,
        usual_measures=usual_measures(standard, category, family_of),
        usual_logs=logs,
        untold_measures=shares_untold(standard, category),
    )
    if settings.interactions:
        _choose_interactions(space, coded, n)
    _lay_out(space)
    return space


def _time_grid(day: Floats | None, as_of_days: float, settings: ModelSettings) -> TimeGrid | None:
    if day is None or not np.isfinite(day).any():
        return None
    there = day[np.isfinite(day)]
    last = int(_months(np.array([as_of_days]))[0])
    first = int(_months(np.array([there.min()]))[0])
    months = 1
    if settings.time_unit == "quarter" or (
        settings.time_unit == "auto" and there.size < 20 * (last - first + 1)
    ):
        months = 3
    if months == 3:
        first -= first % 3
    return TimeGrid(first, max((last - first) // months + 1, 1), months, as_of_days)


def _choose_interactions(space: FeatureSpace, coded: dict[str, Ints], n: int) -> None:
    """Pairs that the sales fill, the cheapest kinds first, until the columns are used up."""
    left = space.settings.most_interactions
    main = [name for name in coded if name in read.FACTORS]
    for name in main:
        counts = np.bincount(coded[name][coded[name] >= 0], minlength=len(space.factors[name]))
        levels = np.flatnonzero(counts >= max(5, space.settings.least_level_count))
        chosen = tuple((m, int(level)) for m in range(len(space.measures)) for level in levels)
        if chosen and len(chosen) <= left:
            space.slopes[name] = chosen
            left -= len(chosen)
    products = tuple(combinations(range(len(space.measures)), 2))
    if products and len(products) <= left and n > 5 * len(products):
        space.products = products
        left -= len(products)
    width = sum(coarse_knots(m).size for m in space.measures if coarse_knots(m).size)
    for name in main:
        columns = width * len(space.factors[name])
        if 0 < columns <= left and n > 10 * columns:
            space.bends = (*space.bends, name)
            left -= columns
    pairs = []
    for a, b in combinations(main, 2):
        both = (coded[a] >= 0) & (coded[b] >= 0)
        joint = coded[a][both] * len(space.factors[b]) + coded[b][both]
        cells, counts = np.unique(joint, return_counts=True)
        cells = cells[counts >= 3]
        if 0 < cells.size <= left:
            pairs.append((a, b))
            width = len(space.factors[b])
            space.pair_labels[f"{a} x {b}"] = tuple(
                (int(cell // width), int(cell % width)) for cell in cells
            )
            left -= int(cells.size)
    space.pairs = tuple(pairs)


def severity_name(factor: str) -> str:
    """Name of the group that scales the effects of a factor."""
    return factor + SEVERITY


def learn_severities(space: FeatureSpace, shared: Floats) -> None:
    """Take the shared effects of the scaled factors as what families and categories scale.

    Args:
        shared: one effect a column, log units. `space.severities` is replaced: of each factor one
            number a label, against the factor's reference (against none for faults).
    """
    for name in space.severities:
        group = space.group(name)
        if group is not None:
            against = shared[group.reference] if group.reference >= 0 else 0.0
            space.severities[name] = shared[group.start : group.stop] - against


def _lay_out(space: FeatureSpace) -> None:
    """Give every group its columns and its levels."""
    several_families = len(space.families) > 1
    several = len(space.categories) > 1
    everywhere = (True, several_families, several)
    upper = (True, several_families, False)
    shared = (True, False, False)
    groups: list[Group] = []
    at = 0

    def add(name: str, labels: tuple[str, ...], kind: str, levels: Any, **more: Any) -> None:
        nonlocal at
        if labels:
            groups.append(Group(name, at, at + len(labels), kind, levels, labels, **more))
            at += len(labels)

    add("attribution", space.classes, "fixed", everywhere)
    for name, labels in space.factors.items():
        add(name, labels, "iid", everywhere, reference=at + space.references[name])
    add(FAULT, space.faults, "iid", everywhere)
    for name in space.severities:
        add(severity_name(name), ("how much it counts",), "iid", (False, several_families, several))
    if FAULT in space.severities and read.UNKNOWN in space.factors.get(CONDITION, ()):
        add(FAULT_ALONE, ("without a told condition",), "iid", upper)
    add("word", space.words, "iid", upper)
    names = tuple(m.name for m in space.measures)
    add("measure", names, "iid", everywhere)
    add("measure missing", names, "iid", upper)
    for m in space.measures:
        if len(m.knots) > 2:
            middle = len(m.knots) // 2
            labels = tuple(f"{k:.4g}" for i, k in enumerate(m.knots) if i != middle)
            spacing = tuple(np.diff(m.knots).tolist())
            levels = upper if len(space.measures) <= _MOST_FAMILY_CURVES else shared
            add(f"curve {m.name}", labels, "walk", levels, spacing=spacing, anchor=middle)
    if space.time is not None and space.time.n > 1:
        grid = space.time
        add("trend", ("years",), "fixed", everywhere)
        labels = tuple(grid.label(i) for i in range(grid.n - 1))
        step = grid.months / 12
        add("time", labels, "walk", upper, spacing=(step,) * (grid.n - 1), anchor=grid.n - 1)
    for name, chosen in space.slopes.items():
        labels = tuple(f"{names[m]} if {space.factors[name][level]}" for m, level in chosen)
        add(f"slope by {name}", labels, "iid", shared)
    add(
        "product",
        tuple(f"{names[a]} x {names[b]}" for a, b in space.products),
        "iid",
        shared,
    )
    for name in space.bends:
        labels = tuple(
            f"{m.name} at {knot:.3g} if {level}"
            for m in space.measures
            for knot in coarse_knots(m)
            for level in space.factors[name]
        )
        add(f"bend by {name}", labels, "iid", shared)
    for a, b in space.pairs:
        key = f"{a} x {b}"
        labels = tuple(
            f"{space.factors[a][i]}, {space.factors[b][j]}" for i, j in space.pair_labels[key]
        )
        add(key, labels, "iid", shared)
    space.groups = groups
    space.n_columns = at
