"""Pictures by what they are made with: `Head of a woman, charcoal`, `Turf carts, watercolour`.

The medium names the thing and the rest is its subject, or nobody names the thing at all.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN
from pipeline.terms.describing import PICTURES
from pipeline.terms.doubts import below
from pipeline.terms.figures import name_bronzes, name_figures
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.phrases import Found
from pipeline.terms.picks import KindReading, settle
from pipeline.terms.tokens import CLAUSE, FULL_STOP, TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wholes import PART, Materials

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# what is made with a medium that is no kind of picture by its own name
MADE_WITH = {
    "drawing": ("chalk", "charcoal", "conte", "crayon", "pencil", "silverpoint", "ink-drawing"),
    "painting": ("oil-paint", "tempera", "acrylic-paint", "encaustic", "distemper"),
    "gouache": ("gouache",),
    "pastel": ("pastel",),
    "watercolour": ("watercolour",),
}
# what is done to a stuff: "horse, glazed terracotta"
_FINISHED = frozenset(
    ["glazed", "painted", "gilt", "gilded", "polychrome", "polychromed", "carved",
     "patinated", "cast", "parcel", "stained", "unglazed", "lacquered", "cold"]
)  # fmt: skip
PRINTED_FROM_PLATES = (
    "engraving", "mezzotint", "etching", "aquatint", "drypoint", "lithograph", "photogravure",
)  # fmt: skip
_IN = frozenset({"in"})
_BY_ITS_MEDIUM = 90.0  # score; nobody said that it is a picture


# what is written or drawn on and is named for what it is: "Fan, ink on paper"
WRITTEN = (
    "document", "judaica", "book", "sheet-music", "diary", "map", "manuscript", "hand-fan",
    "album", "screen", "parasol", "playing-cards", "wallpaper", "kite", "lantern", "trade-card",
    "banknote", "ticket", "label", "invitation", "bookplate", "postcard", "greeting-card",
    "scroll-painting", "toys-and-games", "advertising-sign",
)  # fmt: skip


def pictures_first(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    things: Things,
    title: IntArray,
    zone: npt.NDArray[np.uint8],
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> IntArray:
    """ "Madonna and Child, oil on canvas": the technique names the thing, the rest its subject."""
    ids = lexicon.concept_ids["category"]
    if PICTURES not in ids:
        return best
    family = lexicon.above("category")[:, ids.index(PICTURES)]
    names_technique = lexicon.phrases_where("on", lambda words: "on" in words)
    candidates = rows[family[things.concept[rows]] & (zone[rows] == MAIN)]
    named = names_technique[things.phrase[candidates]]
    named |= _medium_alone(lexicon, stream, things, candidates, best)
    named |= _engraved(lexicon, stream, found, things, candidates, best)
    candidates = candidates[named]
    opens = (stream.before[things.start[candidates]] & (CLAUSE | FULL_STOP)) > 0
    candidates = candidates[opens]
    held = best[title[candidates]]
    written = below(lexicon, *WRITTEN)  # "Letter, ink on paper" is a letter
    better = (things.start[candidates] > things.start[held]) & ~family[things.concept[held]]
    better &= ~written[things.concept[held]]
    best = best.copy()
    best[title[candidates[better]]] = candidates[better]
    # ... and so is one whose name counts by its place only
    weak = Things(lexicon, found, weak=True)
    opens = stream.starts()[weak.start] & written[weak.concept]
    opening = np.zeros(stream.n_titles, dtype=bool)
    opening[stream.title[weak.start[opens]]] = True
    taken = np.flatnonzero(opening & (best >= 0))
    best[taken[np.isin(best[taken], candidates)]] = -1
    return best


_MEDIA = (
    "watercolour", "gouache", "pastel", "etching", "mezzotint", "aquatint", "drypoint",
    "lithograph", "woodcut", "linocut", "screenprint",
)  # fmt: skip
# media of two words and more: "albumen print", "colour etching", "etching and aquatint"
_NAMED_MEDIA = (
    *_MEDIA, "engraving", "photogravure", "monotype", "cyanotype", "photograph", "drawing",
    "collagraph", "chromolithograph",
)  # fmt: skip
_ENDS_A_MEDIUM = frozenset(
    ["print", "prints", "etching", "etchings", "engraving", "engravings", "lithograph",
     "lithographs", "aquatint", "aquatints", "mezzotint", "woodcut", "woodcuts", "drawing",
     "screenprint", "linocut", "drypoint", "photogravure", "wash"]
)  # fmt: skip
_BEHIND_A_MEDIUM = frozenset(
    ["on", "over", "and", "heightened", "signed", "with", "in", "laid", "framed", "unframed", "by",
     "after", "initialled", "dated", "inscribed", "titled", "numbered", "printed"]
)  # fmt: skip
HOLDS_MEDIA = (
    "easel", "writing-and-desk", "box", "tin", "canister", "toys-and-games", "paper-doll",
    "hand-fan", "tray",
)  # fmt: skip


def _medium_alone(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> BoolArray:
    """ "Turf carts, watercolour, signed": a medium by itself in a clause behind the subject."""
    start, past = things.start[rows], things.end[rows]
    named = below(lexicon, *_MEDIA)[things.concept[rows]] & (things.size[rows] == 1)
    last = lexicon.words_in(_ENDS_A_MEDIUM)[stream.word[past - 1]]
    named |= below(lexicon, *_NAMED_MEDIA)[things.concept[rows]] & (things.size[rows] > 1) & last
    named &= ~stream.starts()[start]
    at = np.minimum(past, len(stream) - 1)
    ends = stream.closes_clause(past)
    ends |= lexicon.words_in(_BEHIND_A_MEDIUM)[stream.word[at]]
    holders = below(lexicon, *HOLDS_MEDIA)[things.concept[np.maximum(best, 0)]]
    return named & ends & ~holders[stream.title[start]]


_SUBJECTS = ("religious-figure", "vase", "bust", "crucifix", "buddha", "figurine", "ship-model")
_BEHIND_AN_ENGRAVING = frozenset(["after", "by", "circa", "c"])


def _engraved(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    things: Things,
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> BoolArray:
    """ "Virgin and Child, engraving after Guido", where no stuff is told that could be engraved."""
    start, past = things.start[rows], things.end[rows]
    named = lexicon.is_one_of("category", "engraving")[things.concept[rows]]
    named &= (things.size[rows] == 1) & ~stream.starts()[start]
    at = np.minimum(past, len(stream) - 1)
    last = (past == stream.first[stream.title[start] + 1]) | stream.is_number[at]
    named &= last | lexicon.words_in(_BEHIND_AN_ENGRAVING)[stream.word[at]]
    material = lexicon.concept_of["material"][found.phrase]
    stuff = (material >= 0) & ~materials_below(lexicon, "print-technique", "paper")[material]
    solid = np.zeros(stream.n_titles, dtype=bool)
    solid[stream.title[found.start[stuff]]] = True
    shown = below(lexicon, *_SUBJECTS)[things.concept[np.maximum(best, 0)]]
    return named & shown[stream.title[start]] & ~solid[stream.title[start]]


def name_pictures(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """Give titles without a kind, or with none but picture, the kind that their medium tells.

    The medium has to open a clause behind the subject, or to follow "in". Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if PICTURES not in ids or not len(materials.title):
        return
    open_titles = (category.concept < 0) | (category.concept == ids.index(PICTURES))
    start = materials.start
    behind = ((stream.before[start] & CLAUSE) > 0) & ~stream.starts()[start]
    # "landscape in oils"
    before = np.maximum(start - 1, 0)
    led_in = lexicon.words_in(_IN)[stream.word[before]]
    behind |= led_in & ~stream.starts()[start] & (stream.clause[before] == stream.clause[start])
    finished = lexicon.words_in(_FINISHED)[stream.word[before]] & ~stream.starts()[start]
    finished &= stream.clause[before] == stream.clause[start]
    behind |= finished & ((stream.before[before] & CLAUSE) > 0) & ~stream.starts()[before]
    told = (materials.place < PART) & behind
    told &= materials.concept == materials.reading.concept[materials.title]
    told &= ~materials.reading.doubtful[materials.title]
    name_bronzes(lexicon, stream, category, materials, told)
    name_figures(lexicon, stream, category, materials, told)
    _name_drawings(
        lexicon, stream, category, materials, told & ((stream.before[start] & CLAUSE) > 0)
    )
    told &= open_titles[materials.title]
    for kind, media in MADE_WITH.items():
        if kind not in ids:
            continue
        rows = np.flatnonzero(told & materials_below(lexicon, *media)[materials.concept])
        titles = materials.title[rows]
        settle(category, titles, ids.index(kind), _BY_ITS_MEDIUM)
    _name_miniatures(lexicon, stream, category)


