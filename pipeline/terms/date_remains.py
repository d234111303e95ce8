"""What is left of titles when they are cut down to words of dates, and how it is read.

What differs between many remains and changes nothing but the years is read once for all.
"""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.date_words import (
    MAKES,
    first_words_of_periods,
    names_of_periods,
    word_kind,
)
from pipeline.terms.dates import find_dates
from pipeline.terms.dates.early_years import without_peoples
from pipeline.terms.dates.lexer import DECADE_WORDS, PLACE_HOLDER
from pipeline.terms.dates.named import NamedPeriod

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
Parts = list[str | NamedPeriod]  # a text in pieces, names of periods as what they stand for
YearsRead = tuple[int | None, int | None, bool]  # earliest, latest, whether it is dated

OTHER_WORD, EMPTY_NUMBER = -1, -2  # words that say nothing to a date
NUMBER = "7"  # stands for counts, sizes and serial numbers
NO_YEAR = -32_000  # in arrays of years; no date is so early
# certainties under which a title is taken to state its own date of making
_TAKEN = frozenset({"stated", "circa", "uncertain", "partial"})
_FIRST_BARE_DECADE = 1920
_OF_THE_LAST_CENTURY = frozenset({"art", "deco", "mid", "modern", "space", "atomic", "retro"})
# names of a seat and of looks of that century: "ottoman, 70s", "Hollywood Regency, 60s"
_OF_A_LOOK = re.compile(
    r"ottoman|greek(?! revival)|hollywood regency|regency style|(?:french )?provincial"
)
_LATEST = 2035  # of "1800s", if it is the last century
_MOST_REMEMBERED = 500_000

_WORDS = re.compile(r"([^\w']+)")
_SAFE_PERIOD, _OTHER_PERIOD = "victorian", "empire"
MODEL_YEAR = 1851  # stands for any year that reads as it does
_MODEL = re.compile(rf"(?<![0-9]){MODEL_YEAR}(?![0-9a-z])")
_BEFORE_A_YEAR = ("", "c", "ca", "circa")
_MODELS = tuple(f"{before}{MODEL_YEAR}" for before in _BEFORE_A_YEAR)
_YEAR_WORD = r"^(?P<before>c|ca|circa)?(?P<year>1[5-9][0-9]{2})$"
_LAST_CODE = 10_000  # years have four figures
_PLAIN_YEAR = re.compile(r"(?<![0-9])(1[5-9])([0-9]{2})(?![0-9a-z])")
# a year that nothing can be joined to: of circa, or bare
_CIRCA_YEAR = r"\b(?:c|ca|circa)[. ]{0,2}"
_ENDS = r"(?=[,.;:)\"]{0,2}(?: |$))"
_APART = re.compile(rf"(?<![-/–.'])(?:{_CIRCA_YEAR}|\b)1[5-9][0-9]{{2}}{_ENDS}")
_OF_CIRCA = re.compile(rf"(?<![-/–.'])(?<!b\. ){_CIRCA_YEAR}1[5-9]")
_DECADE_BEFORE = re.compile(rf"\b(?:{'|'.join(sorted(DECADE_WORDS))})\b")
_ROMAN_FIGURES = re.compile(r"\b(?!c\b)[ivxlcdm]+\b")
# no figure but the year's and the place-holder's
_FIGURES = re.compile(
    r"[^0-9]*+(?:(?:(?<![0-9a-z])7(?![0-9a-z])|1[5-9][0-9]{2}(?![0-9a-z]))[^0-9]*+)*"
)


