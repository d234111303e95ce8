"""How the trade writes a size: units, axes and the forms that a run of sizes may take.

Texts are folded first (`fold_sizes`): lower case, no accents, straight marks, fractions as `1/2`.
`RUN` finds a run of numbers with their units and axes in such a text; what it means is read by
`size_runs`. All patterns are RE2, so that whole columns can be looked through.
"""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

# Factors from NIST Handbook 44 (2024), Appendix C, "General Tables of Units of Measurement".
CM_PER_INCH = 2.54
CM_PER_FOOT = 30.48
GRAMS_PER_OUNCE = 28.349523125
GRAMS_PER_POUND = 453.59237
GRAMS_PER_TROY_OUNCE = 31.1034768
GRAMS_PER_PENNYWEIGHT = 1.55517384

_LENGTH_WORDS: dict[str, tuple[float, str]] = {
    "mm": (0.1, "mm mms millimeter millimeters millimetre millimetres"),
    "cm": (1.0, "cm cms centimeter centimeters centimetre centimetres zentimeter centimetri "
           "centimetros"),
    "m": (100.0, "m meter meters metre metres metri metros"),
    "in": (CM_PER_INCH, "in ins inch inches inche zoll \" ''"),
    "ft": (CM_PER_FOOT, "ft feet foot '"),
}  # fmt: skip
_WEIGHT_WORDS: dict[str, tuple[float, str]] = {
    "g": (1.0, "g gm gms gram grams gramme grammes gramm"),
    "kg": (1000.0, "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes kilogramm"),
    "lb": (GRAMS_PER_POUND, "lb lbs"),
    "oz": (GRAMS_PER_OUNCE, "oz ozs ounce ounces"),
    "ozt": (GRAMS_PER_TROY_OUNCE, "ozt"),
    "dwt": (GRAMS_PER_PENNYWEIGHT, "dwt dwts"),
}
_CARAT_WORDS = "ct cts carat carats ctw tcw"
LENGTHS = {name: factor for name, (factor, _) in _LENGTH_WORDS.items()}
WEIGHTS = {name: factor for name, (factor, _) in _WEIGHT_WORDS.items()}
CARAT = "ct"
UNIT_OF = {
    word: name
    for table in (_LENGTH_WORDS, _WEIGHT_WORDS, {CARAT: (1.0, _CARAT_WORDS)})
    for name, (_, words) in table.items()
    for word in words.split()
}
UNIT_OF |= {f"troy {word}": "ozt" for word in _WEIGHT_WORDS["oz"][1].split()}

# Single letters and words for one axis, in English, German, French, Italian, Spanish and Dutch.
_AXIS_WORDS = {
    "height": "h high height heights tall ht hoch hohe haut hauteur alt altezza alto altura hoog "
    "hoogte",
    "width": "w b wide width wd breit breite larg largeur larghezza anchura ancho breed breedte",
    "depth": "d t p deep depth tief tiefe prof profondeur profondita profundidad fondo diep diepte",
    "length": "l long length lang lange longueur lunghezza longitud lengte lg",
    "diameter": "dia diam diameter durchmesser diametre diametro doorsnede ø ⌀ dm",
    "thickness": "thick thickness dick dicke epaisseur",
    "": "across square largo",  # a side, but which
}
AXIS_OF = {word: axis for axis, words in _AXIS_WORDS.items() for word in words.split()}
# After a number these belong to it, whatever comes next: "30 cm high 20 cm wide".
ALWAYS_AFTER = frozenset(
    ("high", "tall", "wide", "deep", "long", "thick", "across", "square", "hoch", "breit", "tief",
     "lang", "dick", "hoog", "breed", "diep")
)  # fmt: skip
_ONLY_BEFORE = {"b", "t", "p", "dm", "alto", "larg"}

FRACTIONS = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip


def _any(words: list[str]) -> str:
    return "|".join(sorted(words, key=lambda word: (-len(word), word)))


_MARKS = ('"', "''", "'")
_WORDED_UNITS = _any([unit for unit in UNIT_OF if unit not in _MARKS])
_LONG_AXES = _any([a for a in AXIS_OF if len(a) > 1])
_LETTERS = "hwdlbtp"
_SIGNS = "ø⌀"
_NUMBER = (
    r"[0-9]{1,2}/[0-9]{1,2}|[0-9]{1,3}(?:[.,][0-9]{1,3})?(?:[ -]{1,2}[0-9]{1,2}/[0-9]{1,2})?"
    r"|\.[0-9]{1,3}"
)
_ABOUT = r"(?:(?:approximately|approx|about|circa|ca|c|etwa|environ|env|around)\b\.? ?|~ ?)"
_BEFORE = rf"(?:(?:(?:{_LONG_AXES})\b|[{_LETTERS}{_SIGNS}])[ .:=]{{0,3}}(?:of |[x/] ?)?)"
_UNIT = rf" ?-? ?(?:(?:{_WORDED_UNITS})\b\.?|''|\"|')"
_LATTER = _any([axis for axis in AXIS_OF if len(axis) > 1 and axis not in _ONLY_BEFORE])
_AFTER = (
    rf"[ )]{{0,2}}\(?(?:in )?(?:(?:{_LATTER})\b\.?|[hwdl](?: ?[x/] ?[{_LETTERS}]){{1,2}}\b"
    rf"|[hwdl]\b\.?|[{_SIGNS}])\)?"
)


