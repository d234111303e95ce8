"""Years of making from titles, without reading a million titles one by one.

Only words that can belong to a date matter. Each title is cut down to them, with a place-holder
for each stretch of others; the distinct remains, a small share of the titles, are read once each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.settings import TermSettings
from pipeline.terms.date_remains import EMPTY_NUMBER, NO_YEAR, OTHER_WORD, Remains
from pipeline.terms.date_words import (
    AFAR,
    BESIDE,
    FIGURE,
    MAKES,
    NOTHING,
    DateWord,
    date_word,
    pairs_of_phrases,
    words_of_cultures,
)
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_MARKS, _BORN_OR_DIED = frozenset(["mark", "marks"]), frozenset(["b", "d"])
_BEFORE_D = frozenset(["a", "n", "s", "o"])  # "A.D.", "n.d."
_REACH = 5  # words to a core word: "third quarter of the nineteenth century"
_YEAR_FIGURES = 4
_LAST_YEAR = 2035  # greater numbers of four digits are no years
_ACCESSION_WORDS = 3


@dataclass(frozen=True)
class TitleDates:
    """Earliest and latest year of making of each title, with their presence."""

    earliest: IntArray
    latest: IntArray
    has_earliest: BoolArray
    has_latest: BoolArray
    is_dated: BoolArray  # a date of making is there, even one of two readings
    by_name: BoolArray  # nothing but the name of a period speaks of a date

    @classmethod
    def nothing(cls, n_titles: int) -> TitleDates:
        none = np.zeros(n_titles, dtype=bool)
        zero = np.zeros(n_titles, dtype=np.int32)
        return cls(zero, zero.copy(), none, none.copy(), none.copy(), none.copy())


def title_dates(stream: TokenStream, settings: TermSettings) -> TitleDates:
    """Dates of making found in titles. A period's name alone counts with the years it has."""
    dates = TitleDates.nothing(stream.n_titles)
    if not len(stream):
        return dates
    words = _Words.of(stream)
    slavic = _slavic_centuries(stream)
    kind = _kinds(stream, words, slavic)
    triggered = np.zeros(stream.n_titles, dtype=bool)
    triggered[stream.title[kind == MAKES]] = True
    dates.by_name[:] = triggered
    figures = (kind == MAKES) & (stream.is_number | words.in_figures[stream.spelling]) | slavic
    dates.by_name[stream.title[figures]] = False
    if not triggered.any():
        return dates
    # only words of titles that may hold a date, and one place-holder a stretch of others
    inside = np.flatnonzero(triggered[stream.title])
    title = stream.title[inside]
    relevant = (kind[inside] > NOTHING) & (kind[inside] < FIGURE)
    # a number that says nothing is one to all of them
    empty_number = kind[inside] == FIGURE
    new_title = np.ones(len(inside), dtype=bool)
    new_title[1:] = title[1:] != title[:-1]
    other = ~relevant & ~empty_number
    begins_stretch = other.copy()
    # a stretch ends with its clause: what is marked there is not marked here
    parted = ((stream.before & CLAUSE) > 0)[inside]
    begins_stretch[1:] &= ~other[:-1] | new_title[1:] | parted[1:]
    relevant |= empty_number
    rows = np.flatnonzero(relevant | begins_stretch)
    shown = np.where(relevant[rows], stream.spelling[inside[rows]], OTHER_WORD)
    shown[empty_number[rows]] = EMPTY_NUMBER
    starts = np.flatnonzero(new_title[rows])
    remains = Remains(stream.spellings, shown, stream.gap[inside[rows]], starts)
    earliest, latest, dated = remains.read(settings.circa_years, settings.century)
    owner = title[rows[starts]]
    dates.is_dated[owner] = dated
    for values, present, found in (
        (dates.earliest, dates.has_earliest, earliest),
        (dates.latest, dates.has_latest, latest),
    ):
        present[owner] = found != NO_YEAR
        values[owner] = np.where(found != NO_YEAR, found, 0)
    return dates


