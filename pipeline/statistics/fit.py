"""One fit of the price model to a table of sales: effects, likeness, widths."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.cross_products import count
from pipeline.statistics.dispersion import Dispersion, learn_dispersion
from pipeline.statistics.embedding import PointMaker, learn_points
from pipeline.statistics.encoding import Encoded, encode, with_severities
from pipeline.statistics.features import (
    CATEGORY,
    FAULT_ALONE,
    SEVERITY,
    SHARED,
    FeatureSpace,
    Group,
    learn_features,
    learn_severities,
    severity_name,
)
from pipeline.statistics.hierarchy import Solution, Tree
from pipeline.statistics.lines import Lines, by_line, lay_lines
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.neighbours import (
    Likeness,
    Local,
    learn_likeness,
    local_evidence,
    nearest,
    nearest_within,
)
from pipeline.statistics.pool import By, Pool, Pools, joined
from pipeline.statistics.ranges import Errors, evidence_class

_LEVERAGE_CAP = 0.9
# Variances expected before any sale is seen, each worth one degree of freedom: prices drift by
# about 6 % a year (families 4 % from all), terms move them by 5 %, differently by 5 % between
# families and by 3 % between categories. Common practice, no source; the evidence overrules them.
_DRIFT_GUESS = np.array([0.06, 0.04, 0.0]) ** 2
_DEPARTURE_GUESS = np.array([0.05, 0.05, 0.03]) ** 2
# Families, and categories within them, take condition and faults by a fifth more or less seriously
# than all do; so do sellers who tell faults and no condition. Common practice, no source; the
# evidence overrules it.
_SEVERITY_GUESS = np.array([0.2, 0.2, 0.2]) ** 2
# Variance components that move less than this share of themselves no longer move a price.
_TOLERANCE = 0.01
_TERM_GROUPS = ("attribution", "fault", "measure", "trend", "time")
_MOST_DISPERSION_SALES = 8000


@dataclass
class Fit:
    """Everything learned from one table of sales."""

    settings: ModelSettings
    space: FeatureSpace
    lines: Lines
    baseline: float
    solution: Solution
    maker: PointMaker
    likeness: Likeness
    pool: Pools
    dispersion: Dispersion
    own_counts: Ints  # categories x classes
    family_counts: Ints  # families x classes
    column_counts: dict[tuple[int, int], Ints] = field(default_factory=dict)
    covariances: dict[tuple[int, int], tuple[Ints, Floats]] = field(default_factory=dict)
    word_variances: dict[tuple[int, int], tuple[Ints, Floats]] = field(default_factory=dict)
    last_errors: Errors | None = None


@dataclass(frozen=True)
class Reading:
    """A prediction before its range: rows of items.

    effects: by line; local: the neighbours' evidence; found: the sales that are neighbours of any
    item; places: in found; width: expected scale; evidence: class; own: sales of category and
    class; centre: effects plus neighbours.
    """

    rows: Encoded
    effects: Floats
    local: Local
    found: Pool
    places: Ints
    width: Floats
    evidence: Ints
    own: Ints
    centre: Floats


def _trust(residual: Floats, noise: float, freedom: float) -> Floats:
    """Weight of a residual under a t distribution, one for a residual of no surprise."""
    return np.minimum((freedom + 1) / (freedom + residual**2 / noise), 1.0)


def _precision(residual: Floats, noise: float, recency: Floats, freedom: float) -> Floats:
    """Weights under a t distribution, with a mean of one so that the noise keeps its meaning."""
    raw = (freedom + 1) / (freedom + residual**2 / noise)
    return raw / float(np.average(raw, weights=recency))


def _parts(place: Ints, attribution: Ints, n_classes: int) -> Ints:
    """Sales of one family (or category) and one attribution class; -1 for neither."""
    part = place * n_classes + attribution
    return np.where((place < 0) | (attribution < 0), -1, part)


def _counts(rows: Encoded, space: FeatureSpace) -> tuple[Ints, Ints]:
    k = len(space.classes)
    own = np.zeros(len(space.categories) * k, dtype=np.int64)
    wide = np.zeros(len(space.families) * k, dtype=np.int64)
    known = (rows.category >= 0) & (rows.attribution >= 0)
    np.add.at(own, rows.category[known] * k + rows.attribution[known], 1)
    known = (rows.family >= 0) & (rows.attribution >= 0)
    np.add.at(wide, rows.family[known] * k + rows.attribution[known], 1)
    return own.reshape(-1, k), wide.reshape(-1, k)


def _looked_up(counts: Ints, place: Ints, attribution: Ints) -> Ints:
    known = (place >= 0) & (attribution >= 0)
    return np.where(known, counts[np.maximum(place, 0), np.maximum(attribution, 0)], 0)


# Rounds of weighing. From a warm start too: with one less, its answers part from a cold fit's.
TURNS = 3


def fit_effects(
    rows: Encoded,
    space: FeatureSpace,
    value: Floats,
    recency: Floats,
    settings: ModelSettings,
    start: Fit | None,
) -> tuple[Solution, Encoded, Floats, dict[str, dict[tuple[int, int], tuple[Ints, Floats]]]]:
    """Effects by REML with weights that doubt surprising sales.

    The severities of the space are learned on the way: the effects that all share after a round
    without them are what a family or a category then takes more or less seriously.

    Returns:
        The solution, the rows with their severities, the leverage of each row, and kept
        covariances.
    """
    weight = recency.copy()
    variances, noise, on_level = _warm(space, start)
    lines = lay_lines(space)
    rounds = settings.variance_rounds if start is None else max(settings.variance_rounds // 3, 2)
    for turn in range(TURNS):
        # Recency counts as so many sales, doubt as precision: intervals stay honest under both.
        counted = count(
            rows.matrix, value, weight, rows.category, rows.family, space.groups, sales=recency
        )
        tree = Tree(counted, space.groups, fit_guesses(space), fit_most(space))
        if on_level is not None:
            tree.drop(~on_level)
        solution = tree.reml(
            variances,
            noise,
            rounds=rounds if turn == 0 else max(rounds // 4, 2),
            tolerance=_TOLERANCE,
        )
        variances, noise, on_level = solution.variances.copy(), solution.noise, tree.on_level
        residual = value - by_line(rows, solution, lines).sum(axis=1)
        if turn == 0:
            learn_severities(space, solution.shared)
            rows = with_severities(rows, space)
        if turn < TURNS - 1:
            weight = recency * _precision(residual, noise, recency, settings.robustness)
    variances = solution.variances
    used = float(solution.freedom.sum())
    noise = _honest_noise(residual, solution.noise, recency, settings.robustness, used)
    keeper = _Keeper(rows, space, weight)
    solution = tree.solve(variances, noise, moments=True, visit=keeper)
    leverage = np.minimum(keeper.leverage / noise, _LEVERAGE_CAP)
    return solution, rows, leverage, {"terms": keeper.terms, "words": keeper.words}


def _honest_noise(
    residual: Floats, noise: float, recency: Floats, freedom: float, used: float
) -> float:
    """The noise that gives effects fitted with doubting weights their true uncertainty.

    The variance of such an estimate is E(psi^2) / E(psi')^2 over n (Huber 1964), which for usual
    sales is more than the noise that the weights leave.
    """
    u = residual**2 / noise
    psi = (freedom + 1) * residual / (freedom + u)
    slope = (freedom + 1) * (freedom - u) / (freedom + u) ** 2
    n = float(recency.sum())
    spared = n / max(n - used, 0.2 * n)
    square = float(np.average(psi**2, weights=recency)) * spared
    return max(square / max(float(np.average(slope, weights=recency)), 0.2) ** 2, noise)


def fit_guesses(space: FeatureSpace) -> Floats:
    """Variances held beforehand: yearly drift of prices, departures of families and categories."""
    out = np.zeros((3, len(space.groups)))
    for i, group in enumerate(space.groups):
        if group.name == "time":
            out[:, i] = _DRIFT_GUESS
        elif _is_severity(group):
            out[:, i] = _SEVERITY_GUESS
        elif group.name in space.factors or group.name == "fault":
            out[:, i] = _DEPARTURE_GUESS
        out[:, i] *= group.levels
    return out


def fit_most(space: FeatureSpace) -> Floats:
    """Variances that may not be exceeded: those of severities, by what was held beforehand.

    What a severity scales was learned from the same sales. Where a factor has many labels, as
    faults have, severities of one sign would take the place of the effects themselves at no cost,
    and each label's own uncertainty would be lost: 70 % of the demo's 95 % intervals of faults
    held the truth without this bound, 92 % with it.
    """
    out = np.full((3, len(space.groups)), np.inf)
    for i, group in enumerate(space.groups):
        if _is_severity(group):
            out[:, i] = _SEVERITY_GUESS
    return out


def _is_severity(group: Group) -> bool:
    return group.name.endswith(SEVERITY) or group.name == FAULT_ALONE


def _warm(
    space: FeatureSpace, start: Fit | None
) -> tuple[Floats | None, float | None, np.ndarray | None]:
    """Variances of an earlier fit for the groups of this one, by name."""
    if start is None:
        return None, None, None
    old = {g.name: i for i, g in enumerate(start.space.groups)}
    noise = start.solution.noise
    variances = np.zeros((3, len(space.groups)))
    for i, group in enumerate(space.groups):
        for level in range(3):
            if not group.levels[level]:
                continue
            if group.kind == "fixed" and level == SHARED:
                variances[level, i] = np.inf
            elif group.name in old:
                variances[level, i] = start.solution.variances[level, old[group.name]]
            else:
                variances[level, i] = 0.1 * noise
    return variances, noise, variances > 0


class _Keeper:
    """Takes from passing covariances what is needed: leverages, and those of the terms."""

    def __init__(self, rows: Encoded, space: FeatureSpace, weight: Floats) -> None:
        self.rows, self.weight = rows, weight
        self.leverage = np.zeros(weight.size)
        self.terms: dict[tuple[int, int], tuple[Ints, Floats]] = {}
        self.words: dict[tuple[int, int], tuple[Ints, Floats]] = {}
        names = {*_TERM_GROUPS, *space.factors, *map(severity_name, space.severities)}
        self.is_term = np.zeros(space.n_columns, dtype=bool)
        self.is_word = np.zeros(space.n_columns, dtype=bool)
        for group in space.groups:
            self.is_term[group.start : group.stop] = group.name in names
            self.is_word[group.start : group.stop] = group.name == "word"
        order = np.argsort(rows.category, kind="stable")
        cuts = np.flatnonzero(np.diff(rows.category[order])) + 1
        self.of_category = {
            int(rows.category[mine[0]]): mine for mine in np.split(order, cuts) if mine.size
        }

    def __call__(self, level: int, number: int, columns: Ints, covariance: Floats) -> None:
        terms = np.flatnonzero(self.is_term[columns])
        self.terms[level, number] = (
            columns[terms],
            covariance[np.ix_(terms, terms)].astype(np.float32),
        )
        if level != CATEGORY:
            words = np.flatnonzero(self.is_word[columns])
            self.words[level, number] = (columns[words], np.diag(covariance)[words].copy())
            return
        mine = self.of_category[number]
        for start in range(0, mine.size, 4096):
            rows = mine[start : start + 4096]
            dense = self.rows.matrix[rows][:, columns].toarray()
            self.leverage[rows] = (
                np.einsum("ij,ij->i", dense @ covariance, dense) * self.weight[rows]
            )


def fit_sales(
    table: pa.Table, settings: ModelSettings, as_of_days: float, start: Fit | None = None
) -> Fit:
    """Fit effects, likeness and widths to a table of sales (log_price without NaN).

    Args:
        start: an earlier fit to set out from; saves most of the rounds.
    """
    price = read.numbers(table, "log_price")
    space = learn_features(table, settings, as_of_days)
    lines = lay_lines(space)
    rows = encode(table, space)
    age = np.maximum(as_of_days - np.where(np.isnan(rows.day), as_of_days, rows.day), 0.0)
    recency = 0.5 ** (age / settings.half_life_days)
    baseline = float(np.average(price, weights=recency))
    value = price - baseline
    solution, rows, leverage, kept = fit_effects(rows, space, value, recency, settings, start)
    effects = by_line(rows, solution, lines)
    plain = value - effects.sum(axis=1)
    residual = plain / (1 - leverage)
    trust = _trust(residual, solution.noise, settings.robustness) * recency
    maker = learn_points(space, lines, rows, effects, settings.seed)
    embedding = maker.points(space, lines, rows, effects)
    # Sales without a date, or all of one day, take the order of the table.
    order = np.where(np.isnan(rows.day), as_of_days, rows.day)
    if np.ptp(order) == 0:
        order = order + np.arange(order.size) / max(order.size, 1)
    n_classes = len(space.classes)
    part = _parts(rows.family, rows.attribution, n_classes)
    old = start.likeness if start is not None and start.maker.parts == maker.parts else None
    nothing = Likeness(np.full(len(embedding.parts), 1e-6), 1.0, False)
    likeness = nothing
    if settings.n_neighbours and price.size >= settings.least_neighbour_sales:
        likeness = learn_likeness(
            embedding,
            residual,
            trust,
            order,
            part,
            start=old,
            k=settings.n_neighbours,
            seed=settings.seed,
        )
    keep = _latest(part, order, settings.most_neighbour_sales)
    ids = None
    if "sale_id" in table.column_names:
        ids = table.column("sale_id").take(pa.array(keep)).to_pylist()
    pool = Pool(
        points=likeness.scaled(embedding)[keep],
        residual=residual[keep],
        plain=plain[keep],
        trust=trust[keep],
        day=order[keep],
        part=part[keep],
        kind=_parts(rows.category, rows.attribution, n_classes)[keep],
        category=rows.category[keep],
        row=keep,
        effects=effects[keep],
        log_price=price[keep],
        sale_id=pa.array([str(i) for i in (keep if ids is None else ids)], pa.string()),
    )
    own, wide = _counts(rows, space)
    fit = Fit(
        settings, space, lines, baseline, solution, maker, likeness, pool,
        Dispersion(np.zeros(0, np.int64), (), (), 0.0, None, (0.0, 0.0)), own, wide,
    )  # fmt: skip
    fit.covariances, fit.word_variances = kept["terms"], kept["words"]
    fit.column_counts = _column_counts(rows)
    _learn_widths(fit, pool, rows, effects, keep)
    return fit


def _latest(part: Ints, order: Floats, most: int) -> Ints:
    """Rows of the latest sales of each part, in the order of the table."""
    by = np.lexsort((-order, part))
    first = np.concatenate([[True], np.diff(part[by]) != 0]) if by.size else np.zeros(0, bool)
    start = np.maximum.accumulate(np.where(first, np.arange(by.size), 0))
    return np.sort(by[(np.arange(by.size) - start < most) & (part[by] >= 0)])


def _column_counts(rows: Encoded) -> dict[tuple[int, int], Ints]:
    """How many sales hold each feature: together, by family, by category."""
    out = {}
    n_columns = rows.matrix.shape[1]
    row = np.repeat(np.arange(rows.matrix.shape[0]), np.diff(rows.matrix.indptr))
    for level, place in enumerate(
        (np.zeros(rows.family.size, np.int64), rows.family, rows.category)
    ):
        n = int(place.max(initial=0)) + 1
        counts = np.zeros((n, n_columns), dtype=np.int32)
        np.add.at(counts, (place[row], rows.matrix.indices), 1)
        for number in range(n):
            out[level, number] = counts[number]
    return out


def _signs(centre: Floats, local: Local, spread: Floats, own: Ints) -> Floats:
    """Numbers that foretell how large an error will be."""
    return np.column_stack(
        [centre, np.log(local.support + 0.1), np.log(spread + 1e-3), np.log1p(own)]
    )


def _spread(pool: Pool, places: Ints, local: Local, noise: float) -> Floats:
    """Weighted mean distance of the neighbours' residuals from their mean, log units."""
    weight = np.where(places >= 0, np.maximum(local.weights, 1e-3), 0.0)
    total = weight.sum(axis=1)
    residual = pool.residual[np.maximum(places, 0)] if pool.size else np.zeros(places.shape)
    away = np.abs(residual - local.mean[:, None])
    usual = float(np.sqrt(noise))
    return np.asarray(((weight * away).sum(axis=1) + 0.05 * usual) / (total + 0.05))


def _learn_widths(fit: Fit, pool: Pool, rows: Encoded, effects: Floats, keep: Ints) -> None:
    """Errors of the sales, each foretold from earlier ones, and the widths that fit them."""
    latest = np.argsort(-pool.day, kind="stable")[:_MOST_DISPERSION_SALES]
    places, distances = nearest_within(
        pool.points[latest],
        pool.part[latest],
        pool.points,
        pool.part,
        fit.settings.n_neighbours,
        target_order=pool.day[latest],
        pool_order=pool.day,
    )
    local = local_evidence(pool.residual, pool.trust, places, distances, fit.likeness)
    error = pool.residual[latest] - local.mean
    mine = keep[latest]
    some = Encoded(
        rows.matrix[mine],
        rows.family[mine],
        rows.category[mine],
        rows.attribution[mine],
        rows.day[mine],
        rows.standard[mine],
    )
    own = np.maximum(_looked_up(fit.own_counts, some.category, some.attribution) - 1, 0)
    wide = np.maximum(_looked_up(fit.family_counts, some.family, some.attribution) - 1, 0)
    spread = _spread(pool, places, local, fit.solution.noise)
    centre = effects[mine].sum(axis=1) + local.mean
    signs = _signs(centre, local, spread, own)
    fit.dispersion = learn_dispersion(fit.space, some, signs, error, np.ones(error.size))
    width = fit.dispersion.widths(some, signs)
    evidence = evidence_class(own, wide, fit.settings.own_some, fit.settings.own_many)
    fit.last_errors = Errors(error, width, evidence)


def read_items(fit: Fit, table: pa.Table, *, said_in_full: bool = True) -> Reading:
    """What a fit says of items, before the range is set; said_in_full: see `features.encode`."""
    rows = encode(table, fit.space, said_in_full=said_in_full)
    effects = by_line(rows, fit.solution, fit.lines)
    embedding = fit.maker.points(fit.space, fit.lines, rows, effects)
    own = _looked_up(fit.own_counts, rows.category, rows.attribution)
    found, places, distances = _nearest_sales(fit, rows, fit.likeness.scaled(embedding), own)
    local = local_evidence(found.residual, found.trust, places, distances, fit.likeness)
    wide = _looked_up(fit.family_counts, rows.family, rows.attribution)
    spread = _spread(found, places, local, fit.solution.noise)
    centre = effects.sum(axis=1) + local.mean
    signs = _signs(centre, local, spread, own)
    return Reading(
        rows=rows,
        effects=effects,
        local=local,
        found=found,
        places=places,
        width=fit.dispersion.widths(rows, signs),
        evidence=evidence_class(own, wide, fit.settings.own_some, fit.settings.own_many),
        own=own,
        centre=fit.baseline + centre,
    )


def _nearest_sales(
    fit: Fit, rows: Encoded, targets: Floats, own: Ints
) -> tuple[Pool, Ints, Floats]:
    """The sales nearest to each item.

    Returns:
        The sales that are near to any item; for each item their places there (-1 for none) and
        their distances, nearest first.
    """
    most, n_classes = fit.settings.n_neighbours, len(fit.space.classes)
    places = np.full((own.size, most), -1, dtype=np.int64)
    distances = np.full((own.size, most), np.inf)
    near: list[Pool] = []
    dated = not np.isnan(rows.day).all()
    day = np.where(np.isnan(rows.day), np.inf, rows.day)

    def search(by: By, wanted: Ints) -> None:
        numbers = np.unique(wanted[wanted >= 0]).tolist() if most else []
        for number, sales in fit.pool.parted(by, numbers).items():
            items = np.flatnonzero(wanted == number)
            at, far = nearest(
                targets[items],
                sales.points,
                most,
                target_order=day[items] if dated else None,
                pool_order=sales.day if dated else None,
            )
            used, slot = np.unique(at[at >= 0], return_inverse=True)
            at[at >= 0] = slot + sum(pool.size for pool in near)
            places[items], distances[items] = at, far
            near.append(sales.at(used))

    # A sale of the same category is the better example, where there are enough of them; and where
    # likeness has learned nothing, wherever there are any.
    enough = own >= (fit.settings.own_many if fit.likeness.useful else 1)
    search("kind", np.where(enough, _parts(rows.category, rows.attribution, n_classes), -1))
    # the others are sought among all of their family and class
    alone = ~(places >= 0).any(axis=1)
    search("part", np.where(alone, _parts(rows.family, rows.attribution, n_classes), -1))
    return joined(near, len(fit.lines.names)), places, distances
