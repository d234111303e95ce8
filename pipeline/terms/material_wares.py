"""Goods of one trade, and which of the stuffs told is theirs: "clock, oak case, brass"."""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import MAIN
from pipeline.terms.doubts import unlike
from pipeline.terms.material_features import Features
from pipeline.terms.material_kinds import below
from pipeline.terms.material_near import (
    BODY,
    NOTHING,
    PART,
    WEAK,
    WHOLE,
    BoolArray,
    IntArray,
    Places,
)
from pipeline.terms.tokens import FULL_STOP

_FRAMED = (
    "clocks-and-watches", "mirror", "spectacles", "lantern", "locket", "pendant", "brooch", "ring",
)  # fmt: skip
_HELD_IN_A_FRAME = ("glass", "enamel", "pearl", "stone", "horn", "hair")
_HOOPS, _CASES = frozenset(["hoop", "hoops", "shank"]), frozenset({"case"})
_FRAME, _OF = frozenset(["frame", "frames"]), frozenset({"of"})
_WORDS_FROM_FRAME = 4  # "frame of carved and gilded limewood"
_LAID = ("marquetry", "parquetry", "veneer", "inlaid-wood", "boulle")
_TOPS_AND_MOUNTS = ("stone", "ormolu", "bronze", "ivory", "leather", "silver", "gold", "brass")
_CUT_STONES = ("cameo", "intaglio")
_SET, _IN = frozenset(["mounted", "set", "framed"]), frozenset({"in"})
_TEMPERED = frozenset(["tempered", "gritted"])
_BINDING = frozenset(["binding", "bindings", "edging", "rand"])
_EDGED = ("quilt", "blanket", "shoes")
_SHELL_WARES = frozenset(["whieldon", "staffordshire", "creamware", "pearlware", "glazed", "glaze"])
_APPLIANCES = ("electricals", "typewriter", "sewing-machine", "bicycle", "pram", "dolls-pram",
               "toy-vehicle", "suitcase", "christmas-tree", "camera")  # fmt: skip
_PAINTS = ("ivory", "silver", "gold")
_FINE = frozenset(["sterling", "hallmarked", "solid", "925", "800", "handle", "handles", "mounted"])
_JAPANNED = frozenset(["japanned", "japanning", "painted", "decorated", "chinoiserie"])
_MARKS_OF_COINS, _MARK = frozenset(["mm", "mark", "mintmark"]), ("coins-and-medals",)
_RESTORED = frozenset(["restored", "missing", "broken", "repaired", "chipped", "lacking", "losses"])
_FORMS = frozenset(["shape", "shapes", "form", "forms"])
_LIDDED = frozenset({"lidded"})
_LIDDED_VESSELS = ("jar", "stein", "tankard", "jug", "inkwell", "scent-bottle", "biscuit-barrel")
_OF_HORN = (
    "horn-instrument", "drinking-horn", "hunting-horn", "powder-horn", "antlers", "taxidermy",
)  # fmt: skip
_PLATES = frozenset(["plaques", "plates", "rings", "links", "panels", "scales"])
_PLATED = ("box", "reliquary", "armour")


