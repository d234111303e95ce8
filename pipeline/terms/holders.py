"""What is sold with its holder: `box of old buttons`, `two trays of ceramics and glass`.

A cataloguer sells what is in it; the box by itself costs next to nothing. Each function tells, of
the findings chosen, one a title, which a person should see.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_OF = frozenset({"of"})


def in_holders(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    chosen: IntArray,
) -> BoolArray:
    """Findings chosen of which a person should see what is sold, the holder or the goods."""
    return (
        boxes_of_goods(lexicon, stream, found, things, chosen)
        | holders_of_goods(lexicon, stream, found, things, chosen)
        | holders_containing(lexicon, stream, found, context, things, chosen)
        | goods_of_two_families(lexicon, stream, context, things, chosen)
    )


_BOXES = frozenset(
    ["box", "boxes", "bag", "bags", "crate", "crates", "tray", "trays", "shelf", "shelves",
     "carton", "cartons", "cabinet", "cabinets"]
)  # fmt: skip


def boxes_of_goods(
    lexicon: Lexicon, stream: TokenStream, found: Found, things: Things, chosen: IntArray
) -> BoolArray:
    """ "3 boxes china, glass, ornaments": what is in them is sold."""
    start, end = things.start[chosen], things.end[chosen]
    box = lexicon.words_in(_BOXES)[stream.word[start]] & (things.size[chosen] == 1)
    before = np.maximum(start - 1, 0)
    counted = stream.is_number[before] | lexicon.words_alone("count")[stream.word[before]]
    counted &= ~stream.starts()[start]
    goods = np.zeros(len(stream) + 1, dtype=bool)
    stuff = lexicon.concept_of["material"][found.phrase] >= 0
    goods[found.start[stuff]] = True
    last = len(stream) - 1
    at = np.minimum(end, last)
    of = lexicon.words_in(_OF)[stream.word[at]] & (end <= last)
    # "two boxes of decorative china"
    near = goods[at] | (of & (goods[np.minimum(at + 1, last)] | goods[np.minimum(at + 2, last)]))
    follows = near & (end <= last) & (stream.clause[at] == stream.clause[start])
    return (box & counted & follows) | _filled(lexicon, stream, things, chosen, of)


_FILLED = frozenset(
    ["box", "boxes", "trunk", "suitcase", "tin", "tins", "toolbox", "chest", "case"]
)
_GOODS = frozenset(["china", "textiles", "linen", "glass", "costume", "jewellery", "jewelry"])


def _filled(
    lexicon: Lexicon, stream: TokenStream, things: Things, chosen: IntArray, of: BoolArray
) -> BoolArray:
    """ "Cigar box of coins", "trunk of textiles": the box, or what is in it."""
    last = len(stream) - 1
    inside = np.minimum(things.end[chosen] + 1, last)
    named = np.zeros(len(stream) + 1, dtype=bool)
    plural = stream.in_s()
    many = (things.size == 1) & plural[stream.spelling[things.end - 1]]
    named[things.start[many]] = True
    goods = lexicon.words_in(_GOODS)[stream.word]
    holds = lexicon.words_in(_FILLED)[stream.word[things.end[chosen] - 1]] & of
    return holds & (named[inside] | goods[inside])


_HOLDERS = frozenset(
    ["box", "boxes", "bag", "bags", "jar", "jars", "crate", "crates", "tin", "tins", "suitcase",
     "trunk", "basket", "bucket", "tub", "carton", "cartons", "tray", "trays", "drawer", "chest",
     "bowl", "folder", "shoebox", "sack"]
)  # fmt: skip
_SOLD_BY_THE_BOX = frozenset(
    ["jewellery", "jewelry", "jewelery", "linen", "linens", "china", "crockery", "clothes",
     "clothing", "cutlery", "glassware", "ceramics", "pottery", "soldiers", "figures", "buttons",
     "coins", "marbles", "bottles", "books", "toys", "tools", "records", "postcards", "stamps",
     "keys", "beads", "spoons", "medals", "badges", "photographs", "photos", "prints", "textiles",
     "fabric", "lace", "ornaments", "bits", "collectables", "collectibles", "curios", "shells",
     "fossils", "minerals", "comics", "magazines", "ephemera", "kitchenalia", "bobbins", "corks"]
)  # fmt: skip
_BEFORE_THE_GOODS = frozenset(
    ["full", "of", "old", "assorted", "mixed", "various", "vintage", "misc", "miscellaneous",
     "loose", "antique", "retro", "costume", "old", "odd", "small", "some", "military", "foreign",
     "british", "model", "dolls", "wooden", "world", "new", "used", "silver", "plated"]
)  # fmt: skip
_WORDS_TO_THE_GOODS = 4  # "suitcase full of vintage clothes"


def holders_of_goods(
    lexicon: Lexicon, stream: TokenStream, found: Found, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Box costume jewellery", "suitcase full of clothes": the holder opens, goods in the plural.

    Only words of age, stuff and quantity stand between, and the goods close the clause.
    """
    start, end = things.start[chosen], things.end[chosen]
    last = len(stream) - 1
    holds = lexicon.words_in(_HOLDERS)[stream.word[end - 1]] & (things.size[chosen] == 1)
    holds &= end <= last
    between = lexicon.words_in(_BEFORE_THE_GOODS)[stream.word]
    said = np.zeros(len(lexicon.phrases), dtype=bool)
    for kind in ("material", "period"):
        if kind in lexicon.concept_of:
            said |= lexicon.concept_of[kind] >= 0
    between |= found.words_of(said[found.phrase], len(stream))
    goods = lexicon.words_in(_SOLD_BY_THE_BOX)[stream.word]
    hit = np.zeros(len(chosen), dtype=bool)
    alive = holds.copy()
    for step in range(_WORDS_TO_THE_GOODS):
        at = np.minimum(end + step, last)
        alive &= (end + step <= last) & (stream.clause[at] == stream.clause[start])
        hit |= alive & goods[at] & stream.closes_clause((at + 1).astype(np.int32))
        alive &= between[at]
    return hit


