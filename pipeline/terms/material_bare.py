"""Words that mostly mean something other than a stuff: tin, horn, china; flint, reed, quartz."""

from __future__ import annotations

import numpy as np

from pipeline.terms.material_kinds import JEWELS, below
from pipeline.terms.material_near import BoolArray, Neighbourhood
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import CLAUSE

_IN = frozenset({"in"})
_WRITTEN = frozenset(
    ["signed", "inscribed", "titled", "numbered", "dated", "annotated", "marked", "initialled",
     "written", "noted", "monogrammed", "autographed"]
)  # fmt: skip
# words that tell a stuff where they stand in a clause of their own
ONLY_ALONE = frozenset(
    ["serpentine", "flint", "quartz", "jasper", "reed", "reeds", "bark", "tooth", "teeth", "seed",
     "seeds", "quill", "crepe", "malacca", "sharkskin", "astrakhan", "chamois", "shantung",
     "georgette", "moleskin", "melton", "serge", "merino", "ninon", "tufted", "handwoven",
     "opalescent", "guilloche", "swatow", "nabeshima", "oribe", "narwhal", "hawksbill", "fossil",
     "gem", "beryl", "cattail", "bulrush", "plumbago", "lisle", "marcella", "alpaca", "shellac",
     "amaranth", "hawthorn", "acetate", "pearline", "gres", "violetta", "kersey", "leno",
     "bois", "silber"]
)  # fmt: skip
# words of beasts and colours that are a stuff on some goods and nothing on all others
_ONLY_USUAL = frozenset(
    ["crocodile", "alligator", "lizard", "kid", "fox", "beaver", "rabbit", "squirrel", "otter",
     "leopard", "raccoon", "skunk", "cranberry", "vaseline", "carnival"]
)  # fmt: skip
SELDOM = ONLY_ALONE | _ONLY_USUAL
_WORKED_STONE = frozenset(
    ["polished", "knapped", "worked", "struck", "carved", "green", "grey", "gray", "brown", "black",
     "white", "red", "yellow"]
)  # fmt: skip
_Kinds = tuple[tuple[frozenset[str], tuple[str, ...]], ...]
_USUAL_STUFFS: _Kinds = (
    (frozenset({"flint"}), ("stone-tool", "arrowhead")),
    (frozenset({"serpentine"}), ("tankard", "goblet", "mortar", "pendant")),
    (frozenset(["bark", "reed", "reeds"]), ("basket", "bark-cloth")),
    (frozenset({"crepe"}), ("dress", "blouse", "scarf", "shawl")),
    (
        frozenset(["crocodile", "alligator", "lizard"]),
        ("bag", "handbag", "wallet", "briefcase", "suitcase", "belt", "shoes", "card-case",
         "dressing-case", "cigar-case", "cigarette-case", "hip-flask", "purse"),
    ),
    (frozenset({"kid"}), ("gloves", "shoes")),
    (
        frozenset(
            ["georgette", "moleskin", "melton", "serge", "merino", "shantung", "ninon", "lisle",
             "marcella", "astrakhan", "acetate", "kersey", "tufted", "handwoven"]
        ),
        ("clothing", "textiles-and-rugs"),
    ),
    (frozenset({"malacca"}), ("walking-stick", "whip", "umbrella", "parasol", "mace", "pipe")),
    (
        frozenset(["opalescent", "pearline"]),
        ("glassware", "vase", "bowl", "lampshade", "epergne", "jug", "basket"),
    ),
    (frozenset({"calf"}), ("bag", "handbag", "wallet", "shoes", "boots", "briefcase", "suitcase")),
    (
        frozenset(
            ["fox", "beaver", "rabbit", "squirrel", "otter", "leopard", "raccoon", "skunk"]
        ),
        ("fur-stole", "fur-coat", "muff", "cape", "coat", "hat", "collar"),
    ),
    (
        frozenset(["cranberry", "vaseline", "carnival"]),
        ("glassware", "vase", "jug", "bottle", "bowl", "lampshade", "basket"),
    ),
)  # fmt: skip
_NEVER_STUFFS: _Kinds = (
    (frozenset({"serpentine"}), ("furniture",)),
    (
        frozenset({"flint"}),
        ("firearm", "glassware", "tableware-and-vessels", "lighter", "tinderbox", "ceramics"),
    ),
    (frozenset(["reed", "reeds"]), ("musical-instruments",)),
    (frozenset({"quartz"}), ("clocks-and-watches",)),
)


_GILT = frozenset({"gilt"})
_GILT_GOODS = ("mirror", "picture-frame", "lighting", "clocks-and-watches", "furniture")


