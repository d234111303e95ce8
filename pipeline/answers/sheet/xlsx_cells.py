"""The cells of one row of a worksheet, read from its markup."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pipeline.answers.sheet.cells import MOST_COLUMNS, Cell, cell_name, column_number
from pipeline.answers.sheet.markup import attribute, content_text, start_tag
from pipeline.answers.sheet.values import serial_to_text

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")


def unescape(text: str) -> str:
    """Text with the _xHHHH_ escapes of ECMA-376 part 1, 22.9.2.19 resolved."""
    if "_x" not in text:
        return text
    return _ESCAPE.sub(lambda match: chr(int(match[1], 16)), text)


class CellReader:
    """Reads rows of plain markup (see `markup.plain_markup`).

    Most cells are written in one way, `<c r="B7" s="3" t="s"><v>12</v></c>`, and are read by one
    pattern; any other cell is taken apart with care.
    """

    def __init__(
        self,
        prefix: bytes,
        strings: Sequence[str],
        date_styles: frozenset[str],
        from_1904: bool,
    ) -> None:
        p = re.escape(prefix)
        self._strings = strings
        self._date_styles = frozenset(style.encode() for style in date_styles)
        self._from_1904 = from_1904
        self._usual = re.compile(
            rb"\s*<" + p + rb'c r="([A-Z]{1,3})[0-9]+"(?: s="([0-9]+)")?(?: t="(n|s)")?'
            rb"(?:/>|><" + p + rb"v>([^<]*)</" + p + rb"v></" + p + rb"c>)"
        )
        self._start = start_tag(prefix + b"c")
        self._end = b"</%sc>" % prefix
        self._formula = re.compile(rb"<" + p + rb"f(?:\s[^>]*?)?(?:/>|>([^<]*)</" + p + rb"f>)")
        self._value = re.compile(rb"<" + p + rb"v(?:\s[^>]*)?>([^<]*)</" + p + rb"v>")
        self._text = re.compile(rb"<" + p + rb"t(?:\s[^>]*)?>([^<]*)</" + p + rb"t>")
        self._phonetic = re.compile(rb"<" + p + rb"rPh[\s>].*?</" + p + rb"rPh>", re.S)
        self._columns: dict[bytes, int] = {}
        self._farthest = 0

    def read(
        self, data: bytes, start: int, end: int, row: int, wanted: frozenset[int] | None
    ) -> list[Cell]:
        """The filled cells between two places in the markup.

        Raises:
            ValueError: a cell is outside a sheet, or not what it says it is.
        """
        cells: list[Cell] = []
        column = 0
        position = start
        match_usual = self._usual.match
        columns = self._columns
        dates = self._date_styles
        while position < end:
            usual = match_usual(data, position, end)
            if usual is None:
                found, column, position = self._read_unusual(data, position, end, row, column)
            else:
                letters, style, kind, raw = usual.groups()
                position = usual.end()
                known = columns.get(letters)
                column = self._column_of(letters) if known is None else known
                if not raw or not (wanted is None or column in wanted or column > self._farthest):
                    continue
                if kind == b"s":
                    found = self._shared(raw, row, column)
                elif style in dates:
                    found = self._number(float(raw), True, column, None)
                else:
                    found = Cell(column, "number", float(raw))
            if found is not None and (
                wanted is None or column in wanted or column > self._farthest
            ):
                cells.append(found)
                self._farthest = max(self._farthest, column)
        return cells

    def _read_unusual(
        self, data: bytes, position: int, end: int, row: int, column: int
    ) -> tuple[Cell | None, int, int]:
        match = self._start.search(data, position, end)
        if match is None:
            return None, column, end
        reference = attribute(match[0], b"r")
        if reference:
            column = self._column_of(re.sub(rb"[^A-Za-z]", b"", reference))
        else:
            column += 1
        if match[2]:
            return None, column, match.end()
        closing = data.index(self._end, match.end())
        inner = data[match.end() : closing]
        cell = self._cell(match[0], inner, row, column)
        return cell, column, closing + len(self._end)

    def _cell(self, tag: bytes, inner: bytes, row: int, column: int) -> Cell | None:
        kind = (attribute(tag, b"t") or b"n").decode()
        has_formula = self._formula.search(inner)
        formula = content_text(has_formula[1] or b"") if has_formula else None
        value = self._value.search(inner)
        raw = value[1] if value else b""
        if kind == "inlineStr":
            parts = self._text.findall(self._phonetic.sub(b"", inner))
            text = unescape("".join(content_text(part) for part in parts))
            return Cell(column, "text", text, formula) if text else None
        if not raw:
            if formula is not None and kind != "str":
                return Cell(column, "uncalculated", None, formula)
            return None
        if kind == "n":
            is_date = (attribute(tag, b"s") or b"") in self._date_styles
            return self._number(float(raw), is_date, column, formula)
        if kind == "s":
            return self._shared(raw, row, column)
        if kind == "str":
            return Cell(column, "text", unescape(content_text(raw)), formula)
        if kind == "b":
            return Cell(column, "truth", float(raw), formula)
        if kind == "e":
            return Cell(column, "error", content_text(raw), formula)
        if kind == "d":
            return Cell(column, "date", raw.decode().replace("T00:00:00", ""), formula)
        raise ValueError(f"{cell_name(row, column)} is of an unknown kind {kind!r}")

    def _number(self, number: float, is_date: bool, column: int, formula: str | None) -> Cell:
        if is_date:
            shown = serial_to_text(number, self._from_1904)
            if shown is not None:
                return Cell(column, "date", shown, formula)
        return Cell(column, "number", number, formula)

    def _shared(self, raw: bytes, row: int, column: int) -> Cell | None:
        try:
            text = self._strings[int(raw)]
        except IndexError as error:
            raise ValueError(f"{cell_name(row, column)} names a text that is not there") from error
        return Cell(column, "text", text) if text else None

    def _column_of(self, letters: bytes) -> int:
        column = column_number(letters.decode()) if letters else 0
        if not 1 <= column <= MOST_COLUMNS:
            raise ValueError(f"column {letters.decode()!r} is outside a sheet")
        self._columns[letters] = column
        return column
