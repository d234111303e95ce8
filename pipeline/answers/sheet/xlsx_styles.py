"""Cell formats of an .xlsx workbook: existing ones keep their number, new ones go after them."""

from __future__ import annotations

from pathlib import Path

from pipeline.answers.sheet.cells import NUMBER_FORMATS, xml_text
from pipeline.answers.sheet.markup import (
    attribute,
    children_of_root,
    plain_markup,
    root_of,
    start_tag,
    with_attribute,
    without_attribute,
)

# ECMA-376 part 1, 18.8.30: format codes that every program knows by number.
_BUILT_IN = {"General": 0, "0": 1, "0.00": 2, "#,##0": 3, "#,##0.00": 4, "0%": 9, "0.00%": 10}
_FIRST_CUSTOM = 164

_PLAIN = (
    '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<styleSheet xmlns="{namespace}">'
    '<fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill>'
    '<fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
    '<cellXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
    "</styleSheet>"
)


def plain_styles(namespace: str) -> bytes:
    """A styles part with one format, for a workbook that has none."""
    return _PLAIN.format(namespace=namespace).encode()


class Styles:
    """The styles part, to which formats are added as they are asked for."""

    def __init__(self, data: bytes, where: Path, name: str) -> None:
        self._data = plain_markup(data, where, name)
        self._root, self._prefix = root_of(self._data)
        self._sections = {child.name: child for child in children_of_root(self._data)}
        self._formats = self._elements("cellXfs")
        self._n_formats = len(self._formats)
        self._added: list[bytes] = []
        self._known: dict[tuple[int, str, bool, bool, bool, bool, bool], int] = {}
        self._number_formats: dict[str, int] = {}
        self._added_number_formats: list[bytes] = []
        self._fonts = self._elements("fonts")
        self._added_fonts: list[bytes] = []
        self._font_of: dict[tuple[int, bool, bool], int] = {}
        for element in self._elements("numFmts"):
            code = attribute(element, b"formatCode") or b""
            self._number_formats[code.decode()] = int(attribute(element, b"numFmtId") or 0)

    @property
    def changed(self) -> bool:
        """Whether anything was added."""
        return bool(self._added)

    def format_like(
        self,
        base: int,
        number_format: str,
        *,
        bold: bool = False,
        wrap: bool = False,
        indented: bool = False,
        quoted: bool = False,
        linked: bool = False,
        keep: bool = False,
    ) -> int:
        """Index of the format that looks as `base` does but shows numbers another way.

        `indented` sets words a little apart from a number left of them; `quoted` marks text that
        must stay text when a person edits it (quotePrefix); `keep` takes the base as it is,
        alignment and all.
        """
        base = base if 0 <= base < self._n_formats else 0
        if keep:
            return base
        key = (base, number_format, bold, wrap, indented, quoted, linked)
        if key not in self._known:
            self._known[key] = self._make(*key)
        return self._known[key]

    def render(self) -> bytes:
        """The styles part with what was added."""
        data = self._data
        edits = [
            ("cellXfs", self._formats, self._added),
            ("fonts", self._fonts, self._added_fonts),
        ]
        for name, existing, added in edits:
            if added:
                data = self._append(data, name, len(existing), added)
        if self._added_number_formats:
            data = self._append_number_formats(data)
        return data

    def _make(
        self,
        base: int,
        number_format: str,
        bold: bool,
        wrap: bool,
        indented: bool,
        quoted: bool,
        linked: bool,
    ) -> int:
        raw = self._formats[base] if self._formats else b"<%sxf/>" % self._prefix
        match = start_tag(self._prefix + b"xf").match(raw)
        tag = match[0] if match else raw
        if tag.endswith(b"/>"):
            tag = tag[:-2].rstrip() + b">"
        number = self._number_format(number_format)
        tag = with_attribute(tag, b"numFmtId", str(number).encode())
        tag = with_attribute(tag, b"applyNumberFormat", b"1")
        tag = without_attribute(tag, b"quotePrefix")
        if quoted:
            tag = with_attribute(tag, b"quotePrefix", b"1")
        if bold or linked:
            font = self._font(int(attribute(tag, b"fontId") or 0), bold, linked)
            tag = with_attribute(tag, b"fontId", str(font).encode())
            tag = with_attribute(tag, b"applyFont", b"1")
        alignment = start_tag(self._prefix + b"alignment").search(raw)
        vertical = attribute(alignment[0], b"vertical") if alignment else None
        inner = b""
        if wrap or vertical or indented:
            inner = b"<%salignment" % self._prefix
            inner += b' horizontal="left"' * indented
            inner += b' vertical="%s"' % (vertical or b"top") if wrap or vertical else b""
            inner += b' wrapText="1"' * wrap + b' indent="1"' * indented + b"/>"
            tag = with_attribute(tag, b"applyAlignment", b"1")
        protection = start_tag(self._prefix + b"protection").search(raw)
        if protection and protection[2]:
            inner += protection[0]
        whole = tag + inner + b"</%sxf>" % self._prefix
        if not inner:
            whole = tag[:-1] + b"/>"
        for index, existing in enumerate(self._formats + self._added):
            if existing == whole:
                return index
        self._added.append(whole)
        return self._n_formats + len(self._added) - 1

    def _number_format(self, name: str) -> int:
        code = NUMBER_FORMATS[name]
        if code in _BUILT_IN:
            return _BUILT_IN[code]
        if code not in self._number_formats:
            number = max([_FIRST_CUSTOM - 1, *self._number_formats.values()]) + 1
            self._number_formats[code] = number
            self._added_number_formats.append(
                f'numFmt numFmtId="{number}" formatCode="{xml_text(code)}"/>'.encode()
            )
        return self._number_formats[code]

    def _font(self, base: int, bold: bool, linked: bool) -> int:
        """Index of the font `base`, bold or underlined in the usual blue of a link."""
        key = (base, bold, linked)
        if key not in self._font_of:
            p = self._prefix
            raw = self._fonts[base] if base < len(self._fonts) else b""
            match = start_tag(p + b"font").match(raw)
            is_full = match is not None and not match[2]
            inside = raw[match.end() : -len(b"</%sfont>" % p)] if match and is_full else b""
            dropped = [b"b"] * bold + [b"u", b"color"] * linked
            for name in dropped:
                inside = start_tag(p + name).sub(b"", inside)
                inside = inside.replace(b"</%s%s>" % (p, name), b"")
            marks = b"<%sb/>" % p if bold else b""
            if linked:
                marks += b'<%su/><%scolor rgb="FF0563C1"/>' % (p, p)
            whole = b"<%sfont>%s%s</%sfont>" % (p, marks, inside, p)
            fonts = self._fonts + self._added_fonts
            if whole not in fonts:
                self._added_fonts.append(whole)
                fonts.append(whole)
            self._font_of[key] = fonts.index(whole)
        return self._font_of[key]

    def _elements(self, section: str) -> list[bytes]:
        child = self._sections.get(section)
        if child is None:
            return []
        raw = self._data[child.start : child.end]
        return [raw[c.start : c.end] for c in children_of_root(raw)]

    def _append(self, data: bytes, section: str, n_before: int, added: list[bytes]) -> bytes:
        name = self._prefix + section.encode()
        start = start_tag(name).search(data)
        if start is None:
            return self._insert_section(data, section, added)
        tag = with_attribute(start[0], b"count", str(n_before + len(added)).encode())
        if tag.endswith(b"/>"):
            tag = tag[:-2].rstrip() + b">"
            return (
                data[: start.start()] + tag + b"".join(added) + b"</%s>" % name
                + data[start.end() :]
            )  # fmt: skip
        end = data.index(b"</%s>" % name, start.end())
        return data[: start.start()] + tag + data[start.end() : end] + b"".join(added) + data[end:]

    def _insert_section(self, data: bytes, section: str, added: list[bytes]) -> bytes:
        name = self._prefix + section.encode()
        whole = b'<%s count="%d">' % (name, len(added)) + b"".join(added) + b"</%s>" % name
        at = self._root.end()
        if section == "cellXfs":
            for before in ("cellStyleXfs", "borders", "fills", "fonts"):
                mark = data.rfind(b"</%s%s>" % (self._prefix, before.encode()))
                if mark >= 0:
                    at = data.index(b">", mark) + 1
                    break
        return data[:at] + whole + data[at:]

    def _append_number_formats(self, data: bytes) -> bytes:
        added = [b"<" + self._prefix + element for element in self._added_number_formats]
        if "numFmts" in self._sections:
            return self._append(data, "numFmts", len(self._elements("numFmts")), added)
        name = self._prefix + b"numFmts"
        whole = b'<%s count="%d">' % (name, len(added)) + b"".join(added) + b"</%s>" % name
        return data[: self._root.end()] + whole + data[self._root.end() :]


def style_of_cell(row_body: bytes, address: bytes, prefix: bytes) -> int:
    """The format's index of a cell inside a row's markup; 0 where it has none."""
    at = row_body.find(b' r="' + address + b'"')
    start = row_body.rfind(b"<", 0, at) if at >= 0 else -1
    if start < 0 or not row_body.startswith(b"<%sc " % prefix, start):
        return 0
    style = attribute(row_body[start : row_body.index(b">", at) + 1], b"s")
    return int(style) if style and style.isdigit() else 0