_ON_WORD, _IVORY = frozenset({"on"}), frozenset({"ivory"})
_PAINTED_KINDS = ("gouache", "watercolour", "painting", "portrait")


def _name_miniatures(lexicon: Lexicon, stream: TokenStream, category: KindReading) -> None:
    """ "A portrait of Shah Jahan, gouache heightened with gold on ivory": too small for more."""
    ids = lexicon.concept_ids["category"]
    if "portrait-miniature" not in ids:
        return
    ivory = lexicon.words_in(_IVORY)[stream.word]
    on = np.append(False, lexicon.words_in(_ON_WORD)[stream.word][:-1]) & ~stream.starts()
    titles = np.unique(stream.title[ivory & on])
    known = category.concept[titles] >= 0
    painted = known & below(lexicon, *_PAINTED_KINDS)[category.concept[titles]]
    painted |= known & (category.concept[titles] == ids.index(PICTURES))
    settle(category, titles[painted], ids.index("portrait-miniature"), _BY_ITS_MEDIUM)


# drawn in media that are nothing else, and drawn on: "Tile, pen and ink"
_DRAWN_IN = ("chalk", "ink-drawing", "silverpoint")
_DRAWN_ON = (
    *WRITTEN, *HOLDS_MEDIA, PICTURES, "books-and-paper", "tile", "scrimshaw", "lamp-shade",
    "clothing", "textiles-and-rugs", "furniture",
)  # fmt: skip
_DRAW, _PENS = frozenset(["pen", "pencil", "crayon"]), ("fountain-pen", "pencil")
_DRAWN = frozenset(
    ["ink", "wash", "watercolour", "watercolor", "gouache", "chalk", "crayon", "stump", "charcoal",
     "study", "sketch", "nude", "portrait", "landscape", "paper"]
)  # fmt: skip
_TO_WRITE_WITH = frozenset(
    ["box", "boxed", "set", "tin", "case", "holder", "pot", "nib", "stand", "tray", "wax", "gold",
     "silver", "cap", "filler", "lead", "propelling"]
)  # fmt: skip
_WORDS_OF_A_MEDIUM = 6


