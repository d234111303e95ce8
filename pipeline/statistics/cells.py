"""Terms refitted on the counted cells of all sales, however many there are.

Words, sizes and likeness need the sales themselves and are learned from as many as can be read at
once. The levels and terms (category, attribution, condition, material, period, market, set) need
only, for each cell of sales alike, how many there are, the mean of their log price and the sum of
its squares: cells are counted where the sales lie, and this fit costs by cell.
"""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import numpy as np
import pyarrow as pa

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.cross_products import count
from pipeline.statistics.encoding import Encoded, encode
from pipeline.statistics.features import SEVERITY, Group
from pipeline.statistics.fit import Fit, fit_guesses, fit_most
from pipeline.statistics.hierarchy import Tree
from pipeline.statistics.model import PriceModel

CELL_KEYS = (
    "family_id", "category_id", "attribution", *read.FACTORS, "sold_on",
)  # fmt: skip
_OF_CELLS = {"attribution", "trend", "time", *read.FACTORS}


def count_cells(sales: pa.Table) -> pa.Table:
    """Cells of sales alike: the key columns that exist, n, mean_log and squares_log.

    The day is taken to its month. The same in SQL is one GROUP BY; this is its reference.
    """
    table = sales
    if "sold_on" in table.column_names:
        day = table.column("sold_on").cast(pa.date32()).to_numpy()
        month = day.astype("datetime64[M]").astype("datetime64[D]") + 14
        place = table.column_names.index("sold_on")
        table = table.set_column(place, "sold_on", pa.array(month))
    keys = [key for key in CELL_KEYS if key in table.column_names]
    price = read.numbers(table, "log_price")
    narrow = table.select(keys).append_column("log", pa.array(price))
    narrow = narrow.append_column("square", pa.array(price**2))
    grouped = narrow.group_by(keys, use_threads=False).aggregate(
        [("log", "count"), ("log", "mean"), ("square", "sum")]
    )
    return grouped.rename_columns(
        [{"log_count": "n", "log_mean": "mean_log", "square_sum": "squares_log"}.get(c, c)
         for c in grouped.column_names]
    )  # fmt: skip


def refit_on_cells(model: PriceModel, cells: pa.Table, *, rounds: int = 6) -> PriceModel:
    """The model with its levels and terms fitted to all counted sales.

    What words, sizes, faults and combinations add is taken from the model's own sales: their mean
    by category is an offset of the category's cells, so that nothing is counted twice.

    Args:
        model: fitted to the sales that could be read at once.
        cells: from `count_cells` over all sales (or the same from SQL), within the window.
        rounds: of the REML equations; they set out from the model's variances.
    """
    fit = model.fit
    rows = encode(cells, fit.space, with_words=False)
    n = read.numbers(cells, "n")
    mean = read.numbers(cells, "mean_log")
    groups = [g for g in fit.space.groups if g.name.removesuffix(SEVERITY) in _OF_CELLS]
    columns = np.concatenate([np.arange(g.start, g.stop) for g in groups])
    renumbered = _renumber(groups)
    known = (rows.category >= 0) & (rows.family >= 0)
    offset = _offsets(fit)
    value = mean - fit.baseline - offset[np.maximum(rows.category, 0)]
    shift = fit.baseline + offset[np.maximum(rows.category, 0)]
    squares = read.numbers(cells, "squares_log") - n * (2 * shift * mean - shift**2)
    age = np.maximum(_as_of(fit) - np.where(np.isnan(rows.day), _as_of(fit), rows.day), 0.0)
    recency = 0.5 ** (age / fit.settings.half_life_days)
    some = np.flatnonzero(known)
    counted = count(
        rows.matrix[some][:, columns],
        value[some],
        (n * recency)[some],
        rows.category[some],
        rows.family[some],
        renumbered,
        sales=(n * recency)[some],
        squares=float((squares * recency)[some].sum()),
    )
    place = [fit.space.groups.index(g) for g in groups]
    variances = fit.solution.variances[:, place]
    tree = Tree(
        counted, renumbered, fit_guesses(fit.space)[:, place], fit_most(fit.space)[:, place]
    )
    tree.drop(variances <= 0)
    fresh: dict[tuple[int, int], tuple[Ints, Floats]] = {}

    def keep(level: int, number: int, own: Ints, covariance: Floats) -> None:
        fresh[level, number] = (columns[own], covariance.astype(np.float32))

    solution = tree.reml(variances, fit.solution.noise, rounds=rounds, tolerance=0.01, visit=keep)
    fit.solution.shared[columns] = solution.shared
    for table, found in (
        (fit.solution.family, solution.family),
        (fit.solution.category, solution.category),
        (fit.solution.own_variance, solution.own_variance),
    ):
        _replace(table, found, columns)
    for at, (own, covariance) in fresh.items():
        fit.covariances[at] = _joined(fit.covariances.get(at), own, covariance, columns)
    _recount(fit, rows, n, columns)
    model.n_sales = int(n.sum())
    return model


