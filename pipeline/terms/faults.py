"""Faults, alterations and merits that titles state, with what each is said of.

A fault is a phrase of the vocabulary; what it is said of may make it a narrower one ("worn" of
gilding), a word such as "later" or "original" tells one only of a part, and a fault that is denied
is a statement in the seller's favour.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms import fault_words
from pipeline.terms.context import Context
from pipeline.terms.doubts import below
from pipeline.terms.fault_boxes import boxed_pieces, faults_of_boxes, piece_is_the_box
from pipeline.terms.fault_parts import BASES, load_fault_parts
from pipeline.terms.fault_scene import (
    Scene,
    fault_number,
    faults_below,
    part_groups,
    pictured,
    scene_of,
    statements_at,
)
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import distinct_pairs
from pipeline.terms.statements import Statements, statements, subset
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

_SURE_SPELLING = 97.0  # score; a corrected word is too little to find fault with a piece
_COATS = frozenset({("stained",), ("lined",), ("distressed",), ("polished",), ("bent",)})
_WORDS_BEFORE = 7  # words looked back over, from a fault to its part
_WORDS_AFTER = 4
_NEAR = 2  # words between "new" and its part, and one
_PREDICATES = ("replaced-part", "incomplete", "wear", "loose", "foxing")
_WORDS_TO_NEED = 3  # "needs an entirely new"
_MERITS_OF_PARTS = ("marked", "signed", "dust-jacket")


def read_faults(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    category: IntArray,
) -> Statements:
    """Every distinct fault, alteration and merit that each title states.

    Args:
        category: number of each title's category, -1 where none was found.
    """
    said = statements(lexicon, stream, found, context, "fault")
    if "fault" not in lexicon.concept_of or not len(stream):
        return said
    said = subset(said, np.flatnonzero(_holds(lexicon, stream, found, context, said, category)))
    of_boxes = faults_of_boxes(lexicon, said)
    said = subset(said, np.flatnonzero(~piece_is_the_box(lexicon, stream, said)))
    scene = scene_of(lexicon, stream, found, context)
    opens_new = scene.among(said.start, fault_words.NEW)
    said = subset(said, np.flatnonzero(~(opens_new & _asked_for(scene, said.start))))
    parts = [
        _refined(lexicon, scene, said, category),
        _of_parts(lexicon, scene, category),
        _in_favour(lexicon, stream, found, context, category),
        boxed_pieces(lexicon, scene, category),
        of_boxes,
    ]
    said = _by_family(lexicon, _together(parts), category)
    return subset(said, distinct_pairs(said.title, said.concept))


def _narrower(lexicon: Lexicon) -> IntArray:
    """[base, group] -> the concept that the base is as said of the group, -1 for none."""

    def make() -> IntArray:
        parts = load_fault_parts()
        table = np.full((len(BASES), len(parts.groups) + 1), -1, dtype=np.int32)
        for group, row in enumerate(parts.narrower):
            for base, concept_id in row.items():
                table[BASES.index(base), group] = fault_number(lexicon, concept_id)
        return table

    table: IntArray = lexicon.memo(("fault narrower",), make)
    return table


# ---- what the vocabulary's phrases state


def _holds(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    said: Statements,
    category: IntArray,
) -> BoolArray:
    """Whether a fault's words speak of the piece."""
    n = len(stream)
    keep = said.score >= _SURE_SPELLING
    keep &= ~pictured(lexicon, stream, context, said.start, category)
    material = lexicon.concept_of["material"][found.phrase] >= 0
    starts_material = np.zeros(n + 1, dtype=bool)
    starts_material[found.start[material]] = True
    ends_material = np.zeros(n + 1, dtype=bool)
    ends_material[found.end[material]] = True
    coat = lexicon.phrases_where("coats", lambda words: words in _COATS)
    inside = said.end < n
    at = np.where(inside, said.end, 0)
    keep &= ~(coat[said.phrase] & starts_material[said.end] & inside & context.linked[at])
    # "oak cased" says of what the case is, not that there is one
    of_case = has_role(lexicon.roles[said.phrase], "body", "fitted")
    keep &= ~(of_case & ends_material[said.start] & context.linked[said.start])
    # "settle with box seat" has no box of its own
    holder = lexicon.phrases_where(
        "with a holder", lambda words: words in (("with", "box"), ("with", "case"), ("in", "box"))
    )
    of_part = inside & context.linked[at] & (part_groups(lexicon)[stream.word[at]] >= 0)
    keep &= ~(holder[said.phrase] & of_part)
    # "cased shade", "cased glass": of two layers
    cased = lexicon.phrases_where("cased", lambda words: words == ("cased",))
    layered = inside & context.linked[at] & lexicon.words_in(fault_words.LAYERED)[stream.word[at]]
    keep &= ~(cased[said.phrase] & layered)
    # "chip carved roundels" are carved
    chip = lexicon.phrases_where("chip", lambda words: words == ("chip",))
    worked = inside & lexicon.words_in(fault_words.CARVED)[stream.word[at]]
    keep &= ~(chip[said.phrase] & worked & context.linked[at])
    # words such as "loose" or "complete" count at the end of what they are said of
    weak = lexicon.weak("fault")[said.phrase]
    closes = stream.closes_clause(said.end)
    closes |= inside & has_role(context.starts[at], "conjunction", "with")
    closes |= inside & lexicon.words_in(fault_words.CLOSERS)[stream.word[at]]
    # "trimmed with lace" has an edging
    trimmed = lexicon.phrases_where("trimmed", lambda words: words == ("trimmed",))
    keep &= ~(trimmed[said.phrase] & context.next_has(said.end, "with"))
    opens = stream.starts()[said.start] | ((stream.before[said.start] & CLAUSE) > 0)
    before = np.maximum(said.start - 1, 0)
    told = context.known[before] | has_role(context.ends[before], "conjunction")
    told |= part_groups(lexicon)[stream.word[before]] >= 0
    told |= lexicon.words_in(fault_words.BETWEEN | fault_words.LEADS)[stream.word[before]]
    any_word = lexicon.phrases_where(
        "predicates", lambda words: words[-1] in fault_words.PREDICATES
    )
    plain = ~has_role(context.starts[before], "with", "subject", "purpose", "negate")
    told |= any_word[said.phrase] & plain
    # "1930s complete"; "4 tear" is a misspelling
    whole = lexicon.phrases_where("complete", lambda words: words == ("complete",))
    told |= whole[said.phrase] & stream.is_number[before]
    told &= context.linked[said.start]
    return keep & (~weak | (closes & (opens | told) & ~stream.starts()[said.start]))


