"""Changing XML as text, so that everything around a change stays byte for byte.

`plain_markup` proves that a part is well-formed UTF-8 without comments, CDATA or processing
instructions. After that a start tag can be found by pattern: "<" stands nowhere else.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from xml.parsers import expat

from lxml import etree

from pipeline.answers.sheet.archive import bad_xml, refuse_doctype, safe_parser

_ATTRIBUTES = rb"(?:[^<>\"']|\"[^\"]*\"|'[^']*')*?"
_DECLARATION = re.compile(rb"^(?:\xef\xbb\xbf)?\s*<\?xml[^>]*\?>")
_ENCODING = re.compile(rb"encoding\s*=\s*[\"']([A-Za-z0-9._-]+)[\"']")


def plain_markup(data: bytes, where: Path, name: str) -> bytes:
    """The part as UTF-8 without comments, CDATA and instructions; the same bytes if it is so.

    Raises:
        SheetError: it is not well-formed, or declares a document type.
    """
    refuse_doctype(data, where, name)
    declaration = _DECLARATION.match(data)
    encoding = _ENCODING.search(declaration[0]) if declaration else None
    is_utf8 = encoding is None or encoding[1].lower() in (b"utf-8", b"us-ascii", b"ascii")
    is_utf8 = is_utf8 and not data.startswith((b"\xff\xfe", b"\xfe\xff"))
    body = data[declaration.end() :] if declaration else data
    if is_utf8 and not (b"<!--" in body or b"<![CDATA[" in body or b"<?" in body):
        try:
            expat.ParserCreate().Parse(data, True)
        except expat.ExpatError as error:
            raise bad_xml(where, name, error) from error
        return data
    try:
        parser = etree.XMLParser(
            resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True,
            remove_pis=True, strip_cdata=True,
        )  # fmt: skip
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise bad_xml(where, name, error) from error
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)


@lru_cache(maxsize=256)
def start_tag(name: bytes) -> re.Pattern[bytes]:
    """Pattern of an element's start tag; group 1 is its attributes, group 2 its closing slash."""
    return re.compile(rb"<" + re.escape(name) + rb"(?=[\s/>])(" + _ATTRIBUTES + rb")(/?)>", re.S)


@lru_cache(maxsize=256)
def _attribute(name: bytes) -> re.Pattern[bytes]:
    return re.compile(rb"(\s" + re.escape(name) + rb"\s*=\s*)(?:\"([^\"]*)\"|'([^']*)')", re.S)


def attribute(tag: bytes, name: bytes) -> bytes | None:
    """The raw value of an attribute in a start tag; None where it has none."""
    match = _attribute(name).search(tag)
    if match is None:
        return None
    return match[2] if match[2] is not None else match[3]


def with_attribute(tag: bytes, name: bytes, value: bytes) -> bytes:
    """The start tag with an attribute set to an escaped value."""
    match = _attribute(name).search(tag)
    if match:
        return tag[: match.start()] + match[1] + b'"' + value + b'"' + tag[match.end() :]
    end = len(tag) - (2 if tag.endswith(b"/>") else 1)
    return tag[:end].rstrip() + b" " + name + b'="' + value + b'"' + tag[end:]


def without_attribute(tag: bytes, name: bytes) -> bytes:
    """The start tag without an attribute."""
    match = _attribute(name).search(tag)
    return tag[: match.start()] + tag[match.end() :] if match else tag


_REFERENCE = re.compile(r"&(?:#x([0-9A-Fa-f]+)|#([0-9]+)|(amp|lt|gt|quot|apos));")
_NAMED = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}


def content_text(raw: bytes) -> str:
    """The text that the raw content of an element or attribute stands for."""
    text = raw.decode("utf-8")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "&" not in text:
        return text
    return _REFERENCE.sub(
        lambda m: chr(int(m[1], 16)) if m[1] else chr(int(m[2])) if m[2] else _NAMED[m[3]], text
    )


@dataclass(frozen=True)
class Child:
    """A child of the root: its local name and where its text starts and ends."""

    name: str
    start: int
    end: int


def children_of_root(data: bytes) -> list[Child]:
    """The children of the root of plain markup, with their places in it."""
    found: list[Child] = []
    depth = 0
    opened: list[tuple[str, int]] = []
    parser = expat.ParserCreate()

    def on_start(name: str, _: dict[str, str]) -> None:
        nonlocal depth
        if depth == 1:
            opened.append((name, parser.CurrentByteIndex))
        depth += 1

    def on_end(name: str) -> None:
        nonlocal depth
        depth -= 1
        if depth == 1:
            raw_name, start = opened.pop()
            match = start_tag(raw_name.encode()).match(data, start)
            if match is not None and match[2]:  # expat gives no place for the end of <empty/>
                end = match.end()
            else:
                end = data.index(b">", parser.CurrentByteIndex) + 1
            found.append(Child(raw_name.rpartition(":")[2], start, end))

    parser.StartElementHandler = on_start
    parser.EndElementHandler = on_end
    parser.Parse(data, True)
    return found


def root_of(data: bytes) -> tuple[re.Match[bytes], bytes]:
    """The root's start tag in plain markup, and its prefix with the colon (or empty)."""
    declaration = _DECLARATION.match(data)
    at = data.index(b"<", declaration.end() if declaration else 0)
    name = re.match(rb"<([^\s/>]+)", data[at : at + 200])
    raw_name = name[1] if name else b""
    match = start_tag(raw_name).match(data, at)
    if match is None:
        raise ValueError("no root")
    prefix, colon, _ = raw_name.rpartition(b":")
    return match, prefix + colon


def parse_fragment(data: bytes) -> etree._Element:
    """Parse a piece of markup that declares its own namespaces."""
    return etree.fromstring(data, safe_parser())
