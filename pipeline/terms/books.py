"""Books by their format: `Travels in Persia, 8vo, full calf`, `Old silver spoons, hardback`.

The title of a book is made of words of any kind; how it is printed and bound names the thing.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.doubts import below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.picks import KindReading, settle
from pipeline.terms.tokens import TokenStream

BoolArray = npt.NDArray[np.bool_]

_FORMATS = frozenset(
    ["8vo", "4to", "12mo", "16mo", "18mo", "24mo", "32mo", "octavo", "quarto", "duodecimo",
     "hardback", "hardcover", "paperback", "softcover", "hardbound"]
)  # fmt: skip
# a skin, a cloth or boards with one of these before it is a binding
_BOUND_IN = frozenset(["full", "half", "quarter", "original", "contemporary", "publishers"])
_BINDINGS = frozenset(["calf", "morocco", "vellum", "sheep", "roan", "boards", "cloth", "buckram"])
_VOLUMES = frozenset(["vol", "vols", "volume", "volumes"])
_BY_ITS_FORMAT = 90.0  # score; nobody said that it is a book
# what has a format or a binding of its own
_OF_THEIR_OWN = ("books-and-paper", "prints-and-paintings", "maps-and-globes", "bookends",
                 "bookcase", "book-stand", "book-slide", "book-press", "bookbinders-tools",
                 "coins-and-medals", "record", "toys-and-games")  # fmt: skip


def name_books(lexicon: Lexicon, stream: TokenStream, category: KindReading) -> None:
    """Give titles the kind `book` where a clause behind the first tells a book's format.

    A book that was found and waits is accepted. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if "book" not in ids or not len(stream):
        return
    told = np.zeros(stream.n_titles, dtype=bool)
    told[stream.title[_formats(lexicon, stream)]] = True
    own = below(lexicon, *_OF_THEIR_OWN)[category.concept] & (category.concept >= 0)
    waiting = category.doubtful & (category.concept == ids.index("book"))
    titles = np.flatnonzero(told & (~own | waiting))
    settle(category, titles, ids.index("book"), _BY_ITS_FORMAT)


def _formats(lexicon: Lexicon, stream: TokenStream) -> BoolArray:
    """Words that tell a book's format, in a clause behind the first."""
    words = lexicon.words_in
    later = stream.clause != stream.clause[stream.first[:-1][stream.title]]
    same = np.append(False, stream.clause[1:] == stream.clause[:-1])
    before = np.append(0, stream.word[:-1])
    bound = words(_BINDINGS)[stream.word] & same & words(_BOUND_IN)[before]
    number = np.append(False, stream.is_number[:-1])
    volumes = words(_VOLUMES)[stream.word] & same & number
    return later & (words(_FORMATS)[stream.word] | bound | volumes)
