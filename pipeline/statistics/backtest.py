"""The back-test: walk forward in time, foretell each later sale from earlier ones only."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pyarrow as pa

from pipeline.errors import NotEnoughSales
from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.model import PriceModel, fit_model
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.ranges import EVIDENCE, LEVELS
from pipeline.statistics.ratio_study import ratio_study
from pipeline.statistics.rivals import BoostedTrees, Rival, category_median, cell_median, ridge

MODEL = "price model"
CELL, CATEGORY, RIDGE, TREES = "cell median", "category median", "ridge", "boosted trees"
PINBALL_LEVELS = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
SHARES = (0.5, 0.8, 0.9)
_MIDDLE = LEVELS.index(0.5)


@dataclass(frozen=True)
class Folds:
    """first_share: share of the sales, oldest first, that the first fold learns from; n: folds
    into which the rest is cut; each fold learns from all sales of earlier days."""

    n: int = 4
    first_share: float = 0.5


@dataclass(frozen=True)
class BacktestResult:
    """predictions: one row a foretold sale and method. measures: one row a method and group
    ("all", a family, an evidence class), see `measure`."""

    predictions: pa.Table
    measures: pa.Table


def time_folds(day: Floats, folds: Folds) -> Iterator[tuple[Ints, Ints]]:
    """(earlier, later) rows of each fold; sales of one day are never parted."""
    order = np.argsort(day, kind="stable")
    n = day.size
    cuts = np.linspace(folds.first_share * n, n, folds.n + 1).astype(int)
    limits = [day[order[min(c, n - 1)]] for c in cuts[:-1]] + [np.inf]
    for start, end in pairwise(limits):
        earlier = np.flatnonzero(day < start)
        later = np.flatnonzero((day >= start) & (day < end))
        if earlier.size and later.size:
            yield earlier, later


def backtest(
    sales: pa.Table | dict[str, Any],
    settings: ModelSettings | None = None,
    folds: Folds | None = None,
    *,
    rivals: tuple[str, ...] = (CELL, CATEGORY, RIDGE, TREES),
) -> BacktestResult:
    """Foretell later sales from earlier ones and hold the answers against the prices.

    Args:
        sales: see `model.fit_model`; sold_on is needed, sales without it are left out.
        rivals: which other methods run on the same folds; the boosted trees only where lightgbm
            is installed.

    Raises:
        NotEnoughSales: there are no dates, or too few sales for one fold.
    """
    chosen = settings if settings is not None else ModelSettings()
    plan = folds if folds is not None else Folds()
    table = read.as_table(sales)
    day = read.days(table)
    if day is None:
        raise NotEnoughSales("a back-test needs the dates of the sales")
    price = read.numbers(table, "log_price")
    table = table.filter(pa.array(np.isfinite(price) & ~np.isnan(day)))
    day = read.days(table)
    methods = _methods(rivals)
    pieces: list[pa.Table] = []
    before: PriceModel | None = None
    for number, (earlier, later) in enumerate(time_folds(np.asarray(day), plan)):
        past, future = table.take(pa.array(earlier)), table.take(pa.array(later))
        before = fit_model(past, chosen, start=before)
        answers = before.predict(future, explain=False)
        quantiles = np.asarray(answers.column("quantiles").combine_chunks().flatten())
        evidence = answers.column("evidence")
        model_quantiles = quantiles.reshape(-1, len(LEVELS))
        reference = float(np.asarray(day)[earlier].max())
        for name, found in [
            (MODEL, model_quantiles),
            *((name, rival(past, future, chosen, reference)) for name, rival in methods),
        ]:
            pieces.append(_piece(name, number, later, future, evidence, found))
    if not pieces:
        raise NotEnoughSales("too few sales for a back-test")
    predictions = pa.concat_tables(pieces)
    return BacktestResult(predictions, measure(predictions))


def _methods(rivals: tuple[str, ...]) -> list[tuple[str, Rival]]:
    known: dict[str, Rival] = {CELL: cell_median, CATEGORY: category_median, RIDGE: ridge}
    if importlib.util.find_spec("lightgbm") is not None:
        known[TREES] = BoostedTrees(PINBALL_LEVELS)
    return [(name, known[name]) for name in rivals if name in known]


def _piece(
    method: str, fold: int, rows: Ints, future: pa.Table, evidence: pa.ChunkedArray, found: Floats
) -> pa.Table:
    n = rows.size
    family = read.factor(future, "family_id")
    labels = (
        pa.array([family.labels[i] for i in family.codes], pa.string())
        if family is not None
        else pa.array(["all"] * n)
    )
    return pa.table(
        {
            "method": pa.array([method] * n),
            "fold": pa.array(np.full(n, fold)),
            "row": pa.array(rows),
            "family_id": labels,
            "evidence": evidence.combine_chunks(),
            "log_price": pa.array(read.numbers(future, "log_price")),
            "quantiles": pa.FixedSizeListArray.from_arrays(pa.array(found.ravel()), len(LEVELS)),
        }
    )


def pinball(price: Floats, quantile: Floats, level: float) -> Floats:
    """Loss of a quantile at its level, in the unit of the price."""
    away = price - quantile
    return np.maximum(level * away, (level - 1) * away)


def measure(predictions: pa.Table) -> pa.Table:
    """Measures by method, over all, by family and by evidence class.

    n; median_ratio, cod, prd, prb (IAAO, estimate over price); male: mean absolute error of the
    logarithm; mdape: median absolute error in per cent of the price; pinball: mean over seven
    levels, log units; coverage_50/80/90: share of prices inside the range; width_50/80/90: median
    ratio of its upper to its lower end, less one, per cent.
    """
    method = np.array(predictions.column("method").to_pylist(), dtype=object)
    family = np.array(predictions.column("family_id").to_pylist(), dtype=object)
    evidence = np.array(predictions.column("evidence").to_pylist(), dtype=object)
    price = predictions.column("log_price").to_numpy()
    found = np.concatenate(
        [np.asarray(chunk.flatten()) for chunk in predictions.column("quantiles").chunks]
    ).reshape(-1, len(LEVELS))
    rows: list[dict[str, Any]] = []
    for name in dict.fromkeys(method):
        mine = method == name
        groups = [("all", "all", mine)]
        groups += [("family", f, mine & (family == f)) for f in sorted(set(family[mine]))]
        groups += [("evidence", e, mine & (evidence == e)) for e in EVIDENCE]
        for kind, group, chosen in groups:
            if chosen.any():
                rows.append(
                    {
                        "method": name,
                        "kind": kind,
                        "group": group,
                        **_measures(price[chosen], found[chosen]),
                    }
                )
    return pa.Table.from_pylist(rows)


def _measures(price: Floats, found: Floats) -> dict[str, float]:
    centre = found[:, _MIDDLE]
    study = ratio_study(np.exp(centre), np.exp(price))
    out: dict[str, float] = {
        "n": int(price.size),
        "median_ratio": study.median_ratio,
        "cod": study.cod,
        "prd": study.prd,
        "prb": study.prb.value,
        "male": float(np.abs(price - centre).mean()),
        "mdape": float(100 * np.median(np.abs(np.exp(centre - price) - 1))),
        "pinball": float(
            np.mean([pinball(price, found[:, LEVELS.index(p)], p).mean() for p in PINBALL_LEVELS])
        ),
    }
    for share in SHARES:
        low = found[:, LEVELS.index(round((1 - share) / 2, 2))]
        high = found[:, LEVELS.index(round((1 + share) / 2, 2))]
        name = f"{round(100 * share)}"
        out[f"coverage_{name}"] = float(((price >= low) & (price <= high)).mean())
        out[f"width_{name}"] = float(100 * np.median(np.expm1(high - low)))
    return out