class Remains:
    """What is left of titles, as rows of words: n words of m titles."""

    def __init__(
        self,
        spellings: tuple[str, ...] | list[str],
        shown: IntArray,
        gap: IntArray,
        starts: npt.NDArray[np.int64],
    ) -> None:
        """Join the words.

        Args:
            spellings: of all words.
            shown: (n,) of each word its spelling; `OTHER_WORD` or `EMPTY_NUMBER` where that says
                nothing.
            gap: (n,) of each word the spelling of what stands before it; negative for nothing.
            starts: (m,) the first word of each title.
        """
        words = pa.array(spellings, pa.string())
        year, model = _plain_years(words)
        extended = pa.concat_arrays([words, pa.array([PLACE_HOLDER, NUMBER, *_MODELS])])
        end = len(words)
        shown = np.where(shown == OTHER_WORD, end, np.where(shown == EMPTY_NUMBER, end + 1, shown))
        # a title with one plain year shows the model's instead of it
        year, model = np.append(year, [0, 0]), np.append(model, [0, 0])
        dated = np.flatnonzero(year[shown] > 0)
        title = np.searchsorted(starts, dated, side="right") - 1
        single = np.bincount(title, minlength=len(starts))[title] == 1
        dated, title = dated[single], title[single]
        self._year = np.zeros(len(starts), dtype=np.int32)
        self._year[title] = year[shown[dated]]
        shown[dated] = end + 2 + model[shown[dated]]
        pieces = pc.binary_join_element_wise(
            pc.fill_null(_spelt(gap, words), ""), _spelt(shown, extended), ""
        )
        bounds = pa.array(np.append(starts, len(shown)), pa.int32())
        joined = pc.binary_join(pa.ListArray.from_arrays(bounds, pieces), "").dictionary_encode()
        self._distinct: list[str] = joined.dictionary.to_pylist()
        self._number = joined.indices.to_numpy(zero_copy_only=False)

    def read(self, circa_years: int, century: str) -> tuple[IntArray, IntArray, BoolArray]:
        """Of each title the earliest and the latest year, `NO_YEAR` for none, and whether it is
        dated: each (m,).

        Args:
            circa_years: years that circa opens to each side.
            century: "hundreds" or "trade", as for `find_dates`.
        """
        of_any = np.zeros(len(self._distinct), dtype=bool)
        read: list[YearsRead] = [(None, None, False)] * len(self._distinct)
        with_year = np.zeros(len(self._distinct), dtype=bool)
        with_year[self._number[self._year > 0]] = True
        for place, text in enumerate(self._distinct):
            if with_year[place]:
                found = _read_any_year(text, circa_years, century)
                if found is not None:
                    read[place], of_any[place] = found, True
            else:
                read[place] = read_remain(text, circa_years, century)
        earliest, latest, dated = (column[self._number] for column in _columns(read))
        moved = of_any[self._number] & (self._year > 0)
        for years in (earliest, latest):
            there = moved & (years != NO_YEAR)
            years[there] += self._year[there] - MODEL_YEAR
        # the year matters: each by itself
        own = np.flatnonzero((self._year > 0) & ~moved)
        if len(own):
            code = self._number[own].astype(np.int64) * _LAST_CODE + self._year[own]
            codes, row = np.unique(code, return_inverse=True)
            each = [
                read_remain(_of_year(self._distinct[place], year), circa_years, century)
                for place, year in (divmod(code, _LAST_CODE) for code in codes.tolist())
            ]
            for into, column in zip((earliest, latest, dated), _columns(each), strict=True):
                into[own] = column[row]
        return earliest, latest, dated


def _of_year(text: str, year: int) -> str:
    """The text with its own year again in the place of the model's."""
    return _MODEL.sub(str(year), text)


def _plain_years(words: pa.Array) -> tuple[IntArray, IntArray]:
    """Of each spelling the plain year that it is, or 0, and which of `_MODELS` stands for it.

    A year that ends in 00 may be a century and is none.
    """
    taken = pc.extract_regex(words, _YEAR_WORD)
    there = pc.is_valid(taken).to_numpy(zero_copy_only=False)
    year = np.zeros(len(words), dtype=np.int32)
    model = np.zeros(len(words), dtype=np.int32)
    found = taken.filter(pa.array(there))
    year[there] = pc.cast(pc.struct_field(found, "year"), pa.int32())
    before = pc.index_in(pc.struct_field(found, "before"), value_set=pa.array(_BEFORE_A_YEAR))
    model[there] = before
    year[year % 100 == 0] = 0
    return year, model


def _spelt(index: IntArray, words: pa.Array) -> pa.Array:
    """The words of places; null for a negative one."""
    places = pa.array(index, pa.int32(), mask=index < 0)
    return pa.DictionaryArray.from_arrays(places, words).cast(pa.string())


def _columns(read: list[YearsRead]) -> tuple[IntArray, IntArray, BoolArray]:
    """Readings as arrays, each (n,)."""
    earliest = np.array([NO_YEAR if one[0] is None else one[0] for one in read], dtype=np.int32)
    latest = np.array([NO_YEAR if one[1] is None else one[1] for one in read], dtype=np.int32)
    return earliest, latest, np.array([one[2] for one in read], dtype=bool)


