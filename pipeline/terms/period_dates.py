"""A period's name held against the years that the title states.

`Georgian desk, about 1930` is a desk in the Georgian taste: the years tell when it was made, and
no word has to say `style`. `Victorian table, 1780` cannot be both, and a person has to say which.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.picks import KindReading
from pipeline.terms.title_dates import TitleDates

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

# years that fashion outlives a reign, and that sellers err by
_TOLERANCE = 20
_NEVER = 1_000_000  # an open end of a period


def settle_by_years(
    lexicon: Lexicon,
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
    begins, ends = lexicon.memo("years of periods", lambda: _years(lexicon))
    number = np.maximum(period.concept, 0)
    told = (period.concept >= 0) & ~is_style & ~dates.by_name & ~hedged
    late = told & dates.has_earliest & (dates.earliest > ends[number] + _TOLERANCE)
    early = told & dates.has_latest & (dates.latest < begins[number] - _TOLERANCE)
    is_style[late] = True
    period.doubtful[early] = True
    period.margin[early] = 0


def _years(lexicon: Lexicon) -> tuple[IntArray, IntArray]:
    """First and last year of each period, far off where the vocabulary has none."""
    concepts = lexicon.vocabulary.concepts("period")
    first = [-_NEVER if one.earliest_year is None else one.earliest_year for one in concepts]
    last = [_NEVER if one.latest_year is None else one.latest_year for one in concepts]
    return np.array(first or [0], dtype=np.int32), np.array(last or [0], dtype=np.int32)
