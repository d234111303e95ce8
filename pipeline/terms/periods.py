"""Which period a title names, and whether it names the style alone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, SUBJECT, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import IN_BENIN, OF_A_PEOPLE
from pipeline.terms.phrases import Found
from pipeline.terms.picks import KindReading, first_in_group
from pipeline.terms.statements import (
    Statements,
    alone_in_clause,
    fill,
    statements,
)
from pipeline.terms.tokens import SLASH, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_LOOKS = frozenset(["looks", "look", "looking", "appears", "seems", "possibly", "maybe"])
_AGE_REACH = 2  # words before an age word at the start of a title
_SHORT_NAMES = frozenset({("geo",), ("edw",)})
_ARTICLES = frozenset({"the", "a", "an"})
_BEFORE_AN_AGE = frozenset({"semi", "year", "years"})
_OLD, _THE = frozenset({"old"}), frozenset({"the"})
_EITHER = frozenset({"or", "to"})
_OLD_NAMES = frozenset(["sheffield", "cut", "mine", "european"])
_SELLERS_WORDS = frozenset({"antique", "vintage", "retro"})
_LED_TO = frozenset(["in", "of", "on", "with", "and", "an", "a", "its", "later", "like"])
_WORDS_OF_A_RUN = 6  # of a clause that is long enough to be a run of keywords


def read_periods(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    borne_out: BoolArray,
) -> tuple[KindReading, BoolArray]:
    """The period of each title, and whether it names a style only.

    Args:
        borne_out: words at which a name that is a common word too is the name of a period.
    """
    n = stream.n_titles
    said = statements(lexicon, stream, found, context, "period")
    said = _with_ages_of_stuff(lexicon, stream, found, context, said)
    is_style = np.zeros(n, dtype=bool)
    if not len(said.title):
        return KindReading.nothing(n), is_style
    style = context.next_has(said.end, "period_style")
    style |= context.previous_has(said.start, "style_before", "imitate_before")
    one_back = np.maximum(said.start - 1, 0)
    article = lexicon.words_in(_ARTICLES)[stream.word[one_back]]
    after_article = context.linked[said.start] & article
    style |= after_article & context.previous_has(one_back, "style_before")
    detail = context.next_has(said.end, "period_part")
    pictured = context.zone[said.start] == SUBJECT
    age = without_years(lexicon)[said.concept]
    detail |= age & (style | ~_age_of_the_whole(lexicon, stream, context, said))
    # "looks old", "old repaint"
    linked = context.linked[said.start]
    detail |= age & linked & lexicon.words_in(_LOOKS)[stream.word[one_back]]
    detail |= _of_another_people(lexicon, stream, said) | age & _ages_of_a_name(
        lexicon, stream, said
    )
    # names that are common words ("Mission", "Pop") need a word that says what they are
    weak = lexicon.weak("period")[said.phrase] & ~age
    # ... or to stand alone in their clause: "oil lamp, terracotta, Roman, 2nd century"
    alone = alone_in_clause(stream, said) & ~stream.starts()[said.start]
    detail |= weak & ~context.next_has(said.end, "period_style") & ~alone & ~borne_out[said.start]
    # "Geo. Buck" and "Edw. Rowe" are men's names
    short = lexicon.phrases_where("short names", lambda words: words in _SHORT_NAMES)[said.phrase]
    detail |= short & context.next_is_unknown(said.end)
    # a reign says more than the trade that a piece was made for
    traded = lexicon.below("period", "chinese-export")[said.concept]
    rank = detail * 8 + age * 4 + pictured * 2 + (style | traded) * 1
    pick = first_in_group(said.title, rank, said.start)
    keep = ~detail[pick]
    pick = pick[keep]
    best = np.full(n, -1, dtype=np.int32)
    best[said.title[pick]] = pick
    above = lexicon.above("period")
    rows = np.flatnonzero(~detail & (best[said.title] >= 0))
    narrower = above[said.concept[rows], said.concept[best[said.title[rows]]]]
    for row in rows[narrower]:
        held = best[said.title[row]]
        if rank[row] == rank[held] and above[said.concept[row], said.concept[held]]:
            best[said.title[row]] = row
    reading = fill(n, said, best)
    chosen = best[best >= 0]
    unsure = context.hedged[said.start[chosen]] | context.hedged[said.end[chosen] - 1]
    unsure |= context.next_has(said.end[chosen], "period_mark")
    reading.doubtful[said.title[chosen[unsure]]] = True
    is_style[said.title[chosen]] = style[chosen]
    # "Victorian/Edwardian" and "Victorian or Edwardian" name no one period
    rows = np.flatnonzero(~detail & (best[said.title] >= 0))
    other = rows[rows > best[said.title[rows]]]
    near = said.start[other] - said.end[best[said.title[other]]]
    word_between = lexicon.words_in(_EITHER)[stream.word[np.maximum(said.start[other] - 1, 0)]]
    slash = ((stream.before[said.start[other]] & SLASH) > 0) | (
        stream.before[said.start[other]] == 1
    )
    unlike = (
        ~above[said.concept[other], said.concept[best[said.title[other]]]]
        & ~above[said.concept[best[said.title[other]]], said.concept[other]]
    )
    unlike &= said.concept[other] != said.concept[best[said.title[other]]]
    clash = unlike & (((near == 0) & slash) | ((near == 1) & word_between))
    titles = said.title[other[clash]]
    reading.doubtful[titles] = True
    reading.margin[titles] = 0
    pictured_only = said.title[chosen[pictured[chosen]]]
    reading.doubtful[pictured_only] = True
    return reading, is_style


def _of_another_people(lexicon: Lexicon, stream: TokenStream, said: Statements) -> BoolArray:
    """The Edo of Benin: "Armlet, ivory, Edo artist", "brass, Edo, Benin"."""
    ids = lexicon.concept_ids["period"]
    if "edo" not in ids:
        return np.zeros(len(said.title), dtype=bool)
    there = np.zeros(stream.n_titles, dtype=bool)
    there[stream.title[lexicon.words_in(IN_BENIN)[stream.word]]] = True
    following = np.minimum(said.end, len(stream) - 1)
    people = lexicon.words_in(OF_A_PEOPLE)[stream.word[following]]
    people &= ~stream.closes_clause(said.end)
    return (said.concept == ids.index("edo")) & (there[said.title] | people)


def _ages_of_a_name(lexicon: Lexicon, stream: TokenStream, said: Statements) -> BoolArray:
    """ "Semi-antique rug", "25 year old whisky", "The Old Bridge": no age of the piece."""
    one_back = np.maximum(said.start - 1, 0)
    same = stream.title[one_back] == said.title
    same &= said.start > one_back
    counted = lexicon.words_in(_BEFORE_AN_AGE)[stream.word[one_back]]
    old = lexicon.words_in(_OLD)[stream.word[said.start]]
    titled = lexicon.words_in(_THE)[stream.word[one_back]] & old
    titled &= ~stream.closes_clause(said.end)
    return same & (counted | titled)


def _with_ages_of_stuff(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, said: Statements
) -> Statements:
    """ "Old pine chest": the name of the wood holds the word for the age."""

    def make() -> IntArray:
        table = np.full(len(lexicon.phrases), -1, dtype=np.int32)
        material = lexicon.concept_of["material"]
        ages = without_years(lexicon)
        for phrase in np.flatnonzero(material >= 0).tolist():
            words = lexicon.phrases[phrase]
            # "old Sheffield plate", "old-cut diamond": the name of a stuff, whatever its age
            aged = len(words) > 1 and words[1] not in _OLD_NAMES
            age = lexicon.phrase_numbers.get(words[:1], -1) if aged else -1
            concept = lexicon.concept_of["period"][age] if age >= 0 else -1
            if concept >= 0 and ages[concept]:
                table[phrase] = concept
        return table

    concept = lexicon.memo(("ages of stuff",), make)[found.phrase]
    rows = np.flatnonzero((concept >= 0) & ~found.within)
    rows = rows[~context.denied[found.start[rows]]]
    if not len(rows):
        return said
    start = np.concatenate([said.start, found.start[rows]])
    order = np.argsort(start, kind="stable")
    one_word = (found.start[rows] + 1).astype(np.int32)
    return Statements(
        title=np.concatenate([said.title, stream.title[found.start[rows]]])[order],
        concept=np.concatenate([said.concept, concept[rows]])[order],
        start=start[order],
        end=np.concatenate([said.end, one_word])[order],
        score=np.concatenate([said.score, found.score[rows]])[order],
        phrase=np.concatenate([said.phrase, found.phrase[rows]])[order],
    )


def without_years(lexicon: Lexicon) -> BoolArray:
    """Words for age alone, such as antique and vintage: they name no period."""

    def make() -> BoolArray:
        periods = lexicon.vocabulary.concepts("period")
        ageless = [one.earliest_year is None and one.latest_year is None for one in periods]
        return np.array(ageless or [False])

    table: BoolArray = lexicon.memo("without years", make)
    return table


def _age_of_the_whole(
    lexicon: Lexicon, stream: TokenStream, context: Context, said: Statements
) -> BoolArray:
    """An age word speaks of the piece at the title's start or at the end of a clause.

    In a run of keywords it may stand anywhere, but before a part: "bowl grape pattern vintage no
    chips".
    """
    n = len(stream)
    first = stream.first[:-1][said.title]
    clauses = stream.clause[said.start] - stream.clause[np.minimum(first, n - 1)]
    clause_first = stream.first_of_clause(said.start)
    near_start = (said.start - clause_first <= _AGE_REACH) & (clauses <= 1)
    # "lot of 12 vintage brooches"
    one_back = np.maximum(said.start - 1, 0)
    near_start |= (stream.is_number[one_back]) & (said.start - clause_first <= 2 * _AGE_REACH)
    ends = stream.closes_clause(said.end)
    part_next = context.next_has(said.end, "part")
    length = np.bincount(stream.clause)[stream.clause[said.start]]
    run = lexicon.words_in(_SELLERS_WORDS)[stream.word[said.start]] & (length > _WORDS_OF_A_RUN)
    run &= ~lexicon.words_in(_LED_TO)[stream.word[one_back]]
    run &= ~context.next_has(said.end + 1, "part", "fitted", "body")
    return (near_start | ends | run) & ~part_next & (context.zone[said.start] == MAIN)
