"""An .ods workbook filled in place: content.xml patched as text, every other part untouched."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence

from lxml import etree

from pipeline.answers.sheet.cells import (
    ExtraSheet,
    Link,
    cell_name,
    format_for,
    parse_span,
    xml_text,
)
from pipeline.answers.sheet.layout import FILTER_NOTE, Layout, RowFormulas, free_name
from pipeline.answers.sheet.markup import (
    attribute,
    content_text,
    start_tag,
    with_attribute,
    without_attribute,
)
from pipeline.answers.sheet.ods_book import OFFICE, STYLE, TABLE, OdsBook, plain_reference, row_end
from pipeline.answers.sheet.ods_cells import (
    OdsCellWriter,
    OdsStyles,
    ods_place,
    ods_reference,
    pick_validations,
    write_ods_table,
)
from pipeline.answers.sheet.stale import builds_on, names_on
from pipeline.answers.sheet.xlsx_book import split_reference
from pipeline.answers.sheet.xlsx_workbook import mark_of
from pipeline.errors import SheetError

RepeatedCell = tuple[int, int, bytes, bytes]
"""A cell as it is written: its first column, how often it is repeated, start tag, markup."""


class OdsFill:
    """Works out the changed content of a workbook."""

    def __init__(self, book: OdsBook, layout: Layout, extras: Sequence[ExtraSheet]) -> None:
        self.book = book
        self.layout = layout
        self.columns = layout.columns
        self.extras = extras
        self.changed: dict[str, bytes] = {}
        self.dropped: set[str] = set()
        self.notes: list[str] = []
        self.sheet_names: dict[str | None, str] = {None: layout.sheet_name}
        self._t = book.prefixes[TABLE]
        self._o = book.prefixes[OFFICE]
        self._writer = OdsCellWriter(book.prefixes)
        self._styles = OdsStyles(*self._automatic_styles())
        self._rows: list[int] = layout.reader.items.column("row").to_pylist()

    def run(self) -> None:
        """Make every change."""
        self._name_extras()
        rerun = bool(self.layout.existing) or any(entry.ours for entry in self.book.sheets)
        stale = rerun and self._builds_on_ours()
        content = self.book.content
        existing = {table.name: table for table in self.book.tables}
        pieces: list[bytes] = []
        position = 0
        written: set[str] = set()
        ours = {self.sheet_names[extra.name]: extra for extra in self.extras}
        for table in self.book.tables:
            pieces.append(content[position : table.start])
            raw = content[table.start : table.end]
            if table.name in ours and table.name in existing:
                raw = self._extra(ours[table.name])
                written.add(table.name)
            else:
                if stale:
                    raw = self._without_cached(raw)
                if table.name == self.layout.sheet_name:
                    raw = self._patch(raw)
            pieces.append(raw)
            position = table.end
        pieces.extend(self._extra(extra) for name, extra in ours.items() if name not in written)
        tail = self._with_wider_filter(self._with_names(content[position:]))
        head = self._with_validations(pieces[0])
        self.changed["content.xml"] = b"".join([self._with_styles(head), *pieces[1:], tail])
        if stale:
            self.notes.append(
                "formulas of yours build on our columns: they are computed again when the sheet "
                "is opened"
            )

    # -- the person's sheet --

    def _patch(self, table: bytes) -> bytes:
        row_pattern = start_tag(self._t + b"table-row")
        first_row = row_pattern.search(table)
        if first_row is None:
            raise SheetError("the table has no rows", where=self.book.path)
        # Rows may stand in a group or among the header rows: columns end before all of these.
        at = re.search(
            rb"<" + self._t + rb"(?:table-rows|table-header-rows|table-row-group|table-row)[\s>/]",
            table,
        )
        cut = at.start() if at else first_row.start()
        head = self._with_widths(table[:cut])
        return head + self._patch_rows(table[cut:])

    def _patch_rows(self, rows: bytes) -> bytes:
        t = self._t
        pattern = start_tag(t + b"table-row")
        end_mark = b"</%stable-row>" % t
        repeat = t + b"number-rows-repeated"
        wanted = {row: index for index, row in enumerate(self._rows)}
        header_row = self.layout.header_row
        clear = bool(self.layout.existing)
        targets = sorted([header_row, *self._rows])
        formulas = RowFormulas(self.layout, "ods")
        out: list[bytes] = []
        position = 0
        number = 1
        at = 0
        while (match := pattern.search(rows, at)) is not None:
            repeated = int(attribute(match[0], repeat) or 1)
            if match[2]:
                body, end = b"", match.end()
            else:
                closing = row_end(rows, match.end(), pattern, end_mark)
                body, end = rows[match.end() : closing], closing + len(end_mark)
            place = bisect_left(targets, number)
            touched = place < len(targets) and targets[place] < number + repeated
            cells = self._cells_of(body) if touched or (clear and header_row < number) else []
            if touched or self._holds_ours(cells):
                out.append(rows[position : match.start()])
                tag = without_attribute(match[0], repeat)
                if match[2]:
                    tag = tag[:-2].rstrip() + b">"
                for row in range(number, number + repeated):
                    mine = self._mine(row, wanted, header_row, cells, formulas)
                    out.append(tag + self._merged(cells, mine) + end_mark)
                position = end
            number += repeated
            at = end
        out.append(rows[position:])
        return b"".join(out)

    def _holds_ours(self, cells: Sequence[RepeatedCell]) -> bool:
        """Whether something stands in our columns."""
        return any(
            first <= place < first + count and self._o + b"value-type" in tag
            for first, count, tag, _ in cells
            for place in self.layout.places
        )

    def _mine(
        self,
        row: int,
        wanted: Mapping[int, int],
        header_row: int,
        cells: Sequence[RepeatedCell],
        formulas: RowFormulas,
    ) -> dict[int, bytes]:
        """Our cells of a row by column; an empty one clears what stood there."""
        base = ""
        for first, count, tag, _ in cells:
            if first <= self.layout.base_column < first + count:
                base = (attribute(tag, self._t + b"style-name") or b"").decode()
        mine: dict[int, bytes] = {}
        item = wanted.get(row)
        if row == header_row:
            for place, header in zip(self.layout.places, self.layout.headers, strict=True):
                mine[place] = self._writer.write(base, header).encode()
        elif item is not None:
            for column, place in zip(self.columns, self.layout.places, strict=True):
                value = column.value(item)
                template = column.template(item)
                formula = formulas.text(template, item, row) if template is not None else None
                number_format = format_for(value, column.number_format, formula is not None)
                link = self._place(column.links[item]) if column.links else None
                style = self._styles.cell(
                    base,
                    number_format,
                    wrap=column.wrap,
                    indented=column.number_format == "text",
                    linked=link is not None,
                )
                mine[place] = self._writer.write(
                    style, value, number_format, formula, link
                ).encode()
        elif self.layout.existing:
            mine = dict.fromkeys(self.layout.places, b"")
        return mine

    def _place(self, link: Link | None) -> str | None:
        if link is None:
            return None
        cell = link.cell
        if link.sheet is None and link.item is not None:
            cell = f"A{self._rows[link.item]}"
        return ods_place(self.sheet_names[link.sheet], cell)

    def _cells_of(self, body: bytes) -> list[RepeatedCell]:
        """Cells of a row: first column, how often repeated, start tag, whole markup."""
        t = self._t
        pattern = re.compile(
            rb"<(" + t + rb"(?:covered-)?table-cell)(?=[\s/>])"
            rb"(?:[^<>\"']|\"[^\"]*\"|'[^']*')*?(/?)>"
        )
        cells: list[RepeatedCell] = []
        column, at = 1, 0
        while (match := pattern.search(body, at)) is not None:
            end = match.end()
            if not match[2]:
                closing = b"</%s>" % match[1]
                end = body.index(closing, end) + len(closing)
            count = int(attribute(match[0], t + b"number-columns-repeated") or 1)
            cells.append((column, count, match[0], body[match.start() : end]))
            column += count
            at = end
        return cells

    def _merged(self, cells: Sequence[RepeatedCell], mine: dict[int, bytes]) -> bytes:
        if not mine:
            return b"".join(markup for _, _, _, markup in cells)
        out: list[bytes] = []
        column = 1
        for first, count, tag, markup in cells:
            inside = sorted(place for place in mine if first <= place < first + count)
            if not inside:
                out.append(markup)
            else:
                at = first
                for place in inside:
                    out.append(self._repeat(tag, markup, place - at))
                    out.append(mine[place] or self._writer.blanks(1).encode())
                    at = place + 1
                out.append(self._repeat(tag, markup, first + count - at))
            column = first + count
        for place in sorted(place for place in mine if place >= column):
            out.append(self._writer.blanks(place - column).encode())
            out.append(mine[place] or self._writer.blanks(1).encode())
            column = place + 1
        return b"".join(out)

    def _repeat(self, tag: bytes, markup: bytes, count: int) -> bytes:
        if count <= 0:
            return b""
        name = self._t + b"number-columns-repeated"
        new = without_attribute(tag, name)
        if count > 1:
            new = with_attribute(new, name, b"%d" % count)
        return new + markup[len(tag) :]

    def _with_widths(self, head: bytes) -> bytes:
        t = self._t
        pattern = start_tag(t + b"table-column")
        widths = {
            place: column.width
            for place, column in zip(self.layout.places, self.columns, strict=True)
            if column.header not in self.layout.existing
        }
        if not widths:
            return head
        closing = b"</%stable-column>" % t
        out: list[bytes] = []
        position, column = 0, 1
        for match in pattern.finditer(head):
            count = int(attribute(match[0], t + b"number-columns-repeated") or 1)
            end = match.end()
            if not match[2]:
                end = head.index(closing, end) + len(closing)
            out.append(head[position : match.start()])
            tag = match[0] if match[2] else match[0][:-1] + b"/>"
            inside = sorted(place for place in widths if column <= place < column + count)
            at = column
            for place in inside:
                out.append(self._repeat_column(tag, place - at))
                out.append(self._wide(tag, widths[place]))
                at = place + 1
            out.append(self._repeat_column(tag, column + count - at) if inside else match[0])
            if not inside and not match[2]:
                out.append(head[match.end() : end])
            position, column = end, column + count
        out.append(head[position:])
        beyond = sorted(place for place in widths if place >= column)
        for place in beyond:
            if place > column:
                out.append(self._repeat_column(b"<%stable-column/>" % t, place - column))
            out.append(self._wide(b"<%stable-column/>" % t, widths[place]))
            column = place + 1
        return b"".join(out)

    def _repeat_column(self, tag: bytes, count: int) -> bytes:
        if count <= 0:
            return b""
        name = self._t + b"number-columns-repeated"
        new = without_attribute(tag, name)
        return with_attribute(new, name, b"%d" % count) if count > 1 else new

    def _wide(self, tag: bytes, width: float) -> bytes:
        t = self._t
        tag = without_attribute(tag, t + b"number-columns-repeated")
        tag = without_attribute(tag, t + b"visibility")
        return with_attribute(tag, t + b"style-name", self._styles.column(width).encode())

    # -- sheets of ours, names, styles --

    def _name_extras(self) -> None:
        taken = {table.name.casefold() for table in self.book.tables}
        names = {table.name for table in self.book.tables}
        for extra in self.extras:
            reference = self.book.named.get(mark_of(extra.name), "")
            there = reference.rpartition("!")[0].strip("'").replace("''", "'")
            if there in names:
                self.sheet_names[extra.name] = there
                continue
            name = free_name(extra.name, taken)
            taken.add(name.casefold())
            self.sheet_names[extra.name] = name
        ours = {entry.name for entry in self.book.sheets if entry.ours}
        for extra in self.extras:
            for name in extra.names:
                used = self.book.named.get(name)
                sheet = (used or "").rpartition("!")[0].strip("'").replace("''", "'")
                if used is not None and sheet not in ours:
                    raise SheetError(
                        f"the workbook uses the name {name} for something of its own ({used})",
                        where=self.book.path,
                        todo="give that name another wording in your spreadsheet program",
                    )

    def _extra(self, extra: ExtraSheet) -> bytes:
        return write_ods_table(
            extra, self.sheet_names[extra.name], self._writer, self._styles, self.sheet_names,
            self._rows,
        )  # fmt: skip

    def _with_names(self, tail: bytes) -> bytes:
        t = self._t
        wanted: dict[str, str] = {}
        for extra in self.extras:
            sheet = self.sheet_names[extra.name]
            wanted[mark_of(extra.name)] = ods_reference(sheet, "A1")
            for name, cells in extra.names.items():
                wanted[name] = ods_reference(sheet, cells)
        if not wanted:
            return tail
        for match in reversed(list(start_tag(t + b"named-range").finditer(tail))):
            if (attribute(match[0], t + b"name") or b"").decode() in wanted and match[2]:
                tail = tail[: match.start()] + tail[match.end() :]
        added = b"".join(
            b'<%snamed-range %sname="%s" %sbase-cell-address="%s" %scell-range-address="%s"/>'
            % (
                t,
                t,
                xml_text(name).encode(),
                t,
                xml_text(reference.split(":")[0]).encode(),
                t,
                xml_text(reference).encode(),
            )
            for name, reference in wanted.items()
        )
        section = start_tag(t + b"named-expressions").search(tail)
        if section and section[2]:
            whole = b"<%snamed-expressions>" % t + added + b"</%snamed-expressions>" % t
            return tail[: section.start()] + whole + tail[section.end() :]
        if section:
            end = tail.index(b"</%snamed-expressions>" % t)
            return tail[:end] + added + tail[end:]
        return b"<%snamed-expressions>" % t + added + b"</%snamed-expressions>" % t + tail

    def _with_wider_filter(self, tail: bytes) -> bytes:
        """Let a filter that ends where our columns begin take them in."""
        t = self._t
        before = min(self.layout.places) - 1
        for match in start_tag(t + b"database-range").finditer(tail):
            raw = attribute(match[0], t + b"target-range-address") or b""
            place = split_reference(plain_reference(content_text(raw)))
            has_buttons = attribute(match[0], t + b"display-filter-buttons") == b"true"
            if not (has_buttons and place and place[0] == self.layout.sheet_name):
                continue
            span = parse_span(place[1])
            if span.last_column != before:
                continue
            first = cell_name(span.first_row, span.first_column)
            last = cell_name(span.last_row, max(self.layout.places))
            sheet = "'" + place[0].replace("'", "''") + "'"
            wide = xml_text(f"{sheet}.{first}:{sheet}.{last}").encode()
            tag = with_attribute(match[0], t + b"target-range-address", wide)
            self.notes.append(FILTER_NOTE)
            return tail[: match.start()] + tag + tail[match.end() :]
        return tail

    def _with_validations(self, head: bytes) -> bytes:
        t = self._t.decode()
        added: list[str] = []
        for extra in self.extras:
            names = list(dict.fromkeys(pick_validations(extra).values()))
            for name, (cells, values) in zip(names, extra.pick_lists.items(), strict=True):
                listed = ";".join('"' + value.replace('"', '""') + '"' for value in values)
                condition = f"of:cell-content-is-in-list({listed})"
                base = ods_reference(self.sheet_names[extra.name], cells.split(":")[0])
                if f'"{name}"'.encode() in head:
                    continue
                added.append(
                    f'<{t}content-validation {t}name="{name}" {t}condition='
                    f'"{xml_text(condition)}" {t}allow-empty-cell="true" '
                    f'{t}base-cell-address="{xml_text(base)}"/>'
                )
        if not added:
            return head
        markup = "".join(added).encode()
        match = start_tag(self._t + b"content-validations").search(head)
        if match and not match[2]:
            return head[: match.end()] + markup + head[match.end() :]
        section = b"<%scontent-validations>" % self._t
        whole = section + markup + section.replace(b"<", b"</")
        if match:
            return head[: match.start()] + whole + head[match.end() :]
        # Before the tables only calculation settings and the like may stand before validations.
        for before in (b"calculation-settings", b"tracked-changes"):
            end = head.rfind(b"</" + self._t + before + b">")
            at = end + len(before) + len(self._t) + 3 if end >= 0 else -1
            single = list(start_tag(self._t + before).finditer(head))
            if at < 0 and single and single[-1][2]:
                at = single[-1].end()
            if at >= 0:
                return head[:at] + whole + head[at:]
        spreadsheet = start_tag(self._o + b"spreadsheet").search(head)
        at = spreadsheet.end() if spreadsheet else len(head)
        return head[:at] + whole + head[at:]

    def _automatic_styles(self) -> tuple[dict[str, etree._Element], set[str]]:
        content = self.book.content
        name = self._o + b"automatic-styles"
        match = start_tag(name).search(content)
        found: dict[str, etree._Element] = {}
        taken: set[str] = set()
        if match and not match[2]:
            end = content.index(b"</%s>" % name, match.end())
            root = self.book.root[0] + content[match.start() : end] + b"</%s>" % name
            document = etree.fromstring(root + b"</%s>" % self.book.root_name)
            for element in document[0]:
                identity = element.get(f"{{{STYLE}}}name")
                if identity:
                    taken.add(identity)
                    if element.get(f"{{{STYLE}}}family") == "table-cell":
                        found[identity] = element
        return found, taken

    def _with_styles(self, head: bytes) -> bytes:
        if not self._styles.added:
            return head
        markup = "".join(self._styles.added).encode()
        name = self._o + b"automatic-styles"
        match = start_tag(name).search(head)
        if match and match[2]:
            whole = b"<%s>" % name + markup + b"</%s>" % name
            return head[: match.start()] + whole + head[match.end() :]
        if match:
            end = head.index(b"</%s>" % name, match.end())
            return head[:end] + markup + head[end:]
        body = head.index(b"<%sbody" % self._o)
        return head[:body] + b"<%s>" % name + markup + b"</%s>" % name + head[body:]

    # -- computed values that are out of date --

    def _builds_on_ours(self) -> bool:
        ours = {entry.name for entry in self.book.sheets if entry.ours}
        mine = set(self.layout.places)
        sheet = self.layout.sheet_name
        names = names_on(self.book.named.items(), sheet, mine)
        for table in self.book.tables:
            if table.name in ours:
                continue
            own = table.name == sheet
            for _, cells in self.book.rows(table.name):
                for cell in cells:
                    if cell.formula is None or (own and cell.column in mine):
                        continue
                    if builds_on(cell.formula, own, sheet, mine, names):
                        return True
        return False

    def _without_cached(self, table: bytes) -> bytes:
        o, t = self._o, self._t
        pattern = re.compile(
            rb"(<" + t + rb"table-cell(?=\s)(?:[^<>\"']|\"[^\"]*\"|'[^']*')*?\s" + t
            + rb"formula=(?:[^<>\"']|\"[^\"]*\"|'[^']*')*?)(/?)>", re.S,
        )  # fmt: skip
        closing = b"</%stable-cell>" % t
        paragraph = re.compile(
            rb"<" + re.escape(self.book.prefixes["urn:oasis:names:tc:opendocument:xmlns:text:1.0"])
            + rb"p(?:\s[^>]*)?(?:/>|>.*?</[\w]*:?p>)", re.S,
        )  # fmt: skip
        out: list[bytes] = []
        position = 0
        for match in pattern.finditer(table):
            tag = match[0]
            for name in (b"value-type", b"value", b"string-value", b"date-value", b"boolean-value"):
                tag = without_attribute(tag, o + name)
            out.append(table[position : match.start()])
            out.append(tag)
            position = match.end()
            if not match[2]:
                end = table.index(closing, match.end())
                out.append(paragraph.sub(b"", table[match.end() : end]))
                position = end
        out.append(table[position:])
        return b"".join(out)
