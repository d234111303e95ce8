"""Vessels named as a measure: `box of carved walnut`, `tray of oval form`, `box of books`.

"Box of" mostly tells how much is sold of a thing. It is the thing where nothing fills it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things, names_of_words

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# what a vessel may be full of as well as made of
_CONTENTS = ("metal", "glass", "ceramic", "textile", "bone", "shell")
_CONTENT_WORDS = frozenset(
    ["wood", "paper", "card", "wax", "feather", "straw", "pearl", "coral", "stone", "marble",
     "slate", "amber", "jet", "turquoise", "gemstone"]
)  # fmt: skip
_FORMS = frozenset(
    ["form", "shape", "outline", "section", "design", "size", "proportions", "style", "type",
     "profile", "construction"]
)  # fmt: skip
_WORDS_TO_THE_FORM = 4
_WORDS_BETWEEN = 2


def vessels_of_stuff(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> None:
    """ "Box of carved walnut" is a box: elsewhere "box of" tells how much is sold of a thing.

    What such a vessel may hold (silver, glass, linen) counts only where a word before it tells how
    it was worked.
    """
    if not len(stream) or "marker" not in lexicon.concept_of:
        return
    measure = lexicon.phrases_where("of", lambda words: "of" in words)
    measure = measure & (lexicon.concept_of["marker"] >= 0)
    rows = np.flatnonzero(measure[found.phrase] & (found.end - found.start == 2))
    start, past = found.start[rows], found.end[rows]
    name = names_of_words(lexicon)[stream.word[start]]
    material = np.full(len(stream), -1, dtype=np.int32)
    ends = np.full(len(stream), -1, dtype=np.int32)
    stuffs = np.flatnonzero((lexicon.concept_of["material"][found.phrase] >= 0) & ~found.within)
    material[found.start[stuffs]] = lexicon.concept_of["material"][found.phrase[stuffs]]
    ends[found.start[stuffs]] = found.end[stuffs]
    named = np.zeros(len(stream) + 1, dtype=bool)
    named[things.start] = True
    at = np.minimum(past, len(stream) - 1)
    alive = context.linked[at] & (past <= at)
    stuff = np.full(len(rows), -1, dtype=np.int32)
    worked = np.zeros(len(rows), dtype=bool)
    for step in range(_WORDS_BETWEEN + 1):
        cell = np.minimum(at + step, len(stream) - 1)
        alive &= (at + step <= cell) & (context.linked[cell] | (step == 0)) & ~named[cell]
        alive &= ~context.is_number[cell]
        here = alive & (stuff < 0) & (material[cell] >= 0)
        stuff[here] = cell[here]
        worked |= alive & (stuff < 0)
    after = np.where(stuff >= 0, ends[stuff], 0)
    glass = lexicon.below("material", "glass")[material[stuff]]
    worked |= glass & (after - stuff > 1)  # "blue glass"
    next_stuff = np.minimum(after, len(stream) - 1)
    goes_on = (material[next_stuff] >= 0) & context.linked[next_stuff] & (after <= next_stuff)
    stuff = np.where(goes_on & (stuff >= 0), next_stuff, stuff)  # "beaded silk"
    worked |= goes_on
    after = np.where(stuff >= 0, ends[stuff], 0)
    behind = np.minimum(after, len(stream) - 1)
    last = stream.closes_clause(after) | has_role(context.starts[behind], "with", "conjunction")
    content = lexicon.below("material", *_CONTENTS)[material[np.maximum(stuff, 0)]]
    content |= lexicon.words_in(_CONTENT_WORDS)[stream.word[np.maximum(stuff, 0)]]
    fits = (name >= 0) & (stuff >= 0) & last & (worked | ~content)
    fits |= (name >= 0) & _of_a_form(lexicon, stream, context, past)
    start, name = start[fits], name[fits]
    kind = lexicon.concept_of["category"][name]
    size = np.ones(len(start), dtype=np.int32)
    things.replace(start, start + 1, kind, stream.score[start], size, name)


def _of_a_form(
    lexicon: Lexicon, stream: TokenStream, context: Context, past: IntArray
) -> BoolArray:
    """ "Box of oval form": said of the box, which is full of nothing."""
    last = len(stream) - 1
    forms = lexicon.words_in(_FORMS)[stream.word]
    told = np.zeros(len(past), dtype=bool)
    alive = np.ones(len(past), dtype=bool)
    for step in range(_WORDS_TO_THE_FORM):
        cell = np.minimum(past + step, last)
        alive &= (past + step <= last) & context.linked[cell]
        beyond = np.minimum(cell + 1, last)
        ends = stream.closes_clause(cell + 1)
        ends |= has_role(context.starts[beyond], "with", "conjunction")
        told |= alive & forms[cell] & ends & (step > 0)
    return told


_CONDIMENTS = {
    "salt-cellar": frozenset(["salt", "salts"]),
    "pepper-pot": frozenset(["pepper", "peppers"]),
    "mustard-pot": frozenset(["mustard", "mustards"]),
}


def shaped_condiments(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> None:
    """ "A pair of cauldron salts", "drum mustard": what it is for is the thing, the rest its shape.

    The word closes the clause, or an addition or a number follows.
    """
    ids = lexicon.concept_ids["category"]
    if not len(things.start):
        return
    at = np.minimum(things.end, len(stream) - 1)
    behind = np.minimum(at + 1, len(stream) - 1)
    ends = stream.closes_clause(np.minimum(at + 1, len(stream)).astype(np.int32))
    ends |= has_role(context.starts[behind], "with") | context.is_number[behind]
    shaped = (things.size == 1) & (things.end <= at) & context.linked[at] & ends
    for kind, words in _CONDIMENTS.items():
        rows = np.flatnonzero(shaped & lexicon.words_in(words)[stream.word[at]])
        if kind not in ids or not len(rows):
            continue
        name = lexicon.phrase_numbers.get(tuple(kind.split("-")), -1)
        things.replace(
            things.start[rows],
            (things.end[rows] + 1).astype(np.int32),
            np.full(len(rows), ids.index(kind), dtype=np.int32),
            things.score[rows],
            np.full(len(rows), 2, dtype=np.int32),
            np.full(len(rows), name, dtype=np.int32),
        )
