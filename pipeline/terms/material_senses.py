"""Words that only sound like a stuff: a look, a shape, a ware, a place, what a tool works on."""

from __future__ import annotations

import numpy as np

from pipeline.terms.context import MAIN
from pipeline.terms.material_bare import SELDOM
from pipeline.terms.material_headings import (
    HANDLES_SOFT,
    TOO_SOFT,
    TOOLS,
    WORKED_ON,
)
from pipeline.terms.material_kinds import MATERIAL, aspects_of, below
from pipeline.terms.material_names import Names
from pipeline.terms.material_near import (
    NOTHING,
    PART,
    WEAK,
    BoolArray,
    IntArray,
    Places,
)
from pipeline.terms.name_words import TIMES
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import HYPHEN

_COATS = frozenset(["effect", "look", "style", "finish", "colour", "color", "tone", "like", "wash"])
_SHADES = frozenset(
    ["red", "blue", "green", "white", "yellow", "brown", "black", "pink", "grey", "gray", "cream",
     "orange", "purple"]
)  # fmt: skip
_WRITTEN = ("book", "bible", "magazine", "comic", "newspaper", "trade-catalogue", "poster")
_BINDING_WORDS = frozenset(["bound", "binding", "boards", "covers", "covered"])
_WARES = frozenset(["sealer", "polish", "cleaner", "brand"])
_THREADS = frozenset({"lace", "cotton", "wool", "silk", "thread"})
_THREAD_TOOLS = frozenset(["bobbin", "bobbins", "reel", "reels", "winder", "winders", "pillow"])
_TO, _PALE = frozenset({"to"}), frozenset(["clear", "white", "opal", "colourless"])
_STOVES = frozenset(["burner", "burners", "stove", "stoves"])
_SHAPED = frozenset(["shaped", "shape", "form", "motif", "motifs", "design"])
_EDGED = frozenset(
    ["rim", "rims", "rimmed", "trim", "trims", "trimmed", "edge", "edges", "edged", "edging",
     "band", "bands", "banded", "banding", "border", "borders", "bordered", "leaf", "foil",
     "decorated", "decoration", "detail", "details", "accents", "accented", "painted",
     "highlights", "gilding", "gilded", "gilt", "lustre", "luster", "lettering", "overlay"]
)  # fmt: skip
_LOST = frozenset(["loss", "losses", "chips", "chipped"])
_PLATES = frozenset(["copper", "steel", "wood", "zinc", "lino", "stone"])
_FIRED = ("ceramics", "tableware-and-vessels", "decorative-objects", "sculpture", "lighting")

