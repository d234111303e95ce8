"""Surnames that are the name of a thing or of a stuff: Arthur Dresser, Edwin Wood.

A given name right before such a word tells that it is one. Only words that nobody sets behind a
given name for another reason are taken: `Alice, silver brooch` and `Queen Anne glass` are left.
"""

from __future__ import annotations

import numpy as np

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
    named &= ~found.words_of(found.end - found.start > 1, len(stream))[before]
    return found.take(~named) if named.any() else found