def read_remain(text: str, circa_years: int, century: str) -> YearsRead:
    """Earliest and latest year and whether a date of making is there.

    What differs between many remains and changes nothing but the years is read once for all, of
    one plain year or of one name of a period.
    """
    if "edo" in text:
        text = without_peoples(text)
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
    text: str, parts: Parts, year: tuple[str, str], circa_years: int, century: str
) -> YearsRead:
    """A remain with one plain year and no other date but names of periods.

    It reads alike in every century and beside any period, which bears it out or not and changes
    no year: it is read for the nineteenth, beside one period of its sort, and moved. (A year
    ending in 00 may be a century, and is not read here.)
    """
    plain = _with_stand_ins(parts)
    read_as = int(f"18{year[1]}")
    found = _read_once(_PLAIN_YEAR.sub(str(read_as), plain), circa_years, century)
    if not _is_the_year(found, read_as, circa_years):
        return _read_once(text, circa_years, century)  # other words say the date
    shift = int("".join(year)) - read_as
    earliest, latest, dated = found
    return (
        None if earliest is None else earliest + shift,
        None if latest is None else latest + shift,
        dated,
    )


def _with_stand_ins(parts: Parts) -> str:
    """The text again, with one period of its sort for each."""
    return "".join(
        (_SAFE_PERIOD if part.in_titles else _OTHER_PERIOD)
        if isinstance(part, NamedPeriod)
        else part
        for part in parts
    )


def _is_the_year(found: YearsRead, year: int, circa_years: int) -> bool:
    """Whether what was read is that year, or circa that year, or nothing."""
    bounds = [bound for bound in found[:2] if bound is not None]
    return all(abs(bound - year) in (0, circa_years) for bound in bounds)


@lru_cache(maxsize=_MOST_REMEMBERED)
def _read_any_year(text: str, circa_years: int, century: str) -> YearsRead | None:
    """A remain of the year `MODEL_YEAR`, if any other year would read as it does; else None."""
    if not _FIGURES.fullmatch(text) or len(_PLAIN_YEAR.findall(text)) != 1:
        return None
    parts = _periods_apart(text)
    if parts is None:
        return None
    plain = _with_stand_ins(parts)
    named = any(isinstance(part, NamedPeriod) for part in parts)
    # beside a name a bare year may say the period's age or something else, as it lies in it or not
    apart = _APART.search(plain) and (not named or _OF_CIRCA.search(plain))
    if not apart or _ROMAN_FIGURES.search(plain) or _DECADE_BEFORE.search(plain):
        return None
    found = _read_once(plain, circa_years, century)
    return found if _is_the_year(found, MODEL_YEAR, circa_years) else None


def _read_by_name(text: str, parts: Parts, circa_years: int, century: str) -> YearsRead:
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
    for phrases in names_of_periods().values():
        for words, period in phrases:
            if words == (period.label,) and period.label.isalpha() and period.label.isascii():
                found.setdefault(_sort_of(period), period)
    return found


def _periods_apart(text: str) -> Parts | None:
    """The text in pieces, with each name of a period as what it stands for.

    None where another word makes a date ("seventeenth century"), or names stand for one span.
    """
    named = names_of_periods()
    words = _WORDS.split(text)  # words at even places, what stands between them at odd ones
    out: Parts = []
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
        elif word != NUMBER and word_kind(word) == MAKES and not _PLAIN_YEAR.search(word):
            return None
        else:
            out.append(word)
            at += 1
        if at < len(words):
            out.append(words[at])
            at += 1
    return out


def _names_an_earlier_period(text: str) -> bool:
    """ "Victorian chair, legs replaced 50s": the name tells the age, the decade something else."""
    text = _OF_A_LOOK.sub("", text.lower())
    names = first_words_of_periods() - _OF_THE_LAST_CENTURY
    return not names.isdisjoint(re.findall(r"[^\W\d_]+", text))


@lru_cache(maxsize=_MOST_REMEMBERED)
def _read_once(text: str, circa_years: int, century: str) -> YearsRead:
    reading = find_dates(text, circa_years=circa_years, century=century)
    if reading.certainty not in _TAKEN:
        # "teak stool, 60s": a seller means those of the last century
        of_last = (
            reading.rule in ("decade", "range", "alternatives")
            and (reading.earliest or 0) >= _FIRST_BARE_DECADE
        )
        of_last &= not _names_an_earlier_period(text)
        # "turned bowl, 1800s": hardly those ten years alone
        of_last |= reading.rule == "hundreds" and (reading.latest or _LATEST) < _FIRST_BARE_DECADE
        if reading.certainty != "ambiguous" or not of_last:
            return None, None, reading.certainty == "ambiguous"
    return reading.earliest, reading.latest, reading.is_date
