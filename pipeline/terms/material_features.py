"""Stuffs and the features named behind them: `chest oak drop handles`, `cabinet, brass galleries`.

A feature draws the stuff before it to itself where it stands in a clause of its own, and leaves it
to the piece where the piece stands right before it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN
from pipeline.terms.material_forms import Forms
from pipeline.terms.material_kinds import below
from pipeline.terms.material_near import PART, WEAK, WHOLE, BoolArray, IntArray, Places
from pipeline.terms.phrases import has_role

_FEET = frozenset(["legs", "leg", "feet", "foot"])
_PLAIN_PARTS = _FEET | frozenset(
    ["handles", "handle", "lid", "lids", "base", "seat", "seats", "back", "backs", "door", "doors",
     "knobs", "strap", "straps", "top", "drawers", "drawer", "front", "sides", "shelves"]
)  # fmt: skip
# nouns of details that are parts of any piece; what is the face or the body of some is not here
_DETAILS = frozenset(
    ["interior", "secondary", "lining", "hasp", "catch", "fixtures", "brassware", "sockets",
     "socket", "branches", "drops", "lustres", "swags", "chains", "galleries", "gallery", "mesh",
     "lattice", "rivets", "straps", "beading", "fret", "spandrels", "winder", "line", "lines",
     "balls", "eagle", "bow", "garland", "festoons", "squab", "upholstery", "webbing", "stuffing",
     "cord", "cords", "rope", "ropes", "braid", "hangings", "pad", "pads", "skiver", "surface",
     "accents", "detail", "details", "detailing", "highlights", "ornamentation", "appliques",
     "monogram", "initials", "inscription", "lettering", "roundel", "roundels", "fitments",
     "repair", "repairs", "patch", "patches", "replacements", "restoration", "additions",
     "partitions", "compartments", "flaps", "treads", "runners", "glides", "dowels", "colonettes",
     "cresting", "canopy", "footboard", "siderails", "core", "substrate", "movement", "spire",
     "escapement", "pendulum", "weights", "bezel", "finials", "finial", "crest", "backs"]
)  # fmt: skip
_OF_INSTRUMENTS = frozenset(
    ["scale", "scales", "register", "registers", "plates", "slides", "slide", "index", "vernier",
     "eyepiece", "eyepieces", "shutter", "needle", "gimbals", "screw", "screws"]
)  # fmt: skip
_SKINS_OF_CHESTS = (
    "leather", "velvet", "shagreen", "tortoiseshell", "ivory", "precious-metal", "copper", "brass",
    "gilt-metal",
)  # fmt: skip
_LAID_OVER = frozenset(
    ["veneered", "covered", "clad", "sheathed", "faced", "overlaid", "encased", "plated"]
)
_VENEERED = frozenset(["veneered", "faced", "overlaid"])
_VENEERS = frozenset(["veneer", "veneers"])
_WITH_OR_IN = frozenset(["with", "in"])
_FINISHES = ("ebonised", "japanned", "marquetry", "lacquer")
_PANELLED = frozenset(["panelled", "paneled"])
_FIGURES, _CROSS = frozenset(["figure", "corpus", "christ"]), frozenset({"cross"})
_WORKS, _KEYS = frozenset({"works"}), frozenset(["key", "keys", "pendulum"])
_HOW_IT_WORKS = frozenset(["well", "fine", "great", "perfectly", "ok", "good", "when", "but"])
_LINED = frozenset(["lined", "trimmed", "handled"])
_BUILT_WITH = frozenset(
    ["oak", "pine", "deal", "spruce", "fir", "softwood", "beech", "poplar", "lime", "limewood",
     "wood"]
)  # fmt: skip
_CARCASES = frozenset(["carcase", "carcass"])
_ENDS_A_DETAIL = frozenset(
    ["with", "on", "in", "and", "to", "of", "for", "over", "under", "within", "between", "behind"]
)
_WORDS_BEFORE, _LONGEST_DETAIL = 2, 6


class Features(Forms):
    """Rules on features."""

    def most_of_it(self, place: Places) -> None:
        """Also, where nothing else is told, the stuff between a piece and its feature."""
        self._carcase_and_veneer(place)
        self._beside_a_finish(place)
        self._with_lace(place)
        self._panelled(place)
        self._of_figure_and_cross(place)
        super().most_of_it(place)
        self._before_a_feature(place)

    def _clause_of_a_detail(self, place: Places) -> None:
        """ "An ebonised cabinet, brass galleries", "clock, oak case, brass eight day movement".

        The clause begins with the stuff and ends with the detail. A wood before legs, arms or
        drawers may be all that is told of the wood of the piece.
        """
        stream, rows = self._stream, self.rows
        head = self._head[rows.title]
        ends = np.append(self._things.end, -1)[head]
        row = (place < PART) & (self._zone == MAIN) & (head >= 0) & (rows.start >= ends)
        row &= stream.clause[rows.start] != stream.clause[np.maximum(ends - 1, 0)]
        row &= self._linked & ~rows.within
        # "satinwood and ebony line" may tell both woods of the piece
        row &= ~(self._after_word & has_role(self._context.ends[self._before], "conjunction"))
        opens = np.zeros(len(row), dtype=bool)
        for back in range(_WORDS_BEFORE + 1):
            at = rows.start - back
            opens |= (at >= 0) & stream.opens_clause(np.maximum(at, 0))
        rows_at = np.flatnonzero(row & opens)
        if not len(rows_at):
            return
        last = self._last_of_detail(rows_at)
        word = stream.word[last]
        noun = self._words(_DETAILS)[word]
        instruments = self.family("scientific-instruments", "barometer", "thermometer")[rows_at]
        noun |= self._words(_OF_INSTRUMENTS)[word] & instruments
        hard = below(self._lexicon, "metal", "leather", "textile", "stone", "organic")
        soft = hard[rows.concept[rows_at]]
        told = np.bincount(rows.title[place < PART], minlength=stream.n_titles)
        clocks = self.family("clocks-and-watches")[rows_at]
        beside = (told[rows.title[rows_at]] > 1) | clocks
        part = has_role(self._context.starts[last], "part") & (last > rows.end[rows_at])
        noun |= part & soft & beside
        laid = below(self._lexicon, "japanned", "lacquer", "marquetry", "veneer", "inlaid-wood")
        covered = self._titles(laid[rows.concept])
        noun |= self._words(_CARCASES)[word] & covered[rows.title[rows_at]]
        noun &= last >= rows.end[rows_at]
        place[rows_at[noun]] = PART

    def _before_a_last_word(self, place: Places, row: BoolArray) -> None:
        """ "Kettle copper works well", "clock oak key", "coat wool lined": of the piece.

        It works, it has a key, it has a lining; a box lined with silver is told as "silver lined".
        """
        closes = self._stream.closes_clause(np.minimum(self.rows.end + 1, len(self._stream)))
        works = self._next(_WORKS)
        works &= closes | self._words(_HOW_IT_WORKS)[self._stream.word[self._second]]
        grown = below(self._lexicon, "wood", "leather")[self.rows.concept]
        keys = self._next(_KEYS) & grown & ~self.family("key")
        soft = below(self._lexicon, "textile", "leather", "wicker", "straw", "rattan")
        lined = self._next(_LINED) & closes & soft[self.rows.concept]
        lined &= self.family("clothing", "curtains", "basket", "hamper")
        place[row & (works | keys | lined)] = WEAK

    def _last_of_detail(self, rows_at: npt.NDArray[np.intp]) -> IntArray:
        """Of findings the last word of what is said: before "with", "of" or the clause's end."""
        stream = self._stream
        last = self.rows.end[rows_at] - 1
        stops = self._words(_ENDS_A_DETAIL)[stream.word]
        stops |= has_role(self._context.starts, "with", "conjunction", "subject", "purpose")
        clause = stream.clause[self.rows.start[rows_at]]
        alive = np.ones(len(last), dtype=bool)
        for _ in range(_LONGEST_DETAIL):
            ahead = np.minimum(last + 1, len(stream) - 1)
            alive &= (ahead > last) & (stream.clause[ahead] == clause) & ~stops[ahead]
            last = np.where(alive, ahead, last)
        return last.astype(np.int32)

    def _carcase_and_veneer(self, place: Places) -> None:
        """ "Oak veneered with kingwood", "pine, mahogany veneer", "wood covered with leather".

        What one sees is what the piece is called after; a seat is called after its wood.
        """
        stream, rows = self._stream, self.rows
        laid = self._words(_LAID_OVER)[stream.word]
        veneer = self._next(_VENEERS) | self._words(_VENEERS)[stream.word[rows.end - 1]]
        titles = np.zeros(stream.n_titles, dtype=bool)
        titles[stream.title[laid]] = True
        titles[rows.title[veneer]] = True
        wood = below(self._lexicon, "wood")[rows.concept]
        # "veneered" is a name of its own beside the wood that it is said of
        told = titles[rows.title] & (place < PART) & ~self._is("veneer")
        of_skin = below(self._lexicon, *_SKINS_OF_CHESTS)[rows.concept]
        chests = self.family("box", "chest", "trunk", "casket", "shield", "cross", "reliquary")
        built = self._words(_BUILT_WITH)[stream.word[rows.end - 1]]
        led = self._words(_WITH_OR_IN)[stream.word]
        found = np.flatnonzero(told)
        for one, other in zip(found[:-1].tolist(), found[1:].tolist(), strict=True):
            if rows.title[one] != rows.title[other] or not wood[one]:
                continue
            between = np.arange(rows.end[one] - 1, rows.start[other])  # "oak veneered" is a name
            if len(between) > _LONGEST_DETAIL:
                continue
            over = bool(laid[between].any() and led[between].any())
            veneered = self._words(_VENEERED)[stream.word[between]].any() and wood[other]
            if over and (veneered or (of_skin[other] and chests[one])):
                place[one], place[other] = PART, WHOLE
            elif built[one] and wood[other] and veneer[other] and not laid[between].any():
                place[one] = PART

    def _beside_a_finish(self, place: Places) -> None:
        """ "An ebonised and brass clock": the finish is the piece, the metal its mounts."""
        rows = self.rows
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        ends[rows.end[below(self._lexicon, *_FINISHES)[rows.concept] & (place < PART)]] = True
        joined = self._after_word & has_role(self._context.ends[self._before], "conjunction")
        joined &= ends[self._before] & self._context.linked[self._before]
        mounts = below(self._lexicon, "metal", "organic", "pearl", "porcelain")[rows.concept]
        mounts &= ~below(self._lexicon, "gilded")[rows.concept]
        joined &= self.family("furniture", "clocks-and-watches", "box") & mounts
        place[joined & (place == WHOLE)] = PART

    def _with_lace(self, place: Places) -> None:
        """ "Tablecloth linen lace" is of linen, with lace."""
        rows = self.rows
        lace = self._is("lace") & self._stream.closes_clause(rows.end) & (place < PART)
        lace &= rows.end - rows.start == 1
        cloth = below(self._lexicon, "cotton", "linen", "silk", "wool")[rows.concept]
        starts_lace = self._starts(lace)
        trimmed = cloth & self._linked & starts_lace[self._at] & (self._zone == MAIN)
        trimmed &= self.family("dress", "blouse", "tablecloth", "bedding", "shirt", "nightdress")
        place[trimmed] = WHOLE
        titles = self._titles(trimmed)
        place[lace & titles[rows.title]] = PART

    def _panelled(self, place: Places) -> None:
        """ "Tortoiseshell panelled snuff box": a small box is what it is panelled with."""
        panelled = self._next(_PANELLED) & (place == PART) & (self._zone == MAIN)
        panelled &= self.family("snuff-box", "box", "etui", "card-case", "tea-caddy")
        place[panelled & self._none_told(place)] = WHOLE

    def _of_figure_and_cross(self, place: Places) -> None:
        """ "Crucifix; ivory figure, ebony cross": of the figure."""
        crucifix = self.family("crucifix")
        figure = crucifix & self._next(_FIGURES) & (place <= PART)
        if figure.any():
            place[figure] = WHOLE
            cross = crucifix & self._next(_CROSS) & self._titles(figure)[self.rows.title]
            place[cross] = PART

    def _before_a_feature(self, place: Places) -> None:
        """ "Chest of drawers oak drop handles", "tankard pewter hinged lid": thing, stuff, feature.

        In a run of words without commas the stuff right behind the piece is the piece's, and the
        words of form behind it belong to the part that they lead to ("oak legs" has none).
        """
        stream, rows = self._stream, self.rows
        ends = np.append(self._things.end, -1)[self._head[rows.title]]
        row = (place == PART) & (self._zone == MAIN) & (ends == rows.start) & self._after_word
        row &= self._none_told(place)
        self._before_a_last_word(place, row)
        row &= self._second_linked
        row &= ~self._next(_PLAIN_PARTS) & ~self._roles_next("with", "conjunction", "subject")
        third = np.minimum(self._second + 1, len(stream) - 1)
        features = self._words(_PLAIN_PARTS)[stream.word]
        near = features[self._second]
        far = ~near & features[third] & self._context.linked[third]
        row &= near | far
        wood = below(self._lexicon, "wood")[rows.concept]
        of_wood = wood & self.family("furniture", "box", "suitcase", "clocks-and-watches")
        # "sofa walnut bun feet" is covered with something else
        stands = self._words(_FEET)[stream.word[np.where(near, self._second, third)]]
        of_wood &= ~(stands & self.family("seat-furniture"))
        vessel = below(self._lexicon, "metal", "glass", "ceramic", "stone")[rows.concept]
        vessel &= self.family("tableware-and-vessels", "glassware", "ceramics", "lighting", "urn")
        vessel &= ~below(self._lexicon, "precious-metal", "silver", "gold")[rows.concept]
        bags = below(self._lexicon, "leather", "textile")[rows.concept] & self.family(
            "bag", "handbag"
        )
        place[row & (of_wood | vessel | bags)] = WEAK