_HOLDS = frozenset(["containing", "contains"])
_TIN = frozenset({"tin"})
_CASES = frozenset(["case", "cases"])
_WORDS_TO_THE_CONTENT = 4


def holders_containing(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    chosen: IntArray,
) -> BoolArray:
    """ "A box containing toys", "a leather case containing opera glasses": sold for its contents.

    A box of which the stuff is told is a box: "a walnut box containing chessmen".
    """
    start, end = things.start[chosen], things.end[chosen]
    last = len(stream) - 1
    at = np.minimum(end, last)
    opens = (end <= last) & context.linked[at] & lexicon.words_in(_HOLDS)[stream.word[at]]
    holds = lexicon.words_in(_HOLDERS)[stream.word[end - 1]]
    tin = lexicon.words_in(_TIN)[stream.word]
    holds &= (things.size[chosen] == 1) | tin[start]
    case = lexicon.words_in(_CASES)[stream.word[end - 1]]
    # what tells of the box: a stuff before it in its clause, but for that of a tin
    stuff = np.zeros(len(stream) + 1, dtype=np.int32)
    rows = lexicon.concept_of["material"][found.phrase] >= 0
    rows &= ~tin[found.start]
    stuff[found.start[rows] + 1] = 1
    count = np.cumsum(stuff)
    told = count[end] > count[stream.first_of_clause(start)]
    named = np.zeros(len(stream) + 1, dtype=bool)
    named[things.start] = True
    named[:-1] |= lexicon.words_in(_SOLD_BY_THE_BOX)[stream.word]
    follows = np.zeros(len(chosen), dtype=bool)
    for step in range(1, 1 + _WORDS_TO_THE_CONTENT):
        cell = np.minimum(at + step, last)
        follows |= named[cell] & (stream.clause[cell] == stream.clause[start])
    return opens & follows & (case | (holds & ~told))


_AND = frozenset({"and"})
_FAMILY_OF_GOODS = (
    frozenset(["ceramics", "china", "pottery", "porcelain"]),
    frozenset(["glass", "glassware"]),
    frozenset(["silver", "metalware", "pewter", "brass", "copper", "silverware", "brassware"]),
    frozenset(["plate"]),
    frozenset(["linen", "textiles"]),
    frozenset(["lace"]),
    frozenset(["books", "ephemera"]),
    frozenset(["jewellery", "jewelry"]),
    frozenset(["toys"]),
)
_GOODS_AT_LARGE = frozenset(
    ["ceramics", "glassware", "metalware", "silver", "plate", "linen", "lace", "textiles", "books"]
)
_WORDS_TO_TWO_GOODS = 4  # "two trays of assorted ceramics and glass"


def goods_of_two_families(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    chosen: IntArray,
) -> BoolArray:
    """ "Two boxes of ceramics and glassware", "a box of silver and plate": a mixed lot.

    The holder with "of" or "containing" before the two, or the one of them that was chosen.
    """
    n = len(stream)
    if n < 3:
        return np.zeros(len(chosen), dtype=bool)
    joins = lexicon.words_in(_AND)[stream.word]
    family = np.zeros(n, dtype=np.int8)
    for number, words in enumerate(_FAMILY_OF_GOODS, start=1):
        family[lexicon.words_in(words)[stream.word]] = number
    two = np.zeros(n, dtype=bool)  # of each word whether two families with "and" start there
    two[:-2] = joins[1:-1] & (family[:-2] > 0) & (family[2:] > 0) & (family[:-2] != family[2:])
    two[:-2] &= context.linked[1:-1] & context.linked[2:]
    past = np.minimum(np.arange(n) + 3, n).astype(np.int32)
    beyond = np.minimum(past, n - 1)
    ends = stream.closes_clause(past) | has_role(context.starts[beyond], "with")
    ends |= joins[beyond] & (family[np.minimum(beyond + 1, n - 1)] > 0)
    two &= ends
    start, end = things.start[chosen], things.end[chosen]
    alone = things.size[chosen] == 1
    last = n - 1
    at = np.minimum(end, last)
    holder = lexicon.words_in(_BOXES)[stream.word[start]] & alone & (end <= last)
    holder &= lexicon.words_in(_OF | _HOLDS)[stream.word[at]] & context.linked[at]
    hit = np.zeros(len(chosen), dtype=bool)
    for step in range(1, 1 + _WORDS_TO_TWO_GOODS):
        cell = np.minimum(at + step, last)
        hit |= holder & two[cell] & (stream.clause[cell] == stream.clause[start])
    goods = lexicon.words_in(_GOODS_AT_LARGE)[stream.word[start]]
    before = np.maximum(start - 2, 0)
    both = two[start] | (
        two[before] & (start >= 2) & (stream.clause[before] == stream.clause[start])
    )
    return hit | (goods & alone & both)
