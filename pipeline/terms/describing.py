"""What describes a piece and is no thing for sale itself: a stuff, a form, a part of it.

`pillar ogee mirror` is no column, `bracket clock fusee movement` no movement and `rocking chair
cane seat` no cane. What is described that way keeps the title.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.compounds import named_for_work
from pipeline.terms.context import MAIN, Context
from pipeline.terms.doubts import below, unlike
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

PICTURES = "prints-and-paintings"
_SHAPES = frozenset(
    ["pillar", "pedestal", "column", "beehive", "baluster", "trumpet", "tripod", "bell", "barrel",
     "urn", "bucket", "lantern", "drum", "cannon", "lyre", "harp", "horseshoe", "shield", "sabre",
     "basket", "helmet", "boat", "mask", "cherub", "serpent", "anchor", "fan", "bottle"]
)  # fmt: skip
_HAS = frozenset(["stand", "lid", "cover", "base", "case", "key", "tray", "liner", "stopper"])
_FRAMES = frozenset(["frame", "frames"])
_SHORTEST_PARTICIPLE = 4  # letters; "bed", "shed", "sled"
_SAID_OF_A_PIECE = ("parts-and-fittings", "column", "camera-lens", "glass-eye")
_SAID_OF_TEXTILES = ("embroidery", "lace")  # "tablecloth cross stitch", "lawn dress lace"
_LITHO = frozenset(["litho", "lithograph", "lithographed"])
# what is said of a piece of a family, and is another thing by itself
_BELONGING = (
    (("toys-and-games", "advertising-sign", "box", "tin", "canister"), _LITHO),
    (("book", "atlas", "encyclopaedia", "magazine"), frozenset(["plate", "plates", "folio"])),
    (("bible", "book", "document"), frozenset(["record", "records"])),
    (("blanket", "bedspread", "coverlet", "cushion"), frozenset(["tapestry"])),
    (("textiles-and-rugs",), frozenset(["bed", "beds", "runner"])),
    (("globe", "radio", "gramophone", "telephone"), frozenset(["relief", "tabletop", "desk"])),
    (("doll", "soft-toy"), frozenset(["dress", "dresses", "clothes", "hat", "shoes", "wig"])),
    (("scales", "balance"), frozenset(["weight", "weights"])),
    (("firearm", "pistol"), frozenset(["flask", "mould", "mold", "bayonet"])),
)
_OF = frozenset({"of"})
_USES = frozenset(
    [("shop", "display"), ("garden", "ornament"), ("table", "decor"), ("shelf", "decor"),
     ("mantel", "decor"), ("home", "decor"), ("photo", "prop"), ("film", "prop"),
     ("display", "piece"), ("display", "prop"), ("window", "display")]
)  # fmt: skip
_SETS = frozenset(["set", "service", "canteen", "suite", "cased"])
_HOLD_SETS = frozenset(
    ["box", "case", "table", "cabinet", "stand", "tray", "holder", "rack", "bag", "cover", "chest"]
)
# what tells of the form of a vessel, of the pattern of a cloth
_OF_FORM = (
    (("drinking-glass", "wine-glass", "goblet"), frozenset(["bowl", "bucket", "trumpet", "bell"])),
    (("textiles-and-rugs", "clothing"), frozenset(["print", "prints"])),
    (("radio", "globe", "gramophone", "telephone", "clock"), frozenset(["tabletop"])),
    (("figurine", "doll"), frozenset(["lace"])),
    (
        ("brooch", "pendant", "charm", "earrings", "ring", "stick-pin"),
        frozenset(["harp", "anchor", "horseshoe", "crown", "lyre", "ship"]),
    ),
    (("quilt", "coverlet", "bedspread"), frozenset(["ring", "star", "basket", "fan"])),
    (
        ("tableware-and-vessels", "ceramics", "tobacco-jar", "jar", "vase", "jug", "tile"),
        frozenset(["relief", "reliefs"]),
    ),
)
_SAID_OF_ANY_PIECE = "table-top"  # "gramophone table top"


def adjectives(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    zone: npt.NDArray[np.uint8],
    usable: BoolArray,
) -> BoolArray:
    """Single words that name a material, a people or a form too, before a thing of the clause.

    "Ottoman silver belt buckle" is no footstool, "walnut and cane high back chair" no stick and
    "pillar ogee mirror" no column.
    """
    double = np.zeros(len(lexicon.phrases), dtype=bool)
    for kind in ("material", "period"):
        if kind in lexicon.concept_of:
            double |= lexicon.concept_of[kind] >= 0
    known = things.phrase >= 0
    either = known & (things.size == 1) & (zone == MAIN)
    either &= ~below(lexicon, PICTURES)[things.concept]  # a work is named for its technique
    either[known] &= double[things.phrase[known]]
    shape = lexicon.words_in(_SHAPES)[stream.word[things.start]] & (things.size == 1)
    shape &= known & (zone == MAIN) & ~context.next_has(things.end, "conjunction", "with")
    counted = _counted_singular(lexicon, stream, context, things) & (zone == MAIN)
    worked = named_for_work(lexicon, stream, things) & known & (zone == MAIN)
    if not (either | shape | counted | worked).any():
        return either
    named = usable & (zone == MAIN) & ~either & ~shape & ~counted & ~worked
    part = below(lexicon, "parts-and-fittings")[things.concept]
    part |= lexicon.words_in(_HAS)[stream.word[things.end - 1]]
    before = np.zeros(len(either), dtype=bool)
    whole = named & ~part
    for told, heads in ((either, named), (shape, whole), (counted, named), (worked, whole)):
        last = np.full(int(stream.clause[-1]) + 1, -1, dtype=np.int32)
        np.maximum.at(last, stream.clause[things.start[heads]], things.start[heads])
        before |= told & (last[stream.clause[things.start]] > things.start)
    return before


_COUNTS = frozenset(
    ["two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "twelve"]
)
_MOST_DIGITS = 2


def _counted_singular(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """Counted things that are no plural: "five bottle silver plated cruet stand"."""
    before = np.maximum(things.start - 1, 0)
    short = np.array([len(one) <= _MOST_DIGITS for one in stream.spellings] or [False], dtype=bool)
    number = context.is_number[before] & short[stream.spelling[before]]
    number |= lexicon.words_in(_COUNTS)[stream.word[before]]
    last = stream.spelling[things.end - 1]
    several = stream.in_s()
    return number & context.linked[things.start] & (things.size == 1) & ~several[last]


def described_by_part(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, concept: IntArray
) -> BoolArray:
    """Findings before the name of a part that has a word of its own.

    "Bracket clock fusee movement", "mantel clock marble columns": said of the clock, while a
    "carriage clock movement" is a movement.
    """
    described = np.zeros(len(concept), dtype=bool)
    part = below(lexicon, *_SAID_OF_A_PIECE)[concept]
    names = _kind_words(lexicon)
    own = ~names[stream.word[things.start]] | below(lexicon, _SAID_OF_ANY_PIECE)[concept]
    described[:-1] = part[1:] & (things.size[1:] > 1) & own[1:] & ~part[:-1]
    # "photograph silver frame" is a frame, "mirror oak frame" a mirror
    shown = below(lexicon, PICTURES, "document")[concept[:-1]]
    frame = lexicon.words_in(_FRAMES)[stream.word[things.end - 1]][1:]
    adjective = _opened_by_adjective(lexicon, stream, things)[1:]
    form = lexicon.words_in(_SHAPES)[stream.word[things.start]] & (things.size == 1)
    adjective &= ~form[:-1]  # "baluster pine cupboard"
    described[:-1] |= adjective & ~(shown & frame) & unlike(lexicon, concept[:-1], concept[1:])
    worked = below(lexicon, *_SAID_OF_TEXTILES)[concept]
    described[:-1] |= worked[1:] & ~worked[:-1] & below(lexicon, "textiles-and-rugs")[concept[:-1]]
    # "quilt wedding ring pattern", "box mirror lid": a pattern, and a part of another thing's kind
    shown = context.next_has(things.end, "shape_after")
    shown |= _before_a_part(lexicon, stream, context, things)
    # "tin toy litho": how it was printed
    printed = lexicon.words_in(_LITHO)[stream.word[things.start]] & (things.size == 1)
    described[:-1] |= printed[1:] & ~below(lexicon, PICTURES)[concept[:-1]]
    # "carving set knife fork": what a set is made up of
    sets = lexicon.words_in(_SETS)[stream.word[things.end - 1]] & (things.size > 1)
    holds = lexicon.words_in(_HOLD_SETS)[stream.word[things.end - 1]]
    described[:-1] |= sets[:-1] & ~holds[1:] & (things.size[1:] == 1)
    # "tobacco jar relief of huntsmen", "rummer bucket bowl"
    for owners, words in _OF_FORM:
        form = lexicon.words_in(words)[stream.word[things.end - 1]]
        described[:-1] |= form[1:] & below(lexicon, *owners)[concept[:-1]] & ~form[:-1]
    described[:-1] |= shown[1:] & ~shown[:-1] & unlike(lexicon, concept[:-1], concept[1:])
    # "mahogany bookcase shop display": what it would be good for
    used = lexicon.phrases_where("uses", lambda words: words in _USES)[things.phrase]
    described[:-1] |= used[1:] & ~used[:-1]
    return described


def _before_a_part(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """Findings with the name of a part behind them: the mirror of "mirror lid velvet lined"."""
    part = context.next_has(things.end, "part")
    # "clock top table": the part belongs to a name that goes on
    names = np.zeros(len(stream) + 2, dtype=bool)
    names[things.start] = context.linked[things.start]
    return part & ~names[things.end + 1]


def before_a_part_of(lexicon: Lexicon, context: Context, things: Things) -> BoolArray:
    """Findings before a material and its part: "rocking chair cane seat" is no cane."""
    stuff = np.zeros(len(things.start), dtype=bool)
    if "material" not in lexicon.concept_of:
        return stuff
    known = things.phrase >= 0
    stuff[known] = lexicon.concept_of["material"][things.phrase[known]] >= 0
    inside = things.end < len(context.linked)
    at = np.where(inside, things.end, 0)
    of_part = stuff & (things.size == 1) & inside & context.linked[at]
    of_part &= has_role(context.starts[at], "part")
    before = np.zeros(len(of_part), dtype=bool)
    before[:-1] = of_part[1:]
    return before


def only_mentioned(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, held: IntArray
) -> BoolArray:
    """Findings that are no second thing beside the one held: parts, counts, material words."""
    after = (held >= 0) & (things.start > things.start[np.maximum(held, 0)])
    bits = context.starts[things.start]
    part = has_role(bits, "part", "body", "bare_material") & (things.size == 1)
    part |= (things.size > 1) & lexicon.words_alone("part")[stream.word[things.end - 1]]
    before = np.maximum(things.start - 1, 0)
    counted = context.linked[things.start] & context.is_number[before]
    material = np.zeros(len(things.start), dtype=bool)
    known = things.phrase >= 0
    material[known] = lexicon.concept_of["material"][things.phrase[known]] >= 0
    # "fountain pen gold nib", "illustrated book, plates", "quilt double bed"
    owner = things.concept[np.maximum(held, 0)]
    fitting = below(lexicon, "parts-and-fittings")
    own = fitting[things.concept] & ~fitting[owner]
    own |= belongs_to(lexicon, stream, things, owner)
    return after & (part | counted | material | own)


_FIGURES = ("figurine", "sculpture", "garden-statue", "glass-animal", "pottery-figure")


def shapes(lexicon: Lexicon) -> BoolArray:
    """Phrases such as "ceramic cat": the name of a figure that opens with a stuff."""

    def make() -> BoolArray:
        figure = below(lexicon, *_FIGURES)
        concept = lexicon.concept_of["category"]
        stuff = lexicon.concept_of.get("material")
        flags = np.zeros(len(lexicon.phrases), dtype=bool)
        if stuff is None:
            return flags
        for number in np.flatnonzero((concept >= 0) & figure[np.maximum(concept, 0)]).tolist():
            words = lexicon.phrases[number]
            openings = (words[:size] for size in range(1, len(words)))
            numbers = (lexicon.phrase_numbers.get(one, -1) for one in openings)
            flags[number] = any(one >= 0 and stuff[one] >= 0 for one in numbers)
        return flags

    return lexicon.memo(f"shapes in {lexicon.field_kind or 'titles'}", make)


def before_a_shape(lexicon: Lexicon, stream: TokenStream, things: Things) -> BoolArray:
    """ "Ashtray ceramic cat", "doorstop cast iron dog": findings with a shape behind them."""
    before = np.zeros(len(things.start), dtype=bool)
    shape = (things.phrase >= 0) & shapes(lexicon)[np.maximum(things.phrase, 0)]
    shape &= stream.closes_clause(things.end)
    before[:-1] = shape[1:] & ~shape[:-1] & ~below(lexicon, *_FIGURES)[things.concept[:-1]]
    return before


def belongs_to(lexicon: Lexicon, stream: TokenStream, things: Things, owner: IntArray) -> BoolArray:
    """Findings that by their last word belong to a piece of the owner's kind, or tell its form."""
    own = np.zeros(len(things.start), dtype=bool)
    for owners, words in (*_BELONGING, *_OF_FORM):
        named = lexicon.words_in(words)[stream.word[things.end - 1]]
        own |= named & below(lexicon, *owners)[owner]
    return own


