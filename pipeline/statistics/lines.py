"""The sum that a person can read: effects gathered into a few named lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.encoding import Encoded
from pipeline.statistics.features import FAULT, FAULT_ALONE, SEVERITY, FeatureSpace
from pipeline.statistics.hierarchy import Solution

BASE, OF_FAMILY, OF_CATEGORY = "base", "family", "category"


@dataclass(frozen=True)
class Lines:
    """names: of the lines; of_column: the line of each feature (of shared effects; the attribution
    columns lie on `base`, their departures on `family` and `category`)."""

    names: tuple[str, ...]
    of_column: Ints
    attribution: tuple[int, int]


def line_name(group: str) -> str:
    """The line that a group of features is shown on."""
    if group == "attribution":
        return BASE
    if group == FAULT_ALONE:
        return FAULT
    if group.endswith(SEVERITY):
        return group.removesuffix(SEVERITY)
    if group in ("trend", "time"):
        return "time"
    for prefix in ("slope by ", "bend by "):
        if group.startswith(prefix):
            return "size by " + group.removeprefix(prefix)
    if group in ("measure", "measure missing", "product") or group.startswith("curve "):
        return "size"
    return group


def lay_lines(space: FeatureSpace) -> Lines:
    """Lines in the order of the features."""
    names = [BASE, OF_FAMILY, OF_CATEGORY]
    of_column = np.zeros(space.n_columns, dtype=np.int64)
    attribution = (0, 0)
    for group in space.groups:
        name = line_name(group.name)
        if name not in names:
            names.append(name)
        of_column[group.start : group.stop] = names.index(name)
        if group.name == "attribution":
            attribution = (group.start, group.stop)
    return Lines(tuple(names), of_column, attribution)


def by_line(rows: Encoded, solution: Solution, lines: Lines) -> Floats:
    """Effects of each row on each line, log units: rows x lines; a row sums to its log centre."""
    n, k = rows.matrix.shape[0], len(lines.names)
    out = np.zeros((n, k))
    if n == 0:
        return out
    places = rows.family * (int(rows.category.max()) + 2) + rows.category + 1
    order = np.argsort(places, kind="stable")
    cuts = np.flatnonzero(np.diff(places[order])) + 1
    first, last = lines.attribution
    for mine in np.split(order, cuts):
        family, category = int(rows.family[mine[0]]), int(rows.category[mine[0]])
        part = rows.matrix[mine]
        row = np.repeat(np.arange(mine.size), np.diff(part.indptr)) * k
        is_base = (part.indices >= first) & (part.indices < last)
        shared = part.data * solution.shared[part.indices]
        line = lines.of_column[part.indices]
        total = np.bincount(row + line, shared, mine.size * k)
        for level, (known, table) in enumerate(
            ((family, solution.family), (category, solution.category)), start=1
        ):
            if known in table:
                own, value = table[known]
                departure = np.zeros(solution.shared.size)
                departure[own] = value
                at = np.where(is_base, level, line)
                total += np.bincount(row + at, part.data * departure[part.indices], mine.size * k)
        out[mine] = total.reshape(mine.size, k)
    return out
