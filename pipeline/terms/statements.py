"""What a title states in one kind: the findings that hold, and the pick among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found
from pipeline.terms.picks import KindReading, distinct_pairs
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
FloatArray = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Statements:
    """Findings of one kind that hold, in order of place."""

    title: IntArray
    concept: IntArray
    start: IntArray
    end: IntArray
    score: FloatArray
    phrase: IntArray


def statements(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, kind: str
) -> Statements:
    """Findings of a kind that are not denied."""
    if kind not in lexicon.concept_of:
        none = np.zeros(0, dtype=np.int32)
        return Statements(none, none, none, none, np.zeros(0, dtype=np.float32), none)
    concept = lexicon.concept_of[kind][found.phrase]
    rows = np.flatnonzero((concept >= 0) & (~found.within | (kind == "period")))
    rows = rows[~context.denied[found.start[rows]]]
    # "sugar shaker" ends with the thing and not with the name of a period
    named = (lexicon.concept_of["category"][found.phrase] >= 0) & ~found.within
    named &= found.end - found.start > 1
    closes = np.zeros(len(stream) + 1, dtype=bool)
    closes[found.end[named]] = True
    rows = rows[~(found.within[rows] & closes[found.end[rows]])]
    return _take(lexicon, stream, found, kind, rows)


_LOT = frozenset(["lot"])
_NUMBER_OF = frozenset(["no", "nr", "number"])


def read_list(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, kind: str
) -> Statements:
    """Every distinct concept of a kind that a title states, such as markers."""
    said = statements(lexicon, stream, found, context, kind)
    if kind == "marker" and len(said.title):
        # "Lot 14 - an oak coffer" is the number in a catalogue
        after = np.minimum(said.end, len(stream) - 1)
        inside = (said.end < len(stream)) & ~stream.starts()[after]
        number = inside & (
            context.is_number[after] | lexicon.words_in(_NUMBER_OF)[stream.word[after]]
        )
        opens = stream.starts()[said.start] & lexicon.words_in(_LOT)[stream.word[said.start]]
        said = subset(said, np.flatnonzero(~(number & opens & (said.end - said.start == 1))))
    return subset(said, distinct_pairs(said.title, said.concept))


def alone_in_clause(stream: TokenStream, said: Statements) -> BoolArray:
    """Which statements are a clause of their own, other than the title's first."""
    starts = stream.starts()[said.start] | ((stream.before[said.start] & CLAUSE) > 0)
    ends = stream.closes_clause(said.end)
    # a title that is nothing but the grade says too little of a piece to trust it
    return starts & ends & ~stream.starts()[said.start]


def ranks(lexicon: Lexicon, kind: str) -> IntArray:
    """The rank of each concept of a kind, 0 where it has none."""
    return lexicon.memo(
        ("rank", kind),
        lambda: np.array(
            [concept.rank or 0 for concept in lexicon.vocabulary.concepts(kind)] or [0],
            dtype=np.int32,
        ),
    )


def _take(
    lexicon: Lexicon, stream: TokenStream, found: Found, kind: str, rows: npt.NDArray[np.intp]
) -> Statements:
    phrase = found.phrase[rows]
    return Statements(
        title=stream.title[found.start[rows]] if len(rows) else np.zeros(0, dtype=np.int32),
        concept=lexicon.concept_of[kind][phrase],
        start=found.start[rows],
        end=found.end[rows],
        score=np.minimum(found.score[rows], lexicon.score_of[kind][phrase]),
        phrase=phrase,
    )


def subset(said: Statements, rows: npt.NDArray[np.intp]) -> Statements:
    """The statements of the chosen rows."""
    return Statements(
        said.title[rows],
        said.concept[rows],
        said.start[rows],
        said.end[rows],
        said.score[rows],
        said.phrase[rows],
    )


def positions(best: IntArray, rows: npt.NDArray[np.intp]) -> IntArray:
    """Indices into `rows` for indices into what `rows` was taken from."""
    slot = np.searchsorted(rows, np.maximum(best, 0))
    return np.where(best >= 0, slot, -1).astype(np.int32)


def fill(n_titles: int, said: Statements, best: IntArray) -> KindReading:
    """A reading out of the number of each title's best statement (-1: none) and the others."""
    reading = KindReading.nothing(n_titles)
    has = best >= 0
    chosen = best[has]
    reading.concept[has] = said.concept[chosen]
    reading.score[has] = said.score[chosen]
    reading.margin[has] = said.score[chosen]
    others = np.flatnonzero(said.concept != reading.concept[said.title])
    others = others[distinct_pairs(said.title[others], said.concept[others])]
    reading.also_title, reading.also_concept = said.title[others], said.concept[others]
    return reading
