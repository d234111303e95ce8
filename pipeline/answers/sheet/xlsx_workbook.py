"""The parts of an .xlsx workbook that name the others: workbook, relations, content types."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping

from pipeline.answers.sheet.cells import parse_cell, xml_text
from pipeline.answers.sheet.layout import free_name
from pipeline.answers.sheet.markup import (
    attribute,
    children_of_root,
    plain_markup,
    root_of,
    start_tag,
    with_attribute,
)
from pipeline.answers.sheet.xlsx_book import RELATIONSHIPS, SHEET_MARK, XlsxBook, split_reference
from pipeline.errors import SheetError

WORKSHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
STYLES_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"


def mark_of(name: str) -> str:
    """The hidden defined name by which an extra sheet is known again."""
    return SHEET_MARK + re.sub(r"\W", "_", name.casefold())


def absolute(cells: str) -> str:
    """A1:B2 as $A$1:$B$2."""
    parts: list[str] = []
    for cell in cells.split(":"):
        row, _ = parse_cell(cell)
        letters = re.sub(r"[^A-Za-z]", "", cell)
        parts.append(f"${letters}${row}")
    return ":".join(parts)


def quoted_sheet(name: str) -> str:
    """A sheet's name as it stands in a reference."""
    return "'" + name.replace("'", "''") + "'"


