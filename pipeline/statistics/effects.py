"""What the model knows, as tables: bands, adjustments, words that pay, and the index.

All effects are those of one model; intervals come from its posterior covariances, so effects of
thin cells are drawn together and their intervals say how sure that is. A model read back from
tables has no covariances: build these tables after the fit.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pyarrow as pa
from scipy import special

from pipeline.errors import NotEnoughSales
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.features import CATEGORY, FAMILY, SHARED, Group, severity_name
from pipeline.statistics.fit import Fit
from pipeline.statistics.model import PriceModel

_LEVEL_NAMES = ("all", "family", "category")


def _places(fit: Fit) -> Iterator[tuple[int, int, str, str]]:
    """(level, number, family_id, category_id) of all, every family and every category."""
    yield SHARED, 0, "", ""
    for f, family in enumerate(fit.space.families):
        if len(fit.space.families) > 1:
            yield FAMILY, f, family, ""
    for c, category in enumerate(fit.space.categories):
        if len(fit.space.categories) > 1:
            yield CATEGORY, c, fit.space.families[int(fit.space.family_of[c])], category


def _effects_at(fit: Fit, level: int, number: int) -> Floats:
    if level == SHARED:
        return fit.solution.total(-1, -1)
    if level == FAMILY:
        return fit.solution.total(number, -1)
    return fit.solution.total(int(fit.space.family_of[number]), number)


def _severities(fit: Fit) -> Iterator[tuple[int, dict[int, float]]]:
    """The column of each severity, with the score of each column that it scales."""
    for name, scores in fit.space.severities.items():
        scaled, severity = fit.space.group(name), fit.space.group(severity_name(name))
        if scaled is not None and severity is not None:
            yield severity.start, {scaled.start + i: float(s) for i, s in enumerate(scores)}


def _needs_covariances(model: PriceModel) -> None:
    if not model.fit.covariances:
        raise NotEnoughSales(
            "the model was read back without the covariances of its effects",
            todo="Build the tables of effects right after fit_model.",
        )


class _Contrasts:
    """Differences of summed effects at one place, with their standard errors."""

    def __init__(self, fit: Fit, level: int, number: int) -> None:
        self.effects = _effects_at(fit, level, number)
        self.columns, self.covariance = fit.covariances[level, number]
        self.counts = fit.column_counts[level, number]
        self.place = np.full(self.effects.size, -1)
        self.place[self.columns] = np.arange(self.columns.size)
        self.severities = list(_severities(fit))

    def n(self, column: int) -> int:
        return int(self.counts[column])

    def known(self, column: int) -> bool:
        return bool(self.place[column] >= 0)

    def difference(self, column: int, reference: int | None) -> tuple[float, float]:
        """Effect of a column against another (or against nothing) and its standard error."""
        weights = {column: 1.0}
        if reference is not None:
            weights[reference] = -1.0
        for severity, scores in self.severities:
            step = sum(w * scores.get(c, 0.0) for c, w in weights.items())
            if step and self.known(severity):
                weights[severity] = step
        columns, weight = np.array(list(weights)), np.array(list(weights.values()))
        at = self.place[columns]
        variance = float(weight @ self.covariance[np.ix_(at, at)] @ weight)
        return float(self.effects[columns] @ weight), float(np.sqrt(max(variance, 0.0)))


def _percent(log_effect: float) -> float:
    return 100 * float(np.expm1(log_effect))


def price_adjustments(
    model: PriceModel, reference: dict[str, str] | None = None, *, level: float = 0.95
) -> pa.Table:
    """Effects of terms in per cent against a stated reference term, with interval and n.

    Args:
        reference: per column (condition, material_id, ...) the term that others are held
            against; the most frequent where none is given. Faults are held against their absence.
        level: of the intervals.

    Returns:
        scope (all, family, category), family_id, category_id, kind (column), term, reference,
        effect_percent, low_percent, high_percent (of the price of a like piece with the reference
        term), log_effect, log_error, n (sales with the term there), n_reference. A place where
        the term or the reference never occurs has no row.
    """
    _needs_covariances(model)
    fit = model.fit
    wanted = reference or {}
    reach = float(special.ndtri((1 + level) / 2))
    rows: list[dict[str, Any]] = []
    for place_level, number, family, category in _places(fit):
        if (place_level, number) not in fit.covariances:
            continue
        contrasts = _Contrasts(fit, place_level, number)
        where = {
            "scope": _LEVEL_NAMES[place_level],
            "family_id": family,
            "category_id": category,
        }
        for group in fit.space.groups:
            if group.name not in (*fit.space.factors, "fault"):
                continue
            base = _reference_column(fit, group, wanted.get(group.name))
            if base is not None and (not contrasts.known(base) or contrasts.n(base) == 0):
                continue
            for i, term in enumerate(group.labels):
                column = group.start + i
                if column == base or not contrasts.known(column) or contrasts.n(column) == 0:
                    continue
                value, error = contrasts.difference(column, base)
                rows.append(
                    {
                        **where,
                        "kind": group.name,
                        "term": term,
                        "reference": "" if base is None else group.labels[base - group.start],
                        "effect_percent": _percent(value),
                        "low_percent": _percent(value - reach * error),
                        "high_percent": _percent(value + reach * error),
                        "log_effect": value,
                        "log_error": error,
                        "n": contrasts.n(column),
                        "n_reference": 0 if base is None else contrasts.n(base),
                    }
                )
    return pa.Table.from_pylist(rows, _ADJUSTMENTS)


_ADJUSTMENTS = pa.schema(
    [
        ("scope", pa.string()),
        ("family_id", pa.string()),
        ("category_id", pa.string()),
        ("kind", pa.string()),
        ("term", pa.string()),
        ("reference", pa.string()),
        ("effect_percent", pa.float64()),
        ("low_percent", pa.float64()),
        ("high_percent", pa.float64()),
        ("log_effect", pa.float64()),
        ("log_error", pa.float64()),
        ("n", pa.int64()),
        ("n_reference", pa.int64()),
    ]
)


def _reference_column(fit: Fit, group: Group, wanted: str | None) -> int | None:
    if group.name == "fault":
        return None
    if wanted is not None and wanted in group.labels:
        return group.start + group.labels.index(wanted)
    counts = fit.column_counts[SHARED, 0][group.start : group.stop]
    return group.start + int(np.argmax(counts))


def price_words(model: PriceModel, *, level: float = 0.95) -> pa.Table:
    """Words and pairs of titles: their effect beyond the terms, in per cent, by family and in all.

    Returns:
        scope, family_id, phrase, effect_percent, low_percent, high_percent, n, clear (the interval
        leaves out nothing), the strongest first.
    """
    _needs_covariances(model)
    fit = model.fit
    group = fit.space.group("word")
    reach = float(special.ndtri((1 + level) / 2))
    rows: list[dict[str, Any]] = []
    for place_level, number, family, _ in _places(fit):
        if group is None or place_level == CATEGORY:
            continue
        columns, variances = fit.word_variances.get(
            (place_level, number), (np.zeros(0, np.int64), np.zeros(0))
        )
        effects = _effects_at(fit, place_level, number)[columns]
        counts = fit.column_counts[place_level, number][columns]
        errors = np.sqrt(np.maximum(variances, 0.0))
        for column, value, error, n in zip(columns, effects, errors, counts, strict=True):
            if n == 0:
                continue
            rows.append(
                {
                    "scope": _LEVEL_NAMES[place_level],
                    "family_id": family,
                    "phrase": group.labels[int(column) - group.start],
                    "effect_percent": _percent(value),
                    "low_percent": _percent(value - reach * error),
                    "high_percent": _percent(value + reach * error),
                    "n": int(n),
                    "clear": bool(abs(value) > reach * error),
                }
            )
    table = pa.Table.from_pylist(rows, _WORDS)
    strength = pa.array(-np.abs(table.column("effect_percent").to_numpy()))
    by = [("scope", "ascending"), ("family_id", "ascending"), ("strength", "ascending")]
    return table.append_column("strength", strength).sort_by(by).drop_columns("strength")


_WORDS = pa.schema(
    [
        ("scope", pa.string()),
        ("family_id", pa.string()),
        ("phrase", pa.string()),
        ("effect_percent", pa.float64()),
        ("low_percent", pa.float64()),
        ("high_percent", pa.float64()),
        ("n", pa.int64()),
        ("clear", pa.bool_()),
    ]
)


def price_index(model: PriceModel, *, level: float = 0.95) -> pa.Table:
    """Price level by month or quarter against the day of reference, by family and in all.

    Returns:
        scope, family_id, period ("2026-03" or "2026-Q1"), index (1 in the last period), low, high
        (of the interval), n (sales of the period there). Multiply a price of a period by
        1 / index to bring it to the day of reference.
    """
    _needs_covariances(model)
    fit = model.fit
    grid, trend, walk = fit.space.time, fit.space.group("trend"), fit.space.group("time")
    rows: list[dict[str, Any]] = []
    if grid is None or trend is None or walk is None:
        return pa.Table.from_pylist(rows, _INDEX)
    reach = float(special.ndtri((1 + level) / 2))
    for place_level, number, family, _ in _places(fit):
        if place_level == CATEGORY or (place_level, number) not in fit.covariances:
            continue
        contrasts = _Contrasts(fit, place_level, number)
        counts = contrasts.counts[walk.start : walk.stop]
        last = int(contrasts.counts[trend.start]) - int(counts.sum())
        for period in range(grid.n):
            weights = _index_weights(fit, contrasts, trend.start, walk, period)
            value = float(contrasts.effects[contrasts.columns] @ weights)
            error = float(np.sqrt(max(float(weights @ contrasts.covariance @ weights), 0.0)))
            rows.append(
                {
                    "scope": _LEVEL_NAMES[place_level],
                    "family_id": family,
                    "period": grid.label(period),
                    "index": float(np.exp(value)),
                    "low": float(np.exp(value - reach * error)),
                    "high": float(np.exp(value + reach * error)),
                    "n": int(counts[period]) if period < grid.n - 1 else max(last, 0),
                }
            )
    return pa.Table.from_pylist(rows, _INDEX)


_INDEX = pa.schema(
    [
        ("scope", pa.string()),
        ("family_id", pa.string()),
        ("period", pa.string()),
        ("index", pa.float64()),
        ("low", pa.float64()),
        ("high", pa.float64()),
        ("n", pa.int64()),
    ]
)


def _index_weights(fit: Fit, contrasts: _Contrasts, trend: int, walk: Group, period: int) -> Floats:
    """Weights of the time effects in a period's level, relative to the last period's middle.

    Where the place has no sale in a period, the nearest period that it has stands in.
    """
    grid = fit.space.time
    weights = np.zeros(contrasts.columns.size)
    if grid is None:
        return weights
    if contrasts.known(trend):
        years = (period - (grid.n - 1)) * grid.months / 12
        weights[contrasts.place[trend]] = years
    if period < grid.n - 1:
        seen = contrasts.columns[
            (contrasts.columns >= walk.start) & (contrasts.columns < walk.stop)
        ]
        if seen.size:
            nearest = int(seen[np.argmin(np.abs(seen - (walk.start + period)))])
            weights[contrasts.place[nearest]] = 1.0
    return weights


def pooled_bands(model: PriceModel, cells: pa.Table | dict[str, Any]) -> pa.Table:
    """Pooled price bands of cells (category and attribution class, with further terms if given).

    Args:
        cells: one row a cell, in the columns of items; terms left out count as never stated.

    Returns:
        The prediction of each cell as an unseen piece of it: n_own, own_share, evidence, and in
        money of the sales' basis p10, p25, median, p75, p90. p90_bounded says whether its own
        sales could bound a P90 by themselves (29 and more).
    """
    answers = model.predict(cells, explain=False)
    quantiles = np.asarray(answers.column("quantiles").combine_chunks().flatten()).reshape(
        answers.num_rows, -1
    )
    own = answers.column("n_own").to_numpy()
    out: dict[str, Any] = {
        "n_own": answers.column("n_own"),
        "own_share": answers.column("own_share"),
        "evidence": answers.column("evidence"),
    }
    for name, place in (("p10", 1), ("p25", 4), ("median", 9), ("p75", 14), ("p90", 17)):
        out[name] = pa.array(np.exp(quantiles[:, place]))
    out["p90_bounded"] = pa.array(own >= 29)
    return pa.table(out)


def condition_sensitivity(model: PriceModel) -> pa.Table:
    """By category (or family, or all), how much price moves with condition.

    Returns:
        scope, family_id, category_id, spread: standard deviation of the log effects of the
        condition grades seen there, weighted by their sales; n. Low spread: holds its price
        whatever the condition.
    """
    fit = model.fit
    group = fit.space.group("condition")
    rows: list[dict[str, Any]] = []
    for place_level, number, family, category in _places(fit):
        if group is None or (place_level, number) not in fit.column_counts:
            continue
        counts: Ints = fit.column_counts[place_level, number][group.start : group.stop]
        if counts.sum() == 0:
            continue
        at_place = _effects_at(fit, place_level, number)
        effects = at_place[group.start : group.stop].copy()
        for severity, scores in _severities(fit):
            for column, score in scores.items():
                if group.start <= column < group.stop:
                    effects[column - group.start] += score * at_place[severity]
        mean = np.average(effects, weights=counts)
        rows.append(
            {
                "scope": _LEVEL_NAMES[place_level],
                "family_id": family,
                "category_id": category,
                "spread": float(np.sqrt(np.average((effects - mean) ** 2, weights=counts))),
                "n": int(counts.sum()),
            }
        )
    return pa.Table.from_pylist(rows)
