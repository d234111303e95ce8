"""Surnames that are the name of a thing or of a stuff: Arthur Dresser, Edwin Wood, Brass & Sons.

A given name or an initial right before such a word tells that it is one, or a firm right behind.
Only words that nobody sets behind a given name for another reason are taken: `Alice, silver
brooch` and `Queen Anne glass` are left. A stuff is a surname only where the name ends with it:
`Miriam Glass (1921-1999)`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import FIRMS, GIVEN, STUFFS, SURNAMES
from pipeline.terms.phrases import Found
from pipeline.terms.tokens import CLAUSE, FULL_STOP, TokenStream

BoolArray = npt.NDArray[np.bool_]

_AS_SPELT = 100.0  # score
_LEAD_ON = frozenset(["of", "in", "at", "to", "and", "junior", "senior", "esq"])
_AND = frozenset({"and"})
_SIGNED, _GEORGIAN = frozenset({"signed"}), frozenset({"geo"})
_BEFORE_A_NAME = frozenset(["marked", "labelled", "labeled", "maker", "makers", "by", "retailer"])


def without_surnames(lexicon: Lexicon, stream: TokenStream, found: Found) -> Found:
    """The phrases less the single words that are a person's name."""
    if not len(found):
        return found
    start = found.start
    exact = stream.score >= _AS_SPELT
    single = found.end - start == 1
    surname = single & (lexicon.words_in(SURNAMES)[stream.word] & exact)[start]
    stuff = single & (lexicon.words_in(STUFFS)[stream.word] & exact)[start]
    rows = np.flatnonzero(surname | stuff)
    if not len(rows):
        return found
    begin = start[rows]
    ends = stream.closes_clause(found.end[rows]) | (
        (stream.before[_at(stream, begin + 1)] & FULL_STOP) > 0
    )
    # "Ensign John Brass in the 43rd Foot"
    ends |= lexicon.words_in(_LEAD_ON)[stream.word[_at(stream, begin + 1)]]
    before = np.maximum(begin - 1, 0)
    inside = ~stream.starts()[begin] & ((stream.before[begin] & CLAUSE) == 0)
    given = (lexicon.words_in(GIVEN)[stream.word] & exact)[before]
    # the given name is part of another name: "Queen Anne", "Mary Gregory"
    given &= ~found.words_of(found.end - start > 1, len(stream))[before]
    # "sugar nips, Geo silver": Georgian, and nobody's name
    georgian = lexicon.words_in(_GEORGIAN)[stream.word[before]] & stuff[rows]
    named = inside & given & (surname[rows] | ends) & ~georgian
    named |= inside & ends & _initial(stream, before, begin)
    named |= inside & surname[rows] & _initials(stream, begin)
    # "marked Bell", "retailed by Wood", "signed Brass"; "marked silver" is a hallmark
    leads = surname[rows] & lexicon.words_in(_BEFORE_A_NAME)[stream.word[before]]
    leads |= lexicon.words_in(_SIGNED)[stream.word[before]]
    named |= inside & ends & leads
    named |= _firm(lexicon, stream, begin)
    dropped = np.zeros(len(found), dtype=bool)
    dropped[rows[named]] = True
    return found.take(~dropped) if named.any() else found


def _at(stream: TokenStream, place: npt.NDArray[np.int32]) -> npt.NDArray[np.int32]:
    return np.minimum(place, len(stream) - 1)


def _initial(
    stream: TokenStream, before: npt.NDArray[np.int32], begin: npt.NDArray[np.int32]
) -> BoolArray:
    """ "J. Brass, Leeds": one letter with a full stop."""
    stopped: BoolArray = (stream.before[begin] & FULL_STOP) > 0
    for row in np.flatnonzero(stopped).tolist():
        word = stream.spellings[stream.spelling[before[row]]]
        stopped[row] = len(word) == 1 and word.isalpha()
    return stopped


def _initials(stream: TokenStream, begin: npt.NDArray[np.int32]) -> BoolArray:
    """ "H J Wood vase", "H.J. Wood jug": two letters that open a clause."""
    one, two = np.maximum(begin - 1, 0), np.maximum(begin - 2, 0)
    letter = stream.letters()[stream.spelling]
    same = (begin >= 2) & (stream.clause[two] == stream.clause[begin])
    return same & letter[one] & letter[two] & stream.opens_clause(two)


def _firm(lexicon: Lexicon, stream: TokenStream, begin: npt.NDArray[np.int32]) -> BoolArray:
    """ "Brass & Sons", "Wood Bros": what the word behind tells, in the same title."""
    firm = lexicon.words_in(FIRMS)[stream.word]
    joins = lexicon.words_in(_AND)[stream.word]
    title = stream.title[begin]
    one, two = _at(stream, begin + 1), _at(stream, begin + 2)
    near = (stream.title[one] == title) & firm[one] & (one > begin)
    far = (stream.title[two] == title) & firm[two] & joins[one] & (two > one)
    return near | far
