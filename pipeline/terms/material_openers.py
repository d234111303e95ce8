"""Materials behind "of", "in", "on", "from" and "with": where such a word leads to the piece.

The grammar (`material_places.py`) takes most of what stands behind these words for an addition.
"""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import ADDITION
from pipeline.terms.material_kinds import MATERIAL, TECHNIQUE, aspects_of, below
from pipeline.terms.material_near import PART, WEAK, WHOLE, BoolArray, IntArray, Places
from pipeline.terms.material_senses import Senses
from pipeline.terms.phrases import has_role

_MADE = frozenset(
    ["made", "formed", "fashioned", "constructed", "cut", "carved", "turned", "hewn", "worked",
     "cast", "built", "shaped", "woven", "crafted"]
)  # fmt: skip
_OF, _IN, _ON = frozenset(["of", "from"]), frozenset({"in"}), frozenset({"on"})
_HELD = frozenset(
    ["mounted", "framed", "cased", "encased", "housed", "enclosed", "boxed", "set", "kept"]
)
_AGED = frozenset(["antique", "vintage", "victorian", "georgian", "edwardian"])
_PIECES = frozenset(["piece", "block", "trunk", "log", "slab", "section", "sheet", "root"])
_FROM = frozenset(["from", "out"])
_WORDS_OF_ONE = 3  # "from a single solid piece of"
_NEAR, _FAR = 2, 3  # words between the opener and the material
# what pictures are drawn, printed and painted on
_SUPPORTS = ("textile", "paper", "leather", "vellum", "parchment", "glass", "copper", "tinplate")
_PICTURES = ("prints-and-paintings", "books-and-paper", "maps-and-globes", "advertising-sign")
# a piece of the family is mostly of such a stuff
_OWN_STUFF = {
    "wood": ("furniture",),
    "ceramic": ("ceramics", "tableware-and-vessels", "figurine", "bust", "tile"),
    "glass": ("glassware", "tableware-and-vessels"),
}
_BACKED = frozenset(["backed", "laid", "mounted", "pasted", "lined", "framed", "folded"])
_WORDS_AFTER_WITH = 2
_STATES = ("with", "conjunction", "subject", "purpose")