class Wares(Features):
    """Rules on what is usual of a kind of goods."""

    def most_of_it(self, place: Places) -> None:
        """Also for framed and laid-in goods, cut stones, edged cloths."""
        self._said_of_other_wares(place)
        self._cut_and_set(place)
        self._laid_and_topped(place)
        super().most_of_it(place)
        self._in_a_frame(place)
        self._named_again(place)
        # "teapot pearlware spout restored": a pot is of one body, and the fault is the spout's
        fired = below(self._lexicon, "ceramic", "glass")[self.rows.concept] & (place == PART)
        fired &= self._words(_RESTORED)[self._stream.word[self._second]] & self._second_linked
        fired &= (self._zone == MAIN) & self._after_word & self._none_told(place)
        place[fired & self.family("ceramics", "tableware-and-vessels", "glassware")] = WEAK

    def _said_of_other_wares(self, place: Places) -> None:
        """Words of a stuff that on these goods tell a colour, a form, a mark or an edge."""
        rows, stream = self.rows, self._stream
        # "a porcelain dish of silver shape", "vase of archaic bronze form"
        metals = below(self._lexicon, "metal")[rows.concept]
        other = self._titles(~metals & (place < PART))[rows.title]
        placed = self._head[rows.title] >= 0
        starts = np.append(self._things.start, -1)[self._head[rows.title]]
        named_next = starts == rows.end + 1
        of_form = self._next(_FORMS) & (other | named_next | self._of_form())
        place[metals & of_form & placed] = NOTHING
        # "shell-tempered ware"
        place[self._next(_TEMPERED)] = NOTHING
        # "quilt, silk binding"
        place[self._next(_BINDING) & self.family(*_EDGED) & (place < PART)] = PART
        # "Whieldon tortoiseshell plate": so is it glazed
        shell = self._is("tortoiseshell") & self.family("ceramics", "tableware-and-vessels")
        wares = self._titles_with(_SHELL_WARES)[rows.title]
        place[shell & wares] = NOTHING
        # "ivory telephone", "silver bicycle": painted so
        painted = self._is(*_PAINTS) & self.family(*_APPLIANCES)
        painted &= rows.end - rows.start == 1
        place[painted & ~self._titles_with(_FINE)[rows.title] & (place < PART)] = NOTHING
        # "black and gold japanned softwood"
        place[self._is("gold") & self._next(_JAPANNED) & (place < PART)] = NOTHING
        # "sixpence, 1562, mm. ermine"
        marks = self._words(_MARKS_OF_COINS)[stream.word[self._before]]
        same = stream.title[self._before] == rows.title
        place[marks & same & (rows.start > 0) & self.family(*_MARK)] = NOTHING
        # "Staffordshire cow, horn restored"
        horns = self._is("horn") & self._next(_RESTORED) & ~self.family(*_OF_HORN)
        place[horns] = PART
        # "silver lidded jar", "pewter lidded stein"
        lids = self._next(_LIDDED) & metals & self.family(*_LIDDED_VESSELS)
        place[lids & (place < PART)] = PART

    def _cut_and_set(self, place: Places) -> None:
        """ "Cameo, onyx, mounted in gold": of the stone, which the metal holds."""
        rows, stream = self.rows, self._stream
        stones = below(self._lexicon, "stone", "shell", "organic", "glass")[rows.concept]
        stones &= (place < PART) & self.family(*_CUT_STONES)
        two_back = np.maximum(rows.start - 2, 0)
        held = self._after_word & self._words(_IN)[stream.word[self._before]]
        held &= self._words(_SET)[stream.word[two_back]] & (stream.title[two_back] == rows.title)
        held &= below(self._lexicon, "metal")[rows.concept] & (place < PART)
        place[held & self._titles(stones)[rows.title]] = PART

    def _laid_and_topped(self, place: Places) -> None:
        """ "Commode, marquetry of various woods, gilt bronze, marble": mounts and a top."""
        rows = self.rows
        laid = below(self._lexicon, *_LAID)[rows.concept] & (place < PART) & (self._zone == MAIN)
        laid &= self.family("furniture")
        if not laid.any():
            return
        first = self._first_of(laid)
        mounts = below(self._lexicon, *_TOPS_AND_MOUNTS)[rows.concept] & (place < PART)
        clause = self._stream.clause
        at = np.minimum(first[rows.title], len(self._stream) - 1)
        mounts &= (rows.start > first[rows.title]) & (clause[rows.start] != clause[at])
        place[mounts] = PART

    def _in_a_frame(self, place: Places) -> None:
        """ "Clock, oak case, brass", "ring, gold hoop, sapphire": case and hoop, told first."""
        rows = self.rows
        hoops = self._words(_HOOPS)[self._stream.word[rows.end - 1]] | self._next(_HOOPS)
        cases = self._next(_CASES) & self.family("locket") | hoops & self.family("ring")
        plates = self._next(_PLATES) & self.family(*_PLATED) & self._none_told(place)
        place[(cases | plates) & (place == PART) & (self._zone == MAIN)] = BODY
        # "mirror in frame of carved and gilded limewood"
        frames = self.family("mirror") & (place == PART) & self._none_told(place)
        place[frames & self._behind_frame_of()] = BODY
        framed = self.family(*_FRAMED) & (self._zone == MAIN)
        bodies = framed & (place == BODY)
        if not bodies.any():
            return
        first = self._first_of(bodies)
        later = framed & (place == WHOLE) & (rows.start > first[rows.title])
        later &= self._stream.opens_clause(rows.start)
        of_wood = self._titles(bodies & below(self._lexicon, "wood")[rows.concept])[rows.title]
        held = below(self._lexicon, *_HELD_IN_A_FRAME)[rows.concept]
        held |= of_wood & below(self._lexicon, "metal")[rows.concept]
        place[later & held] = PART

    def _named_again(self, place: Places) -> None:
        """ "Mancerina. Silver saucer": the same thing again, where no other stuff is told."""
        stream, rows, things = self._stream, self.rows, self._things
        thing_at = np.full(len(stream), -1, dtype=np.int32)
        thing_at[things.start] = np.arange(len(things.start), dtype=np.int32)
        other = np.where(self._linked, thing_at[self._at], -1)
        head = self._head[rows.title]
        again = (place == PART) & (other >= 0) & (head >= 0) & (other != head)
        again &= (self._zone == MAIN) & self._none_told(place)
        again &= (stream.before[rows.start] & FULL_STOP) > 0
        found = np.flatnonzero(again)
        alone = stream.starts()[things.start[head[found]]]
        alone &= stream.closes_clause(things.end[head[found]])
        alike = ~unlike(self._lexicon, things.concept[other[found]], things.concept[head[found]])
        place[found[alone & alike]] = WHOLE

    def _behind_frame_of(self) -> BoolArray:
        """Whether "frame of" stands a few words before, in the clause."""
        stream, start = self._stream, self.rows.start
        hit = np.zeros(len(start), dtype=bool)
        frame, of = self._words(_FRAME)[stream.word], self._words(_OF)[stream.word]
        for back in range(1, _WORDS_FROM_FRAME + 1):
            at = np.maximum(start - back, 0)
            before = np.maximum(at - 1, 0)
            same = stream.clause[before] == stream.clause[start]
            hit |= of[at] & frame[before] & same & (start - back > 0)
        return hit

    def _of_form(self) -> BoolArray:
        """Whether the piece is named before the stuff: "coffee pot of silver form"."""
        ends = np.append(self._things.end, -1)[self._head[self.rows.title]]
        return (ends > 0) & (ends <= self.rows.start)

    def _first_of(self, findings: BoolArray) -> IntArray:
        """For each title the first word of the first of the findings; past all words for none."""
        first = np.full(self._stream.n_titles, len(self._stream), dtype=np.int32)
        np.minimum.at(first, self.rows.title[findings], self.rows.start[findings])
        return first

    def _titles_with(self, words: frozenset[str]) -> BoolArray:
        """Titles that hold one of the words."""
        flags = np.zeros(self._stream.n_titles, dtype=bool)
        flags[self._stream.title[self._words(words)[self._stream.word]]] = True
        return flags
