"""Where the name that was found is perhaps no more than a part of the name that stands there.

A bed rug is no rug and what is in a case for glasses is not known by the case: such findings wait
for a person. Each function tells, of the findings chosen, one a title, which are in doubt.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import PURPOSE, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role, walk
from pipeline.terms.tokens import BRACKET, HYPHEN, TokenStream
from pipeline.terms.turned import Things, roots
from pipeline.terms.wordforms import plural_forms

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_WORDS_OF_A_NAME = 3
# "Property of a gentleman: oak stool", "from a private collection", "the estate of"
_OWNERS = frozenset(["property", "from", "ex", "provenance", "estate"])
_PICTURES = "prints-and-paintings"


def below(lexicon: Lexicon, *roots: str) -> BoolArray:
    """Categories that are one of the roots or stand below one."""
    return lexicon.below("category", *roots)


# "clock finials, replacement parts"
_OF_A_PART = frozenset(
    {("spare", "part"), ("spare", "parts"), ("replacement", "part"), ("replacement", "parts")}
)


def only_a_part(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Titles that say "case only" or "empty box": what is sold is not the thing named."""
    marks = np.zeros(stream.n_titles, dtype=bool)
    if "marker" not in lexicon.concept_of:
        return marks
    kinds = [c.extra.get("kind", "") for c in lexicon.vocabulary.concepts("marker")]
    part = np.array([kind in ("part", "empty_box") for kind in kinds] or [False], dtype=bool)
    says = lexicon.phrases_where(
        "of a part", lambda words: bool({"only", "empty"} & {*words}) or words in _OF_A_PART
    )
    concept = lexicon.concept_of["marker"][found.phrase]
    rows = np.flatnonzero((concept >= 0) & says[found.phrase])
    rows = rows[part[concept[rows]]]
    marks[stream.title[found.start[rows]]] = True
    return marks


# words of a sentence about the sale, in a clause that names nothing
_CHAT = frozenset(
    ["i", "we", "this", "it", "was", "is", "has", "says", "found", "bought", "picked", "clearing",
     "sorry", "please", "will", "got", "have", "were", "offers", "collection", "postage", "collect",
     "im", "ive", "my", "sold", "selling", "listing", "auction"]
)  # fmt: skip


def after_unknown_name(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    chosen: IntArray,
) -> BoolArray:
    """ "Lady's travelling companion, silver topped bottles": the piece is in the first clause.

    Three words and more, of which some belong to nothing known, name a thing; one or two are a
    dealer's heading, or another language's name. A picture is told after its subject.
    """
    start = things.start[chosen]
    first = stream.first[stream.title[start]]
    unknown = ~context.known & ~context.is_number
    n_clauses = int(stream.clause[-1]) + 1
    told = ~context.dated & ~stream.is_number  # "T.1987-41" is a number and no name
    words = np.bincount(stream.clause, weights=told, minlength=n_clauses)
    odd = np.bincount(stream.clause, weights=unknown, minlength=n_clauses)
    clause = stream.clause[first]
    elsewhere = clause != stream.clause[start]
    elsewhere &= ~_told_before(lexicon, stream, things, chosen)
    # "a brass kwispedoor (spittoon)": what stands in brackets says what that is
    gloss = ((stream.before[start] & BRACKET) > 0) & stream.closes_clause(things.end[chosen])
    elsewhere &= ~(gloss & (stream.clause[start] == clause + 1))
    names = (words[clause] >= _WORDS_OF_A_NAME) & (odd[clause] > 0)
    chat = lexicon.words_in(_CHAT)[stream.word]  # "found this in the loft, oak chest"
    names &= np.bincount(stream.clause, weights=chat, minlength=n_clauses)[clause] == 0
    names &= ~_in_another_language(lexicon, stream, context, n_clauses)[clause]
    names &= ~_ends_with_stuff(lexicon, stream, found, n_clauses)[clause]
    second = np.minimum(first + 1, len(stream) - 1)  # "the property of a lady"
    led = lexicon.words_in(frozenset({"the"}))[stream.word[first]]
    names &= ~lexicon.words_in(_OWNERS)[stream.word[np.where(led, second, first)]]
    shown = below(lexicon, _PICTURES, "tapestry")[things.concept[chosen]]
    return elsewhere & names & ~shown


