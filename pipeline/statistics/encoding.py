"""Rows of a table in the columns that a feature space has learned."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pyarrow as pa
from scipy import sparse

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.features import (
    CONDITION,
    FAULT,
    FAULT_ALONE,
    FeatureSpace,
    Group,
    coarse_knots,
    severity_name,
)
from pipeline.statistics.usual_measures import log_of
from pipeline.statistics.words import TitleIndex


@dataclass(frozen=True)
class Encoded:
    """n rows ready for the model.

    matrix: n x features; family, category, attribution: places in the space's lists, -1 for what
    was never seen; day: days since 1970, NaN where none is told; standard: n x measures, in
    standard deviations from the mean, the category's usual one where none is told.
    """

    matrix: sparse.csr_array
    family: Ints
    category: Ints
    attribution: Ints
    day: Floats
    standard: Floats


class _Cells:
    """Collects (row, column, value) and makes one sparse matrix of them."""

    def __init__(self, n_rows: int) -> None:
        self.n_rows = n_rows
        self.rows: list[Ints] = []
        self.columns: list[Ints] = []
        self.values: list[Floats] = []

    def add(self, rows: Ints, columns: Ints, values: Floats | None = None) -> None:
        self.rows.append(rows)
        self.columns.append(columns)
        self.values.append(np.ones(rows.size) if values is None else values)

    def add_codes(self, codes: Ints, start: int, values: Floats | None = None) -> None:
        known = np.flatnonzero(codes >= 0)
        self.add(known, start + codes[known], None if values is None else values[known])

    def matrix(self, n_columns: int) -> sparse.csr_array:
        rows = np.concatenate(self.rows) if self.rows else np.zeros(0, np.int64)
        columns = np.concatenate(self.columns) if self.columns else np.zeros(0, np.int64)
        values = np.concatenate(self.values) if self.values else np.zeros(0)
        return sparse.csr_array(
            sparse.coo_array((values, (rows, columns)), shape=(self.n_rows, n_columns))
        )


def _hat_cells(z: Floats, knots: Floats) -> tuple[Ints, Floats]:
    """The knot below each value and the share of the knot above it (held at the ends)."""
    inside = np.clip(z, knots[0], knots[-1])
    below = np.clip(np.searchsorted(knots, inside, side="right") - 1, 0, knots.size - 2)
    return below, (inside - knots[below]) / (knots[below + 1] - knots[below])


def encode(
    table: pa.Table, space: FeatureSpace, *, said_in_full: bool = True, with_words: bool = True
) -> Encoded:
    """The rows of a table in the learned columns; labels never seen have no column.

    A row without a title counts as one with the usual words of its category: what was not said is
    not known, and a category's level lies in part on the words that its sellers use.

    Args:
        said_in_full: whether a title holds all that a seller would say; else a word that it lacks
            counts as usual too. For pieces that somebody describes in a few words.
        with_words: without, the columns of words stay empty. Cells of sales have no titles, and the
            usual words of each would fill the memory for nothing where no word is fitted.
    """
    n = table.num_rows
    cells = _Cells(n)
    of = {g.name: g for g in space.groups}
    category = _codes(table, "category_id", space.categories, n, alone="all")
    attribution = _codes(table, "attribution", space.classes, n)
    cells.add_codes(attribution, of["attribution"].start)
    coded: dict[str, Ints] = {}
    for name, labels in space.factors.items():
        coded[name] = _codes(table, name, labels, n)
        cells.add_codes(coded[name], of[name].start)
    flagged = read.flags(table)
    if flagged is not None and "fault" in of:
        codes = flagged[1].coded_as(space.faults)
        unique = np.unique(flagged[0] * (len(space.faults) + 1) + codes + 1)
        rows, members = np.divmod(unique, len(space.faults) + 1)
        cells.add(rows[members > 0], of["fault"].start + members[members > 0] - 1)
    titles = read.texts(table, "title_text")
    if titles is not None and "word" in of and with_words:
        place = {word: i for i, word in enumerate(space.words)}
        rows, columns = TitleIndex(titles).rows_and_columns(place)
        cells.add(rows, of["word"].start + columns)
    if "word" in of and with_words:
        _add_usual_words(cells, of["word"], space, category, titles, said_in_full)
    standard = _standard_measures(table, space, category)
    _encode_measures(cells, of, space, standard, category, said_in_full)
    day = read.days(table)
    if day is None:
        day = np.full(n, np.nan)
    if space.time is not None and "trend" in of:
        years = space.time.years(day, space.settings.trend_damping)
        cells.add(np.arange(n), np.full(n, of["trend"].start), years)
        bins = space.time.bins(day)
        cells.add_codes(np.where(bins == space.time.n - 1, -1, bins), of["time"].start)
    _encode_interactions(cells, of, space, coded, standard)
    bare = Encoded(
        matrix=cells.matrix(space.n_columns),
        family=_families(table, space, n),
        category=category,
        attribution=attribution,
        day=day,
        standard=np.where(np.isnan(standard), space.usual_measures[category], standard),
    )
    return with_severities(bare, space)


def with_severities(rows: Encoded, space: FeatureSpace) -> Encoded:
    """The rows with how severe their condition and faults are, as far as the space has learned it.

    Each severity's column holds the sum of the shared effects (log units) of the row's labels; that
    of faults without a told condition holds the faults' sum where the condition is unknown.
    """
    matrix = rows.matrix
    for name, scores in space.severities.items():
        factor, severity = space.group(name), space.group(severity_name(name))
        if factor is None or severity is None:
            continue
        told = matrix[:, factor.start : factor.stop] @ scores
        matrix = _with_column(matrix, severity.start, told)
        alone, condition = space.group(FAULT_ALONE), space.group(CONDITION)
        if name == FAULT and alone is not None and condition is not None:
            place = condition.start + condition.labels.index(read.UNKNOWN)
            silent = matrix[:, [place]].toarray()[:, 0]
            matrix = _with_column(matrix, alone.start, told * silent)
    return replace(rows, matrix=matrix)


def _with_column(matrix: sparse.csr_array, at: int, values: Floats) -> sparse.csr_array:
    there = np.flatnonzero(values)
    column = sparse.csr_array(
        (values[there], (there, np.zeros(there.size, np.int64))), shape=(matrix.shape[0], 1)
    )
    return sparse.csr_array(
        sparse.hstack([matrix[:, :at], column, matrix[:, at + 1 :]], format="csr")
    )


def _add_usual_words(
    cells: _Cells,
    group: Group,
    space: FeatureSpace,
    category: Ints,
    titles: np.ndarray | None,
    said_in_full: bool,
) -> None:
    """The words that a row does not say, each by the share of its category's titles with it."""
    n = category.size
    silent = np.ones(n, dtype=bool) if titles is None else titles == ""
    chosen = np.arange(n) if not said_in_full else np.flatnonzero(silent)
    if chosen.size == 0:
        return
    overall = space.usual_words.mean(axis=0, keepdims=True)
    usual = sparse.csr_array(np.vstack([space.usual_words, overall]))
    shares = sparse.coo_array(usual[category[chosen]])
    rows, columns, values = shares.row.astype(np.int64), shares.col.astype(np.int64), shares.data
    if titles is not None:
        place = {word: i for i, word in enumerate(space.words)}
        said_row, said_column = TitleIndex(titles[chosen]).rows_and_columns(place)
        width = max(len(space.words), 1)
        unsaid = ~np.isin(rows * width + columns, said_row * width + said_column)
        rows, columns, values = rows[unsaid], columns[unsaid], values[unsaid]
    cells.add(chosen[rows], group.start + columns, values)


