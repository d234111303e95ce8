"""Sculptures, figurines and ornaments by their subject and stuff: `Crouching lion, limestone`.

Nobody names the thing: a beast, a person or a scene, and what it is cut, cast or modelled in.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below as materials_below
from pipeline.terms.name_words import CREATURES, MANY_CREATURES, PEOPLE, POSES, SHOWN
from pipeline.terms.picks import KindReading, settle
from pipeline.terms.tokens import TokenStream
from pipeline.terms.wholes import PART, Materials

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

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
    "cloisonne", "enamel",
)  # fmt: skip
_STATUES_IN = ("bronze", "marble", "alabaster", "limestone", "sandstone", "granite")
_CUT_IN = ("bronze", "marble", "alabaster", "terracotta", "plaster", "limestone")
_TOYS_OF_WOOD = frozenset(["horse", "duck", "hobby", "horses", "ducks"])  # ridden, pulled, afloat
_HOLY = frozenset(["saint", "san", "santa", "prophet", "apostle", "evangelist"])
# scenes that are carved and modelled, whatever follows: "adoration of the Magi"
_SCENES = frozenset(
    ["entombment", "flagellation", "resurrection", "nativity", "adoration", "vesperbild", "ecce",
     "sorrows", "dolorosa", "deposition", "assumption", "visitation", "pieta", "lamentation",
     "annunciation", "crucifixion"]
)  # fmt: skip
# persons of the stage, of legend and of trades, that figures are of
_MODELLED = frozenset(
    ["harlequin", "columbine", "pantalone", "scaramouche", "pulcinella", "pierrot", "lovers",
     "beggar", "seller", "player", "captive", "archer", "couple", "oba", "bather", "chinaman",
     "cavalier", "gallant", "vintner", "watchman", "groom", "actor", "actress", "samson", "david",
     "judith", "psyche", "europa", "leda", "danae", "perseus", "theseus", "orpheus", "ganymede",
     "flora", "hebe", "daphne", "laocoon", "carrier", "bearer", "equestrienne"]
)  # fmt: skip
_WORDS_OF_A_NAME = 4
_PARTS_OF_A_BODY = frozenset(["head", "torso", "bust"])
_SHOWN_IN_STONE = CREATURES | PEOPLE | _MODELLED | frozenset().union(*SHOWN.values())
_OF_A_CAST = frozenset(
    ["edition", "foundry", "reduction", "patina", "patinated", "marly", "plinth", "base", "socle"]
)
_OF, _THE, _BRONZE = frozenset({"of"}), frozenset({"the"}), frozenset(["bronze", "bronzes"])
_COUNTED = frozenset(["pair", "x", "x2", "x3", "x4", "x5", "x6", "set", "two", "three"])
ARTICLES = frozenset(["a", "an", "the", "two", "three", "pair"])
_PAIR_OF = frozenset(["pair", "pr", "set", "of", "vintage", "antique", "old", "heavy", "solid"])
SIZES = frozenset(["large", "small", "young", "old", "winged", "horned", "nude", "female", "male"])
_BEHIND_A_FIGURE = frozenset(
    ["with", "and", "on", "holding", "in", "at", "seated", "standing", "of", "slaying", "seizing",
     "fighting", "abducting", "carrying", "riding", "playing", "killing", "embracing"]
)  # fmt: skip
_NAMES_OF_FIELDS = frozenset(["name", "object", "title", "item", "type", "kind", "lot"])
_WORDS_TO_THE_SUBJECT = 5
_IN_AN_ADDITION = 70  # the highest score of a thing that stands in an addition
_FAMILIES = ("metalware-and-silver", "ceramics", "decorative-objects", "glassware")
_BY_ITS_MEDIUM = 90.0  # score; nobody said that it is a sculpture


def name_bronzes(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    told: BoolArray,
) -> None:
    """ "Two forms, bronze, edition of seven": a title, a clause that opens with bronze, a cast.

    And "a bronze of a dancer", which nothing else is. Changes `category`.

    Args:
        told: findings of materials that open a clause behind the subject, (n materials,).
    """
    ids = lexicon.concept_ids["category"]
    if "sculpture" not in ids:
        return
    nameless = _nameless(lexicon, category)
    cast = np.zeros(stream.n_titles, dtype=bool)
    cast[stream.title[lexicon.words_in(_OF_A_CAST)[stream.word]]] = True
    rows = told & materials_below(lexicon, *_SCULPTED_IN)[materials.concept]
    titles = materials.title[rows]
    titles = titles[cast[titles] & nameless[titles]]
    settle(category, titles, ids.index("sculpture"), _BY_ITS_MEDIUM)
    at = np.flatnonzero(lexicon.words_in(_BRONZE)[stream.word][:-1])
    at = at[lexicon.words_in(_OF)[stream.word[at + 1]]]
    at = at[(at + 2 < len(stream)) & (stream.clause[at] == stream.clause[at + 1])]
    after = _figure_from(lexicon, stream, np.minimum(at + 2, len(stream) - 1).astype(np.int32))
    at = at[(after >= 0) & (stream.clause[np.maximum(after, 0)] == stream.clause[at])]
    titles = np.unique(stream.title[at])
    settle(category, titles[nameless[titles]], ids.index("sculpture"), _BY_ITS_MEDIUM)


def name_figures(
    lexicon: Lexicon,
    stream: TokenStream,
    category: KindReading,
    materials: Materials,
    told: BoolArray,
) -> None:
    """ "Crouching lion, limestone", "boy with a drum, bronze": a subject, and what it is cut in.

    The subject opens the title, or the clause behind its artist: a beast, a person or a scene,
    perhaps behind a pose or "head of a". What stands behind its "with" is the figure's attribute.
    Changes `category`.

    Args:
        told: findings of materials that open a clause behind the subject, (n materials,).
    """
    ids = lexicon.concept_ids["category"]
    if "sculpture" not in ids or "figurine" not in ids or not len(stream):
        return
    kinds = {"sculpture": CARVED_IN, "figurine": MODELLED_IN}
    opens = _opens_with_a_figure(lexicon, stream)
    nameless = _nameless(lexicon, category) | (category.doubtful & _only_attributes(category))
    for kind, stuffs in kinds.items():
        of_it = materials_below(lexicon, *stuffs)[materials.concept]
        titles = materials.title[told & of_it]
        titles = titles[opens[titles] & nameless[titles]]
        settle(category, titles, ids.index(kind), _BY_ITS_MEDIUM)
        nameless[titles] = False
    # "The Kiss, marble": the title of a work
    of_it = told & materials_below(lexicon, *_CUT_IN)[materials.concept]
    of_it &= stream.closes_clause(materials.end)
    titles = materials.title[of_it]
    the = lexicon.words_in(_THE)[stream.word[np.minimum(stream.first[titles], len(stream) - 1)]]
    titles = titles[the & nameless[titles] & (category.concept[titles] < 0)]
    settle(category, titles, ids.index("sculpture"), _BY_ITS_MEDIUM)


def name_ornaments(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """ "Brass elephant", "pair of china cats", "swan, brass": a stuff, a beast, no other name.

    The stuff opens the title but for counts, sizes and poses, and the beast closes the clause; or
    the beast opens it and the stuff follows. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    kinds = ("glass-animal", "figurine", "sculpture")
    if not {*kinds} <= {*ids} or not len(materials.title):
        return
    words, last = lexicon.words_in, len(stream) - 1
    beast = words(CREATURES | MANY_CREATURES)[stream.word]
    opens = words(ARTICLES | SIZES | _PAIR_OF)[stream.word] | words(POSES)[stream.word]
    opens |= stream.is_number
    shut = np.append(0, np.cumsum(~opens))
    first = stream.first[materials.title]
    leads = shut[materials.start] == shut[first]
    at = np.minimum(materials.end, last)
    posed = words(POSES | SIZES)[stream.word[at]] & (at < last)
    at = np.where(posed, np.minimum(at + 1, last), at).astype(np.int32)
    named = leads & beast[at] & (stream.clause[at] == stream.clause[materials.start])
    beyond = np.minimum(at + 1, last)
    counted = words(_COUNTED)[stream.word] | stream.is_number
    ends = stream.closes_clause((at + 1).astype(np.int32))
    ends |= words(_BEHIND_A_FIGURE)[stream.word[beyond]] | counted[beyond]
    found = named & ends
    # "swan brass", "elephants ebony pair"
    before = np.maximum(materials.start - 1, 0)
    turned = (materials.start > first) & beast[before] & (shut[before] == shut[first])
    turned &= stream.clause[before] == stream.clause[materials.start]
    past = np.minimum(materials.end, last)
    turned &= stream.closes_clause(materials.end) | (
        counted[past] & stream.closes_clause(np.minimum(materials.end + 1, len(stream)))
    )
    found |= turned
    mine = materials.concept == materials.reading.concept[materials.title]
    loose = _nameless(lexicon, category)
    free = np.where(turned, loose[materials.title], (category.concept < 0)[materials.title])
    found &= mine & free & (materials.place < PART)
    found &= ~materials.reading.doubtful[materials.title]
    wood = materials_below(lexicon, "wood")[materials.concept]
    shown = np.where(turned, before, at)
    found &= ~(wood & words(_TOYS_OF_WOOD)[stream.word[shown]])
    for kind, stuffs in zip(kinds, (("glass",), _ORNAMENTS_IN, _STATUES_IN), strict=True):
        rows = found & materials_below(lexicon, *stuffs)[materials.concept]
        settle(category, materials.title[rows], ids.index(kind), _BY_ITS_MEDIUM)


