"""Formula templates written once, and put into a workbook in its own dialect."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from pipeline.errors import SheetError

_PLACE = re.compile(r"\{([A-Za-z_]\w*)(?:\|([^{}]*))?\}")
_STRING = re.compile(r'("(?:[^"]|"")*")')
_CELL = re.compile(r"[A-Z]{1,3}[0-9]{1,7}(?:_[A-Z]{1,3}[0-9]{1,7})?")


@dataclass(frozen=True)
class Place:
    """A place in a template: the key of what stands there, and what to put where it is missing."""

    key: str
    default: str | None


@lru_cache(maxsize=256)
def parse_template(template: str) -> tuple[str | Place, ...]:
    """A template cut into text and places.

    Raises:
        SheetError: a brace is left over.
    """
    parts: list[str | Place] = []
    position = 0
    for match in _PLACE.finditer(template):
        parts.append(template[position : match.start()])
        parts.append(Place(match[1], match[2]))
        position = match.end()
    parts.append(template[position:])
    for part in parts:
        outside = _STRING.sub("", part) if isinstance(part, str) else ""
        if "{" in outside or "}" in outside:
            raise SheetError(f"the formula {template!r} has a brace too many or too few")
    return tuple(parts)


def keys_of(template: str) -> tuple[str, ...]:
    """The keys that a template asks for, each once."""
    places = [part.key for part in parse_template(template) if isinstance(part, Place)]
    return tuple(dict.fromkeys(places))


# OpenDocument 1.2 part 2, 6.18: two functions have another name there.
_OTHER_NAMES = re.compile(r"\b(NORMSINV|NORMSDIST)(?=\()")


def opendocument(text: str) -> str:
    """Formula text in the dialect of OpenDocument: semicolons between arguments, its names."""
    pieces = _STRING.split(text)
    return "".join(
        piece if index % 2 else _OTHER_NAMES.sub(r"LEGACY.\1", piece).replace(",", ";")
        for index, piece in enumerate(pieces)
    )


def xlsx_cell(address: str) -> str:
    """A reference to a cell as .xlsx writes it."""
    return address


def ods_cell(address: str) -> str:
    """A reference to a cell, or with a colon a range, of the same sheet as OpenDocument has it."""
    first, colon, last = address.partition(":")
    return f"[.{first}{colon}{'.' if colon else ''}{last}]"


class Renderer:
    """Renders templates in one dialect.

    `find` gives the address of a key in the row at hand, a literal as ("literal", text), or None
    where there is no such thing.
    """

    def __init__(self, dialect: str) -> None:
        self._ods = dialect == "ods"
        self._cell = ods_cell if self._ods else xlsx_cell

    def render(self, template: str, find: Callable[[str], str | tuple[str, str] | None]) -> str:
        """The formula's text without the equals sign.

        Raises:
            SheetError: a key is unknown and has no default.
        """
        out: list[str] = []
        for part in self._parts(template):
            if isinstance(part, str):
                out.append(part)
                continue
            found = find(part.key)
            if found is None and _CELL.fullmatch(part.key):
                found = part.key.replace("_", ":")
            if isinstance(found, str):
                out.append(self._cell(found))
            elif found is not None and found[1]:
                out.append(found[1])
            elif part.default is not None:
                out.append(opendocument(part.default) if self._ods else part.default)
            else:
                raise SheetError(
                    f"the formula {template!r} asks for {part.key!r}, which the sheet does not have"
                )
        return "".join(out)

    def _parts(self, template: str) -> Sequence[str | Place]:
        parts = parse_template(template)
        if not self._ods:
            return parts
        return _opendocument_parts(template)


@lru_cache(maxsize=256)
def _opendocument_parts(template: str) -> tuple[str | Place, ...]:
    return tuple(
        opendocument(part) if isinstance(part, str) else part for part in parse_template(template)
    )
