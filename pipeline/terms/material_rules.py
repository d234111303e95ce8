"""Rules of single trades on what a material is said of.

The case of a clock is the clock, the case of a telescope is not; blades are the knife; a glass
dome stands over a piece; a cabinet for silver is of wood. Each rule takes the places that the
grammar gave (`material_places.py`) and changes those of the findings that it speaks of.
"""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import ADDITION, MAIN
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import below
from pipeline.terms.material_near import (
    BODY,
    NOTHING,
    PART,
    SOFT,
    WHOLE,
    BoolArray,
    Places,
)
from pipeline.terms.material_wares import Wares
from pipeline.terms.phrases import has_role
from pipeline.terms.picks import distinct_pairs
from pipeline.terms.tokens import HYPHEN

_CASES = frozenset(["case", "cases", "cased", "casing"])
_CASED, _BOXES = frozenset({"cased"}), frozenset({"box"})
_SHELF = frozenset({"shelf"})
_CABINETS, _BASES = frozenset(["cabinet", "cabinets"]), frozenset(["base", "stem", "column"])
_COLUMNS = frozenset(["stem", "column", "standard", "baluster", "corona", "frame"])
_COVERED = frozenset(["case", "cases", "cased", "casing", "framed", "frame", "fronted"])
_IN = frozenset({"in", "with", "having"})
_MOVED = frozenset(
    ["travelling", "traveling", "travel", "carrying", "presentation", "original", "fitted", "outer",
     "display", "storage", "transit", "shipping", "leather"]
)  # fmt: skip
CASED_FOR_GOOD = (
    "barometer", "metronome", "thermometer", "compass", "camera", "marine-chronometer", "barograph",
    "radio", "gramophone", "music-box", "jukebox", "television", "piano", "harmonium",
    "organ", "harpsichord",
)  # fmt: skip
_KEPT_IN_CASES = (
    "glassware", "tableware-and-vessels", "militaria", "smoking-and-tobacco", "tools",
    "writing-and-desk", "jewellery", "coins-and-medals",
)  # fmt: skip
# what a wooden piece itself may be: "mahogany upholstered chair", "oak panelled coffer"
_OWN_WORK = frozenset(
    ["inlaid", "inlay", "upholstered", "panelled", "paneled", "painted", "decorated", "fitted",
     "buttoned", "cushioned", "framed", "strung", "crossbanded", "set", "weighted",
     "bound", "shafted", "stocked", "glazed"]
)  # fmt: skip
_WORKED = frozenset(["engraved", "carved", "stained", "dyed", "cut", "etched"])
_COVERED_WITH = frozenset(["covered", "upholstered", "clad", "sheathed", "veneered"])
# what may be a print: anything else is of the stuff under what is printed on it
_OF_PAPER = (
    "prints-and-paintings", "books-and-paper", "maps-and-globes", "hand-fan", "playing-cards",
    "paper-doll", "toy-theatre", "advertising-sign", "wallpaper", "screen",
)  # fmt: skip
_JOB_LOTS = ("job-lot", "assorted")
_OF_ANOTHER_TIME = frozenset(
    ["modern", "later", "new", "recent", "replacement", "replaced", "associated", "renewed"]
)
_INLAID = frozenset({"inlaid", "inlay"})
_MOUNTED = frozenset(["mounted", "bound"])
_BACKS = frozenset({"back", "backs", "frame"})
_TUFTED = frozenset(
    ["button", "buttoned", "nailed", "nailhead", "studded", "tufted", "channel", "deep"]
)  # fmt: skip
_BACK_FORMS = frozenset(
    ["button", "buttoned", "spoon", "balloon", "shield", "ladder", "wheel", "stick", "hoop", "wing",
     "cane", "show", "rail", "high", "low", "open", "padded", "scroll", "bar"]
)  # fmt: skip
# woods that are let into others rather than built with
_FOR_INLAY = ("boxwood", "ebony", "holly", "tulipwood", "kingwood", "harewood", "purpleheart")
_OF_STONEWARE = frozenset(["bottle", "bottles", "flagon", "jar", "jars", "warmer", "crock", "hot"])
_WORKED_GLASS = frozenset(["etched", "cut", "engraved", "frosted", "pressed", "gilt", "enamelled"])
_PART_BINDINGS = frozenset(["half", "quarter"])
_SKINS = frozenset(["leather", "calf", "morocco", "vellum", "roan", "hide", "pigskin", "sheep"])
_BOUND = frozenset({"bound", "rebound"})
_HELD_IN = frozenset(["mounted", "framed", "cased", "encased", "housed", "enclosed"])
_BLADES = frozenset(["blade", "blades", "bladed"])
_BLADED = (
    "cutlery", "sword", "dagger", "bayonet", "scissors", "shears", "pocket-knife", "knife",
)  # fmt: skip
_EDGED_ARMS = ("sword", "dagger", "bayonet", "knife", "pocket-knife")
_HILTS = frozenset(["hilt", "hilts", "handle", "handles", "grip", "scabbard", "sheath", "guard"])
_BACKED, _PILE = frozenset({"backed"}), frozenset({"pile"})
_FOUNDATIONS = frozenset(["foundation", "warp", "warps", "weft", "wefts"])
_ENAMELLED = frozenset(["enamelled", "enameled"])
_LET_IN = ("ivory", "bone", "mother-of-pearl", "shell", "tortoiseshell", "abalone")
_WITH = frozenset({"with", "in"})
_LAID_IN = (*_LET_IN, "silver", "gold", "brass", "copper", "pewter")
_NIBS = frozenset({"nib", "nibs"})
_FRAMES = frozenset(["frame", "frames", "framed", "surround", "mount", "mounts"])
_STORED = frozenset({"silver", "china", "glass", "linen", "plate", "porcelain", "gold"})
_STORES = frozenset(
    ["cabinet", "cabinets", "cupboard", "cupboards", "chest", "chests", "press", "canteen"]
)
_VESSELS = ("tableware-and-vessels", "glassware", "ceramics", "jewellery", "metalware-and-silver")
_SAID_OF_VESSELS = frozenset(["footed", "covered", "domed"])
_HARD_VESSELS = (*_VESSELS, "musical-instruments", "militaria", "wallpaper")