def _slavic_centuries(stream: TokenStream) -> BoolArray:
    """Where a Roman numeral stands before "w." or "wieku" ("XIX w."), which makes a date of it."""
    found = np.zeros(len(stream), dtype=bool)
    numerals, centuries = stream.spelt(_NUMERALS), stream.spelt(_SLAVIC_CENTURIES)
    if numerals.any() and centuries.any():
        first = numerals[stream.spelling[:-1]] & centuries[stream.spelling[1:]]
        found[:-1] = first & (stream.title[:-1] == stream.title[1:])
    return found


@dataclass(frozen=True)
class _Words:
    """What each spelling of a stream may be to a date, (n spellings,) each; see `DateWord`."""

    kind: npt.NDArray[np.int8]
    fades: BoolArray
    in_figures: BoolArray
    place: IntArray
    parts: BoolArray
    digits: BoolArray  # figures and nothing else
    length: IntArray
    is_era: BoolArray  # "BC"

    @classmethod
    def of(cls, stream: TokenStream) -> _Words:
        spellings = pa.array(stream.spellings, pa.string())
        digits = pc.match_substring_regex(spellings, "^[0-9]+$").to_numpy(zero_copy_only=False)
        length = pc.binary_length(spellings).to_numpy(zero_copy_only=False)
        # figures of a sort, which are many, say the same; one alone may count kings
        told = np.zeros((len(spellings), len(DateWord._fields)), dtype=np.int32)
        told[:, 0] = MAKES
        each = np.flatnonzero(~digits | (length == 1))
        if len(each):
            told[each] = np.array([date_word(stream.spellings[i]) for i in each.tolist()])
        values = pc.cast(pc.if_else(digits & (length == _YEAR_FIGURES), spellings, "0"), pa.int32())
        told[values.to_numpy(zero_copy_only=False) > _LAST_YEAR, 0] = FIGURE
        told[digits & (length > _YEAR_FIGURES), 0] = FIGURE
        return cls(
            told[:, 0].astype(np.int8),
            told[:, 1] > 0,
            told[:, 2] > 0,
            told[:, 3],
            told[:, 4] > 0,
            digits,
            length,
            pc.is_in(spellings, value_set=_BEFORE_CHRIST).to_numpy(zero_copy_only=False),
        )


def _kinds(stream: TokenStream, words: _Words, slavic: BoolArray) -> npt.NDArray[np.int8]:
    """For each word NOTHING, BESIDE, MAKES or FIGURE: a number that says nothing by itself (a
    count, a size, a serial number).
    """
    kind = words.kind[stream.spelling]
    # "2400-2000 BC": there such years are none to come
    era = words.is_era[stream.spelling]
    b, c = (stream.spelt(frozenset({letter}))[stream.spelling] for letter in "bc")
    era[:-1] |= b[:-1] & c[1:] & (stream.title[1:] == stream.title[:-1])  # "B.C."
    if era.any():
        titles = np.zeros(stream.n_titles, dtype=bool)
        titles[stream.title[era]] = True
        future = words.digits & (words.kind == FIGURE) & (words.length == _YEAR_FIGURES)
        kind[future[stream.spelling] & titles[stream.title]] = MAKES
    kind[slavic] = MAKES
    no_phrase = _of_no_phrase(stream, words)
    vouch = stream.spelt(words_of_cultures())
    kind[no_phrase] = np.where(vouch[stream.spelling[no_phrase]], AFAR, NOTHING)
    kind[_of_accessions(stream)] = FIGURE
    kind[_of_initials(stream)] = NOTHING
    # "Kangxi six-character mark and of the period": the words behind a mark say whether it is of it
    marks = stream.spelt(_MARKS)
    core = (kind == MAKES) | marks[stream.spelling]
    kind[(kind == BESIDE) & (_distance(stream, core) > _REACH)] = NOTHING
    # "signed", "of", "circa" between words of nothing: what they are said of is no date
    weak = words.fades[stream.spelling] & (kind == BESIDE)
    kind[weak & _among_nothing(stream, weak, kind == NOTHING)] = NOTHING
    kind[kind == AFAR] = BESIDE
    # a small number between spaces or commas, with no word of dates after it
    small = (words.digits & (words.length < _YEAR_FIGURES))[stream.spelling]
    starts = stream.starts()
    last = np.append(starts[1:], True)
    open_before = np.where(stream.gap >= 0, words.parts[stream.gap], True)
    before = np.append(np.int8(NOTHING), kind[:-1])
    none_before = starts | (before == NOTHING) | (before == FIGURE)
    none_before |= np.append(False, stream.is_number[:-1])
    none_after = last | (np.append(kind[1:], np.int8(NOTHING)) == NOTHING)
    open_after = last | np.append(open_before[1:], True)
    alone = small & open_before & none_before & open_after & none_after
    kind[alone] = FIGURE
    return kind


