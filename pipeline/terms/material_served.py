"""Stuffs that a tool works on or a holder holds, and those of a few pieces out of many."""

from __future__ import annotations

import numpy as np

from pipeline.terms.material_headings import Headings
from pipeline.terms.material_kinds import MATERIAL, aspects_of
from pipeline.terms.material_near import PART, BoolArray, IntArray, Places

# "wood lathe", "cloth seal", "wool cards": the stuff and the name of what serves it
_SERVED = (
    (
        frozenset({"wood"}),
        frozenset(["lathe", "lathes", "axe", "axes", "vice", "vices", "router", "store", "turner"]),
    ),
    (frozenset({"metal"}), frozenset(["lathe", "lathes"])),
    (frozenset({"wool"}), frozenset(["card", "cards", "winder"])),
    (frozenset({"cotton"}), frozenset(["barrel", "barrels"])),
    (frozenset({"cloth"}), frozenset(["seal", "seals", "press", "presses"])),
    (
        frozenset({"card"}),
        frozenset(
            ["index", "holder", "holders", "shuffler", "tray", "trays", "press", "marker",
             "markers", "rack", "racks", "dealer"]
        ),
    ),
)  # fmt: skip
_GLASS, _ENGRAVING = frozenset({"glass"}), frozenset({"engraving"})
_TOOL = frozenset(["tool", "tools", "machine", "set", "kit"])
_IRON, _STANDS = frozenset(["iron", "irons"]), frozenset(["stand", "rest", "holder", "tidy"])
_KINDS_OF_IRONS = frozenset(["flat", "sad", "goffering", "curling", "crimping", "smoothing"])
_FIRE, _WAX, _SEAL = frozenset({"fire"}), frozenset({"wax"}), frozenset({"seal"})
_TIN, _OF = frozenset({"tin"}), frozenset({"of"})
_AGED = frozenset(["old", "vintage", "assorted", "mixed"])
_KEPT_IN_TINS = ("button", "key", "coin", "marbles", "bead", "badge")
_ONE_OF_MANY = frozenset(["one", "some", "few"])
_SEVERAL_OF_MANY = frozenset(["two", "three", "four"])
_NOT_COUNTED_OUT = frozenset(["of", "set", "pair", "x"])


class Served(Headings):
    """Where a stuff is what the thing is for, or that of another piece of the lot."""

    def _other_stuff(self, place: Places, besides: BoolArray) -> BoolArray:
        """Findings in titles that tell another substance of the whole."""
        told = (aspects_of(self._lexicon)[self.rows.concept] == MATERIAL) & (place < PART)
        count = np.bincount(self.rows.title[told & ~besides], minlength=self._stream.n_titles)
        return count[self.rows.title] > 0

    def of_served(self, place: Places) -> BoolArray:
        """Stuffs that say what a thing is for and not what it is of."""
        rows, words = self.rows, self._words
        single = rows.end - rows.start == 1
        first = self._stream.word[rows.start]
        nothing = np.zeros(len(single), dtype=bool)
        for stuffs, wares in _SERVED:
            nothing |= words(stuffs)[first] & self._next(wares)
        engraved = words(_GLASS)[first] & self._next(_ENGRAVING) & self._second_linked
        nothing |= engraved & words(_TOOL)[self._stream.word[self._second]]
        # "seal wax brass"
        one_back = self._stream.word[self._before]
        waxed = words(_WAX)[first] & self._after_word & words(_SEAL)[one_back]
        nothing |= waxed & self._other_stuff(place, waxed)
        nothing |= self._irons(first, one_back, place) | self._tins_of_goods(first)
        return single & nothing

    def _irons(self, first: IntArray, one_back: IntArray, place: Places) -> BoolArray:
        """ "Flat iron stand, brass", "iron holder, cotton", "fire iron, steel"."""
        irons = self._words(_IRON)[first]
        if not irons.any():
            return irons
        stands = self._next(_STANDS)
        # "stand, iron, brass", where the two words are a name
        stands |= self.family("trivet") & self._stream.opens_clause(self.rows.start)
        named = self._after_word & self._words(_KINDS_OF_IRONS)[one_back]
        fire = self._after_word & self._words(_FIRE)[one_back]
        other = self._other_stuff(place, irons)
        return irons & ((self._next(_STANDS) & named) | ((stands | fire) & other))

    def _tins_of_goods(self, first: IntArray) -> BoolArray:
        """ "Tin old buttons", "biscuit tin of keys": what is sold is in it."""
        tin = self._words(_TIN)[first]
        goods = self.family(*_KEPT_IN_TINS)
        aged = self._stream.starts()[self.rows.start] & self._next(_AGED)
        return tin & goods & (aged | self._next(_OF))

    def of_some(self) -> BoolArray:
        """ "Spoons x 6 one silver", "set of six chairs, one oak": said of a few of them."""
        stream, rows = self._stream, self.rows
        word = stream.word[self._before]
        one = self._words(_ONE_OF_MANY)[word]
        few = one | self._words(_SEVERAL_OF_MANY)[word]
        few &= self._after_word & stream.closes_clause(rows.end)
        if not few.any():
            return few
        head = self._head[rows.title]
        ends = np.append(self._things.end, -1)[head]
        few &= (ends > 0) & (ends <= self._before)
        two_back = np.maximum(rows.start - 2, 0)
        counted = self._words(_NOT_COUNTED_OUT)[stream.word[two_back]]
        few &= ~(counted & self._context.linked[self._before])
        many = stream.spellings_that("a plural", _is_plural)[stream.spelling]
        # "rings x3 two gold", though not "chairs, two oak"
        counts = stream.spellings_that("a count", _is_count)[stream.spelling]
        numbers = np.append(0, np.cumsum(self._context.is_number | counts))
        begin = stream.first[rows.title]
        told = numbers[self._before] > numbers[begin]
        few &= many[np.maximum(ends - 1, 0)] & (one | told)
        # "watches, one gold plated": both names end there
        ending = np.zeros(len(stream) + 1, dtype=bool)
        ending[rows.end[few]] = True
        return ending[rows.end]


def _is_count(spelling: str) -> bool:
    return spelling.startswith("x") and spelling[1:].isdigit()


def _is_plural(spelling: str) -> bool:
    return spelling.endswith("s") and not spelling.endswith("ss")
