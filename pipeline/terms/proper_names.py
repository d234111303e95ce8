"""Names in the middle of a sentence, which are no misspellings of the words they resemble.

In `A pair of tables by Edgar Walnor` the capital tells that Walnor is a name; in `MAHOGONY
CHEST` and in `Mahogony Chest Of Drawers` capitals tell nothing.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.terms.name_words import GIVEN, SURNAMES
from pipeline.terms.tokens import FULL_STOP, TokenStream

_CORRECTED = 97.0  # score; below it a spelling was put right by likeness
_SMALL_SHARE = 0.5  # of the words of a title, in small letters: then capitals tell something
_CHINA = "china"
_BEFORE_CHINA = frozenset(
    ["southern", "northern", "eastern", "western", "central", "south", "north", "inner",
     "imperial", "qing", "ming", "tang", "probably", "possibly", "from", "in", "or"]
)  # fmt: skip
# given names that things are called after: Victoria Cross, Albert chain, Louis XV
_OF_THINGS = frozenset(
    ["victoria", "albert", "charlotte", "george", "louis", "jenny", "anne", "alexandra", "henri",
     "jacob", "messrs", "emile", "august", "magnus", "max"]
)  # fmt: skip
_OPENS_A_NAME = GIVEN - _OF_THINGS
_WORDS_OF_A_NAME = 2
_WORD = re.compile(r"[^\W\d_]{3,}")
_OPENS = re.compile(r"(?:^|[.!?:;|\"'(\[]\s*)$")


def leave_names_alone(titles: pa.Array, stream: TokenStream) -> None:
    """Take back the corrections of names. Changes the words and scores of the stream.

    Args:
        titles: as the seller wrote them, one for each title of the stream.
    """
    _leave_china_alone(titles, stream)
    _leave_makers_alone(titles, stream)
    rows = np.flatnonzero((stream.word > 0) & (stream.score < _CORRECTED))
    told: dict[int, str] = {}
    for row in rows.tolist():
        number = int(stream.title[row])
        if number not in told:
            told[number] = _in_sentences(titles[number].as_py() or "")
        if told[number] and _is_name(told[number], stream.spellings[stream.spelling[row]]):
            stream.word[row] = 0
            stream.score[row] = 100.0


def _leave_china_alone(titles: pa.Array, stream: TokenStream) -> None:
    """ "Vase, China, Shanxi; bronze": the country, by its capital and its place.

    It stands alone in a clause that neither opens nor closes the title, or behind a word of
    direction; where fields begin with capitals, as in "Teapot. China. Small chip", nothing tells.
    """
    if _CHINA not in stream.spellings:
        return
    at = np.flatnonzero(stream.spelling == stream.spellings.index(_CHINA)).astype(np.int32)
    at = at[~stream.starts()[at]]
    closes = stream.closes_clause(at + 1)
    inner = closes & stream.opens_clause(at) & (stream.first[stream.title[at] + 1] > at + 1)
    before = [stream.spellings[i] for i in stream.spelling[at - 1]]
    led = np.array([word in _BEFORE_CHINA for word in before], dtype=bool) & closes
    directed = set(at[led].tolist())
    for row in at[inner | led].tolist():
        title = titles[int(stream.title[row])].as_py() or ""
        begin = title.find(_CHINA.capitalize())
        if begin < 0 or not any(word[0].islower() for word in _WORD.findall(title)):
            continue
        following = title[begin + len(_CHINA) :].lstrip(" ,;:.|/·)]—-")
        of_place = (following.split() or [""])[0].lower() in _BEFORE_CHINA
        of_place |= row in directed or following[:1].islower()
        if of_place or _OPENS.search(title[:begin]) is None:
            stream.word[row] = 0
            stream.score[row] = 100.0


def _leave_makers_alone(titles: pa.Array, stream: TokenStream) -> None:
    """ "Mary Oakes, stoneware vase", "J. Coates, View of Leeds", "Walnut, J., Landscape".

    A given name or initials open the title, a word with a capital ends its first clause: it is a
    surname, whatever else it means.
    """
    begins = stream.first[:-1][np.diff(stream.first) > _WORDS_OF_A_NAME].astype(np.int32)
    if not len(begins):
        return
    named = stream.spelt(_OPENS_A_NAME)[stream.spelling]
    letter = stream.letters()[stream.spelling]
    stopped = np.append(stream.before[1:] & FULL_STOP, 0) > 0  # a full stop behind the word
    initial = letter & stopped
    one, two = begins + 1, begins + 2
    opens = named[begins] | initial[begins]
    plain = opens & ~letter[one] & ~stream.opens_clause(one) & stream.closes_clause(two)
    middle = opens & initial[one] & ~stream.opens_clause(one) & ~stream.opens_clause(two)
    middle &= stream.closes_clause(two + 1) & (
        stream.title[begins] == stream.title[_in(stream, two + 1)]
    )
    turned = ~opens & initial[one] & stream.opens_clause(one) & stream.closes_clause(two)
    # "Wood, J. landscape", "Wood, Christopher. Boats"
    surname = stream.spelt(SURNAMES)[stream.spelling[begins]]
    closes = stream.closes_clause(two) | stopped[one]
    turned |= surname & stream.opens_clause(one) & (initial[one] | (named[one] & closes))
    for rows in (one[plain], two[middle], begins[turned]):
        for row in rows.tolist():
            written = titles[int(stream.title[row])].as_py() or ""
            at = _whole_word(written.lower(), stream.spellings[stream.spelling[row]])
            if at >= 0 and written[at].isupper():
                stream.word[row] = 0
                stream.score[row] = 100.0


def _in(stream: TokenStream, place: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
    return np.minimum(place, len(stream) - 1)


def _in_sentences(title: str) -> str:
    """The title where most of its words are in small letters, else nothing."""
    words = _WORD.findall(title)
    small = sum(word[0].islower() for word in words)
    return title if words and small >= _SMALL_SHARE * len(words) else ""


def _is_name(title: str, spelling: str) -> bool:
    """Whether a word stands in the title with a capital, and not where a sentence begins."""
    begin = _whole_word(title.lower(), spelling)
    as_written = title[begin : begin + len(spelling)] if begin >= 0 else ""
    if not as_written[:1].isupper() or as_written.isupper():
        return False
    return _OPENS.search(title[:begin]) is None


def _whole_word(text: str, word: str) -> int:
    """Where a word stands by itself in a text, -1 if nowhere."""
    begin = text.find(word)
    while begin >= 0:
        around = text[max(begin - 1, 0) : begin] + text[begin + len(word) :][:1]
        if not any(letter.isalnum() for letter in around):
            break
        begin = text.find(word, begin + 1)
    return begin
