"""Surnames that are the name of a thing or of a stuff: Christopher Dresser, Ralph Wood.

A given name right before such a word tells that it is one. Only words that nobody sets behind a
given name for another reason are taken: `Alice, silver brooch` and `Queen Anne glass` are left.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import GIVEN, SURNAMES
from pipeline.terms.phrases import Found
from pipeline.terms.tokens import CLAUSE, TokenStream

_AS_SPELT = 100.0  # score


def without_surnames(lexicon: Lexicon, stream: TokenStream, found: Found) -> Found:
    """The phrases less the single words that are a person's name."""
    if not len(found):
        return found
    exact = stream.score >= _AS_SPELT
    surname = lexicon.words_in(SURNAMES)[stream.word] & exact
    given = lexicon.words_in(GIVEN)[stream.word] & exact
    before = np.maximum(found.start - 1, 0)
    named = (found.end - found.start == 1) & surname[found.start] & given[before]
    named &= ~stream.starts()[found.start]
    named &= (stream.before[found.start] & CLAUSE) == 0
    # the given name is part of another name: "Queen Anne", "Mary Gregory"
    named &= ~_inside_a_phrase(found, len(stream))[before]
    return found.take(~named) if named.any() else found


def _inside_a_phrase(found: Found, n_words: int) -> npt.NDArray[np.bool_]:
    """Words of phrases of several words."""
    marks = np.zeros(n_words, dtype=bool)
    longer = found.end - found.start > 1
    start, end = found.start[longer], found.end[longer]
    for step in range(int((end - start).max(initial=0))):
        at = start + step
        marks[at[at < end]] = True
    return marks
