"""Labels that name unlike things: what else the title says, or the sale's currency, tells which.

A bureau is a desk to British and a chest of drawers to American trade; with a fall front it is a
desk to both. The rules are data (pipeline/vocabulary/ambiguities.csv, column choices).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.picks import KindReading
from pipeline.terms.text import one_array
from pipeline.terms.tokens import TokenStream


def currency_codes(currencies: pa.Array | pa.ChunkedArray) -> npt.NDArray[np.str_]:
    """Codes as an array of plain strings; empty where unknown."""
    filled = pc.fill_null(one_array(currencies).cast(pa.string()), "")
    return np.array(filled.to_pylist(), dtype=np.str_)


def settle_by_currency(lexicon: Lexicon, reading: KindReading, codes: npt.NDArray[np.str_]) -> None:
    """Give the words that mean different things to British and American trade their meaning."""
    for phrase, meaning in lexicon.choices("category").items():
        for code, concept in meaning.items():
            _settle(reading, (reading.choice == phrase) & (codes == code), concept)


def settle_by_words(lexicon: Lexicon, stream: TokenStream, reading: KindReading) -> None:
    """Give such words the meaning that the rest of the title tells, where it tells one.

    Words go before the currency: a slant front bureau is a desk in dollars too.
    """
    for phrase, meaning in lexicon.choices("category").items():
        rows = reading.choice == phrase
        if not rows.any():
            continue
        told = np.full(stream.n_titles, -1, dtype=np.int32)
        clash = np.zeros(stream.n_titles, dtype=bool)
        for concept in sorted(set(meaning.values())):
            marks = frozenset(m for m, one in meaning.items() if one == concept and m.islower())
            said = np.zeros(stream.n_titles, dtype=bool)
            said[stream.title[lexicon.words_in(marks)[stream.word]]] = True
            clash |= said & (told >= 0)
            told[said] = concept
        for concept in sorted(set(meaning.values())):
            settled = rows & (told == concept) & ~clash
            _settle(reading, settled, concept)
            reading.choice[settled] = -1


def _settle(reading: KindReading, rows: npt.NDArray[np.bool_], concept: int) -> None:
    reading.concept[rows] = concept
    reading.score[rows] = 100
    reading.margin[rows] = 100
