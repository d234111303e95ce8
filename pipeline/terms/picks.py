"""Pick, per title, the best of many findings: grouped sorting on whole columns."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyarrow as pa

IntArray = npt.NDArray[np.int32]
FloatArray = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]

ACCEPTED, REVIEW, NONE = "accepted", "review", "none"


@dataclass
class KindReading:
    """What titles say in one kind; every array has one value a title.

    Attributes:
        concept: number of the concept, -1 where none was found.
        score: 0 to 100.
        margin: points above the best other concept, `score` where there is no other.
        doubtful: a reading that a person should see.
        choice: phrase whose meaning hangs on the currency, -1 where none does.
        also: (title, concept) pairs of the other concepts found, in order of place.
        sureness: chance in 100 that it is right, where a model tells (`sureness.py`); else 100.
    """

    concept: IntArray
    score: FloatArray
    margin: FloatArray
    doubtful: BoolArray
    choice: IntArray
    also_title: IntArray
    also_concept: IntArray
    sureness: FloatArray

    @classmethod
    def nothing(cls, n_titles: int) -> KindReading:
        none = np.zeros(0, dtype=np.int32)
        return cls(
            np.full(n_titles, -1, dtype=np.int32),
            np.zeros(n_titles, dtype=np.float32),
            np.zeros(n_titles, dtype=np.float32),
            np.zeros(n_titles, dtype=bool),
            np.full(n_titles, -1, dtype=np.int32),
            none,
            none,
            np.full(n_titles, 100, dtype=np.float32),
        )


def settle(
    reading: KindReading, titles: npt.NDArray[np.integer], concept: int, score: float
) -> None:
    """Give titles a concept that nobody need look at; the score is 0 to 100. Changes `reading`."""
    reading.concept[titles] = concept
    reading.score[titles] = reading.margin[titles] = np.float32(score)
    reading.doubtful[titles] = False
    reading.choice[titles] = -1


def first_in_group(group: IntArray, *keys: npt.NDArray[np.generic]) -> npt.NDArray[np.intp]:
    """Index of the row that comes first by `keys` (most important first) in each group."""
    order = np.lexsort((*reversed(keys), group)) if keys else np.argsort(group, kind="stable")
    ordered = group[order]
    head = np.ones(len(ordered), dtype=bool)
    head[1:] = ordered[1:] != ordered[:-1]
    return order[head]


def distinct_pairs(group: IntArray, value: IntArray) -> npt.NDArray[np.intp]:
    """Rows whose (group, value) is seen for the first time, in their order."""
    if not len(group):
        return np.zeros(0, dtype=np.intp)
    key = group.astype(np.int64) * (int(value.max()) + 2) + value
    _, first = np.unique(key, return_index=True)
    return np.sort(first)


def lists(n_groups: int, group: IntArray, names: tuple[str, ...], value: IntArray) -> pa.Array:
    """A list<string> column: the named values of each group, in their order within it."""
    order = np.argsort(group, kind="stable")
    counts = np.bincount(group, minlength=n_groups) if len(group) else np.zeros(n_groups, int)
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
    values = names_of(names, value[order])
    return pa.ListArray.from_arrays(pa.array(offsets, pa.int32()), values)


def names_of(names: tuple[str, ...], number: IntArray) -> pa.Array:
    """Concept ids for concept numbers; null for -1."""
    indices = pa.array(number, pa.int32(), mask=number < 0)
    return pa.DictionaryArray.from_arrays(indices, _dictionary(names)).cast(pa.string())


@lru_cache(maxsize=32)
def _dictionary(names: tuple[str, ...]) -> pa.Array:
    return pa.array(list(names) if names else [""], pa.string())