def _codes(
    table: pa.Table, name: str, labels: tuple[str, ...], n: int, alone: str = read.UNKNOWN
) -> Ints:
    one = read.factor(table, name)
    if one is None:
        place = labels.index(alone) if alone in labels else -1
        return np.full(n, place, dtype=np.int64)
    return one.coded_as(labels)


def _families(table: pa.Table, space: FeatureSpace, n: int) -> Ints:
    """A known category decides the family; else the family named; else none (-1)."""
    category = _codes(table, "category_id", space.categories, n, alone="all")
    named = _codes(table, "family_id", space.families, n, alone="all")
    return np.where(category >= 0, space.family_of[np.maximum(category, 0)], named)


def _standard_measures(table: pa.Table, space: FeatureSpace, category: Ints) -> Floats:
    given = read.measures(table)
    out = np.full((category.size, len(space.measures)), np.nan)
    for i, m in enumerate(space.measures):
        if m.name in given:
            values = given[m.name]
            if m.name in space.usual_logs:
                values = log_of(values) - space.usual_logs[m.name][category]
            out[:, i] = m.standard(values)
    return out


def _encode_measures(
    cells: _Cells,
    of: dict[str, Group],
    space: FeatureSpace,
    standard: Floats,
    category: Ints,
    said_in_full: bool,
) -> None:
    """A measure that is not told counts as the usual one of its category. That a seller does not
    tell it, against how usual that is, says something too; of a piece described in a few words it
    does not."""
    rows = np.arange(category.size)
    for i, m in enumerate(space.measures):
        untold = ~np.isfinite(standard[:, i])
        z = np.where(untold, space.usual_measures[category, i], standard[:, i])
        cells.add(rows, np.full(rows.size, of["measure"].start + i), z)
        unlike = untold - space.untold_measures[category, i]
        told_of = np.flatnonzero(unlike != 0) if said_in_full else rows[:0]
        at = np.full(told_of.size, of["measure missing"].start + i)
        cells.add(told_of, at, unlike[told_of])
        curve = of.get(f"curve {m.name}")
        if curve is None:
            continue
        below, above_share = _hat_cells(z, np.array(m.knots))
        for knot, share in ((below, 1 - above_share), (below + 1, above_share)):
            use = (knot != curve.anchor) & (share != 0)
            column = curve.start + np.where(knot > curve.anchor, knot - 1, knot)
            cells.add(rows[use], column[use], share[use])