def _nameless(lexicon: Lexicon, category: KindReading) -> BoolArray:
    """Titles that name no thing, or nothing but the bare word for a family, which waits."""
    loose = lexicon.is_one_of("category", *_FAMILIES)
    return (category.concept < 0) | (category.doubtful & loose[category.concept])


def _only_attributes(category: KindReading) -> BoolArray:
    """Titles whose only thing stands in an addition."""
    attributes: BoolArray = category.score <= _IN_AN_ADDITION
    return attributes


def _opens_with_a_figure(lexicon: Lexicon, stream: TokenStream) -> BoolArray:
    """Titles that open with a subject of sculpture: "standing Vishnu", "head of a youth".

    Or whose second clause does, behind an artist's name.
    """
    opens = np.zeros(stream.n_titles, dtype=bool)
    clause_first = stream.clause_first()
    starts = stream.starts()[clause_first]
    labels = lexicon.words_in(_NAMES_OF_FIELDS)[stream.word[clause_first]]
    second = np.append(False, (starts & ~labels)[:-1]) & ~starts
    begin = clause_first[starts | second]
    found = _figure_from(lexicon, stream, begin)
    opens[stream.title[begin[found >= 0]]] = True
    return opens


def _figure_from(lexicon: Lexicon, stream: TokenStream, begin: IntArray) -> IntArray:
    """The word of the figure that a clause opens with from `begin` on; -1 for none."""
    at = begin.copy()
    last = len(stream) - 1
    words = lexicon.words_in
    skip = words(ARTICLES | SIZES)[stream.word] | words(POSES)[stream.word]
    body, of = words(_PARTS_OF_A_BODY)[stream.word], words(_OF)[stream.word]
    shown = words(_SHOWN_IN_STONE)[stream.word]
    for _ in range(_WORDS_TO_THE_SUBJECT):
        after_of = of[at] & body[np.maximum(at - 1, 0)] & (at > begin)
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
    same = stream.clause[at] == stream.clause[begin]
    found = shown[at] & ends & same
    # "court lady", "water carrier": one word tells which
    next_same = stream.clause[beyond] == stream.clause[at]
    people = words(PEOPLE | _MODELLED)[stream.word[beyond]] | (shown[at] & shown[beyond])
    told = people & next_same & stream.closes_clause((beyond + 1).astype(np.int32))
    told &= same & ~found
    # "man of sorrows", "adoration of the Magi": a scene, with whatever follows
    scene = np.zeros(len(begin), dtype=bool)
    scenes = words(_SCENES)[stream.word]
    for more in range(_WORDS_OF_A_NAME - 1):
        cell = np.minimum(begin + more, last)
        scene |= scenes[cell] & (stream.clause[cell] == stream.clause[begin])
    place = np.where(found, at, np.where(told, beyond, np.where(scene, begin, -1)))
    return place.astype(np.int32)
