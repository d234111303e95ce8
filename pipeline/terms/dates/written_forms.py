"""Whole texts in forms that archives and computers write, turned into what the grammar reads.

An open end is a slash or a dash with nothing beside it (EDTF level 1, DACS), a list of years is
one span, and a part of a century may stand behind it.
"""

from __future__ import annotations

import re

from pipeline.terms.dates import lexicon as lx

_YEAR = r"(?:1[0-9]|20)\d\d"
_ISO = rf"{_YEAR}(?:-\d\d(?:-\d\d)?)?"
_OPEN_END = re.compile(rf"({_ISO}) ?(?:/ ?(?:\.\.)?|(?<= )-)")
_OPEN_START = re.compile(rf"(?:(?:\.\.)? ?/|-(?= )) ?({_ISO})")
_DIGITS = re.compile(rf"^({_YEAR})(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])$")
_FLOAT = re.compile(rf"^({_YEAR})\.0$")
_UNKNOWN_DIGITS = re.compile(r"(1\d|20)(\du|uu)")
_YEAR_DAY_MONTH = re.compile(rf"\b({_YEAR}) (\d{{1,2}}(?: ?- ?\d{{1,2}})?) ([^\W\d_]{{3,12}})\b")
_TWO_DAYS = re.compile(r"\b(\d{1,2}) (?:and|&) (\d{1,2})(?= [^\W\d_]{3,}| \d{4})")
_SHORT_CENTURY = re.compile(r"(\d(?:st|nd|rd|th))[ -]?c\.(?= |$)")
_PART_BEHIND = re.compile(
    r"(?P<century>[\w.' -]*\b(?:century|cent\.?|c\.?))(?P<era> (?:bc|bce|ad|ce))? ?[,;:] ?"
    r"(?P<part>early|mid|middle|late|(?:first|second|third|fourth|last|[1-4](?:st|nd|rd|th)) "
    r"(?:half|quarter|third))"
)
_ONE = rf"{_YEAR}(?: ?- ?(?:{_YEAR}|\d\d))?"
_LIST = re.compile(rf"{_ONE}(?: ?(?:[,&]|,? and) ?{_ONE})+")
_OR_LATER = re.compile(r" ?\((?:possibly )?((?:or|and) (?:earlier|later|before|after))\)")
# "late 19th early 20th century", "fine XIX inizio XX secolo": one span
_END_AND_BEGINNING = re.compile(
    r"\b((?:late|end|ende|fine|fin|finales|koniec|konec) (?:(?:of|del|du|de) )?(?:the )?"
    r"(?:\d{1,2}(?:st|nd|rd|th|\.)|1[5-9]00'?s|[xvi]+e?|georgian|victorian|regency|ming|edo|qing)"
    r"(?: century| c\.?| period)?),? "
    r"(?=(?:early|beginning|anfang|inizio|inizi|debut|principios|poczatek)\b)"
)
_MILLENNIA = re.compile(
    r"\b((?:early|mid|late) )?(\d)(st|nd|rd|th) ?(-|to|or) ?((?:early|mid|late) )?"
    r"(\d)(?:st|nd|rd|th) (millenni[a-z]+)( bce?\b| b\.c\.(?:e\.)?)?"
)
_LAST_BARE_YEAR = 1600  # "618-906", "800-1521"; no "250-2000"
# first thousand years: "700s", "early 770s", "late 600s - early 700s", "570-577"
_PART_OF = r"(?:(?:early|mid|middle|late)(?: to late)?[ -])?"
_EARLY_SPAN = re.compile(
    rf"(?:c|ca|circa)?[. ]*{_PART_OF}[1-9]\d0s(?: ?(?:-|to|or) ?{_PART_OF}(?:1\d)?[1-9]?\d0s)?"
    r"(?: (?:or|and) (?:earlier|later))?"
)
_EARLY_UNIT = re.compile(r"(?:\b(early|mid|middle|late)[ -])?\b([1-9])(\d)0s")
_EARLY_YEARS = re.compile(r"((?:c|ca|circa)[. ]+)?([1-9]\d\d) ?- ?(\d{3,4})")
_IN_DECADE = {"": (0, 9), "early": (0, 4), "mid": (3, 7), "middle": (3, 7), "late": (5, 9)}