def _item(named: bool) -> str:
    """A number with what belongs to it; the groups have names where Python reads it."""

    def part(name: str, pattern: str) -> str:
        return f"(?P<{name}>{pattern})" if named else f"(?:{pattern})"

    start = "(?<![a-wyz0-9.,])" if named else ""  # Python looks for items one by one
    return (
        start + part("before", f"{_BEFORE}{{0,3}}") + f"{_ABOUT}?"
        + part("number", _NUMBER) + part("unit", _UNIT) + "?"
        + part("troy", r" ?(?:troy|t)\b\.?") + "?"
        + part("total", r" ?(?:tw|tdw|total)\b") + "?"
        + part("after", _AFTER) + "?" + part("late_unit", _UNIT) + "?"
    )  # fmt: skip


UNIT = rf"[0-9] ?-? ?(?:(?:{_WORDED_UNITS})\b|['\"])|[)hwdl] ?(?:{_WORDED_UNITS})\b"
ITEM = _item(named=True)
GLUE = "\x1e"  # between feet and inches that nothing parts: 5'6
_BETWEEN = rf"(?:[ ,;:()/|+&x*=-]{{1,4}}(?:(?:by|and|und|et|to|bis|mal|sur|per|or)\b ?\(?)?|{GLUE})"
# What may stand before a run: nothing of a number, a word or a price.
EDGE = r"(?:^|[^0-9a-z.,/#:'\"£$€¥-]|[a-z)][,;:])"
# A run with the one or two characters before it, which the caller takes off: a pattern whose groups
# are asked for is 25 times as slow.
RUN = rf"{EDGE}(?:{_item(named=False)}(?:{_BETWEEN}{_item(named=False)})*)"

# A number and a unit: what has none states no size.
_HINT = (
    r"(?i)\bcm\.? [0-9]"
    r"|[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞] ?-? ?(?:['\"′″’”]|[cm]m|in(?:s|ch|ches)?\b|f(?:t|eet|oot)\b|m\b"
    r"|met|[cz]enti|milli|zoll|k?g\b|kgs|gm|gra|kilo|lb|oz|ounce|dwt|c(?:t|ar)|tcw|[hwdlx ø]"
    r"|\p{M}|[^\x00-\x7f])"
)
_GLUED_X = r"([0-9]['\"]?) ?(cms?|mms?|ins?|ft|m)?([hwdl])?x ?([0-9hwdlø])"
_IS_GLUED_X = r"[0-9]['\"]? ?(?:(?:cms?|mms?|ins?|ft|m)[hwdl]?|[hwdl])x ?[0-9hwdlø]"
# "olio su tela, cm 50 x 70"
_UNIT_FIRST = (
    r"(^|[a-z,;:(.] ?)cm\.? ([0-9]+(?:[.,][0-9])?(?: ?x ?[0-9]+(?:[.,][0-9])?){0,2})($|[,;) ])"
)
_GLUED_AXIS = r"([0-9]['\"]? ?)(cms?|mms?|ins?|ft|m)([hwdl])\b"
_PRIMES = (("′", "'"), ("″", '"'), ("’", "'"), ("‘", "'"), ("”", '"'), ("“", '"'), ("„", '"'))
_MARK_SIGNS = (("×", "x"), ("–", "-"), ("—", "-"), ("−", "-"), ("‐", "-"), ("‑", "-"), ("⁄", "/"))


def may_state_sizes(texts: pa.Array) -> pa.Array:
    """Whether a text holds a number with what may be a unit."""
    return pc.fill_null(pc.match_substring_regex(texts, _HINT), False)


def fold_sizes(texts: pa.Array) -> pa.Array:
    """Texts as `RUN` reads them, nulls kept."""
    plain = pc.string_is_ascii(texts)
    if not pc.all(plain, skip_nulls=True).as_py():
        mask = pc.fill_null(pc.invert(plain), False)
        texts = pc.replace_with_mask(texts, mask, _as_ascii_as_can_be(pc.filter(texts, mask)))
    texts = pc.utf8_lower(texts)
    texts = _replaced(texts, r"[\s]{2,}|[\x00-\x1f]", r"[\s\x00-\x1f]+", " ")
    texts = _replaced(texts, r"[0-9]{4} ?(?:mm|g)\b", r"\b([0-9])([0-9]{3}) ?(mm|g)\b", r"\1,\2 \3")
    texts = _replaced(texts, r"[0-9]{4} ?x ?[0-9,]+ ?mm", r"\b([0-9])([0-9]{3}) ?x", r"\1,\2 x")
    texts = _replaced(texts, r"[0-9]{4}", r"[0-9]{4,}", "#")  # years and numbers of lots
    texts = _replaced(texts, r"[0-9]'[0-9]", r"([0-9])'([0-9])", rf"\1'{GLUE}\2")
    texts = _replaced(texts, r"\bcm\.? [0-9]", _UNIT_FIRST, r"\1\2 cm\3")
    texts = _replaced(texts, _IS_GLUED_X, _GLUED_X, r"\1 \2 \3 x \4")
    return _replaced(texts, _GLUED_AXIS, _GLUED_AXIS, r"\1\2 \3")


def _as_ascii_as_can_be(texts: pa.Array) -> pa.Array:
    for sign, plain in FRACTIONS.items():
        texts = pc.replace_substring(texts, sign, f" {plain}")
    for sign, plain in (*_PRIMES, *_MARK_SIGNS):
        texts = pc.replace_substring(texts, sign, plain)
    texts = pc.utf8_normalize(texts, "NFKD")
    return pc.replace_substring_regex(texts, r"\p{M}+", "")


def _replaced(texts: pa.Array, needed: str, pattern: str, by: str) -> pa.Array:
    """Few texts need it, so only those are paid for."""
    mask = pc.fill_null(pc.match_substring_regex(texts, needed), False)
    if not pc.any(mask).as_py():
        return texts
    return pc.replace_with_mask(
        texts, mask, pc.replace_substring_regex(pc.filter(texts, mask), pattern, by)
    )