class WorkbookPatch:
    """Changes the naming parts as text; what is not named stays as it is."""

    def __init__(self, book: XlsxBook) -> None:
        self.book = book
        archive = book.archive
        folder, name = posixpath.split(book.workbook_part)
        self.folder = folder
        self.rels_part = posixpath.join(folder, "_rels", f"{name}.rels")
        self.workbook = self._plain(book.workbook_part)
        self.rels = self._plain(self.rels_part)
        self.types = self._plain("[Content_Types].xml")
        self.prefix = root_of(self.workbook)[1]
        self._sheet_ids = [int(m) for m in re.findall(rb"sheetId=[\"'](\d+)", self.workbook)]
        self._relation_ids = set(book.relations)
        self._parts = set(archive.names)
        self._taken = {
            element.get("name", "").casefold() for element in book.workbook.iter(book.tag("sheet"))
        }
        self._marked = {
            defined.name: place[0]
            for defined in book.defined_names
            if defined.name.startswith(SHEET_MARK) and (place := split_reference(defined.reference))
        }

    def parts(self) -> dict[str, bytes]:
        """The parts that changed."""
        parts = {
            self.book.workbook_part: self.workbook,
            self.rels_part: self.rels,
            "[Content_Types].xml": self.types,
        }
        return {name: data for name, data in parts.items() if data != self.book.archive.read(name)}

    def sheet_for(self, wanted: str) -> tuple[str, str, bool]:
        """Name and part of the sheet of ours that is to be called so, and whether it is new."""
        there = self._marked.get(mark_of(wanted))
        for entry in self.book.sheets:
            if there is not None and entry.name == there:
                return entry.name, entry.part, False
        name = free_name(wanted, self._taken)
        self._taken.add(name.casefold())
        part = self._free_part("worksheets/comparables{}.xml")
        number = max(self._sheet_ids, default=0) + 1
        self._sheet_ids.append(number)
        relation = self.relate("worksheet", part)
        element = (
            f'<{self.prefix.decode()}sheet xmlns:rel="{RELATIONSHIPS[self.book.namespace]}" '
            f'name="{xml_text(name)}" sheetId="{number}" rel:id="{relation}"/>'
        )
        self.workbook = before_end(self.workbook, self.prefix + b"sheets", element.encode())
        self.declare(part, WORKSHEET_TYPE)
        return name, part, True

    def relate(self, kind: str, part: str) -> str:
        """Relate the workbook to a part; returns the relation's id."""
        number = 1
        while f"rIdComparables{number}" in self._relation_ids:
            number += 1
        relation = f"rIdComparables{number}"
        self._relation_ids.add(relation)
        prefix = root_of(self.rels)[1]
        target = posixpath.relpath(part, self.folder or ".")
        element = (
            f'<{prefix.decode()}Relationship Id="{relation}" '
            f'Type="{RELATIONSHIPS[self.book.namespace]}/{kind}" Target="{xml_text(target)}"/>'
        )
        self.rels = before_end(self.rels, prefix + b"Relationships", element.encode())
        return relation

    def declare(self, part: str, content_type: str) -> None:
        """State the content type of a new part."""
        prefix = root_of(self.types)[1]
        element = (
            f'<{prefix.decode()}Override PartName="/{xml_text(part)}" '
            f'ContentType="{content_type}"/>'
        )
        self.types = before_end(self.types, prefix + b"Types", element.encode())

    def forget_part(self, part: str) -> None:
        """Take a part out of the relations and the content types."""
        prefix = root_of(self.rels)[1]
        for match in start_tag(prefix + b"Relationship").finditer(self.rels):
            identity = (attribute(match[0], b"Id") or b"").decode()
            if self.book.relations.get(identity, ("", ""))[1] == part:
                self.rels = self.rels[: match.start()] + self.rels[match.end() :]
                break
        prefix = root_of(self.types)[1]
        for match in start_tag(prefix + b"Override").finditer(self.types):
            if attribute(match[0], b"PartName") == b"/" + part.encode():
                self.types = self.types[: match.start()] + self.types[match.end() :]
                break

    def set_names(self, wanted: Mapping[str, tuple[str, bool]]) -> None:
        """Set defined names of ours: name -> (reference, whether it is hidden).

        Raises:
            SheetError: a name is used in the workbook for something that is not ours.
        """
        ours = {entry.name for entry in self.book.sheets if entry.ours}
        for defined in self.book.defined_names:
            place = split_reference(defined.reference)
            broken = "#REF!" in defined.reference
            if defined.name in wanted and not broken and not (place and place[0] in ours):
                raise SheetError(
                    f"the workbook uses the name {defined.name} for something of its own "
                    f"({defined.reference})",
                    where=self.book.path,
                    todo="give that name another wording in your spreadsheet program",
                )
        kept = [e for e in self._names() if _name_of(e) not in wanted]
        tag = (self.prefix + b"definedName").decode()
        added = [
            (
                f'<{tag} name="{xml_text(name)}"'
                + (' hidden="1"' if hidden else "")
                + f">{xml_text(reference)}</{tag}>"
            ).encode()
            for name, (reference, hidden) in wanted.items()
        ]
        if wanted:
            self._put_names([*kept, *added])

    def move_filter_name(self, sheet_name: str, old: str, new: str) -> None:
        """Let the hidden name of a sheet's filter follow the filter."""
        old_raw, new_raw = absolute(old).encode(), absolute(new).encode()
        names = self._names()
        sheet = xml_text(sheet_name).encode()
        moved = [
            e.replace(old_raw, new_raw)
            if _name_of(e) == "_xlnm._FilterDatabase" and sheet in e.replace(b"''", b"'")
            else e
            for e in names
        ]
        if moved != names:
            self._put_names(moved)

    def recalculate_on_load(self) -> None:
        """Ask the program that opens the workbook to compute every formula anew."""
        match = start_tag(self.prefix + b"calcPr").search(self.workbook)
        if match:
            tag = with_attribute(match[0], b"fullCalcOnLoad", b"1")
            self.workbook = self.workbook[: match.start()] + tag + self.workbook[match.end() :]
            return
        after = [
            child
            for child in children_of_root(self.workbook)
            if child.name in ("sheets", "functionGroups", "externalReferences", "definedNames")
        ]
        at = after[-1].end
        tag = b'<%scalcPr fullCalcOnLoad="1"/>' % self.prefix
        self.workbook = self.workbook[:at] + tag + self.workbook[at:]

    def _names(self) -> list[bytes]:
        child = next((c for c in children_of_root(self.workbook) if c.name == "definedNames"), None)
        if child is None:
            return []
        raw = self.workbook[child.start : child.end]
        return [raw[c.start : c.end] for c in children_of_root(raw)]

    def _put_names(self, names: list[bytes]) -> None:
        p = self.prefix
        text = b"<%sdefinedNames>" % p + b"".join(names) + b"</%sdefinedNames>" % p
        children = {child.name: child for child in children_of_root(self.workbook)}
        if "definedNames" in children:
            start, end = children["definedNames"].start, children["definedNames"].end
        else:
            before = ("externalReferences", "functionGroups", "sheets")
            start = end = next(children[name].end for name in before if name in children)
        self.workbook = self.workbook[:start] + text + self.workbook[end:]

    def _free_part(self, pattern: str) -> str:
        number = 1
        while (part := posixpath.join(self.folder, pattern.format(number))) in self._parts:
            number += 1
        self._parts.add(part)
        return part

    def _plain(self, part: str) -> bytes:
        return plain_markup(self.book.archive.read(part), self.book.path, part)


def before_end(data: bytes, name: bytes, markup: bytes) -> bytes:
    """The markup put in as the last child of the first element of that name."""
    match = start_tag(name).search(data)
    if match is None:
        raise SheetError(f"the workbook is damaged: {name.decode()} is missing")
    if match[2]:
        opened = match[0][:-2].rstrip() + b">"
        whole = opened + markup + b"</%s>" % name
        return data[: match.start()] + whole + data[match.end() :]
    end = data.rindex(b"</%s>" % name)
    return data[:end] + markup + data[end:]


def _name_of(element: bytes) -> str:
    return (attribute(element[: element.index(b">") + 1], b"name") or b"").decode()
