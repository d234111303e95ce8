"""Cloths by their stuff: "woven silk, Spitalfields" and "damask, linen" name no other thing."""

from __future__ import annotations

import numpy as np

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below
from pipeline.terms.picks import KindReading, settle
from pipeline.terms.tokens import TokenStream
from pipeline.terms.wholes import PART, Materials

_CLOTHS = ("silk", "velvet", "linen", "cotton", "wool", "damask", "brocade", "lampas", "satin",
           "printed-textile", "brocatelle")  # fmt: skip
_WORKED = frozenset(
    ["woven", "figured", "brocaded", "printed", "furnishing", "cut", "voided", "compound",
     "patterned", "dress", "roller", "block", "copperplate", "plate", "painted", "stamped"]
)  # fmt: skip
_ARTICLES = frozenset(["a", "the"])
_MOST_WORDS = 4  # of the clause: "block printed furnishing cotton"
_BY_ITS_STUFF = 88.0  # score; nobody said that it is a length of cloth


def name_cloths(
    lexicon: Lexicon, stream: TokenStream, category: KindReading, materials: Materials
) -> None:
    """Give titles of no kind the kind `fabric` where their first clause is nothing but a cloth.

    One that does not say how it was woven or printed waits for a person. Changes `category`.
    """
    ids = lexicon.concept_ids["category"]
    if "fabric" not in ids or not len(materials.title):
        return
    start, end, title = materials.start, materials.end, materials.title
    first = stream.first[title]
    opens = stream.clause[start] == stream.clause[first]
    opens &= stream.closes_clause(end) & (end - first <= _MOST_WORDS)
    opens &= (category.concept[title] < 0) & (materials.place < PART)
    opens &= below(lexicon, *_CLOTHS)[materials.concept]
    worked = lexicon.words_in(_WORKED)[stream.word]
    plain = worked | lexicon.words_in(_ARTICLES)[stream.word]
    others = np.append(0, np.cumsum(~plain))
    opens &= others[start] == others[first]
    how = np.append(0, np.cumsum(worked))
    told = opens & (how[end] > how[first])
    titles = np.unique(title[opens])
    settle(category, titles, ids.index("fabric"), _BY_ITS_STUFF)
    category.doubtful[np.setdiff1d(titles, title[told])] = True
