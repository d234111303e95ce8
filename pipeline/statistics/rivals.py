"""Simpler ways to foretell a price, on the same sales: what the price model must beat.

Each takes earlier sales and later items and gives quantiles of the log price at `LEVELS`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
from scipy import linalg

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.encoding import Encoded, encode
from pipeline.statistics.features import FeatureSpace, learn_features
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.quantiles import quantile
from pipeline.statistics.ranges import LEVELS

Rival = Callable[[pa.Table, pa.Table, ModelSettings, float], Floats]
_PENALTIES = (0.1, 1.0, 10.0, 100.0)
_LEAST_CELL = 5
MEDIAN_LEVEL = LEVELS.index(0.5)


def _cells(sales: pa.Table, items: pa.Table, keys: tuple[str, ...]) -> tuple[Ints, Ints]:
    """Cell numbers of sales and items by the columns that exist; -1 for an item's unseen cell."""
    mine, theirs = np.zeros(sales.num_rows, np.int64), np.zeros(items.num_rows, np.int64)
    for key in keys:
        one = read.factor(sales, key)
        if one is None:
            continue
        other = read.factor(items, key)
        new = other.coded_as(one.labels) if other is not None else np.full(items.num_rows, -1)
        mine = mine * len(one.labels) + one.codes
        theirs = np.where((theirs < 0) | (new < 0), -1, theirs * len(one.labels) + new)
    return mine, theirs


def _medians_by(keys: tuple[tuple[str, ...], ...]) -> Rival:
    """Quantiles of the finest cell with five sales, out of a list of keys, else of all."""

    def rival(sales: pa.Table, items: pa.Table, _: ModelSettings, __: float) -> Floats:
        price = read.numbers(sales, "log_price")
        out = np.tile(quantile(price, LEVELS, 7), (items.num_rows, 1))
        for key in reversed(keys):
            mine, theirs = _cells(sales, items, key)
            order = np.argsort(mine, kind="stable")
            cuts = np.flatnonzero(np.diff(mine[order])) + 1
            for rows in np.split(order, cuts):
                if rows.size >= _LEAST_CELL:
                    out[theirs == mine[rows[0]]] = quantile(price[rows], LEVELS, 7)
        return out

    return rival


_CATEGORY = ("family_id", "category_id", "attribution")
_CELL = (*_CATEGORY, "condition", "material_id", "period_id", "set_class")
category_median: Rival = _medians_by((_CATEGORY, ("family_id",)))
cell_median: Rival = _medians_by((_CELL, (*_CATEGORY, "condition"), _CATEGORY, ("family_id",)))


def _term_matrix(rows: Encoded, space: FeatureSpace) -> Floats:
    """Terms, words, linear measures and time as plain columns, with category and family."""
    keep = [
        np.arange(g.start, g.stop)
        for g in space.groups
        if g.name in ("attribution", "fault", "word", "measure", "measure missing", "trend")
        or g.name in space.factors
    ]
    dense = rows.matrix[:, np.concatenate(keep)].toarray()
    category = np.zeros((dense.shape[0], len(space.categories)))
    known = np.flatnonzero(rows.category >= 0)
    category[known, rows.category[known]] = 1.0
    family = np.zeros((dense.shape[0], len(space.families)))
    known = np.flatnonzero(rows.family >= 0)
    family[known, rows.family[known]] = 1.0
    return np.hstack([dense, category, family])


def ridge(sales: pa.Table, items: pa.Table, settings: ModelSettings, as_of_days: float) -> Floats:
    """Ridge regression on the same terms and words; one penalty, by generalised cross-validation.

    Ranges are the quantiles of its residuals, each left out of its own fit.
    """
    space = learn_features(sales, settings, as_of_days)
    x = _term_matrix(encode(sales, space), space)
    z = _term_matrix(encode(items, space), space)
    price = read.numbers(sales, "log_price")
    mean = price.mean()
    eigen, axes = linalg.eigh(x.T @ x)
    eigen = np.maximum(eigen, 0.0)
    turned, right = x @ axes, axes.T @ (x.T @ (price - mean))
    best = (np.inf, np.zeros(x.shape[1]), np.zeros(price.size))
    for penalty in _PENALTIES:
        share = 1.0 / (eigen + penalty)
        effect = axes @ (share * right)
        leverage = np.minimum((turned**2) @ share, 0.95)
        left_out = (price - mean - x @ effect) / (1 - leverage)
        error = float(np.abs(left_out).mean())
        if error < best[0]:
            best = (error, effect, left_out)
    centre = mean + z @ best[1]
    return np.asarray(centre[:, None] + quantile(best[2], LEVELS, 7)[None, :])


