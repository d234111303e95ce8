"""Materials by the form of words around them: `brass-nailed leather trunk`, `ring, gold setting`.

What hems, binds or studs a piece is a part of it; a frame is most of a mirror, a setting of a ring.
"""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import ADDITION, MAIN, latest
from pipeline.terms.describing import shapes
from pipeline.terms.material_beside import Beside
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
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import FULL_STOP, HYPHEN

_IN, _OF_OR_IN, _THE = frozenset({"in"}), frozenset(["of", "in"]), frozenset({"the"})
_WITH = frozenset(["in", "with", "within", "having"])
# what is done to the edges and seams of a piece and leaves most of it bare
_TRIMMED = frozenset(
    ["lined", "bound", "edged", "rimmed", "tipped", "trimmed", "banded", "crossbanded", "strung",
     "studded", "hooped", "hinged", "hilted", "footed", "inset", "bordered", "fringed", "capped",
     "highlighted", "heightened", "outlined", "repaired"]
)  # fmt: skip
_BOUND = frozenset({"bound"})
_COVERS_ALL = frozenset(
    ["veneered", "upholstered", "covered", "coloured", "colored", "toned", "tinted", "glazed",
     "fired", "plated", "painted", "lacquered", "panelled", "paneled", "bodied", "backed", "framed"]
)  # fmt: skip
_DECORATED = frozenset(["decorated", "embroidered", "beaded", "patinated"])
_ADDED = frozenset(["shod", "hung", "set"])
_FRAMES = frozenset(["frame", "frames", "surround"])
_FRAMED = frozenset({"framed"})
_BODIES = frozenset(["body", "carcase", "carcass", "exterior", "bodies"])
_CASES = frozenset(["case", "casing"])
_COVERS = frozenset(["covers", "cover", "boards", "binding", "bindings"])
_CASES_OF_CLOCKS = frozenset(["trunk", "hood", "surround"])
_PARTS_OF_TWO = 2
_TOPS = frozenset(["top", "tops", "seat", "seats"])
_SUPPORTS = frozenset(
    ["base", "bases", "legs", "frame", "frames", "pedestal", "supports", "trestles"]
)
_OF_ANOTHER_TIME = frozenset(["modern", "later", "new", "recent", "replacement", "replaced"])
_SETTINGS = frozenset(
    ["setting", "settings", "mount", "mounts", "band", "shank", "frame", "collet", "collets"]
)
_WIRES = frozenset(["wire", "wirework"])
_INK = frozenset({"ink"})
_MEDIA = frozenset(
    ["ink", "gold", "silver", "color", "colour", "colors", "colours", "pigment", "pigments",
     "paint", "ochre", "ochres", "beads", "wallpaper"]
)  # fmt: skip
_WITH_ALONE, _STRONG = frozenset({"with"}), frozenset(";|·")
_AND, _ON, _LEAF = frozenset({"and"}), frozenset({"on"}), frozenset({"leaf"})
_SHELL = frozenset({"shell"})
_HINGED, _LINED = frozenset(["hinged", "jointed"]), frozenset({"lined"})
# "navy wool, lined scarlet", "cape of wool lined with silk"
_LINED_WITH = frozenset(
    ["with", "in", "red", "blue", "green", "white", "yellow", "brown", "black", "pink", "grey",
     "gray", "cream", "purple", "orange", "scarlet", "crimson", "ivory"]
)  # fmt: skip
_GOLD, _TREEN = frozenset({"gold"}), frozenset({"treen"})
_GOLDEN = frozenset(["iridescent", "woven", "hardware", "hdwe", "zari", "fittings"])
_OF_TIN = ("tin", "canister", "tin-toy")
_FORMS_OF_BOWLS = frozenset(["shell", "shells"])
# kinds of things -> the part that is most of one: "churn, oak barrel", "snowshoes, ash frame"
_FRAME_OF = {
    (
        "kitchen-and-household", "tools", "scientific-instruments", "electricals",
        "sporting-and-travel", "bed-warmer",
    ): frozenset(
        ["box", "barrel", "frame", "frames", "jar", "shell", "wheel", "staff", "pillar", "pail",
         "rim", "boards", "sides", "body", "drum", "lath", "laths", "stem", "plate", "cylinder",
         "sphere"]
    ),
    ("bed-warmer",): frozenset({"lid"}),
    ("musical-instruments", "firearm", "pistol"): frozenset(
        ["shell", "barrel", "barrelled", "barreled", "ends", "body"]
    ),
    ("optical-toy", "zoetrope", "magic-lantern"): frozenset(["drum", "wheel", "body"]),
}  # fmt: skip
# ... and the same where "with" leads to it: "pipe with cherry bowl"
_MOST_OF = {
    ("spoon", "ladle", "pipe", "cup", "goblet", "wine-glass", "compote", "drinking-glass"): (
        frozenset({"bowl"})
    ),
    ("bed-warmer", "frying-pan"): frozenset({"pan"}),
    ("farm-and-garden-tool", "knife", "axe", "hammer", "chisel", "spear", "sword", "dagger"): (
        frozenset(["blade", "head", "tines"])
    ),
    ("musical-instruments",): frozenset({"ribs"}),
    ("shoes", "boots", "slippers"): frozenset(["uppers", "upper"]),
    ("hand-fan",): frozenset({"leaf"}),
    ("rifle", "musket", "shotgun", "crossbow"): frozenset(["stock", "stocked"]),
    ("fairy-lamp",): frozenset({"shade"}),
    ("brush", "hairbrush", "hand-mirror"): frozenset({"back"}),
    ("parasol", "umbrella"): frozenset({"cover"}),
    ("walking-stick", "mace", "swagger-stick", "golf-club", "spear", "polearm"): (
        frozenset(["shaft", "shafts"])
    ),
}
_SET_JEWELS = (
    "ring", "brooch", "pendant", "earrings", "cufflinks", "stick-pin", "cross-pendant", "tie-clip",
)  # fmt: skip
_TESTED = frozenset(["tests", "tested", "testing", "assessed", "assayed"])
_AS = frozenset(["as", "for"])


