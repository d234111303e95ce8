"""Rules of single trades on what a material is said of.

The case of a clock is the clock, the case of a telescope is not; blades are the knife; a glass
dome stands over a piece; a cabinet for silver is of wood. Each rule takes the places that the
grammar gave (`material_places.py`) and changes those of the findings that it speaks of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import ADDITION, MAIN, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import MATERIAL, aspects_of, below
from pipeline.terms.name_words import TIMES
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import SLASH, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int8]

# the order in which findings may stand for the whole; a PART never does
WHOLE, BODY, SOFT, WEAK, PART, NOTHING = 0, 1, 2, 3, 4, 9

_CASES = frozenset(["case", "cases", "cased", "casing"])
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
_COVERED_WITH = frozenset(["covered", "upholstered", "clad", "sheathed", "veneered"])
_INLAID = frozenset({"inlaid", "inlay"})
_BACKS = frozenset({"back", "backs", "frame"})
_BACK_FORMS = frozenset(
    ["button", "buttoned", "spoon", "balloon", "shield", "ladder", "wheel", "stick", "hoop", "wing",
     "cane", "show", "rail", "high", "low", "open", "padded", "scroll", "bar"]
)  # fmt: skip
# woods that are let into others rather than built with
_FOR_INLAY = ("boxwood", "ebony", "holly", "tulipwood", "kingwood", "harewood", "purpleheart")
_COATS = frozenset(["effect", "look", "style", "finish", "colour", "color", "tone", "like", "wash"])
_SHADES = frozenset(
    ["red", "blue", "green", "white", "yellow", "brown", "black", "pink", "grey", "gray", "cream",
     "orange", "purple"]
)  # fmt: skip
_WRITTEN = ("book", "bible", "magazine", "comic", "newspaper", "trade-catalogue", "poster")
_BINDING_WORDS = frozenset(["bound", "binding", "boards", "covers", "covered"])
_WARES = frozenset(
    ["polish", "cleaner", "brand"]
)  # fmt: skip
_THREADS = frozenset({"lace", "cotton", "wool", "silk", "thread"})
_THREAD_TOOLS = frozenset(["bobbin", "bobbins", "reel", "reels", "winder", "winders", "pillow"])
_WORKED_ON = frozenset(
    ["wood", "leather", "glass", "stone", "bone", "metal", "tin", "lino", "cork"]
)
_TOOLS = frozenset(
    ["chisel", "chisels", "plane", "planes", "punch", "punches", "cutter", "cutters", "saw", "saws",
     "opener", "openers", "drill", "rasp", "file", "gouge", "gouges", "screw", "turning"]
)  # fmt: skip
_OF_STONEWARE = frozenset(["bottle", "bottles", "flagon", "jar", "jars", "warmer", "crock", "hot"])
_WORKED_GLASS = frozenset(["etched", "cut", "engraved", "frosted", "pressed", "gilt", "enamelled"])
_SHAPED = frozenset(["shaped", "shape", "form", "motif", "motifs", "design"])
_EDGED = frozenset(
    ["rim", "rims", "rimmed", "trim", "trims", "trimmed", "edge", "edges", "edged", "edging",
     "band", "bands", "banded", "banding", "border", "borders", "bordered", "leaf", "foil",
     "decorated", "decoration", "detail", "details", "accents", "accented", "painted",
     "highlights", "gilding", "gilded", "gilt", "lustre", "luster", "lettering", "overlay"]
)  # fmt: skip
_PART_BINDINGS = frozenset(["half", "quarter"])
_SKINS = frozenset(["leather", "calf", "morocco", "vellum", "roan", "hide", "pigskin", "sheep"])
_BOUND = frozenset({"bound", "rebound"})
_HELD_IN = frozenset(["mounted", "framed", "cased", "encased", "housed", "enclosed"])
_BLADES = frozenset(["blade", "blades", "bladed"])
_BACKED = frozenset({"backed"})
_ENAMELLED = frozenset(["enamelled", "enameled"])
_LOST = frozenset(["loss", "losses", "chips", "chipped"])
# stuffs that are let into or laid on the one a piece is made of
_LET_IN = ("ivory", "bone", "mother-of-pearl", "shell", "tortoiseshell", "abalone")
_NIBS = frozenset({"nib", "nibs"})
_FRAMES = frozenset(["frame", "frames", "framed", "surround", "mount", "mounts"])
_STORED = frozenset({"silver", "china", "glass", "linen", "plate", "porcelain", "gold"})
_STORES = frozenset(
    ["cabinet", "cabinets", "cupboard", "cupboards", "chest", "chests", "press", "canteen"]
)
_PLATES = frozenset(["copper", "steel", "wood", "zinc", "lino", "stone"])
_FIRED = ("ceramics", "tableware-and-vessels", "decorative-objects", "sculpture", "lighting")
_VESSELS = ("tableware-and-vessels", "glassware", "ceramics", "jewellery", "metalware-and-silver")
_SAID_OF_VESSELS = frozenset(["footed", "covered", "domed"])
_HARD_VESSELS = (*_VESSELS, "musical-instruments", "militaria", "wallpaper")


@dataclass(frozen=True)
class Findings:
    """Findings of materials with their neighbours, one value a finding."""

    start: IntArray
    end: IntArray
    phrase: IntArray
    concept: IntArray
    title: IntArray
    within: BoolArray


class Trade:
    """The rules, over the findings of one chunk of titles."""

    def __init__(
        self,
        lexicon: Lexicon,
        stream: TokenStream,
        found: Found,
        context: Context,
        things: Things,
        head: IntArray,
        rows: npt.NDArray[np.intp],
    ) -> None:
        self._lexicon, self._stream, self._context = lexicon, stream, context
        self._things, self._head = things, head
        phrase = found.phrase[rows]
        start, end = found.start[rows], found.end[rows]
        self.rows = Findings(
            start,
            end,
            phrase,
            lexicon.concept_of["material"][phrase],
            stream.title[start],
            found.within[rows],
        )
        last = len(stream) - 1
        self._at = np.minimum(end, last)
        self._linked = (end <= last) & context.linked[self._at]
        self._second = np.minimum(end + 1, last)
        self._second_linked = self._linked & (end < last) & context.linked[self._second]
        self._before = np.maximum(start - 1, 0)
        self._after_word = context.linked[start]
        self._zone = context.zone[start]
        self._opener = context.opener[start]
        mine = head[self.rows.title]
        self._category = np.where(mine >= 0, np.append(things.concept, -1)[mine], -1)
        self._found = found
        masks = has_role(lexicon.roles[found.phrase], "mask")
        self._masked = self._cells(found.start[masks], found.end[masks])
        self._families: dict[tuple[str, ...], BoolArray] = {}

    def settle(self, place: Places) -> None:
        """Change the places that the rules speak of."""
        self._woods(place)
        self._clocks(place)
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
        self._looks(place)
        self._elsewhere(place)
        self._let_in_together(place)

    # -- rules ------------------------------------------------------------------------------

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
        seen = skin & (named | self._next(_COVERED_WITH)) & (place == PART) & (self._zone == MAIN)
        place[seen] = SOFT
        # "walnut button back", "show frame": the wood of a seat, whatever its back is like
        backs = self._second_linked & self._words(_BACKS)[self._stream.word[self._second]]
        backs &= self._next(_BACK_FORMS) & self.family("seat-furniture")
        wood = below(self._lexicon, "wood")[self.rows.concept]
        place[wood & backs & (place == PART) & (self._zone == MAIN)] = SOFT
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
        far = self._second_linked & cases[self._stream.word[self._second]]
        far &= ~self._context.known[self._at] | self._roles_next("neutral", "fitted")
        cased = (self._linked & cases[self._stream.word[self._at]]) | far
        moved = np.zeros(len(place), dtype=bool)
        for back in (1, 2, 3):
            word = self._stream.word[np.maximum(self.rows.start - back, 0)]
            moved |= (self.rows.start - back > self._opener) & self._words(_MOVED)[word]
        soft = below(self._lexicon, "leather", "textile", "paper")[self.rows.concept]
        place[clocks & led & cased & ~moved & ~soft & (place == PART)] = BODY

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
        named = self._next(frozenset({"cased"})) & (place < PART)
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
        bound = near & self._words(_BOUND)[before] & self.family("books-and-paper")
        place[bound & (place == PART)] = WHOLE

    def _bindings(self, place: Places) -> None:
        """ "half leather", "quarter calf": a binding in part, and of a flask only a cover."""
        partly = self._lexicon.phrases_where(
            "partly bound", lambda words: words[0] in _PART_BINDINGS and words[-1] in _SKINS
        )
        books = self.family("books-and-paper")
        place[partly[self.rows.phrase] & ~books & (place < PART)] = PART

    def _blades_and_backs(self, place: Places) -> None:
        """A knife is told by its blades, a brush and a hand mirror by their backs."""
        knives = self.family("cutlery")
        place[knives & (place == PART) & self._next(_BLADES)] = BODY
        # "gold nib 14k": of what the nib is
        nibs = self._words(_NIBS)[self._stream.word[self._before]] & self._after_word
        place[nibs & self.family("fountain-pen") & (place < PART)] = PART
        brushes = self.family("hairbrush", "hand-mirror", "dressing-table-set", "brush")
        place[brushes & (place == PART) & self._next(_BACKED)] = BODY

    def _vessels(self, place: Places) -> None:
        """ "Silver footed bowl", "porcelain covered vase": said of what the metal or pot is."""
        hard = below(self._lexicon, "metal", "ceramic", "glass")[self.rows.concept]
        said = hard & self._next(_SAID_OF_VESSELS) & self._second_linked
        starts = np.append(self._things.start, -1)[self._head[self.rows.title]]
        said &= (self._second == starts) & self.family(*_VESSELS)
        place[said & (place == PART) & (self._zone == MAIN)] = WHOLE

    def _after_plain_words(self, rows: npt.NDArray[np.intp]) -> BoolArray:
        """Whether the title holds but numbers, counts, ages and plain words before a finding."""
        stream, found = self._stream, self._found
        wanted = np.zeros(stream.n_titles, dtype=bool)
        wanted[self.rows.title[rows]] = True
        mine = wanted[stream.title[found.start]]
        start, end, phrase = found.start[mine], found.end[mine], found.phrase[mine]
        roles = has_role(self._lexicon.roles[phrase], "neutral", "quantity", "count")
        if "period" in self._lexicon.concept_of:
            roles |= self._lexicon.concept_of["period"][phrase] >= 0
        plain = self._cells(start[roles], end[roles])
        plain |= self._context.is_number | self._words(frozenset({"of", "and"}))[stream.word]
        telling = np.append(0, np.cumsum(~plain))
        before = telling[stream.first[self.rows.title[rows]]]
        return telling[self.rows.start[rows]] == before

    def _cells(self, start: IntArray, end: IntArray) -> BoolArray:
        """Words of the stream that stand in one of the stretches."""
        cells = np.zeros(len(self._stream), dtype=bool)
        for step in range(int((end - start).max(initial=0))):
            at = start + step
            cells[at[at < end]] = True
        return cells

    def _parts_alone(self, place: Places) -> None:
        """ "plaster panel", "giltwood bracket": nothing but the part is sold."""
        alone = (self._head[self.rows.title] < 0) & (self._zone == MAIN) & (place == PART)
        rows = np.flatnonzero(alone & self._next_ends_clause())
        if len(rows):
            place[rows[self._after_plain_words(rows)]] = WHOLE

    def _next_ends_clause(self) -> BoolArray:
        """Whether a part follows that nothing follows in its clause but an addition."""
        part = self._roles_next("part")
        last = len(self._stream) - 1
        ends = (self._at == last) | ~self._context.linked[np.minimum(self._at + 1, last)]
        goes_on = has_role(self._context.starts[np.minimum(self._at + 1, last)], "with", "subject")
        return part & (ends | goes_on)

    def _cloths(self, place: Places) -> None:
        """A panel, a border and a collar are parts of most things and cloths of their own."""
        cloth = below(self._lexicon, "textile")[self.rows.concept] & (self._zone == MAIN)
        alone = self.family("textiles-and-rugs") | (self._head[self.rows.title] < 0)
        place[cloth & alone & (place == PART) & self._roles_next("part")] = WHOLE

    def _linings(self, place: Places) -> None:
        """Baize lines a drawer or covers a card table; stuffing is inside a bear."""
        furniture = self.family("furniture") & ~self.family("seat-furniture")
        place[furniture & self._is("felt") & (place < PART)] = PART

    def _looks(self, place: Places) -> None:
        """Words of a look, a shape or another trade that only sound like a material."""
        coats = self._lexicon.phrases_where(
            "looks like", lambda words: len(words) > 1 and words[-1] in _COATS
        )
        rows = np.flatnonzero(self._linked & self._starts(coats[self.rows.phrase])[self._at])
        rows = rows[~coats[self.rows.phrase[rows]]]
        if len(rows):
            # "Macassar ebony effect", though not the first word of "plastic bamboo style"
            coat_at = np.zeros(len(self._stream), dtype=np.int32)
            starts = coats[self.rows.phrase]
            coat_at[self.rows.start[starts]] = self.rows.phrase[starts]
            seems = self._seems(coats)[coat_at[self._at[rows]]]
            above = self._lexicon.above("material")
            alike = (seems >= 0) & above[self.rows.concept[rows], np.maximum(seems, 0)]
            alike |= (seems == self.rows.concept[rows]) | self._is("burrwood")[rows]
            place[rows[alike]] = NOTHING
        # "cherry red glass", "pearl grey silk": a shade, though glass or silk follows it
        shade = has_role(self._lexicon.roles[self.rows.phrase], "colour_word")
        shade &= ~below(self._lexicon, "metal")[self.rows.concept] & self._next(_SHADES)
        # "amethyst carnival glass", "sapphire scent bottle"
        shade_of_glass = self._starts(below(self._lexicon, "glass")[self.rows.concept])
        gem = self._is("ruby", "sapphire", "amethyst", "emerald", "topaz", "diamond")
        gem &= self.rows.end - self.rows.start == 1
        tinted = gem | self._is("amber", "coral", "turquoise")
        shade |= tinted & self._linked & shade_of_glass[self._at]
        shade |= (
            gem & self.family("glassware", "scent-bottle", "plate", "bowl") & (self._zone == MAIN)
        )
        place[shade] = NOTHING
        bare = has_role(self._lexicon.roles[self.rows.phrase], "bare_material")
        place[bare & self._next(_SHAPED)] = NOTHING
        # "glazed bookcase", "glazed case": of panes; only pots, figures and cloth have a glaze
        glazed = self._is("glaze") & (self._head[self.rows.title] >= 0)
        woods = self._starts(below(self._lexicon, "wood")[self.rows.concept])
        panes = (self._linked & woods[self._at]) | self._roles_next("body")
        place[glazed & (panes | ~self.family(*_FIRED))] = NOTHING
        # the ivory field of a carpet
        place[self._is("ivory-finish") & self.family("textiles-and-rugs")] = NOTHING
        # "silver polish", "cotton reels", "lace bobbin": wares and what they serve
        self._wares(place)
        # "crystal radio": a name that says nothing of what it is made of
        place[self.rows.within & self._masked[self.rows.start]] = NOTHING
        # "wine glasses" are of glass, "opera glasses" and "two glasses" need not be
        glasses = self._words(frozenset({"glasses"}))[self._stream.word[self.rows.end - 1]]
        glasses &= self.rows.end - self.rows.start == 1
        place[glasses & ~(self.rows.within & self.family("glassware"))] = NOTHING
        # "shell case vase": a gun's shell; only cameos are named for the other
        shell = self._words(frozenset({"shell"}))[self._stream.word[self.rows.start]]
        place[shell & self.rows.within & ~self.family("jewellery")] = NOTHING
        # "22k gold rimmed plate": what is laid on a pot, and no gold
        laid = self._next(_EDGED)
        laid |= self._linked & self._starts(self._is("gold-tone", "gold-plate", "gilded"))[self._at]
        laid &= below(self._lexicon, "gold", "platinum")[self.rows.concept]
        place[laid & self.family("ceramics", "tableware-and-vessels", "glassware")] = NOTHING
        # "copper engraved map": the plate of a print
        starts_print = self._starts(below(self._lexicon, "print-technique")[self.rows.concept])
        plate = self._words(_PLATES)[self._stream.word[self.rows.start]]
        plate &= self.rows.end - self.rows.start == 1
        place[plate & self._linked & starts_print[self._at] & self._pictures()] = NOTHING

    def _seems(self, coats: BoolArray) -> IntArray:
        """Phrase -> the material that its words but the last name: ebony of "ebony effect"."""
        lexicon = self._lexicon

        def make() -> IntArray:
            seems = np.full(len(lexicon.phrases), -1, dtype=np.int32)
            for number in np.flatnonzero(coats).tolist():
                plain = lexicon.phrase_numbers.get(lexicon.phrases[number][:-1])
                if plain is not None:
                    seems[number] = lexicon.concept_of["material"][plain]
            return seems

        return lexicon.memo(f"seems in {lexicon.field_kind or 'titles'}", make)

    def _wares(self, place: Places) -> None:
        place[self._next(_WARES) & (place < NOTHING)] = NOTHING
        thread = self._words(_THREADS)[self._stream.word[self.rows.end - 1]]
        place[thread & self._next(_THREAD_TOOLS)] = NOTHING
        # "wood chisel", "leather punch", "tin opener": what a tool works on
        worked = self._words(_WORKED_ON)[self._stream.word[self.rows.start]]
        ends = np.append(self._things.end, 1)[self._head[self.rows.title]]
        tool = self._words(_TOOLS)[self._stream.word[np.maximum(ends - 1, 0)]]
        worked &= (self.rows.within & tool) | self._next(_TOOLS)
        place[worked & self.family("tools", "kitchen-and-household", "cutlery")] = NOTHING
        # a cane is carried, and no rattan is said
        canes = self._words(frozenset({"cane", "canes"}))[self._stream.word[self.rows.start]]
        canes &= (self.rows.end - self.rows.start == 1) & self.family("walking-stick")
        if self._lexicon.field_kind != "material":
            place[canes] = NOTHING
        horns = self._words(frozenset({"horn"}))[self._stream.word[self.rows.start]]
        place[horns & self.family("gramophone", "car-horn")] = NOTHING

    def _elsewhere(self, place: Places) -> None:
        """Words that are a stuff of most things and on goods of a family are no stuff of theirs."""
        pots = self.family("ceramics", "tableware-and-vessels", "tile", "glassware")
        wooden = self._is("inlaid-wood", "grained", "marbled-paint", "quilting")
        place[pots & wooden] = NOTHING  # "inlaid tile", "faux bois plate", "quilted bottle"
        place[self.family("clothing", "jewellery") & self._is("inlaid-wood")] = NOTHING
        # the school of Bizen made swords, the town of that name pots
        fired = below(self._lexicon, "ceramic")[self.rows.concept]
        place[fired & self.family("sword", "dagger", "sword-fittings", "tsuba")] = NOTHING
        flax = self._words(frozenset({"flax"}))[self._stream.word[self.rows.start]]
        place[flax & self.family("tools")] = NOTHING  # what is spun
        chintz = self._words(frozenset({"chintz"}))[self._stream.word[self.rows.end - 1]]
        place[pots & chintz] = NOTHING
        place[self.family("musical-instruments") & self._is("lacquer") & self._gold_before()] = (
            NOTHING
        )
        # "papier mache horn" of a gramophone, "silver hilt" of a sword, "plaster loss"
        horns = self._next(frozenset({"horn", "horns"})) & self.family("gramophone")
        place[(horns | self._next(_LOST)) & (place < PART)] = PART
        # "box, dragon, China early 20th century": the place
        place_name = self._words(frozenset({"china"}))[self._stream.word[self.rows.start]]
        place_name &= self.rows.end - self.rows.start == 1
        dated = self._linked & (self._context.is_number[self._at] | self._next(TIMES))
        place[place_name & dated] = NOTHING
        # "barograph with bevelled glass"
        panes = self._is("mirror-glass") & ~self.family("mirror", "furniture", "lighting")
        place[panes & (self._head[self.rows.title] >= 0) & (place < PART)] = PART

    def _gold_before(self) -> BoolArray:
        return self._after_word & self._words(frozenset({"gold"}))[self._stream.word[self._before]]

    def _let_in_together(self, place: Places) -> None:
        """ "Ivory and silver mounted", "bone and mother-of-pearl inlay": both are let in."""
        if len(place) < 2:
            return
        later = np.append(self.rows.start[1:], -1)
        joined = self._roles_next("conjunction") & (later == self.rows.end + 1)
        joined &= np.append(self.rows.title[1:] == self.rows.title[:-1], False)
        part = np.append(place[1:] == PART, False)
        inlay = np.append(_inlay_words(self._lexicon)[self.rows.phrase][1:], False)
        fine = below(self._lexicon, *_LET_IN)[self.rows.concept] & (place == WHOLE)
        place[fine & joined & (part | inlay)] = PART

    def _implausible(self) -> BoolArray:
        """Substances that a thing of the kind is hardly made of: a book of pewter, a map of oak.

        In a title of a book, a record or a picture they are mostly what it is about.
        """
        hard = below(self._lexicon, "metal", "wood", "stone", "ceramic", "glass", "organic")
        hard &= aspects_of(self._lexicon) == MATERIAL
        books = hard & ~below(self._lexicon, "leather", "vellum", "parchment")
        on_books = books[self.rows.concept] & self.family(*_WRITTEN)
        on_books &= ~self._next(_BINDING_WORDS)
        pictures = below(self._lexicon, "metal", "wood", "stone")
        pictures &= aspects_of(self._lexicon) == MATERIAL
        on_pictures = pictures[self.rows.concept] & self.family(
            "prints-and-paintings", "map", "wallpaper"
        )
        on_pictures &= ~self.family("advertising-sign")
        records = hard & ~below(self._lexicon, "wax")
        records |= below(self._lexicon, "rubber")
        on_records = records[self.rows.concept] & self.family("record")
        return on_books | on_pictures | on_records

    # -- doubts -----------------------------------------------------------------------------

    def content(self) -> BoolArray:
        """ "silver cabinet", "glass cupboard": perhaps what is kept in it."""
        held = self._words(_STORED)[self._stream.word[self.rows.end - 1]]
        stores = self.family("case-furniture", "chest")
        return held & stores & self._next(_STORES, far=True)

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
        doubt |= prints & self.family(*_HARD_VESSELS)
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

    # -- what stands around -----------------------------------------------------------------

    def _words(self, words: frozenset[str]) -> BoolArray:
        return self._lexicon.words_in(words)

    def _next(self, words: frozenset[str], *, far: bool = False) -> BoolArray:
        """Whether one of the words follows; far: or stands one word further on."""
        flags = self._words(words)
        hit = self._linked & flags[self._stream.word[self._at]]
        if far:
            hit |= self._second_linked & flags[self._stream.word[self._second]]
        return hit

    def _starts(self, findings: BoolArray) -> BoolArray:
        """Words that one of the findings starts with."""
        words = np.zeros(len(self._stream), dtype=bool)
        words[self.rows.start[findings]] = True
        return words

    def _roles_next(self, *roles: str) -> BoolArray:
        return self._linked & has_role(self._context.starts[self._at], *roles)

    def _over_stroke(self) -> IntArray:
        """The finding behind a stroke that follows each finding, -1 for none."""
        row_at = np.full(len(self._stream), -1, dtype=np.int32)
        row_at[self.rows.start] = np.arange(len(self.rows.start), dtype=np.int32)
        stroke = (self._stream.before[self._at] & SLASH) > 0
        stroke &= (self.rows.end <= self._at) & ~self._stream.starts()[self._at]
        return np.where(stroke, row_at[self._at], -1).astype(np.int32)

    def _follows_material(self) -> BoolArray:
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        substance = aspects_of(self._lexicon)[self.rows.concept] == MATERIAL
        ends[self.rows.end[substance]] = True
        return ends[self.rows.start] & self._after_word

    def family(self, *families: str) -> BoolArray:
        """Findings in titles whose thing is of one of the families."""
        if families not in self._families:
            ids = self._lexicon.concept_ids["category"]
            wanted = np.zeros(len(ids) + 1, dtype=bool)  # one value more for no category
            for family in families:
                if family in ids:
                    wanted[:-1] |= self._lexicon.above("category")[:, ids.index(family)]
                    wanted[ids.index(family)] = True
            self._families[families] = wanted[self._category]
        return self._families[families]

    def _pictures(self) -> BoolArray:
        maps = self.family("prints-and-paintings", "books-and-paper", "maps-and-globes")
        return maps | (self._head[self.rows.title] < 0)

    def _is(self, *concepts: str) -> BoolArray:
        ids = self._lexicon.concept_ids["material"]
        wanted = np.array([one in concepts for one in ids] or [False], dtype=bool)
        return wanted[self.rows.concept]


def _inlay_words(lexicon: Lexicon) -> BoolArray:
    """Names of materials that end in a word for what is let in: "mother-of-pearl inlay"."""
    return lexicon.phrases_where("inlay words", lambda words: words[-1] in ("inlay", "inlaid"))
