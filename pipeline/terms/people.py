"""Surnames that are the name of a thing or of a stuff: Christopher Dresser, Ralph Wood.

A given name right before such a word tells that it is one. Only words that nobody sets behind a
given name for another reason are taken: `Alice, silver brooch` and `Queen Anne glass` are left.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.phrases import Found
from pipeline.terms.tokens import CLAUSE, TokenStream

_GIVEN_NAMES = """
    abraham adam adolf agnes albert alexander alfred alice andre andrea andrew anna anthony antoine
    antonio archibald arthur august augustus bartholomew benjamin bernard bertram bruno carl carlo
    caroline catherine cecil charles christian christopher clara clarence claude clement conrad
    daniel david dennis dominic dorothy duncan edgar edith edmund edward edwin eleanor eliza
    elizabeth ellen emile emily emma enoch eric ernest ethel eugene evelyn ezra felix ferdinand
    francis francois frank franz frederick friedrich fritz gabriel geoffrey georg george gerald
    gertrude gilbert giovanni giuseppe godfrey graham gustav guy hannah hans harold harriet harry
    helen henri henry herbert hermann horace hubert hugh hugo humphrey ian isaac jacob jacques james
    jane jean jeremiah johann john jonathan josef joseph joshua josiah jules julia julius karl
    kenneth laurence lawrence leonard leopold lewis lionel louisa lucas lucy ludwig marcel margaret
    maria marion martha martin mary matthew maurice max michael miles moses nathaniel nicholas
    norman oliver oscar otto patrick paul percy peter philip pierre ralph raymond reginald richard
    robert roger roland rudolf rupert samuel sarah sidney silas simon solomon stanley stephen susan
    sydney sylvia theodore theophilus thomas timothy victor vincent walter wilfred wilhelm william
    winifred zachariah
"""
_WORDS_THAT_ARE_SURNAMES = """
    ball bath beech bell birch bolt buffet bush cane chambers chest clay coffin cork crane dent
    dresser drum flint frost hammer holly hook horn lamb lock mallet moss mould nail plum pond post
    reed rush shields slate spade steel stein stone straw swan thorn tray vane vice wax whip wood
"""
_GIVEN = frozenset(_GIVEN_NAMES.split())
_SURNAMES = frozenset(_WORDS_THAT_ARE_SURNAMES.split())


def without_surnames(stream: TokenStream, found: Found) -> Found:
    """The phrases less the single words that are a person's name."""
    if not len(found) or not stream.spellings:
        return found
    surname = np.array([one in _SURNAMES for one in stream.spellings], dtype=bool)
    given = np.array([one in _GIVEN for one in stream.spellings], dtype=bool)
    before = np.maximum(found.start - 1, 0)
    named = (found.end - found.start == 1) & surname[stream.spelling[found.start]]
    named &= given[stream.spelling[before]] & ~stream.starts()[found.start]
    named &= (stream.before[found.start] & CLAUSE) == 0
    # the given name is part of another name: "Queen Anne", "Mary Gregory"
    named &= ~_inside_a_phrase(found, len(stream))[before]
    return found.take(~named) if named.any() else found


def _inside_a_phrase(found: Found, n_words: int) -> npt.NDArray[np.bool_]:
    """Words of phrases of several words."""
    marks = np.zeros(n_words, dtype=bool)
    longer = found.end - found.start > 1
    start, end = found.start[longer], found.end[longer]
    for step in range(int((end - start).max(initial=0))):
        at = start + step
        marks[at[at < end]] = True
    return marks
