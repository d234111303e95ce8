"""Figures by whom they show: a gilt copper figure of Amitayus is a Buddha.

The names are no names of things: a picture of Krishna is a picture.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]

_FIGURES = ("figurine", "sculpture", "pottery-figure")
_WORDS_TO_THE_NAME = 3  # "figure of a seated Amitayus"
_NAMES = {
    "buddha": (
        "buddha shakyamuni sakyamuni amitayus amitabha amida vairocana bhaisajyaguru akshobhya "
        "ratnasambhava"
    ),
    "bodhisattva": (
        "bodhisattva guanyin kannon avalokiteshvara avalokitesvara lokeshvara manjusri manjushri "
        "maitreya miroku tara vajrapani padmapani samantabhadra jizo ksitigarbha"
    ),
    "religious-figure": (
        "ganesh ganesha krishna vishnu shiva siva durga parvati lakshmi hanuman saraswati "
        "nataraja hotei budai shoulao daruma jambhala mahakala virgin madonna christ saint "
        "st bishop apostle angel"
    ),
}


def of_deities(
    lexicon: Lexicon, stream: TokenStream, things: Things, context: Context, concept: IntArray
) -> IntArray:
    """The concepts of findings, those of figures by the name right behind "figure of"."""
    ids = lexicon.concept_ids["category"]
    figures = np.array([one in _FIGURES for one in ids] or [False], dtype=bool)
    rows = np.flatnonzero(figures[concept] & (things.end < len(stream)))
    rows = rows[has_role(context.starts[things.end[rows]], "subject")]
    if not len(rows):
        return concept
    kinds = {name: kind for kind, names in _NAMES.items() for name in names.split()}
    shown = np.array(
        [
            ids.index(kind) if (kind := kinds.get(one, "")) in ids else -1
            for one in stream.spellings
        ],
        dtype=np.int32,
    )
    named = concept.copy()
    open_rows = np.ones(len(rows), dtype=bool)
    for step in range(1, _WORDS_TO_THE_NAME + 1):
        at = np.minimum(things.end[rows] + step, len(stream) - 1)
        open_rows &= stream.clause[at] == stream.clause[things.start[rows]]
        hit = open_rows & (shown[stream.spelling[at]] >= 0)
        named[rows[hit]] = shown[stream.spelling[at[hit]]]
        open_rows &= ~hit
    return named