def _told_before(
    lexicon: Lexicon, stream: TokenStream, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Kimono for a young woman (furisode)": the first clause has named it, less narrowly."""
    title = stream.title[things.start]
    first = stream.clause[stream.first[title]] == stream.clause[things.start]
    picked = np.full(stream.n_titles, -1, dtype=np.int32)
    picked[title[chosen]] = things.concept[chosen]
    mine = picked[title]
    known = first & (mine >= 0) & lexicon.above("category")[mine, things.concept]
    flags = np.zeros(stream.n_titles, dtype=bool)
    flags[title[known]] = True
    return flags[title[chosen]]


def _ends_with_stuff(
    lexicon: Lexicon, stream: TokenStream, found: Found, n_clauses: int
) -> BoolArray:
    """Clauses such as "an Indo-Portuguese teak", with "ebony and ivory cabinet" behind them."""
    flags = np.zeros(n_clauses, dtype=bool)
    stuff = lexicon.concept_of["material"][found.phrase] >= 0
    ends = stuff & stream.closes_clause(found.end)
    flags[stream.clause[found.start[ends]]] = True
    return flags


_OTHER_LANGUAGES = frozenset(
    ["de", "du", "des", "la", "le", "les", "et", "mit", "und", "aus", "von"]
)


def _in_another_language(
    lexicon: Lexicon, stream: TokenStream, context: Context, n_clauses: int
) -> BoolArray:
    """Clauses such as "pendule de voyage" and "moulin à café": the same thing is named behind."""
    inside = ~stream.starts()
    foreign = lexicon.words_in(_OTHER_LANGUAGES)[stream.word] & inside
    either = lexicon.words_in(frozenset({"a"}))[stream.word] & inside
    known = np.bincount(stream.clause, weights=context.known & ~either, minlength=n_clauses)
    small = np.bincount(stream.clause, weights=either, minlength=n_clauses)
    flags: BoolArray = np.bincount(stream.clause, weights=foreign, minlength=n_clauses) > 0
    return flags | ((small > 0) & (known == 0))


# small things that serve another, by which a heading of one word opens: "rudder, boat"
_OF_OTHER_THINGS = frozenset(
    ["pin", "chape", "cartridge", "brace", "motor", "needle", "rowlock", "rudder", "sail",
     "stiffener", "guarantee", "warranty", "licence", "license", "permit", "clapper", "spigot",
     "valve", "oar", "propeller", "tiller", "pump", "filter", "tyre", "bulb", "wick", "cartridges",
     "needles", "rowlocks", "sails", "bellows", "stylus", "ferrule", "label", "receipt", "manual"]
)  # fmt: skip


def after_name_of_part(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Nozzle, candelabrum", "handle, sword": turned round, it is the part that is named."""
    start = things.start[chosen]
    first = stream.first[stream.title[start]]
    second = np.minimum(first + 1, len(stream) - 1)
    alone = (stream.clause[second] != stream.clause[first]) & (start == second)
    named = has_role(context.starts[first], "part", "head_after")
    named |= lexicon.words_in(_OF_OTHER_THINGS)[stream.word[first]]
    return alone & named & ~below(lexicon, _PICTURES)[things.concept[chosen]]


_PLATE = frozenset(["plate", "pl"])
_ROMAN = re.compile(r"(?!x$)(?:x{0,4})(?:ix|iv|v?i{0,3})")
_HIGHEST_PLATE = 3  # digits of its number
_OF_A_SIZE = frozenset(
    ["cm", "mm", "inch", "inches", "in", "ins", "diameter", "wide", "x", "pieces", "piece", "set",
     "of"]
)  # fmt: skip


def plate_of_a_book(
    lexicon: Lexicon, stream: TokenStream, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Plate 12, butterflies", "plate III from a herbal", "1d red, plate 77": no crockery."""
    start, end = things.start[chosen], things.end[chosen]
    last = len(stream) - 1
    at, behind = np.minimum(end, last), np.minimum(end + 1, last)
    plate = lexicon.words_in(_PLATE)[stream.word[start]] & (things.size[chosen] == 1)
    plate &= (end <= last) & (stream.clause[at] == stream.clause[start])
    roman = stream.spellings_that("a Roman numeral", lambda one: bool(_ROMAN.fullmatch(one)))
    figures = stream.figures()[stream.spelling[at]]
    digits = (figures > 0) & (figures <= _HIGHEST_PLATE)
    sized = lexicon.words_in(_OF_A_SIZE)[stream.word[behind]]
    sized &= stream.clause[behind] == stream.clause[start]
    # 'plate 10" blue', and a number that ends the title: of what, nobody knows
    inches = stream.spellings_that("an inch mark", lambda one: '"' in one or "'" in one)
    sized |= inches[stream.gap[behind]] & (stream.gap[behind] >= 0)
    sized |= (end >= last) | (stream.title[behind] != stream.title[start])
    first = stream.opens_clause(start)
    return plate & ((digits & ~sized & first) | roman[stream.spelling[at]])


_LEAVES = frozenset(["page", "pages", "leaf", "leaves", "sheet", "folio", "cutting", "plate"])
_FROM = frozenset(["from", "of", "out"])
_BOUND = (
    "book", "album", "sketchbook", "photograph-album", "newspaper", "magazine", "diptych", "atlas",
    "bible", "prayer-book", "koran", "sample-book", "diary", "ledger", "scrapbook",
)  # fmt: skip
_WORDS_TO_THE_BOOK = 4  # "leaf from an illuminated Flemish missal"


def leaf_of_a_book(
    lexicon: Lexicon, stream: TokenStream, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Page from a sketchbook", "album leaf", "newspaper page": one leaf, and not the whole."""
    start, end = things.start[chosen], things.end[chosen]
    last = len(stream) - 1
    leaf = lexicon.words_in(_LEAVES)[stream.word]
    leads = lexicon.words_in(_FROM)[stream.word]
    said = np.zeros(len(chosen), dtype=bool)
    for back in range(1, 1 + _WORDS_TO_THE_BOOK):
        at = np.maximum(start - back, 0)
        before = np.maximum(at - 1, 0)
        same = (start - back > 0) & (stream.clause[before] == stream.clause[start])
        said |= same & leads[at] & leaf[before]
    at = np.minimum(end, last)
    # "incunable leaf", "book page": said of books of hours and of herbals too
    behind = (end <= last) & leaf[at] & (stream.clause[at] == stream.clause[start])
    said |= behind & ~lexicon.is_one_of("category", "book")[things.concept[chosen]]
    said &= ~leaf[end - 1] & ~leaf[start]
    return said & below(lexicon, *_BOUND)[things.concept[chosen]]


def after_a_weak_name(
    lexicon: Lexicon, stream: TokenStream, found: Found, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Pair of portraits, he with a watch chain": a word such as portrait closed the first clause.

    Such words name the piece only where nothing else does, and here another family is named later.
    """
    weak = Things(lexicon, found, weak=True)
    flags = np.full(stream.n_titles, -1, dtype=np.int32)
    if not len(weak.start):
        return np.zeros(len(chosen), dtype=bool)
    title = stream.title[weak.start]
    opens = stream.clause[weak.start] == stream.clause[stream.first[title]]
    opens &= stream.closes_clause(weak.end) & (lexicon.concept_of["material"][weak.phrase] < 0)
    flags[title[opens]] = weak.concept[opens]
    start = things.start[chosen]
    mine = stream.title[start]
    elsewhere = stream.clause[start] != stream.clause[stream.first[mine]]
    named = flags[mine] >= 0
    other = unlike(lexicon, np.maximum(flags[mine], 0), things.concept[chosen])
    return elsewhere & named & other


def by_a_detail(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Rosewood and pearl, fitted interior, lock stamped": nothing but a part has a name.

    The first clause names no thing, and a later one a fitting, or what is a stuff as well.
    """
    title = stream.title[things.start]
    opens = stream.clause[stream.first[title]]
    told = np.zeros(stream.n_titles, dtype=bool)
    told[title[opens == stream.clause[things.start]]] = True
    start = things.start[chosen]
    later = ~told[stream.title[start]]
    detail = below(lexicon, "parts-and-fittings", "glass-eye")[things.concept[chosen]]
    detail |= has_role(context.starts[start], "part") & (things.size[chosen] == 1)
    detail |= (lexicon.concept_of["material"][things.phrase[chosen]] >= 0) & ~below(
        lexicon, _PICTURES
    )[things.concept[chosen]]
    return later & detail


_OPENS_LIST = frozenset(
    ["include", "including", "includes", "incl", "inc", "comprising", "comprises"]
)


def of_a_list_begun(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Box of plate including cutlery, dishes and a tray": the list began before the dishes."""
    opens = lexicon.words_in(_OPENS_LIST)[stream.word]
    # "kitchenalia collection: graters, whisks, tins"
    lots = lexicon.words_in(_LOTS)[stream.word]
    at = np.flatnonzero(lots[:-1]) + 1
    at = at[~stream.starts()[at] & (stream.gap[at] >= 0)]
    for place in at.tolist():
        opens[place - 1] |= ":" in stream.spellings[stream.gap[place]]
    first = np.full(stream.n_titles, len(stream), dtype=np.int32)
    at = np.flatnonzero(opens).astype(np.int32)
    np.minimum.at(first, stream.title[at], at)
    start = things.start[chosen]
    opener = first[stream.title[start]]
    earlier = opener < start
    clause = stream.clause[np.minimum(opener, len(stream) - 1)]
    return earlier & (clause != stream.clause[start])


_LOTS = frozenset(["collection", "lot", "assortment", "quantity", "bundle", "selection", "mixed"])
_BOXES = frozenset(["box", "boxes", "bag", "bags", "crate", "crates", "tray", "trays", "shelf"])

_SHOWING = (
    "brooch necklace bracelet pendant print photograph postcard lamp cufflink planter ring "
    "poster painting earring box plaque toy"
)
_WHATEVER_IT_SHOWS = frozenset(
    form for word in _SHOWING.split() for form in (word, *plural_forms(word))
)


_FORMS = frozenset(["baluster", "ring"])  # "a baluster tankard", "ring flask": its form


def of_another_family(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    follows: BoolArray,
    chosen: IntArray,
) -> BoolArray:
    """ "Bed rug", "chair caddy": a name of two things that is not known whole may be a third thing.

    Two of one family (`trench art vase`) or a name of two words (`pulley coffee table`) are sure,
    and so is what may show or hold anything (`coin brooch`, `violin print`, `button box`).
    """
    before = np.maximum(chosen - 1, 0)
    sure = lexicon.words_in(_WHATEVER_IT_SHOWS)[stream.word[things.end[chosen] - 1]]
    other = unlike(lexicon, things.concept[before], things.concept[chosen])
    # "needlepoint footstool": of it
    sure |= lexicon.concept_of["material"][things.phrase[before]] >= 0
    # "eight-key flute", "six-plate stove"
    first = things.start[before]
    counted = context.is_number[np.maximum(first - 1, 0)] & context.linked[first]
    sure |= counted & ((stream.before[first] & HYPHEN) > 0)
    sure |= lexicon.words_in(_FORMS)[stream.word[first]] & (things.size[before] == 1)
    return (chosen > 0) & follows[before] & (things.size[chosen] == 1) & other & ~sure


def unlike(lexicon: Lexicon, one: IntArray, other: IntArray) -> BoolArray:
    """Whether two categories belong to different families."""
    root = roots(lexicon)
    return root[one] != root[other]


_NAME_BEHIND_OR = 3  # words; "or 'Act of Parliament' clock"


def glossed_by_or(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Soroban or abacus", "argyle, or gravy warmer": the same thing by another name.

    The name of another thing that is known ("clock or barometer") leaves the doubt.
    """
    start, end = things.start[chosen], things.end[chosen]
    last = len(stream) - 1
    at = np.minimum(end, last)
    glossed = (end <= last) & has_role(context.starts[at], "alternative")
    glossed &= (stream.title[at] == stream.title[start]) & context.beside_or[end - 1]
    glossed &= ~context.hedged[start] | context.beside_or[start]
    # "box or casket": the first is said of too much to be the other
    glossed &= ~(lexicon.words_in(_BOXES)[stream.word[start]] & (things.size[chosen] == 1))
    named = np.full(len(stream), -1, dtype=np.int32)
    named[things.start] = things.concept
    for step in range(1, _NAME_BEHIND_OR + 1):
        behind = np.minimum(at + step, last)
        other = np.where(stream.title[behind] == stream.title[start], named[behind], -1)
        mine, above = things.concept[chosen], lexicon.above("category")
        same = (other < 0) | (other == mine) | above[other, mine] | above[mine, other]
        doubted = context.hedged[behind] & ~context.beside_or[behind]  # "or porringer?"
        glossed &= same & ~(doubted & (stream.title[behind] == stream.title[start]))
    return glossed


_SMALL = frozenset(["miniature", "minature", "mini"])
_BEFORE_A_NAME = 4  # words; "miniature Dutch silver arm chair"


def made_small(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Miniature silver chair": a sample, a toy or a trinket, and no piece of furniture."""
    small = lexicon.words_in(_SMALL)[stream.word] if len(stream) else np.zeros(0, dtype=bool)
    start = things.start[chosen]
    apart = things.end[chosen] - start > things.size[chosen]  # "miniature silver chair"
    said = apart & small[start] if len(stream) else np.zeros(len(chosen), dtype=bool)
    linked = np.ones(len(chosen), dtype=bool)
    for step in range(_BEFORE_A_NAME):
        at = np.maximum(start - step, 0)
        linked &= (start - step > 0) & context.linked[at]
        said |= linked & small[np.maximum(at - 1, 0)]
    mine = things.concept[chosen]
    # "silver miniature sedan chair", "gold miniature violin"
    precious = lexicon.words_in(_PRECIOUS)[stream.word]
    of_it = np.bincount(stream.clause[precious], minlength=int(stream.clause[-1]) + 1) > 0
    trinket = below(lexicon, *_MADE_AS_TRINKETS)[mine] & of_it[stream.clause[start]]
    return said & (below(lexicon, "furniture")[mine] | trinket)


_PRECIOUS = frozenset(["silver", "gold"])
_MADE_AS_TRINKETS = (
    "carriage", "sedan-chair", "cart", "boat", "motor-car", "bicycle", "musical-instruments",
    "coffee-pot", "teapot", "tea-set", "kettle", "jug", "tankard", "spinning-wheel", "chair",
)  # fmt: skip


_STATES = ("negate", "purpose", "conjunction", "with", "subject")


def whole_or_part(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Wall clock pendulum key wind": a pendulum for sale, or a clock that has one.

    The name of a part whose first word closes the name of a whole, with more said behind it.
    """
    start, end = things.start[chosen], things.end[chosen]
    at = np.minimum(end, len(stream) - 1)
    goes_on = (end < len(stream)) & context.linked[at] & ~context.is_number[at]
    goes_on &= ~context.next_has(end, *_STATES) & (things.size[chosen] > 1)
    goes_on &= ~lexicon.words_in(_ALONE)[stream.word[at]] & context.linked[start]
    asked = goes_on & below(lexicon, "parts-and-fittings")[things.concept[chosen]]
    doubt = np.zeros(len(chosen), dtype=bool)
    rows = np.flatnonzero(asked)
    if not len(rows):
        return doubt
    pairs = np.stack([stream.word[start[rows] - 1], stream.word[start[rows]]], axis=1).ravel()
    joined = np.ones(len(pairs), dtype=bool)
    joined[::2] = False
    first, length, phrase = walk(lexicon, pairs, joined)
    named = (first % 2 == 0) & (length == 2) & (lexicon.concept_of["category"][phrase] >= 0)
    doubt[rows[first[named] // 2]] = True
    return doubt


_ALONE = frozenset(["only", "spare", "spares", "part", "parts"])
_HOLDERS = frozenset(
    ["box", "boxes", "case", "cases", "stand", "stands", "holder", "cover", "covers", "bag", "rack"]
)


def holds_another(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    title: IntArray,
    chosen: IntArray,
) -> BoolArray:
    """ "Leather case for opera glasses" is no suitcase: what it holds says what it is."""
    holder = lexicon.words_in(_HOLDERS)[stream.word[things.end[chosen] - 1]]
    holder &= things.size[chosen] > 1  # a bare box or case is what it says
    holder &= context.next_has(things.end[chosen], "purpose")
    held = np.zeros(stream.n_titles, dtype=bool)
    held[title[context.zone[things.start] == PURPOSE]] = True
    return holder & held[title[chosen]]


_CONVERTED = frozenset(["converted", "repurposed", "upcycled", "adapted"])
_MADE_UP, _AS = frozenset(["mounted", "adapted", "fashioned", "reused"]), frozenset({"as"})
_INTO, _ARTICLES = frozenset(["to", "into"]), frozenset(["a", "an"])
_MAY = frozenset(["be", "easily", "being"])
_LAMPS = frozenset(["lamp", "lamps"])


def made_into_another(
    lexicon: Lexicon, stream: TokenStream, found: Found, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Teapot converted to a lamp", "mounted as a lamp": a person should see which of the two.

    A clock's escapement is converted, and the clock stays a clock.
    """
    words = lexicon.words_in
    one = np.maximum(things.start - 1, 0)
    article = words(_ARTICLES)[stream.word[one]]
    to = np.maximum(one - article, 0)
    verb = np.maximum(to - 1, 0)
    said = words(_INTO)[stream.word[to]] & words(_CONVERTED)[stream.word[verb]]
    said |= words(_AS)[stream.word[to]] & words(_MADE_UP)[stream.word[verb]]
    modal = np.maximum(verb - 1, 0)
    said &= ~(words(_MAY)[stream.word[modal]] & (stream.title[modal] == stream.title[verb]))
    said &= stream.title[verb] == stream.title[things.start]
    flags = np.zeros(stream.n_titles, dtype=bool)
    flags[stream.title[things.start[said]]] = True
    lamps = lexicon.phrases_where(
        "made into lamps",
        lambda phrase: phrase[0] in _CONVERTED and phrase[-1] in _LAMPS,
    )
    flags[stream.title[found.start[lamps[found.phrase]]]] = True
    # "cameo mounted as a pendant"
    own = below(lexicon, "clocks-and-watches", "lighting", "jewellery")[things.concept[chosen]]
    flagged: BoolArray = flags[stream.title[things.start[chosen]]] & ~own
    return flagged


# words for a form or a work, of which each trade has its own kinds: the piece priced under the bare
# word is one of them
_OF_FORM = (
    "hook fork pan tongs frame gauge gun ring pump brace trainer hearse paddle server shears "
    "token knocker chart rack iron horse donkey dog jack shoe boot knife hammer rake"
)
_FORM_WORDS = frozenset(form for word in _OF_FORM.split() for form in (word, *plural_forms(word)))


def of_a_kind_unknown(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, chosen: IntArray
) -> BoolArray:
    """ "Muck fork", "pruning hook": a plain word before a word of form makes it another kind.

    The word before belongs to nothing that was found, and is a word of everyday English.
    """
    start = things.start[chosen]
    formed = (things.size[chosen] == 1) & lexicon.words_in(_FORM_WORDS)[stream.word[start]]
    before = np.maximum(start - 1, 0)
    strange = context.linked[start] & ~context.known[before] & ~context.is_number[before]
    plain = lexicon.modifiers.plain
    everyday = stream.spellings_that("everyday", lambda spelling: spelling in plain)
    return formed & strange & everyday[stream.spelling[before]]
