"""Dates of sale, as exports write them.

A date of sale is a day of the recent past in a known order; what a thing's own age is called is
another matter, and another module. Work is done on distinct texts.
"""

from __future__ import annotations

import calendar
import datetime as dt
import re

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.text import fold_text

MONTH_WORDS = {
    1: "jan january januar janvier gennaio enero januari jaenner janeiro",
    2: "feb february februar fevrier febbraio febrero februari fevereiro fev",
    3: "mar march maerz marz mars marzo maart mrz marco",
    4: "apr april avril aprile abril avr",
    5: "may mai maggio mayo mei maj maio mag",
    6: "jun june juni juin giugno junio giu junho",
    7: "jul july juli juillet luglio julio lug julho juil",
    8: "aug august aout agosto augustus ago augusti",
    9: "sep sept september septembre settembre septiembre set setembro",
    10: "oct october oktober octobre ottobre octubre okt ott outubro",
    11: "nov november novembre noviembre novembro",
    12: "dec december dezember decembre dicembre diciembre dez dic dezembro",
}
MONTHS = {word: number for number, words in MONTH_WORDS.items() for word in words.split()}
TIME_OF_DAY = (
    r"[T ,]+\d{1,2}[:.h]\d{2}([:.]\d{2}([.,]\d+)?)?\s*([AaPp]\.?[Mm]\.?)?"
    r"\s*([A-Z]{1,4}|[+-]\d{2}:?\d{2})?\s*$"
)
WEEKDAY = re.compile(
    r"^(mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so|lun|mar|mer|jeu|ven|sam|dim)[a-z]*[.,]*\s+",
)
THREE_NUMBERS = re.compile(r"^(\d{1,4})[./\-\s]+(\d{1,2})[./\-\s]+(\d{1,4})\.?$")
COMPACT = re.compile(r"^(\d{4})(\d{2})(\d{2})$")
DAY_WORD_YEAR = re.compile(
    r"^(\d{1,2})(?:st|nd|rd|th|er)?[.\-/\s]*(?:de\s+)?([a-z]+)[.,\-/\s]*(?:de\s+)?'?(\d{2}|\d{4})$"
)
WORD_DAY_YEAR = re.compile(r"^([a-z]+)[.\-/\s]+(\d{1,2})(?:st|nd|rd|th)?[,.\-/\s]+'?(\d{2}|\d{4})$")
YEAR_WORD_DAY = re.compile(r"^(\d{4})[.\-/\s]+([a-z]+)[.\-/\s]+(\d{1,2})$")
YEAR_MONTH = re.compile(r"^(\d{4})[-/.](\d{1,2})$")
MONTH_YEAR = re.compile(r"^(\d{1,2})[-/.](\d{4})$")
WORD_YEAR = re.compile(r"^([a-z]+)[.,\s]+(\d{4})$")


def read_sale_date(text: str, order: str, latest_year: int) -> dt.date | None:
    """The day that a text names, or None.

    Args:
        text: without a time of day.
        order: `dmy`, `mdy` or `ymd`, for dates in numbers; a four-digit year in front always
            means year, month, day.
        latest_year: a year of two digits falls in the hundred years up to it.

    A month without a day is read as its last day: the sale was not later.
    """
    said = fold_text(text).strip()
    day = _read(said, order, latest_year)
    if day is None:  # "Mar" may be a Tuesday in French, so the weekday goes last
        day = _read(WEEKDAY.sub("", said), order, latest_year)
    return day


def _read(said: str, order: str, latest_year: int) -> dt.date | None:
    if found := COMPACT.match(said):
        return _day(found[1], found[2], found[3], latest_year)
    if found := THREE_NUMBERS.match(said):
        a, b, c = found.groups()
        if len(a) == 4:
            return _day(a, b, c, latest_year)
        if order == "mdy":
            return _day(c, a, b, latest_year)
        if order == "ymd":
            return _day(a, b, c, latest_year) if len(c) <= 2 else None
        return _day(c, b, a, latest_year)
    for pattern, places in (
        (DAY_WORD_YEAR, (3, 2, 1)),
        (WORD_DAY_YEAR, (3, 1, 2)),
        (YEAR_WORD_DAY, (1, 2, 3)),
    ):
        if found := pattern.match(said):
            year, month, day = (found[k] for k in places)
            if month in MONTHS:
                return _day(year, str(MONTHS[month]), day, latest_year)
    if found := YEAR_MONTH.match(said):
        return _month_end(int(found[1]), int(found[2]))
    if found := MONTH_YEAR.match(said):
        return _month_end(int(found[2]), int(found[1]))
    if (found := WORD_YEAR.match(said)) and found[1] in MONTHS:
        return _month_end(int(found[2]), MONTHS[found[1]])
    return None


def _day(year: str, month: str, day: str, latest_year: int) -> dt.date | None:
    if len(year) == 3 or len(day) > 2:
        return None
    number = int(year)
    if len(year) <= 2:
        number += latest_year // 100 * 100
        if number > latest_year:
            number -= 100
    try:
        return dt.date(number, int(month), int(day))
    except ValueError:
        return None


def _month_end(year: int, month: int) -> dt.date | None:
    if not (1 <= month <= 12 and 1 <= year <= 9999):
        return None
    return dt.date(year, month, calendar.monthrange(year, month)[1])


def read_sale_dates(
    texts: pa.Array | pa.ChunkedArray, order: str, newest: dt.date
) -> tuple[pa.Array, pa.Array]:
    """Dates of sale of a column of texts.

    Args:
        texts: n texts, null where the cell was empty.
        order: as in `read_sale_date`.
        newest: a date after this one lies in the future.

    Returns:
        n dates (date32), and n reasons (`no_date`, `unreadable_date`, `future_sale`), each null
        where the other is not.
    """
    column = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
    short = pc.replace_substring_regex(column, TIME_OF_DAY, "")
    coded = pc.dictionary_encode(short)
    if isinstance(coded, pa.ChunkedArray):
        coded = coded.combine_chunks()
    days: list[dt.date | None] = []
    reasons: list[str | None] = []
    for text in coded.dictionary.to_pylist():
        day = read_sale_date(text, order, newest.year)
        late = day is not None and day > newest
        if late and day is not None and _is_this_month(text, day, newest):
            day, late = newest, False
        days.append(None if late else day)
        reasons.append("future_sale" if late else "unreadable_date" if day is None else None)
    sold_on = pa.array(days, pa.date32()).take(coded.indices)
    reason = pa.array(reasons, pa.string()).take(coded.indices)
    return sold_on, pc.if_else(pc.is_null(column), "no_date", reason)


def _is_this_month(text: str, day: dt.date, newest: dt.date) -> bool:
    """A month named without a day, which is not over yet."""
    days_named = len(re.findall(r"\d+|[A-Za-z]{3,}", text)) >= 3
    return not days_named and (day.year, day.month) == (newest.year, newest.month)
