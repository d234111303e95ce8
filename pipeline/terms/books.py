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
# what a book has many of, told by their number: "50 maps", "40 hand coloured lithographs"
_COUNTED = frozenset(
    ["maps", "plates", "engravings", "etchings", "lithographs", "aquatints", "woodcuts",
     "illustrations", "mezzotints", "photogravures", "woodburytypes", "plans", "views"]
)  # fmt: skip
_MAPS = frozenset({"maps"})
_WORDS_TO_THE_COUNTED = 4  # "58 double-page engraved maps"
_FOLIO = frozenset(["folio", "folios"])
_SKINS = frozenset(["calf", "morocco", "vellum", "roan"])
_OF_A_SKIN = frozenset(
    ["red", "green", "blue", "brown", "black", "tan", "speckled", "mottled", "later", "old",
     "modern", "limp", "panelled", "tree", "polished", "gilt"]
)  # fmt: skip
_PLATES = frozenset({"plates"})
_PRINTED = frozenset(["engraved", "lithographed", "folding", "steel"])
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
    _name_illustrated(lexicon, stream, category, told)


def _name_illustrated(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, told: BoolArray
) -> None:
    """ "Botany, 25 plates, folio", "Theatrum, 101 maps, later vellum": a book by what is counted.

    With no format told, "30 engraved plates" are for a person: no crockery. Changes `category`.

    Args:
        told: titles that tell a book's format.
    """
    words, ids = lexicon.words_in, lexicon.concept_ids["category"]
    counted = _counted(lexicon, stream)
    n = len(stream)
    every = np.arange(n, dtype=np.int32)
    same = np.append(False, stream.clause[1:] == stream.clause[:-1])
    before = np.append(0, stream.word[:-1])
    skin = words(_SKINS)[stream.word] & same & words(_OF_A_SKIN)[before]
    skin |= (
        words(_SKINS)[stream.word] & stream.opens_clause(every) & stream.closes_clause(every + 1)
    )
    folio = words(_FOLIO)[stream.word] & stream.closes_clause(every + 1)
    later = stream.clause != stream.clause[stream.first[:-1][stream.title]]
    bound = told.copy()
    bound[stream.title[(skin | folio) & later]] = True
    kinds = ("map", "plate", "print", "engraving", "etching", "lithograph", "aquatint", "woodcut",
             "book", "mezzotint", "photograph", "prints-and-paintings",
             "architectural-plan")  # fmt: skip
    loose = (category.concept < 0) | below(lexicon, *kinds)[category.concept]
    has = np.bincount(stream.title[counted], minlength=stream.n_titles) > 0
    settle(category, np.flatnonzero(has & bound & loose), ids.index("book"), _BY_ITS_FORMAT)
    # "101 maps, folio": nothing but maps, and many
    maps = counted & words(_MAPS)[stream.word]
    many = stream.figures() > 1
    numbers = np.bincount(
        stream.clause[many[stream.spelling]], minlength=int(stream.clause[-1]) + 1
    )
    maps &= numbers[stream.clause] > 0
    only = np.bincount(stream.title[counted & ~words(_MAPS)[stream.word]], minlength=len(has)) == 0
    large = np.bincount(stream.title[folio & later], minlength=len(has)) > 0
    large &= only & (np.bincount(stream.title[maps], minlength=len(has)) > 0)
    if "atlas" in ids:
        settle(category, np.flatnonzero(large & loose), ids.index("atlas"), _BY_ITS_FORMAT)
    printed = words(_PLATES)[stream.word] & words(_PRINTED)[before] & same
    plate = lexicon.is_one_of("category", "plate")[category.concept] & (category.concept >= 0)
    category.doubtful |= plate & (np.bincount(stream.title[printed], minlength=stream.n_titles) > 0)


def _counted(lexicon: Lexicon, stream: TokenStream) -> BoolArray:
    """Maps, plates and prints with a number before them, in a clause behind the first."""
    later = stream.clause != stream.clause[stream.first[:-1][stream.title]]
    counted = np.zeros(len(stream), dtype=bool)
    what = lexicon.words_in(_COUNTED)[stream.word] & later
    number = stream.is_number | lexicon.words_alone("count")[stream.word]
    every = np.arange(len(stream))
    for back in range(1, 1 + _WORDS_TO_THE_COUNTED):
        at = np.maximum(every - back, 0)
        counted |= what & number[at] & (stream.clause[at] == stream.clause) & (every >= back)
    return counted


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