def _name_drawings(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    told: BoolArray,
) -> None:
    """ "Virgin and Child, red chalk", "pen, ink and wash, study": drawn, whatever it shows.

    Only a medium of two words outweighs a thing: chalk and ink by themselves may be anything's.
    """
    ids = lexicon.concept_ids["category"]
    if "drawing" not in ids:
        return
    known = category.concept >= 0
    drawn_on = known & below(lexicon, *_DRAWN_ON)[category.concept]
    rows = told & (materials.end - materials.start > 1)
    rows &= materials_below(lexicon, *_DRAWN_IN)[materials.concept]
    rows &= ~drawn_on[materials.title]
    settle(category, np.unique(materials.title[rows]), ids.index("drawing"), _BY_ITS_MEDIUM)
    pens = np.flatnonzero(known & lexicon.is_one_of("category", *_PENS)[category.concept])
    if not len(pens):
        return
    marks = [np.append(0, np.cumsum(lexicon.words_in(w)[stream.word])) for w in (_DRAW, _DRAWN)]
    first, past = stream.first[pens], stream.first[pens + 1]
    near = np.minimum(first + _WORDS_OF_A_MEDIUM, past)
    drawn = (marks[0][near] > marks[0][first]) & (marks[1][near] > marks[1][first])
    tools = np.append(0, np.cumsum(lexicon.words_in(_TO_WRITE_WITH)[stream.word]))
    drawn &= tools[past] == tools[first]
    settle(category, pens[drawn], ids.index("drawing"), _BY_ITS_MEDIUM)
