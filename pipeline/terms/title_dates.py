"""Years of making from titles, without reading a million titles one by one.

Only words that can belong to a date matter. Each title is cut down to them, with a place-holder
for each stretch of others; the distinct remains, a small share of the titles, are read once each.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.settings import TermSettings
from pipeline.terms.dates import find_dates
from pipeline.terms.dates.lexer import lex
from pipeline.terms.dates.lexicon import NAMED, NUM, ROMAN, WORD
from pipeline.terms.dates.named import load_named
from pipeline.terms.dates.phrases import PHRASES
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# certainties under which a title is taken to state its own date of making
_TAKEN = frozenset({"stated", "circa", "uncertain", "partial"})
_OTHER = "zz"  # stands for words that are no part of a date
_MOST_REMEMBERED = 500_000


@dataclass(frozen=True)
class TitleDates:
    """Earliest and latest year of making of each title, with their presence."""

    earliest: IntArray
    latest: IntArray
    has_earliest: BoolArray
    has_latest: BoolArray
    is_dated: BoolArray  # a date of making is there, even one of two readings

    @classmethod
    def nothing(cls, n_titles: int) -> TitleDates:
        none = np.zeros(n_titles, dtype=bool)
        zero = np.zeros(n_titles, dtype=np.int32)
        return cls(zero, zero.copy(), none, none.copy(), none.copy())


def title_dates(stream: TokenStream, settings: TermSettings) -> TitleDates:
    """Dates of making found in titles. A period's name alone counts with the years it has."""
    dates = TitleDates.nothing(stream.n_titles)
    if not len(stream):
        return dates
    kinds = np.array([_word_kind(one) for one in stream.spellings], dtype=np.int8)
    kind = kinds[stream.spelling]
    triggered = np.zeros(stream.n_titles, dtype=bool)
    triggered[stream.title[kind == 2]] = True
    if not triggered.any():
        return dates
    # only words of titles that may hold a date, and one place-holder a stretch of others
    inside = np.flatnonzero(triggered[stream.title])
    title = stream.title[inside]
    relevant = kind[inside] > 0
    new_title = np.ones(len(inside), dtype=bool)
    new_title[1:] = title[1:] != title[:-1]
    begins_stretch = ~relevant.copy()
    begins_stretch[1:] &= relevant[:-1] | new_title[1:]
    rows = np.flatnonzero(relevant | begins_stretch)
    words = pa.array(stream.spellings, pa.string())
    shown = pa.DictionaryArray.from_arrays(
        pa.array(
            np.where(relevant[rows], stream.spelling[inside[rows]], len(words)), pa.int32()
        ),
        pa.concat_arrays([words, pa.array([_OTHER])]),
    ).cast(pa.string())
    gap = stream.gap[inside[rows]]
    parting = pa.DictionaryArray.from_arrays(
        pa.array(gap, pa.int32(), mask=gap < 0), words
    ).cast(pa.string())
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


@lru_cache(maxsize=_MOST_REMEMBERED)
def _word_kind(spelling: str) -> int:
    """0: no part of a date; 1: may be part of one; 2: may make a title one with a date."""
    if not spelling or not (spelling[0].isalnum() or spelling[0] >= "\x80"):
        return 0
    if any(character.isdigit() for character in spelling):
        return 2
    kinds = {token.kind for token in lex(spelling)}
    if kinds - {WORD, NUM, ROMAN}:
        return 2 if NAMED in kinds or kinds & _TRIGGERS else 1
    first, words = _phrase_words()
    if spelling in first:
        return 2
    return 1 if kinds - {WORD} or spelling in words else 0


@lru_cache(maxsize=1)
def _phrase_words() -> tuple[frozenset[str], frozenset[str]]:
    """Words that the names of periods start with, and all words of any date phrase."""
    named = load_named()
    words: set[str] = set()
    for table in (PHRASES, named):
        for first, items in table.items():
            words.add(first)
            for item in items:
                words.update(item[0])
    return frozenset(named), frozenset(words)


_TRIGGERS = frozenset({"century", "decade", "tens", "hundreds", "teens", "roman_ord", "named"})


@lru_cache(maxsize=_MOST_REMEMBERED)
def _read(
    text: str, circa_years: int, century: str
) -> tuple[int | None, int | None, bool]:
    reading = find_dates(text, circa_years=circa_years, century=century)
    if reading.certainty not in _TAKEN:
        return None, None, reading.certainty == "ambiguous"
    return reading.earliest, reading.latest, reading.is_date
