"""A second name of the same thing: `credenza / sideboard`, `writing box (suzuribako)`."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN
from pipeline.terms.doubts import below, unlike
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.tokens import BRACKET, SLASH, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_TWO = 2
# families between which one thing may be filed: "hot water bottle / foot warmer"
_OF_THE_HOUSE = ("tableware-and-vessels", "kitchen-and-household", "metalware-and-silver")


# what is put to another use, and what such pieces are said to be fit for
_PUT_TO_USE = (
    "kettle", "crock", "bucket", "churn", "bath", "cauldron", "dolly-tub", "milk-can",
    "watering-can", "sideboard", "washstand", "blanket-chest",
)  # fmt: skip
_USES = (
    "planter", "plant-pot", "plant-stand", "umbrella-stand", "log-basket", "ice-bucket",
    "wine-cooler", "tv-cabinet", "cocktail-cabinet", "coffee-table", "side-table", "console-table",
)  # fmt: skip
_MADE_ANOTHER = frozenset(
    ["upcycled", "converted", "made", "reclaimed", "repurposed", "into", "conversion"]
)  # fmt: skip


def put_to_use(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Copper kettle planter", "teak sideboard tv stand": a use named behind the piece.

    What was made into another thing is that thing. Changes the concepts of the uses.
    """
    if len(things.start) < _TWO:
        return
    pieces, uses = below(lexicon, *_PUT_TO_USE), below(lexicon, *_USES)
    concept, start, end = things.concept, things.start, things.end
    next_to = (end[:-1] == start[1:]) & (stream.clause[start[:-1]] == stream.clause[start[1:]])
    rows = np.flatnonzero(next_to & pieces[concept[:-1]] & uses[concept[1:]]) + 1
    if not len(rows):
        return
    made = np.zeros(stream.n_titles, dtype=bool)
    made[stream.title[lexicon.words_in(_MADE_ANOTHER)[stream.word]]] = True
    rows = rows[~made[stream.title[start[rows]]]]
    things.concept[rows] = concept[rows - 1]


def other_name(
    lexicon: Lexicon, stream: TokenStream, things: Things, concept: IntArray, held: IntArray
) -> BoolArray:
    """ "Credenza / sideboard": behind a stroke, and of one family, it is another name."""
    owner = np.maximum(held, 0)
    stroke = (stream.before[things.start] & SLASH) > 0
    next_to = (held >= 0) & (things.end[owner] == things.start)
    kept_together = below(lexicon, *_OF_THE_HOUSE)
    alike = kept_together[concept[owner]] & kept_together[concept] & (things.size[owner] > 1)
    return stroke & next_to & (alike | ~unlike(lexicon, concept[owner], concept))


# kinds that are called by a name of their own language, told in brackets behind an English word
_CALLED_BY_THEIR_OWN_NAME = ("antiquity", "tribal-art", "archaic-bronze-vessel", "sword-fittings")
_IN_ENGLISH = ("tableware-and-vessels", "ceramics", "kitchen-and-household", "vase", "flask", "jar",
               "bottle", "figurine", "sculpture", "decorative-objects", "doll")  # fmt: skip
# of which no potter or smith of old made anything
_OF_LATER_TIMES = frozenset(["porcelain", "creamware", "pearlware", "silver", "pewter", "parian"])


def _by_its_own_name(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    owner: IntArray,
    rows: npt.NDArray[np.intp],
) -> BoolArray:
    """ "Mixing bowl (krater)", "twin figure (ere ibeji)": the bracket names the piece."""
    own = below(lexicon, *_CALLED_BY_THEIR_OWN_NAME)[things.concept[rows]]
    english = below(lexicon, *_IN_ENGLISH)[things.concept[owner]]
    later = lexicon.words_in(_OF_LATER_TIMES)[stream.word]
    late = np.bincount(stream.title[later], minlength=stream.n_titles) > 0
    flags: BoolArray = own & english & ~late[stream.title[things.start[rows]]]
    return flags


def named_in_brackets(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    zone: npt.NDArray[np.uint8],
    usable: BoolArray,
    best: IntArray,
) -> IntArray:
    """ "Writing box (suzuribako)": the name in brackets says which writing box."""
    start, end = things.start, things.end
    bracket = (stream.before & BRACKET) > 0
    # "(ere ibeji)": a word of that language may go before
    before = np.maximum(start - 1, 0)
    led = ~bracket[start] & bracket[before] & ~stream.opens_clause(start) & (before > 0)
    led &= stream.word[before] == 0
    opens = np.where(led, before, start)
    alone = (bracket[start] | led) & stream.closes_clause(end)
    rows = np.flatnonzero(alone & usable & (zone == MAIN))
    held = best[stream.title[start[rows]]]
    owner = np.maximum(held, 0)
    fits = (held >= 0) & (held != rows) & (end[owner] == opens[rows]) & (zone[owner] == MAIN)
    # a native name, or one of the same family; "watch (box)" is no box
    narrow = lexicon.depth("category") > 1
    like = ~unlike(lexicon, things.concept[owner], things.concept[rows])
    native = _by_its_own_name(lexicon, stream, things, owner, rows)
    fits &= native | ((narrow[things.concept[rows]] | like) & ~led[rows])
    fits &= ~below(lexicon, "parts-and-fittings")[things.concept[rows]]
    # "overmantel mirror (mirror)" says less, "cassone (chest)" no more
    fits &= things.concept[owner] != things.concept[rows]
    fits &= ~lexicon.above("category")[things.concept[owner], things.concept[rows]]
    improved = best.copy()
    improved[stream.title[start[rows[fits]]]] = rows[fits]
    return improved
