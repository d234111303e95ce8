"""Stuffs of what comes with a piece or is printed on it: a vignette, a cover, a tin for it."""

from __future__ import annotations

import numpy as np

from pipeline.terms.material_kinds import below
from pipeline.terms.material_near import NOTHING, PART, Places
from pipeline.terms.material_openers import Openers

_PLACES_OF_PRINTS = frozenset(
    ["vignette", "vignettes", "headpiece", "tailpiece", "frontispiece", "cover", "covers",
     "wrapper", "wrappers", "head", "heading"]
)  # fmt: skip
_AT, _TOP = frozenset(["at", "to"]), frozenset(["head", "title", "top", "foot"])
_PRINTED = ("books-and-paper", "sheet-music", "document", "trade-catalogue")
_TIN, _IN = frozenset({"tin"}), frozenset({"in"})
_KEPT_IN_TINS = (
    "clothing", "jewellery", "badge", "spectacles", "militaria", "medal", "coins-and-medals",
    "toys-and-games", "medical-instruments", "cutlery", "razor",
)  # fmt: skip
_PATTERNS = ("sample-book",)


class Beside(Openers):
    """Rules on stuffs that are told beside the piece's own."""

    def _beside_the_piece(self, place: Places) -> None:
        rows, stream = self.rows, self._stream
        # "broadside, woodcut at head", "sheet music with lithographed cover"
        prints = below(self._lexicon, "print-technique")[rows.concept] & self.family(*_PRINTED)
        at = self._next(_AT) & self._second_linked
        at &= self._words(_TOP)[stream.word[self._second]]
        place[prints & (at | self._next(_PLACES_OF_PRINTS)) & (place < PART)] = PART
        # "epaulettes in japanned tin"
        tin = self._words(_TIN)[stream.word[rows.end - 1]] & (rows.end - rows.start > 1)
        tin &= self._opened_by(_IN) & (self._between() == 0) & self.family(*_KEPT_IN_TINS)
        place[tin & (place < PART)] = PART
        # "pattern book, lace": what it shows, where nothing else is told
        alone = stream.opens_clause(rows.start) & (stream.first[rows.title + 1] == rows.end)
        ends = np.append(self._things.end, -1)[self._head[rows.title]]
        alone &= ends == rows.start
        shown = below(self._lexicon, "textile")[rows.concept] & self.family(*_PATTERNS)
        place[shown & alone] = NOTHING
