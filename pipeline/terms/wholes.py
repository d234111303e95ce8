"""What a piece is made of: which of the materials that a title names stands for the whole.

Where each of them stands is read first (`material_places.py`). Here they are ranked: a substance
before a finish, the wood of a seat before its cover, what a picture is drawn in before its support.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import (
    FINISH,
    JEWELS,
    MATERIAL,
    TECHNIQUE,
    aspects_of,
    below,
    in_family,
)
from pipeline.terms.material_near import NOTHING, PART
from pipeline.terms.material_places import MaterialPlaces
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.sureness import material_signs, settle_sureness
from pipeline.terms.tokens import BRACKET, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_DECORATED = (
    "tableware-and-vessels", "ceramics", "glassware", "jewellery",
    "prints-and-paintings", "textiles-and-rugs", "books-and-paper", "musical-instruments",
)  # fmt: skip
_OF_PAPER = ("document", "book", "wallpaper", "border-paper", "label")  # whatever is printed on it
_COVERS = ("textile", "leather", "rattan", "rush")  # what a seat is covered with
_WORKED = ("blown", "drawn", "spun", "hewn", "sewn", "wrought")
_WATCHES = ("watch", "wristwatch", "pocket-watch", "pendant-watch")  # set with stones too
_ON = frozenset({"on"})
_IVORY = frozenset({"ivory"})
_SURFACES = frozenset(
    ["glaze", "lustre-glaze", "overglaze-enamel", "moriage", "printed-textile", "print-technique",
     "rockingham-glaze", "repousse", "engraved-metal", "hammered-metal"]
)  # fmt: skip
_MENDED = frozenset(["repair", "repairs", "repaired", "restoration", "decoration"])
_COPIES = frozenset(["reproduction", "repro", "replica", "copy"])
_COATED_WOODS = frozenset(["wood", "giltwood", "giltwd"])
_LOOSE_NAMES = frozenset({("scrimshaw",), ("art", "glass")})
_BY_HAND = frozenset(["hand", "handpainted", "h", "hp"])


@dataclass(frozen=True)
class Materials:
    """Findings of materials that say something of the piece, in order of place."""

    title: IntArray
    start: IntArray  # first word
    end: IntArray  # past its last word
    concept: IntArray
    place: npt.NDArray[np.int8]  # WHOLE, BODY, SOFT, WEAK or PART
    reading: KindReading


def read_materials(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    head: IntArray,
) -> Materials:
    """The materials of each title.

    Args:
        things: findings of categories.
        head: for each title the index of its category among them, -1 for none.
    """
    concept = lexicon.concept_of["material"][found.phrase]
    rows = np.flatnonzero(concept >= 0)
    start, end, concept = found.start[rows], found.end[rows], concept[rows]
    score = np.minimum(found.score[rows], lexicon.score_of["material"][found.phrase[rows]])
    title = stream.title[start] if len(rows) else start
    if len(rows):
        phrase = found.phrase[rows]
        concept = _meant_on_such_goods(lexicon, things, head, title, concept, phrase)
        concept = _with_the_hair_on(lexicon, stream, things, head, title, concept, phrase)
    reading = KindReading.nothing(stream.n_titles)
    if not len(rows):
        return Materials(title, start, end, concept, np.zeros(0, dtype=np.int8), reading)
    places = MaterialPlaces(lexicon, stream, found, context, things, head, rows)
    place = places.read()
    waits, content = places.trade.doubtful(place), places.trade.content()
    carved = places.trade.carved_of()
    keep = place != NOTHING
    phrase = found.phrase[rows]
    start, end, concept, title, score, place, phrase, waits, content, carved = (
        a[keep] for a in (start, end, concept, title, score, place, phrase, waits, content, carved)
    )
    if not len(start):
        return Materials(title, start, end, concept, place, reading)
    eligible = np.flatnonzero(place < PART)
    rank = _ranks(lexicon, things, head, stream.n_titles, title, concept, place, phrase)
    rank[content] = 65
    past = np.minimum(end, len(stream) - 1)
    # "lacquer and ivory inro": the noun is a body; "red lacquer elm cabinet" is of elm
    runs_on = np.append((start[1:] == end[:-1]) & context.linked[start[1:]], False)
    noun = lexicon.phrases_where("lacquer", lambda words: words[-1] == "lacquer")[phrase]
    noun &= below(lexicon, "lacquer")[concept] & (place < PART) & ~runs_on
    # "gold lacquer repair to the lip"
    noun &= ~(lexicon.words_in(_MENDED)[stream.word[past]] & context.linked[past])
    rank[noun] = place[noun] * 10
    # "whale tooth, resin reproduction": the copy is what is sold
    copy = lexicon.words_in(_COPIES)[stream.word[past]] & context.linked[past] & (end <= past)
    rank[copy & (place < PART)] = -3
    denying = lexicon.phrases_where("not this", lambda words: words[0] == "not")
    if lexicon.field_kind == "material":
        # "enamel, gold", "lace; silk": what a museum's text names first, where it stands alone
        arts = below(lexicon, "enamel", "lace", "damask", "brocade")
        opens = np.append(True, title[1:] != title[:-1])
        ends = stream.closes_clause(end)
        ends |= context.next_has(end, "conjunction")
        # "enamel on copper, mirror"
        ends |= (end <= past) & context.linked[past] & lexicon.words_in(_ON)[stream.word[past]]
        rank[opens & ends & arts[concept]] = 0
        _rank_by_pile(lexicon, stream, start, end, rank)
    # "enamelled and gilded glass", "earthenware, enamelled": painted on, and no piece of enamel
    fired = np.zeros(stream.n_titles, dtype=bool)
    fired[title[below(lexicon, "glass", "ceramic")[concept] & (place < PART)]] = True
    worn = in_family(lexicon, things, head, stream.n_titles, "jewellery")
    rank[lexicon.is_one_of("material", "enamel")[concept] & (fired & ~worn)[title]] = 63
    # the technique of a cabinet maker; carving on whatever tooth or horn; any worked glass
    rank[lexicon.is_one_of("material", "boulle")[concept] & (place < PART)] = -1
    loose = lexicon.phrases_where("loose names", lambda words: words in _LOOSE_NAMES)[phrase]
    rank[loose] = 62
    # "veneered with walnut"
    rank[denying[phrase] | lexicon.is_one_of("material", "veneer")[concept]] = 61
    # after the stuff that is so painted
    rank[lexicon.is_one_of("material", "blue-and-white")[concept]] = 62
    rank[below(lexicon, "hand-coloured-print")[concept]] = 62  # after what was coloured
    rank[lexicon.is_one_of("material", "mixed-materials")[concept]] = 66  # after any that is named
    works = _works(lexicon)[concept] & (place < PART)
    # "marriage contract, ink on vellum": a document is of what it is written on
    if lexicon.field_kind != "material":
        works &= ~in_family(lexicon, things, head, stream.n_titles, *_OF_PAPER)[title]
    drawn = np.zeros(stream.n_titles, dtype=bool)
    drawn[title[works & _on_a_support(lexicon, stream, context, phrase, end)]] = True
    works &= ~_printed_on_a_told_stuff(lexicon, title, concept, place)
    rank[works & drawn[title]] = -2
    pick = eligible[first_in_group(title[eligible], rank[eligible], start[eligible])]
    best = np.full(stream.n_titles, -1, dtype=np.int32)
    best[title[pick]] = pick
    above = lexicon.above("material")
    # "pottery vase, lava glaze", "printed cotton": what lies upon it is no finer substance
    surface = _surfaces(lexicon)[concept]
    finer = eligible[~surface[eligible] | surface[best[title[eligible]]]]
    # "walnut and burr walnut veneer" names two woods
    finer = finer[~context.previous_has(start[finer], "conjunction")]
    if lexicon.field_kind == "material" and len(finer):
        # "wood, ebony, bone" lists the parts of a piece, the first the most of it
        held = best[title[finer]]
        glossed = (stream.before[start[finer]] & BRACKET) > 0  # "copper-gold alloy (shakudo)"
        finer = finer[(stream.clause[start[finer]] == stream.clause[start[held]]) | glossed]
    for row in finer[above[concept[finer], concept[best[title[finer]]]]]:
        if above[concept[row], concept[best[title[row]]]]:
            best[title[row]] = row
    has = best >= 0
    chosen = best[has]
    reading.concept[has] = concept[chosen]
    reading.score[has] = score[chosen]
    unsure = context.hedged[start] | context.hedged[end - 1]
    asked = (place < PART) & unsure
    if lexicon.field_kind == "material":
        # "gold, carnelian, obsidian (?)": the last of a list is in doubt, and not the first
        asked &= np.arange(len(start)) <= best[title] + 1
    reading.doubtful[title[asked]] = True
    reading.doubtful[title[chosen[waits[chosen]]]] = True
    if lexicon.field_kind == "material":
        late = _after_unknown_substance(stream, context, title, start, chosen)
        reading.doubtful[title[chosen[late]]] = True
    # gold and gem words before anything but jewellery mostly name a colour
    shines = has_role(lexicon.roles[phrase], "gem_word") & (place < PART)
    jewels = in_family(lexicon, things, head, stream.n_titles, *JEWELS)
    shines &= ~jewels[title] & (head[title] >= 0)
    # "votive plaque, gold", "box carved from amber": no colour
    alone = stream.opens_clause(start) & stream.closes_clause(end) & ~stream.starts()[start]
    alone &= in_family(lexicon, things, head, stream.n_titles, *_SMALL_CARVINGS)[title]
    shines &= ~alone & ~carved
    shining = shines[chosen]
    reading.doubtful[title[chosen[shining]]] = True
    # paint on pots and glass is decoration: it says nothing of what they are made of
    decorated = in_family(lexicon, things, head, stream.n_titles, *_DECORATED)
    coat = below(lexicon, "painted-finish")[concept[chosen]]
    # so are hand painted flowers on the shade of a lamp
    lamps = in_family(lexicon, things, head, stream.n_titles, "lighting")
    by_hand = lexicon.phrases_where("by hand", lambda words: words[0] in _BY_HAND)[phrase[chosen]]
    hand = lexicon.words_in(_BY_HAND)[stream.word[np.maximum(start[chosen] - 1, 0)]]
    by_hand |= hand & ~stream.starts()[start[chosen]]
    coat &= decorated[title[chosen]] | (lamps[title[chosen]] & by_hand)
    reading.doubtful[title[chosen[coat]]] = True
    if lexicon.field_kind != "material":
        over = _over_a_stuff(lexicon, title, concept, chosen)
        reading.doubtful[title[chosen[over]]] = True
    reading.margin[has] = np.where(reading.doubtful[has], 0, score[chosen])
    others = np.flatnonzero(concept != reading.concept[title])
    others = others[distinct_pairs(title[others], concept[others])]
    reading.also_title, reading.also_concept = title[others], concept[others]
    signs = material_signs(
        lexicon, stream, context, things, head, start, end, concept, score, place, best
    )
    settle_sureness("material", reading, signs)
    return Materials(title, start, end, concept, place, reading)


_SMALL_CARVINGS = (
    "figurine", "sculpture", "antiquity", "amulet", "scarab", "netsuke", "ojime", "inro",
    "snuff-bottle", "seal", "bead", "plaque", "relief", "religious-figure", "tribal-art", "mount",
    "cigarette-holder", "cane-handle", "buddha", "bodhisattva", "reliquary", "chalice",
)  # fmt: skip


# what lies upon a stuff or how it was put together: the stuff is the material where it is told
_UPON_A_STUFF = (
    "painted-finish", "penwork", "glaze", "blue-and-white", "patchwork", "veneer", "silvered",
    "hair", "grained", "straw-filled",
)  # fmt: skip


def _over_a_stuff(
    lexicon: Lexicon, title: IntArray, concept: IntArray, chosen: IntArray
) -> BoolArray:
    """ "Penwork caddy, chinoiserie on sycamore": a coat was chosen, and a stuff is told too."""
    # a commode of marquetry is called so, with ivory or without
    upon = (below(lexicon, *_UPON_A_STUFF) & ~below(lexicon, "marquetry", "boulle"))[concept]
    stuff = (aspects_of(lexicon)[concept] == MATERIAL) & ~upon
    told = np.zeros(int(title.max(initial=-1)) + 1, dtype=bool)
    told[title[stuff]] = True
    return upon[chosen] & told[title[chosen]]


def _ranks(
    lexicon: Lexicon,
    things: Things,
    head: IntArray,
    n_titles: int,
    title: IntArray,
    concept: IntArray,
    place: npt.NDArray[np.int8],
    phrase: IntArray,
) -> IntArray:
    """Which finding stands for the piece: lowest first, then the order of place."""
    aspect = aspects_of(lexicon)[concept]
    rank = place.astype(np.int32) * 10 + aspect * 2
    rank[aspect == FINISH] = 60
    # "giltwood and marble": a wood, named by its coat
    coated = lexicon.phrases_where("coated wood", lambda words: bool(_COATED_WOODS & {*words}))
    rank[(aspect == FINISH) & coated[phrase]] = place[(aspect == FINISH) & coated[phrase]] * 10
    rank[has_role(lexicon.roles[phrase], "fitted")] = 60  # "crossbanded" after its wood
    rank[below(lexicon, "straw-filled", "feather-down")[concept]] = 60  # what is inside
    pictures = in_family(lexicon, things, head, n_titles, "prints-and-paintings")
    swap = pictures[title] & (place < PART) & (aspect == TECHNIQUE)
    # "engraving on silk", "aquatint, vellum": a print is of what it is printed on
    swap &= ~_printed_on_a_told_stuff(lexicon, title, concept, place)
    if lexicon.field_kind == "material" and len(title):
        # "ivory, paper, gouache" lists what a fan is made of
        first = np.append(True, title[1:] != title[:-1])
        swap &= first
        rank[first & below(lexicon, "lacquer")[concept]] = 0  # "lacquer, gold"
    rank[swap] = place[swap] * 10 - 1
    seats = in_family(lexicon, things, head, n_titles, "seat-furniture")
    covers = np.zeros(len(lexicon.concept_ids["material"]), dtype=bool)
    for root in _COVERS:
        covers |= below(lexicon, root)
    covering = seats[title] & covers[concept]
    rank[covering] += 35  # the wood of a seat is named before its cover
    # "marcasite and silver brooch", "pearl ring, 9ct gold": the stones are set in the metal
    jewels = in_family(lexicon, things, head, n_titles, "jewellery", *_WATCHES)
    set_in = below(lexicon, "stone") | below(lexicon, "pearl")
    stones = jewels[title] & set_in[concept] & (place < PART)
    rank[stones] += 1
    # "necklace; jade, cotton", "pendant; greenstone, flax cord": the thread that it hangs on
    hung = np.zeros(n_titles, dtype=bool)
    hung[title[stones]] = True
    thread = below(lexicon, "textile", "leather", "wood", "plant-fibre")[concept]
    rank[thread & hung[title] & (place < PART)] += 2
    return rank


_PRINTED_ON = ("vellum", "parchment", "silk", "canvas")


def _printed_on_a_told_stuff(
    lexicon: Lexicon, title: IntArray, concept: IntArray, place: npt.NDArray[np.int8]
) -> BoolArray:
    """Findings of print techniques in titles that tell what was printed on.

    Materials and techniques are two things to a cataloguer (CDWA, Materials/Techniques); the
    technique stands for the stuff only where none is told.
    """
    told = np.zeros(int(title.max(initial=-1)) + 1, dtype=bool)
    told[title[below(lexicon, *_PRINTED_ON)[concept] & (place < PART)]] = True
    return below(lexicon, "print-technique")[concept] & told[title]


_THREADS = frozenset(["warp", "weft", "warps", "wefts", "foundation"])
_PILE = frozenset({"pile"})
_WORDS_IN_BRACKETS = 4


def _rank_by_pile(
    lexicon: Lexicon, stream: TokenStream, start: IntArray, end: IntArray, rank: IntArray
) -> None:
    """ "Cotton (warp and weft), wool (pile)": the pile is what a carpet is bought for.

    Args:
        start, end: of the findings of materials.
        rank: of each, changed in place.
    """
    last = len(stream) - 1
    pile, threads = lexicon.words_in(_PILE)[stream.word], lexicon.words_in(_THREADS)[stream.word]
    bracket = (stream.before & BRACKET) > 0
    stuff = np.zeros(len(stream), dtype=bool)
    stuff[start] = True
    begins = stream.starts()
    alive = (end <= last) & bracket[np.minimum(end, last)]
    of_pile, of_threads = np.zeros(len(end), dtype=bool), np.zeros(len(end), dtype=bool)
    for step in range(_WORDS_IN_BRACKETS):
        at = np.minimum(end + step, last)
        alive &= (end + step <= last) & ~stuff[at] & ~begins[at]
        of_pile |= alive & pile[at]
        of_threads |= alive & threads[at]
    rank[of_pile] = -3
    rank[of_threads & ~of_pile] = 64


def _on_a_support(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    phrase: IntArray,
    end: IntArray,
) -> BoolArray:
    """Findings like "brown ink on wove paper": what was drawn or printed, with its support named.

    The support is not the material of a drawing or a print. Ivory is left alone: a miniature on
    ivory is a piece of ivory to the law.
    """
    at = np.minimum(end, len(stream) - 1)
    beyond = np.minimum(end + 1, len(stream) - 1)
    on = (end + 1 < len(stream)) & (context.linked[at]) & lexicon.words_in(_ON)[stream.word[at]]
    ivory = lexicon.words_in(_IVORY)[stream.word[beyond]] & ~stream.starts()[beyond]
    on &= ~(ivory & ~context.next_has(beyond + 1, "colour_follow"))  # "on ivory laid paper"
    named = lexicon.phrases_where("on", lambda words: "on" in words)[phrase]
    if len(end):
        # "ink, colours and gold on paper": what is named first was drawn with
        title = stream.title[end - 1]
        paper = below(lexicon, "paper", "canvas", "vellum", "parchment")[
            lexicon.concept_of["material"][phrase]
        ]
        supported = np.zeros(stream.n_titles, dtype=bool)
        after_on = context.zone[end - 1] != MAIN
        supported[title[paper & after_on]] = True
        first = np.append(True, title[1:] != title[:-1])
        on |= supported[title] & first
        if lexicon.field_kind == "material":
            support = np.zeros(stream.n_titles, dtype=bool)
            support[title[paper]] = True  # "ink, paper"
            on |= first & support[title]
    return on | named


# endings of words that tell how a stuff was worked
_PARTICIPLES = ("ed", "en", "cast", "cut", "bent", *_WORKED)


def _after_unknown_substance(
    stream: TokenStream,
    context: Context,
    title: IntArray,
    start: IntArray,
    chosen: IntArray,
) -> BoolArray:
    """ "Pitpit, shell", "unakite and gold": a word that nobody knows is named before the rest.

    Args:
        title, start: of the findings, in order.
        chosen: one finding a title.
    """
    first_of_title = np.append(True, title[1:] != title[:-1])
    said = ~context.known & ~context.is_number
    last = np.append(
        (stream.clause[1:] != stream.clause[:-1]) | has_role(context.starts[1:], "conjunction"),
        True,
    )
    ends_element = np.flatnonzero(said & last)
    worked = [stream.spellings[i].endswith(_PARTICIPLES) for i in stream.spelling[ends_element]]
    named = np.zeros(len(stream), dtype=bool)
    named[ends_element] = ~np.array(worked, dtype=bool)  # "tooled, gilt leather"
    count = np.append(0, np.cumsum(named))
    before = count[start[chosen]] - count[stream.first[title[chosen]]]
    return first_of_title[chosen] & (before > 0)


_CARVED = (
    "sculpture", "figurine", "religious-figure", "bust", "relief", "crucifix", "diptych",
    "triptych", "plaque", "tankard", "medallion", "chess-set", "portrait-miniature",
)  # fmt: skip


_ANY: tuple[str, ...] = ()  # goods
_PLATE_IRON = (
    "advertising-sign", "number-plate", "house-number", "stove", "refrigerator", "bread-bin",
    "saucepan", "scales", "colander", "baking-tin", "bath", "thermometer", "washbowl",
)  # fmt: skip
_IN_THE_KITCHEN = (
    "kitchen-and-household", "mug", "jug", "butter-dish", "cake-stand", "mixing-bowl", "juicer",
    "measuring-cup", "salt-and-pepper",
)  # fmt: skip
_OF_DRESSED_SKIN = (
    "gloves", "apron", "regalia", "books-and-paper", "tools", "musical-instruments", "bellows",
)  # fmt: skip
_WITH_THE_HAIR_ON = ("rug", "blanket", "animal-hide")
_SKINS = ("skin", "skins", "hide", "hides")
_RUGS = frozenset(["rug", "rugs", "throw", "throws", "mat"])
# words of one stuff that on certain goods mean another: the words, the goods, the other stuff
_MEANT = (
    (("french", "ivory"), _CARVED, "ivory"),  # elsewhere celluloid; here from Dieppe
    (("porcelain",), _PLATE_IRON, "enamel"),  # so American trade calls it
    (("jadeite",), _IN_THE_KITCHEN, "jadeite-glass"),
    (("electrum",), ("scientific-instruments",), "nickel-silver"),
    (("alpaca",), ("clothing", "textiles-and-rugs"), "wool"),
    (("acrylic",), ("clothing", "textiles-and-rugs"), "synthetic-fabric"),
    *(((skin,), _OF_DRESSED_SKIN, "leather") for skin in ("lambskin", "sheepskin")),
    (("acrylic",), ("prints-and-paintings",), "acrylic-paint"),
    # painted so, whatever tree; the species is written in one word
    *(((colour, "wood"), _ANY, "wood") for colour in ("black", "white", "red", "yellow")),
)


def _meant_on_such_goods(
    lexicon: Lexicon,
    things: Things,
    head: IntArray,
    title: IntArray,
    concept: IntArray,
    phrase: IntArray,
) -> IntArray:
    """The concepts of findings, of those in `_MEANT` what the word means on the goods."""
    ids = lexicon.concept_ids["material"]
    meant = concept
    for words, goods, other in _MEANT:
        said = phrase == lexicon.phrase_numbers.get(words, -1)
        if other in ids and said.any():
            if goods:
                said = said & in_family(lexicon, things, head, len(head), *goods)[title]
            meant = np.where(said, ids.index(other), meant).astype(np.int32)
    return meant


def _with_the_hair_on(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    head: IntArray,
    title: IntArray,
    concept: IntArray,
    phrase: IntArray,
) -> IntArray:
    """ "Goatskin rug", "cow hide rug": of fur, as a bag of the same skin is of leather."""
    ids = lexicon.concept_ids["material"]
    if "fur" not in ids or "leather" not in ids:
        return concept
    skins = lexicon.phrases_where("skins", lambda words: words[-1].endswith(_SKINS))[phrase]
    skins &= concept == ids.index("leather")
    if not skins.any():
        return concept
    rugs = np.zeros(len(head), dtype=bool)
    rugs[stream.title[lexicon.words_in(_RUGS)[stream.word]]] = True
    # ("throw" is no sure name of a blanket)
    rugs &= in_family(lexicon, things, head, len(head), *_WITH_THE_HAIR_ON) | (head < 0)
    return np.where(skins & rugs[title], ids.index("fur"), concept).astype(np.int32)


def _works(lexicon: Lexicon) -> BoolArray:
    """What pictures are drawn, painted and printed in."""
    return below(lexicon, "painting-medium", "print-technique", "photograph")


def _surfaces(lexicon: Lexicon) -> BoolArray:
    """Glazes, enamels over them and printing on cloth: what lies upon a substance."""
    return lexicon.memo(
        "surfaces", lambda: np.array([one in _SURFACES for one in lexicon.concept_ids["material"]])
    )
