"""Which grade of condition a title gives the piece."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import SUBJECT, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, first_in_group
from pipeline.terms.statements import (
    Statements,
    alone_in_clause,
    fill,
    positions,
    ranks,
    statements,
    subset,
)
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_NO_GRADES = frozenset(
    {("worn",), ("nib",), ("oss",), ("u",)}
)  # in a title a fault, in a field of conditions a grade
# may stand between a grade and the word "condition"
_OF_CONDITION = frozenset(
    ["clean", "used", "vintage", "antique", "original", "overall", "general", "cosmetic", "solid",
     "country", "house", "honest", "structural", "is", "was", "generally", "overall", "a", "in",
     "very", "quite", "pretty", "otherwise", "untouched", "working", "sound", "tidy", "usable"]
)  # fmt: skip
_TO = frozenset(["to", "on", "at"])
_OTHERWISE = frozenset(["otherwise", "ow"])
_NEEDS = frozenset(["needs", "need", "needing", "requires", "requiring"])
_STATES = frozenset(["condition", "cond"])


def read_conditions(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    category: IntArray,
    *,
    bare_grades: bool = False,
) -> KindReading:
    """The condition grade of each title.

    "A good chest" praises the chest; "good condition" grades it. A bare grade word counts only
    beside a word of condition or alone in its clause. Of two grades the lower holds.

    Args:
        category: number of each title's category, -1 where none was found.
    """
    n = stream.n_titles
    said = statements(lexicon, stream, found, context, "condition")
    if not len(said.title):
        return KindReading.nothing(n)
    words = said.end - said.start
    roles = lexicon.roles[said.phrase]
    bare = has_role(roles, "grade_word")
    alone = alone_in_clause(stream, said)
    beside = context.next_has(said.end, "title_grade") | context.previous_has(
        said.start, "title_grade"
    )
    beside |= _near_condition(lexicon, stream, context, said)
    holds = ~bare | beside | alone | bare_grades | _ends_title(stream, context, said)
    holds &= ~((words == 1) & _one_letter(lexicon, said.phrase))
    holds &= (context.zone[said.start] != SUBJECT) | ~bare
    worn = lexicon.phrases_where("no grade", lambda words: words in _NO_GRADES)
    holds &= ~worn[said.phrase] | bare_grades
    # "some wear to the plating" tells of the plating
    goes_on = lexicon.words_in(_TO)[stream.word[np.minimum(said.end, len(stream) - 1)]]
    goes_on &= (said.end < len(stream)) & context.linked[np.minimum(said.end, len(stream) - 1)]
    holds &= ~(goes_on & lexicon.phrases_where("wear", lambda w: w[-1] == "wear")[said.phrase])
    holds &= ~_of_a_part(stream, found, context, said, lexicon, category)
    rows = np.flatnonzero(holds)
    if not len(rows):
        return KindReading.nothing(n)
    grade = ranks(lexicon, "condition")[said.concept[rows]]
    pick = rows[first_in_group(said.title[rows], -grade, said.start[rows])]
    best = np.full(n, -1, dtype=np.int32)
    best[said.title[pick]] = pick
    reading = fill(n, subset(said, rows), positions(best, rows))
    reading.doubtful[said.title[pick[_of_the_rest(lexicon, stream, context, said, pick)]]] = True
    return reading


def _of_the_rest(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    said: Statements,
    pick: npt.NDArray[np.intp],
) -> BoolArray:
    """Grades that leave something out: "otherwise perfect", "striking needs attention"."""
    start = said.start[pick]
    before = np.maximum(start - 1, 0)
    linked = context.linked[start]
    best = ranks(lexicon, "condition")[said.concept[pick]] == 1
    otherwise = linked & lexicon.words_in(_OTHERWISE)[stream.word[before]]
    needs = lexicon.words_in(_NEEDS)[stream.word[start]]
    # the piece itself is named right before, or is left out
    of_something = linked & ~context.known[before] & ~stream.is_number[before]
    of_something |= linked & has_role(context.ends[before], "part")
    return (best & otherwise) | (needs & of_something)


def _near_condition(
    lexicon: Lexicon, stream: TokenStream, context: Context, said: Statements
) -> BoolArray:
    """ "Good clean vintage condition", "condition is generally good": a word or two between."""
    n = len(stream)
    near = np.zeros(len(said.title), dtype=bool)
    small = lexicon.words_in(_OF_CONDITION)
    state = lexicon.words_in(_STATES)
    for at, step in ((said.end, 1), (said.start - 1, -1)):
        alive = np.ones(len(said.title), dtype=bool)
        place = at.copy()
        for _ in range(3):
            broken = place if step > 0 else place + 1
            inside = (place >= 0) & (place < n) & (broken > 0) & (broken < n)
            alive &= inside & context.linked[np.where(inside, broken, 0)]
            word = stream.word[np.where(alive, place, 0)]
            near |= alive & state[word]
            alive &= small[word]
            place = place + step
    return near


def _of_a_part(
    stream: TokenStream,
    found: Found,
    context: Context,
    said: Statements,
    lexicon: Lexicon,
    category: IntArray,
) -> BoolArray:
    """ "(mirror A/F)", "leather top worn": the grade is of what stands right before it."""
    before = np.maximum(said.start - 1, 0)
    linked = context.linked[said.start]
    thing_end = np.zeros(len(stream) + 1, dtype=bool)
    concept = lexicon.concept_of["category"][found.phrase]
    other = (concept >= 0) & (concept != category[stream.title[found.start]])
    thing_end[found.end[other]] = True
    part = has_role(context.ends[before], "part")
    first = stream.first[:-1][said.title]
    later = stream.clause[said.start] != stream.clause[first]
    bare = has_role(lexicon.roles[said.phrase], "grade_word")
    return linked & ((part & bare) | (thing_end[said.start] & later))


def _ends_title(stream: TokenStream, context: Context, said: Statements) -> BoolArray:
    """The last word of a title, after a word that is known ("... dents fair")."""
    last = said.end == stream.first[1:][said.title]
    before = np.maximum(said.start - 1, 0)
    plain = context.known[before] & ~has_role(
        context.ends[before], "subject", "with", "purpose", "body", "part"
    )
    return last & context.linked[said.start] & plain


def _one_letter(lexicon: Lexicon, phrase: IntArray) -> BoolArray:
    return lexicon.phrases_where(
        "one letter", lambda words: len(words) == 1 and len(words[0]) == 1
    )[phrase]
