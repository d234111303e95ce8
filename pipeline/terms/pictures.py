"""Pictures by what they are made with: `Head of a woman, charcoal`, `Turf carts, watercolour`.

The medium names the thing and the rest is its subject, or nobody names the thing at all.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN
from pipeline.terms.describing import PICTURES
from pipeline.terms.doubts import below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.name_words import CREATURES, PEOPLE, POSES, SHOWN
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
# what is sculpted in a stuff that most metalware is of too: told by words of the foundry
_SCULPTED_IN = ("bronze",)
# what figures are carved and modelled of
CARVED_IN = (
    "stone", "wood", "bronze", "copper-alloy", "ormolu", "terracotta", "plaster", "ivory", "jade",
    "marble",
)  # fmt: skip
MODELLED_IN = ("ceramic", "brass", "spelter")
# ... and of what ornaments are: "brass elephant", "onyx owl"
_ORNAMENTS_IN = (
    "ceramic", "brass", "copper", "spelter", "pewter", "resin", "onyx", "cast-iron", "wood",
)  # fmt: skip
_STATUES_IN = ("bronze", "marble", "alabaster", "limestone", "sandstone", "granite")
_TOYS_OF_WOOD = frozenset(["horse", "duck", "hobby"])  # may be ridden, pulled or float
# what is done to a stuff: "horse, glazed terracotta"
_FINISHED = frozenset(
    ["glazed", "painted", "gilt", "gilded", "polychrome", "polychromed", "carved",
     "patinated", "cast", "parcel", "stained", "unglazed", "lacquered", "cold"]
)  # fmt: skip
_HOLY = frozenset(["saint", "san", "santa", "prophet", "apostle", "evangelist"])
_WORDS_OF_A_NAME = 4
_PARTS_OF_A_BODY = frozenset(["head", "torso", "bust"])
_SHOWN_IN_STONE = CREATURES | PEOPLE | frozenset().union(*SHOWN.values())
_OF_A_CAST = frozenset(
    ["edition", "foundry", "reduction", "patina", "patinated", "marly", "plinth", "base", "socle"]
)
PRINTED_FROM_PLATES = (
    "engraving", "mezzotint", "etching", "aquatint", "drypoint", "lithograph", "photogravure",
)  # fmt: skip
_IN, _OF = frozenset({"in"}), frozenset({"of"})
ARTICLES = frozenset(["a", "an", "the", "two", "three", "pair"])
_PAIR_OF = frozenset(["pair", "pr", "set", "of", "vintage", "antique", "old", "heavy", "solid"])
SIZES = frozenset(["large", "small", "young", "old", "winged", "horned", "nude", "female", "male"])
_BEHIND_A_FIGURE = frozenset(["with", "and", "on", "holding", "in", "at", "seated", "standing"])
_WORDS_TO_THE_SUBJECT = 5
_IN_AN_ADDITION = 70  # the highest score of a thing that stands in an addition
_FAMILIES = ("metalware-and-silver", "ceramics", "decorative-objects")
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
    _name_bronzes(lexicon, stream, category, materials, told)
    _name_figures(lexicon, stream, category, materials, told)
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


def _name_bronzes(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    told: BoolArray,
) -> None:
    """ "Two forms, bronze, edition of seven": a title, a clause that opens with bronze, a cast."""
    ids = lexicon.concept_ids["category"]
    if "sculpture" not in ids:
        return
    cast = np.zeros(stream.n_titles, dtype=bool)
    cast[stream.title[lexicon.words_in(_OF_A_CAST)[stream.word]]] = True
    rows = np.flatnonzero(told & materials_below(lexicon, *_SCULPTED_IN)[materials.concept])
    titles = materials.title[rows]
    nameless = category.concept < 0
    if "metalware-and-silver" in ids:  # the bare word bronze, which waits
        nameless |= category.doubtful & (category.concept == ids.index("metalware-and-silver"))
    titles = titles[cast[titles] & nameless[titles]]
    settle(category, titles, ids.index("sculpture"), _BY_ITS_MEDIUM)


def _name_figures(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    told: BoolArray,
) -> None:
    """ "Crouching lion, limestone", "boy with a drum, bronze": a subject, and what it is cut in.

    The subject opens the title: a beast or a person, perhaps behind a pose or "head of a". What
    stands behind its "with" is the figure's attribute.
    """
    ids = lexicon.concept_ids["category"]
    if "sculpture" not in ids or "figurine" not in ids or not len(stream):
        return
    kinds = {"sculpture": CARVED_IN, "figurine": MODELLED_IN}
    opens = _opens_with_a_figure(lexicon, stream)
    nameless = (category.concept < 0) | _only_attributes(lexicon, category)
    for kind, stuffs in kinds.items():
        of_it = materials_below(lexicon, *stuffs)[materials.concept]
        titles = materials.title[told & of_it]
        titles = titles[opens[titles] & nameless[titles]]
        settle(category, titles, ids.index(kind), _BY_ITS_MEDIUM)
        nameless[titles] = False


def name_ornaments(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """ "Brass elephant", "pair of china cats": a stuff, a beast, and no word for what it is.

    The stuff opens the title but for counts, sizes and poses, and the beast closes the clause.
    Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    kinds = ("glass-animal", "figurine", "sculpture")
    if not {*kinds} <= {*ids} or not len(materials.title):
        return
    words, last = lexicon.words_in, len(stream) - 1
    beast = words(CREATURES)[stream.word]
    opens = words(ARTICLES | SIZES | _PAIR_OF)[stream.word] | words(POSES)[stream.word]
    opens |= stream.is_number
    shut = np.append(0, np.cumsum(~opens))
    first = stream.first[materials.title]
    leads = shut[materials.start] == shut[first]
    at = np.minimum(materials.end, last)
    posed = words(POSES | SIZES)[stream.word[at]] & (at < last)
    at = np.where(posed, np.minimum(at + 1, last), at).astype(np.int32)
    named = beast[at] & (stream.clause[at] == stream.clause[materials.start])
    ends = stream.closes_clause((at + 1).astype(np.int32))
    ends |= words(_BEHIND_A_FIGURE)[stream.word[np.minimum(at + 1, last)]]
    mine = materials.concept == materials.reading.concept[materials.title]
    free = (category.concept < 0)[materials.title] & (materials.place < PART)
    wood = materials_below(lexicon, "wood")[materials.concept]
    found = leads & named & ends & mine & free
    found &= ~(wood & words(_TOYS_OF_WOOD)[stream.word[at]])
    found &= ~materials.reading.doubtful[materials.title]
    for kind, stuffs in zip(kinds, (("glass",), _ORNAMENTS_IN, _STATUES_IN), strict=True):
        rows = found & materials_below(lexicon, *stuffs)[materials.concept]
        settle(category, materials.title[rows], ids.index(kind), _BY_ITS_MEDIUM)