# ---- what a fault is said of


def _foreign(lexicon: Lexicon, concept: IntArray, category: IntArray) -> BoolArray:
    """What is missing is named after goods: a clock lacks its weights, scales lack something."""
    table = lexicon.memo(("faults of families",), lambda: _of_families(lexicon))
    known = (concept >= 0) & (category >= 0)
    foreign: BoolArray = known & ~table[np.maximum(concept, 0), np.maximum(category, 0)]
    return foreign


def _of_families(lexicon: Lexicon) -> BoolArray:
    """[fault, category] -> whether goods of the category can have the fault, of what can lack."""
    faults = lexicon.vocabulary.concepts("fault")
    lacks = faults_below(lexicon, "incomplete")
    lacks[fault_number(lexicon, "missing-lid")] = False
    table = np.ones((len(faults), len(lexicon.concept_ids["category"])), dtype=bool)
    for number, concept in enumerate(faults):
        if lacks[number] and concept.many("families"):
            table[number] = below(lexicon, *concept.many("families"))
    return table


def _refined(lexicon: Lexicon, scene: Scene, said: Statements, category: IntArray) -> Statements:
    """Faults with the narrower concept that their part gives them."""
    base = _bases(lexicon)[said.concept]
    rows = np.flatnonzero((base >= 0) & _of_one_word(lexicon)[said.phrase])
    if not len(rows):
        return said
    start, end, of_base = said.start[rows], said.end[rows], base[rows]
    closes = scene.closes(end - 1)
    after, at_after = _part_after(
        lexicon, scene, end, of_base, _WORDS_AFTER, over_prepositions=True
    )
    before, at_before, near = _part_before(lexicon, scene, start, of_base)
    predicate = np.isin(of_base, [BASES.index(one) for one in _PREDICATES])
    by_preposition = closes & (end < len(scene.stream)) & (after >= 0)
    use_before = (before >= 0) & (near | (predicate & closes)) & (closes | (after < 0))
    use_before &= ~(by_preposition & ~near)
    # "decoration, chip on rim": what a chip is on follows it
    chip = lexicon.phrases_where("ends in chips", lambda words: words[-1] in ("chip", "chips"))
    use_before &= ~(
        chip[said.phrase[rows]] & scene.linked(end) & scene.preposition(_inside(scene, end))
    )
    chosen = np.where(use_before, before, after)
    chosen = np.where(_foreign(lexicon, chosen, category[said.title[rows]]), -1, chosen)
    hit = chosen >= 0
    concept = said.concept.copy()
    concept[rows[hit]] = chosen[hit]
    # "hallmarks worn" are no marks to speak of
    parts = np.where(use_before, at_before, at_after)[hit]
    merit = faults_below(lexicon, *_MERITS_OF_PARTS)[concept]
    keep = ~(merit & np.isin(said.end - 1, parts))
    refined = Statements(said.title, concept, said.start, said.end, said.score, said.phrase)
    return subset(refined, np.flatnonzero(keep))


