"""Sales as points, so that like pieces lie near each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.encoding import Encoded
from pipeline.statistics.features import DAYS_IN_YEAR, FeatureSpace
from pipeline.statistics.lines import Lines
from pipeline.statistics.neighbours import Embedding

_WORD_AXES = 16
# A term with more labels than this gets a random direction for each, nearly at right angles.
_LABEL_AXES = 12


@dataclass(frozen=True)
class PointMaker:
    """What turns encoded rows into points.

    parts: names; part_of: of each axis; scale: each axis is divided by its part's;
    word_weights: rarity of each word; word_axes: words x axes; label_axes: by term.
    """

    parts: tuple[str, ...]
    part_of: Ints
    scale: Floats
    word_weights: Floats
    word_axes: Floats
    label_axes: dict[str, Floats]

    def points(
        self, space: FeatureSpace, lines: Lines, rows: Encoded, effects: Floats
    ) -> Embedding:
        raw, _ = _raw(space, lines, rows, effects, self)
        return Embedding(raw / self.scale, self.part_of, self.parts)


def learn_points(
    space: FeatureSpace, lines: Lines, rows: Encoded, effects: Floats, seed: int
) -> PointMaker:
    """Axes from the sales of the fit.

    Args:
        effects: rows x lines, from `by_line`.
    """
    rng = np.random.default_rng(seed)
    label_axes = {
        name: _axes(len(labels), rng)
        for name, labels in {**space.factors, "category": space.categories}.items()
    }
    word = space.group("word")
    weights, axes = np.zeros(0), np.zeros((0, 0))
    if word is not None and word.size > 2:
        titles = rows.matrix[:, word.start : word.stop]
        frequency = np.bincount(titles.indices, minlength=word.size)
        weights = np.log((titles.shape[0] + 1.0) / (frequency + 1.0))
        unit = _unit_rows(titles, weights)
        k = min(_WORD_AXES, min(unit.shape) - 1)
        start = rng.normal(size=min(unit.shape))
        _, _, right = sparse.linalg.svds(unit, k=k, v0=start)
        axes = np.asarray(right.T)
    bare = PointMaker((), np.zeros(0, np.int64), np.ones(1), weights, axes, label_axes)
    raw, named = _raw(space, lines, rows, effects, bare)
    parts = tuple(name for name, _ in named)
    part_of = np.repeat(np.arange(len(named)), [width for _, width in named])
    scale = np.ones(raw.shape[1])
    for p, (name, _) in enumerate(named):
        if name.startswith(("size", "effect", "expected")):
            spread = float(raw[:, part_of == p].std())
            scale[part_of == p] = spread if spread > 1e-9 else 1.0
    return PointMaker(parts, part_of, scale, weights, axes, label_axes)


def _axes(n: int, rng: np.random.Generator) -> Floats:
    """A direction for each label; any two differ by about the root of two."""
    if n <= _LABEL_AXES:
        return np.eye(n)
    axes = rng.normal(size=(n, _LABEL_AXES))
    return np.asarray(axes / np.linalg.norm(axes, axis=1, keepdims=True))


def _unit_rows(titles: sparse.csr_array, weights: Floats) -> sparse.csr_array:
    data = titles.data * weights[titles.indices]
    row = np.repeat(np.arange(titles.shape[0]), np.diff(titles.indptr))
    norm = np.sqrt(np.bincount(row, data**2, titles.shape[0]))
    data = data / np.maximum(norm, 1e-12)[row]
    return sparse.csr_array((data, titles.indices, titles.indptr), shape=titles.shape)


def _raw(
    space: FeatureSpace, lines: Lines, rows: Encoded, effects: Floats, maker: PointMaker
) -> tuple[Floats, list[tuple[str, int]]]:
    blocks: list[Floats] = []
    named: list[tuple[str, int]] = []

    def add(name: str, values: Floats) -> None:
        block = values.reshape(values.shape[0], -1)
        if block.shape[1]:
            blocks.append(block)
            named.append((name, block.shape[1]))

    add("expected price", effects.sum(axis=1))
    if space.time is not None:
        day = np.where(np.isnan(rows.day), space.time.as_of_days, rows.day)
        add("time", (day - space.time.as_of_days) / DAYS_IN_YEAR)
    for i, m in enumerate(space.measures):
        add(f"size {m.name}", rows.standard[:, i])
    for name in space.factors:
        group = space.group(name)
        if group is not None:
            part = rows.matrix[:, group.start : group.stop]
            add(name, np.asarray(part @ maker.label_axes[name]))
            add(f"effect {name}", effects[:, lines.names.index(name)])
    if len(space.categories) > 1:
        axes = np.vstack(
            [maker.label_axes["category"], np.zeros(maker.label_axes["category"].shape[1])]
        )
        add("category", axes[rows.category])
    for name in ("word", "fault"):
        if name in lines.names:
            add(f"effect {name}", effects[:, lines.names.index(name)])
    word = space.group("word")
    if word is not None and maker.word_axes.size:
        unit = _unit_rows(rows.matrix[:, word.start : word.stop], maker.word_weights)
        add("words", np.asarray(unit @ maker.word_axes))
    return np.hstack(blocks), named