def _only_attributes(lexicon: Lexicon, category: KindReading) -> BoolArray:
    """Titles whose only thing stands in an addition, or is the bare word for a family."""
    loose = lexicon.is_one_of("category", *_FAMILIES)
    return category.doubtful & ((category.score <= _IN_AN_ADDITION) | loose[category.concept])


def _opens_with_a_figure(lexicon: Lexicon, stream: TokenStream) -> BoolArray:
    """Titles that open with a subject of sculpture: "standing Vishnu", "head of a youth"."""
    opens = np.zeros(stream.n_titles, dtype=bool)
    filled = stream.first[:-1] < stream.first[1:]
    at = stream.first[:-1][filled].copy()
    first = at.copy()
    last = len(stream) - 1
    words = lexicon.words_in
    skip = words(ARTICLES | SIZES)[stream.word] | words(POSES)[stream.word]
    body, of = words(_PARTS_OF_A_BODY)[stream.word], words(_OF)[stream.word]
    shown = words(_SHOWN_IN_STONE)[stream.word]
    for _ in range(_WORDS_TO_THE_SUBJECT):
        after_of = of[at] & body[np.maximum(at - 1, 0)] & (at > first)
        here = (skip[at] | body[at] | after_of) & ~shown[at] & (at < last)
        step = np.minimum(at + 1, last)
        at = np.where(here & (stream.title[step] == stream.title[at]), step, at)
    beyond = np.minimum(at + 1, last)
    ends = (
        stream.closes_clause((at + 1).astype(np.int32))
        | words(_BEHIND_A_FIGURE)[stream.word[beyond]]
    )
    holy = words(_HOLY)[stream.word[at]]  # "Saint John the Baptist, limewood"
    for more in range(2, 2 + _WORDS_OF_A_NAME):
        past = np.minimum(at + more, len(stream)).astype(np.int32)
        ends |= holy & stream.closes_clause(past) & (stream.clause[past - 1] == stream.clause[at])
    same = stream.clause[at] == stream.clause[first]
    opens[filled] = shown[at] & ends & same
    return opens