def _inside(scene: Scene, at: IntArray) -> IntArray:
    return np.minimum(at, len(scene.stream) - 1)


def _of_one_word(lexicon: Lexicon) -> BoolArray:
    """Phrases that tell of no part themselves: "slightly worn", and not "missing parts"."""
    small = fault_words.BETWEEN | fault_words.SMALL
    return lexicon.phrases_where(
        "one word of weight", lambda words: sum(one not in small for one in words) == 1
    )


def _bases(lexicon: Lexicon) -> IntArray:
    """Concept -> number of the base that it is, -1 for none."""

    def make() -> IntArray:
        table = np.full(len(lexicon.concept_ids["fault"]), -1, dtype=np.int32)
        for number, concept_id in enumerate(BASES):
            if concept_id != "all-original" and fault_number(lexicon, concept_id) >= 0:
                table[fault_number(lexicon, concept_id)] = number
        return table

    table: IntArray = lexicon.memo(("fault bases",), make)
    return table


def _part_after(
    lexicon: Lexicon,
    scene: Scene,
    end: IntArray,
    base: IntArray,
    most: int,
    *,
    over_prepositions: bool,
) -> tuple[IntArray, IntArray]:
    """The concept that the first part behind gives, -1 for none, and where the part stands."""
    table = _narrower(lexicon)
    concept = np.full(len(end), -1, dtype=np.int32)
    place = np.full(len(end), -1, dtype=np.int32)
    alive = np.ones(len(end), dtype=bool)
    for step in range(most + 1):
        at = end + step
        alive &= scene.linked(at)
        at = np.where(alive, at, 0)
        part = alive & (table[base, scene.group(at)] >= 0)
        alive &= ~scene.halts(at) | part
        if not over_prepositions:
            alive &= ~scene.preposition(at)
        cell = table[base, scene.group(at)]
        hit = alive & (cell >= 0)
        concept[hit], place[hit] = cell[hit], at[hit]
        alive &= ~hit
        if not alive.any():
            break
    return concept, place


def _part_before(
    lexicon: Lexicon, scene: Scene, start: IntArray, base: IntArray
) -> tuple[IntArray, IntArray, BoolArray]:
    """The concept that the part before gives (-1 for none), its place, whether it is right before.

    "Handle to top drawer replaced": what a preposition hangs on is what is spoken of.
    """
    table = _narrower(lexicon)
    concept = np.full(len(start), -1, dtype=np.int32)
    place = np.full(len(start), -1, dtype=np.int32)
    near = np.zeros(len(start), dtype=bool)
    alive = np.ones(len(start), dtype=bool)
    plain = alive.copy()  # nothing but small words so far
    hung = np.zeros(len(start), dtype=bool)  # the word behind is a preposition
    for step in range(1, _WORDS_BEFORE + 1):
        alive &= scene.linked(start - step + 1)
        at = np.where(alive, start - step, 0)
        cell = table[base, scene.group(at)]
        hit = alive & (cell >= 0) & (((concept < 0) & plain) | hung)
        concept[hit], place[hit] = cell[hit], at[hit]
        alive &= ~scene.halts(at)
        near |= hit & (step == 1)
        preposition = scene.preposition(at)
        plain &= scene.among(at, fault_words.BETWEEN) | preposition
        hung = alive & preposition
        if not alive.any():
            break
    return concept, place, near


