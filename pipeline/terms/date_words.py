"""What single words may mean to a date: the reason to keep them when a title is cut down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from pipeline.terms.dates.early_years import BEHIND_A_PEOPLE
from pipeline.terms.dates.early_years import WORDS as WORDS_OF_CULTURES
from pipeline.terms.dates.lexer import ORDINALS_OF_CENTURIES, lex
from pipeline.terms.dates.lexicon import (
    AND,
    CIRCA,
    FROM,
    LATER_PRINT,
    LATER_WORK,
    MARK,
    NAMED,
    NOISE,
    NUM,
    OR,
    PART,
    REF,
    REPRO,
    ROLE,
    ROMAN,
    SEASON,
    STYLE,
    STYLE_OF,
    TO,
    WORD,
)
from pipeline.terms.dates.named import NamedPeriod, load_cultures, load_named
from pipeline.terms.dates.phrases import PHRASES
from pipeline.terms.dates.scan import JUBILEES, REACHES_ON

NOTHING, BESIDE, MAKES, FIGURE, AFAR = range(5)  # kinds of words, see `DateWord`
_MOST_REMEMBERED = 500_000

# "reproduction" anywhere in a title says that its date is no date of making
_SPEAK_FROM_AFAR = frozenset({STYLE, STYLE_OF, REPRO, MARK, LATER_PRINT, LATER_WORK})
# a year of the Hijra, "dated 1690 but later", Polish parts of a century, Nordic decades
_BESIDE_A_CENTURY = frozenset(
    {
        "ah", "but", "though", "although", "albeit", "pocz", "poczatek", "poczatku", "konca",
        "koniec", "pol", "polowa", "polowy", "lata", "laty", "przelom", "przelomu", "wieku",
        "ish", "tal", "talet", "talets", "tallet", "tallets", "века", "век", "recte", "actually",
        # of a part or of later work, behind their date: "with 1970s upholstery"
        "upholstery", "mounts", "additions", "alterations", "repairs", "restorations", "wiring",
        "replacements",
    }
)  # fmt: skip
_COUNTS = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "v": "5", "vi": "6", "vii": "7", "viii": "8"}
# words of phrases that the grammar looks for by themselves
_SAY_MORE = frozenset({"not", "s", "turn", "gay", "naughty", "roaring", "swinging", "do"})
_BESIDE_ONLY = frozenset({NOISE, ROLE, PART, SEASON, CIRCA, REF, TO, AND, OR, FROM, WORD})
_TRIGGERS = frozenset(
    {"century", "century_num", "decade", "tens", "hundreds", "teens", "roman_ord", "named"}
)


class DateWord(NamedTuple):
    """What a word by itself may be to a date."""

    kind: int  # NOTHING, BESIDE (a part of one), MAKES (a date), AFAR (says much of any in reach)
    fades: bool  # it means something only where it stands beside what is more
    in_figures: bool  # it gives a date of its own, such as a year or "century"
    place: int  # among `pairs_of_phrases`, 0 for other words
    parts: bool  # nothing but a space or a light point, so that words at its sides stand apart


@lru_cache(maxsize=_MOST_REMEMBERED)
def date_word(spelling: str) -> DateWord:
    """What a word may be to a date; also for what stands between words."""
    kind = word_kind(spelling)
    starts, _ = _phrase_words()
    return DateWord(
        kind,
        # "labelled Cremona 1721", "dug from bog 1887": these reach over a word
        kind == BESIDE
        and all(t.kind in _BESIDE_ONLY and t.value not in REACHES_ON for t in lex(spelling)),
        kind == MAKES and spelling not in starts,
        pairs_of_phrases().place.get(spelling, 0),
        spelling.strip() in ("", ",", ";", ":"),
    )


@lru_cache(maxsize=_MOST_REMEMBERED)
def word_kind(spelling: str) -> int:
    """NOTHING, BESIDE, MAKES or AFAR."""
    if not spelling or not (spelling[0].isalnum() or spelling[0] >= "\x80"):
        return NOTHING
    if any(character.isdigit() for character in spelling):
        return MAKES
    if spelling in ORDINALS_OF_CENTURIES:
        return MAKES
    if spelling in words_of_cultures() and spelling not in first_words_of_periods():
        return AFAR
    kinds = {token.kind for token in lex(spelling)}
    if kinds & _SPEAK_FROM_AFAR or spelling in JUBILEES:
        return AFAR
    if kinds - {WORD, NUM, ROMAN}:
        return MAKES if NAMED in kinds or kinds & _TRIGGERS else BESIDE
    starts, words = _phrase_words()
    if spelling in starts:
        return MAKES
    beside = kinds - {WORD} or spelling in words or spelling in _BESIDE_A_CENTURY
    return BESIDE if beside or spelling in BEHIND_A_PEOPLE else NOTHING


@lru_cache(maxsize=1)
def names_of_periods() -> Mapping[str, Sequence[tuple[tuple[str, ...], NamedPeriod]]]:
    """The table of named periods, as phrases by their first word."""
    return load_named()


@lru_cache(maxsize=1)
def words_of_cultures() -> frozenset[str]:
    """Words that vouch for years of three digits: names of ancient cultures and their like."""
    phrases = [words for items in load_cultures().values() for words, _ in items]
    named = {word for words in phrases for word in words}
    return frozenset(named) | WORDS_OF_CULTURES


@lru_cache(maxsize=1)
def first_words_of_periods() -> frozenset[str]:
    """Words that the names of periods start with."""
    return frozenset(names_of_periods())


@lru_cache(maxsize=1)
def _phrase_words() -> tuple[frozenset[str], frozenset[str]]:
    """Words that the names of periods start with, and all words of any date phrase."""
    words = {word for phrase in _phrases() for word in phrase}
    return first_words_of_periods(), frozenset(words)


def _phrases() -> list[tuple[str, ...]]:
    fixed = [item[0] for items in PHRASES.values() for item in items]
    return fixed + [item[0] for items in names_of_periods().values() for item in items]


@dataclass(frozen=True)
class PairsOfPhrases:
    """Words that stand side by side in phrases of dates and names of periods, by their places."""

    place: Mapping[str, int]  # of a word; 0 is any other word
    pairs: npt.NDArray[np.bool_]  # (n + 1, n + 1): the second stands behind the first in a phrase
    in_phrases_alone: npt.NDArray[np.bool_]  # (n + 1,): the word means nothing outside of them


@lru_cache(maxsize=1)
def pairs_of_phrases() -> PairsOfPhrases:
    """Words of phrases side by side: the "gold" of "gold rush" is nothing in "gold ring"."""
    phrases = _phrases()
    words_of = {word for phrase in phrases for word in phrase} | {*_COUNTS.values()}
    place = {word: number for number, word in enumerate(sorted(words_of), start=1)}
    pairs = np.zeros((len(place) + 1, len(place) + 1), dtype=bool)
    for phrase in phrases:
        spoken = [word for word in phrase if word.isalnum()]  # an "&" may be no word of a title
        arabic = [_COUNTS.get(word, word) for word in phrase]  # "Geo 3", "Napoleon 3"
        for words in (phrase, spoken, arabic):
            for first, second in pairwise(words):
                pairs[place[first], place[second]] = True
    single = {phrase[0] for phrase in phrases if len(phrase) == 1} | _SAY_MORE
    alone = np.zeros(len(place) + 1, dtype=bool)
    for word, number in place.items():
        alone[number] = word not in single and {token.kind for token in lex(word)} == {WORD}
    return PairsOfPhrases(place, pairs, alone)
