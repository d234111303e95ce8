"""From a text to tokens: fold the letters, cut, and name the part each piece plays."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Any, NamedTuple

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates.named import NamedPeriod, load_named
from pipeline.terms.dates.phrases import PHRASES
from pipeline.terms.dates.written_forms import may_be_polish_century

_DASHES = "‐‑‒–—―−﹘﹣－⁃─"
_FOLD = str.maketrans(
    {
        **dict.fromkeys(_DASHES, "-"),
        **dict.fromkeys("’‘`´ʼ′‛", "'"),
        **dict.fromkeys("“”″„", '"'),
        **dict.fromkeys("º°ª", "°"),
        "×": "x",
        "ø": "o",
        "Ø": "o",
        "æ": "ae",
        "Æ": "ae",
        "ł": "l",
        "Ł": "l",
        "ı": "i",
        "ß": "ss",
        "…": " ",
        "≈": "~",
        "½": "half",
    }
)
_MARKS = re.compile(r"[\u0300-\u036f]+")

_TOKEN = re.compile(
    r"""
  (?=[\d£$€¥'])(?:
   (?P<year>(?<![\w.,/:£$€¥'-])\d{4}(?=$|[)\];]|\s(?![\s£$€¥x])))
  |(?P<ymd>(?<!\d)\d{4}-\d\d-\d\d(?![\w-])|(?<!\d)\d{4}[./]\d{1,2}[./]\d{1,2}(?!\w))
  |(?P<dmy>(?<!\d)\d{1,2}[./-]\d{1,2}[./-]\d{4}(?!\w))
  |(?P<dmrom>(?<!\d)(?:0?[1-9]|[12]\d|3[01])[./](?:i{1,3}|iv|vi{0,3}|ix|xi{0,2})[./]\d{4}(?!\w))
  |(?P<my>(?<![\d/])(?:0?[1-9]|1[0-2])/\d{4}(?![\w/]))
  |(?P<money>[£$€¥]\s*\d[\d.,]*\w*|\d[\d.,]*\s*[£$€¥](?!\s*\d))
  |(?P<dims>(?<!\w)\d+(?:[.,]\d+)?\s*(?:mm|cm|in|")?\s*x\s*\d[\w.,]*)
  |(?P<thousands>(?<![\d,])\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\d,]))
  |(?P<scale>\d+:\d+(?::\d+)*)
  |(?P<mask3>(?<![\w-])(?:1\d\d|20\d)
     (?:[_x*](?![\da-z])|\?(?![\da-z])|-(?=\s*(?:[?\])(,.;~%]|$))))
  |(?P<mask2>(?<![\w-])(?:1\d|20)(?:--|__|\?\?|xx|\*\*|[?_]\d)(?![\da-z]))
  |(?P<tal>(?<!\d)\d{3}0-?(?:talets|tallets|talet|tallet|tal|luku|luvun|luvulta)(?![a-z0-9]))
  |(?P<decade4>(?<!\d)\d{3}0(?:'s|s'|s|ies|-?ers|-?er|'?erne|-?[ех])(?![a-z0-9]))
  |(?P<decade2>(?<![\d.,'])'?\d0(?:'s|s|er|-tal|-talet|'erne)(?![a-z0-9])
     |(?<![\w])'\d0(?![\d\w]))
  |(?P<ordc>(?<![\d.,])\d{1,2}(?:st|nd|rd|th)?c(?:ent)?(?:\.|(?![a-z0-9'])))
  |(?P<ord>(?<![\d.,])\d{1,2}
     (?:\s?(?:st|nd|rd|th)|ieme|emes|eme|er|ere|re|e|de|nde|ste|°|:e|-?я|-?и|-?ои|-?го)(?![a-z0-9]))
  |(?P<decimal>\d+[.]\d+)
  |(?P<num>\d+)
  )
 |(?=[abcdegluvmn])(?:
   (?P<letters>(?:usd|gbp|eur)\s*\d[\d.,]*\w*)
  |(?P<elm>(?<![a-z0-9])[elm]\.?\s?(?=\d\d(?:th|c)|c\d\d))
  |(?P<cnum>(?:(?<![a-z0-9])|(?<=[^a-z][elm])|(?<=^[elm]))c\.?\s?\d{1,2}
     (?:st|nd|rd|th)?(?![a-z0-9°]|[.:,]\d|/\d{3}|c|\s+(?:half|quarter|qtr|third)))
  |(?P<bc>(?<![a-z])(?:b\.?\s?c\.?(?:\s?e\.?)?|v\.?\s?chr\.?|av(?:ant)?\.?\s?j\.?\s?-?\s?c\.?
     |a\.\s?c\.(?:n\.)?)(?![a-z]))
  |(?P<ad>(?<![a-z])(?:a\.\s?d\.?|ad|c\.\s?e\.|ce|n\.?\s?chr\.?
     |ap(?:r(?:es)?)?\.?\s?j\.?\s?-?\s?c\.?|d\.\s?c\.)(?![a-z]))
  )
 |(?P<word>[a-z]+|[©&~±])
 |(?P<other>[^\W\d_]+|[^\s])
""",
    re.VERBOSE,
)

_ROMAN_WORD = re.compile(
    r"(m{0,3}(?:cm|cd|d?c{0,4})(?:xc|xl|l?x{0,4})(?:ix|iv|v?i{0,4}))(e|emes?|ieme|th|er)?"
)
_ROMAN_DIGITS = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100, "d": 500, "m": 1000}
_ROMAN_START = frozenset("ivxlcdm")
DECADE_WORDS = frozenset({"annees", "anni", "anos", "jaren"})
PLACE_HOLDER = "zz"  # stands in titles for words that are no part of a date
_BEFORE_NEXT = f" {PLACE_HOLDER} "
_MOST_KEPT = 100_000  # stretches of titles
_PART_LETTERS = {"e": "early", "m": "mid", "l": "late"}
_SPLIT = re.compile(r"\d+")


class Token(NamedTuple):
    """kind: the part it plays; value: what it stands for; text: folded; glued: no space before."""

    kind: str
    value: Any
    text: str
    glued: bool


# What running text must hold to be worth reading: figures that may be a date, or a word of one.
_TITLE_FIGURES = re.compile(r"\d{3}|\d{1,2}\s?(?:st|nd|rd|th|c|e|s|'|[./])|'\d0|c\.?\s?\d")
_TITLE_SPAN = re.compile(
    r"\b(?:annees|anni|anos|jaren) '?\d0\b"  # "annees 50"
    r"|\b\d{1,2} ?(?:b\.? ?c\b|a\.? ?d\b|c\.? ?e\b)|\b(?:ad|a\.d\.) ?\d"
    r"|\b[xvi]{2,5}e(?: s)?\b|\b[xvi]{2,5} (?:век|века|в)\b"
)
_TITLE_WORD = re.compile(r"[a-z]+")

_POLISH_CENTURY = re.compile(r"\b(?:xvi{1,3}|xix|xx) w(?:ieku)?\b")


def may_hold_date(folded: str) -> bool:
    """Whether running text can hold a date at all: a quick no for most titles that hold none."""
    if _TITLE_FIGURES.search(folded):
        return True
    if not _TITLE_STARTS.isdisjoint(_TITLE_WORD.findall(folded)):
        return True
    if _TITLE_SPAN.search(folded):
        return True
    return may_be_polish_century(folded) and _POLISH_CENTURY.search(folded) is not None


def fold(text: str) -> str:
    """Lower case, plain letters, one kind of dash and quote: what lexing starts from."""
    if text.isascii():
        return text.lower().replace("(c)", "©")
    text = text.replace("(c)", "©").replace("(C)", "©")
    folded = text.translate(_FOLD).casefold()
    return _MARKS.sub("", unicodedata.normalize("NFKD", folded)).translate(_FOLD)


def _build_phrases() -> dict[str, list[tuple[tuple[str, ...], str, object]]]:
    merged = {first: list(items) for first, items in PHRASES.items()}
    for first, named in load_named().items():
        merged.setdefault(first, []).extend((words, lx.NAMED, period) for words, period in named)
    for items in merged.values():
        items.sort(key=lambda item: -len(item[0]))
    return merged


_PHRASES = _build_phrases()


# Names in other scripts come as one piece without spaces.
_CJK_NAMES = frozenset(first for first in _PHRASES if not first.isascii())


# words that seldom count anything but centuries: "early nineteenth c."
ORDINALS_OF_CENTURIES = frozenset(
    ["fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth"]
)
_TITLE_KINDS = frozenset(
    {lx.CENTURY, lx.CENTURY_NUM, lx.TENS, lx.TEENS, lx.HUNDREDS, lx.REPRO, lx.STYLE, lx.DECADE}
)
_TITLE_STARTS = frozenset(
    [word for word, (kind, _) in lx.WORDS.items() if kind in _TITLE_KINDS]
    + [first for first, items in _PHRASES.items() if any(i[1] is lx.NAMED for i in items)]
    + list(ORDINALS_OF_CENTURIES)
    + ["turn", "jahrhundertwende", "roaring", "swinging", "naughty", "gay"]
)


def roman_value(word: str) -> int:
    """The number a Roman numeral stands for; 0 where the word is none."""
    total = 0
    previous = 0
    for letter in reversed(word):
        digit = _ROMAN_DIGITS[letter]
        total += digit if digit >= previous else -digit
        previous = max(previous, digit)
    return total


def _roman(word: str) -> tuple[str, int] | None:
    if word[0] not in _ROMAN_START:
        return None
    match = _ROMAN_WORD.fullmatch(word)
    if match is None or not match[1]:
        return None
    value = roman_value(match[1])
    if match[2]:
        return (lx.ROMAN_ORD, value) if value <= 21 else None
    return lx.ROMAN, value


def _full_date(text: str, group: str) -> tuple[int, str] | None:
    """(year, EDTF) of a numeric date; the year alone where day and month cannot be told apart."""
    parts = [int(part) for part in _SPLIT.findall(text)]
    if group == "my":
        month, year = parts
        return year, f"{year:04d}-{month:02d}"
    if group == "dmrom":
        return parts[-1], f"{parts[-1]:04d}"
    if group == "ymd":
        year, month, day = parts
    else:
        first, second, year = parts
        if first <= 12 and second <= 12 and first != second and "." not in text:
            return year, f"{year:04d}"
        month, day = (second, first) if (first > 12 or "." in text) else (first, second)
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    if (day > 30 and month in (4, 6, 9, 11)) or (day > 29 and month == 2):
        return None
    return year, f"{year:04d}-{month:02d}-{day:02d}"


def _number_token(group: str, text: str) -> tuple[str, object]:
    """Kind and value of a token that carries digits; a code or size comes back as a reference."""
    first = _SPLIT.search(text)
    value = int(first[0]) if first else 0
    if group in ("ymd", "dmy", "dmrom", "my"):
        full = _full_date(text, group)
        if full is None or (group == "my" and (full[0] % 50 == 0 or full[0] < 1600)):
            return lx.UNIT, "number"
        return lx.FULL, full
    if group == "mask3":
        return lx.MASK, (value * 10, value * 10 + 9)
    if group == "mask2":
        return lx.MASK, (value * 100, value * 100 + 99)
    if group == "tal":
        return (lx.CENTURY_NUM, value // 100 + 1) if value % 100 == 0 else (lx.DECADE, (value, 4))
    if group == "decade4":
        return lx.DECADE, (value, 4)
    if group == "decade2":
        return lx.DECADE, (value, 2)
    if group == "ordc":
        if value < 10 and text.rstrip("c.").isdigit():  # "5c" is money
            return lx.UNIT, "number"
        return lx.CENTURY_NUM, value
    if group == "ord":
        return lx.ORD, value
    if group == "cnum":
        return lx.C_NUM, value
    return lx.UNIT, "number"  # money, sizes, scales, decimals, thousands


def _known_tokens(glued: bool) -> dict[str, Token]:
    return {word: Token(kind, value, word, glued) for word, (kind, value) in lx.WORDS.items()}


# Tokens do not change, so the known words' are made once: [not glued, glued].
_KNOWN = (_known_tokens(False), _known_tokens(True))


def _word_token(text: str, glued: bool) -> Token:
    if not text.isalpha():
        return Token(lx.PUNCT, text, text, glued)
    roman = _roman(text) if text[0] in _ROMAN_START else None
    return Token(*roman, text, glued) if roman else Token(lx.WORD, text, text, glued)


def lex(folded: str) -> list[Token]:
    """Tokens of a folded text, phrases joined. Whitespace is dropped but remembered as `glued`."""
    raw: list[tuple[str, str, bool]] = []
    end = -1
    for match in _TOKEN.finditer(folded):
        start, after = match.span()
        raw.append((match.lastgroup or "other", match[0], start == end))
        end = after
    tokens: list[Token] = []
    count = len(raw)
    index = 0
    while index < count:
        group, text, glued = raw[index]
        if group == "word" or group == "num" or group == "ord" or text in _CJK_NAMES:
            candidates = _PHRASES.get(text)
            if candidates is not None:
                found = _phrase_at(raw, index, candidates)
                if found is not None:
                    kind, value, index, joined = found
                    tokens.append(Token(kind, value, joined, glued))
                    continue
        index += 1
        if group == "word" or group == "other":
            tokens.append(_KNOWN[glued].get(text) or _word_token(text, glued))
        elif group == "year":
            tokens.append(_digits(text, glued, tokens))
        elif group == "elm":  # "L19thC"
            tokens.append(Token(lx.PART, _PART_LETTERS[text[0]], text, glued))
        elif group == "bc" or group == "ad":
            if tokens and tokens[-1].kind is lx.UNIT and "," in tokens[-1].text:
                digits = tokens[-1].text.replace(",", "")
                if digits.isdigit():  # "10,000 BC"
                    tokens[-1] = Token(lx.NUM, int(digits), digits, tokens[-1].glued)
            tokens.append(Token(lx.ERA, group, text, glued))
        elif group == "num":
            tokens.append(_digits(text, glued, tokens))
        elif group == "cnum" and tokens and tokens[-1].kind is lx.ORD:
            # "19th C. 20 x 20": the letter belongs to what stands before it
            tokens.append(_KNOWN[glued]["century"])
            tokens.append(_digits(_SPLIT.findall(text)[-1], False, tokens))
        else:
            kind, value = _number_token(group, text)
            tokens.append(Token(kind, value, text, glued))
    return tokens


def lex_title(folded: str) -> list[Token]:
    """`lex` for titles that were cut down: what stands before a place-holder is cut once for all.

    No piece and no phrase reaches over a place-holder between spaces.
    """
    *stretches, last = folded.split(_BEFORE_NEXT)
    if not stretches:
        return lex(last)
    tokens = [token for one in stretches for token in _lex_stretch(f"{one} {PLACE_HOLDER}")]
    tokens += _lex_stretch(last)
    return tokens


@lru_cache(maxsize=_MOST_KEPT)
def _lex_stretch(stretch: str) -> tuple[Token, ...]:
    return tuple(lex(stretch))


def _digits(text: str, glued: bool, tokens: list[Token]) -> Token:
    number = int(text)
    if tokens and tokens[-1].text in DECADE_WORDS and number % 10 == 0 and len(text) in (2, 4):
        year = number if len(text) == 4 else 1900 + number  # "anni 50", "années 1930"
        return Token(lx.DECADE, (year, len(text)), text, glued)
    return Token(lx.NUM, number, text, glued)


_JOINERS = frozenset("-.'")


def named_label(label: str) -> NamedPeriod | None:
    """The named period of exactly this label; None where the table has none."""
    words = tuple(label.split())
    for phrase, kind, value in _PHRASES.get(words[0], ()):
        if phrase == words and kind is lx.NAMED and isinstance(value, NamedPeriod):
            return value
    return None


def _phrase_at(
    raw: list[tuple[str, str, bool]],
    start: int,
    candidates: list[tuple[tuple[str, ...], str, object]],
) -> tuple[str, object, int, str] | None:
    count = len(raw)
    for words, kind, value in candidates:
        index = start
        for position, word in enumerate(words):
            if position:
                while index < count and (
                    raw[index][1] in _JOINERS or (raw[index][1] == "/" and len(word) == 1)
                ):
                    index += 1
            if index >= count or raw[index][1] != word:
                break
            index += 1
        else:
            return kind, value, index, " ".join(words)
    return None
