"""Headings turned round without a comma: `Stool piano`, `Clock mantel oak`.

Sellers who sort by the kind of thing write it first, and then which it is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import walk
from pipeline.terms.tokens import FULL_STOP, TokenStream
from pipeline.terms.turned import Things, names_of_words

IntArray = npt.NDArray[np.int32]

# opens a title before what is in it or on it: "box jewellery", "set cutlery"
_NO_HEADING = frozenset(
    ["box", "boxes", "bag", "case", "tin", "jar", "basket", "tray", "set", "book", "print", "map",
     "poster", "picture", "photograph", "postcard", "card", "model", "toy", "doll", "glass", "pair"]
)  # fmt: skip


# what closes a name, known or not: "piano player", "clock tower"
_LAST_OF_A_NAME = frozenset(
    ["player", "players", "tower", "drainer", "trap", "maker", "seller", "shop", "house", "yard"]
)  # fmt: skip
# "lamp tiffany style" is a lamp in a style
_OF_STYLE = frozenset(["style", "styled", "look", "type"])


def turn_uncut(lexicon: Lexicon, stream: TokenStream, context: Context, things: Things) -> None:
    """ "Stool piano", "rack magazine", "lamp desk brass": headings turned round without a comma.

    They open the title, the two words are no name as they stand, and turned they name a kind of
    the first, or that alone names nothing.
    """
    n = len(stream)
    if n < 2:
        return
    single = np.full(n, -1, dtype=np.int32)  # the kind that this word alone was found to name
    longer = np.zeros(n + 1, dtype=np.int32)
    alone = things.end - things.start == 1
    single[things.start[alone]] = things.concept[alone]
    np.add.at(longer, things.start[~alone], 1)
    np.add.at(longer, things.end[~alone], -1)
    within = np.cumsum(longer)[:-1] > 0
    at = np.flatnonzero(stream.starts()[:-1]).astype(np.int32)
    at = at[context.linked[at + 1] & ~within[at] & ~within[at + 1]]
    at = at[(stream.before[at + 1] & FULL_STOP) == 0]
    # "dog bronze": which of the two is the stuff
    stuff = (names_of_words(lexicon, "material") >= 0)[stream.word[at + 1]]
    at = at[(single[at] >= 0) | (~context.known[at] & ~stuff)]
    at = at[~lexicon.words_in(_LAST_OF_A_NAME)[stream.word[at + 1]]]
    at = at[~lexicon.words_in(_NO_HEADING)[stream.word[at]] & (stream.word[at] > 0)]
    third = np.minimum(at + 2, n - 1)
    goes_on = (single[third] >= 0) | within[third] | lexicon.words_in(_OF_STYLE)[stream.word[third]]
    at = at[~(goes_on & context.linked[third] & (at + 2 < n))]
    if not len(at):
        return
    _, straight = _pairs(lexicon, stream.word[at], stream.word[at + 1])
    phrase, turned = _pairs(lexicon, stream.word[at + 1], stream.word[at])
    narrower = lexicon.above("category")[np.maximum(turned, 0), np.maximum(single[at], 0)]
    fits = (straight < 0) & (turned >= 0) & ((single[at] < 0) | narrower)
    found = zip(at[fits].tolist(), phrase[fits].tolist(), strict=True)
    things.put(lexicon, [(one, one + 2, name, 2) for one, name in found])


def _pairs(lexicon: Lexicon, first: IntArray, second: IntArray) -> tuple[IntArray, IntArray]:
    """The phrase of each two words, and the category that it names; -1 for none."""
    block = np.stack([first, second], axis=1).ravel()
    joined = np.ones(len(block), dtype=bool)
    joined[::2] = False
    start, length, phrase = walk(lexicon, block, joined)
    whole = (start % 2 == 0) & (length == 2)
    names = np.full(len(first), -1, dtype=np.int32)
    names[start[whole] // 2] = phrase[whole]
    kinds = np.where(names >= 0, lexicon.concept_of["category"][np.maximum(names, 0)], -1)
    return names, kinds.astype(np.int32)
