"""An .xlsx workbook filled in place: the sheet patched, sheets added, all else byte for byte."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Sequence

from pipeline.answers.sheet.cells import (
    ExtraSheet,
    Link,
    cell_name,
    column_letters,
    column_number,
    format_for,
    starts_live,
)
from pipeline.answers.sheet.layout import FILTER_NOTE, Layout, RowFormulas
from pipeline.answers.sheet.markup import plain_markup
from pipeline.answers.sheet.stale import builds_on, names_on
from pipeline.answers.sheet.xlsx_book import XlsxBook
from pipeline.answers.sheet.xlsx_sheet import (
    CellFormula,
    CellWriter,
    RowCells,
    SheetPatch,
    place_of,
    write_extra_sheet,
)
from pipeline.answers.sheet.xlsx_styles import Styles, plain_styles, style_of_cell
from pipeline.answers.sheet.xlsx_workbook import (
    STYLES_TYPE,
    WorkbookPatch,
    absolute,
    mark_of,
    quoted_sheet,
)
from pipeline.errors import SheetError


class XlsxFill:
    """Works out the changed and the dropped parts of a workbook.

    Raises:
        SheetError: a part is damaged, or a defined name of ours is taken.
    """

    def __init__(self, book: XlsxBook, layout: Layout, extras: Sequence[ExtraSheet]) -> None:
        self.book = book
        self.layout = layout
        self.columns = layout.columns
        self.extras = extras
        self.changed: dict[str, bytes] = {}
        self.dropped: set[str] = set()
        self.notes: list[str] = []
        self.workbook = WorkbookPatch(book)
        self._styles = self._open_styles()
        self.sheet_names: dict[str | None, str] = {None: layout.sheet_name}

    def run(self) -> None:
        """Make every change."""
        rerun = bool(self.layout.existing) or any(entry.ours for entry in self.book.sheets)
        stale = rerun and self._forget_stale()
        parts: dict[str, str] = {}
        names: dict[str, tuple[str, bool]] = {}
        for extra in self.extras:
            name, parts[extra.name], is_new = self.workbook.sheet_for(extra.name)
            self.sheet_names[extra.name] = name
            if not is_new:
                self._drop_relations(parts[extra.name])
            sheet = quoted_sheet(name)
            names[mark_of(extra.name)] = (f"{sheet}!$A$1", True)
            for defined, cells in extra.names.items():
                names[defined] = (f"{sheet}!{absolute(cells)}", False)
        self.workbook.set_names(names)
        self._patch_sheet(stale)
        for extra in self.extras:
            self.changed[parts[extra.name]] = write_extra_sheet(
                extra, self.book.namespace, self._styles, self.sheet_names,
                self.layout.reader.items.column("row").to_pylist(), self.book.from_1904,
            )  # fmt: skip
        if self._styles.changed:
            self.changed[self._styles_part] = self._styles.render()
        self.changed.update(self.workbook.parts())

    def _patch_sheet(self, stale: bool) -> None:
        layout = self.layout
        part = self.book.part_of(layout.sheet_name)
        raw = plain_markup(self.book.archive.read(part), self.book.path, part)
        if stale:
            raw = without_cached(raw)
        try:
            patch = SheetPatch(raw)
        except ValueError as error:
            raise SheetError(
                f"the workbook is damaged: {error}", where=f"{self.book.path}, {part}"
            ) from error
        mine = frozenset(layout.places)
        rows: list[int] = layout.reader.items.column("row").to_pylist()
        patch.patch_rows(self._row_cells(patch.prefix, rows), mine)
        patch.set_widths(
            {
                place: column.width
                for place, column in zip(layout.places, self.columns, strict=True)
                if column.header not in layout.existing
            }
        )
        patch.set_dimension(max([layout.header_row, *rows]), max(mine))
        patch.set_links(self._links(rows), mine, layout.header_row)
        moved = patch.widen_filter(min(mine), max(mine))
        if moved:
            self.workbook.move_filter_name(layout.sheet_name, *moved)
            self.notes.append(FILTER_NOTE)
        elif self._has_table(part):
            self.notes.append(
                "your sheet holds a table and the added columns stand beside it: sorting the "
                "table alone would leave them behind"
            )
        self.changed[part] = patch.render()

    def _row_cells(self, prefix: bytes, rows: list[int]) -> RowCells:
        layout = self.layout
        item_of = {row: index for index, row in enumerate(rows)}
        writer = CellWriter(prefix, self.book.from_1904)
        formulas = _SharedFormulas(layout, rows, self._free_shared_index())
        letters = layout.letters
        base_letters = column_letters(layout.base_column)
        styles = self._styles
        order = sorted(range(len(self.columns)), key=lambda i: layout.places[i])
        clear = bool(layout.existing)

        def cells_of(row: int, body: bytes) -> list[tuple[int, bytes]] | None:
            item = item_of.get(row)
            if item is None and row != layout.header_row:
                return [] if clear and row > layout.header_row else None
            base = style_of_cell(body, f"{base_letters}{row}".encode(), prefix)
            cells: list[tuple[int, bytes]] = []
            for index in order:
                column = self.columns[index]
                place = layout.places[index]
                address = f"{letters[index]}{row}"
                if item is None:
                    style = styles.format_like(base, "text", keep=True)
                    cells.append((place, writer.write(address, style, layout.headers[index])))
                    continue
                value = column.value(item)
                formula = formulas.of(index, item)
                words = isinstance(value, str) and formula is None
                style = styles.format_like(
                    base,
                    format_for(value, column.number_format, formula is not None),
                    wrap=column.wrap,
                    indented=column.number_format == "text",
                    quoted=words and starts_live(str(value)),
                    linked=column.links is not None and column.links[item] is not None,
                )
                cells.append((place, writer.write(address, style, value, formula)))
            return cells

        return cells_of

    def _free_shared_index(self) -> int:
        """A number for shared formulas that none of the sheet's own has."""
        data = self.book.archive.read(self.book.part_of(self.layout.sheet_name))
        mine = set(self.layout.letters) if self.layout.existing else set()
        highest = -1
        for match in _FORMULA_CELL.finditer(data):
            shared = _SHARED_INDEX.search(match[0])
            if shared and match[1].decode() not in mine:
                highest = max(highest, int(shared[1]))
        return highest + 1

    def _links(self, rows: list[int]) -> list[tuple[str, str]]:
        return [
            (cell_name(row, place), place_of(link, self.sheet_names, rows))
            for column, place in zip(self.columns, self.layout.places, strict=True)
            for row, link in zip(rows, column.links or (), strict=False)
            if isinstance(link, Link)
        ]

    def _has_table(self, part: str) -> bool:
        rels = rels_of(part)
        archive = self.book.archive
        return rels in archive and b"relationships/table" in archive.read(rels)

    def _drop_relations(self, part: str) -> None:
        if rels_of(part) in self.book.archive:
            self.dropped.add(rels_of(part))

    def _open_styles(self) -> Styles:
        book = self.book
        part = book.related_part("styles")
        if part and part in book.archive:
            self._styles_part = part
            return Styles(book.archive.read(part), book.path, part)
        self._styles_part = posixpath.join(self.workbook.folder, "styles.xml")
        self.workbook.relate("styles", self._styles_part)
        self.workbook.declare(self._styles_part, STYLES_TYPE)
        self.changed[self._styles_part] = plain_styles(book.namespace)
        return Styles(plain_styles(book.namespace), book.path, self._styles_part)

    def _forget_stale(self) -> bool:
        """Before our columns change again: see that nothing computed from them stays."""
        chain = self.book.related_part("calcChain")
        if chain and chain in self.book.archive:
            # It lists formulas of ours that may be gone; programs make it again.
            self.dropped.add(chain)
            self.workbook.forget_part(chain)
        others = [entry for entry in self.book.sheets if not entry.ours]
        if not any(self._builds_on_ours(entry.part, entry.name) for entry in others):
            return False
        for entry in others:
            if entry.name == self.layout.sheet_name:
                continue
            old = plain_markup(self.book.archive.read(entry.part), self.book.path, entry.part)
            new = without_cached(old)
            if new != old:
                self.changed[entry.part] = new
        self.workbook.recalculate_on_load()
        self.notes.append(
            "formulas of yours build on our columns: they are computed again when the sheet is "
            "opened"
        )
        return True

    def _builds_on_ours(self, part: str, sheet: str) -> bool:
        own = sheet == self.layout.sheet_name
        mine = set(self.layout.places)
        defined = [(d.name, d.reference) for d in self.book.defined_names]
        names = names_on(defined, self.layout.sheet_name, mine)
        data = self.book.archive.read(part)
        for match in _FORMULA_CELL.finditer(data):
            letters = match[1].decode()
            if own and column_number(letters) in mine:
                continue
            formula = _FORMULA.search(match[0])
            text = formula[1].decode(errors="replace") if formula else ""
            if builds_on(text, own, self.layout.sheet_name, mine, names):
                return True
        return False


