"""Families of materials and of things that the rules on materials speak of."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

MATERIAL, TECHNIQUE, FINISH = 0, 1, 2
_ASPECTS = {"material": MATERIAL, "technique": TECHNIQUE, "finish": FINISH}


def below(lexicon: Lexicon, *roots: str) -> BoolArray:
    """Materials that are one of the roots or stand below one."""
    return lexicon.below("material", *roots)


def aspects_of(lexicon: Lexicon) -> IntArray:
    """MATERIAL, TECHNIQUE or FINISH of each concept of a material."""
    vocabulary = lexicon.vocabulary

    def make() -> IntArray:
        # a plated metal is what a piece looks to be made of, though it is a coat
        aspects = [
            MATERIAL
            if vocabulary.root("material", concept.id) == "metal"
            and concept.extra.get("aspect") == "finish"
            else _ASPECTS.get(concept.extra.get("aspect", ""), MATERIAL)
            for concept in vocabulary.concepts("material")
        ]
        return np.array(aspects or [MATERIAL], dtype=np.int32)

    return lexicon.memo("aspects", make)


def in_family(
    lexicon: Lexicon, things: Things, head: IntArray, n_titles: int, *families: str
) -> BoolArray:
    """Titles whose piece stands below one of the categories."""
    of_family = np.zeros(n_titles, dtype=bool)
    ids = lexicon.concept_ids["category"]
    below = np.zeros(len(ids), dtype=bool)
    for family in families:
        if family in ids:
            number = ids.index(family)
            below |= lexicon.above("category")[:, number]
            below[number] = True
    known = head >= 0
    of_family[known] = below[things.concept[head[known]]]
    return of_family
