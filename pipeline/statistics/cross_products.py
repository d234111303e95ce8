"""Sales counted for the model: cross products by category and family, all that a fit needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from pipeline.statistics.arrays import Bools, Floats, Ints, group_starts
from pipeline.statistics.features import CATEGORY, Group


@dataclass(frozen=True)
class Leaf:
    """Counted sales of one category.

    columns: features that occur; able: places in columns that may have an effect of the
    category's own; gram: weighted cross products, able x columns; right: those with the values,
    one a column; n: sales.
    """

    category: int
    family: int
    columns: Ints
    able: Ints
    gram: Floats
    right: Floats
    n: float


@dataclass
class Branch:
    """Counted sales of one family: its leaves, its columns, and their full cross products."""

    family: int
    columns: Ints
    gram: Floats
    right: Floats
    leaves: list[Leaf]


@dataclass(frozen=True)
class Counted:
    """All branches, and the sums over all sales: n sales, weighted sum of squared values."""

    branches: tuple[Branch, ...]
    n: float
    squares: float
    n_columns: int


def _columns_on(groups: Sequence[Group], n_columns: int, level: int) -> Bools:
    out = np.zeros(n_columns, dtype=bool)
    for group in groups:
        out[group.start : group.stop] = group.levels[level]
    return out


def count(
    matrix: sparse.csr_array,
    values: Floats,
    weights: Floats,
    category: Ints,
    family: Ints,
    groups: Sequence[Group],
    *,
    sales: Floats | None = None,
    squares: float | None = None,
) -> Counted:
    """Cross products by category and family.

    Args:
        matrix: rows x features; a row is a sale, or a cell of sales alike.
        values: value of each row (mean of a cell); weights: precision of each row (sum over the
            cell); category, family: of each row.
        groups: of the features, in order.
        sales: number of sales of each row, one if None.
        squares: weighted sum of squares of the single values, for cells; from the rows if None.
    """
    n_columns = int(matrix.shape[1])
    able_columns = _columns_on(groups, n_columns, CATEGORY)
    number = np.ones(values.size) if sales is None else sales
    total = float((weights * values**2).sum()) if squares is None else squares
    place = np.zeros(n_columns, dtype=np.int64)
    order = np.lexsort((category, family))
    n_families = int(family.max()) + 1 if family.size else 0
    starts = group_starts(family[order], n_families)
    branches = []
    for f in range(n_families):
        rows = order[starts[f] : starts[f + 1]]
        if rows.size == 0:
            continue
        columns = np.unique(matrix[rows].indices).astype(np.int64)
        branch = Branch(
            f, columns, np.zeros((columns.size, columns.size)), np.zeros(columns.size), []
        )
        cuts = np.flatnonzero(np.diff(category[rows])) + 1
        for mine in np.split(rows, cuts):
            part = matrix[mine]
            here = np.unique(part.indices).astype(np.int64)
            place[here] = np.arange(here.size)
            local = sparse.csr_array(
                (part.data, place[part.indices], part.indptr), shape=(mine.size, here.size)
            )
            gram, right = _cross(local, weights[mine], values[mine])
            able = np.flatnonzero(able_columns[here])
            branch.leaves.append(
                Leaf(
                    int(category[mine[0]]),
                    f,
                    here,
                    able,
                    gram[able],
                    right,
                    float(number[mine].sum()),
                )
            )
            at = np.searchsorted(columns, here)
            branch.gram[np.ix_(at, at)] += gram
            branch.right[at] += right
        branches.append(branch)
    return Counted(tuple(branches), float(number.sum()), total, n_columns)


def _cross(local: sparse.csr_array, w: Floats, y: Floats) -> tuple[Floats, Floats]:
    filled = local.nnz / max(local.shape[0] * local.shape[1], 1)
    if filled > 0.08 and local.shape[0] * local.shape[1] < 30_000_000:
        dense = local.toarray()
        weighted = dense * w[:, None]
        return dense.T @ weighted, weighted.T @ y
    weighted_sparse = sparse.csr_array(local.multiply(w[:, None]))
    return (local.T @ weighted_sparse).toarray(), np.asarray(weighted_sparse.T @ y)


def only(counted: Counted, live: Bools) -> Counted:
    """The same sums on the columns that still have an effect somewhere."""
    if all(live[branch.columns].all() for branch in counted.branches):
        return counted
    branches = []
    for branch in counted.branches:
        keep = np.flatnonzero(live[branch.columns])
        leaves = []
        for leaf in branch.leaves:
            here = np.flatnonzero(live[leaf.columns])
            able = np.flatnonzero(live[leaf.columns[leaf.able]])
            leaves.append(
                Leaf(
                    leaf.category,
                    leaf.family,
                    leaf.columns[here],
                    np.searchsorted(here, leaf.able[able]),
                    leaf.gram[np.ix_(able, here)],
                    leaf.right[here],
                    leaf.n,
                )
            )
        branches.append(
            Branch(
                branch.family,
                branch.columns[keep],
                branch.gram[np.ix_(keep, keep)],
                branch.right[keep],
                leaves,
            )
        )
    return Counted(tuple(branches), counted.n, counted.squares, counted.n_columns)
