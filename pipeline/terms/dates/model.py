"""What a date text is read into."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

CERTAINTIES: Final = (
    "stated",  # the text gives it and all of the text was understood
    "circa",  # the text itself says about
    "uncertain",  # the text doubts it, or gives a date of something near the making
    "ambiguous",  # the text has two readings; the years cover both, or the likelier is named
    "partial",  # a date stands beside words that were not understood
    "style",  # a style, a model, a copy, a person's life: no date of making
    "none",  # no date
)


@dataclass(frozen=True, slots=True)
class DateReading:
    """A date text as read.

    Attributes:
        earliest, latest: years, inclusive; 300 BC is -300; None is open, or no date.
        edtf: ISO 8601-2 (EDTF levels 1 and 2), or None. EDTF counts years astronomically
            (300 BC is -0299).
        certainty: one of `CERTAINTIES`.
        rule: the rule that read it ("year", "part_of_century", "named_period", "unread" ...).
        text: the text as given.
    """

    earliest: int | None
    latest: int | None
    edtf: str | None
    certainty: str
    rule: str
    text: str

    @property
    def is_date(self) -> bool:
        """True where at least one end of the range is known."""
        return self.earliest is not None or self.latest is not None


@dataclass(slots=True)
class Span:
    """A date expression while it is being read. `core` is its EDTF form without qualifiers,
    None where only the interval of the two years says it."""

    earliest: int | None
    latest: int | None
    kind: str
    core: str | None = None
    circa: bool = False
    unsure: bool = False
    ambiguous: bool = False
    pending: bool = False  # an ordinal that still waits for its "century"
    era: str | None = None
    number: int = 0  # of a century or a year as written
    part: tuple[int, int] | None = None  # of a century, in hundredths
    start_edtf: str | None = None  # of a range
    end_edtf: str | None = None
    label: str = ""
    widened: bool = False  # circa has been applied to the years


@dataclass(frozen=True, slots=True)
class DateSettings:
    """Settings of reading: years of circa, reckoning of centuries, the last year that may be."""

    circa_years: int
    trade: bool
    last_year: int