class Bare(Neighbourhood):
    """Where such words may stand and tell a stuff."""

    def bare_allowed(self) -> BoolArray:
        """Words that mostly mean other things (tin, horn, china): only where their place is clear.

        Clear is right before a thing, a part or another material, beside "and" a material, or
        alone between commas. Stones are materials of jewellery and colours of all else.
        """
        lexicon, stream, context = self._lexicon, self._stream, self._context
        start, end = self.rows.start, self.rows.end
        n = len(stream)
        base = np.zeros(len(lexicon.phrases), dtype=bool)
        base[lexicon.field_only.get("material", [])] = True
        bare = base[self.rows.phrase] & has_role(lexicon.roles[self.rows.phrase], "bare_material")
        if lexicon.field_kind == "material" or not bare.any():
            return np.ones(len(start), dtype=bool)
        mine = self._head[self.rows.title]
        head_start = np.append(self._things.start, -1)[mine]
        head_end = np.append(self._things.end, -1)[mine]
        starts_thing = np.zeros(n, dtype=bool)
        starts_thing[self._things.start] = True
        ends_thing = np.zeros(n + 1, dtype=bool)  # "overmantel mirror gilt"
        ends_thing[self._things.end] = True
        opens_material = np.zeros(n, dtype=bool)
        opens_material[start] = True
        ends_material = np.zeros(n + 1, dtype=bool)
        ends_material[end] = True
        at_start = stream.starts()[start]
        opens = at_start | ((stream.before[start] & CLAUSE) > 0)
        closes = stream.closes_clause(end)
        joins = self._roles_next("conjunction") & self._second_linked
        before = np.maximum(start - 1, 0)
        joined = context.linked[start] & has_role(context.ends[before], "conjunction")
        clear = (
            (self._linked & (starts_thing[self._at] | opens_material[self._at]))
            | self._roles_next("part", "fitted", "body")
            | (joins & opens_material[self._second])
            | (joined & ends_material[before] & context.linked[before])
            | (opens & closes & ~at_start)
            | (closes & context.linked[start] & ends_thing[start])
            | ((start == head_start) & (end <= head_end))  # "leather fire bucket"
        )
        clear |= self._gilt_behind(ends_thing)
        gem = has_role(lexicon.roles[self.rows.phrase], "gem_word")
        # "drawing, chalk", "crayon and pencil on paper"; "crayon box" is of none
        media = below(lexicon, "painting-medium")[self.rows.concept]
        pictures = self.family("prints-and-paintings") | (head_start < 0)
        # "landscape in oils", though not "signed in ink"
        led_in = lexicon.words_in(_IN)[stream.word[before]] & context.linked[start]
        written = lexicon.words_in(_WRITTEN)[stream.word[np.maximum(start - 2, 0)]]
        clear |= media & led_in & ~(written & context.linked[before])
        # "dress, floral crepe", "handbag tan calf": what is worn ends with its cloth or skin
        worn = below(lexicon, "textile", "leather")[self.rows.concept] & self.family("clothing")
        worn &= ~self._is("straw")  # a shade
        clear |= worn & closes & context.linked[start] & (start >= head_end) & (head_end >= 0)
        return ~bare | (clear & (~gem | self.family(*JEWELS)) & (~media | pictures))

    def _gilt_behind(self, ends_thing: BoolArray) -> BoolArray:
        """ "Mirror gilt 1960s", "mirror oval gilt": a date, an age or a shape breaks no run."""
        stream, context, rows = self._stream, self._context, self.rows
        gilt = self._words(_GILT)[stream.word[rows.start]] & (rows.end - rows.start == 1)
        gilt &= self.family(*_GILT_GOODS) & self._after_word
        if not gilt.any():
            return gilt
        said = context.is_number | context.dated | has_role(context.starts, "neutral")
        goes_on = self._linked & said[self._at] & ends_thing[rows.start]
        formed = ends_thing[self._before] & context.linked[self._before] & said[self._before]
        return gilt & (goes_on | (formed & stream.closes_clause(rows.end)))

    def only_alone(self, row: BoolArray) -> BoolArray:
        """ "Seal; jasper", though no "serpentine chest" and no "seed drill".

        Words that seldom tell a stuff do it in a clause of their own behind the piece, or right
        before a piece that is often of it; some of them only on such a piece.
        """
        if self._lexicon.field_kind == "material" or not row.any():
            return np.zeros(len(row), dtype=bool)
        start = self.rows.start
        # "axe, polished flint"
        before = np.maximum(start - 1, 0)
        worked = self._after_word & self._words(_WORKED_STONE)[self._stream.word[before]]
        opening = np.where(worked, before, start).astype(np.int32)
        alone = self._stream.opens_clause(opening) & self._stream.closes_clause(self.rows.end)
        alone &= ~self._stream.starts()[start]
        first = self._stream.word[start]
        usual = np.zeros(len(row), dtype=bool)
        for stuffs, families in _USUAL_STUFFS:
            usual |= self._words(stuffs)[first] & self.family(*families)
        alone &= ~self._words(_ONLY_USUAL)[first]
        for stuffs, families in _NEVER_STUFFS:
            alone &= ~(self._words(stuffs)[first] & self.family(*families))
        return row & ~alone & ~usual
