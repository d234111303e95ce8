"""How wide a prediction's error is expected to be: a second, smaller model, of log |error|."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.cross_products import count
from pipeline.statistics.encoding import Encoded
from pipeline.statistics.features import FeatureSpace, Group
from pipeline.statistics.hierarchy import Solution, Tree

_KNOTS = 8
# Errors below this share of the median error say no more than it does.
_LEAST_SHARE = 0.1


@dataclass(frozen=True)
class Dispersion:
    """columns: of the features that may change the width; curves: knots over the expected price,
    the neighbours' uncertainty and their spread; solution: effects on log width."""

    columns: Ints
    curves: tuple[Floats, ...]
    groups: tuple[Group, ...]
    centre: float
    solution: Solution | None
    limits: tuple[float, float]

    def widths(self, rows: Encoded, signs: Floats) -> Floats:
        """Expected scale of the error of each row, log units, above zero."""
        if self.solution is None:
            return np.full(rows.matrix.shape[0], np.exp(self.centre))
        matrix = _matrix(rows, signs, self.columns, self.curves)
        out = np.full(rows.matrix.shape[0], self.centre)
        places = rows.family * (int(rows.category.max(initial=0)) + 2) + rows.category + 1
        for place in np.unique(places):
            mine = np.flatnonzero(places == place)
            effect = self.solution.total(int(rows.family[mine[0]]), int(rows.category[mine[0]]))
            out[mine] += matrix[mine] @ effect
        return np.asarray(np.exp(np.clip(out, *self.limits)))


def _matrix(
    rows: Encoded, signs: Floats, columns: Ints, curves: tuple[Floats, ...]
) -> sparse.csr_array:
    blocks = [rows.matrix[:, columns]]
    for i, knots in enumerate(curves):
        inside = np.clip(signs[:, i], knots[0], knots[-1])
        below = np.clip(np.searchsorted(knots, inside, side="right") - 1, 0, knots.size - 2)
        above = (inside - knots[below]) / (knots[below + 1] - knots[below])
        hats = np.zeros((inside.size, knots.size))
        hats[np.arange(inside.size), below] = 1 - above
        hats[np.arange(inside.size), below + 1] = above
        blocks.append(sparse.csr_array(hats))
    return sparse.csr_array(sparse.hstack(blocks, format="csr"))


def learn_dispersion(
    space: FeatureSpace, rows: Encoded, signs: Floats, error: Floats, weight: Floats
) -> Dispersion:
    """The model of widths from errors of sales left out of their own prediction.

    Args:
        signs: rows x k, numbers that foretell the error (expected price, neighbours' ones).
        error: log units; weight: 0 to 1.
    """
    size = np.abs(error)
    middle = max(float(np.median(size)), 1e-6)
    value = np.log(np.maximum(size, _LEAST_SHARE * middle))
    centre = float(np.average(value, weights=weight))
    limits = (float(np.quantile(value, 0.02)), float(np.quantile(value, 0.98)))
    none = Dispersion(np.zeros(0, np.int64), (), (), centre, None, limits)
    if error.size < 40:
        return none
    names = {"attribution", "measure", "measure missing", "fault", *space.factors}
    columns: list[int] = []
    groups: list[Group] = []
    at = 0
    for group in space.groups:
        if group.name not in names:
            continue
        columns.extend(range(group.start, group.stop))
        levels = group.levels if group.name == "attribution" else (True, False, False)
        groups.append(Group(group.name, at, at + group.size, group.kind, levels, group.labels))
        at += group.size
    curves: list[Floats] = []
    for i in range(signs.shape[1]):
        knots = np.unique(np.quantile(signs[:, i], np.linspace(0.01, 0.99, _KNOTS)))
        if knots.size < 3 or np.ptp(knots) < 1e-9:
            knots = np.array([-1.0, 0.0, 1.0]) + float(np.median(signs[:, i]))
        curves.append(knots)
        labels = tuple(f"{k:.3g}" for k in knots)
        groups.append(Group(f"sign {i}", at, at + knots.size, "iid", (True, False, False), labels))
        at += knots.size
    chosen = np.array(columns, dtype=np.int64)
    matrix = _matrix(rows, signs, chosen, tuple(curves))
    counted = count(matrix, value - centre, weight, rows.category, rows.family, groups)
    solution = Tree(counted, groups).reml(rounds=8)
    return Dispersion(chosen, tuple(curves), tuple(groups), centre, solution, limits)
