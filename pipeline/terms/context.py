"""What the words around a term do to it: denied, doubted, in an addition, a picture's subject.

All functions work on the flat row of words of many titles and return one value a word.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import NATIONS
from pipeline.terms.phrases import Found, has_role, role_bits
from pipeline.terms.tokens import CLAUSE, FULL_STOP, QUESTION, SLASH, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
Bits = npt.NDArray[np.uint64]

MAIN, ADDITION, SUBJECT, PURPOSE = 0, 1, 2, 3
_DENIAL_REACH = 7  # words; a denial further back belongs to something else
_HEDGE_REACH = 3  # words; "possibly" speaks of what comes right after it
_JOINERS = frozenset({"or", "nor", "and"})
_NUMBERING = frozenset({"no"})
_SMALL = frozenset(["minor", "light", "small", "tiny", "slight", "some", "just"])
# "no chips, light crazing" tells of crazing
_TOLD_ANEW = frozenset(
    ["minor", "light", "small", "tiny", "slight", "some", "old", "one", "few", "later", "heavy"]
)
_DENYING_STARTS = frozenset({"no", "not", "without", "free", "non"})


@dataclass(frozen=True)
class Context:
    """Per word (arrays as long as the stream).

    Attributes:
        starts, ends: role bits of a phrase starting with, ending with the word.
        denied: the word stands under a denial.
        denier: index of the last word of the denial, -1 where there is none.
        hedged: the seller is not sure of the word ("possibly", "?", "or").
        beside_or: the word stands right before or behind "or", and nothing else speaks of doubt.
        hedged_title: titles of which a part is said to be later or doubtful (one a title).
        zone: MAIN, or what opened the stretch of the clause that the word is in.
        opener: index of the word that opened that stretch, -1 in MAIN.
        linked: the word follows the one before it without a break (space, hyphen or full stop).
        is_number: the word starts with a digit.
        known: the word belongs to some phrase found.
        dated: the word belongs to the name of a period or style.
    """

    starts: Bits
    ends: Bits
    denied: BoolArray
    denier: IntArray
    hedged: BoolArray
    beside_or: BoolArray
    hedged_title: BoolArray
    zone: npt.NDArray[np.uint8]
    opener: IntArray
    linked: BoolArray
    is_number: BoolArray
    known: BoolArray
    dated: BoolArray

    def next_has(self, end: IntArray, *roles: str) -> BoolArray:
        """Whether a phrase of one of the roles starts right after each `end`."""
        inside = end < len(self.linked)
        at = np.where(inside, end, 0)
        if not len(self.linked):
            return np.zeros(len(end), dtype=bool)
        return inside & self.linked[at] & has_role(self.starts[at], *roles)

    def next_is(self, end: IntArray, words: BoolArray) -> BoolArray:
        """Whether one of the flagged words of the stream stands right after each `end`."""
        inside = end < len(self.linked)
        at = np.where(inside, end, 0)
        if not len(self.linked):
            return np.zeros(len(end), dtype=bool)
        return inside & self.linked[at] & words[at]

    def next_is_unknown(self, end: IntArray) -> BoolArray:
        """Whether the word right behind each `end` belongs to no phrase and is no number."""
        n = len(self.linked)
        at = np.minimum(end, n - 1)
        return (end < n) & self.linked[at] & ~self.known[at] & ~self.is_number[at]

    def previous_has(self, start: IntArray, *roles: str) -> BoolArray:
        """Whether a phrase of one of the roles ends right before each `start`."""
        if not len(self.linked):
            return np.zeros(len(start), dtype=bool)
        before = np.maximum(start - 1, 0)
        return self.linked[start] & (start > 0) & has_role(self.ends[before], *roles)


def build_context(lexicon: Lexicon, stream: TokenStream, found: Found) -> Context:
    """Work out the context of every word."""
    n = len(stream)
    starts, ends = role_bits(lexicon, found, n)
    begins = stream.starts()
    linked = ~begins & ((stream.before & (CLAUSE | SLASH)) == 0)
    is_number = stream.is_number
    known, dated = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    period = np.zeros(len(found), dtype=bool)
    if "period" in lexicon.concept_of:
        period = lexicon.concept_of["period"][found.phrase] >= 0
    for step in range(int((found.end - found.start).max(initial=0))):
        at = found.start + step
        known[at[at < found.end]] = True
        dated[at[(at < found.end) & period]] = True
    denied, denier = _denied(lexicon, stream, found, starts, ends, is_number)
    bare_of = lexicon.words_in(_OF)[stream.word]
    named_for = _named_for(lexicon, stream, found)
    on_ground = _stuff_on_stuff(lexicon, stream, found, linked)
    zone, opener = _zones(stream, starts, ends, named_for, bare_of, on_ground)
    origin = dated | is_number | lexicon.words_in(NATIONS)[stream.word]
    hedged, beside_or = _hedged(stream, starts, ends, origin)
    hedged_title = np.zeros(stream.n_titles, dtype=bool)
    hedged_title[stream.title[has_role(starts, "hedge_after")]] = True
    hedged_title[stream.title[hedged & is_number]] = True  # "probably 1930s"
    return Context(
        starts=starts,
        ends=ends,
        denied=denied,
        denier=denier,
        hedged=hedged,
        beside_or=beside_or,
        hedged_title=hedged_title,
        zone=zone,
        opener=opener,
        linked=linked,
        is_number=is_number,
        known=known,
        dated=dated,
    )


def latest(flag: BoolArray, group: IntArray) -> IntArray:
    """Index of the last flagged word at or before each word in the same group, -1 if none."""
    n = len(flag)
    if not n:
        return np.zeros(0, dtype=np.int32)
    place = np.arange(n, dtype=np.int32)
    opens = np.ones(n, dtype=bool)
    np.not_equal(group[1:], group[:-1], out=opens[1:])
    # twice the place: odd for a flagged word, even for one that opens a group and is not
    index = np.maximum.accumulate(np.where(flag, 2 * place + 1, np.where(opens, 2 * place, -1)))
    return np.where(index & 1, index >> 1, -1).astype(np.int32)


def _denied(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    starts: Bits,
    ends: Bits,
    is_number: BoolArray,
) -> tuple[BoolArray, IntArray]:
    n = len(stream)
    if not n:
        return np.zeros(0, dtype=bool), np.zeros(0, dtype=np.int32)
    says_no = has_role(ends, "negate")
    # "No. 12" and "no 7" are numbers of things
    following = np.zeros(n, dtype=bool)
    following[:-1] = is_number[1:] | ((stream.before[1:] & FULL_STOP) > 0)
    says_no &= ~(following & lexicon.words_in(_NUMBERING)[stream.word])
    denying = _denying_faults(lexicon, stream, found, starts)
    says_no |= denying
    stops = has_role(starts, "negate_end") | (has_role(starts, "with") & ~has_role(ends, "negate"))
    # "no small chips", "no chips or minor cracks"
    small = np.zeros(n, dtype=bool)
    joiner = lexicon.words_in(_JOINERS)[stream.word]
    small[1:] = has_role(ends, "negate")[:-1] | joiner[:-1]
    stops &= ~(small & lexicon.words_in(_SMALL)[stream.word])
    group = stream.clause
    index = np.arange(n, dtype=np.int32)
    last_no = latest(says_no, group)
    stops |= _merits_behind_faults(lexicon, stream, found)
    # "no dmg. Chip": a stop behind a fault ends the sentence, whatever the word's length
    stops |= _after_told_fault(lexicon, stream, found)
    last_stop = latest(stops, group)
    denied = (last_no >= 0) & (last_no < index) & (last_stop < last_no)
    denied &= index - last_no <= _DENIAL_REACH
    # "chip free", "wood worm free": the phrase before
    free = has_role(starts, "free_after") & ~stream.starts() & (stream.before <= 1)
    before = np.flatnonzero(found.end < n)
    before = before[free[found.end[before]]]
    for step in range(int((found.end - found.start)[before].max(initial=0))):
        at = found.start[before] + step
        denied[at[at < found.end[before]]] = True
    _carry_over(lexicon, stream, found, denied, denying)
    return denied, np.where(denied, last_no, -1).astype(np.int32)


def _after_told_fault(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Words with a full stop before them, behind the name of a fault."""
    marks = np.zeros(len(stream), dtype=bool)
    if "fault" in lexicon.concept_of:
        past = found.end[lexicon.concept_of["fault"][found.phrase] >= 0]
        past = past[past < len(stream)]
        marks[past] = (stream.before[past] & FULL_STOP) > 0
    return marks


