"""Sizes, weights and carats in words, for people."""

from __future__ import annotations

import re
from collections.abc import Iterable

from pipeline.terms.size_forms import AXIS_OF, UNIT_OF
from pipeline.terms.sizes import AXES, CARATS, LARGEST, WEIGHT

# Words that a size is made of, beside its numbers.
SIZE_WORDS = frozenset((*UNIT_OF, *AXIS_OF))
_AXIS_WORDS = {
    "height": "{} high", "width": "{} wide", "depth": "{} deep", "length": "{} long",
    "diameter": "{} in diameter",
}  # fmt: skip
_GRAMS_IN_KILO = 1000
_UNIT_IN_HEADER = re.compile(r"\b(?:cm|mm|in|ins|inch|inches|centimetres|centimeters|zoll)\b")
_BARE_SIZE = re.compile(r"[0-9][0-9.,/ ½¼¾xX×*]*")


def sizes_in_words(measures: Iterable[tuple[str, float]] | None) -> list[str]:
    """What is told of size and weight, one text a number; nothing for other measures.

    Args:
        measures: pairs of name and number, as a column of maps gives them.
    """
    told = dict(measures or ())
    parts = [
        _AXIS_WORDS[axis].format(_length(told[f"{axis}_cm"]))
        for axis in AXES
        if f"{axis}_cm" in told
    ]
    largest = told.get(LARGEST)
    if largest is not None and not any(told.get(f"{axis}_cm") == largest for axis in AXES):
        parts.append(f"largest side {_length(largest)}")
    if WEIGHT in told:
        grams = told[WEIGHT]
        is_heavy = grams >= _GRAMS_IN_KILO
        parts.append(f"{grams / _GRAMS_IN_KILO:,.4g} kg" if is_heavy else f"{grams:.3g} g")
    if CARATS in told:
        parts.append(f"{told[CARATS]:g} carats")
    return parts


def with_unit_of(header: str, sizes: list[str | None]) -> list[str | None]:
    """Sizes of a column with the unit that its header names ("Size (in)"), where they have none."""
    named = _UNIT_IN_HEADER.findall(header.lower())
    # "size in cm"
    units = {UNIT_OF[word] for word in named if word != "in"} or {UNIT_OF[word] for word in named}
    if len(units) != 1:
        return sizes
    unit = units.pop()
    return [
        f"{size} {unit}" if size and _BARE_SIZE.fullmatch(size.strip()) else size for size in sizes
    ]


def _length(cm: float) -> str:
    return f"{round(cm, 1):g} cm"
