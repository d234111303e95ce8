"""Labels that name unlike things: what else the title says, or the sale's currency, tells which.

A bureau is a desk to British and a chest of drawers to American trade; with a fall front it is a
desk to both. The rules are data (pipeline/vocabulary/ambiguities.csv, column choices).
"""

from __future__ import annotations

from functools import partial

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.lexicon import AMBIGUOUS, Lexicon
from pipeline.terms.picks import KindReading
from pipeline.terms.text import one_array
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]


def currency_codes(currencies: pa.Array | pa.ChunkedArray) -> npt.NDArray[np.str_]:
    """Codes as an array of plain strings; empty where unknown."""
    filled = pc.fill_null(one_array(currencies).cast(pa.string()), "")
    return np.array(filled.to_pylist(), dtype=np.str_)


def settle_by_currency(lexicon: Lexicon, reading: KindReading, codes: npt.NDArray[np.str_]) -> None:
    """Give the words that mean different things to British and American trade their meaning."""
    for phrase, meaning in lexicon.choices("category").items():
        for code, concept in meaning.items():
            _settle(reading, (reading.choice == phrase) & (codes == code), concept)


def settle_by_words(
    lexicon: Lexicon, stream: TokenStream, reading: KindReading, things: Things, head: IntArray
) -> None:
    """Give such words the meaning that the rest of the title tells, where it tells one.

    Words go before the currency: a slant front bureau is a desk in dollars too. Words that tell
    two meanings at once leave it to a person.

    Args:
        things, head: findings of categories and each title's own, -1 for none; changed as
            `reading` is.
    """
    choices = lexicon.choices("category")
    titles = np.flatnonzero(reading.choice >= 0)
    phrases = reading.choice[titles]
    for phrase in np.unique(phrases).tolist():
        mine = titles[phrases == phrase]
        # "pendant, ceiling" was turned round and is no pendant any more
        own = int(lexicon.concept_of["category"][phrase])
        mine = mine[np.isin(reading.concept[mine], [own, *choices[phrase].values()])]
        meant = lexicon.memo(("marks of", phrase), partial(_marks, lexicon, choices[phrase]))
        length = np.diff(stream.first)[mine]
        owner = np.repeat(np.arange(len(mine)), length)
        offset = np.arange(len(owner)) - np.repeat(np.cumsum(length) - length, length)
        said = meant[stream.word[stream.first[mine][owner] + offset]]
        owner, said = owner[said >= 0], said[said >= 0]
        lowest = np.full(len(mine), np.iinfo(np.int32).max)
        highest = np.full(len(mine), -1)
        np.minimum.at(lowest, owner, said)
        np.maximum.at(highest, owner, said)
        told = mine[lowest == highest]
        concept = highest[lowest == highest]
        reading.choice[told] = -1
        reading.concept[told] = concept
        strong = head[told] >= 0
        things.concept[head[told][strong]] = concept[strong]
        reading.score[told] = reading.margin[told] = 100
        torn = mine[lowest < highest]
        reading.score[torn] = np.minimum(reading.score[torn], AMBIGUOUS)
        reading.margin[torn] = 0


def _marks(lexicon: Lexicon, meaning: dict[str, int]) -> IntArray:
    """Word number -> the concept that the word tells, -1 for none."""
    table = np.full(lexicon.n_words, -1, dtype=np.int32)
    for mark, concept in meaning.items():
        if mark in lexicon.words:
            table[lexicon.words[mark]] = concept
    return table


def _settle(reading: KindReading, rows: npt.NDArray[np.bool_], concept: int) -> None:
    reading.concept[rows] = concept
    reading.score[rows] = 100
    reading.margin[rows] = 100
