"""Families of materials and of things that the rules on materials speak of."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import has_role
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

MATERIAL, TECHNIQUE, FINISH = 0, 1, 2
JEWELS = (
    "jewellery", "clocks-and-watches", "coins-and-medals", "snuff-box", "vinaigrette", "etui",
    "cigarette-case", "card-case", "vesta-case", "seal", "fountain-pen", "medal", "needle-case",
    "bodkin-case", "thimble", "chatelaine", "scent-bottle", "patch-box", "bonbonniere",
)  # fmt: skip
_WHOLE_COATS = frozenset(["painted", "decorated", "overlay", "overlaid"])  # "grain painted chest"
_INLAYS = frozenset({"brass-inlay", "mop-inlay", "bone-inlay", "stringing", "crossbanding"})
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
    known = head >= 0
    of_family[known] = lexicon.below("category", *families)[things.concept[head[known]]]
    return of_family


def ends_with_part(lexicon: Lexicon) -> BoolArray:
    """Material names that say whose they are: `cane seat`, `bone handled`, `marble top`."""
    return lexicon.memo("ends with part", lambda: _part_endings(lexicon))


def _part_endings(lexicon: Lexicon) -> BoolArray:
    plays = has_role(lexicon.roles, "part", "fitted").tolist()
    parts = {
        words[0]
        for words, playing in zip(lexicon.phrases, plays, strict=True)
        if playing and len(words) == 1
    }
    parts -= _WHOLE_COATS
    return np.array(
        [len(words) > 1 and words[-1] in parts and "on" not in words for words in lexicon.phrases],
        dtype=bool,
    )


def inlays(lexicon: Lexicon) -> BoolArray:
    return lexicon.memo(
        "inlays", lambda: np.array([one in _INLAYS for one in lexicon.concept_ids["material"]])
    )


def roots(lexicon: Lexicon) -> IntArray:
    ids = lexicon.concept_ids["material"]

    def make() -> IntArray:
        index = {concept_id: number for number, concept_id in enumerate(ids)}
        roots = [index[lexicon.vocabulary.root("material", one)] for one in ids]
        return np.array(roots or [0], dtype=np.int32)

    return lexicon.memo("material roots", make)


def stuff_ends_a_name(lexicon: Lexicon) -> BoolArray:
    """Phrases that name the same thing without their last word: "tobacco jar stoneware".

    Not "table linen", which is no table.
    """

    def make() -> BoolArray:
        concept, above = lexicon.concept_of["category"], lexicon.above("category")
        table = np.zeros(len(lexicon.phrases), dtype=bool)
        for phrase in np.flatnonzero(concept >= 0).tolist():
            words = lexicon.phrases[phrase]
            if len(words) < 2:
                continue
            shorter = lexicon.phrase_numbers.get(words[:-1], -1)
            other = concept[shorter] if shorter >= 0 else -1
            same = other >= 0 and (other == concept[phrase] or above[concept[phrase], other])
            table[phrase] = same or (len(words) > 2 and words[-2] == "of")
        return table

    table: BoolArray = lexicon.memo(("stuff ends a name", lexicon.field_kind), make)
    return table