_HOLD_MANY = frozenset(["album", "albums", "box", "boxes", "tin", "tins", "case", "bag", "tray"])


def contents_of(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, held: IntArray
) -> BoolArray:
    """ "Album of postcards and cabinet cards": what it holds, and no second thing beside it."""
    owner = np.maximum(held, 0)
    start, end = things.start[owner], things.end[owner]
    holds, of = lexicon.words_in(_HOLD_MANY)[stream.word], lexicon.words_in(_OF)[stream.word]
    holder = holds[end - 1] & context.next_is(end, of)
    # "album of postcards" is a name of its own
    second = np.minimum(start + 1, len(stream) - 1)
    holder |= holds[start] & of[second] & (things.size[owner] > 1)
    same = stream.clause[things.start] == stream.clause[start]
    return (held >= 0) & holder & same & (things.start > start)


def beside_a_part(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """ "Washstand marble top and tiles": an "and" behind the name of a part adds another part."""
    start = things.start
    joins, before = np.maximum(start - 1, 0), np.maximum(start - 2, 0)
    joined = (start > 1) & context.linked[start] & context.linked[joins]
    joined &= has_role(context.starts[joins], "conjunction")
    return joined & has_role(context.ends[before], "part")


def _opened_by_adjective(lexicon: Lexicon, stream: TokenStream, things: Things) -> BoolArray:
    """Names of several words that open with a stuff or a participle: they close no longer name.

    "Field glasses leather case", "pipe carved head": nobody builds a name so, while "leather field
    glasses case" is a case.
    """
    key = f"adjectives of names in {lexicon.field_kind or 'titles'}"
    adjective = lexicon.memo(key, lambda: _adjectives_of_names(lexicon))
    flags: BoolArray = adjective[stream.word[things.start]] & (things.size > 1)
    return flags


def _adjectives_of_names(lexicon: Lexicon) -> BoolArray:
    """Word number -> whether it is a material or a participle and names no kind by itself."""
    flags = np.zeros(lexicon.n_words, dtype=bool)
    stuffs = np.zeros(len(lexicon.phrases), dtype=bool)
    if "material" in lexicon.concept_of:
        stuffs |= lexicon.concept_of["material"] >= 0
    # a photograph and a cane are things first
    stuffs &= (lexicon.concept_of["category"] < 0) | lexicon.weak("category")
    for phrase in np.flatnonzero(stuffs):
        words = lexicon.phrases[int(phrase)]
        if len(words) == 1:
            flags[lexicon.words[words[0]]] = True
    for word, number in lexicon.words.items():
        flags[number] |= word.endswith("ed") and len(word) > _SHORTEST_PARTICIPLE
    return flags & ~_kind_words(lexicon)


def _kind_words(lexicon: Lexicon) -> BoolArray:
    key = f"words that are kinds in {lexicon.field_kind or 'titles'}"
    flags: BoolArray = lexicon.memo(key, lambda: _words_of_kinds(lexicon))
    return flags


def _words_of_kinds(lexicon: Lexicon) -> BoolArray:
    """Word number -> whether it names a kind by itself, and no material."""
    alone = np.zeros(lexicon.n_words, dtype=bool)
    kinds = lexicon.concept_of["category"] >= 0
    if "material" in lexicon.concept_of:
        kinds &= lexicon.concept_of["material"] < 0
    for phrase in np.flatnonzero(kinds):
        words = lexicon.phrases[int(phrase)]
        if len(words) == 1:
            alone[lexicon.words[words[0]]] = True
    return alone


_NOT, _FOR = frozenset({"not"}), frozenset({"for"})
_SOLD = frozenset(["included", "incl", "include"])
_MEASURE = frozenset(["scale", "size", "reference"])
_PHOTOS = frozenset(["photo", "photos", "foto", "fotos", "picture", "pictures", "pic", "pics"])
_LOOK = frozenset(["see", "all", "more", "check", "at", "my"])


def of_the_listing(lexicon: Lexicon, stream: TokenStream, things: Things) -> BoolArray:
    """ "Kettle, vase not included", "coin for scale", "see all photos": nothing of it is sold."""
    words, start, end = lexicon.words_in, things.start, things.end
    last = len(stream) - 1
    at, second = np.minimum(end, last), np.minimum(end + 1, last)
    same = stream.clause[second] == stream.clause[start]
    aside = words(_NOT)[stream.word[at]] & words(_SOLD)[stream.word[second]]
    aside |= words(_FOR)[stream.word[at]] & words(_MEASURE)[stream.word[second]]
    aside &= same & (end + 1 <= last)
    before = np.maximum(start - 1, 0)
    photos = words(_PHOTOS)[stream.word[start]] & (things.size == 1)
    photos &= words(_LOOK)[stream.word[before]] & (stream.clause[before] == stream.clause[start])
    title = stream.title[start]
    others = np.bincount(title[~(aside | photos)], minlength=stream.n_titles) > 0
    return (aside | (photos & (before < start))) & others[title]


_STYLED = frozenset(["style", "styled"])


def before_style(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """ "Pistol style lighter", "football-style money box": what the piece behind it is like."""
    styled = context.next_is(things.end, lexicon.words_in(_STYLED)[stream.word])
    last = len(stream) - 1
    beyond = np.minimum(things.end + 1, last)
    opens = np.zeros(len(stream) + 1, dtype=bool)
    opens[things.start] = True
    follows = (things.end < last) & context.linked[beyond]
    third = np.minimum(beyond + 1, last)
    named = opens[beyond] | (opens[third] & context.linked[third])
    return styled & follows & named


_IN_A_STYLE = frozenset(["style", "styled", "look"])


def in_a_style(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """ "Sewing table pembroke style", "desk davenport style": a word behind the piece and its name.

    No thing follows: "pembroke style table" names the piece last.
    """
    styled = context.next_is(things.end, lexicon.words_in(_IN_A_STYLE)[stream.word])
    behind = before_style(lexicon, stream, context, things)
    flags: BoolArray = styled & ~behind & (things.size == 1)
    return flags


# what is sold with a piece of its kind and makes no second lot of it
_FELLOWS = (
    (("bed",), frozenset(["headboard", "headboards", "footboard"])),
    (
        ("carriage-clock", "travel-clock", "pocket-watch", "binoculars", "opera-glasses", "violin"),
        frozenset({"case"}),
    ),
    (("fire-irons", "coal-tongs"), frozenset(["shovel", "poker", "brush", "tongs"])),
    (("salad-bowl",), frozenset(["servers", "server"])),
    (("cake-plate", "cake-stand", "plate"), frozenset(["knife", "slice", "server"])),
)
_PLUS = frozenset(["and", "plus"])
_WORDS_TO_THE_FELLOW = 2


def fellow_of(lexicon: Lexicon, stream: TokenStream, things: Things, held: IntArray) -> BoolArray:
    """ "Bed and headboard", "carriage clock & leather case": findings that go with the one held."""
    owner = np.maximum(held, 0)
    end, gap = things.end[owner], things.start - things.end[owner]
    at = np.minimum(end, len(stream) - 1)
    joined = (held >= 0) & (gap > 0) & (gap <= _WORDS_TO_THE_FELLOW)
    joined &= lexicon.words_in(_PLUS)[stream.word[at]]
    joined &= stream.clause[things.start] == stream.clause[things.start[owner]]
    fellow = np.zeros(len(things.start), dtype=bool)
    for owners, words in _FELLOWS:
        named = lexicon.words_in(words)[stream.word[things.end - 1]]
        fellow |= named & below(lexicon, *owners)[things.concept[owner]]
    return joined & fellow