def _as_of(fit: Fit) -> float:
    return fit.space.time.as_of_days if fit.space.time is not None else 0.0


def _renumber(groups: list[Group]) -> list[Group]:
    out: list[Group] = []
    at = 0
    for g in groups:
        shift = at - g.start
        reference = g.reference + shift if g.reference >= 0 else -1
        out.append(replace(g, start=at, stop=at + g.size, reference=reference))
        at += g.size
    return out


def _offsets(fit: Fit) -> Floats:
    """Mean by category of the lines that cells cannot hold, from the pool; of all where none."""
    inside = [
        i for i, name in enumerate(fit.lines.names)
        if name in {"base", "family", "category", "time", *read.FACTORS}
    ]  # fmt: skip
    outside = np.setdiff1d(np.arange(len(fit.lines.names)), inside)
    pool = fit.pool.whole()
    extra = pool.effects[:, outside].sum(axis=1)
    category = pool.category
    k = len(fit.space.categories)
    counts = np.bincount(category, minlength=k)
    sums = np.bincount(category, extra, k)
    overall = float(extra.mean()) if extra.size else 0.0
    return np.where(counts > 0, sums / np.maximum(counts, 1), overall)


def _replace(
    table: dict[int, tuple[Ints, Floats]], fresh: dict[int, tuple[Ints, Floats]], columns: Ints
) -> None:
    for place, (own, value) in fresh.items():
        old_own, old_value = table.get(place, (np.zeros(0, np.int64), np.zeros(0)))
        keep = ~np.isin(old_own, columns)
        joined = np.concatenate([old_own[keep], columns[own]])
        order = np.argsort(joined, kind="stable")
        table[place] = (joined[order], np.concatenate([old_value[keep], value])[order])


def _joined(
    before: tuple[Ints, Floats] | None, own: Ints, covariance: Floats, columns: Ints
) -> tuple[Ints, Floats]:
    """The new covariances of the refitted columns beside the old ones of the others."""
    if before is None:
        return own, covariance
    old = np.flatnonzero(~np.isin(before[0], columns))
    joined = np.concatenate([own, before[0][old]])
    block = np.zeros((joined.size, joined.size), dtype=np.float32)
    block[: own.size, : own.size] = covariance
    block[own.size :, own.size :] = before[1][np.ix_(old, old)]
    order = np.argsort(joined, kind="stable")
    return joined[order], cast(Floats, block[np.ix_(order, order)])


def _recount(fit: Fit, rows: Encoded, n: Floats, columns: Ints) -> None:
    row = np.repeat(np.arange(n.size), np.diff(rows.matrix.indptr))
    refitted = np.isin(rows.matrix.indices, columns)
    row, column = row[refitted], rows.matrix.indices[refitted]
    for level, place in enumerate((np.zeros(n.size, np.int64), rows.family, rows.category)):
        known = place[row] >= 0
        size = (int(place.max(initial=0)) + 1, fit.space.n_columns)
        key = place[row[known]] * size[1] + column[known]
        counts = np.bincount(key, n[row[known]], size[0] * size[1]).reshape(size)
        for number in range(size[0]):
            if (level, number) in fit.column_counts:
                fit.column_counts[level, number][columns] = counts[number, columns]
    k = len(fit.space.classes)
    for place, counts in ((rows.category, fit.own_counts), (rows.family, fit.family_counts)):
        known = (place >= 0) & (rows.attribution >= 0)
        key = place[known] * k + rows.attribution[known]
        fresh = np.bincount(key, n[known], counts.size).astype(np.int64)
        counts[:] = fresh.reshape(counts.shape)
