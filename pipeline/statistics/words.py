"""Titles to words and word pairs: what a title says that no column does.

Python touches each distinct title once; everything else is arrays.
"""

from __future__ import annotations

import html
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from pipeline.statistics.arrays import Ints

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)?")
_TAG = re.compile(r"<[^>]{1,200}>")
PAIR = " "


def tokens(title: str) -> list[str]:
    """Lower-case words of a title in their order; entities and marks of HTML are undone first."""
    text = _TAG.sub(" ", html.unescape(html.unescape(title)))
    text = unicodedata.normalize("NFKC", text).casefold().replace("’", "'")
    return _WORD.findall(text)


def phrases(title: str) -> list[str]:
    """The distinct words and adjacent pairs of a title.

    A bare number is no word (sizes are read elsewhere) but may stand in a pair ("2 wheels").
    """
    found = tokens(title)
    single = [w for w in found if len(w) > 1 and not w.isdigit()]
    pairs = [a + PAIR + b for a, b in pairwise(found) if not (a.isdigit() and b.isdigit())]
    return list(dict.fromkeys(single + pairs))


class TitleIndex:
    """Distinct titles of a column and the phrases of each, as flat arrays."""

    def __init__(self, titles: Sequence[str | None] | npt.NDArray[np.object_]) -> None:
        place: dict[str, int] = {}
        self.title_of = np.fromiter(
            (place.setdefault(t or "", len(place)) for t in titles), dtype=np.int64
        )
        self.distinct = [phrases(t) for t in place]

    def counts(self) -> Counter[str]:
        """In how many rows each phrase occurs."""
        rows = np.bincount(self.title_of, minlength=len(self.distinct))
        out: Counter[str] = Counter()
        for n, found in zip(rows.tolist(), self.distinct, strict=True):
            for phrase in found:
                out[phrase] += n
        return out

    def rows_and_columns(self, column_of: dict[str, int]) -> tuple[Ints, Ints]:
        """(row, column) of every occurrence of a known phrase."""
        known = [[column_of[p] for p in found if p in column_of] for found in self.distinct]
        sizes = np.array([len(k) for k in known], dtype=np.int64)
        flat = np.array([c for k in known for c in k], dtype=np.int64)
        starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
        per_row = sizes[self.title_of] if self.title_of.size else sizes[:0]
        rows = np.repeat(np.arange(self.title_of.size), per_row)
        if rows.size == 0:
            return rows.astype(np.int64), np.zeros(0, dtype=np.int64)
        first = np.repeat(starts[self.title_of], per_row)
        offset = np.arange(rows.size) - np.repeat(np.cumsum(per_row) - per_row, per_row)
        return rows, flat[first + offset]


def choose_words(
    counts: Counter[str], n_titles: int, *, least: int, most: int, most_share: float
) -> list[str]:
    """Words and pairs worth an effect: often enough, not in every title, most frequent first.

    A pair that occurs as often as one of its words says nothing more than the word, and is left
    out when that word is in.
    """
    usable: Iterable[tuple[str, int]] = (
        (phrase, n) for phrase, n in counts.items() if least <= n <= most_share * n_titles
    )
    ranked = sorted(usable, key=lambda item: (-item[1], item[0]))
    chosen: list[str] = []
    for phrase, n in ranked:
        if PAIR in phrase:
            parts = phrase.split(PAIR)
            if any(counts[part] == n for part in parts if not part.isdigit()):
                continue
        chosen.append(phrase)
        if len(chosen) == most:
            break
    return chosen
