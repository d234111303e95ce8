"""What a catalogue says beside the piece: the number of the lot, and where the piece was before.

"Lot 88. A mahogany counter" is one piece of a sale and no job lot; in "Oak stool. Provenance:
Brass House" nothing is of brass.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found
from pipeline.terms.tokens import FULL_STOP, TokenStream

BoolArray = npt.NDArray[np.bool_]

_LOT = frozenset({"lot"})
_MOST_COUNTED = 12  # "lot 6 plates" counts them, "lot 214 silhouette" does not
_PROVENANCE = frozenset({"provenance"})
_NOTES = frozenset(["provenance", "literature", "exhibited", "bibliography"])  # before a colon
_ENDS_A_NOTE = ";|\n"
_INITIAL = 2  # letters; the full stop of "J. Brass" ends nothing


def without_notes(lexicon: Lexicon, stream: TokenStream, found: Found) -> Found:
    """The phrases found, less those that only belong to such a note."""
    if not len(found):
        return found
    dropped = _lot_numbers(lexicon, stream, found) | _told_of_before(lexicon, stream)[found.start]
    return found.take(~dropped) if dropped.any() else found


def _lot_numbers(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Markers that begin with the word lot where it gives a lot's number."""
    dropped = np.zeros(len(found), dtype=bool)
    if "marker" not in lexicon.concept_of:
        return dropped
    start = found.start
    numbered = lexicon.words_in(_LOT)[stream.word[start]]
    numbered &= lexicon.concept_of["marker"][found.phrase] >= 0
    rows = np.flatnonzero(numbered & (start < len(stream) - 1))
    at = start[rows] + 1
    rows = rows[stream.is_number[at] & (stream.title[at] == stream.title[start[rows]])]
    # "Session 3, lot 12. Oak stool"; "job lot 12 plates" begins with another word
    apart = _ends_after(stream, start[rows] + 2)
    told = apart | stream.starts()[start[rows]]
    rows, apart = rows[told], apart[told]
    for row, ends in zip(rows.tolist(), apart.tolist(), strict=True):
        number = stream.spellings[stream.spelling[start[row] + 1]]
        dropped[row] = ends or not (number.isdigit() and int(number) <= _MOST_COUNTED)
    return dropped


def _ends_after(stream: TokenStream, end: npt.NDArray[np.int32]) -> BoolArray:
    """Whether a clause or a sentence ends before each word."""
    stopped = (stream.before[np.minimum(end, len(stream) - 1)] & FULL_STOP) > 0
    return stream.closes_clause(end) | stopped


def _told_of_before(lexicon: Lexicon, stream: TokenStream) -> BoolArray:
    """Words of a note on owners, books and shows: from its heading to a full stop or the end."""
    inside = np.zeros(len(stream), dtype=bool)
    heading = lexicon.words_in(_NOTES)[stream.word]
    # "; provenance Wood family", but not "no provenance, oak"
    opens = lexicon.words_in(_PROVENANCE)[stream.word]
    opens[1:] &= stream.clause[1:] != stream.clause[:-1]
    for at in np.flatnonzero(heading).tolist():
        end = int(stream.first[stream.title[at] + 1])
        if at + 1 >= end or not (opens[at] or ":" in _gap(stream, at + 1)):
            continue
        for word in range(at + 1, end):
            before = stream.spellings[stream.spelling[word - 1]]
            stopped = bool(stream.before[word] & FULL_STOP) and len(before) > _INITIAL
            if word > at + 1 and (stopped or set(_ENDS_A_NOTE) & set(_gap(stream, word))):
                break
            inside[word] = True
    return inside


def _gap(stream: TokenStream, word: int) -> str:
    """What stands before a word."""
    gap = int(stream.gap[word])
    return stream.spellings[gap] if gap >= 0 else ""
