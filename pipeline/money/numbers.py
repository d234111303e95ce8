"""One written number to one exact decimal, or the reason why it could be two.

A mark is `.` or `,`; groups may also be set off by spaces or apostrophes. The only form that
needs the source's decimal mark is one mark followed by exactly three digits ("1.234"): every
other form can be read one way only.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

_GROUPED = re.compile(r"[1-9]\d{0,2}(?:[ ']\d{3})+")
_WESTERN = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")
_INDIAN = re.compile(r"[1-9]\d?(?:,\d{2})+,\d{3}")
_PLAIN = re.compile(r"\d+")

# decimal128(18, 4) holds amounts below this.
AMOUNT_LIMIT = Decimal(10) ** 14


class NumberReading(NamedTuple):
    """value: the number, or None; reason: why there is none; rule: how it was read."""

    value: Decimal | None
    reason: str | None
    rule: str


def _whole(text: str) -> str | None:
    """Digits of a whole part with well-formed groups (commas by now), or None."""
    if _PLAIN.fullmatch(text):
        return text
    if _WESTERN.fullmatch(text) or _INDIAN.fullmatch(text):
        return text.replace(",", "")
    if _GROUPED.fullmatch(text):
        return text.replace(" ", "").replace("'", "")
    return None


def _decimal(whole: str, part: str, rule: str) -> NumberReading:
    digits = _whole(whole) if whole else "0"
    if digits is None or not (part == "" or _PLAIN.fullmatch(part)):
        return NumberReading(None, "number_malformed", rule)
    return NumberReading(Decimal(f"{digits}.{part}" if part else digits), None, rule)


def read_number(text: str, decimal_mark: str | None, minor: int | None) -> NumberReading:
    """Read ASCII digits with their marks.

    Args:
        text: digits, `.`, `,`, spaces and apostrophes, optionally with an exponent.
        decimal_mark: the source's "." or ","; None where the source does not say.
        minor: decimal places of the currency written beside the number; None where none is.

    Returns:
        The exact value, or a reason: `decimal_mark_unknown`, `number_malformed`,
        `amount_too_large`.
    """
    if "e" in text or "E" in text:
        return _scientific(text)
    text = re.sub(r"^[.,]+(?=[.,]\d)", "", text)
    if text[0] in ".," and re.search(r"[.,]", text[1:]):
        text = text[1:]
    dots, commas = text.count("."), text.count(",")
    if dots and commas:
        mark = "." if text.rfind(".") > text.rfind(",") else ","
        if text.count(mark) > 1:
            return NumberReading(None, "number_malformed", "two_marks")
        whole, _, part = text.partition(mark)
        return _limited(
            _decimal(whole.replace("." if mark == "," else ",", ","), part, "two_marks")
        )
    if dots + commas == 0:
        return _limited(_decimal(text, "", "whole"))
    mark = "." if dots else ","
    if dots + commas > 1:
        return _limited(_decimal(text.replace(".", ","), "", "groups"))
    return _limited(_one_mark(text, mark, decimal_mark, minor))


def _one_mark(text: str, mark: str, decimal_mark: str | None, minor: int | None) -> NumberReading:
    whole, _, part = text.partition(mark)
    if not part:
        return _decimal(whole, "", "whole")
    could_group = len(part) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
    if not could_group:
        return _decimal(whole, part, "decimals")
    if decimal_mark is not None:
        if decimal_mark == mark:
            return _decimal(whole, part, "decimals_by_source")
        return _decimal(whole + part, "", "groups_by_source")
    if minor is not None and minor < 3:
        # Nobody is paid in thousandths of a pound, so the mark sets off thousands.
        return _decimal(whole + part, "", "groups_by_currency")
    return NumberReading(None, "decimal_mark_unknown", "one_mark")


def _scientific(text: str) -> NumberReading:
    try:
        value = Decimal(text.replace(",", "."))
    except InvalidOperation:
        return NumberReading(None, "number_malformed", "scientific")
    # Checked on the exponent, before anything writes out four hundred noughts.
    if value and value.adjusted() >= AMOUNT_LIMIT.adjusted():
        return NumberReading(None, "amount_too_large", "scientific")
    if value and value.adjusted() < -12:
        return NumberReading(None, "number_malformed", "scientific")
    return NumberReading(Decimal(format(value, "f")), None, "scientific")


def _limited(reading: NumberReading) -> NumberReading:
    if reading.value is not None and reading.value >= AMOUNT_LIMIT:
        return NumberReading(None, "amount_too_large", reading.rule)
    return reading
