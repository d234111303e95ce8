"""A period's name held against the years that the title states.

`Georgian desk, about 1930` is a desk in the Georgian taste: the years tell when it was made, and
no word has to say `style`. `Victorian table, 1780` cannot be both, and a person has to say which.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import IN_AMERICA, IN_SPANISH_AMERICA
from pipeline.terms.phrases import Found
from pipeline.terms.picks import KindReading
from pipeline.terms.title_dates import TitleDates
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# years that fashion outlives a reign, and that sellers err by
_TOLERANCE = 20
_NEVER = 1_000_000  # an open end of a period
# names of cultures and reigns that are places, peoples or patterns elsewhere
_BY_YEARS = frozenset(
    ["yuan", "shang", "zhou", "han", "tang", "song", "sung", "liao", "ottoman", "roman", "greek",
     "viking", "inca", "aztec", "maya", "transition", "transitional", "aesthetic", "colonial",
     "napoleonic", "geometric period", "archaic period", "classical period", "iron age"]
)  # fmt: skip
# periods whose names are those of a town or a country later
_PLACES_LATER = ("antiquity-roman", "anglo-saxon")
_OVER_THE_OCEAN = (
    (
        IN_AMERICA,
        (
            ("queen-anne", "american-queen-anne"),
            ("chippendale", "american-chippendale"),
            ("william-and-mary", "american-william-and-mary"),
        ),
    ),
    (IN_SPANISH_AMERICA, (("american-colonial", "spanish-colonial"),)),
)
_OTTOMANS = ("footstool", "box-ottoman")
# years before which nobody made such a thing, none too late: from memory
_INVENTED = (
    ("lighter", 1816), ("photograph", 1826), ("camera", 1826), ("sewing-machine", 1829),
    ("calculator", 1850), ("typewriter", 1865), ("motorcycle", 1867), ("wristwatch", 1868),
    ("postcard", 1869), ("telephone", 1876), ("gramophone", 1877), ("petrol-pump", 1885),
    ("vacuum-cleaner", 1890), ("toaster", 1893), ("radio", 1894), ("jukebox", 1889),
    ("television", 1926), ("computer", 1940), ("video-game", 1958),
)  # fmt: skip


def settle_by_years(
    lexicon: Lexicon,
    stream: TokenStream,
    period: KindReading,
    is_style: BoolArray,
    dates: TitleDates,
    hedged: BoolArray,
) -> None:
    """Make a period a style where the years lie after it; doubt it where they lie before it.

    Changes `period` and `is_style`. Only years in figures count, not those of a period's name, and
    none where a part is said to be of another time ("and later": `hedged`, by title).
    """
    if "period" not in lexicon.concept_ids or not len(period.concept):
        return
    _made_in_america(lexicon, stream, period)
    begins, ends = lexicon.memo("years of periods", lambda: _years(lexicon))
    number = np.maximum(period.concept, 0)
    told = (period.concept >= 0) & ~is_style & ~dates.by_name & ~hedged
    late = told & dates.has_earliest & (dates.earliest > ends[number] + _TOLERANCE)
    early = told & dates.has_latest & (dates.latest < begins[number] - _TOLERANCE)
    is_style[late] = True
    # "console table, Roman, c. 1720" was made in Rome, "vase, Saxon, 1750" in Saxony
    ids = lexicon.concept_ids["period"]
    places = [ids.index(one) for one in _PLACES_LATER if one in ids]
    elsewhere = late & np.isin(period.concept, places)
    is_style[elsewhere] = False
    period.concept[elsewhere] = -1
    period.doubtful[early] = True
    period.margin[early] = 0


def doubt_before_invention(
    lexicon: Lexicon, period: KindReading, is_style: BoolArray, category: KindReading
) -> None:
    """Doubt a period that ended before there was such a thing: a Queen Anne lighter.

    It is a name of a model, of a maker or of a taste. Changes `period`.
    """
    if "period" not in lexicon.concept_ids or "category" not in lexicon.concept_ids:
        return
    invented = lexicon.memo("years of inventions", lambda: _inventions(lexicon))
    _, ends = lexicon.memo("years of periods", lambda: _years(lexicon))
    told = (period.concept >= 0) & ~is_style & (category.concept >= 0) & ~category.doubtful
    first = invented[np.maximum(category.concept, 0)]
    before = told & (ends[np.maximum(period.concept, 0)] < first)
    period.doubtful[before] = True
    period.margin[before] = 0


def names_borne_out(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    dates: TitleDates,
    category: IntArray,
) -> BoolArray:
    """Words at which a name of a period stands before the piece and the title's years agree.

    A Roman bronze of the 2nd century is Roman; a Roman console of 1760 was made in Rome.

    Args:
        category: number of each title's category, -1 where none was found.
    """
    holds = np.zeros(len(stream), dtype=bool)
    if "period" not in lexicon.concept_of or not len(stream):
        return holds
    told = lexicon.phrases_where("names by years", lambda words: " ".join(words) in _BY_YEARS)
    concept = lexicon.concept_of["period"][found.phrase]
    rows = np.flatnonzero(told[found.phrase] & (concept >= 0) & (context.zone[found.start] == MAIN))
    if not len(rows):
        return holds
    begins, ends = lexicon.memo("years of periods", lambda: _years(lexicon))
    start, title, number = found.start[rows], stream.title[found.start[rows]], concept[rows]
    agree = dates.has_earliest[title] & dates.has_latest[title] & ~dates.by_name[title]
    agree &= dates.earliest[title] <= ends[number]
    agree &= dates.latest[title] >= begins[number]
    # "Victorian ottoman, 1870" is what one sits on
    ottoman = lexicon.phrases_where("ottoman", lambda words: words == ("ottoman",))
    seat = lexicon.below("category", *_OTTOMANS)[np.maximum(category[title], 0)]
    agree &= ~(ottoman[found.phrase[rows]] & seat & (category[title] >= 0))
    holds[start[agree]] = True
    return holds


def _made_in_america(lexicon: Lexicon, stream: TokenStream, period: KindReading) -> None:
    """ "Queen Anne high chest, Newport, Rhode Island": styles that came later over the ocean."""
    if not len(stream):
        return
    ids = lexicon.concept_ids["period"]
    for places, moves in _OVER_THE_OCEAN:
        there = np.zeros(stream.n_titles, dtype=bool)
        there[stream.title[lexicon.words_in(places)[stream.word]]] = True
        for named, meant in moves:
            if named in ids and meant in ids:
                period.concept[there & (period.concept == ids.index(named))] = ids.index(meant)


def _inventions(lexicon: Lexicon) -> IntArray:
    """First year of each category, far back where nothing is known."""
    first = np.full(len(lexicon.concept_ids["category"]), -_NEVER, dtype=np.int32)
    for kind, year in _INVENTED:
        first[lexicon.below("category", kind)] = year
    return first


def _years(lexicon: Lexicon) -> tuple[IntArray, IntArray]:
    """First and last year of each period, far off where the vocabulary has none."""
    concepts = lexicon.vocabulary.concepts("period")
    first = [-_NEVER if one.earliest_year is None else one.earliest_year for one in concepts]
    last = [_NEVER if one.latest_year is None else one.latest_year for one in concepts]
    return np.array(first or [0], dtype=np.int32), np.array(last or [0], dtype=np.int32)
