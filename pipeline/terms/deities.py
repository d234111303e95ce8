"""Figures by whom they show: a gilt copper figure of Amitayus is a Buddha.

The names are no names of things: a picture of Krishna is a picture.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import SHOWN
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]

_FIGURES = ("figurine", "sculpture", "pottery-figure")
_WORDS_TO_THE_NAME = 3  # "figure of a seated Amitayus"


def of_deities(
    lexicon: Lexicon, stream: TokenStream, things: Things, context: Context, concept: IntArray
) -> IntArray:
    """The concepts of findings, those of figures by the name right behind "figure of"."""
    ids = lexicon.concept_ids["category"]
    figures = lexicon.is_one_of("category", *_FIGURES)
    rows = np.flatnonzero(figures[concept] & (things.end < len(stream)))
    rows = rows[has_role(context.starts[things.end[rows]], "subject")]
    if not len(rows):
        return concept
    shown = np.full(lexicon.n_words, -1, dtype=np.int32)
    for kind, names in SHOWN.items():
        if kind in ids:
            shown[lexicon.words_in(names)] = ids.index(kind)
    named = concept.copy()
    open_rows = np.ones(len(rows), dtype=bool)
    for step in range(1, _WORDS_TO_THE_NAME + 1):
        at = np.minimum(things.end[rows] + step, len(stream) - 1)
        open_rows &= stream.clause[at] == stream.clause[things.start[rows]]
        hit = open_rows & (shown[stream.word[at]] >= 0)
        named[rows[hit]] = shown[stream.word[at[hit]]]
        open_rows &= ~hit
    return named
