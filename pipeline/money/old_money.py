"""Pounds, shillings and pence, and guineas, as old catalogues print them.

A pound was 20 shillings and a shilling 12 pence until 15 February 1971 (Coinage Act 1971,
section 1 made the pound 100 new pence); a guinea is 21 shillings. One old penny is 1/240 of a
pound, which no decimal holds exactly: amounts are rounded half to even at the fourth place, the
scale that amounts are kept at.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

_PARTS = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "": Fraction(0)}
_COUNT = r"\d[\d,]*"
_PENCE = r"\d*[½¼¾]|\d+"

_GUINEA_RANGE = re.compile(
    rf"({_COUNT}[½¼¾]?)\s?(-|–|to)\s?(?={_COUNT}[½¼¾]?\s?(?:gns?|guineas?|gs)\b)", re.IGNORECASE
)
_GUINEAS_FIRST = re.compile(rf"\b(?:gns?|guineas?)\.?\s({_COUNT})([½¼¾])?(?!\w)", re.IGNORECASE)
_GUINEAS = re.compile(rf"({_COUNT})?([½¼¾])?\s?(?:gns?|guineas?|gs)\b\.?", re.IGNORECASE)
_SLASHED = re.compile(
    rf"£\s?(?P<pounds>{_COUNT})\s?(?P<mark>[/:.-])\s?(?P<shillings>\d{{1,2}})\s?(?P=mark)\s?"
    r"(?P<pence>\d{0,2}[½¼¾]|\d{1,2})(?![\d/.,])d?"
)
_NAMED = re.compile(
    rf"(?<![\w.,])(?:£\s?(?P<pounds>{_COUNT})\s?[.,;:-]?\s?)?"
    r"(?P<shillings>\d{1,3})\s?(?:s(?!/\.)|sh|shillings?)\b\.?"
    rf"(?:\s?/?(?:and)?\s?(?P<pence>{_PENCE})\s?(?:d|pence|penny)\b\.?)?",
    re.IGNORECASE,
)
_SOLIDUS = re.compile(
    rf"(?<![\w.,/])(?:£\s?(?P<pounds>{_COUNT})\s?[.,;:-]?\s?)?"
    rf"(?P<shillings>\d{{1,3}})/(?:-+(?!\d)|(?P<pence>{_PENCE})\s?d\b\.?)"
)
_PENCE_ONLY = re.compile(
    rf"(?<![\w.,/])(?:£\s?(?P<pounds>{_COUNT})\s?[.,;:-]?\s?)?(?P<pence>{_PENCE})\s?d\b\.?",
)
_FORMS = (_SLASHED, _NAMED, _SOLIDUS, _PENCE_ONLY)
_QUICK = re.compile(
    r"\d[½¼¾]?\s?(?:s\b|sh|d\b|g|/)|[½¼¾]|/\s?-|£\s?\d[\d,]*\s?[:.-]|\bgns?\b|guinea", re.IGNORECASE
)


def _number(text: str | None) -> Fraction:
    if not text:
        return Fraction(0)
    part = _PARTS.get(text[-1])
    digits = text.replace(",", "") if part is None else text[:-1].replace(",", "")
    return Fraction(int(digits or "0")) + (part or 0)


def pounds(pounds: Fraction, shillings: Fraction, pence: Fraction) -> Decimal:
    """Pounds, shillings and old pence as decimal pounds, half to even at the fourth place."""
    ten_thousandths = (pounds + shillings / 20 + pence / 240) * 10_000
    return (Decimal(round(ten_thousandths)) / 10_000).quantize(
        Decimal("0.0001"), rounding=ROUND_HALF_EVEN
    )


def guineas(count: Fraction) -> Decimal:
    """Guineas of 21 shillings as decimal pounds."""
    return pounds(Fraction(0), count * 21, Fraction(0))


def to_decimal_pounds(text: str) -> tuple[str, bool, str | None]:
    """Rewrite old money in `text` as decimal pounds with four places ("£1.2750").

    Returns:
        The text, whether anything was rewritten, and the reason `old_money_out_of_range` where
        20 or more shillings stand beside pounds, or 12 or more pence beside shillings.
    """
    if not _QUICK.search(text):
        return text, False, None
    found = False
    fault: str | None = None

    def in_guineas(match: re.Match[str]) -> str:
        nonlocal found
        if match[1] is None and match[2] is None:
            return match[0]
        found = True
        return f" £{guineas(_number(match[1]) + _PARTS[match[2] or ''])} "

    def in_pounds(match: re.Match[str]) -> str:
        nonlocal found, fault
        named = match.groupdict()
        shillings, pence = _number(named.get("shillings")), _number(named.get("pence"))
        if (named.get("pounds") and shillings >= 20) or (
            pence >= 12 and (named.get("shillings") or named.get("pounds"))
        ):
            fault = "old_money_out_of_range"
        found = True
        return f" £{pounds(_number(named.get('pounds')), shillings, pence)} "

    text = _GUINEA_RANGE.sub(lambda m: f"{m[1]} gns {m[2]} ", text)
    text = _GUINEAS.sub(in_guineas, text)
    text = _GUINEAS_FIRST.sub(in_guineas, text)
    for form in _FORMS:
        text = form.sub(in_pounds, text)
    return text, found, fault