def _of_parts(lexicon: Lexicon, scene: Scene, category: IntArray) -> Statements:
    """What words tell of a part that are no faults by themselves: later, original, no, gone."""
    stream, context, word = scene.stream, scene.context, scene.stream.word
    asked = lexicon.words_in(fault_words.OF_PARTS)[word] & ~scene.covered
    at = np.flatnonzero(asked).astype(np.int32)
    at = at[~pictured(lexicon, stream, context, at, category)]
    if not len(at):
        return statements_at(stream, [(at, at)])
    denied, starts = context.denied[at], stream.starts()[at]
    previous, following = np.maximum(at - 1, 0), np.minimum(at + 1, len(word) - 1)
    # "18th century and later", "later 19th century" are dates of the whole
    dated = scene.among(previous, fault_words.AND_OR)
    dated &= context.known[np.maximum(previous - 1, 0)] & ~stream.starts()[previous]
    dated |= stream.is_number[following] & ~stream.starts()[following]
    changed = ~denied & ~starts & ~dated
    later = scene.among(at, fault_words.LATER) & changed
    new = scene.among(at, fault_words.NEW) & changed & ~_asked_for(scene, at)
    original = scene.among(at, fault_words.ORIGINAL)
    absent = scene.among(at, fault_words.NOT_THERE)
    closes = scene.closes(at)
    gone = scene.among(at, fault_words.GONE) & ~denied & closes
    replaced, missing = BASES.index("replaced-part"), BASES.index("incomplete")
    kept = BASES.index("all-original")
    found: list[tuple[IntArray, IntArray]] = []
    for chosen, base, most in (
        (later, replaced, _WORDS_AFTER),
        (new, replaced, _NEAR - 1),
        (original & ~denied, kept, _WORDS_AFTER - 1),
        (original & denied, replaced, _WORDS_AFTER - 1),
        (absent, missing, _NEAR),
    ):
        here = at[chosen]
        bases = np.full(len(here), base, dtype=np.int32)
        concept, place = _part_after(lexicon, scene, here + 1, bases, most, over_prepositions=False)
        hit = (concept >= 0) & scene.closes(np.maximum(place, 0))
        if base == missing:
            hit &= faults_below(lexicon, "incomplete")[np.maximum(concept, 0)]
            foreign = _foreign(lexicon, concept, category[stream.title[here]])
            concept[foreign] = fault_number(lexicon, "incomplete")
        found.append((here[hit], concept[hit]))
    for chosen, base in (
        ((later | new) & closes, replaced),
        (original & closes & ~denied, kept),
        (original & closes & denied, replaced),
        (gone, missing),
    ):
        here = at[chosen]
        bases = np.full(len(here), base, dtype=np.int32)
        concept, _, _ = _part_before(lexicon, scene, here, bases)
        if base == missing:
            before = np.maximum(here - 1, 0)
            of_piece = context.linked[here] & scene.among(before, fault_words.GONE_FROM)
            concept[(concept < 0) & of_piece] = fault_number(lexicon, "incomplete")
        hit = concept >= 0
        found.append((here[hit], concept[hit]))
    return statements_at(stream, found)


def _asked_for(scene: Scene, at: IntArray) -> BoolArray:
    """ "Requires a new mainspring", "in need of new webbing": the part is not there yet."""
    asked = np.zeros(len(at), dtype=bool)
    alive = np.ones(len(at), dtype=bool)
    for step in range(1, _WORDS_TO_NEED + 1):
        alive &= scene.linked(at - step + 1)
        asked |= alive & scene.among(np.where(alive, at - step, 0), fault_words.ASKED_FOR)
    return asked


