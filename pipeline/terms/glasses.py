"""Glasses to drink from, where nothing but their number or their look tells it.

`Set of 6 glasses`, `etched glasses x 6`, `cut glasses with jug`; a pair may be spectacles.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

BoolArray = npt.NDArray[np.bool_]

_GLASSES = frozenset({"glasses"})
_KIND = "drinking-glass"
_NAME = ("drinking", "glasses")
# more than two: nobody buys six pairs of spectacles
_MANY = frozenset(["three", "four", "five", "six", "seven", "eight", "nine", "ten", "twelve"])
_MANY_IN_DIGITS = frozenset(str(number) for number in range(3, 25))
_LOOK_OF_THEM = frozenset(
    ["crystal", "cut", "etched", "coloured", "colored", "tall", "stem", "stemmed",
     "jug", "decanter", "tumblers", "coasters", "enamelled", "shot", "frosted"]
)  # fmt: skip
# what is worn, looked through, or lies in a frame
_TO_SEE_WITH = frozenset(
    ["reading", "tortoiseshell", "frame", "frames", "lens", "lenses", "mens", "ladies", "womens",
     "prescription", "case", "cases", "spectacles", "sunglasses", "sun", "eye", "optical", "field",
     "opera", "bifocal", "rims", "rimmed", "optician", "opticians", "looking", "magnifying",
     "safety", "theatre", "wire", "rolled", "telescope", "microscope", "watch", "clock", "pier"]
)  # fmt: skip


def name_glasses(lexicon: Lexicon, stream: TokenStream, context: Context, things: Things) -> None:
    """Put drinking glasses among the things where a title tells their number or their look."""
    ids = lexicon.concept_ids["category"]
    name = lexicon.phrase_numbers.get(_NAME, -1)
    if _KIND not in ids or name < 0 or not len(stream):
        return
    words, n = lexicon.words_in, len(stream)
    named = np.zeros(n + 1, dtype=np.int32)
    np.add.at(named, things.start, 1)
    np.add.at(named, things.end, -1)
    free = np.cumsum(named)[:-1] == 0
    at = np.flatnonzero(words(_GLASSES)[stream.word] & free & (context.zone == MAIN))
    if not len(at):
        return
    digits = stream.spelt(_MANY_IN_DIGITS)[stream.spelling]
    many = digits | words(_MANY)[stream.word]
    look = _of_titles(stream, words(_LOOK_OF_THEM)[stream.word] & ~many)
    worn = _of_titles(stream, words(_TO_SEE_WITH)[stream.word])
    counted = np.bincount(stream.clause[many], minlength=int(stream.clause[-1]) + 1) > 0
    title = stream.title[at]
    told = (counted[stream.clause[at]] | look[title]) & ~worn[title]
    at = at[told].astype(np.int32)
    things.put(lexicon, [(int(one), int(one) + 1, name, 1) for one in at])


def _of_titles(stream: TokenStream, said: BoolArray) -> BoolArray:
    flags: BoolArray = np.bincount(stream.title[said], minlength=stream.n_titles) > 0
    return flags