class _SharedFormulas:
    """Formulas that differ in nothing but the row are written once (shared formulas).

    ECMA-376 part 1, 18.3.1.40: the first cell carries the text and the range, the others refer
    to it by number.
    """

    def __init__(self, layout: Layout, rows: Sequence[int], first_index: int) -> None:
        self._columns = layout.columns
        self._rows = rows
        self._texts = RowFormulas(layout, "xlsx")
        self._letters = layout.letters
        self._group_of: list[list[int]] = []
        self._groups: list[list[int]] = []  # first item, last item, how many
        self._first_index = first_index
        for index, column in enumerate(layout.columns):
            self._group_of.append(self._sort_into_groups(index, column.formula is not None))

    def _sort_into_groups(self, index: int, has_formulas: bool) -> list[int]:
        if not has_formulas:
            return []
        numbers: dict[tuple[str, tuple[str | None, ...]], int] = {}
        group_of: list[int] = []
        for item in range(len(self._rows)):
            template = self._columns[index].template(item)
            if template is None:
                group_of.append(-1)
                continue
            key = (template, self._texts.signature(template, item))
            number = numbers.get(key)
            if number is None:
                number = numbers[key] = len(self._groups)
                self._groups.append([item, item, 0])
            group = self._groups[number]
            group[1] = item
            group[2] += 1
            group_of.append(number)
        return group_of

    def of(self, index: int, item: int) -> CellFormula | None:
        """The formula of a cell, or None where it has none."""
        groups = self._group_of[index]
        if not groups or groups[item] < 0:
            return None
        number = groups[item]
        first, last, count = self._groups[number]
        if count > 1 and item != first:
            return CellFormula("", f't="shared" si="{self._first_index + number}"')
        template = self._columns[index].template(item)
        text = self._texts.text(template or "", item, self._rows[item])
        if count == 1:
            return CellFormula(text)
        letters = self._letters[index]
        span = f"{letters}{self._rows[first]}:{letters}{self._rows[last]}"
        return CellFormula(text, f't="shared" ref="{span}" si="{self._first_index + number}"')


_FORMULA_CELL = re.compile(
    rb"<(?:\w+:)?c\s(?:[^>]*?\s)?r=[\"']([A-Z]+)[0-9]+[\"'][^>]*>\s*<(?:\w+:)?f[\s>/].*?</(?:\w+:)?c>",
    re.S,
)
_SHARED_INDEX = re.compile(rb"\ssi=[\"'](\d+)")
_FORMULA = re.compile(rb"<(?:\w+:)?f(?:\s[^>]*)?>([^<]*)<")


def without_cached(data: bytes) -> bytes:
    """A worksheet whose formulas carry no computed values."""

    def strip(match: re.Match[bytes]) -> bytes:
        return _CACHED.sub(b"", match[0])

    return _FORMULA_CELL.sub(strip, data)


_CACHED = re.compile(rb"<(\w+:)?v(?:\s[^>]*)?(?:/>|>[^<]*</(?:\w+:)?v>)")


def rels_of(part: str) -> str:
    """The part that holds the relations of a part."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")
