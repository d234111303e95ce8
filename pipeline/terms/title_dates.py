"""Years of making from titles, without reading a million titles one by one.

Only words that can belong to a date matter. Each title is cut down to them, with a place-holder
for each stretch of others; the distinct remains, a small share of the titles, are read once each.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.settings import TermSettings
from pipeline.terms.dates import find_dates
from pipeline.terms.dates.lexer import PLACE_HOLDER, lex
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
from pipeline.terms.dates.named import NamedPeriod, load_named
from pipeline.terms.dates.phrases import PHRASES
from pipeline.terms.dates.scan import REACHES_ON
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# certainties under which a title is taken to state its own date of making
_TAKEN = frozenset({"stated", "circa", "uncertain", "partial"})
_REACH = 5  # words to a core word: "third quarter of the nineteenth century"
_FIRST_BARE_DECADE = 1920
_OF_THE_LAST_CENTURY = frozenset({"art", "deco", "mid", "modern", "space", "atomic", "retro"})
# names of a seat and of looks of that century: "ottoman, 70s", "Hollywood Regency, 60s"
_OF_A_LOOK = re.compile(r"ottoman|hollywood regency|regency style|(?:french )?provincial")
_LAST_YEAR = 2035  # greater numbers of four digits are no years
_ACCESSION_WORDS = 3
_NUMBER = "7"  # stands for counts, sizes and serial numbers
_MOST_REMEMBERED = 500_000


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
    slavic = _slavic_centuries(stream)
    kind = _kinds(stream, slavic)
    triggered = np.zeros(stream.n_titles, dtype=bool)
    triggered[stream.title[kind == 2]] = True
    dates.by_name[:] = triggered
    figures = (kind == 2) & stream.is_number
    figures |= (kind == 2) & _words_that(_in_figures, stream)[stream.spelling]
    figures |= slavic
    dates.by_name[stream.title[figures]] = False
    if not triggered.any():
        return dates
    # only words of titles that may hold a date, and one place-holder a stretch of others
    inside = np.flatnonzero(triggered[stream.title])
    title = stream.title[inside]
    relevant = (kind[inside] > 0) & (kind[inside] < 3)
    # a number that says nothing is one to all of them
    empty_number = kind[inside] == 3
    new_title = np.ones(len(inside), dtype=bool)
    new_title[1:] = title[1:] != title[:-1]
    other = ~relevant & ~empty_number
    begins_stretch = other.copy()
    # a stretch ends with its clause: what is marked there is not marked here
    parted = ((stream.before & CLAUSE) > 0)[inside]
    begins_stretch[1:] &= ~other[:-1] | new_title[1:] | parted[1:]
    relevant |= empty_number
    rows = np.flatnonzero(relevant | begins_stretch)
    words = pa.array(stream.spellings, pa.string())
    shown = pa.DictionaryArray.from_arrays(
        pa.array(
            np.where(
                empty_number[rows],
                len(words) + 1,
                np.where(relevant[rows], stream.spelling[inside[rows]], len(words)),
            ),
            pa.int32(),
        ),
        pa.concat_arrays([words, pa.array([PLACE_HOLDER, _NUMBER])]),
    ).cast(pa.string())
    gap = stream.gap[inside[rows]]
    parting = pa.DictionaryArray.from_arrays(pa.array(gap, pa.int32(), mask=gap < 0), words).cast(
        pa.string()
    )
    pieces = pc.binary_join_element_wise(pc.fill_null(parting, ""), shown, "")
    starts = np.flatnonzero(new_title[rows])
    remains = pc.binary_join(
        pa.ListArray.from_arrays(pa.array(np.append(starts, len(rows)), pa.int32()), pieces), ""
    ).dictionary_encode()
    read = [
        _read(text, settings.circa_years, settings.century)
        for text in remains.dictionary.to_pylist()
    ]
    number = remains.indices.to_numpy(zero_copy_only=False)
    owner = title[rows[starts]]
    dates.is_dated[owner] = np.array([one[2] for one in read], dtype=bool)[number]
    for position, (values, present) in enumerate(
        ((dates.earliest, dates.has_earliest), (dates.latest, dates.has_latest))
    ):
        found = np.array([one[position] is not None for one in read], dtype=bool)
        years = np.array([one[position] or 0 for one in read], dtype=np.int32)
        values[owner] = years[number]
        present[owner] = found[number]
    return dates


def _slavic_centuries(stream: TokenStream) -> BoolArray:
    """Where a Roman numeral stands before "w." or "wieku" ("XIX w."), which makes a date of it."""
    found = np.zeros(len(stream), dtype=bool)
    number = {spelling: place for place, spelling in enumerate(stream.spellings)}
    numerals = [number[one] for one in _NUMERALS if one in number]
    centuries = [number[one] for one in ("w", "wieku") if one in number]
    if numerals and centuries:
        first = np.isin(stream.spelling[:-1], numerals) & np.isin(stream.spelling[1:], centuries)
        found[:-1] = first & (stream.title[:-1] == stream.title[1:])
    return found


def _kinds(stream: TokenStream, slavic: BoolArray) -> npt.NDArray[np.int8]:
    """For each word: 0 no part of a date, 1 may be part of one, 2 may make a date, 3 a number
    that says nothing by itself (a count, a size, a serial number).
    """
    spellings = pa.array(stream.spellings, pa.string())
    digits = _are_digits(stream)
    length = pc.binary_length(spellings).to_numpy(zero_copy_only=False)
    kinds = np.full(len(spellings), 2, dtype=np.int8)
    words = np.flatnonzero(~digits)
    kinds[words] = [_word_kind(stream.spellings[i]) for i in words.tolist()]
    values = pc.cast(pc.if_else((digits & (length == 4)), spellings, "0"), pa.int32())
    future = values.to_numpy(zero_copy_only=False) > _LAST_YEAR
    kinds[(digits & (length >= 5)) | future] = 3
    small = (digits & (length <= 3))[stream.spelling]
    kind = kinds[stream.spelling]
    # "2400-2000 BC": there such years are none to come
    era = pc.is_in(spellings, value_set=_BEFORE_CHRIST).to_numpy(zero_copy_only=False)
    era = era[stream.spelling]
    if era.any():
        titles = np.zeros(stream.n_titles, dtype=bool)
        titles[stream.title[era]] = True
        kind[(future & (length == 4))[stream.spelling] & titles[stream.title]] = 2
    kind[slavic] = 2
    kind[_of_accessions(stream)] = 3
    kind[(kind == 1) & (_distance(stream, kind == 2) > _REACH)] = 0
    # "signed", "of", "circa" between words of nothing: what they are said of is no date
    fades = _words_that(_fades, stream)[stream.spelling]
    starts = stream.starts()
    last = np.append(starts[1:], True)
    weak = fades & (kind == 1)
    kind[weak & _among_nothing(stream, weak, kind == 0)] = 0
    kind[kind == 4] = 1
    # a small number between spaces or commas, with no word of dates after it
    plain = _words_that(_is_plain_gap, stream)
    open_before = np.where(stream.gap >= 0, plain[stream.gap], True)
    before = np.append(np.int8(0), kind[:-1])
    none_before = starts | (before == 0) | (before == 3) | np.append(False, stream.is_number[:-1])
    none_after = last | (np.append(kind[1:], np.int8(0)) == 0)
    open_after = last | np.append(open_before[1:], True)
    alone = small & open_before & none_before & open_after & none_after
    kind[alone] = 3
    return kind


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


def _are_digits(stream: TokenStream) -> BoolArray:
    spellings = pa.array(stream.spellings, pa.string())
    found: BoolArray = pc.match_substring_regex(spellings, "^[0-9]+$").to_numpy(
        zero_copy_only=False
    )
    return found


def _words_that(test: Callable[[str], bool], stream: TokenStream) -> BoolArray:
    """For each spelling whether it passes a test; figures alone, which are many, never do."""
    passed = np.zeros(len(stream.spellings), dtype=bool)
    words = np.flatnonzero(~_are_digits(stream))
    passed[words] = [test(stream.spellings[i]) for i in words.tolist()]
    return passed


def _is_plain_gap(text: str) -> bool:
    return text.strip() in ("", ",", ";", ":")


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


@lru_cache(maxsize=_MOST_REMEMBERED)
def _word_kind(spelling: str) -> int:
    if not spelling or not (spelling[0].isalnum() or spelling[0] >= "\x80"):
        return 0
    if any(character.isdigit() for character in spelling):
        return 2
    kinds = {token.kind for token in lex(spelling)}
    if kinds & _SPEAK_FROM_AFAR:
        return 4
    if kinds - {WORD, NUM, ROMAN}:
        return 2 if NAMED in kinds or kinds & _TRIGGERS else 1
    first, words = _phrase_words()
    if spelling in first:
        return 2
    return 1 if kinds - {WORD} or spelling in words or spelling in _BESIDE_A_CENTURY else 0


@lru_cache(maxsize=_MOST_REMEMBERED)
def _fades(spelling: str) -> bool:
    """Whether a word means something to a date only where it stands beside one."""
    if _word_kind(spelling) != 1:
        return False
    # "labelled Cremona 1721", "dug from bog 1887": these reach over a word
    return all(t.kind in _BESIDE_ONLY and t.value not in REACHES_ON for t in lex(spelling))


@lru_cache(maxsize=_MOST_REMEMBERED)
def _in_figures(spelling: str) -> bool:
    """Whether a word gives a date of its own, such as a year or "century"."""
    return _word_kind(spelling) == 2 and spelling not in _phrase_words()[0]


@lru_cache(maxsize=1)
def _named() -> Mapping[str, Sequence[tuple[tuple[str, ...], NamedPeriod]]]:
    return load_named()


@lru_cache(maxsize=1)
def _phrase_words() -> tuple[frozenset[str], frozenset[str]]:
    """Words that the names of periods start with, and all words of any date phrase."""
    named = _named()
    words: set[str] = set()
    for table in (PHRASES, named):
        for first, items in table.items():
            words.add(first)
            for item in items:
                words.update(item[0])
    return frozenset(named), frozenset(words)


# "reproduction" anywhere in a title says that its date is no date of making
_SPEAK_FROM_AFAR = frozenset({STYLE, STYLE_OF, REPRO, MARK, LATER_PRINT, LATER_WORK})
_BEFORE_CHRIST = pa.array(["bc", "bce"], pa.string())
_NUMERALS = ("xvi", "xvii", "xviii", "xix", "xx")
# a year of the Hijra, "dated 1690 but later", and Polish parts of a century
_BESIDE_A_CENTURY = frozenset(
    {
        "ah", "but", "though", "although", "albeit", "pocz", "poczatek", "poczatku", "konca",
        "koniec", "pol", "polowa", "polowy", "lata", "laty", "przelom", "przelomu", "wieku",
    }
)  # fmt: skip
_BESIDE_ONLY = frozenset({NOISE, ROLE, PART, SEASON, CIRCA, REF, TO, AND, OR, FROM, WORD})
_TRIGGERS = frozenset(
    {"century", "century_num", "decade", "tens", "hundreds", "teens", "roman_ord", "named"}
)


def _read(text: str, circa_years: int, century: str) -> tuple[int | None, int | None, bool]:
    """Earliest and latest year and whether a date of making is there.

    What differs between many remains and changes nothing but the years is read once for all, of
    one plain year or of one name of a period.
    """
    years = _PLAIN_YEAR.findall(text)
    if not _FIGURES.fullmatch(text) or len(years) > 1:
        return _read_once(text, circa_years, century)
    parts = _periods_apart(text)
    if parts is None or (years and years[0][1] == "00"):
        return _read_once(text, circa_years, century)
    if years:
        return _read_beside_a_year(text, parts, years[0], circa_years, century)
    return _read_by_name(text, parts, circa_years, century)


def _read_beside_a_year(
    text: str, parts: list[str | NamedPeriod], year: tuple[str, str], circa_years: int, century: str
) -> tuple[int | None, int | None, bool]:
    """A remain with one plain year and no other date but names of periods.

    It reads alike in every century and beside any period, which bears it out or not and changes
    no year: it is read for the nineteenth, beside one period of its sort, and moved. (A year
    ending in 00 may be a century, and is not read here.) A year after a word of circa, with
    nothing that says anything beside it, is read as one of them all.
    """
    plain = "".join(
        (_SAFE_PERIOD if part.in_titles else _OTHER_PERIOD)
        if isinstance(part, NamedPeriod)
        else part
        for part in parts
    )
    of_century = year[1]
    if _APART.search(plain) and not _ROMAN_FIGURES.search(plain):
        of_century = _ANY_YEAR
    read_as = int(f"18{of_century}")
    earliest, latest, dated = _read_once(_PLAIN_YEAR.sub(str(read_as), plain), circa_years, century)
    shift = int("".join(year)) - read_as
    bounds = [bound for bound in (earliest, latest) if bound is not None]
    if any(abs(bound - read_as) not in (0, circa_years) for bound in bounds):
        return _read_once(text, circa_years, century)  # not the year but other words say the date
    return (
        None if earliest is None else earliest + shift,
        None if latest is None else latest + shift,
        dated,
    )


def _read_by_name(
    text: str, parts: list[str | NamedPeriod], circa_years: int, century: str
) -> tuple[int | None, int | None, bool]:
    """A remain with nothing but one name of a period: read with another name of its sort."""
    names = [part for part in parts if isinstance(part, NamedPeriod)]
    if len(names) != 1 or not text.isascii():
        return _read_once(text, circa_years, century)
    (period,) = names
    stand_in = _stand_ins().get(_sort_of(period))
    if stand_in is None:
        return _read_once(text, circa_years, century)
    plain = "".join(stand_in.label if isinstance(part, NamedPeriod) else part for part in parts)
    earliest, latest, dated = _read_once(plain, circa_years, century)
    if (earliest, latest) == (None, None):
        return None, None, dated
    if (earliest, latest) == (stand_in.earliest, stand_in.latest):
        return period.earliest, period.latest, dated
    return _read_once(text, circa_years, century)  # "early Victorian"


def _sort_of(period: NamedPeriod) -> tuple[bool, str, bool, bool]:
    """What of a period, besides its years, decides how its name is read."""
    return (period.in_titles, period.kind, period.earliest is None, period.latest is None)


@lru_cache(maxsize=1)
def _stand_ins() -> dict[tuple[bool, str, bool, bool], NamedPeriod]:
    """Of each sort one period whose label is a single word."""
    found: dict[tuple[bool, str, bool, bool], NamedPeriod] = {}
    for phrases in _named().values():
        for words, period in phrases:
            if words == (period.label,) and period.label.isalpha() and period.label.isascii():
                found.setdefault(_sort_of(period), period)
    return found


def _periods_apart(text: str) -> list[str | NamedPeriod] | None:
    """The text in pieces, with each name of a period as what it stands for.

    None where another word makes a date ("seventeenth century"), or names stand for one span.
    """
    named = _named()
    words = _WORDS.split(text)  # words at even places, what stands between them at odd ones
    out: list[str | NamedPeriod] = []
    at = 0
    while at < len(words):
        word = words[at]
        longest = 0
        meant: NamedPeriod | None = None
        for phrase, period in named.get(word, ()):
            end = at + 2 * len(phrase)
            apart = words[at + 1 : end - 1 : 2]
            stands = tuple(words[at:end:2]) == phrase and all(gap == " " for gap in apart)
            if stands and len(phrase) > longest:
                longest, meant = len(phrase), period
        if meant is not None:
            beside = words[max(at - 1, 0) : at] + words[at + 2 * longest - 1 :][:1]
            if any(gap.strip(" ,;:.") for gap in beside):
                return None  # "Bunka-Bunsei" is one span
            out.append(meant)
            at += 2 * longest - 1
        elif word != _NUMBER and _word_kind(word) == 2 and not _PLAIN_YEAR.search(word):
            return None
        else:
            out.append(word)
            at += 1
        if at < len(words):
            out.append(words[at])
            at += 1
    return out


_WORDS = re.compile(r"([^\w']+)")
_SAFE_PERIOD, _OTHER_PERIOD = "victorian", "empire"
_PLAIN_YEAR = re.compile(r"(?<![0-9])(1[6-9])([0-9]{2})(?![0-9a-z])")
# a year of circa between place-holders or ends; one ending in 0 may be more than a year
_APART = re.compile(
    rf"(?:^|{PLACE_HOLDER} )(?:c|ca|circa)[. ]{{0,2}}1[6-9][0-9][1-9](?= {PLACE_HOLDER}|(?: 7)?$)"
)
_ROMAN_FIGURES = re.compile(r"\b(?!c\b)[ivxlcdm]+\b")
_ANY_YEAR = "51"
# no figure but the year's and the place-holder's
_FIGURES = re.compile(
    r"[^0-9]*+(?:(?:(?<![0-9a-z])7(?![0-9a-z])|1[6-9][0-9]{2}(?![0-9a-z]))[^0-9]*+)*"
)


def _names_an_earlier_period(text: str) -> bool:
    """ "Victorian chair, legs replaced 50s": the name tells the age, the decade something else."""
    text = _OF_A_LOOK.sub("", text.lower())
    names = _phrase_words()[0] - _OF_THE_LAST_CENTURY
    return not names.isdisjoint(re.findall(r"[^\W\d_]+", text))


@lru_cache(maxsize=_MOST_REMEMBERED)
def _read_once(text: str, circa_years: int, century: str) -> tuple[int | None, int | None, bool]:
    reading = find_dates(text, circa_years=circa_years, century=century)
    if reading.certainty not in _TAKEN:
        # "teak stool, 60s": a seller means those of the last century
        of_last = (
            reading.rule in ("decade", "range", "alternatives")
            and (reading.earliest or 0) >= _FIRST_BARE_DECADE
        )
        of_last &= not _names_an_earlier_period(text)
        # "turned bowl, 1800s": hardly those ten years alone
        of_last |= (
            reading.rule == "hundreds" and (reading.latest or _LAST_YEAR) < _FIRST_BARE_DECADE
        )
        if reading.certainty != "ambiguous" or not of_last:
            return None, None, reading.certainty == "ambiguous"
    return reading.earliest, reading.latest, reading.is_date