def _encode_interactions(
    cells: _Cells,
    of: dict[str, Group],
    space: FeatureSpace,
    coded: dict[str, Ints],
    standard: Floats,
) -> None:
    filled = np.nan_to_num(standard)
    for name, chosen in space.slopes.items():
        start = of[f"slope by {name}"].start
        for i, (m, level) in enumerate(chosen):
            rows = np.flatnonzero((coded[name] == level) & (filled[:, m] != 0))
            cells.add(rows, np.full(rows.size, start + i), filled[rows, m])
    for i, (a, b) in enumerate(space.products):
        value = filled[:, a] * filled[:, b]
        rows = np.flatnonzero(value)
        cells.add(rows, np.full(rows.size, of["product"].start + i), value[rows])
    for name in space.bends:
        at = of[f"bend by {name}"].start
        n_levels = len(space.factors[name])
        for i, one_measure in enumerate(space.measures):
            knots = coarse_knots(one_measure)
            rows = np.flatnonzero(np.isfinite(standard[:, i]) & (coded[name] >= 0))
            if knots.size and rows.size:
                below, above_share = _hat_cells(standard[rows, i], knots)
                for knot, share in ((below, 1 - above_share), (below + 1, above_share)):
                    cells.add(rows, at + knot * n_levels + coded[name][rows], share)
            at += knots.size * n_levels
    for one, other in space.pairs:
        key = f"{one} x {other}"
        width = len(space.factors[other])
        place = np.full(len(space.factors[one]) * width, -1, dtype=np.int64)
        for i, (first, second) in enumerate(space.pair_labels[key]):
            place[first * width + second] = i
        both = (coded[one] >= 0) & (coded[other] >= 0)
        joint = np.where(both, coded[one] * width + coded[other], 0)
        cells.add_codes(np.where(both, place[joint], -1), of[key].start)
