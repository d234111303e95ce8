"""What a work shows is not what is sold: "Girl reading a book, bronze", "The Broken Jug, oil".

A thing that somebody holds, plays or sells in the title of a work is its subject; what the work is
made with, in a clause of its own, tells what is sold. Where nothing tells, a person has to.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.describing import PICTURES
from pipeline.terms.doubts import below
from pipeline.terms.figures import ARTICLES, CARVED_IN, MODELLED_IN, SIZES
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import MATERIAL, aspects_of
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.name_words import CREATURES, NATIONS, PEOPLE, POSES, SHOWN
from pipeline.terms.picks import KindReading, settle
from pipeline.terms.pictures import HOLDS_MEDIA, MADE_WITH, WRITTEN
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wholes import PART, Materials

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_FIGURES = CREATURES | PEOPLE | frozenset().union(*SHOWN.values())
_DOING = frozenset(
    ["playing", "reading", "writing", "tying", "beating", "sharpening", "drawing", "carrying",
     "combing", "riding", "drinking", "grinding", "sewing", "blowing", "pulling", "mending",
     "spinning", "knitting", "washing", "polishing", "lighting", "smoking", "pouring", "filling",
     "stringing", "tuning", "opening", "lacing", "fastening", "removing", "throwing", "feeding"]
)  # fmt: skip
_HIS = frozenset(["a", "an", "the", "his", "her", "their", "its", "at"])
# who plays, sells or bears the thing that is named before
_WHO = frozenset(
    ["player", "players", "seller", "sellers", "vendor", "vendors", "merchant", "peddler",
     "pedlar", "lesson", "bearer", "carrier"]
)  # fmt: skip
_BEHIND_WHO = frozenset(["with", "and", "on", "in", "at", "seated", "standing", "by", "after"])
_TO_THE_FIGURE = 3  # words
_SHOWN_SCORE = np.float32(60)
_BY_ITS_MEDIUM = 90.0  # score; nobody said that it is a picture

# words of media, each with the kind of picture that is made with it
_CORES = {
    "oil": "painting", "oils": "painting", "painting": "painting", "acrylic": "painting",
    "acrylics": "painting", "tempera": "painting", "pastel": "pastel", "pastels": "pastel",
    "watercolour": "watercolour", "watercolor": "watercolour", "gouache": "gouache",
    "pencil": "drawing", "charcoal": "drawing", "chalk": "drawing", "chalks": "drawing",
    "crayon": "drawing", "drawing": "drawing", "print": "print", "giclee": "print",
    "edition": "print", "proof": "print", "poster": "poster", "photograph": "photograph",
    "photo": "photograph", "engraving": "engraving", "media": "prints-and-paintings",
    "ink": "drawing",
}  # fmt: skip
# ... that hardly anything else is made with
_STRONG = frozenset(
    ["oils", "painting", "pastel", "pastels", "watercolour", "watercolor", "gouache", "charcoal",
     "giclee", "edition", "proof", "media", "drawing"]
)  # fmt: skip
_BESIDE_A_CORE = frozenset(
    ["mixed", "limited", "signed", "framed", "unframed", "colour", "color", "coloured", "colored",
     "original", "artists", "on", "and", "canvas", "board", "paper", "card", "panel", "linen",
     "masonite", "canvasboard", "pen", "mounted", "glazed", "laid", "down", "dated", "a", "an",
     "in", "wash", "black", "white", "red", "brown", "hand", "wove", "numbered"]
)  # fmt: skip
_SHADES = frozenset(["charcoal", "pastel", "pastels", "chalk", "ink"])
_OF_PLASTIC = {"acrylic"}  # "a bowl, acrylic"
_THE, _SCHOOL = frozenset({"the"}), frozenset({"school"})
_OPENS_A_SCHOOL = NATIONS | frozenset(["continental", "european", "english", "anglo", "provincial"])
_WORDS_OF_A_SCHOOL = 3
# what may hold, bear or be kept with a picture, or be painted in itself
_WITH_PICTURES = (
    *WRITTEN, *HOLDS_MEDIA, PICTURES, "jewellery", "picture-frame", "photograph-album", "icon",
    "fire-screen", "tile", "plaque", "panel", "scrimshaw", "lamp-shade", "record", "programme",
)  # fmt: skip
# a clause of one of them, behind a title of a work, says what is sold
_SAID_LAST = (
    "poster", "print", "photograph", "postcard", "engraving", "painting", "drawing", "record",
    "book", "programme", "sheet-music", "magazine", "comic",
)  # fmt: skip


def shown_not_sold(
    lexicon: Lexicon, stream: TokenStream, things: Things, head: IntArray, category: KindReading
) -> BoolArray:
    """Titles whose thing is what a figure is busy with: "boy playing a flute", "map seller".

    It waits for a person until something tells what is sold. Changes `category`.

    Args:
        things, head: findings of categories and each title's own, -1 for none.

    Returns:
        (n titles,)
    """
    shown = np.zeros(stream.n_titles, dtype=bool)
    titles = np.flatnonzero((head >= 0) & (category.concept >= 0))
    if not len(titles) or PICTURES not in lexicon.concept_ids["category"]:
        return shown
    titles = titles[~below(lexicon, PICTURES)[category.concept[titles]]]
    mine = head[titles]
    words, last = lexicon.words_in, len(stream) - 1
    start, end = things.start[mine], things.end[mine]
    begin = stream.first_of_clause(start)
    past = np.minimum(end, last)
    who = words(_WHO)[stream.word[past]] & (stream.clause[past] == stream.clause[start])
    beyond = np.minimum(past + 1, last)
    ends = stream.closes_clause((past + 1).astype(np.int32))
    who &= (end <= last) & (ends | words(_BEHIND_WHO)[stream.word[beyond]])
    shown[titles[who]] = True
    doing = words(_DOING)[stream.word]
    one, two = np.maximum(start - 1, 0), np.maximum(start - 2, 0)
    leads = doing[one] & (one >= begin)
    leads |= words(_HIS)[stream.word[one]] & doing[two] & (two >= begin)
    rows = np.flatnonzero(leads & (start > begin))
    figure = _figure_at(lexicon, stream, begin[rows])
    at = np.where(doing[one[rows]], one[rows], two[rows])
    shown[titles[rows[(figure >= 0) & (figure < at)]]] = True
    category.doubtful |= shown
    category.score[shown] = np.minimum(category.score[shown], _SHOWN_SCORE)
    category.choice[shown] = -1
    return shown


def _figure_at(lexicon: Lexicon, stream: TokenStream, begin: IntArray) -> IntArray:
    """The word of the figure that opens a clause, behind articles and poses; -1 for none."""
    at, last = begin.copy(), len(stream) - 1
    skip = lexicon.words_in(ARTICLES | SIZES | POSES)[stream.word]
    figure = lexicon.words_in(_FIGURES)[stream.word]
    for _ in range(_TO_THE_FIGURE):
        step = np.minimum(at + 1, last)
        goes = skip[at] & ~figure[at] & (stream.clause[step] == stream.clause[at])
        at = np.where(goes, step, at)
    return np.where(figure[at], at, -1).astype(np.int32)


def name_shown(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    shown: BoolArray,
) -> None:
    """Give such titles the kind that their medium or their stuff tells. Changes `category`."""
    ids = lexicon.concept_ids["category"]
    if not shown.any() or not len(materials.title):
        return
    left = shown & category.doubtful  # some are named by their figure already
    kinds = {**MADE_WITH, "painting": (*MADE_WITH["painting"], "oil-on-canvas", "oil-on-board")}
    opens = stream.opens_clause(materials.start) & ~stream.starts()[materials.start]
    mine = (materials.place < PART) & opens
    for kind, stuffs in (*kinds.items(), ("sculpture", CARVED_IN), ("figurine", MODELLED_IN)):
        if kind in ids:
            of_it = mine & materials_below(lexicon, *stuffs)[materials.concept]
            titles = np.unique(materials.title[of_it])
            titles = titles[left[titles]]
            settle(category, titles, ids.index(kind), _BY_ITS_MEDIUM)
            left[titles] = False


_PORTRAIT, _OF = frozenset({"portrait"}), frozenset({"of"})
_HOW_MUCH = frozenset(
    ["a", "an", "the", "three", "quarter", "half", "bust", "full", "length", "head", "and",
     "shoulders", "double", "group", "oval", "small", "large", "family", "miniature"]
)  # fmt: skip
_SCULPTED = ("bronze", "marble", "stone", "terracotta", "plaster")
_CUT = (*_SCULPTED, "wax", "ceramic", "silver", "ivory", "wood")
_ON = frozenset({"on"})


def name_portraits(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """ "Portrait of a lady in a blue dress": a picture, whatever the sitter wears or holds.

    It opens the title or the clause behind an artist's name. Where a stuff is told that portraits
    are cut in it is a sculpture, or nothing is said. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if PICTURES not in ids or len(stream) < 2:
        return
    words = lexicon.words_in
    at = np.flatnonzero(words(_PORTRAIT)[stream.word][:-1])
    at = at[words(_OF)[stream.word[at + 1]] & (stream.clause[at] == stream.clause[at + 1])]
    begin = stream.first_of_clause(at)
    other = np.append(0, np.cumsum(~words(_HOW_MUCH)[stream.word]))
    at = at[other[at] == other[begin]]
    clauses = stream.clause[at] - stream.clause[stream.first[stream.title[at]]]
    titles = np.unique(stream.title[at[clauses <= 1]])
    cut = np.zeros(stream.n_titles, dtype=bool)
    hard = materials_below(lexicon, *_CUT)[materials.concept] & (materials.place < PART)
    for place in (materials.start, np.maximum(materials.start - 1, 0)):
        hard &= ~words(_ON)[stream.word[place]]  # "on ivory"
    cut[materials.title[hard]] = True
    titles = titles[((category.concept < 0) | category.doubtful)[titles]]
    settle(category, titles[~cut[titles]], ids.index(PICTURES), _BY_ITS_MEDIUM)
    stuff = materials.reading.concept[titles]
    sculpted = (stuff >= 0) & materials_below(lexicon, *_SCULPTED)[stuff]
    settle(category, titles[sculpted & cut[titles]], ids.index("sculpture"), _BY_ITS_MEDIUM)


