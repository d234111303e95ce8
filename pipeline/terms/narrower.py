"""Which narrower name of the piece a title tells beside the one that opens it.

`Tools, chisels` are chisels; of `old tools, chisels, planes` no one kind is the lot.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.picks import distinct_pairs
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wordforms import singular_forms

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_SETS = frozenset(["suite", "suites", "canteen", "canteens", "service", "garniture"])
_ONE_MORE = frozenset(["and", "another", "formerly"])


def plurals(lexicon: Lexicon) -> BoolArray:
    """Word number -> whether it is the plural of a word of the lexicon."""
    flags: BoolArray = lexicon.memo("plurals", lambda: _plurals(lexicon))
    return flags


def _plurals(lexicon: Lexicon) -> BoolArray:
    return np.array(
        [False]
        + [
            one.endswith("s") and any(form in lexicon.words for form in singular_forms(one))
            for one in sorted(lexicon.words)
        ],
        dtype=bool,
    )


def narrower_nearby(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    concept: IntArray,
    title: IntArray,
    rank: IntArray,
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> IntArray:
    """Where the same title also names a narrower kind of the thing, take that."""
    above = lexicon.above("category")
    improved = best.copy()
    candidates = rows[rank[rows] == rank[best[title[rows]]]]
    # "canteen of cutlery, two teaspoons short", "suite: a settee and two chairs": some of a set
    sets = lexicon.words_in(_SETS)[stream.word]
    held = best[title[candidates]]
    whole = sets[things.end[held] - 1] | sets[things.start[held]]
    candidates = candidates[~whole]
    candidates = candidates[~_one_of_several(lexicon, stream, things, concept, best, candidates)]
    # "jug and toby jug": two pieces, and no one of them the lot
    before = np.maximum(things.start[candidates] - 1, 0)
    second = lexicon.words_in(_ONE_MORE)[stream.word[before]]
    second &= lexicon.field_kind != "category"  # "Chests & Trunks" is a heading of both
    candidates = candidates[~second | (stream.title[before] != title[candidates])]
    for _ in range(2):
        current = improved[title[candidates]]
        narrower = above[concept[candidates], concept[current]]
        for row in candidates[narrower]:
            held = improved[title[row]]
            if above[concept[row], concept[held]]:
                improved[title[row]] = row
    return improved


def _one_of_several(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    concept: IntArray,
    best: IntArray,
    rows: npt.NDArray[np.intp],
) -> BoolArray:
    """ "Old tools, chisels, planes": of several sorts in the plural none is the lot."""
    title = stream.title[things.start[rows]]
    # "old tools, hammers, chisels, saws": one of several clauses of a single plural
    every = np.arange(len(stream), dtype=np.int32)
    single = stream.opens_clause(every) & stream.closes_clause(every + 1) & ~stream.starts()
    single &= stream.in_s()[stream.spelling]
    alone = single[things.end[rows] - 1]
    several = plurals(lexicon)[stream.word[things.end[rows] - 1]]
    several |= alone
    below_it = lexicon.above("category")[concept[rows], concept[best[title]]] & several
    sorts = distinct_pairs(title[below_it], concept[rows[below_it]])
    count = np.bincount(title[below_it][sorts], minlength=stream.n_titles)
    members = np.bincount(stream.title[single], minlength=stream.n_titles)
    listed = (count[title] > 1) | ((members[title] > 1) & alone)
    return below_it & listed
