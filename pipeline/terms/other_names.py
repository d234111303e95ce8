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
    alone = ((stream.before[start] & BRACKET) > 0) & stream.closes_clause(end)
    rows = np.flatnonzero(alone & usable & (zone == MAIN))
    held = best[stream.title[start[rows]]]
    owner = np.maximum(held, 0)
    fits = (held >= 0) & (held != rows) & (end[owner] == start[rows]) & (zone[owner] == MAIN)
    # a native name, or one of the same family; "watch (box)" is no box
    narrow = lexicon.depth("category") > 1
    like = ~unlike(lexicon, things.concept[owner], things.concept[rows])
    fits &= narrow[things.concept[rows]] | like
    fits &= ~below(lexicon, "parts-and-fittings")[things.concept[rows]]
    # "overmantel mirror (mirror)" says less, "cassone (chest)" no more
    fits &= things.concept[owner] != things.concept[rows]
    fits &= ~lexicon.above("category")[things.concept[owner], things.concept[rows]]
    improved = best.copy()
    improved[stream.title[start[rows[fits]]]] = rows[fits]
    return improved