def learner_matrix(rows: Encoded, space: FeatureSpace, table: pa.Table) -> tuple[Floats, int]:
    """The same inputs for a learner of trees, and how many leading columns are categories."""
    blocks: list[npt.NDArray[Any]] = [
        rows.family[:, None],
        rows.category[:, None],
        rows.attribution[:, None],
    ]
    for name, labels in space.factors.items():
        one = read.factor(table, name)
        codes = one.coded_as(labels) if one is not None else np.full(table.num_rows, -1)
        blocks.append(codes[:, None])
    n_categories = len(blocks)
    if space.time is not None:
        blocks.append(rows.day[:, None])
    given = read.measures(table)
    for m in space.measures:
        blocks.append(given.get(m.name, np.full(table.num_rows, np.nan))[:, None])
    for name in ("word", "fault"):
        group = space.group(name)
        if group is not None:
            blocks.append(rows.matrix[:, group.start : group.stop].toarray())
    out = np.hstack([b.astype(np.float64) for b in blocks])
    coded = out[:, :n_categories]
    coded[coded < 0] = np.nan  # a label not seen before; the learner says so aloud if it must
    return out, n_categories


_LEAVES_RATE_LEAST_SHARE = (
    (4, 0.1, 3, 0.8),
    (7, 0.1, 5, 1.0),
    (15, 0.05, 10, 0.8),
    (31, 0.05, 20, 1.0),
    (31, 0.05, 10, 0.6),
    (63, 0.05, 20, 0.8),
    (127, 0.1, 20, 0.8),
)

_ONE_THREAD = 20_000  # sales


class BoostedTrees:
    """Quantile regression by LightGBM (a test dependency), tuned on the last fifth of the sales.

    Tuned on the first fold's sales and kept for the later ones; the number of trees is found anew
    for every quantile and fold by early stopping, then the trees are grown on all the sales.
    """

    def __init__(self, levels: tuple[float, ...]) -> None:
        self.levels = levels
        self.chosen: dict[str, Any] | None = None

    def __call__(
        self, sales: pa.Table, items: pa.Table, settings: ModelSettings, as_of_days: float
    ) -> Floats:
        import lightgbm as lgb

        space = learn_features(sales, settings, as_of_days)
        x, n_categories = learner_matrix(encode(sales, space), space, sales)
        z, _ = learner_matrix(encode(items, space), space, items)
        y = read.numbers(sales, "log_price")
        day = read.days(sales)
        order = np.argsort(day, kind="stable") if day is not None else np.arange(y.size)
        cut = int(0.8 * y.size)
        early, late = order[:cut], order[cut:]
        categories = list(range(n_categories))

        def data(rows: Ints, reference: Any = None) -> Any:
            return lgb.Dataset(
                x[rows], y[rows], categorical_feature=categories, reference=reference,
                params={"verbosity": -1}, free_raw_data=False,
            )  # fmt: skip

        def stopped(parameters: dict[str, Any], level: float) -> tuple[float, int]:
            training = data(early)
            booster = lgb.train(
                {**parameters, "alpha": level}, training, 2000,
                valid_sets=[data(late, training)],
                callbacks=[lgb.early_stopping(50, verbose=False)],
            )  # fmt: skip
            return float(booster.best_score["valid_0"]["quantile"]), int(booster.best_iteration)

        if self.chosen is None:
            # Threads that wait for each other cost a small set more than they bring.
            threads = 2 if y.size > _ONE_THREAD else 1
            grid = [
                {
                    "objective": "quantile", "verbosity": -1, "seed": 1, "num_threads": threads,
                    "num_leaves": leaves, "learning_rate": rate, "min_data_in_leaf": least,
                    "feature_fraction": share, "min_data_per_group": 10, "cat_smooth": 5,
                }
                for leaves, rate, least, share in _LEAVES_RATE_LEAST_SHARE
            ]  # fmt: skip
            self.chosen = min(grid, key=lambda parameters: stopped(parameters, 0.5)[0])
        whole = np.arange(y.size)
        out = np.full((items.num_rows, len(LEVELS)), np.nan)
        for level in self.levels:
            _, rounds = stopped(self.chosen, level)
            booster = lgb.train({**self.chosen, "alpha": level}, data(whole), max(rounds, 1))
            out[:, LEVELS.index(level)] = np.asarray(booster.predict(z))
        used = [LEVELS.index(level) for level in self.levels]
        out[:, used] = np.sort(out[:, used], axis=1)
        return out