# what is drawn to build or to survey by, and its kind: the medium tells no picture
_DRAWN_TO_MEASURE = (
    (frozenset(["plan", "plans", "elevation", "elevations"]), "architectural-plan"),
    (frozenset(["survey", "chart", "terrier"]), "map"),
)
_DRAWN_KINDS = ("watercolour", "drawing", "gouache", "pastel")


def name_plans(lexicon: Lexicon, stream: TokenStream, category: KindReading) -> None:
    """ "Elevation of the corn exchange, watercolour": a plan, in whatever it was drawn.

    Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    known = np.flatnonzero(category.concept >= 0)
    drawn = known[below(lexicon, *_DRAWN_KINDS)[category.concept[known]]]
    drawn = drawn[stream.first[drawn + 1] - stream.first[drawn] > 2]
    words = lexicon.words_in
    first = stream.first[drawn]
    at = first + words(ARTICLES)[stream.word[first]]
    of = words(_OF)[stream.word[at + 1]]
    for said, kind in _DRAWN_TO_MEASURE:
        if kind in ids:
            titles = drawn[of & words(said)[stream.word[at]]]
            settle(category, titles, ids.index(kind), _BY_ITS_MEDIUM)


# peoples whose carved figures are bought as works of their own
_PEOPLES = frozenset(
    ["yoruba", "senufo", "dogon", "baule", "bamana", "bambara", "songye", "vili", "lega", "chokwe",
     "mende", "lobi", "mossi", "makonde", "sepik", "abelam", "iatmul", "asmat", "maori", "dayak",
     "toraja", "nias", "haida", "tlingit", "tsimshian", "hopi", "zuni", "kuba", "pende", "igbo",
     "ibibio", "nkanu", "mumuye", "bembe", "hemba", "tabwa", "ngbaka", "zande", "mangbetu",
     "fante", "asante", "ewe", "bidjogo", "baga", "nafana", "koro", "mambila", "bamileke",
     "nyamwezi", "giryama", "konso", "sakalava", "batak", "dan", "fang", "kota", "luba", "kongo"]
)  # fmt: skip
_CALLED = frozenset(["people", "peoples", "culture", "tribe", "artist"])
_CARVED_THERE = ("figurine", "sculpture", "doll")


def name_tribal(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """ "Male figure, wood, Baule": where a clause is the name of a people and nothing else.

    Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if "tribal-art" not in ids or not len(stream):
        return
    words = lexicon.words_in
    at = np.flatnonzero(words(_PEOPLES)[stream.word]).astype(np.int32)
    after = np.minimum(at + 1, len(stream) - 1)
    called = words(_CALLED)[stream.word[after]] & (stream.clause[after] == stream.clause[at])
    past = np.where(called, at + 2, at + 1).astype(np.int32)
    at = at[stream.opens_clause(at) & stream.closes_clause(np.minimum(past, len(stream)))]
    titles = np.unique(stream.title[at])
    stuff = materials.reading.concept[titles]
    carved = (stuff >= 0) & materials_below(lexicon, "wood")[stuff]
    carved &= below(lexicon, *_CARVED_THERE)[category.concept[titles]]
    carved &= (category.concept[titles] >= 0) & ~category.doubtful[titles]
    settle(category, titles[carved], ids.index("tribal-art"), _BY_ITS_MEDIUM)