_TREES = frozenset(
    ["pines", "oaks", "elms", "walnuts", "cherries", "birches", "willows", "cedars", "maples",
     "chestnuts", "poplars", "yews", "limes", "beeches", "olives", "bamboos", "teaks"]
)  # fmt: skip
_CHROME, _PIGMENTS = frozenset({"chrome"}), frozenset(["yellow", "green", "orange", "red"])
_IVORY, _SILKS = frozenset({"ivory"}), frozenset({"silks", "wools"})
_BUTTONS = frozenset(["button", "buttons", "buckle", "toggles", "sticks", "guards", "beads"])
_MARBLE, _FUR = frozenset({"marble"}), frozenset({"fur"})
_COUNTS = frozenset(["two", "three", "four", "five", "six", "eight"])
_GERMAN = frozenset(["schule", "die", "das", "den", "kinder", "haus", "kirche", "unsere"])
_CARD = frozenset({"card"})
_RUSTS = frozenset({"brown", "red"})
_IRONS = frozenset({"iron", "irons"})
_PUNCHED = frozenset({"punched", "pierced"})
_CHINA = frozenset({"china"})
_STREETS = frozenset(
    ["street", "road", "lane", "avenue", "farm", "manor", "terrace", "ridge", "rapids", "creek",
     "river", "hill", "lake", "mountain", "valley", "bay", "island", "islands", "canyon", "coast",
     "city", "county", "springs", "falls", "mine", "mines", "age"]
)  # fmt: skip
# "crochet hook", "lace making bobbins", "lace up boots": a craft, or how it is worn
_CRAFTS = frozenset(["crochet", "knitting", "needlework", "embroidery", "quilting", "lace"])
_OF_CRAFTS = frozenset(
    ["hook", "hooks", "needle", "needles", "pattern", "patterns", "machine", "pins", "kit", "kits",
     "hoop", "hoops", "making", "frame", "frames", "threads", "magazine", "magazines", "book",
     "books", "up", "ups"]
)  # fmt: skip
_BEDS = frozenset(["bed", "beds", "bedded"])
_TAPESTRY, _OF_TAPESTRY = frozenset({"tapestry"}), frozenset(["frame", "needle", "needles", "kit"])
_LOOKING, _GLASS = frozenset({"looking"}), frozenset({"glass"})
_SHELL, _BRASS = frozenset({"shell"}), frozenset({"brass"})
_HORSEHAIR = frozenset({"horsehair"})
_HAIR_OF = frozenset(
    ["mane", "tail", "filled", "stuffed", "filling", "stuffing", "plume", "wig", "bow"]
)
_GONE = frozenset(
    ["off", "missing", "wanting", "lacking", "lifting", "gone", "perished", "later", "deficient"]
)
_WIRE = frozenset({"wire"})
_IN, _INLAID = frozenset({"in"}), frozenset({"inlaid"})


_MOPS = frozenset(["mop", "mops"])


_LABELS = frozenset(["fabric", "composition", "material", "materials"])


