"""Faults, alterations and merits that titles state, with what each is said of.

A fault is a phrase of the vocabulary; what it is said of may make it a narrower one ("worn" of
gilding), a word such as "later" or "original" tells one only of a part, and a fault that is denied
is a statement in the seller's favour.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms import fault_words
from pipeline.terms.context import SUBJECT, Context
from pipeline.terms.doubts import below
from pipeline.terms.fault_parts import BASES, load_fault_parts
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import distinct_pairs
from pipeline.terms.stated import Statements, statements, subset
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

_SURE_SPELLING = 97.0  # score; a corrected word is too little to find fault with a piece
_COATS = frozenset({("stained",), ("lined",), ("distressed",), ("polished",)})
_WORDS_BEFORE = 7  # words looked back over, from a fault to its part
_WORDS_AFTER = 4
_NEAR = 2  # words between "new" and its part, and one
_PREDICATES = ("replaced-part", "incomplete", "wear", "loose", "foxing")
_WORDS_TO_HOLDER = 5
_WORDS_TO_NEED = 3  # "needs an entirely new"
_WORDS_TO_YEAR = 3  # "restored in about 1990"
_YEAR = re.compile(r"((?:1[5-9]|20)[0-9]{2}|[2-9]0(?=s))(s?)")  # "re-covered in the 70s"
_OF_LATE = 1950  # year; work of this date or later may be told by its bare year
_DATE = re.compile(r"(1[0-9]|20)[0-9]{2}|^[2-9]0s|^[0-9]+(st|nd|rd|th|c)|century|^[0-9]0s")
_MERITS_OF_PARTS = ("marked", "signed", "dust-jacket")
# goods whose case is their body
_BUILT_IN = (
    "clocks-and-watches", "furniture", "lighting", "barometer", "radio", "gramophone", "telephone",
    "music-box", "canteen", "piano", "harmonium", "organ",
)  # fmt: skip


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
    of_boxes = _of_boxes(lexicon, said)
    said = subset(said, np.flatnonzero(~_is_the_box(lexicon, stream, said)))
    scene = _scene(lexicon, stream, found, context)
    opens_new = scene.among(said.start, fault_words.NEW)
    said = subset(said, np.flatnonzero(~(opens_new & _asked_for(scene, said.start))))
    parts = [
        _refined(lexicon, scene, said, category),
        _of_parts(lexicon, scene, category),
        _in_favour(lexicon, stream, found, context, category),
        _boxed(lexicon, scene, category),
        of_boxes,
    ]
    said = _by_family(lexicon, _together(parts), category)
    return subset(said, distinct_pairs(said.title, said.concept))


@dataclass(frozen=True)
class _Scene:
    """What the rules on parts ask of single words; few words are ever asked about."""

    lexicon: Lexicon
    stream: TokenStream
    context: Context
    fault_word: BoolArray  # belongs to the name of a fault
    covered: BoolArray  # belongs to a phrase of several words, or to a fault's

    def linked(self, at: IntArray) -> BoolArray:
        """Whether there is a word, without a break before it."""
        inside = (at > 0) & (at < len(self.stream))
        return inside & self.context.linked[np.where(inside, at, 0)]

    def among(self, at: IntArray, words: frozenset[str]) -> BoolArray:
        """Whether each word is one of the words."""
        found: BoolArray = self.lexicon.words_in(words)[self.stream.word[at]]
        return found

    def group(self, at: IntArray) -> IntArray:
        """Group of parts that each word belongs to, -1 for none."""
        return _groups(self.lexicon)[self.stream.word[at]]

    def preposition(self, at: IntArray) -> BoolArray:
        return self.among(at, fault_words.PREPOSITIONS)

    def halts(self, at: IntArray) -> BoolArray:
        """Whether a word ends the stretch in which a part is looked for."""
        breaks = has_role(
            self.context.starts[at], "with", "conjunction", "subject", "purpose", "negate"
        )
        breaks &= ~self.among(at, fault_words.PREPOSITIONS | fault_words.BETWEEN)
        return breaks | self.fault_word[at]

    def closes(self, at: IntArray) -> BoolArray:
        """Whether nothing follows that belongs to the word."""
        last = len(self.stream) - 1
        following = np.minimum(at + 1, last)
        ends = ~self.context.linked[following] | self.halts(following)
        ends |= self.preposition(following) | self.among(following, fault_words.TURNS)
        return ends | (at >= last)


def _scene(lexicon: Lexicon, stream: TokenStream, found: Found, context: Context) -> _Scene:
    is_fault = (lexicon.concept_of["fault"][found.phrase] >= 0) & ~found.within
    named = np.zeros(len(found), dtype=bool)
    for of_kind in lexicon.concept_of.values():
        named |= of_kind[found.phrase] >= 0
    named |= has_role(lexicon.roles[found.phrase], "mask")
    several = (found.end - found.start > 1) & ~found.within & named
    return _Scene(
        lexicon,
        stream,
        context,
        fault_word=_covered(found, is_fault, len(stream)),
        covered=_covered(found, several | is_fault, len(stream)),
    )


def _covered(found: Found, rows: BoolArray, n_words: int) -> BoolArray:
    """Words that belong to one of the chosen phrases."""
    start, end = found.start[rows], found.end[rows]
    marks = np.zeros(n_words, dtype=bool)
    for step in range(int((end - start).max(initial=0))):
        at = start + step
        marks[at[at < end]] = True
    return marks


def _groups(lexicon: Lexicon) -> IntArray:
    """Word number -> group of parts, -1 for none."""

    def make() -> IntArray:
        table = np.full(lexicon.n_words, -1, dtype=np.int32)
        for word, group in load_fault_parts().group_of.items():
            if word in lexicon.words:
                table[lexicon.words[word]] = group
        return table

    table: IntArray = lexicon.memo(("fault parts",), make)
    return table


def _narrower(lexicon: Lexicon) -> IntArray:
    """[base, group] -> the concept that the base is as said of the group, -1 for none."""

    def make() -> IntArray:
        parts = load_fault_parts()
        table = np.full((len(BASES), len(parts.groups) + 1), -1, dtype=np.int32)
        for group, row in enumerate(parts.narrower):
            for base, concept_id in row.items():
                table[BASES.index(base), group] = _number(lexicon, concept_id)
        return table

    table: IntArray = lexicon.memo(("fault narrower",), make)
    return table


def _number(lexicon: Lexicon, concept_id: str) -> int:
    """Number of a fault; -1 where the vocabulary has none of the name."""
    ids = lexicon.concept_ids["fault"]
    return ids.index(concept_id) if concept_id in ids else -1


def dated_by_work(lexicon: Lexicon, stream: TokenStream, said: Statements) -> IntArray:
    """Titles whose only years are those of work done later: "relined in 1960", "rewired 2019"."""
    if "fault" not in lexicon.concept_of or not len(stream):
        return np.zeros(0, dtype=np.int32)
    past = said.end[_below(lexicon, "repair", "alteration", "serviced")[said.concept]]
    past = np.append(past, np.flatnonzero(lexicon.words_in(fault_words.WORK)[stream.word]) + 1)
    candidates: dict[int, set[int]] = {}
    leads = lexicon.words_in(fault_words.TO_A_YEAR)
    for step in range(_WORDS_TO_YEAR + 1):
        at = past + step
        at = at[at < len(stream)]
        for one in at[stream.is_number[at]].tolist():
            year = _YEAR.fullmatch(stream.spellings[stream.spelling[one]])
            if year is None or stream.clause[one] != stream.clause[one - step - 1]:
                continue
            # "REFINISHED 1920S OAK DESK" is no year of the work; "rewired 2019" is
            ends = one + 1 == len(stream) or stream.clause[one + 1] != stream.clause[one]
            of_late = ends and int(year[1]) >= _OF_LATE and not year[2]
            if of_late if step == 0 else leads[stream.word[one - step : one]].all():
                candidates.setdefault(int(stream.title[one]), set()).add(one)
    out = []
    for title, of_work in candidates.items():
        words = range(int(stream.first[title]), int(stream.first[title + 1]))
        told = {at for at in words if _DATE.search(stream.spellings[stream.spelling[at]])}
        if told <= of_work:
            out.append(title)
    return np.array(out, dtype=np.int32)


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
    keep &= ~_pictured(lexicon, stream, context, said.start, category)
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
    of_part = inside & context.linked[at] & (_groups(lexicon)[stream.word[at]] >= 0)
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
    closes = ~inside | (stream.clause[at] != stream.clause[said.end - 1])
    closes |= inside & has_role(context.starts[at], "conjunction", "with")
    closes |= inside & lexicon.words_in(fault_words.CLOSERS)[stream.word[at]]
    # "trimmed with lace" has an edging
    trimmed = lexicon.phrases_where("trimmed", lambda words: words == ("trimmed",))
    keep &= ~(trimmed[said.phrase] & context.next_has(said.end, "with"))
    opens = stream.starts()[said.start] | ((stream.before[said.start] & CLAUSE) > 0)
    before = np.maximum(said.start - 1, 0)
    told = context.known[before] | has_role(context.ends[before], "conjunction")
    told |= _groups(lexicon)[stream.word[before]] >= 0
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


def _pictured(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    start: IntArray,
    category: IntArray,
) -> BoolArray:
    """ "Print of a cracked vase"; but the handle of a cracked jug is the piece's own."""
    opener = np.maximum(context.opener[start], 0)
    before = np.maximum(opener - 1, 0)
    of_part = _groups(lexicon)[stream.word[before]] >= 0
    of_part |= has_role(context.ends[before], "part", "count", "quantity") & (opener > 0)
    of_part |= lexicon.words_in(fault_words.PORTIONS)[stream.word[before]]
    of_part &= ~stream.starts()[opener]
    shows = lexicon.words_in(fault_words.SHOWS)[stream.word[opener]]
    kind = category[stream.title[start]]
    picture = (kind >= 0) & below(lexicon, "prints-and-paintings")[np.maximum(kind, 0)]
    of_part |= shows & ~picture
    return (context.zone[start] == SUBJECT) & ~of_part


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
    lacks = _below(lexicon, "incomplete")
    lacks[_number(lexicon, "missing-lid")] = False
    table = np.ones((len(faults), len(lexicon.concept_ids["category"])), dtype=bool)
    for number, concept in enumerate(faults):
        if lacks[number] and concept.many("families"):
            table[number] = below(lexicon, *concept.many("families"))
    return table