def name_by_last_clause(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    head: IntArray,
    category: KindReading,
    materials: Materials,
) -> None:
    """ "The Rocking Chair, oil", "Boats, pastel, signed": the clause behind is a medium alone.

    A medium that other things are made with too makes a title wait, unless "The" opens it as it
    opens the title of a work. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    n = len(stream)
    if not n or PICTURES not in ids:
        return
    words = lexicon.words_in
    clause_first = stream.clause_first()
    core = words(frozenset(_CORES))[stream.word]
    beside = core | words(_BESIDE_A_CORE)[stream.word]
    alone = np.logical_and.reduceat(beside, clause_first)
    alone &= np.logical_or.reduceat(core, clause_first)
    alone &= ~stream.starts()[clause_first]
    titles = stream.title[clause_first[alone]]
    titles, first = np.unique(titles, return_index=True)
    at = clause_first[alone][first]  # the first such clause of each title
    known = head[titles] >= 0
    titles, at = titles[known], at[known]
    mine = head[titles]
    free = things.end[mine] <= at
    # right behind the title of the work: "shield, root, ochre, charcoal" lists stuffs
    free &= stream.clause[at] == stream.clause[things.end[mine] - 1] + 1
    free &= lexicon.concept_of["category"][things.phrase[mine]] == category.concept[titles]
    free &= ~below(lexicon, *_WITH_PICTURES)[category.concept[titles]]
    free &= ~_of_a_stuff(lexicon, stream, materials)[titles]
    titles, at = titles[free], at[free]
    the = words(_THE)[stream.word[stream.first[titles]]]
    worn = below(lexicon, "clothing", "textiles-and-rugs")[category.concept]
    past = np.append(clause_first[1:], n)[np.searchsorted(clause_first, at)]
    for title, begin, end, of_a_work in zip(
        titles.tolist(), at.tolist(), past.tolist(), the.tolist(), strict=True
    ):
        told = [stream.spellings[stream.spelling[word]] for word in range(begin, end)]
        cores = [word for word in told if word in _CORES]
        if worn[title] and not of_a_work and _SHADES.issuperset(cores):
            continue  # "dress with beads, charcoal"
        kinds = [_CORES[word] for word in cores if _CORES[word] in ids]
        if kinds and (of_a_work or not _STRONG.isdisjoint(cores)):
            settle(category, np.array([title]), ids.index(kinds[-1]), _BY_ITS_MEDIUM)
        elif set(cores) != _OF_PLASTIC:
            category.doubtful[title] = True
    _name_by_last_thing(lexicon, stream, things, head, category)


def _of_a_stuff(lexicon: Lexicon, stream: TokenStream, materials: Materials) -> BoolArray:
    """Titles that tell what the piece is made of, other than canvas and paper."""
    told = np.zeros(stream.n_titles, dtype=bool)
    stuff = (materials.place < PART) & (aspects_of(lexicon)[materials.concept] == MATERIAL)
    stuff &= ~materials_below(lexicon, "paper", "canvas", "card")[materials.concept]
    stuff &= ~lexicon.is_one_of("material", "lucite")[materials.concept]  # "acrylic"
    told[materials.title[stuff]] = True
    return told


def _name_by_last_thing(
    lexicon: Lexicon, stream: TokenStream, things: Things, head: IntArray, category: KindReading
) -> None:
    """ "The Nutcracker, ballet poster", "The Ring, LP": "The" opens the title of a work."""
    of_title = stream.title[things.start]
    mine = head[of_title]
    last = below(lexicon, *_SAID_LAST)
    rows = (mine >= 0) & lexicon.words_in(_THE)[stream.word[stream.first[of_title]]]
    rows &= last[things.concept] & stream.closes_clause(things.end)
    held = np.maximum(mine, 0)
    rows &= (stream.clause[things.start] > stream.clause[things.start[held]]) & ~last[
        things.concept[held]
    ]
    # the work's title is the first clause
    rows &= stream.clause[things.start[held]] == stream.clause[stream.first[of_title]]
    rows &= ~below(lexicon, *_WITH_PICTURES)[category.concept[of_title]]
    at = np.flatnonzero(rows)
    for row in at[np.unique(of_title[at], return_index=True)[1]].tolist():
        settle(category, of_title[row : row + 1], int(things.concept[row]), _BY_ITS_MEDIUM)


def name_schools(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    head: IntArray,
    category: KindReading,
    materials: Materials,
) -> None:
    """ "French School, The Love Letter": a picture, where no stuff is told. Changes `category`."""
    ids = lexicon.concept_ids["category"]
    if PICTURES not in ids or not len(stream):
        return
    words = lexicon.words_in
    first = stream.first[:-1]
    filled = np.flatnonzero(first < stream.first[1:])
    opens = filled[words(_OPENS_A_SCHOOL)[stream.word[first[filled]]]]
    school = words(_SCHOOL)[stream.word]
    found = np.zeros(len(opens), dtype=bool)
    for step in range(1, _WORDS_OF_A_SCHOOL):
        at = np.minimum(first[opens] + step, len(stream) - 1)
        here = school[at] & (stream.clause[at] == stream.clause[first[opens]])
        found |= here & stream.closes_clause((at + 1).astype(np.int32))
    titles = opens[found]
    titles = titles[head[titles] >= 0]
    behind = stream.clause[things.start[head[titles]]] > stream.clause[first[titles]]
    titles = titles[behind & ~_of_a_stuff(lexicon, stream, materials)[titles]]
    titles = titles[~below(lexicon, PICTURES)[category.concept[titles]]]
    settle(category, titles, ids.index(PICTURES), _BY_ITS_MEDIUM)
