"""Numbers and names that are read as stuffs: years, a country, a gun's shell, people, models."""

from __future__ import annotations

import numpy as np

from pipeline.terms.material_kinds import MATERIAL, aspects_of, below
from pipeline.terms.material_near import PART, BoolArray, Places
from pipeline.terms.material_served import Served
from pipeline.terms.name_words import TIMES
from pipeline.terms.phrases import has_role
from pipeline.terms.tokens import HYPHEN

_BEFORE_YEARS = frozenset(["c", "ca", "circa", "about", "around", "approximately", "ad", "dated"])
_ERAS = frozenset(["bc", "bce", "ad", "ce"])
_FIGURES = 3
# goods that bear no mark of fineness
_UNMARKED = (
    "antiquity", "sculpture", "ceramics", "textiles-and-rugs", "prints-and-paintings",
    "books-and-paper", "maps-and-globes", "furniture",
)  # fmt: skip
_MARKED = frozenset(
    ["stamped", "marked", "hallmarked", "marks", "mark", "hallmark", "hallmarks", "stamp", "gold",
     "silver", "standard", "tested"]
)  # fmt: skip

_CHINA = frozenset({"china"})
# what is of no pottery: a country is told
_NEVER_CHINA = (
    "coins-and-medals", "medal", "books-and-paper", "maps-and-globes", "prints-and-paintings",
    "advertising-sign", "stamp", "postcard", "photograph", "textiles-and-rugs", "clothing",
    "militaria", "cameras-and-optics",
)  # fmt: skip
_SHELL = frozenset({"shell"})
_OF_THE_FIRM = frozenset(
    ["oil", "oils", "petrol", "motor", "motors", "petroleum", "spirit", "garage", "gasoline",
     "lubricating"]
)  # fmt: skip
_SHOT = frozenset(
    ["pounder", "pounders", "pdr", "shrapnel", "inert", "explosive", "artillery", "howitzer",
     "mortar", "projectile", "fuse", "fuze", "ammunition"]
)  # fmt: skip
_BORE = "mm"
_LAPIS, _BLUE = frozenset({"lapis"}), frozenset(["bleu", "blue"])
_TOILE, _SUR = frozenset({"toile"}), frozenset({"sur"})
_TOWNS, _LANDS = frozenset({"cork"}), frozenset({"ireland"})
_ARTICLES = frozenset(["a", "an", "two", "pair", "the", "set"])
_WORDS_OF_A_NAME = (2, 3)

_WORKS = (
    "prints-and-paintings", "book", "poster", "map", "postcard", "magazine", "programme", "ticket",
)  # fmt: skip
_NEVER_OF_RECORDS = ("textile", "leather", "fur", "wood", "stone", "ceramic")
_OF_THE_SUBJECT = ("textile", "plant-fibre", "rush", "wood", "paper", "fur", "leather", "stone")
_PELTS = ("skin", "skins", "fur", "furs", "hide", "pelt")
_DYED = ("dress", "coat", "jacket", "skirt", "blouse", "shirt", "waistcoat", "scarf", "shawl")
_LEADS_ON = (
    "part", "fitted", "body", "neutral", "with", "conjunction", "subject", "purpose", "quantity",
    "colour_follow",
)  # fmt: skip


def _is_bore(spelling: str) -> bool:
    return spelling == _BORE or (spelling.endswith(_BORE) and spelling[: -len(_BORE)].isdigit())


