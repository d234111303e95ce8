"""Dates as museums, auction houses and sellers write them.

``read_date`` reads a text that is meant as a date, ``find_dates`` looks for one in a title, and
``read_dates`` reads a whole column. The tables of what early, late, circa and the rest mean stand
in `spans`, the choice between several dates of one text in `reader`, the words in `lexicon`, the
reigns and periods in the package's table date_words.csv.

Years: 300 BC is -300, there is no year 0; EDTF strings count astronomically (-0299). A century BC
runs from its first to its last year in either reckoning (2nd century BC is -200..-101, EDTF
-01XX, as python-edtf publishes). Century "hundreds" is 1800..1899 (CDWA, EDTF), "trade" is
1801..1900.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from pipeline.errors import SettingsError
from pipeline.terms.dates.lexer import fold, may_hold_date
from pipeline.terms.dates.model import CERTAINTIES, DateReading, DateSettings
from pipeline.terms.dates.reader import read_folded
from pipeline.terms.dates.written_forms import in_usual_order, span_of_list
from pipeline.terms.printed import printed

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["CERTAINTIES", "DateReading", "find_dates", "read_date", "read_dates"]

_LONGEST = 400
_SUPPLIED = re.compile(r"[(\[](1[4-9]|20)[)\]](\d\d)(?!\d)")  # "(17)89", "[18]73"
_EDTF_BC = re.compile(r"-(\d{4}|\d\dxx)([~?%]?)")


def read_date(
    text: str | float | None,
    circa_years: int = 5,
    century: str = "hundreds",
    today: dt.date | None = None,
) -> DateReading:
    """Read a text that is meant as a date of making.

    Args:
        text: as written; None, NaN and blanks are no date. A number is read as it prints.
        circa_years: how far "circa" opens a year, a decade or a range, to each side. CCO 2006
            §4.2.3 gives 5, the ICOM Object ID guide 10. Centuries and periods do not widen.
        century: "hundreds" (1800..1899) or "trade" (1801..1900).
        today: no year after today's is a year of making; None is the present day.

    Returns:
        The reading. Text that is not understood gives certainty "none" and rule "unread"; a date
        beside words that are not understood gives "partial".

    Raises:
        SettingsError: a setting is outside what it may be.
    """
    settings = _settings(circa_years, century, today or dt.date.today())
    return _read(printed(text), settings, title=False)


def find_dates(
    title: str | None,
    circa_years: int = 5,
    century: str = "hundreds",
    today: dt.date | None = None,
) -> DateReading:
    """Look for a date of making in running text, such as the title of a listing.

    More wary than `read_date`: names of periods count only where running text does not use them
    otherwise, a bare year is "uncertain", two different bare years are no date. Words that are no
    date are expected and lower nothing. Arguments, result and errors as for `read_date`.
    """
    settings = _settings(circa_years, century, today or dt.date.today())
    return _read(printed(title), settings, title=True)


def read_dates(
    texts: pa.Array | pa.ChunkedArray,
    circa_years: int = 5,
    century: str = "hundreds",
    today: dt.date | None = None,
    *,
    titles: bool = False,
) -> pa.Table:
    """Read a column of texts; the work is done once per distinct text.

    Args:
        texts: strings, n rows, nulls allowed.
        titles: read as `find_dates` does.

    Returns:
        A table of n rows in the same order: text (string), earliest_year and latest_year (int32,
        null where open or no date), edtf (string), certainty, rule (strings).

    Raises:
        SettingsError: a setting is outside what it may be.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    settings = _settings(circa_years, century, today or dt.date.today())
    column = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
    encoded = pc.dictionary_encode(column.cast(pa.string()), null_encoding="encode")
    if isinstance(encoded, pa.ChunkedArray):
        encoded = encoded.combine_chunks()
    distinct = [_read(value, settings, title=titles) for value in encoded.dictionary.to_pylist()]
    columns: dict[str, pa.Array] = {
        "earliest_year": pa.array([r.earliest for r in distinct], pa.int32()),
        "latest_year": pa.array([r.latest for r in distinct], pa.int32()),
        "edtf": pa.array([r.edtf for r in distinct], pa.string()),
        "certainty": pa.array([r.certainty for r in distinct], pa.string()),
        "rule": pa.array([r.rule for r in distinct], pa.string()),
    }
    taken = {name: values.take(encoded.indices) for name, values in columns.items()}
    return pa.table({"text": column.cast(pa.string()), **taken})


@lru_cache(maxsize=32)
def _settings(circa_years: int, century: str, today: dt.date) -> DateSettings:
    if isinstance(circa_years, bool) or not isinstance(circa_years, int) or circa_years < 0:
        raise SettingsError(
            f"circa_years is {circa_years!r}.",
            todo="Give the years that circa opens to each side: a whole number, 0 or more.",
        )
    if century not in ("hundreds", "trade"):
        raise SettingsError(
            f"century is {century!r}.",
            todo="Use 'hundreds' (1800 to 1899) or 'trade' (1801 to 1900).",
        )
    return DateSettings(circa_years, century == "trade", today.year)


def _read(text: str | None, settings: DateSettings, *, title: bool) -> DateReading:
    if text is None:
        return DateReading(None, None, None, "none", "empty", "")
    if len(text) == 4 and text.isascii() and text.isdigit() and not title:
        year = int(text)
        if 1000 <= year <= settings.last_year:
            return DateReading(year, year, text, "stated", "year", text)
    if len(text) > _LONGEST and not title:
        return DateReading(None, None, None, "none", "unread", text)
    folded = fold(text)
    if not title and folded[:1] == "-":
        before_christ = _EDTF_BC.fullmatch(folded.strip())
        if before_christ is not None:
            return _edtf_bc(before_christ[1], before_christ[2], text)
    if not title and folded[:1] in "([":
        folded = _SUPPLIED.sub(r"\1\2", folded)
    if title and not may_hold_date(folded):
        return DateReading(None, None, None, "none", "unread", text)
    if not title:
        listed = span_of_list(folded)
        if listed is not None and listed[1] <= settings.last_year:
            edtf = f"{listed[0]:04d}/{listed[1]:04d}"
            return DateReading(*listed, edtf, "ambiguous", "list_of_years", text)
        folded = in_usual_order(folded)
    return read_folded(folded, text, settings, title=title)


def _edtf_bc(digits: str, mark: str, text: str) -> DateReading:
    """An EDTF year or century before Christ: -0299 is 300 BC."""
    low = int(digits.replace("x", "0"))
    high = int(digits.replace("x", "9"))
    certainty = {"": "stated", "~": "circa"}.get(mark, "uncertain")
    edtf = f"-{digits.upper()}{mark}"
    return DateReading(-high - 1, -low - 1, edtf, certainty, "edtf", text)