class Forms(Beside):
    """Rules on the form of the words around a material."""

    def _by_form(self, place: Places) -> None:
        self._fitted_by_hyphen(place)
        self._trimmed_in(place)
        self._listed_behind_with(place)
        self._leaf_and_pigment(place)
        self._treen(place)
        self._wires(place)
        self._shaped_as(place)
        self._carcases(place)
        self._inlaid_grounds(place)
        self._jointed(place)
        self._frames_of_mirrors(place)
        self._bodies_told_later(place)
        self._settings(place)

    def most_of_it(self, place: Places) -> None:
        """Where nothing is told of the whole: the part that is most of the thing."""
        self._printed_on(place)
        self._ground_alone(place)
        self._told_by_two_parts(place)
        self._parts_by_kind(place)
        self._stuff_behind_the_piece(place)
        self._tins(place)

    def _none_told(self, place: Places) -> BoolArray:
        """Findings in titles that tell no stuff of the whole."""
        told = np.bincount(self.rows.title[place < PART], minlength=self._stream.n_titles)
        return told[self.rows.title] == 0

    def _fitted_by_hyphen(self, place: Places) -> None:
        """ "Brass-nailed leather trunk": behind a hyphen any participle tells of an addition."""
        stream = self._stream
        hyphen = self._linked & ((stream.before[self._at] & HYPHEN) > 0) & self._second_linked
        opens = np.zeros(len(stream), dtype=bool)
        opens[self.rows.start] = True
        hyphen &= opens[self._second] & (place < PART)
        covers, known = self._next(_COVERS_ALL), self._roles_next("fitted", "part", "body")
        rows = np.flatnonzero(hyphen & ~covers & (~known | self._next(_DECORATED)))
        words = [stream.spellings[i] for i in stream.spelling[self._at[rows]]]
        added = np.array([word.endswith("ed") or word in _ADDED for word in words], dtype=bool)
        place[rows[added]] = PART

    def _trimmed_in(self, place: Places) -> None:
        """ "Trunk bound in brass", "box lined in lead"; a book is bound in what it is of."""
        opener = np.maximum(self._opener, 0)
        before = self._stream.word[np.maximum(opener - 1, 0)]
        led = self._opened_by(_IN) & self._words(_TRIMMED)[before] & self._context.linked[opener]
        skins = below(self._lexicon, "leather", "textile", "paper", "leatherette", "vellum")
        bound = skins[self.rows.concept] & self._words(_BOUND)[before]
        place[led & ~bound & ~self.family("books-and-paper") & (place < PART)] = PART

    def _listed_behind_with(self, place: Places) -> None:
        """ "Dish with bamboo, plum and pine; porcelain": a list goes on over its commas.

        It ends at a stronger sign, behind which the stuff stands in a clause of its own.
        """
        stream, rows = self._stream, self.rows
        led = self._words(_WITH_ALONE)[stream.word]
        if not led.any():
            return
        strong = np.zeros(len(stream.spellings), dtype=bool)
        gaps = np.unique(stream.gap[stream.gap >= 0])
        strong[gaps] = [not _STRONG.isdisjoint(stream.spellings[i]) for i in gaps.tolist()]
        parts = (stream.gap >= 0) & (strong[stream.gap] | ((stream.before & FULL_STOP) > 0))
        field = np.cumsum(parts | stream.starts())
        first = field[stream.first[rows.title]]
        mine = field[rows.start]
        alone = stream.opens_clause(rows.start) & stream.closes_clause(rows.end)
        told = self._titles(alone & (place == WHOLE) & (mine > first))
        behind = latest(led, field.astype(np.int32))[rows.start] >= 0
        listed = behind & (mine == first) & told[rows.title]
        place[listed & (place < PART)] = PART

    def _leaf_and_pigment(self, place: Places) -> None:
        """ "Ink and gold on vellum", "gold leaf on paper": what is painted or laid on a ground."""
        words, row = self._words, self._is("gold", "silver", "shell")
        row &= self.rows.end - self.rows.start == 1
        ground = below(self._lexicon, "paper", "vellum", "parchment", "textile", "leather", "wood")
        grounds = self._starts(ground[self.rows.concept])
        third = np.minimum(self._second + 1, len(self._stream) - 1)
        fourth = np.minimum(third + 1, len(self._stream) - 1)
        on_next = self._next(_ON) & self._second_linked
        # "gold on dark blue paper"
        ahead = grounds[third] | (grounds[fourth] & self._context.linked[fourth])
        on_ground = on_next & (grounds[self._second] | (ahead & self._context.linked[third]))
        # "gold and silver on indigo paper"
        rows_on = self._starts(row & on_ground)
        on_ground |= self._next(_AND) & self._second_linked & rows_on[self._second]
        ink = self._next(_INK) & words(_ON)[self._stream.word[self._second]]
        on_ground |= ink & self._second_linked
        leaf = self._next(_LEAF) & words(_ON)[self._stream.word[self._second]]
        leaf &= self._second_linked & grounds[third]
        shell = self._is("shell") & self._next(_GOLD)  # "gouache and shell gold"
        beside = words(_AND)[self._stream.word[self._before]] & self._after_word
        beside |= (
            self._stream.opens_clause(self.rows.start)
            | words(_SHELL)[self._stream.word[self._before]]
        )
        place[row & ((beside & (on_ground | leaf)) | shell)] = NOTHING
        # "gold iridescent", "gold woven fibre": a colour
        place[self._is("gold") & self._next(_GOLDEN) & (place < PART)] = NOTHING

    def _printed_on(self, place: Places) -> None:
        """ "Puzzle, hand-coloured engraving on mahogany" is of mahogany, a tin of tinplate."""
        prints = below(self._lexicon, "print-technique")[self.rows.concept]
        prints |= self._is("hand-coloured-print")
        if not prints.any():
            return
        toys, wood = self.family("toys-and-games"), below(self._lexicon, "wood")[self.rows.concept]
        sawn = wood & self.family("jigsaw-puzzle", "building-blocks") & self._opened_by(_ON)
        place[sawn & (self._between() <= 1) & (place == PART)] = WEAK
        ground = wood | below(self._lexicon, "paper", "textile")[self.rows.concept]
        told = self._titles(ground & toys & (place < PART))
        printed = (prints & told[self.rows.title]) | (prints & self.family(*_OF_TIN))
        place[printed & (place < PART)] = NOTHING

    def _ground_alone(self, place: Places) -> None:
        """ "Leaf; ink, gold on parchment", "ochres on bark": of the ground, if of anything."""
        opener = np.maximum(self._opener, 0)
        media = self._words(_MEDIA)[self._stream.word[np.maximum(opener - 1, 0)]]
        ground = below(self._lexicon, "paper", "vellum", "parchment", "leather", "bark", "textile")
        led = self._opened_by(_ON) & (self._between() <= 1) & media & ground[self.rows.concept]
        free = ~self._linked | has_role(self._context.starts[self._at], "with", "conjunction")
        place[led & free & (place == PART) & self._none_told(place)] = WEAK

    def _tins(self, place: Places) -> None:
        """ "Biscuit tin in the shape of a bus": called after what such boxes are made of."""
        tin = self._is("tinplate") & self.rows.within & self.family("tin") & self._none_told(place)
        ends = np.append(self._things.end, -1)[self._head[self.rows.title]]
        place[tin & (ends == self.rows.end)] = WEAK

    def _wires(self, place: Places) -> None:
        """ "Silver wire brooch" is of silver; elsewhere wire binds, ties or is let in."""
        wire = self._words(_WIRES)[self._stream.word[self.rows.end - 1]]
        wire &= (self.rows.end - self.rows.start > 1) & self._linked
        head_at = np.append(self._things.start, -1)[self._head[self.rows.title]]
        # "brass wire basket": a wire basket is a name
        named = (head_at == self._at) | (head_at == self.rows.end - 1)
        place[wire & named & (place == PART)] = WHOLE

    def _shaped_as(self, place: Places) -> None:
        """ "Ashtray ceramic cat": the stuff opens the name of the shape, and is the piece's."""
        ends = np.append(self._things.end, -1)[self._head[self.rows.title]]
        behind = self.rows.within & self._after_word & (ends == self.rows.start)
        shape = np.zeros(len(self._stream) + 1, dtype=bool)
        named = self._things.phrase >= 0
        named &= shapes(self._lexicon)[np.maximum(self._things.phrase, 0)]
        shape[self._things.start[named]] = True
        place[behind & shape[self.rows.start] & (place >= PART)] = WHOLE

    def _carcases(self, place: Places) -> None:
        """ "Walnut on oak bureau": the wood behind "on" is what the other is laid on."""
        wood = below(self._lexicon, "wood")[self.rows.concept]
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        ends[self.rows.end[wood]] = True
        laid = wood & self._after_word & self._words(_ON)[self._stream.word[self._before]]
        place[laid & ends[self._before] & (place < PART)] = PART

    def _inlaid_grounds(self, place: Places) -> None:
        """ "Inlaid mother-of-pearl and bone on walnut": the ground is what the piece is of."""
        fine = below(
            self._lexicon, "organic", "pearl", "precious-metal", "brass", "pewter", "mop-inlay"
        )
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        ends[self.rows.end[fine[self.rows.concept] & (place == PART)]] = True
        ground = below(self._lexicon, "wood", "iron", "steel", "lacquer")[self.rows.concept]
        laid = ground & self._after_word & self._words(_ON)[self._stream.word[self._before]]
        laid &= ends[self._before] & ~self._roles_next("part", "fitted", "body")
        place[laid & (place == PART)] = WHOLE

    def _jointed(self, place: Places) -> None:
        """ "Shoe lasts, beech hinged": of such wood and on hinges; "wool lined scarlet" is of wool.

        (A "brass hinged box" has hinges of brass.)
        """
        wood = below(self._lexicon, "wood")[self.rows.concept]
        past = np.minimum(self.rows.end + 1, len(self._stream))
        ends = self._stream.closes_clause(past) & self._linked
        place[wood & ends & self._next(_HINGED) & (place == PART) & (self._zone == MAIN)] = WHOLE
        cloth = below(self._lexicon, "textile", "leather")[self.rows.concept]
        lined = cloth & self._next(_LINED) & self._second_linked
        lined &= self._words(_LINED_WITH)[self._stream.word[self._second]]
        place[lined & (place == PART) & (self._zone == MAIN)] = WHOLE

    def _treen(self, place: Places) -> None:
        """ "Treen: a coquilla nut pomander": the word tells no more than that it is turned."""
        treen = self._words(_TREEN)[self._stream.word[self.rows.start]]
        grown = below(self._lexicon, "wood", "organic")[self.rows.concept]
        told = self._titles(~treen & grown & (place < PART))
        place[treen & told[self.rows.title]] = NOTHING

    def _frames_of_mirrors(self, place: Places) -> None:
        """ "Mirror in giltwood frame": the frame is most of a mirror."""
        mirrors = self.family("mirror")
        if not mirrors.any():
            return
        # "a mirror, bevelled plate, oak frame": the plate is a part of what has more
        plate = mirrors & self._is("mirror-glass") & (place < PART)
        beside = np.bincount(self.rows.title[place != NOTHING], minlength=self._stream.n_titles)
        place[plate & (beside[self.rows.title] > 1)] = PART
        framed = self._next(_FRAMES, far=True) & (place == PART)
        place[mirrors & framed & self._opened_by(_WITH)] = BODY
        # "mirror, gesso frame": frames are sold alone too, and have names
        named = self._next(_FRAMES) | self._words(_FRAMES)[self._stream.word[self.rows.end - 1]]
        named &= (place == PART) & (self._zone == MAIN) & self._none_told(place)
        place[mirrors & named] = BODY
        opener = np.maximum(self._opener, 0)
        held = self._words(_FRAMED)[self._stream.word[np.maximum(opener - 1, 0)]]
        held &= self._context.linked[opener]
        place[mirrors & held & self._opened_by(_IN) & (self._between() <= 1)] = BODY
        self._behind_a_name(place, mirrors, _FRAMES)

    def _bodies_told_later(self, place: Places) -> None:
        """ "A jug with a stoneware body", "mantel clock, the case in walnut"."""
        pictures = self.family("prints-and-paintings", "doll")
        later = (self._zone == ADDITION) & (place == PART) & self._opened_by(_WITH)
        of_body = self._next(_BODIES) | (self.family("seat-furniture") & self._next(_FRAMES))
        # "prayer book with ivory covers": the binding is what is told of a book
        of_body |= self.family("books-and-paper") & self._next(_COVERS, far=True)
        later &= of_body
        place[later & ~pictures & self._none_told(place)] = BODY
        self._behind_a_name(place, ~pictures, _BODIES)
        clocks = self.family("clocks-and-watches", "barometer")
        self._behind_a_name(place, clocks, _CASES)
        # "longcase clock, oak trunk", "wall clock with mahogany surround"
        parted = self._next(_CASES_OF_CLOCKS) & clocks & (place == PART)
        parted &= (self._zone == MAIN) | self._opened_by(_WITH)
        place[parted & self._none_told(place)] = BODY

    def _behind_a_name(self, place: Places, pieces: BoolArray, names: frozenset[str]) -> None:
        """ "The frame of brass", "the case in walnut": said of what is most of the piece."""
        opener = np.maximum(self._opener, 0)
        one_back, two_back = np.maximum(opener - 1, 0), np.maximum(opener - 2, 0)
        linked = self._context.linked
        said = self._opened_by(_OF_OR_IN) & (self._between() <= 1) & linked[opener]
        said &= self._words(names)[self._stream.word[one_back]] & linked[one_back]
        said &= self._words(_THE)[self._stream.word[two_back]]
        place[said & pieces & self._none_told(place) & (place == PART)] = BODY

    def _settings(self, place: Places) -> None:
        """ "Sapphire ring, 18ct gold setting" is of gold, as "sapphire ring in 18ct gold" is."""
        metal = below(self._lexicon, "precious-metal", "gold", "silver", "platinum")
        row = metal[self.rows.concept] & self._next(_SETTINGS) & (place == PART)
        row &= self.family(*_SET_JEWELS)
        if not row.any():
            return
        # a cameo, a piece of jade or coral is the jewel itself, whatever holds it
        held = (place < PART) & ~below(self._lexicon, "gemstone")[self.rows.concept]
        held = np.bincount(self.rows.title[held], minlength=self._stream.n_titles) > 0
        place[row & ~held[self.rows.title]] = WHOLE

    def _told_by_two_parts(self, place: Places) -> None:
        """ "Coffee table, glass top, chrome base": what carries the top, or a wooden top or seat.

        Only where two parts are told and nothing of the whole.
        """
        row = (place == PART) & self.family("table", "seat-furniture", "desk")
        row &= self._none_told(place)
        # "recent elm top and elm legs" tells of a repair
        added = self._words(_OF_ANOTHER_TIME)[self._stream.word[self._before]]
        row &= ~(added & self._after_word)
        if not row.any():
            return
        kinds: IntArray = self.rows.concept
        tops, legs = row & self._next(_TOPS), row & self._next(_SUPPORTS, far=True)
        both = self._titles(tops) & self._titles(legs)
        # "elm seat, ash spindles, beech legs": of three woods none is most of it
        told = np.bincount(self.rows.title[place == PART], minlength=self._stream.n_titles)
        both &= told <= _PARTS_OF_TWO
        wooden = tops & below(self._lexicon, "wood", "plastic")[kinds]
        place[wooden & both[self.rows.title]] = WEAK
        hard = legs & below(self._lexicon, "wood", "metal", "plastic", "stone", "glass")[kinds]
        place[hard & both[self.rows.title] & ~self._titles(wooden)[self.rows.title]] = WEAK

    def _parts_by_kind(self, place: Places) -> None:
        """ "Sickle, steel blade, ash handle", "coffee mill, walnut box": what most of it is.

        Only where nothing is told of the whole.
        """
        row = (place == PART) & self._none_told(place)
        row &= ~self._context.denied[self.rows.start]
        # "caddy spoon, shell bowl": the form of the bowl
        row &= ~self._words(_FORMS_OF_BOWLS)[self._stream.word[self.rows.start]]
        if not row.any():
            return
        main = self._zone == MAIN  # "in wooden box": what it is kept in
        hard = ~below(self._lexicon, "textile", "paper", "leather")[self.rows.concept]
        for families, words in _FRAME_OF.items():
            # ("ash frame" is a label of its own)
            named = self._next(words) | self._words(words)[self._stream.word[self.rows.end - 1]]
            place[row & main & hard & self.family(*families) & named] = WEAK
        row &= main | self._opened_by(_WITH)
        for families, words in _MOST_OF.items():
            place[row & self.family(*families) & self._next(words)] = WEAK

    def _titles(self, rows: BoolArray) -> BoolArray:
        titles = np.zeros(self._stream.n_titles, dtype=bool)
        titles[self.rows.title[rows]] = True
        return titles

    def tested(self, place: Places) -> None:
        """ "Ring, tests as 18ct gold": unmarked, and said to be of it all the same."""
        two_back = np.maximum(self.rows.start - 2, 0)
        said = self._after_word & self._words(_AS)[self._stream.word[self._before]]
        said &= self._words(_TESTED)[self._stream.word[two_back]]
        said &= self._context.linked[self._before] & ~self._context.denied[two_back]
        metal = below(self._lexicon, "metal")[self.rows.concept]
        free = ~self._linked | has_role(self._context.starts[self._at], "with", "conjunction")
        free |= self._context.is_number[self._at]
        place[said & metal & free] = WHOLE