def _of_no_phrase(stream: TokenStream, words: _Words) -> IntArray:
    """The places of words that mean a date in a phrase alone, where no phrase can be.

    The "gold" of "gold rush" is a word like any other in "gold ring".
    """
    table = pairs_of_phrases()
    word = words.place[stream.spelling]
    beside = table.pairs[word[:-1], word[1:]] & (stream.title[1:] == stream.title[:-1])
    alone = table.in_phrases_alone[word]
    alone[:-1] &= ~beside
    alone[1:] &= ~beside
    return np.flatnonzero(alone).astype(np.int32)


def _of_initials(stream: TokenStream) -> BoolArray:
    """Where "b" or "d" stands behind another letter: "J. B. 1788" tells of no birth."""
    short = stream.spelt(_BORN_OR_DIED)
    letter = stream.letters()
    found = short[stream.spelling]
    found[1:] &= letter[stream.spelling[:-1]] & (stream.title[1:] == stream.title[:-1])
    # "A.D. 400", "n.d.", "s.d."
    no_name = stream.spelt(_BEFORE_D)
    death = stream.spelt(frozenset({"d"}))
    found[1:] &= ~(no_name[stream.spelling[:-1]] & death[stream.spelling[1:]])
    found[:1] = False
    return found


def _of_accessions(stream: TokenStream) -> IntArray:
    """The words of numbers such as "1977-88/3." at the start of a title: a museum's, no dates."""
    first = stream.first[:-1][np.diff(stream.first) > _ACCESSION_WORDS]
    first = first[
        stream.is_number[first] & stream.is_number[first + 1] & stream.is_number[first + 2]
    ]
    held: list[int] = []
    for at in first.tolist():
        words = [stream.spellings[stream.spelling[at + step]] for step in range(_ACCESSION_WORDS)]
        gaps = [stream.spellings[stream.gap[at + step]] for step in range(1, _ACCESSION_WORDS)]
        if len(words[0]) == 4 and len(words[2]) < 4 and {*gaps} <= {"-", "/", "."}:
            held.extend(range(at, at + _ACCESSION_WORDS))
    return np.array(held, dtype=np.int32)


def _among_nothing(stream: TokenStream, weak: BoolArray, nothing: BoolArray) -> BoolArray:
    """Words of a run of weak ones with words of nothing, or an end of the title, at both sides."""
    n = len(stream)
    index = np.arange(n)
    before = np.maximum.accumulate(np.where(weak, -1, index))
    after = np.minimum.accumulate(np.where(weak, n, index)[::-1])[::-1]
    left = np.maximum(before, 0)
    right = np.minimum(after, n - 1)
    open_left = (before < 0) | (stream.title[left] != stream.title) | nothing[left]
    open_right = (after >= n) | (stream.title[right] != stream.title) | nothing[right]
    return open_left & open_right


def _distance(stream: TokenStream, core: BoolArray) -> IntArray:
    """For each word the number of words to the nearest core word of its title."""
    n = len(stream)
    index = np.arange(n)
    far = np.iinfo(np.int32).max
    before = np.maximum.accumulate(np.where(core, index, -1))
    after = np.minimum.accumulate(np.where(core, index, n)[::-1])[::-1]
    to_before = np.where(
        (before >= 0) & (stream.title[np.maximum(before, 0)] == stream.title), index - before, far
    )
    to_after = np.where(
        (after < n) & (stream.title[np.minimum(after, n - 1)] == stream.title), after - index, far
    )
    return np.minimum(to_before, to_after).astype(np.int32)


_BEFORE_CHRIST = pa.array(["bc", "bce"], pa.string())
_NUMERALS = frozenset(["xvi", "xvii", "xviii", "xix", "xx"])
_SLAVIC_CENTURIES = frozenset(["w", "wieku", "века", "век"])