def _refined(lexicon: Lexicon, scene: _Scene, said: Statements, category: IntArray) -> Statements:
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
    merit = _below(lexicon, *_MERITS_OF_PARTS)[concept]
    keep = ~(merit & np.isin(said.end - 1, parts))
    refined = Statements(said.title, concept, said.start, said.end, said.score, said.phrase)
    return subset(refined, np.flatnonzero(keep))


def _inside(scene: _Scene, at: IntArray) -> IntArray:
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
            if concept_id != "all-original" and _number(lexicon, concept_id) >= 0:
                table[_number(lexicon, concept_id)] = number
        return table

    table: IntArray = lexicon.memo(("fault bases",), make)
    return table


def _part_after(
    lexicon: Lexicon,
    scene: _Scene,
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
    lexicon: Lexicon, scene: _Scene, start: IntArray, base: IntArray
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


def _of_parts(lexicon: Lexicon, scene: _Scene, category: IntArray) -> Statements:
    """What words tell of a part that are no faults by themselves: later, original, no, gone."""
    stream, context, word = scene.stream, scene.context, scene.stream.word
    asked = lexicon.words_in(fault_words.OF_PARTS)[word] & ~scene.covered
    at = np.flatnonzero(asked).astype(np.int32)
    at = at[~_pictured(lexicon, stream, context, at, category)]
    if not len(at):
        return _made(stream, [(at, at)])
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
            hit &= _below(lexicon, "incomplete")[np.maximum(concept, 0)]
            foreign = _foreign(lexicon, concept, category[stream.title[here]])
            concept[foreign] = _number(lexicon, "incomplete")
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
            concept[(concept < 0) & of_piece] = _number(lexicon, "incomplete")
        hit = concept >= 0
        found.append((here[hit], concept[hit]))
    return _made(stream, found)


def _asked_for(scene: _Scene, at: IntArray) -> BoolArray:
    """ "Requires a new mainspring", "in need of new webbing": the part is not there yet."""
    asked = np.zeros(len(at), dtype=bool)
    alive = np.ones(len(at), dtype=bool)
    for step in range(1, _WORDS_TO_NEED + 1):
        alive &= scene.linked(at - step + 1)
        asked |= alive & scene.among(np.where(alive, at - step, 0), fault_words.ASKED_FOR)
    return asked


def _made(stream: TokenStream, found: Iterable[tuple[IntArray, IntArray]]) -> Statements:
    """Statements of one word each, of no phrase."""
    pairs = list(found)
    at = np.concatenate([one for one, _ in pairs]).astype(np.int32)
    concept = np.concatenate([one for _, one in pairs]).astype(np.int32)
    at, concept = at[concept >= 0], concept[concept >= 0]
    sure = np.full(len(at), 100, dtype=np.float32)
    return Statements(
        stream.title[at], concept, at, at + np.int32(1), sure, np.full(len(at), -1, dtype=np.int32)
    )


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


def _below(lexicon: Lexicon, *roots: str) -> BoolArray:
    """Faults that are one of the roots or stand below one."""
    return lexicon.below("fault", *roots)


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
    pictured = _pictured(lexicon, stream, context, at, category)
    real = ~but_there & ~pictured
    kinds = [
        at[real & _below(lexicon, *roots)[concept]]
        for roots in (("damage",), ("repair", "alteration"), ("incomplete",))
    ]
    # "no cracks or repairs" tells of no damage and names a repair as one more of it
    in_a_list = np.isin(stream.title[kinds[1]], stream.title[kinds[0]])
    kinds[1] = kinds[1][~in_a_list]
    told = ("no-damage", "all-original", "complete")
    return _made(
        stream,
        [
            (one, np.full(len(one), _number(lexicon, concept_id), dtype=np.int32))
            for one, concept_id in zip(kinds, told, strict=True)
        ],
    )


def _boxed(lexicon: Lexicon, scene: _Scene, category: IntArray) -> Statements:
    """ "In a fitted mahogany case" tells a box of its own; a clock's case is the clock."""
    stream, context = scene.stream, scene.context
    opens = lexicon.words_in(fault_words.IN)[stream.word] & ~scene.covered
    at = np.flatnonzero(opens).astype(np.int32)
    at = at[~_pictured(lexicon, stream, context, at, category)]
    alive = np.ones(len(at), dtype=bool)
    hit, of_own = np.zeros(len(at), dtype=bool), np.zeros(len(at), dtype=bool)
    for step in range(1, _WORDS_TO_HOLDER + 1):
        alive &= scene.linked(at + step)
        place = np.where(alive, at + step, 0)
        alive &= ~scene.among(place, fault_words.SHOW_CASE) & ~scene.halts(place)
        of_own |= alive & scene.among(place, fault_words.OWN_CASE)
        here = alive & scene.among(place, fault_words.HOLDERS)
        following = np.minimum(place + 1, len(stream) - 1)
        ends = ~context.linked[following] | (place + 1 >= len(stream))
        ends |= has_role(context.starts[following], "with", "conjunction")
        hit |= here & ends
        alive &= ~here
        if not alive.any():
            break
    kind = category[stream.title[at]]
    built_in = below(lexicon, *_BUILT_IN)[np.maximum(kind, 0)]
    hit &= of_own | ((kind >= 0) & ~built_in)
    return _made(stream, [(at[hit], np.full(int(hit.sum()), _number(lexicon, "boxed")))])


def _of_boxes(lexicon: Lexicon, said: Statements) -> Statements:
    """ "Box torn" is a name of the vocabulary for a box, and its last words are a fault's."""

    def make() -> IntArray:
        table = np.full(len(lexicon.phrases), -1, dtype=np.int32)
        boxed = _number(lexicon, "boxed")
        concepts = lexicon.concept_of["fault"]
        for phrase in np.flatnonzero(concepts == boxed).tolist():
            words = lexicon.phrases[phrase]
            rest = lexicon.phrase_numbers.get(words[1:], -1) if words[0] == "box" else -1
            if rest >= 0:
                table[phrase] = concepts[rest]
        return table

    concept = lexicon.memo(("faults of boxes",), make)[said.phrase]
    of_box = subset(said, np.flatnonzero(concept >= 0))
    return Statements(
        of_box.title, concept[concept >= 0], of_box.start, of_box.end, of_box.score, of_box.phrase
    )


def _is_the_box(lexicon: Lexicon, stream: TokenStream, said: Statements) -> BoolArray:
    """ "Walnut box torn": the piece is a box and has none of its own."""
    boxed = said.concept == _number(lexicon, "boxed")
    first = lexicon.words_in(frozenset({"box"}))[stream.word[said.start]]
    opens = ((stream.before[said.start] & CLAUSE) > 0) & ~stream.starts()[said.start]
    return boxed & first & (said.end - said.start > 1) & ~opens


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


def _by_family(lexicon: Lexicon, said: Statements, category: IntArray) -> Statements:
    kind = category[said.title]
    concept = said.concept.copy()
    for told, meant, families in _BY_FAMILY:
        of_family = (kind >= 0) & below(lexicon, *families)[np.maximum(kind, 0)]
        number = _number(lexicon, meant)
        if number >= 0:
            concept[of_family & (said.concept == _number(lexicon, told))] = number
    keep = np.ones(len(concept), dtype=bool)
    for told, families in _NONE_OF:
        strange = (kind >= 0) & below(lexicon, *families)[np.maximum(kind, 0)]
        keep &= ~(strange & (said.concept == _number(lexicon, told)))
    said = Statements(said.title, concept, said.start, said.end, said.score, said.phrase)
    return subset(said, np.flatnonzero(keep))
