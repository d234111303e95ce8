"""Goods and stuffs that do not go together: an ornament, a work's title, or a misreading.

A lute of earthenware, a cushion of porcelain, a book in oil on canvas: what was read may be what
the piece shows or is shaped as. A person should see it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.doubts import below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.picks import KindReading
from pipeline.terms.wholes import Materials

BoolArray = npt.NDArray[np.bool_]

_BREAKABLE = ("glass", "crystal", "porcelain", "china", "ceramic", "pewter")
_HEAVY = ("bronze", "marble", "terracotta", "plaster", "stone", "spelter", "alabaster")
_PAINTED = ("oil-on-canvas", "oil-on-board", "oil-paint", "tempera", "gouache", "pastel")
_STRINGED = (
    "guitar", "violin", "cello", "lute", "harp", "viol", "mandolin", "banjo", "lyre", "piano",
    "accordion",
)  # fmt: skip
_WORN = (
    "dress", "coat", "jacket", "shirt", "skirt", "trousers", "apron", "shawl", "scarf", "socks",
    "gloves", "underwear", "blouse", "cape", "robe", "hat", "bonnet",
)  # fmt: skip
_SHOD = ("shoes", "boots", "slippers")
_OF_CLOTH = (
    "cushion", "rug", "curtain", "table-linen", "tapestry", "fabric", "quilt", "blanket", "towel",
    "handkerchief", "bed-linen", "sampler", "embroidery",
)  # fmt: skip
_READ = ("book", "letter", "newspaper", "magazine", "diary", "sheet-music", "map", "document")
_PLAYED = ("chess-set", "marbles", "playing-cards", "kite", "ball-game-equipment")
# goods, and what they are not made of
_NEVER = (
    (
        ("motor-car", "carriage", "cart", "bicycle", "firearm", "pram", "typewriter",
         "sewing-machine", "wheelbarrow", "umbrella", *_STRINGED),
        _BREAKABLE,
    ),
    ((*_STRINGED, *_WORN, *_READ, "umbrella", "hand-fan", "parasol", "flag", "quiver"), _HEAVY),
    (_WORN, _BREAKABLE),
    (_READ, ("porcelain", "china", "ceramic", "pewter")),
    (_SHOD, (*_HEAVY, *_BREAKABLE)),
    (_OF_CLOTH, (*_BREAKABLE, *_HEAVY, "brass", "cast-iron")),
    (("cushion",), ("wood", "jade", "lacquer", "bamboo")),
    (("boat", *_STRINGED, *_WORN, *_SHOD, *_PLAYED, "lamp", "clock", "glassware",
      "tableware-and-vessels", "jewellery", "tools", "cutlery", "firearm", "sword"), _PAINTED),
)  # fmt: skip
# what is of another stuff than the rest of its family
_BUT = (
    "buckle", "button", "belt", "tiara", "lace-pillow", "pincushion", "fur-coat", "bark-cloth",
    "clogs", "tile", "globe", "manuscript", "brooch", "pendant", "locket", "portrait-miniature",
    "tray", "plate", "vase", "charger", "canister", "box",
)  # fmt: skip


def doubt_impossible(lexicon: Lexicon, category: KindReading, materials: Materials) -> None:
    """ "Crystal piano", "donkey cart pottery", "the letter, porcelain": a person should see it.

    A pillow of pottery is what China slept on, and gets that name. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    stuff = materials.reading.concept
    told = (stuff >= 0) & (category.concept >= 0) & ~materials.reading.doubtful
    # "pillow with tiger; stoneware": the Chinese headrest
    if {"cushion", "ceramic-pillow"} <= {*ids}:
        pillow = told & (category.concept == ids.index("cushion"))
        pillow &= materials_below(lexicon, "ceramic")[stuff]
        category.concept[pillow] = ids.index("ceramic-pillow")
    category.doubtful |= told & _never(lexicon)[category.concept, stuff]


def _never(lexicon: Lexicon) -> BoolArray:
    """(categories, materials): which do not go together."""

    def make() -> BoolArray:
        shape = (len(lexicon.concept_ids["category"]), len(lexicon.concept_ids["material"]))
        pairs = np.zeros(shape, dtype=bool)
        for goods, stuffs in _NEVER:
            pairs |= below(lexicon, *goods)[:, None] & materials_below(lexicon, *stuffs)[None, :]
        pairs[below(lexicon, *_BUT)] = False
        return pairs

    return lexicon.memo(("impossible pairs",), make)
