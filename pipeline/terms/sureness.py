"""How sure a reading of a title is: the chance in 100 that it is right.

A logistic model over signs that can be seen without knowing the answer: the name stands in a later
clause, is one word, has a word behind it that nobody knows, other things are named beside it. The
weights (pipeline/vocabulary/sureness.csv) were fitted to what an earlier reader got wrong at its
first sight of 4,241 labelled texts by 25 hands; `tests/bench/fit_sureness.py` fits them again. A
chance of this kind ranks readings well and is worth more as an order than as a figure.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from pipeline.csv_rows import read_rows
from pipeline.errors import VocabularyError
from pipeline.terms.context import MAIN, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.picks import KindReading
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]
Signs = dict[str, BoolArray]

SURENESS_FILE = Path(__file__).resolve().parent.parent / "vocabulary" / "sureness.csv"
COLUMNS = ("kind", "sign", "weight")
_SLIP = 97.0  # score; below it the word was not spelt as in any label
_LATE = 6  # words before the name
_MANY = 0.4  # share of words that belong to nothing known


def category_signs(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, best: IntArray
) -> Signs:
    """Signs of each title, by name.

    Args:
        things: all findings of categories.
        best: of each title the finding chosen, -1 for none.
    """
    n = stream.n_titles
    has = best >= 0
    signs = {"no finding": ~has}
    if not len(things.start) or not len(stream):
        return signs
    chosen = best[has]
    title = np.flatnonzero(has)
    start, end = things.start[chosen], things.end[chosen]
    signs |= _around(stream, context, has, title, start, end)
    of_title = stream.title[things.start]
    mine = best[of_title]
    other = (mine >= 0) & (np.arange(len(mine)) != mine)
    held = np.maximum(mine, 0)
    unlike = other & (things.concept != things.concept[held])
    count = np.bincount(of_title[unlike], minlength=n)
    before = unlike & (things.start < things.start[held])
    beside = unlike & (stream.clause[things.start] == stream.clause[things.start[held]])
    again = other & (things.concept == things.concept[held])
    signs["others"] = count >= 1
    signs["several others"] = count > 1
    signs["other before"] = _titles(n, of_title[before])
    signs["other beside"] = _titles(n, of_title[beside])
    signs["told once"] = has & ~_titles(n, of_title[again])
    signs["one word"] = _spread(n, title, things.size[chosen] == 1)
    signs["slip"] = _spread(n, title, things.score[chosen] < _SLIP)
    stuff = lexicon.concept_of["material"][things.phrase[chosen]] >= 0
    signs["also a stuff"] = _spread(n, title, stuff)
    top = lexicon.depth("category") == 0
    signs["a whole family"] = _spread(n, title, top[things.concept[chosen]])
    signs["later, one word"] = signs["later clause"] & signs["one word"]
    return signs


def material_signs(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    head: IntArray,
    start: IntArray,
    end: IntArray,
    concept: IntArray,
    score: FloatArray,
    place: npt.NDArray[np.int8],
    best: IntArray,
) -> Signs:
    """Signs of each title, by name.

    Args:
        head: of each title the index of its category among `things`, -1 for none.
        start, end, concept, score, place: of the findings of materials.
        best: of each title the finding chosen, -1 for none.
    """
    n = stream.n_titles
    has = best >= 0
    title = np.flatnonzero(has)
    chosen = best[has]
    signs = _around(stream, context, has, title, start[chosen], end[chosen])
    of_title = stream.title[start]
    mine = best[of_title]
    held = np.maximum(mine, 0)
    unlike = (mine >= 0) & (concept != concept[held])
    whole = unlike & (place <= place[held])
    before = unlike & (start < start[held])
    count = np.bincount(of_title[unlike], minlength=n)
    signs["others"] = count >= 1
    signs["several others"] = count > 1
    signs["other whole"] = _titles(n, of_title[whole])
    signs["other before"] = _titles(n, of_title[before])
    signs["one word"] = _spread(n, title, end[chosen] - start[chosen] == 1)
    signs["slip"] = _spread(n, title, score[chosen] < _SLIP)
    signs["technique"] = _spread(n, title, _aspect(lexicon, "technique")[concept[chosen]])
    signs["finish"] = _spread(n, title, _aspect(lexicon, "finish")[concept[chosen]])
    signs["of the body"] = _spread(n, title, (place[chosen] > 0))
    names = np.zeros(len(stream) + 1, dtype=bool)
    names[things.start] = True
    at = np.minimum(end[chosen], len(stream) - 1)
    follows = names[end[chosen]] & context.linked[at]
    signs["before a name"] = _spread(n, title, follows)
    signs["no kind"] = has & (head < 0)
    head_start = np.append(things.start, 0)[head[title]]
    signs["before the kind"] = _spread(n, title, (head[title] >= 0) & (start[chosen] < head_start))
    apart = stream.clause[start[chosen]] != stream.clause[head_start]
    signs["other clause"] = _spread(n, title, (head[title] >= 0) & apart)
    signs["addition"] = _spread(n, title, context.zone[start[chosen]] != MAIN)
    return signs


def settle_sureness(kind: str, reading: KindReading, signs: Signs) -> None:
    """Put the chance that each reading is right into `reading.sureness`."""
    weights = load_weights().get(kind)
    if weights is None:
        return
    log_odds = np.full(len(reading.concept), weights.get("", 0.0), dtype=np.float32)
    for sign, flags in signs.items():
        weight = weights.get(sign, 0.0)
        if weight:
            log_odds[flags] += np.float32(weight)
    wrong = 1.0 / (1.0 + np.exp(-log_odds))
    reading.sureness = (100.0 * (1.0 - wrong)).astype(np.float32)


def load_weights(path: Path = SURENESS_FILE) -> dict[str, dict[str, float]]:
    """Kind -> sign -> weight of the log-odds of being wrong; the sign "" is the constant.

    Raises:
        VocabularyError: a weight that is no number.
    """
    status = path.stat()
    return _load(path, status.st_mtime_ns)


@lru_cache(maxsize=4)
def _load(path: Path, _modified: int) -> dict[str, dict[str, float]]:
    weights: dict[str, dict[str, float]] = {}
    for line, row in read_rows(path, COLUMNS, VocabularyError):
        try:
            weights.setdefault(row["kind"], {})[row["sign"]] = float(row["weight"])
        except ValueError:
            raise VocabularyError(
                f"The weight '{row['weight']}' is no number.",
                where=f"{path}, line {line}, column weight",
                todo="Write a number such as 0.85.",
            ) from None
    return weights


def _around(
    stream: TokenStream,
    context: Context,
    has: BoolArray,
    title: npt.NDArray[np.intp],
    start: IntArray,
    end: IntArray,
) -> Signs:
    """What stands around the words chosen, the same for every kind."""
    n, last = stream.n_titles, len(stream) - 1
    first = stream.first[title]
    strange = ~context.known & ~context.is_number
    before, at = np.maximum(start - 1, 0), np.minimum(end, last)
    leads = (start > first) & context.linked[start] & ~context.is_number[before]
    follows = (end < stream.first[title + 1]) & context.linked[at] & ~context.is_number[at]
    so_far = np.append(0, np.cumsum(strange))
    opening = stream.first_of_clause(start)
    words = np.maximum(np.diff(stream.first), 1)
    share = (so_far[stream.first[1:]] - so_far[stream.first[:-1]]) / words
    return {
        "later clause": _spread(n, title, stream.clause[start] != stream.clause[first]),
        "unknown before": _spread(n, title, leads & strange[before]),
        "unknown behind": _spread(n, title, follows & strange[at]),
        "known behind": _spread(n, title, follows & ~strange[at]),
        "unknown in its clause": _spread(n, title, so_far[start] > so_far[opening]),
        "late": _spread(n, title, start - first >= _LATE),
        "many unknown": has & (share > _MANY),
    }


def _spread(n: int, title: npt.NDArray[np.intp], flags: BoolArray) -> BoolArray:
    """Flags of the titles that have a reading, over all titles."""
    spread = np.zeros(n, dtype=bool)
    spread[title[flags]] = True
    return spread


def _titles(n: int, title: IntArray) -> BoolArray:
    flags = np.zeros(n, dtype=bool)
    flags[title] = True
    return flags


def _aspect(lexicon: Lexicon, aspect: str) -> BoolArray:
    """As the vocabulary has it: unlike in `aspects_of`, a plated metal is a finish here."""

    def make() -> BoolArray:
        concepts = lexicon.vocabulary.concepts("material")
        return np.array([one.extra.get("aspect") == aspect for one in concepts] or [False])

    flags: BoolArray = lexicon.memo(f"aspect {aspect}", make)
    return flags
