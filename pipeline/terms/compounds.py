"""Two names of things that stand together, of which only one is the piece.

"Postcard rocking horse" is a postcard, "mirror-fronted wardrobe" a wardrobe.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.doubts import below, unlike
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.tokens import HYPHEN, TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wordforms import plural_forms

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]


def _with_plurals(words: str) -> frozenset[str]:
    return frozenset(form for word in words.split() for form in (word, *plural_forms(word)))


_SHOWING = _with_plurals(
    "postcard rppc poster photograph photo advert ad card slide catalogue catalog brochure manual "
    "leaflet booklet sticker magnet jigsaw pattern cutter mould mold stereoview shaker planter "
    "ornament paperweight pin brooch sharpener menu print towel plaque"
)
_SHOWING_PAIRS = frozenset(
    ["sheet music", "cookie jar", "cookie jars", "money box", "still bank", "piggy bank",
     "music box", "trinket box", "wall pocket", "spoon rest", "string holder", "price guide",
     "cross stitch", "jigsaw puzzle"]
)  # fmt: skip
# goods that carry a print or hold what was named before them
_KEEPING = _with_plurals(
    "rack stand frame album box case cabinet holder chest display drawer shelf set table bracket "
    "easel tray lamp light mug bookend dress skirt shirt blouse scarf tablecloth curtain fabric "
    "cushion bag wallet purse locket bed sofa quilt apron viewer projector camera press"
)
# a print and a pattern on other goods: "leopard print handbag", "willow pattern coffee pot"
_OPENING_ONLY = frozenset(["print", "prints", "pattern", "patterns"])
_WORN = _with_plurals("pin brooch ornament plaque")  # "lapel pin fob watch", "plaque mirror"
_BESIDE_WORN = ("mirror", "watch", "pocket-watch", "wristwatch")
_MADE_FOR_JEWELS = frozenset(
    ["box", "boxes", "case", "casket", "stand", "holder", "tree", "tray", "display", "bag", "pouch",
     "hanger", "dish", "roll", "cabinet", "rack", "pot"]
)  # fmt: skip
_RINGS = frozenset(["ring", "cameo"])
_OF_RING_FORM = ("tableware-and-vessels", "vase", "bottle", "flask", "jug", "scent-bottle")

_PARTICIPLES = frozenset(["woven", "drawn", "inset", "blown", "worn", "set", "hung"])
_FITTED_WITH = frozenset(
    ["fronted", "front", "backed", "topped", "mounted", "inset", "pleated", "stitched", "hilted",
     "doored"]
)  # fmt: skip
_TOOLS = frozenset(["stencil", "pen", "pencil", "brush", "comb", "poker", "mirror", "tile"])


def shown_behind(
    lexicon: Lexicon, stream: TokenStream, things: Things, concept: IntArray
) -> BoolArray:
    """Findings with a name behind them that tells what they show or are shaped as, (n findings,).

    "Rhinestone brooch flower basket", "postcard rocking horse", "cookie jar coffee pot". That the
    names touch is for the caller to see.
    """
    shown = np.zeros(len(concept), dtype=bool)
    if len(concept) < 2:
        return shown
    words = lexicon.words_in
    last = stream.word[things.end - 1]
    jewel = below(lexicon, "jewellery")[concept]
    motif = ~below(lexicon, "jewellery", "clocks-and-watches", "parts-and-fittings")[concept]
    motif &= ~words(_MADE_FOR_JEWELS)[last]
    # "ring flask", "cameo scent bottle": its form
    formed = jewel[:-1] & words(_RINGS)[last[:-1]] & below(lexicon, *_OF_RING_FORM)[concept[1:]]
    shown[:-1] = jewel[:-1] & motif[1:] & ~formed

    paired = lexicon.phrases_where("shows", lambda phrase: " ".join(phrase[-2:]) in _SHOWING_PAIRS)
    shows = words(_SHOWING)[last]
    pairs = (things.phrase >= 0) & paired[np.maximum(things.phrase, 0)]
    shows |= pairs
    keeps = words(_KEEPING)[last] | shows | below(lexicon, "parts-and-fittings")[concept]
    shows &= stream.starts()[things.start] | (things.size > 1) | ~words(_OPENING_ONLY)[last]
    another = shows[:-1] & ~keeps[1:]
    another &= unlike(lexicon, concept[:-1], concept[1:]) | pairs[:-1]
    another &= ~(words(_WORN)[last[:-1]] & below(lexicon, *_BESIDE_WORN)[concept[1:]])
    shown[:-1] |= another
    return shown


def named_for_work(lexicon: Lexicon, stream: TokenStream, things: Things) -> BoolArray:
    """Findings of one word that say what was done: "mirror-fronted wardrobe", (n findings,).

    With a hyphen before any participle; without one behind a tool or before what a piece is fitted
    with, where the piece follows at once.
    """
    at = np.minimum(things.end, len(stream) - 1)
    participle = stream.participles()[stream.spelling[at]]
    participle |= lexicon.words_in(_PARTICIPLES)[stream.word[at]]
    same = stream.clause[at] == stream.clause[things.start]
    hyphen = (stream.before[at] & HYPHEN) > 0
    begins = np.zeros(len(stream) + 2, dtype=bool)
    begins[things.start] = True
    at_once = begins[at + 1]
    fitted = lexicon.words_in(_FITTED_WITH)[stream.word[at]] & at_once
    by_tool = participle & lexicon.words_in(_TOOLS)[stream.word[things.end - 1]]
    return same & (things.size == 1) & ((participle & hyphen) | fitted | by_tool)
