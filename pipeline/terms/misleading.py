"""Words that name a thing elsewhere and here a stuff, or a ship.

`Magazine rack cane` is of cane and no walking stick; `HMS Basket` is a ship.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

BoolArray = npt.NDArray[np.bool_]

_CANE = frozenset({"cane"})
# the last words of names of what is made of cane
_MADE_OF_CANE = frozenset(
    ["basket", "baskets", "chair", "chairs", "armchair", "armchairs", "table", "tables", "head",
     "headboard", "bed", "rod", "rods", "beater", "rack", "racks", "sofa", "settee", "screen",
     "suite", "planter", "stool", "stools", "shelf", "shelves", "tray", "lamp", "cradle", "crib",
     "hamper", "trunk", "bookcase", "chest", "cabinet", "lounger", "pram", "rocker", "desk",
     "trolley", "ottoman", "pouffe", "mirror", "shade", "lampshade", "bench", "daybed", "creel"]
)  # fmt: skip
_OF_SHIPS = frozenset(["hms", "rms", "uss", "hmas", "hmcs"])


def leave_misleading(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> None:
    """Take out of the things what is none: cane behind its piece, the names of ships."""
    if not len(things.start):
        return
    start = things.start
    before = np.maximum(start - 1, 0)
    behind = context.linked[start] & (start > 0)
    cane = lexicon.words_in(_CANE)[stream.word[start]] & (things.size == 1)
    cane &= lexicon.words_in(_MADE_OF_CANE)[stream.word[before]]
    ship = lexicon.words_in(_OF_SHIPS)[stream.word[before]]
    things.keep(~((cane | ship) & behind))
