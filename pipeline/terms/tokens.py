"""Titles as one flat row of words, with what stands between them.

A million titles are cut into words by array operations on their bytes: no Python per title.
Words are looked up once per distinct spelling; everything after works on whole numbers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.short_forms import SHORT_FORMS

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

# What a run of characters between two words says.
HYPHEN = np.uint8(1)
CLAUSE = np.uint8(2)
SLASH = np.uint8(4)
FULL_STOP = np.uint8(8)
BRACKET = np.uint8(16)
QUESTION = np.uint8(32)

# What quotation marks in such a run do; an inch's mark opens none.
OPENS_QUOTATION = np.uint8(1)
CLOSES_QUOTATION = np.uint8(2)
_OPENING = re.compile(r'(?:^|[\s(\[,;:])"$')

_WORD_BYTES = np.zeros(256, dtype=bool)
_WORD_BYTES[ord("0") : ord("9") + 1] = True
_WORD_BYTES[ord("a") : ord("z") + 1] = True
_WORD_BYTES[0x80:] = True
_CLAUSE_CHARACTERS = frozenset(",;:|()[]{}!?\n\r\t~=<>")
_STROKE, _STROKES_OF_FIELDS = " / ", 3
# long numbers are nobody's words, and most of what differs between titles: one spelling for all
SERIAL_NUMBER = "00000"
_SHORTEST_PARTICIPLE = 4  # letters; "bed", "shed"
_ABBREVIATION = 4  # letters at most, and no vowel: "blk.", "hndl."
_YEAR = "^[0-9]{3,4}s?$"
_SHORTENED = pa.array(sorted(SHORT_FORMS), pa.large_string())


@dataclass(frozen=True)
class TokenStream:
    """Words of many titles, in order.

    Attributes:
        n_titles: number of titles, empty ones included.
        questioned: titles that end in a question mark (n_titles).
        first: index of the first word of each title, and the end of the last (n_titles + 1).
        title: title of each word.
        word: number of the word in the lexicon, 0 for a word it does not hold.
        score: 0 to 100, how surely the word was read (100: as spelt).
        before: flags of what stands before the word, within its title.
        quotes: flags of the quotation marks before the word, within its title.
        clause: number of the clause; differs between titles.
        gap: index in `spellings` of what stands before the word, -1 for nothing.
        is_number: whether the word starts with a digit.
        spelling: index of the word's spelling in `spellings`.
        spellings: the distinct spellings of this stream, parting runs among them.
    """

    n_titles: int
    questioned: BoolArray
    first: npt.NDArray[np.int64]
    title: IntArray
    word: IntArray
    score: FloatArray
    before: npt.NDArray[np.uint8]
    quotes: npt.NDArray[np.uint8]
    clause: IntArray
    gap: IntArray
    is_number: BoolArray
    spelling: IntArray
    spellings: list[str]

    def __len__(self) -> int:
        return len(self.word)

    def starts(self) -> BoolArray:
        """Whether a word is the first of its title; not to be written to."""
        return self._starts

    def closes_clause(self, end: IntArray) -> BoolArray:
        """Whether a run of words that ends before `end` is the last of its clause."""
        following = np.minimum(end, len(self) - 1)
        closes: BoolArray = (end >= len(self)) | (self.clause[following] != self.clause[end - 1])
        return closes

    def opens_clause(self, start: IntArray) -> BoolArray:
        """Whether a word is the first of its clause."""
        opens: BoolArray = (start == 0) | (self.clause[start] != self.clause[start - 1])
        return opens

    def spellings_that(self, name: str, test: Callable[[str], bool]) -> BoolArray:
        """For each spelling whether it passes a test, (n spellings,); not to be written to.

        Args:
            name: of the test, which is made once a stream under it.
        """
        if name not in self._tests:
            self._tests[name] = np.array([test(one) for one in self.spellings] or [False])
        return self._tests[name]

    def participles(self) -> BoolArray:
        """For each spelling whether it looks like a participle: "painted", no "bed"."""
        return self.spellings_that(
            "a participle",
            lambda spelling: len(spelling) > _SHORTEST_PARTICIPLE and spelling.endswith("ed"),
        )

    def in_s(self) -> BoolArray:
        """For each spelling whether it ends in s, as plurals do; not to be written to."""
        return self.spellings_that("ends in s", lambda spelling: spelling.endswith("s"))

    def letters(self) -> BoolArray:
        """For each spelling whether it is a single letter; not to be written to."""
        return self.spellings_that("a letter", lambda one: len(one) == 1 and one.isalpha())

    def spelt(self, words: frozenset[str]) -> BoolArray:
        """For each spelling whether it is one of the words, as they stand in the text."""
        flags = np.zeros(max(len(self.spellings), 1), dtype=bool)
        flags[[self._places[word] for word in words if word in self._places]] = True
        return flags

    def figures(self) -> npt.NDArray[np.int8]:
        """For each spelling of nothing but figures how many they are, else 0."""
        return self._figures

    def clause_first(self) -> IntArray:
        """The first word of each clause, (n clauses,); not to be written to."""
        return self._clause_first

    def first_of_clause(self, at: npt.NDArray[np.integer[Any]]) -> IntArray:
        """The first word of the clause of each word of `at`."""
        first = self._clause_first
        opening: IntArray = first[np.searchsorted(first, at, side="right") - 1]
        return opening

    @cached_property
    def _places(self) -> dict[str, int]:
        return {spelling: place for place, spelling in enumerate(self.spellings)}

    @cached_property
    def _figures(self) -> npt.NDArray[np.int8]:
        lengths = [min(len(one), 100) if one.isdigit() else 0 for one in self.spellings] or [0]
        return np.array(lengths, dtype=np.int8)

    @cached_property
    def _clause_first(self) -> IntArray:
        first = np.flatnonzero(np.diff(self.clause, prepend=-1)).astype(np.int32)
        first.setflags(write=False)
        return first

    @cached_property
    def _tests(self) -> dict[str, BoolArray]:
        return {}

    @cached_property
    def _starts(self) -> BoolArray:
        marks = np.zeros(len(self), dtype=bool)
        begin = self.first[:-1][self.first[:-1] < self.first[1:]]
        marks[begin] = True
        marks.setflags(write=False)
        return marks


def tokenise(
    folded: pa.LargeStringArray, look_up: Callable[[list[str]], tuple[IntArray, FloatArray]]
) -> TokenStream:
    """Cut folded titles (lower case, see `text.fold_texts`) into words.

    Args:
        folded: no nulls; "&" already spelt out where it is to be a word.
        look_up: gives word numbers and scores for a list of distinct spellings.
    """
    n_titles = len(folded)
    _, offset_buffer, data_buffer = folded.buffers()
    skipped = folded.offset
    offsets = (
        np.frombuffer(offset_buffer, dtype=np.int64, count=skipped + n_titles + 1)[skipped:]
        if offset_buffer is not None and n_titles
        else np.zeros(n_titles + 1, dtype=np.int64)
    )
    begin, end = int(offsets[0]), int(offsets[-1])
    if end == begin:
        return _empty(n_titles)
    data = np.frombuffer(data_buffer, dtype=np.uint8, count=end)
    is_word_byte = _WORD_BYTES[data[begin:end]]
    local = offsets - begin
    marks = np.empty(end - begin, dtype=bool)
    marks[0] = True
    np.not_equal(is_word_byte[1:], is_word_byte[:-1], out=marks[1:])
    inner = local[:-1]
    marks[inner[inner < len(marks)]] = True
    cuts = np.flatnonzero(marks)
    ends = np.append(cuts, len(marks))
    is_word = is_word_byte[cuts]
    serial = _serial_numbers(data[begin:end], cuts, ends, is_word)
    runs = pa.LargeStringArray.from_buffers(
        len(cuts),
        pa.py_buffer(ends + begin),
        data_buffer,
        pa.py_buffer(np.packbits(~serial, bitorder="little")),
        int(serial.sum()),
    )
    encoded = runs.dictionary_encode()
    distinct = pa.concat_arrays([encoded.dictionary, pa.array([SERIAL_NUMBER], pa.large_string())])
    codes = encoded.indices.fill_null(len(distinct) - 1).to_numpy(zero_copy_only=False)
    spellings: list[str] = distinct.to_pylist()

    run_first = np.searchsorted(cuts, local)
    run_title = np.repeat(np.arange(n_titles, dtype=np.int32), np.diff(run_first))
    at = np.flatnonzero(is_word)
    title = run_title[at]
    initial = data[cuts[at] + begin]
    is_digit = (initial >= ord("0")) & (initial <= ord("9"))
    first = np.searchsorted(at, run_first)

    flags = np.zeros(len(spellings), dtype=np.uint8)
    marked = np.zeros(len(spellings), dtype=np.uint8)
    for code in np.unique(codes[~is_word]):
        flags[code] = _flag(spellings[code])
        marked[code] = _quotation_marks(spellings[code])
    before = np.zeros(len(at), dtype=np.uint8)
    quotes = np.zeros(len(at), dtype=np.uint8)
    gap = np.full(len(at), -1, dtype=np.int32)
    inner_words = np.flatnonzero(at > 0)
    run = at[inner_words] - 1
    parted = (run_title[run] == title[inner_words]) & ~is_word[run]
    gap[inner_words[parted]] = codes[run[parted]]
    before[inner_words[parted]] = flags[codes[run[parted]]]
    before |= _strokes_between_fields(spellings, gap, title, n_titles)
    quotes[inner_words[parted]] = marked[codes[run[parted]]]

    questioned = np.zeros(n_titles, dtype=bool)
    filled = run_first[1:] > run_first[:-1]
    last_run = run_first[1:][filled] - 1
    questioned[filled] = ~is_word[last_run] & ((flags[codes[last_run]] & QUESTION) > 0)

    wordlike = np.zeros(len(spellings), dtype=bool)
    wordlike[codes[is_word & ~serial]] = True
    asked = np.flatnonzero(wordlike)
    numbers = np.zeros(len(spellings), dtype=np.int32)
    scores = np.full(len(spellings), 100, dtype=np.float32)
    numbers[asked], scores[asked] = look_up([spellings[i] for i in asked])
    spelling = codes[at].astype(np.int32)
    stopped = np.flatnonzero(before & FULL_STOP)
    stopped = stopped[stopped > 0]
    last_word = at[stopped - 1]
    whole = _ends_sentence(distinct)[codes[last_word]]
    # "about 1755-60. Carved beech"
    figures = is_digit[stopped - 1]
    ranged = figures & ((before[stopped - 1] & HYPHEN) > 0) & is_digit[np.maximum(stopped - 2, 0)]
    # "40 of 48. Woodcut on card"; "18. Jh." is an ordinal
    counted = _greater_than_days(distinct)[codes[last_word]] & ~is_digit[stopped]
    before[stopped[whole | ranged | counted]] |= CLAUSE
    new_title = np.zeros(len(at), dtype=bool)
    new_title[first[:-1][first[:-1] < first[1:]]] = True
    clause = np.cumsum(((before & CLAUSE) > 0) | new_title, dtype=np.int32)
    return TokenStream(
        n_titles=n_titles,
        questioned=questioned,
        first=first,
        title=title,
        word=numbers[spelling],
        score=scores[spelling],
        before=before,
        quotes=quotes,
        clause=clause,
        gap=gap,
        is_number=is_digit,
        spelling=spelling,
        spellings=spellings,
    )


def _strokes_between_fields(
    spellings: list[str], gap: IntArray, title: IntArray, n_titles: int
) -> npt.NDArray[np.uint8]:
    """ "Dress / day dress with cape / roller-printed muslin / British": strokes that part clauses.

    One or two may stand between words that are said of one thing.
    """
    if _STROKE not in spellings:
        return np.zeros(len(gap), dtype=np.uint8)
    stroke = gap == spellings.index(_STROKE)
    many = np.bincount(title[stroke], minlength=n_titles) >= _STROKES_OF_FIELDS
    return np.where(stroke & many[title], CLAUSE, 0).astype(np.uint8)


def _serial_numbers(
    data: npt.NDArray[np.uint8],
    cuts: npt.NDArray[np.intp],
    ends: npt.NDArray[np.intp],
    is_word: BoolArray,
) -> BoolArray:
    """Which runs of characters are numbers of as many figures as `SERIAL_NUMBER` or more."""
    is_digit = (data >= ord("0")) & (data <= ord("9"))
    runs = np.flatnonzero(is_word & (ends[1:] - cuts >= len(SERIAL_NUMBER)) & is_digit[cuts])
    others = np.append(np.int32(0), np.cumsum(~is_digit, dtype=np.int32))
    serial = np.zeros(len(cuts), dtype=bool)
    serial[runs] = others[ends[runs + 1]] == others[cuts[runs]]
    return serial


def _ends_sentence(spellings: pa.Array) -> BoolArray:
    """Whether a full stop after a word ends a sentence, and does not shorten the word."""
    short = pc.less_equal(pc.utf8_length(spellings), _ABBREVIATION)
    spoken = pc.match_substring_regex(spellings, "[aeiouy\\x{80}-\\x{10ffff}]")
    word = pc.and_(
        pc.or_(spoken, pc.invert(short)), pc.invert(pc.match_substring_regex(spellings, "^[0-9]"))
    )
    word = pc.and_(word, pc.invert(pc.is_in(spellings, value_set=_SHORTENED)))
    word = pc.and_(word, pc.greater(pc.utf8_length(spellings), 1))
    ends = pc.or_(word, pc.match_substring_regex(spellings, _YEAR))
    flags: BoolArray = ends.to_numpy(zero_copy_only=False)
    return flags


def _greater_than_days(spellings: pa.Array) -> BoolArray:
    """Numbers of two or three figures above 31, which no day and no century has."""
    above: BoolArray = pc.match_substring_regex(
        spellings, "^(?:3[2-9]|[4-9][0-9]|[1-9][0-9]{2})$"
    ).to_numpy(zero_copy_only=False)
    return above


def prepare(folded: pa.Array) -> pa.LargeStringArray:
    """Spell out "&" and "+" and fill nulls, so that the cutter sees words only."""
    filled = pc.fill_null(folded, "")
    for sign in ("&", "+"):
        filled = pc.replace_substring(filled, sign, " and ")
    return filled


def _flag(run: str) -> np.uint8:
    """What a run of characters between two words says."""
    flag = np.uint8(0)
    if any(character in _CLAUSE_CHARACTERS for character in run):
        flag |= CLAUSE
    if "-" in run:
        flag |= CLAUSE if run.strip() != run or len(run.strip()) > 1 else HYPHEN
    if "/" in run:
        flag |= SLASH
    if "." in run and (run.endswith(" ") or ". " in run):  # "headscarf. 'Horses of the Hunt'"
        flag |= FULL_STOP
    if "(" in run or "[" in run:
        flag |= BRACKET
    if "?" in run:
        flag |= QUESTION
    return flag


def _quotation_marks(run: str) -> np.uint8:
    if '"' not in run:
        return np.uint8(0)
    opens = OPENS_QUOTATION if _OPENING.search(run) else np.uint8(0)
    return opens | (CLOSES_QUOTATION if run.startswith('"') else np.uint8(0))


def _empty(n_titles: int) -> TokenStream:
    none = np.zeros(0, dtype=np.int32)
    return TokenStream(
        n_titles=n_titles,
        questioned=np.zeros(n_titles, dtype=bool),
        first=np.zeros(n_titles + 1, dtype=np.int64),
        title=none,
        word=none,
        score=np.zeros(0, dtype=np.float32),
        before=np.zeros(0, dtype=np.uint8),
        quotes=np.zeros(0, dtype=np.uint8),
        clause=none,
        gap=none,
        is_number=np.zeros(0, dtype=bool),
        spelling=none,
        spellings=[],
    )