class Senses(Names):
    """The rules that take a word for something other than what a piece is made of."""

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
        gem = self._is("aquamarine", "ruby", "sapphire", "amethyst", "emerald", "topaz", "diamond")
        gem &= self.rows.end - self.rows.start == 1
        tinted = gem | self._is("amber", "coral", "turquoise")
        shade |= tinted & self._linked & shade_of_glass[self._at]
        # "turquoise faience", "coral silk"; "ruby to clear"
        shaded = below(self._lexicon, "ceramic", "textile", "plastic", "leather")
        shade |= (tinted & self._linked & self._starts(shaded[self.rows.concept])[self._at]) | (
            tinted & self._next(_TO) & self._words(_PALE)[self._stream.word[self._second]]
        )
        shade |= (
            gem
            & self.family("glassware", "scent-bottle", "plate", "bowl", "flask")
            & (self._zone == MAIN)
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
        masked = self.rows.within & self._masked[self.rows.start]
        # ("ruby glass lustres" and glass eyes are of it)
        of_glass = below(self._lexicon, "glass")[self.rows.concept]
        masked &= ~(self.family("mantel-lustre", "glass-eye") & of_glass)
        masked &= ~self.family("medal")  # "gold medal"
        place[masked] = NOTHING
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
        # "brocade, wire", "wire and painted wood": mostly what holds the rest
        wire = self._words(_WIRE)[self._stream.word[self.rows.start]]
        place[wire & (self.rows.end - self.rows.start == 1) & (place < WEAK)] = WEAK
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
        first = self._stream.word[self.rows.start]
        worked = self._words(WORKED_ON)[first]
        ends = np.append(self._things.end, 1)[self._head[self.rows.title]]
        last = self._stream.word[np.maximum(ends - 1, 0)]
        worked &= (self.rows.within & self._words(TOOLS)[last]) | self._next(TOOLS)
        unnamed = self._head[self.rows.title] < 0
        worked &= self.family("tools", "kitchen-and-household", "cutlery", "can-opener") | unnamed
        # "straw dispenser", "wool comb", "coconut grater"
        soft = self._words(TOO_SOFT)[first] & (self.rows.end - self.rows.start == 1)
        soft &= (self.rows.within & self._words(HANDLES_SOFT)[last]) | self._next(HANDLES_SOFT)
        burnt = self._words(frozenset({"wood"}))[first] & self._next(_STOVES)
        place[worked | soft | burnt] = NOTHING
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
        # "dish; willow; c. 1840": the pattern
        alone = self._stream.opens_clause(self.rows.start)
        alone &= self._stream.closes_clause(self.rows.end)
        wooden |= self._is("willow") & alone
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
        self._other_words(place)
        self._no_stuff_of_such(place)
        self._details(place)
        # "barograph with bevelled glass"
        panes = self._is("mirror-glass") & ~self.family("mirror", "furniture", "lighting")
        place[panes & (self._head[self.rows.title] >= 0) & (place < PART)] = PART

    def _other_words(self, place: Places) -> None:
        """What only sounds like a stuff: trees, pigments, a gun's shell, a country."""
        words, rows = self._words, self.rows
        first = self._stream.word[rows.start]
        single = rows.end - rows.start == 1
        before = self._after_word & single
        one_back = self._stream.word[self._before]
        # "mop, cotton" is no mother-of-pearl
        nothing = single & words(_MOPS)[first] & self._stream.starts()[rows.start]
        nothing |= self._spelt(_TREES, single & below(self._lexicon, "wood")[rows.concept])
        nothing |= self.of_turned_headings(place) | self.of_names(place) | self.of_served(place)
        nothing |= single & words(_CHROME)[first] & self._next(_PIGMENTS)  # "chrome yellow"
        nothing |= single & words(_IRONS)[first] & self._next(_RUSTS)  # "iron brown scroll"
        nothing |= before & words(_LOOKING)[one_back] & words(_GLASS)[first]
        # "leather-brown glazed"
        hyphen = (self._stream.before[self._at] & HYPHEN) > 0
        nothing |= hyphen & single & self._next(_SHADES)
        # "shell brass" of trench art
        shot = self._next(_BRASS) | (before & words(_BRASS)[one_back])
        nothing |= single & words(_SHELL)[first] & shot
        # "enamel on copper alloy, China, Ming dynasty"
        alone = self._stream.opens_clause(rows.start) & self._stream.closes_clause(rows.end)
        alone &= ~self._stream.starts()[rows.start]
        china = single & words(_CHINA)[first] & alone
        nothing |= china & self._dates_follow() & ~self._stream.starts()[self._at]
        # "Box, Japanese lacquer, China"
        other = np.bincount(rows.title[~china & (place < PART)], minlength=self._stream.n_titles)
        nothing |= (
            china & (other[rows.title] > 0) & (self._stream.first[rows.title + 1] == rows.end)
        )
        nothing |= single & self._next(_STREETS)  # "collect from Brass Street", "Pine Ridge"
        nothing |= single & words(_CRAFTS)[first] & self._next(_OF_CRAFTS)
        nothing |= single & words(_TAPESTRY)[first] & self._next(_OF_TAPESTRY)
        tools = self.family("sewing-and-needlework-tools") & rows.within
        nothing |= single & words(_CRAFTS)[first] & tools
        # "four-ply wool"
        counted = self._context.is_number[self._before] | words(_COUNTS)[one_back]
        nothing |= before & self._is("plywood") & counted
        # "Welt-Atlas fuer Schule": the word of another language
        nothing |= single & words(_FUR)[first] & self._next(_GERMAN)
        # "Card 212": of a card index
        nothing |= single & words(_CARD)[first] & self._linked & self._context.is_number[self._at]
        place[nothing] = NOTHING

    def _no_stuff_of_such(self, place: Places) -> None:
        """Words that on goods of a family tell a colour, a carving or the thing itself."""
        words, rows = self._words, self.rows
        first = self._stream.word[rows.start]
        single = rows.end - rows.start == 1
        nothing = self._is("blue-and-white") & self.family("textiles-and-rugs", "advertising-sign")
        nothing |= self._is("french-polish") & self.family("maps-and-globes", "books-and-paper")
        # a carved eagle with "cross hatched feathers"
        nothing |= self._is("feather") & self.family("sculpture", "figurine", "decoy")
        # "wedding dress, ivory charmeuse", if no part follows
        dyed = words(_IVORY)[first] & single & self.family("clothing", "textiles-and-rugs")
        dyed &= ~self.family("hand-fan", "parasol", "umbrella", "button", "buckle", "hair-comb")
        nothing |= dyed & ~self._roles_next("part", "fitted") & ~self._next(_BUTTONS)
        nothing |= words(_MARBLE)[first] & single & self.family("marbles")
        # "postcard album, some silks": cards woven of it
        told = self.family("books-and-paper", "postcard", "advertising-sign")
        nothing |= words(_SILKS)[first] & single & told
        # "Iron, box, brass": what one irons with
        irons = words(_IRONS)[first] & single & self.family("flat-iron")
        nothing |= irons & self._stream.starts()[rows.start]
        # "alpaca coat": the wool, whose name the metal has too
        nothing |= self._is("nickel-silver") & self.family("clothing", "textiles-and-rugs")
        nothing |= self.only_alone(words(SELDOM)[first] & single)
        # "Bowl. Fabric: clay", "jug; fabric 3": the label of a field
        label = words(_LABELS)[first] & single & (rows.end < len(self._stream))
        label &= self._colon(self._at) | (self._linked & self._context.is_number[self._at])
        nothing |= label
        place[nothing] = NOTHING

    def _details(self, place: Places) -> None:
        """Stuffs that by the words beside them, or on such goods, are of a part."""
        words, rows, of = self._words, self.rows, self._below
        first = self._stream.word[rows.start]
        one_back = self._stream.word[self._before]
        part = words(_HORSEHAIR)[first]
        part &= self._next(_HAIR_OF) | self.family("toys-and-games", "seat-furniture")
        # "some veneer off", "grip leather wanting", "glass later"
        past = np.minimum(rows.end + 1, len(self._stream))
        lost = self._next(_GONE) & self._stream.closes_clause(past)
        part |= lost & (self._head[rows.title] >= 0)
        part |= of("leather", "vellum") & self.family("musical-instruments")
        part |= of("leather") & self.family("rocking-horse")
        alone = rows.end - rows.start == 1
        punched = (self._after_word & alone & words(_PUNCHED)[one_back]) | words(_PUNCHED)[first]
        part |= self._is("slate") & self._next(_BEDS)  # "slate bed billiard table"
        part |= self._is("tinplate") & punched & self.family("furniture")
        part |= of("paper") & self.family("quilt")
        part |= self._is("bentwood") & self.family("sewing-machine", "typewriter")
        sewn = self.family("prints-and-paintings", "textiles-and-rugs") & ~self.family("hand-fan")
        part |= of("pearl") & sewn
        part |= self._is("paste-stone") & self.family("dress", "textiles-and-rugs")
        # "inlaid in mother-of-pearl"
        two_back = self._stream.word[np.maximum(rows.start - 2, 0)]
        apart = self._after_word & self._context.linked[self._before]
        part |= apart & words(_IN)[one_back] & words(_INLAID)[two_back]
        part |= self.of_some()
        place[part & (place < PART)] = PART

    def _below(self, *roots: str) -> BoolArray:
        return below(self._lexicon, *roots)[self.rows.concept]

    def _spelt(self, spellings: frozenset[str], among: BoolArray) -> BoolArray:
        """Findings whose first word is so spelt: "cranes and pines" shows trees.

        The lexicon gives a plural the number of its singular.
        """
        spelling = self._stream.spelling[self.rows.start]
        wanted = [
            number
            for number in np.unique(spelling[among]).tolist()
            if self._stream.spellings[number] in spellings
        ]
        return among & np.isin(spelling, wanted)

    def _gold_before(self) -> BoolArray:
        return self._after_word & self._words(frozenset({"gold"}))[self._stream.word[self._before]]

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