class Names(Served):
    """Where a number or a name stands, and no stuff."""

    def of_names(self, place: Places) -> BoolArray:
        """Findings that are years, places, people or a gun's shell."""
        single = self.rows.end - self.rows.start == 1
        nothing = self._of_years(single) | self._of_the_country(single, place)
        nothing |= self._of_a_gun_or_firm(single) | self._of_a_person() | self._of_a_work()
        first = self._stream.word[self.rows.start]
        one_back = self._stream.word[self._before]
        # "bleu lapis cup": a ground; "huile sur toile"
        nothing |= self._words(_LAPIS)[first] & self._after_word & self._words(_BLUE)[one_back]
        nothing |= self._words(_TOILE)[first] & self._after_word & self._words(_SUR)[one_back]
        # "Cork, Ireland, silver ladle"
        same = self._stream.title[self._at] == self.rows.title
        land = self._words(_LANDS)[self._word_at] & same & (self.rows.end == self._at)
        return nothing | (self._words(_TOWNS)[first] & single & land)

    def _of_years(self, single: BoolArray) -> BoolArray:
        """ "Amphora, c. 585 BC", "bowl, 750-800": years, though gold and silver are marked so.

        A year has a word of years beside it or is one of two numbers of three figures; a statue or
        a rug bears no hallmark.
        """
        stream, rows = self._stream, self.rows
        figures = (stream.figures() == _FIGURES)[stream.spelling]
        number = single & figures[rows.start]
        if not number.any():
            return number
        leads = stream.spelt(_BEFORE_YEARS)
        led = leads[stream.spelling[self._before]] & ~stream.starts()[rows.start]
        ahead = (rows.end < len(stream)) & (stream.title[self._at] == rows.title)
        era = stream.spelt(_ERAS)[stream.spelling]
        years = led | (ahead & era[self._at]) | self._spelt_era(number & ahead)
        hyphen = (stream.before & HYPHEN) > 0
        ranged = hyphen[rows.start] & figures[self._before] & ~stream.starts()[rows.start]
        ranged |= ahead & hyphen[self._at] & figures[self._at]
        marked = ~stream.starts()[rows.start] & self._words(_MARKED)[stream.word[self._before]]
        return number & (years | ranged | (self.family(*_UNMARKED) & ~marked))

    def _spelt_era(self, number: BoolArray) -> BoolArray:
        """ "B.C.", "C.E.", "A.D." behind a number: letters that stand by themselves."""
        stream = self._stream
        spelt = number & (self._second > self._at)
        spelt &= stream.title[self._second] == self.rows.title
        for row in np.flatnonzero(spelt).tolist():
            letters = stream.spelling[[self._at[row], self._second[row]]]
            spelt[row] = "".join(stream.spellings[i] for i in letters) in _ERAS
        return spelt

    def _of_the_country(self, single: BoolArray, place: Places) -> BoolArray:
        """ "China medal", "map of China", "China, Qing dynasty, jade bowl"."""
        stream, rows = self._stream, self.rows
        china = single & self._words(_CHINA)[stream.word[rows.start]]
        if not china.any():
            return china
        opens = stream.starts()[rows.start] & stream.closes_clause(rows.end)
        opens &= stream.title[self._at] == rows.title
        stuff = (aspects_of(self._lexicon)[rows.concept] == MATERIAL) & (place < PART) & ~china
        stuff &= ~below(self._lexicon, "ceramic")[rows.concept]
        other = np.bincount(rows.title[stuff], minlength=stream.n_titles)[rows.title] > 0
        return china & (self.family(*_NEVER_CHINA) | (opens & (other | self._dates_follow())))

    def _dates_follow(self) -> BoolArray:
        """Whether a year, a period or a word such as "late" comes next, after a comma or not."""
        named = np.zeros(len(self._stream), dtype=bool)
        periods = self._lexicon.concept_of["period"][self._found.phrase] >= 0
        named[self._found.start[periods]] = True
        named |= self._context.is_number | self._words(TIMES)[self._stream.word]
        return named[self._at]

    def _of_a_gun_or_firm(self, single: BoolArray) -> BoolArray:
        """ "Shell, 18 pounder, inert", "Shell petrol can"."""
        stream, rows = self._stream, self.rows
        shell = single & self._words(_SHELL)[stream.word[rows.start]]
        if not shell.any():
            return shell
        shot = np.zeros(stream.n_titles, dtype=bool)
        shot[stream.title[self._words(_SHOT)[stream.word]]] = True
        # "shell, 75 mm"
        bore = stream.spellings_that("a bore", _is_bore)[stream.spelling]
        near = bore[self._at] & (rows.end == self._at) & (stream.title[self._at] == rows.title)
        apart = bore[self._second] & self._context.is_number[self._at] & (self._second > self._at)
        near |= apart & (stream.title[self._second] == rows.title)
        near &= stream.opens_clause(rows.start) & stream.closes_clause(rows.end)
        return shell & (self._next(_OF_THE_FIRM) | shot[rows.title] | near)

    def _of_a_person(self) -> BoolArray:
        """ "Ivory Smith, a bowl", "Denim Jones, a lamp": nobody knows the word, the rest is sold.

        The name is the whole of the first clause, and the thing stands behind it.
        """
        stream, rows = self._stream, self.rows
        opens = stream.starts()[rows.start] & self._linked
        if not opens.any():
            return opens
        head = np.append(self._things.start, -1)[self._head[rows.title]]
        clause = stream.clause[rows.start]
        later = (head > rows.start) & (stream.clause[np.maximum(head, 0)] != clause)
        ends = np.searchsorted(stream.clause, clause, side="right").astype(np.int32)
        named = np.isin(ends - rows.start, _WORDS_OF_A_NAME)
        unknown = ~self._context.known & ~self._context.is_number
        # "Ash Brown, a pottery bowl"
        past = np.minimum(ends, len(stream) - 1)
        article = self._words(_ARTICLES)[stream.word[past]]
        shade = has_role(self._context.ends[self._at], "colour_follow") & article
        shade &= ends - rows.end == 1
        return opens & later & named & (unknown[self._at] | shade)

    def _of_a_work(self) -> BoolArray:
        """ "Silk mill print", "Suede LP", "ermine print": words of what is shown or sung.

        The stuff stands before another word, and the book or picture behind that.
        """
        rows, stream = self.rows, self._stream
        paper = self.family(*_WORKS)
        record = self.family("record") & below(self._lexicon, *_NEVER_OF_RECORDS)[rows.concept]
        fur = below(self._lexicon, "fur")[rows.concept]
        # ("sealskin doll" is of it)
        pelts = self._lexicon.phrases_where("pelts", lambda words: words[-1].endswith(_PELTS))
        fur &= ~pelts[rows.phrase]
        nothing = record | (fur & (paper | self.family("figurine", "sculpture")))
        # "mahogany dress", "gunmetal coat": a shade
        shade = below(self._lexicon, "wood", "gunmetal")[rows.concept] & self._linked
        starts = np.append(self._things.start, -1)[self._head[rows.title]]
        nothing |= shade & self.family(*_DYED) & (starts == self._at)
        if not paper.any():
            return nothing
        opens = np.zeros(len(stream), dtype=bool)
        opens[rows.start] = True
        opens[self._things.start] = True
        head = np.append(self._things.start, -1)[self._head[rows.title]]
        said = has_role(self._context.starts[self._at], *_LEADS_ON) | opens[self._at]
        said |= self._context.is_number[self._at]
        said |= stream.participles()[stream.spelling[self._at]]
        named = paper & self._linked & ~said & (head > self._at) & ~rows.within
        named &= stream.starts()[rows.start] & (rows.end - rows.start == 1)
        named &= stream.clause[np.maximum(head, 0)] == stream.clause[rows.start]
        return nothing | (named & below(self._lexicon, *_OF_THE_SUBJECT)[rows.concept])