def _together(parts: list[Statements]) -> Statements:
    """All of them, in order of place."""
    start = np.concatenate([one.start for one in parts])
    order = np.argsort(start, kind="stable")
    return Statements(
        *(
            np.concatenate([getattr(one, name) for one in parts])[order]
            for name in ("title", "concept", "start", "end", "score", "phrase")
        )
    )


# ---- what is denied, boxes, families


def _in_favour(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    category: IntArray,
) -> Statements:
    """What a denial says: no crack is no damage, never repaired all original."""
    concept = lexicon.concept_of["fault"][found.phrase]
    rows = np.flatnonzero((concept >= 0) & ~found.within)
    rows = rows[context.denied[found.start[rows]]]
    at, concept = found.start[rows], concept[rows]
    denier = np.maximum(context.denier[at], 0)
    but_there = lexicon.words_in(fault_words.DENIED_BUT_THERE)[
        stream.word[np.maximum(denier - 1, 0)]
    ]
    but_there &= ~stream.starts()[denier]
    real = ~but_there & ~pictured(lexicon, stream, context, at, category)
    kinds = [
        at[real & faults_below(lexicon, *roots)[concept]]
        for roots in (("damage",), ("repair", "alteration"), ("incomplete",))
    ]
    # "no cracks or repairs" tells of no damage and names a repair as one more of it
    in_a_list = np.isin(stream.title[kinds[1]], stream.title[kinds[0]])
    kinds[1] = kinds[1][~in_a_list]
    told = ("no-damage", "all-original", "complete")
    return statements_at(
        stream,
        [
            (one, np.full(len(one), fault_number(lexicon, concept_id), dtype=np.int32))
            for one, concept_id in zip(kinds, told, strict=True)
        ],
    )


# the same words mean another fault on goods of another family
_BY_FAMILY: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("painted-later", "overpainted", ("prints-and-paintings",)),
    ("toning", "stained", ("ceramics", "glassware", "tableware-and-vessels")),
    (
        "wood-reinforcement",
        "repair",
        ("prints-and-paintings", "books-and-paper", "maps-and-globes"),
    ),
    ("silvering-loss", "foxing", ("books-and-paper",)),
    ("later-engraved", "signed", ("prints-and-paintings",)),  # "monogrammed"
    ("missing-pendulum", "losses", ("figurine", "sculpture", "doll", "religious-figure")),
)
# goods of which the words tell how they were made: copper is riveted from the start
_NONE_OF: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("overpainted", ("tools",)),  # a plane's infill
    (
        "rivet-repair",
        ("metalware-and-silver", "kitchen-and-household", "tools", "militaria", "fireplace"),
    ),
)

# ... and single words, as the last of a fault's name
_NOT_BY_WORD: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("tear", ("drinking-glass", "goblet")),  # of air, in a stem
    ("twisted", ("drinking-glass", "tableware-and-vessels", "jewellery")),
    ("monogrammed", ("textiles-and-rugs", "furniture", "jewellery")),  # by the first owner
)


def _by_family(lexicon: Lexicon, said: Statements, category: IntArray) -> Statements:
    kind = category[said.title]
    concept = said.concept.copy()
    for told, meant, families in _BY_FAMILY:
        of_family = (kind >= 0) & below(lexicon, *families)[np.maximum(kind, 0)]
        number = fault_number(lexicon, meant)
        if number >= 0:
            concept[of_family & (said.concept == fault_number(lexicon, told))] = number
    keep = np.ones(len(concept), dtype=bool)
    for told, families in _NONE_OF:
        strange = (kind >= 0) & below(lexicon, *families)[np.maximum(kind, 0)]
        keep &= ~(strange & (said.concept == fault_number(lexicon, told)))
    for word, families in _NOT_BY_WORD:
        strange = (kind >= 0) & below(lexicon, *families)[np.maximum(kind, 0)]
        keep &= ~(strange & (said.phrase >= 0) & _ends_in(lexicon, word)[said.phrase])
    said = Statements(said.title, concept, said.start, said.end, said.score, said.phrase)
    return subset(said, np.flatnonzero(keep))


def _ends_in(lexicon: Lexicon, word: str) -> BoolArray:
    return lexicon.phrases_where(f"ends in {word}", lambda words: words[-1] == word)
