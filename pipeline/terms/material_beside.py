"""Stuffs of what comes with a piece or is printed on it: a vignette, a cover, a tin for it."""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import MAIN
from pipeline.terms.material_kinds import below
from pipeline.terms.material_near import NOTHING, PART, WEAK, WHOLE, BoolArray, Places
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
_WARP, _WEFT = frozenset(["warp", "warps"]), frozenset(["weft", "wefts"])
_PILE, _WEFT_AND_PILE = frozenset({"pile"}), frozenset(["weft", "wefts", "pile"])
_WORDS_BEHIND_WARP = 3  # "warp, weft and pile"
_WOVEN_OVER = ("rug", "tapestry", "coverlet", "blanket", "wall-hanging")
_LEAF, _STICKS = frozenset({"leaf"}), frozenset(["sticks", "guards", "guardsticks"])
_LIDDED, _RIVETED = frozenset(["lidded", "footed"]), frozenset({"riveted"})
_INLAID, _HANDLED = frozenset({"inlaid"}), frozenset({"handled"})
_WALL, _HANGING = frozenset({"wall"}), frozenset({"hanging"})
_WITH, _MIRROR = frozenset({"with"}), frozenset({"mirror"})
_FITTED_WITH = frozenset(
    ["mirror", "drawer", "drawers", "door", "doors", "hooks", "tray", "shelf", "shelves"]
)
_BEADS, _CANES = frozenset({"beads"}), frozenset(["cane", "canes"])


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
        self._threads(place)
        self._beads_and_canes(place)

    def _threads(self, place: Places) -> None:
        """ "Rug; wool warp, weft and pile", "ikat, silk warp, cotton weft".

        The pile is the piece's; where none is told the weft of a rug or a tapestry, which hides
        the warp, and of any other cloth the warp.
        """
        rows, stream = self.rows, self._stream
        warp = self._next(_WARP)
        if not warp.any():
            return
        # "wool warp, weft and pile", "wool warp and weft": of one thread
        ahead = self._second + np.arange(_WORDS_BEHIND_WARP)[:, None]
        ahead = np.minimum(ahead, len(stream) - 1)
        begins = np.zeros(len(stream), dtype=bool)
        begins[rows.start] = True
        near = np.logical_and.accumulate(
            (stream.title[ahead] == rows.title) & ~begins[ahead] & (ahead > self._at), axis=0
        )
        alone = warp & (near & self._words(_WEFT_AND_PILE)[stream.word[ahead]]).any(axis=0)
        piled = np.zeros(stream.n_titles, dtype=bool)
        piled[stream.title[self._words(_PILE)[stream.word]]] = True
        pile = alone & (near & self._words(_PILE)[stream.word[ahead]]).any(axis=0)
        other = np.bincount(rows.title, minlength=stream.n_titles)[rows.title] > 1
        hidden = self.family(*_WOVEN_OVER) & other & ~alone
        # "wool and cotton warp" may be of both
        hidden &= ~self._context.previous_has(rows.start, "conjunction")
        place[warp & (place < PART) & ~pile & (piled[rows.title] | hidden)] = PART
        weft = self._next(_WEFT) & ~piled[rows.title] & (place < PART)
        shown = self._titles_of(warp & (place < PART))[rows.title]
        place[weft & shown & ~warp] = WEAK

    def _titles_of(self, findings: BoolArray) -> BoolArray:
        titles = np.zeros(self._stream.n_titles, dtype=bool)
        titles[self.rows.title[findings]] = True
        return titles

    def _beads_and_canes(self, place: Places) -> None:
        """ "Necklace, glass beads" is of glass, "bowl, mosaic glass canes" of its canes."""
        rows, stream = self.rows, self._stream
        told = np.bincount(rows.title[place < PART], minlength=stream.n_titles)[rows.title] > 0
        alone = stream.opens_clause(rows.start) & ~told & (place == PART)
        last = np.minimum(rows.end + 1, len(stream))
        ends = stream.closes_clause(last) & self._linked
        beads = alone & ends & self._next(_BEADS) & self.family("jewellery")
        place[beads & self._below("glass", "ceramic", "stone", "organic", "wood", "metal")] = WHOLE
        # "fan, vellum leaf, tortoiseshell sticks"
        soft = self._below("vellum", "paper", "textile", "leather") & self.family("hand-fan")
        leaf = soft & self._next(_LEAF) & (self._zone == MAIN)
        place[leaf & (place == PART)] = WHOLE
        sticks = self.family("hand-fan") & self._next(_STICKS) & self._titles_of(leaf)[rows.title]
        place[sticks & (place < PART)] = PART
        # "tsuba, iron. Inlaid in brass": no inlay of wood
        inlaid = self._is("inlaid-wood") & (place < PART)
        if inlaid.any():
            into = self._titles_of(self._below("metal") & (place == WHOLE))
            wooden = self._titles_of(self._below("wood") & ~self._is("inlaid-wood"))
            place[inlaid & (into & ~wooden)[rows.title]] = NOTHING
        glass = self._next(_CANES) & self._below("glass") & (place == PART) & ~told
        place[glass & self.family("tableware-and-vessels", "glassware", "bowl", "vase")] = WHOLE

    def _stuff_behind_the_piece(self, place: Places) -> None:
        """ "Basket wicker lidded", "cabinet pine wall hanging", "wardrobe with mirror oak".

        Sellers who sort by the head write the stuff behind it; it is the piece's where no other
        is told.
        """
        rows, stream = self.rows, self._stream
        told = np.bincount(rows.title[place < PART], minlength=stream.n_titles)[rows.title] > 0
        alone = (place == PART) & ~told
        ends = np.append(self._things.end, -1)[self._head[rows.title]]
        behind = alone & (ends == rows.start) & (self._zone == MAIN) & self._after_word
        past = np.minimum(rows.end + 1, len(stream))
        closes = stream.closes_clause(past) & self._linked
        bodied = self._below("wood", "wicker", "plant-fibre", "glass", "ceramic")
        hit = bodied & self._next(_LIDDED) & closes
        hit |= self._next(_RIVETED) & closes
        hit |= self._below("ebony", "papier-mache") & self._next(_INLAID)
        hit |= self._below("wood") & self._next(_HANDLED) & closes & self.family("tray")
        hung = self._next(_WALL) & self._words(_HANGING)[stream.word[self._second]]
        hit |= hung & self._second_linked
        place[behind & hit] = WEAK
        # "bookcase with doors oak", "bathroom cabinet with mirror 1950s metal"
        opener = np.maximum(self._opener, 0)
        led = alone & (ends == self._opener) & (self._opener > 0) & self.family("furniture")
        led &= self._words(_WITH)[stream.word[opener]] & stream.closes_clause(rows.end)
        at = np.where(self._context.is_number[self._before], rows.start - 2, rows.start - 1)
        at = np.maximum(at, 0)
        named = self._words(_FITTED_WITH)[stream.word[at]] & (at == opener + 1)
        mirrored = self._words(_MIRROR)[stream.word[at]] & self._below("metal")
        place[led & named & (self._below("wood") | mirrored)] = WEAK