def _merits_behind_faults(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """First words of a merit right behind a fault: "no damage boxed" denies the damage alone."""
    marks = np.zeros(len(stream), dtype=bool)
    if "fault" in lexicon.concept_of:
        rows = lexicon.concept_of["fault"][found.phrase] >= 0
        ends = np.zeros(len(stream) + 1, dtype=bool)
        # "lacking dust jacket" denies the jacket
        lacks = has_role(lexicon.roles[found.phrase], "negate")
        ends[found.end[rows & ~lacks]] = True
        raises = lexicon.memo(("merits",), lambda: _merits(lexicon))
        merit = raises[lexicon.concept_of["fault"][found.phrase]] & rows
        start = found.start[merit]
        marks[start] = ends[start]
    return marks


def _merits(lexicon: Lexicon) -> BoolArray:
    """Faults that are none: statements that raise a price."""

    def make() -> BoolArray:
        faults = lexicon.vocabulary.concepts("fault")
        return np.array([one.extra.get("direction") == "raises" for one in faults] or [False])

    table: BoolArray = lexicon.memo("merits", make)
    return table


def _denying_faults(lexicon: Lexicon, stream: TokenStream, found: Found, starts: Bits) -> BoolArray:
    """Words that end a fault's name which denies more than it names: "no cracks or chips"."""
    marks = np.zeros(len(stream), dtype=bool)
    if "fault" not in lexicon.concept_of:
        return marks
    denying = lexicon.phrases_where("denying", lambda words: words[0] in _DENYING_STARTS)
    rows = (lexicon.concept_of["fault"][found.phrase] >= 0) & denying[found.phrase]
    last = found.end[rows] - 1
    sound = lexicon.is_one_of("fault", "no-damage", "all-original")
    of_sound = sound[lexicon.concept_of["fault"][found.phrase[rows]]]
    following = np.minimum(last + 1, len(stream) - 1)
    goes_on = has_role(starts[following], "conjunction") & (following > last)
    goes_on &= ~stream.starts()[following]
    marks[last[of_sound | goes_on]] = True
    return marks


def _hedged(
    stream: TokenStream, starts: Bits, ends: Bits, origin: BoolArray
) -> tuple[BoolArray, BoolArray]:
    """Words that the seller doubts: after a hedge, before a question mark, beside "or".

    Args:
        origin: words that tell whence or of when; "possibly French stool" doubts no stool.

    Returns:
        all of them; those that are doubted for "or" alone.
    """
    n = len(stream)
    if not n:
        return np.zeros(0, dtype=bool), np.zeros(0, dtype=bool)
    index = np.arange(n, dtype=np.int32)
    last = latest(has_role(ends, "hedge"), stream.clause)
    hedged = (last >= 0) & (index > last) & (index - last <= _HEDGE_REACH)
    hedged &= origin | ~origin[np.minimum(np.maximum(last, 0) + 1, n - 1)]
    same_title = ~stream.starts()[1:]
    questioned = ((stream.before[1:] & QUESTION) > 0) & same_title
    hedged[:-1] |= questioned
    filled = stream.first[1:] > stream.first[:-1]
    ends_unsure = stream.questioned & filled
    hedged[stream.first[1:][ends_unsure] - 1] = True
    either = np.zeros(n, dtype=bool)
    either[:-1] |= has_role(starts, "alternative")[1:] & same_title
    either[1:] |= has_role(ends, "alternative")[:-1] & same_title
    return hedged | either, either & ~hedged


def _carry_over(
    lexicon: Lexicon, stream: TokenStream, found: Found, denied: BoolArray, denying: BoolArray
) -> None:
    """ "no chips, cracks or repairs": a bare fault after the comma is denied like the first.

    After a name that denies by itself ("no chips") only a noun in a row is: "no damage, crazed"
    and "no cracks, hairline" state a fault.
    """
    if "fault" not in lexicon.concept_of:
        return
    is_fault = lexicon.concept_of["fault"][found.phrase] >= 0
    first, past = found.start[is_fault], found.end[is_fault]
    n = len(stream)
    # a new sentence is said anew: "No report. Chips."
    opens = (stream.before[first] & (CLAUSE | FULL_STOP)) == CLAUSE
    opens &= ~lexicon.words_in(_TOLD_ANEW)[stream.word[first]]
    first, past = first[opens], past[opens]
    bare_end = np.ones(len(past), dtype=bool)
    inside = past < n
    at = past[inside]
    joiner = lexicon.words_in(_JOINERS)[stream.word[at]]
    bare_end[inside] = (stream.clause[at] != stream.clause[past[inside] - 1]) | joiner
    nouns = lexicon.memo("noun endings", lambda: _noun_endings(lexicon))
    in_row = nouns[stream.word[past - 1]] & (past - first == 1)
    in_row[inside] |= joiner & (stream.clause[at] == stream.clause[past[inside] - 1])
    before = np.maximum(first - 1, 0)
    within_title = (first > 0) & (stream.title[before] == stream.title[first])
    by_name = denying[before] & in_row
    # "lacking drops, rewired": what is denied before it must be a fault too
    of_faults = np.zeros(int(stream.clause[-1]) + 1 if n else 1, dtype=bool)
    told = found.start[is_fault]
    of_faults[stream.clause[told[denied[told]]]] = True
    for _ in range(4):
        behind = denied[before] & of_faults[stream.clause[before]]
        carried = bare_end & within_title & (behind | by_name)
        fresh = carried & ~denied[first]
        if not fresh.any():
            return
        clauses = stream.clause[first[fresh]]
        of_faults[clauses] = True
        denied |= np.isin(stream.clause, clauses)


def _noun_endings(lexicon: Lexicon) -> BoolArray:
    """Word number -> whether it ends as a noun for several or for an action does."""
    return np.array(
        [False] + [one.endswith(("s", "ing")) for one in sorted(lexicon.words)], dtype=bool
    )


def _named_for(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Words that end a marker such as "lid for" or "stand for": what follows is not sold."""
    marks = np.zeros(len(stream), dtype=bool)
    if "marker" not in lexicon.concept_of:
        return marks
    ends = lexicon.phrases_where("ends with for", lambda words: words[-1] == "for")
    rows = (lexicon.concept_of["marker"][found.phrase] >= 0) & ends[found.phrase]
    marks[found.end[rows] - 1] = True
    return marks


_ON = frozenset({"on"})
_OF = frozenset({"of"})
_SAID_OF_YEARS = frozenset(["about", "circa", "c", "ca", "the", "around", "approximately"])
_DECADE = re.compile(r"(?:1[5-9]|20)\d\d?(?:s|'s)?|\d\ds")


def _of_a_date(stream: TokenStream) -> BoolArray:
    """Words that a year or a decade stands behind: "easy chair of the 1950s, in oak"."""
    years = np.array(
        [one[:1].isdigit() and _DECADE.fullmatch(one) is not None for one in stream.spellings],
        dtype=bool,
    )
    small = np.array([one in _SAID_OF_YEARS for one in stream.spellings], dtype=bool)
    n = len(stream)
    behind = np.zeros(n, dtype=bool)
    if not len(stream.spellings):
        return behind
    year, between = years[stream.spelling], small[stream.spelling]
    starts = stream.starts()
    behind[:-1] = year[1:] & ~starts[1:]
    behind[:-2] |= between[1:-1] & year[2:] & ~starts[1:-1] & ~starts[2:]
    return behind


def _stuff_on_stuff(
    lexicon: Lexicon, stream: TokenStream, found: Found, linked: BoolArray
) -> BoolArray:
    """ "Walnut on oak bureau", "enamel on copper bowl": the words "on" that lead to no stand.

    A stuff ends before it, another begins behind it, and a thing behind that; a medium on its
    ground ("oil on oak panel") is another matter.
    """
    n = len(stream)
    flags = np.zeros(n, dtype=bool)
    if not n or "material" not in lexicon.concept_of or "category" not in lexicon.concept_of:
        return flags
    on = np.flatnonzero(lexicon.words_in(_ON)[stream.word] & linked)
    on = on[on + 1 < n]
    if not len(on):
        return flags
    concept = lexicon.concept_of["material"][found.phrase]
    medium = lexicon.below(
        "material", "painting-medium", "print-technique", "photograph", "paper", "textile"
    )
    stuff = (concept >= 0) & ~medium[np.maximum(concept, 0)]
    ends = np.zeros(n + 1, dtype=bool)
    ends[found.end[stuff]] = True
    past = np.full(n + 1, -1, dtype=np.int32)
    past[found.start[stuff]] = found.end[stuff]
    thing = np.zeros(n + 1, dtype=bool)
    named = lexicon.concept_of["category"][found.phrase] >= 0
    thing[found.start[named]] = True
    beyond = past[on + 1]
    holds = ends[on] & (beyond > 0) & linked[on + 1]
    at = np.minimum(np.maximum(beyond, 0), n - 1)
    flags[on[holds & (beyond < n) & thing[at] & linked[at]]] = True
    return flags


def _zones(
    stream: TokenStream,
    starts: Bits,
    ends: Bits,
    named_for: BoolArray,
    bare_of: BoolArray,
    on_ground: BoolArray,
) -> tuple[npt.NDArray[np.uint8], IntArray]:
    n = len(stream)
    if not n:
        return np.zeros(0, dtype=np.uint8), np.zeros(0, dtype=np.int32)
    addition = has_role(starts, "with") & ~has_role(starts, "quantity")  # "near pair"
    addition &= ~on_ground
    subject = has_role(starts, "subject")
    purpose = has_role(starts, "purpose") | named_for
    # "a pair of vases": what follows is the piece itself
    of_quantity = np.zeros(n, dtype=bool)
    of_quantity[1:] = subject[1:] & has_role(ends[:-1], "quantity") & ~stream.starts()[1:]
    # "box of dominoes": either may be meant; the words after 'of' are not shut out
    of_box = np.zeros(n, dtype=bool)
    of_box[1:] = subject[1:] & has_role(ends[:-1], "quantity_box") & ~stream.starts()[1:]
    of_box &= bare_of  # "bottle in the form of a shoe" is no shoe
    subject &= ~of_quantity & ~of_box & ~_of_a_date(stream)
    opens = addition | subject | purpose
    opener = latest(opens, stream.clause)
    kind = np.where(purpose, PURPOSE, np.where(subject, SUBJECT, ADDITION)).astype(np.uint8)
    zone = np.where(opener >= 0, kind[np.maximum(opener, 0)], MAIN).astype(np.uint8)
    # a picture's subject stays one to the end of the clause, whatever opens inside it
    in_subject = latest(subject, stream.clause)
    deeper = (in_subject >= 0) & (opener > in_subject)
    zone = np.where(deeper, SUBJECT, zone).astype(np.uint8)
    opener = np.where(deeper, in_subject, opener).astype(np.int32)
    return zone, opener
