"""Cells as text, numbers and dates."""

from __future__ import annotations

import datetime as dt
import re

from pipeline.answers.sheet.cells import Cell, plain_number

_CURRENCY = r"(?:US\$|[$£€]|USD|GBP|EUR)?"
_AMOUNT = re.compile(
    rf"^{_CURRENCY}\s*(?P<figure>\d[\d.,' \u00a0\u202f]*)(?:[.,][-–—]+)?\s*{_CURRENCY}$", re.I
)
_GROUPED_DOT = re.compile(r"^\d{1,3}(?:,\d{3})+(?:\.\d{1,2})?$|^\d+\.\d{1,2}$|^\d+$")
_GROUPED_COMMA = re.compile(r"^\d{1,3}(?:\.\d{3})+,\d{1,2}$|^\d+,\d{1,2}$|^\d{1,3}(?:\.\d{3}){2,}$")


def amount_of_text(text: str) -> float | None:
    """The number in a plain amount as "£1,250.00", "45.-" or "12,50"; None where it is not plain.

    One group of three digits after a single dot ("1.250") is two numbers at once: None.
    """
    match = _AMOUNT.match(text.strip())
    if not match:
        return None
    figure = re.sub(r"[ '\u00a0\u202f]", "", match["figure"]).rstrip(".,")
    if _GROUPED_DOT.match(figure):
        return float(figure.replace(",", ""))
    if _GROUPED_COMMA.match(figure):
        return float(figure.replace(".", "").replace(",", "."))
    return None


def text_of(cell: Cell) -> str:
    """The text of a cell as a person would read it; empty for an error."""
    if cell.kind == "text" or cell.kind == "date":
        return str(cell.value).strip()
    if cell.kind == "number" and isinstance(cell.value, float):
        return plain_number(cell.value)
    if cell.kind == "truth":
        return "yes" if cell.value else "no"
    return ""


def date_of(cell: Cell, epoch: dt.date) -> dt.date | None:
    """The day that a cell holds: a date, a serial number of days, or an ISO text."""
    if cell.kind in ("date", "text"):
        try:
            return dt.date.fromisoformat(str(cell.value).strip()[:10])
        except ValueError:
            return None
    if cell.kind == "number" and isinstance(cell.value, float) and 20_000 <= cell.value < 80_000:
        return epoch + dt.timedelta(days=int(cell.value))
    return None


_QUOTED_OR_BRACKETED = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!h+\]|m+\]|s+\])[^\]]*\]', re.I)
_BUILT_IN_DATES = frozenset([*range(14, 23), *range(27, 37), 45, 46, 47, *range(50, 59)])


def is_date_format(number_format_id: int, code: str | None) -> bool:
    """Whether a number format shows a date or a time (ECMA-376 part 1, 18.8.30)."""
    if code is None:
        return number_format_id in _BUILT_IN_DATES
    first = _QUOTED_OR_BRACKETED.sub("", code.split(";")[0])
    return bool(re.search(r"[dyhs]|mmm|m[/.\-]", first, re.I)) and "general" not in first.lower()


def serial_to_text(serial: float, from_1904: bool) -> str | None:
    """A serial number of days as ISO text, with the time where it has one; None out of range."""
    if not 0 <= serial < 2_958_466:
        return None
    # Serial 60 is a day that never was (29 February 1900), so days before it are one off.
    start = dt.datetime(1904, 1, 1) if from_1904 else dt.datetime(1899, 12, 30)
    if not from_1904 and serial < 60:
        start += dt.timedelta(days=1)
    moment = start + dt.timedelta(seconds=round(serial * 86_400))
    if moment.time() == dt.time():
        return moment.date().isoformat()
    return moment.isoformat(sep=" ")