class Trade(Wares):
    """The rules, over the findings of one chunk of titles."""

    def settle(self, place: Places) -> None:
        """Change the places that the rules speak of."""
        self._behind_openers(place)
        self._woods(place)
        self._clocks(place)
        self._sets_and_lamps(place)
        self._covers(place)
        self._held_in(place)
        self._bindings(place)
        self._blades_and_backs(place)
        self._vessels(place)
        self._parts_alone(place)
        partner = self._over_stroke()  # "bone/ivory handled knives"
        place[(partner >= 0) & (place[partner] == PART) & (place < PART)] = PART
        self._cloths(place)
        self._linings(place)
        self._of_another_time(place)
        self._looks(place)
        self._elsewhere(place)
        self._let_in_together(place)
        self._by_form(place)
        self._clause_of_a_detail(place)
        self._beside_the_piece(place)

    def _woods(self, place: Places) -> None:
        """ "walnut lined", "ebony handled": of a part, unless the piece itself is so worked."""
        own = self._next(_OWN_WORK)
        let_in = self._next(_INLAID) & below(self._lexicon, *_FOR_INLAY)[self.rows.concept]
        never = self.family(*_VESSELS[:-1], "textiles-and-rugs")
        place[(place == SOFT) & (~own | let_in | never)] = PART
        # "shagreen covered box", "velvet upholstered chair": what one sees of it
        skin = below(self._lexicon, "leather", "textile", "paper", "organic")[self.rows.concept]
        flags = self._words(_COVERED_WITH)
        named = flags[self._stream.word[self.rows.end - 1]]  # "leather covered" is a label
        # "velvet covered scabbard": of a part
        ahead = has_role(self._context.starts[self._second], "part")
        named &= ~(self._roles_next("part"))
        seen = (
            skin
            & ~(self._next(_COVERED_WITH) & self._second_linked & ahead)
            & (named | self._next(_COVERED_WITH))
            & (place == PART)
            & (self._zone == MAIN)
        )
        place[seen] = SOFT
        # "walnut button back", "show frame": the wood of a seat, whatever its back is like
        backs = self._second_linked & self._words(_BACKS)[self._stream.word[self._second]]
        backs &= self._next(_BACK_FORMS) & self.family("seat-furniture")
        wood = below(self._lexicon, "wood")[self.rows.concept]
        place[wood & backs & (place == PART) & (self._zone == MAIN)] = SOFT
        # "sofa leather button back", "armchair leather nailed back": done in the cover itself
        cover = below(self._lexicon, "leather", "textile")[self.rows.concept]
        tufted = self._next(_TUFTED) & self.family("seat-furniture") & cover
        place[tufted & (place == PART) & (self._zone == MAIN)] = SOFT
        # "mahogany inlaid satinwood": what follows the word was let in
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        ends[self.rows.end] = True
        let = self._words(_INLAID)[self._stream.word[self._before]] & self._after_word
        let &= ends[self._before] & self._context.linked[self._before]
        # but "ivory inlaid rosewood box" is of rosewood
        names = np.zeros(len(self._stream), dtype=bool)
        names[self._things.start] = True
        let &= ~(self._linked & names[self._at])
        place[let & (place == WHOLE) & ~self.rows.within] = PART
        # "inlaid mother-of-pearl and bone", "silver-inlaid iron"
        fine = below(self._lexicon, *_LAID_IN)[self.rows.concept]
        worked_in = self._words(_INLAID)[self._stream.word[self._before]] & self._after_word
        # "walnut stock inlaid engraved staghorn"
        two_back = np.maximum(self.rows.start - 2, 0)
        apart = self._words(_INLAID)[self._stream.word[two_back]] & self._after_word
        apart &= self._context.linked[self._before]
        worked_in |= apart & self._words(_WORKED)[self._stream.word[self._before]]
        worked_in &= ~(self._linked & names[self._at])
        # "brass inlaid with silver" is of brass
        led = self._second_linked & self._words(_WITH)[self._stream.word[self._second]]
        hyphen = (self._stream.before[self._at] & HYPHEN) > 0
        worked_in |= self._next(_INLAID) & (~led | hyphen)
        place[fine & worked_in & (place == WHOLE) & ~self.rows.within] = PART
        # "inlaid ivory, ebony", "inlaid mother-of-pearl and bone": what is let in beside it
        woods = below(self._lexicon, *_FOR_INLAY)[self.rows.concept]
        again = np.append(False, (fine & worked_in)[:-1] & (place[:-1] == PART))
        near = np.append(False, self.rows.start[1:] - self.rows.end[:-1] <= 1)
        near &= np.append(False, self.rows.title[1:] == self.rows.title[:-1])
        again &= near & (fine | woods) & ~(self._linked & names[self._at])
        place[again & (place == WHOLE) & ~self.rows.within] = PART
        # "ivory inlaid box" tells what is let in and not into what
        inlaid = self._is("inlaid-wood")
        follows = self._follows_material() & inlaid
        place[follows & (self._zone == MAIN)] = NOTHING
        reach = np.maximum.accumulate(np.append(0, self.rows.end[:-1]))
        place[inlaid & (reach >= self.rows.end)] = NOTHING  # the end of "brass inlaid"
        # "lacquered wood", "gilt wood": the word inside a longer name says nothing more
        finish = below(self._lexicon, "finish")[self.rows.concept]
        glass = below(self._lexicon, "glass")[self.rows.concept]
        for coat, plain in (
            (finish, self._is("wood", "metal", "plated-metal", "lacquer", "painted-finish")),
            (glass, self._is("crystal", "glass")),
        ):
            reach = np.maximum.accumulate(np.append(0, (self.rows.end * coat)[:-1]))
            place[(reach >= self.rows.end) & ~self.rows.within & plain] = NOTHING

    def _clocks(self, place: Places) -> None:
        """ "bracket clock in ebonised case": the case is the body, whatever word leads to it."""
        clocks = self.family("clocks-and-watches", *CASED_FOR_GOOD)
        if not clocks.any():
            return
        opening = self._stream.word[np.maximum(self._opener, 0)]
        led = (self._zone == ADDITION) & (self._opener >= 0) & self._words(_IN)[opening]
        cases = self._words(_CASES)
        if self.family("marine-chronometer").any():
            boxes = self._words(_BOXES)[self._stream.word]
            boxed = self._linked & boxes[self._at] & self.family("marine-chronometer")
            place[boxed & (place == PART)] = BODY
        far = self._second_linked & cases[self._stream.word[self._second]]
        far &= ~self._context.known[self._at] | self._roles_next("neutral", "fitted")
        cased = (self._linked & cases[self._stream.word[self._at]]) | far
        moved = np.zeros(len(place), dtype=bool)
        for back in (1, 2, 3):
            word = self._stream.word[np.maximum(self.rows.start - back, 0)]
            moved |= (self.rows.start - back > self._opener) & self._words(_MOVED)[word]
        soft = below(self._lexicon, "leather", "textile", "paper")[self.rows.concept]
        # "oak arched-top case", "the ebonised lancet-shaped case": a word of form in two
        third = np.minimum(self._second + 1, len(self._stream) - 1)
        formed = self._second_linked & ((self._stream.before[self._second] & HYPHEN) > 0)
        formed &= self._context.linked[third] & cases[self._stream.word[third]]
        main = (self._zone == MAIN) | self._opened_by(_IN)
        place[clocks & formed & main & ~moved & ~soft & (place == PART)] = BODY
        # "thermometer in silver case": a small one, that is put away
        metal = below(self._lexicon, "metal")[self.rows.concept] & self.family("thermometer")
        place[clocks & led & cased & ~moved & ~soft & ~metal & (place == PART)] = BODY
        # "walnut shelf mantel clock": where it stands, and no part
        head_at = np.append(self._things.start, -1)[self._head[self.rows.title]]
        stands_on = self._next(_SHELF) & self._second_linked & (head_at == self._second)
        place[clocks & stands_on & (place == PART)] = WHOLE

    def _sets_and_lamps(self, place: Places) -> None:
        """ "Radio in walnut cabinet" is of walnut, a lamp of what it stands on."""
        soft = below(self._lexicon, "leather", "textile", "paper")[self.rows.concept]
        sets = self.family("radio", "television", "gramophone", "jukebox", "barrel-organ")
        place[sets & self._next(_CABINETS, far=True) & ~soft & (place == PART)] = BODY
        hard = below(self._lexicon, "metal", "ceramic", "glass", "wood", "stone")[self.rows.concept]
        stands = self._next(_BASES) & hard & (self._zone == MAIN)
        place[self.family("table-lamp", "oil-lamp", "desk-lamp") & stands & (place == PART)] = BODY
        lamps = self.family("lamp", "candlestick", "candelabrum")
        columns = self._next(_COLUMNS) & hard & (self._zone == MAIN) & (place == PART)
        place[lamps & columns & self._none_told(place)] = BODY

    def _covers(self, place: Places) -> None:
        """ "glass cased model", "shagreen cased tools": what holds a piece is not the piece."""
        soft = below(self._lexicon, "glass", "leather", "textile", "paper", "leatherette")[
            self.rows.concept
        ]
        watches = self.family("clocks-and-watches", "barometer", "books-and-paper")
        place[(place == BODY) & soft & self._next(_COVERED, far=True) & ~watches] = PART
        # "an oak cased set of decanters", "mahogany cased pistols"
        wood = below(self._lexicon, "wood")[self.rows.concept]
        kept = self.family(*_KEPT_IN_CASES) & ~self.family("clocks-and-watches")
        place[(place == BODY) & wood & kept & self._next(_CASES, far=True)] = PART
        # "shagreen cased tea chest": covered with it
        chests = self.family("box", "chest", "tea-caddy", "case-furniture") & self._second_linked
        head_at = np.append(self._things.start, -1)[self._head[self.rows.title]]
        chests &= self._next(_CASED) & (head_at == self._second)
        place[soft & chests & (place == PART)] = SOFT
        named = self._next(_CASED) & (place < PART) & ~chests
        place[named & soft & ~watches] = PART  # "cased instruments" is a name of its own
        # "brooch, gold frame": a frame is no body of a jewel
        jewels = self.family("jewellery", "textiles-and-rugs")
        place[jewels & (place == BODY) & self._next(_FRAMES)] = PART
        mirrored = self._is("mirror-glass") & self.family("furniture") & ~self.family("mirror")
        place[mirrored & (place < PART)] = PART

    def _held_in(self, place: Places) -> None:
        """ "egg mounted in silver": what follows "mounted in" is the mount."""
        opener = np.maximum(self._opener, 0)
        before = self._stream.word[np.maximum(opener - 1, 0)]
        by_in = (self._opener > 0) & self._words(frozenset({"in"}))[self._stream.word[opener]]
        by_in &= self._context.linked[opener]
        near = by_in & (self.rows.start - self._opener <= 3)
        held = near & self._words(_HELD_IN)[before] & ~self.family("jewellery")
        clocks = self.family("clocks-and-watches", *CASED_FOR_GOOD)
        place[held & ~clocks & (place == WHOLE)] = PART
        # "veneered with tortoiseshell", "covered in leather": what one sees of it
        led = self._words(_IN)[self._stream.word[opener]] & (self._opener > 0)
        led &= self._context.linked[opener] & (self.rows.start - self._opener <= 3)
        seen = led & self._words(_COVERED_WITH)[before] & (place == PART)
        place[seen] = BODY
        # "lacquer on a wood core", "enamel on copper": the ground of an art that has a name
        arts = below(self._lexicon, "lacquer", "japanned", "enamel", "straw-work")
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        ends[self.rows.end[arts[self.rows.concept]]] = True
        on = (self._opener > 0) & self._words(frozenset({"on", "over"}))[self._stream.word[opener]]
        ground = below(
            self._lexicon,
            "wood",
            "copper",
            "copper-alloy",
            "gilt-metal",
            "brass",
            "bronze",
            "iron",
            "steel",
        )
        place[on & ends[opener] & ground[self.rows.concept] & (place == WHOLE)] = PART
        # "bear in wool jumper": what a toy wears
        toys = self.family("toys-and-games") & by_in
        worn = self._linked & ~self._roles_next(
            "with", "conjunction", "purpose", "subject", "neutral", "quantity"
        )
        place[toys & worn & (place == WHOLE)] = PART
        bound = near & self._words(_BOUND)[before]
        bound &= self.family("books-and-paper", "maps-and-globes")
        place[bound & (place == PART)] = WHOLE

    def _bindings(self, place: Places) -> None:
        """ "half leather", "quarter calf": a binding in part, and of a flask only a cover."""
        partly = self._lexicon.phrases_where(
            "partly bound", lambda words: words[0] in _PART_BINDINGS and words[-1] in _SKINS
        )
        books = self.family("books-and-paper", "maps-and-globes")
        place[partly[self.rows.phrase] & ~books & (place < PART)] = PART

    def _blades_and_backs(self, place: Places) -> None:
        """A knife is told by its blades, a brush and a hand mirror by their backs."""
        knives = self.family(*_BLADED)
        place[knives & (place == PART) & self._next(_BLADES)] = BODY
        # "dagger; steel blade, rubies, gold": before what the hilt is set with
        armed = self.family(*_EDGED_ARMS) & (place == BODY) & self._next(_BLADES)
        place[armed & (self._zone == MAIN) & self._behind_head()] = WHOLE
        # "hilt: nephrite; blade: steel"
        named = self._words(_HILTS)[self._stream.word[self._before]] & self._colon(self.rows.start)
        place[knives & named & (place < PART)] = PART
        # "carpet with wool pile and cotton weft"
        rugs = self.family("rug")
        pile = self._words(_PILE)[self._stream.word[self.rows.end - 1]] | self._next(_PILE)
        place[rugs & pile & (place == PART)] = WHOLE
        piled = np.zeros(self._stream.n_titles, dtype=bool)
        piled[self.rows.title[rugs & pile]] = True
        place[piled[self.rows.title] & self._next(_FOUNDATIONS) & (place < PART)] = PART
        # "gold nib 14k": of what the nib is
        nibs = self._words(_NIBS)[self._stream.word[self._before]] & self._after_word
        place[nibs & self.family("fountain-pen") & (place < PART)] = PART
        brushes = self.family("hairbrush", "hand-mirror", "dressing-table-set", "brush")
        place[brushes & (place == PART) & self._next(_BACKED)] = BODY

    def _behind_head(self) -> BoolArray:
        """Findings in a later clause than the piece."""
        head = np.append(self._things.start, -1)[self._head[self.rows.title]]
        clause = self._stream.clause
        later = clause[self.rows.start] > clause[np.maximum(head, 0)]
        return later & (head >= 0)

    def _vessels(self, place: Places) -> None:
        """ "Silver footed bowl", "porcelain covered vase": said of what the metal or pot is."""
        hard = below(self._lexicon, "metal", "ceramic", "glass")[self.rows.concept]
        said = hard & self._next(_SAID_OF_VESSELS) & self._second_linked
        vessels = np.zeros(len(self._stream), dtype=bool)
        of_vessels = self._lexicon.below("category", *_VESSELS)[self._things.concept]
        vessels[self._things.start[of_vessels]] = True
        said &= vessels[self._second] & self.family(*_VESSELS)
        place[said & (place == PART) & (self._zone == MAIN)] = WHOLE

    def _parts_alone(self, place: Places) -> None:
        """ "plaster panel", "giltwood bracket": nothing but the part is sold."""
        alone = (self._head[self.rows.title] < 0) & (self._zone == MAIN) & (place == PART)
        rows = np.flatnonzero(alone & self._next_ends_clause())
        if len(rows):
            place[rows[self._after_plain_words(rows)]] = WHOLE

    def _cloths(self, place: Places) -> None:
        """A panel, a border and a collar are parts of most things and cloths of their own."""
        cloth = below(self._lexicon, "textile")[self.rows.concept] & (self._zone == MAIN)
        alone = self.family("textiles-and-rugs") | (self._head[self.rows.title] < 0)
        # "silk collar, burgundy velvet": of two cloths the collar's is not the jacket's
        count = np.bincount(self.rows.title[cloth], minlength=self._stream.n_titles)
        alone &= count[self.rows.title] == 1
        place[cloth & alone & (place == PART) & self._roles_next("part")] = WHOLE

    def _linings(self, place: Places) -> None:
        """Baize lines a drawer or covers a card table; stuffing is inside a bear."""
        furniture = self.family("furniture") & ~self.family("seat-furniture")
        place[furniture & self._is("felt") & (place < PART)] = PART

    def _of_another_time(self, place: Places) -> None:
        """ "Gilded beech; modern silk damask": what was added, unless the piece is named next."""
        word = self._stream.word[self._before]
        added = self._after_word & self._words(_OF_ANOTHER_TIME)[word]
        names = np.zeros(len(self._stream), dtype=bool)
        names[self._things.start] = True
        added &= ~(self._linked & names[self._at]) & (self._head[self.rows.title] >= 0)
        start = np.append(self._things.start, -1)[self._head[self.rows.title]]
        added &= self.rows.start > start
        own = np.bincount(self.rows.title[place < PART], minlength=self._stream.n_titles) > 1
        added &= own[self.rows.title]  # "altar table, recent elm wood" names no other
        place[added & (place < PART)] = PART

    def _let_in_together(self, place: Places) -> None:
        """ "Ivory and silver mounted", "bone and mother-of-pearl inlay": both are let in."""
        if len(place) < 2:
            return
        later = np.append(self.rows.start[1:], -1)
        joined = self._roles_next("conjunction") & (later == self.rows.end + 1)
        joined &= np.append(self.rows.title[1:] == self.rows.title[:-1], False)
        part = np.append(place[1:] == PART, False)
        inlay = np.append(_inlay_words(self._lexicon)[self.rows.phrase][1:], False)
        fine = below(self._lexicon, *_LAID_IN)[self.rows.concept] & (place == WHOLE)
        # "a tortoiseshell and gold mounted etui" is of tortoiseshell, if nothing else is told
        told = np.bincount(self.rows.title[place < PART], minlength=self._stream.n_titles)
        mounted = self._words(_MOUNTED)[np.append(self._word_at[1:], 0)]
        metal = np.append(below(self._lexicon, "metal")[self.rows.concept][1:], False)
        own = mounted & metal & (told[self.rows.title] == 1)
        own &= self.rows.start < np.append(self._things.start, -1)[self._head[self.rows.title]]
        # "buckles, silver and paste": the stones are set in it
        set_in = np.append(self._is("paste-stone")[1:], False)
        place[fine & joined & (part | inlay) & ~own & ~set_in] = PART

    def content(self) -> BoolArray:
        """ "silver cabinet", "glass cupboard": perhaps what is kept in it."""
        held = self._words(_STORED)[self._stream.word[self.rows.end - 1]]
        stores = self.family("case-furniture", "chest")
        return held & stores & self._next(_STORES, far=True)

    def _mixed_lots(self, place: Places) -> BoolArray:
        """Titles of several things together: "job lot, china, brass, glass"."""
        mixed = np.zeros(self._stream.n_titles, dtype=bool)
        if "marker" not in self._lexicon.concept_of:
            return mixed
        marker = self._lexicon.concept_of["marker"][self._found.phrase]
        says = np.array(
            [one in _JOB_LOTS for one in self._lexicon.concept_ids["marker"]] or [False]
        )
        said = self._found.start[(marker >= 0) & says[np.maximum(marker, 0)]]
        mixed[self._stream.title[said]] = True
        own = np.flatnonzero(~self.rows.within & (place < PART))
        own = own[distinct_pairs(self.rows.title[own], self.rows.concept[own])]
        count = np.bincount(self.rows.title[own], minlength=self._stream.n_titles)
        return mixed & (count > 1)

    def doubtful(self, place: Places) -> BoolArray:
        """Findings on which a person should decide if they are chosen for the piece."""
        rows = self.rows
        doubt = self.content()
        # the only thing named stands in an addition: the piece itself has no name we know
        head = self._head[rows.title]
        named = head >= 0
        start = self._things.start[np.maximum(head, 0)] if len(self._things.start) else head
        zone = self._context.zone[np.maximum(start, 0)]
        doubt |= named & (zone != MAIN) & (self._zone != MAIN)
        # "a portrait in watercolour" is said of the picture
        doubt &= ~below(self._lexicon, "painting-medium")[rows.concept]
        # "engraved" of a goblet is no print
        prints = below(self._lexicon, "print-technique")[rows.concept]
        prints |= self._is("photograph")
        doubt |= prints & named & ~self.family(*_OF_PAPER)
        doubt |= self._mixed_lots(place)[rows.title]
        # "map, hand coloured" tells no technique of the print
        doubt |= self._is("hand-coloured-print")
        # any work of the needle, on canvas or on silk
        needle = self._lexicon.phrases_where("needlework", lambda words: "needlework" in words)
        doubt |= needle[rows.phrase]
        # "etched wine glasses": of etched glass, which no name here says
        worked = self._words(_WORKED_GLASS)[self._stream.word[self._before]] & self._after_word
        doubt |= worked & rows.within & self._is("glass")
        tin = self._words(frozenset({"tin", "tins"}))[self._stream.word[rows.start]]
        tin &= rows.end - rows.start == 1
        # "jubilee tin": a box that is called a tin, whatever it is of
        head_at = np.append(self._things.start, -1)[head]
        doubt |= tin & named & (head_at == rows.start) & ~rows.within
        doubt |= self._implausible()
        # "enamelled with birds" is said of pots as of metal
        painted = self._words(_ENAMELLED)[self._stream.word[rows.end - 1]]
        doubt |= painted & self._is("enamel") & self.family("tableware-and-vessels", "glassware")
        # "bronze/spelter figure": the one or the other
        partner = self._over_stroke()
        metal = below(self._lexicon, "metal")[rows.concept]
        doubt |= (partner >= 0) & metal & metal[partner]
        # "stone bottle", "stone hot water bottle": of stoneware
        stone = self._words(frozenset({"stone"}))[self._stream.word[rows.start]]
        doubt |= stone & self._next(_OF_STONEWARE, far=True) & (rows.end - rows.start == 1)
        doubt |= tin & self.family("toy-soldier")
        # "game in tin"
        in_tin = self._words(frozenset({"in"}))[self._stream.word[self._before]]
        doubt |= self._after_word & in_tin & tin
        return doubt & (place < PART)


def _inlay_words(lexicon: Lexicon) -> BoolArray:
    """Names of materials that end in a word for what is let in: "mother-of-pearl inlay"."""
    return lexicon.phrases_where("inlay words", lambda words: words[-1] in ("inlay", "inlaid"))