class Openers(Senses):
    """Rules on the word that leads to a material."""

    def _behind_openers(self, place: Places) -> None:
        self._made_of(place)
        self._in_a_stuff(place)
        if self._lexicon.field_kind != "material":  # there a medium is named first
            self._on_a_support(place)
        self._behind_keywords(place)

    def _between(self) -> IntArray:
        """Words between the opener of a finding and the finding; many where none opens it."""
        apart = self.rows.start - self._opener - 1
        return np.where(self._opener >= 0, apart, len(self._stream)).astype(np.int32)

    def _opened_by(self, words: frozenset[str]) -> BoolArray:
        opener = np.maximum(self._opener, 0)
        return (self._opener > 0) & self._words(words)[self._stream.word[opener]]

    def _made_of(self, place: Places) -> None:
        """ "Vases made from brass shell cases": of brass, whatever is named behind it."""
        opener = np.maximum(self._opener, 0)
        one_back, two_back = np.maximum(opener - 1, 0), np.maximum(opener - 2, 0)
        made = self._words(_MADE)[self._stream.word[one_back]] & self._context.linked[opener]
        of_part = has_role(self._context.ends[two_back], "part") & self._context.linked[one_back]
        led = self._opened_by(_OF) & made & ~of_part & (self._between() <= _NEAR)
        substance = aspects_of(self._lexicon)[self.rows.concept] == MATERIAL
        place[led & substance & (place == PART)] = WHOLE
        place[self._out_of_one_piece() & substance] = WHOLE

    def carved_of(self) -> BoolArray:
        """ "Box carved from amber": findings right behind a word of making and its "of"."""
        two_back = np.maximum(self.rows.start - 2, 0)
        led = self._after_word & self._words(_OF | _IN)[self._stream.word[self._before]]
        made: BoolArray = self._words(_MADE)[self._stream.word[two_back]]
        return led & made & self._context.linked[self._before]

    def _out_of_one_piece(self) -> BoolArray:
        """ "Turned from a single piece of yew"."""
        start, stream = self.rows.start, self._stream
        of = self._words(_OF)[stream.word[self._before]] & self._after_word
        two_back = np.maximum(start - 2, 0)
        piece = (
            of & self._words(_PIECES)[stream.word[two_back]] & self._context.linked[self._before]
        )
        led = np.zeros(len(start), dtype=bool)
        for back in range(3, 3 + _WORDS_OF_ONE):
            at = np.maximum(start - back, 0)
            led |= self._words(_FROM)[stream.word[at]] & (stream.clause[at] == stream.clause[start])
        return piece & led

    def _in_a_stuff(self, place: Places) -> None:
        """ "Sofa in hand-dyed chestnut leather": three words and no noun behind the stuff."""
        led = self._opened_by(_IN) & (self._zone == ADDITION) & (self._between() <= _FAR)
        free = ~self._linked | self._roles_next(*_STATES) | self._context.is_number[self._at]
        before = self._stream.word[np.maximum(self._opener - 1, 0)]
        worked = self._words(_HELD)[before]
        place[led & free & ~worked & (place == PART) & self._piece_before()] = WHOLE

    def _piece_before(self) -> BoolArray:
        """Whether the opener stands right behind the piece itself."""
        ends = np.append(self._things.end, -1)[self._head[self.rows.title]]
        return (ends >= 0) & (ends == self._opener)

    def _on_a_support(self, place: Places) -> None:
        """ "Poster on silk", "theorem, stencilled on velvet": nobody names what it is drawn in."""
        medium = below(self._lexicon, "painting-medium", "print-technique", "photograph")
        told = np.zeros(self._stream.n_titles, dtype=bool)
        told[self.rows.title[medium[self.rows.concept] & (place < PART)]] = True
        support = below(self._lexicon, *_SUPPORTS)[self.rows.concept]
        support &= aspects_of(self._lexicon)[self.rows.concept] != TECHNIQUE
        led = self._opened_by(_ON) & (self._between() <= _NEAR) & support
        led &= self.family(*_PICTURES) | (self._head[self.rows.title] < 0)
        led &= ~told[self.rows.title]
        free = ~self._linked | self._roles_next(*_STATES)
        backed = self._words(_BACKED)[self._stream.word[np.maximum(self._opener - 1, 0)]]
        place[led & free & ~backed & (place == PART)] = WEAK

    def _behind_keywords(self, place: Places) -> None:
        """ "Toby jug seated man w/ pipe & ale pearlware Georgian": a run of words without commas.

        What such a piece is mostly made of ends the run; no part is named behind it.
        """
        opener = np.maximum(self._opener, 0)
        with_it = has_role(self._context.starts[opener], "with") & (self._opener >= 0)
        with_it &= (self._zone == ADDITION) & (self._between() >= _WORDS_AFTER_WITH)
        before = self._context.ends[self._before]
        led = has_role(before, "with", "conjunction", "alternative", "fitted", "neutral")
        # "desk w/ bookcase top, mirror antique oak": the word of age is of the piece
        aged = self._words(_AGED)[self._stream.word[self._before]]
        aged &= self._stream.closes_clause(self.rows.end) & (self._between() > _WORDS_AFTER_WITH)
        led &= ~aged
        led |= self._words(_OF | _IN | _ON)[self._stream.word[self._before]]
        own = np.zeros(len(place), dtype=bool)
        for stuff, families in _OWN_STUFF.items():
            own |= below(self._lexicon, stuff)[self.rows.concept] & self.family(*families)
        named = np.zeros(len(self._stream), dtype=bool)
        named[self._things.start] = True
        goes_on = self._linked & (self._roles_next("part", "fitted", "body") | named[self._at])
        alone = np.bincount(self.rows.title[place < PART], minlength=self._stream.n_titles) == 0
        clause = self._stream.clause
        head_at = np.append(self._things.start, 0)[self._head[self.rows.title]]
        same = clause[self.rows.start] == clause[head_at]
        run = with_it & own & ~led & ~goes_on & same & alone[self.rows.title]
        place[run & (place == PART)] = WEAK