def in_usual_order(folded: str) -> str:
    """A folded text with such forms told in the usual one.

    Most texts hold none of them: a look at single characters comes before any pattern.
    """
    loose = "  " in folded or folded[:1] == " " or folded[-1:] in (" ", "-", "/")
    text = " ".join(folded.split()) if loose else folded
    if not text:
        return text
    if text[0] in "./-":
        whole = _OPEN_START.fullmatch(text)
        if whole is not None:
            return f"before {whole[1]}"
    if text[-1] in "/-.":
        whole = _OPEN_END.fullmatch(text)
        if whole is not None:
            return f"from {whole[1]}"
    if text[0].isdigit():
        if len(text) == 8:
            text = _DIGITS.sub(r"\1-\2-\3", text)
        elif len(text) == 6:
            text = _FLOAT.sub(r"\1", text)
        elif text[-1] == "u" and _UNKNOWN_DIGITS.fullmatch(text):
            return text.replace("u", "x")
        if " " in text:
            text = _YEAR_DAY_MONTH.sub(_day_first, text)
    if text[-1].isalpha() and ("," in text or ";" in text or ":" in text):
        behind = _PART_BEHIND.fullmatch(text)
        if behind is not None:
            return f"{behind['part']} {behind['century']}{behind['era'] or ''}"
    if " and " in text or "&" in text:
        text = _TWO_DAYS.sub(r"\1-\2", text)
    if "c." in text:
        text = _SHORT_CENTURY.sub(r"\1 century", text)
    if text[-1] == ")" and _OR_LATER.search(text):
        text = _OR_LATER.sub(r" \1", text)
    if text[0] in "lefk":
        text = joined_end_and_beginning(text)
    if text[-1].isdigit() or "0s" in text:
        text = _of_first_millennium(text)
    if "millenni" in text:
        text = _MILLENNIA.sub(_each_millennium, text)
    return text


def joined_end_and_beginning(folded: str) -> str:
    """ "late 19th early 20th century" with the dash that it leaves out."""
    return _END_AND_BEGINNING.sub(r"\1 - ", folded)


def _of_first_millennium(text: str) -> str:
    """Years of three digits that are the whole of a text, with the era that they leave out.

    Two bare numbers may be anything else: such a reading is doubted, and two round ones of three
    digits ("400-600") are an estimate of a price before they are years.
    """
    years = _EARLY_YEARS.fullmatch(text)
    if years is not None:
        circa, first, last = years.groups()
        round_ones = len(last) == 3 and first[-1] == last[-1] == "0" and not circa
        if int(first) < int(last) <= _LAST_BARE_YEAR and not round_ones:
            return f"{circa or 'probably '}ad {first} - {last} ad"
    if "0s" in text and _EARLY_SPAN.fullmatch(text) is not None:
        return _EARLY_UNIT.sub(_early_unit, text)
    return text


def _early_unit(match: re.Match[str]) -> str:
    part, hundreds, tens = match[1] or "", int(match[2]), int(match[3])
    if tens == 0:
        return f"{part} {hundreds + 1}th century".strip()
    year = 100 * hundreds + 10 * tens
    low, high = _IN_DECADE[part]
    return f"ad {year + low} - {year + high} ad"


def may_be_polish_century(folded: str) -> bool:
    """A quick look for the end of "XVI w.", "XIX wieku" and their like."""
    return "ix w" in folded or "xx w" in folded or "vi w" in folded or "ii w" in folded


def span_of_list(folded: str) -> tuple[int, int] | None:
    """First and last year of a text that is nothing but years and spans ("1935, 1946-47")."""
    if "," not in folded and "&" not in folded and " and " not in folded:
        return None
    text = " ".join(folded.split())
    if _LIST.fullmatch(text) is None:
        return None
    years: list[int] = []
    for found in re.finditer(r"\d+", text):
        digits = found[0]
        years.append(int(digits) if len(digits) == 4 else years[-1] // 100 * 100 + int(digits))
    return (min(years), max(years)) if years == sorted(years) else None


def _day_first(match: re.Match[str]) -> str:
    year, day, month = match.groups()
    return f"{day} {month} {year}" if month in lx.MONTH_NAMES else match[0]


def _each_millennium(match: re.Match[str]) -> str:
    part, first, ending, link, last_part, last, word, era = match.groups()
    era = era or ""
    return f"{part or ''}{first}{ending} {word}{era} {link} {last_part or ''}{last}th {word}{era}"
