"""Stuffs that are words of a turned heading: "Punch, leather", "Horn, shoe", "Iron, curling"."""

from __future__ import annotations

import numpy as np

from pipeline.terms.material_bare import Bare
from pipeline.terms.material_kinds import MATERIAL, aspects_of
from pipeline.terms.material_near import WHOLE, BoolArray, Places

# what is cut and drilled, and hard enough for a tool to be of it
WORKED_ON = frozenset(
    ["wood", "leather", "glass", "stone", "bone", "metal", "tin", "lino", "cork", "rubber"]
)
TOOLS = frozenset(
    ["chisel", "chisels", "plane", "planes", "punch", "punches", "cutter", "cutters", "saw", "saws",
     "opener", "openers", "drill", "rasp", "file", "gouge", "gouges", "screw", "turning", "snips",
     "auger", "augers", "borer", "splitter", "splitters", "crusher", "puller", "worker", "workers",
     "stretcher", "stretchers"]
)  # fmt: skip
# what no tool is of
TOO_SOFT = frozenset(
    ["paper", "card", "straw", "hemp", "flax", "wool", "silk", "cotton", "coconut", "hide",
     "cork", "lino", "feather", "tapa"]
)  # fmt: skip
HANDLES_SOFT = TOOLS | frozenset(
    ["breaker", "grater", "graters", "gin", "carder", "carders", "comb", "combs", "hackle",
     "spinner", "sorter", "shredder", "clip", "clips", "weight", "weights", "press", "beater",
     "dispenser", "trimmer", "baler", "scales"]
)  # fmt: skip
# "weight, wool", "comb, wool", "case, card": what tools and holders are for
_WORKS_OR_HOLDS = frozenset(
    ["weight", "comb", "knife", "winder", "press", "reel", "jack", "nip", "nips", "case", "cabinet",
     "hook", "counter", "smoother", "clip", "rack", "basket", "crate", "card", "cards"]
)  # fmt: skip
_WORKED = frozenset(
    ["wool", "paper", "silk", "linen", "card", "cotton", "wax", "rush", "china", "lace", "thread",
     "flax", "straw"]
)  # fmt: skip
# tools and wares, and what they are for where nothing else is told
_ALWAYS_FOR = (
    (frozenset(["packet", "packets", "envelope"]), frozenset(["seed", "seeds"])),
    (frozenset({"shears"}), frozenset({"wool"})),
    (frozenset({"pillow"}), frozenset({"lace"})),
    (frozenset({"press"}), frozenset(["cloth", "linen"])),
    (frozenset(["seal", "seals"]), frozenset({"cloth"})),
    (frozenset(["machine", "frame"]), frozenset(["knitting", "lace", "stocking"])),
)


class Headings(Bare):
    """Where the words of a name stand in another order, and a stuff is one of them."""

    def of_turned_headings(self, place: Places) -> BoolArray:
        """Stuffs that the straight name would not be made of."""
        single = self.rows.end - self.rows.start == 1
        return self._worked_or_held(single) | self._named_itself(single, place)

    def _worked_or_held(self, single: BoolArray) -> BoolArray:
        """ "Weight, wool; lead", "press, linen; oak": what the thing works or holds."""
        stream, words, start = self._stream, self._words, self.rows.start
        before = np.maximum(start - 1, 0)
        alone = single & stream.opens_clause(start) & stream.closes_clause(self.rows.end)
        alone &= stream.starts()[before] & (before < start)
        alone &= stream.title[before] == self.rows.title
        heading, worked = stream.word[before], stream.word[start]
        later = np.bincount(self.rows.title, minlength=stream.n_titles) > 1
        fits = words(_WORKS_OR_HOLDS)[heading] & words(_WORKED)[worked]
        fits |= words(TOOLS)[heading] & words(WORKED_ON)[worked]
        fits |= words(HANDLES_SOFT)[heading] & words(TOO_SOFT)[worked]
        fits &= later[self.rows.title]
        for of_things, stuffs in _ALWAYS_FOR:
            fits |= words(of_things)[heading] & words(stuffs)[worked]
        return alone & fits

    def _named_itself(self, single: BoolArray, place: Places) -> BoolArray:
        """ "Horn, shoe, brass", "lead, dog; leather": the heading, and what it is of is told."""
        stream, rows, things = self._stream, self.rows, self._things
        opens = single & stream.starts()[rows.start] & stream.closes_clause(rows.end)
        head = self._head[rows.title]
        opens &= (head >= 0) & (np.append(things.start, -1)[head] == rows.start)
        told = (place == WHOLE) & (aspects_of(self._lexicon)[rows.concept] == MATERIAL)
        count = np.bincount(rows.title[told], minlength=stream.n_titles)
        at = np.flatnonzero(opens & (count[rows.title] > told))
        turned = np.zeros(len(rows.start), dtype=bool)
        meant = self._lexicon.concept_of["category"]
        for row in at.tolist():
            phrase = int(things.phrase[head[row]])
            longer = len(self._lexicon.phrases[phrase]) > 1
            turned[row] = longer or meant[phrase] != things.concept[head[row]]
        return turned
