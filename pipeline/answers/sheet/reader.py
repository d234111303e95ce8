"""A person's sheet, opened and understood: which row is the header, which column is what."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

import pyarrow as pa

from pipeline.answers.sheet.archive import Archive
from pipeline.answers.sheet.cells import Cell, Span, cell_name, column_letters, column_number
from pipeline.answers.sheet.delimited import DelimitedBook
from pipeline.answers.sheet.headers import (
    AMOUNT_FIELDS,
    DATE_FIELDS,
    TEXT_FIELDS,
    Columns,
    Heading,
    assign,
    check_mapping,
    plain_header,
    recognise,
)
from pipeline.answers.sheet.ods_book import OdsBook
from pipeline.answers.sheet.values import amount_of_text, date_of, text_of
from pipeline.answers.sheet.xlsx_book import XlsxBook
from pipeline.errors import SheetError

Book = XlsxBook | OdsBook | DelimitedBook

HEADER_WITHIN = 60  # filled rows from the top in which the header must stand
LEAST_STRENGTH = 2.0  # a description alone, or a category with one more known column
MOST_PROBLEMS = 200
LONGEST_HEADER = 40  # a longer text is a description, not a repeated header or a total

_TOTALS = frozenset(
    [
        "total", "totals", "grand total", "subtotal", "sub total", "sum", "summe", "gesamt",
        "gesamtsumme", "insgesamt", "zwischensumme", "total général", "sous total", "somme",
        "totale", "totaal",
    ]
)  # fmt: skip


@dataclass(frozen=True)
class Problem:
    """Something in a cell that could not be used as it is."""

    cell: str
    what: str


@dataclass
class Understood:
    """What was understood of a sheet, to be shown before anything is written."""

    path: Path
    sheet_name: str
    header_rows: tuple[int, ...]
    columns: list[Heading]
    unknown: list[Heading]
    doubts: list[str]
    ours: dict[str, int]  # headers of our own columns that are there already -> column
    n_items: int = 0
    n_skipped: int = 0
    problems: list[Problem] = field(default_factory=list)
    n_problems: int = 0
    other_sheets: list[str] = field(default_factory=list)

    def lines(self) -> list[str]:
        """The report as lines of text."""
        row = "row" if len(self.header_rows) == 1 else "rows"
        rows = " and ".join(map(str, self.header_rows))
        out = [f"{self.path.name}, sheet {self.sheet_name!r}, header in {row} {rows}"]
        for heading in self.columns:
            how = {"mapping": "as you said", "exact": "", "near": f"near, {heading.score:.0f}"}
            note = how.get(heading.method, "")
            out.append(
                f"  column {column_letters(heading.column)} {heading.text!r}: "
                f"{str(heading.field).replace('_', ' ')}" + (f" ({note})" if note else "")
            )
        for heading in self.unknown:
            maybe = heading.candidate
            near = f" (nearest: {maybe.replace('_', ' ')})" if maybe else ""
            out.append(f"  column {column_letters(heading.column)} {heading.text!r}: kept{near}")
        for header, column in self.ours.items():
            out.append(f"  column {column_letters(column)} {header!r}: ours, will be updated")
        out.extend(f"  in doubt: {doubt}" for doubt in self.doubts)
        out.append(f"  {self.n_items:,} pieces, {self.n_skipped:,} rows without one")
        out.extend(f"  {problem.cell}: {problem.what}" for problem in self.problems[:20])
        if self.n_problems > 20:
            out.append(f"  and {self.n_problems - 20:,} more cells like these")
        return out


@dataclass
class SheetReader:
    """An opened sheet.

    `items` has one row a piece: `row` (of the sheet, from 1), every text field as a string,
    every amount field as a number (`asking_price`), its text as found (`asking_price_text`) and
    every date field as a day; a field that the sheet does not have is null throughout.
    """

    path: Path
    kind: str
    sheet_name: str
    header_row: int
    columns: dict[str, int]
    items: pa.Table
    understood: Understood
    last_column: int
    first_free_column: int
    ours: dict[str, int]
    numeric_cells: dict[str, list[bool]]  # amount field -> whether a formula can refer to it
    named_values: dict[str, float | str | None]


def open_sheet(
    path: str | Path,
    mapping: Mapping[str, str] | None = None,
    sheet_name: str | None = None,
    our_headers: Sequence[str] = (),
) -> SheetReader:
    """Open a sheet (.xlsx, .xlsm, .ods, .csv, .tsv) and understand it.

    Args:
        path: the file; it is only read.
        mapping: field -> header text or column letters, where the wording is not enough.
        sheet_name: which sheet; otherwise the one that looks most like a list of pieces.
        our_headers: headers of the columns that we add, to know them again.

    Raises:
        SheetError: the file cannot be read, is protected, damaged or of another kind, no row
            looks like a header, or nothing under it describes a piece.
    """
    path = Path(path)
    check_mapping(mapping or {})
    if path.suffix.lower() in (".csv", ".tsv", ".tab", ".txt"):
        return _understand(DelimitedBook(path), mapping or {}, None, our_headers)
    if path.suffix.lower() not in (".xlsx", ".xlsm", ".ods", ".xls"):
        raise SheetError(
            f"a sheet cannot be read from a {path.suffix or 'file without an ending'}",
            where=path,
            todo="save it as .xlsx, .ods, .csv or .tsv",
        )
    with Archive(path) as archive:
        return _understand(open_book(archive), mapping or {}, sheet_name, our_headers)


def open_book(archive: Archive) -> XlsxBook | OdsBook:
    """The workbook in an archive, told by what lies in it and not by the name of the file."""
    return OdsBook(archive) if "mimetype" in archive else XlsxBook(archive)


@dataclass
class _Header:
    rows: tuple[int, ...]
    columns: Columns
    headings: list[Heading]


def _understand(
    book: Book, mapping: Mapping[str, str], sheet_name: str | None, our_headers: Sequence[str]
) -> SheetReader:
    names = [entry.name for entry in book.sheets]
    if sheet_name is not None:
        if sheet_name not in names:
            raise SheetError(
                f"there is no sheet {sheet_name!r}",
                where=book.path,
                todo=f"the sheets are {', '.join(map(repr, names))}",
            )
        candidates = [sheet_name]
    else:
        candidates = [e.name for e in book.sheets if not (e.hidden or e.ours)]
        candidates = candidates or [e.name for e in book.sheets if not e.ours]
    best: tuple[float, str, _Header] | None = None
    for name in candidates:
        header = _find_header(book, name, mapping, our_headers)
        if header and (best is None or header.columns.strength > best[0]):
            best = (header.columns.strength, name, header)
    if best is None:
        wanted = ", ".join(map(repr, candidates))
        raise SheetError(
            "no row looks like a header with a description of the pieces",
            where=f"{book.path}, sheet {wanted}" if wanted else book.path,
            todo="give the columns headers such as description, condition, asking price, or say "
            "which is which in data/decisions/sheet.toml",
        )
    return _read_items(book, best[1], best[2], our_headers)


def _find_header(
    book: Book, sheet: str, mapping: Mapping[str, str], our_headers: Sequence[str]
) -> _Header | None:
    top: list[tuple[int, dict[int, str]]] = []
    for number, cells in book.rows(sheet):
        texts = {c.column: str(c.value) for c in cells if c.kind == "text" and str(c.value).strip()}
        top.append((number, texts))
        if len(top) >= HEADER_WITHIN:
            break
    merges = book.merges(sheet)
    best: _Header | None = None
    for index, (number, texts) in enumerate(top):
        above = top[index - 1] if index and top[index - 1][0] == number - 1 else None
        for parent in (None, above):
            if parent is None and above is not None and _under(above, number, merges):
                continue  # part of this header stands merged in the row above
            if parent is None and not texts:
                continue
            header = _read_header(number, texts, parent, merges, mapping, our_headers)
            enough = header.columns.describes and header.columns.strength >= LEAST_STRENGTH
            mapped = bool(mapping) and "mapping" in {h.method for h in header.headings}
            if (enough or (mapped and header.columns.describes)) and (
                best is None or header.columns.strength > best.columns.strength + 1e-9
            ):
                best = header
    return best


def _under(above: tuple[int, dict[int, str]], number: int, merges: Sequence[Span]) -> bool:
    return any(m.first_row == above[0] and m.last_row == number for m in merges)


def _read_header(
    number: int,
    texts: Mapping[int, str],
    parent: tuple[int, dict[int, str]] | None,
    merges: Sequence[Span],
    mapping: Mapping[str, str],
    our_headers: Sequence[str],
) -> _Header:
    parents: dict[int, str] = {}
    if parent is not None:
        parents = dict(parent[1])
        for merge in merges:
            if merge.first_row == parent[0] and merge.first_column in parents:
                for column in range(merge.first_column, min(merge.last_column, 200) + 1):
                    parents[column] = parents[merge.first_column]
    ours = set(our_columns(texts, our_headers).values())
    headings: list[Heading] = []
    for column in sorted({*texts, *parents}):
        own, over = texts.get(column, ""), parents.get(column, "")
        said = _mapped_field(mapping, column, own or over, f"{over} {own}".strip())
        if said:
            headings.append(Heading(column, own or over, said, 100.0, "mapping"))
        elif column in ours:
            headings.append(Heading(column, own or over, None, 0.0, "none"))
        elif own and over:
            alone, both = recognise(column, own), recognise(column, f"{over} {own}")
            chosen = both if both.method == "exact" or not alone.field else alone
            headings.append(chosen if chosen.field else alone)
        else:
            headings.append(recognise(column, own or over))
    used = any(column not in texts for column in parents) or any(
        h.text != texts.get(h.column) for h in headings
    )
    rows = (parent[0], number) if parent is not None and used else (number,)
    mapped = {h.field for h in headings if h.method == "mapping"}
    kept = [
        Heading(h.column, h.text, None, 0.0, "none")
        if h.method != "mapping" and h.field in mapped
        else h
        for h in headings
    ]
    return _Header(rows, assign(kept), kept)


def _mapped_field(mapping: Mapping[str, str], column: int, *texts: str) -> str | None:
    for wanted, header in mapping.items():
        if any(plain_header(text) == plain_header(header) for text in texts if text):
            return wanted
        is_letters = header.isalpha() and header.isupper() and len(header) <= 3
        if is_letters and column_number(header) == column:
            return wanted
    return None


def same_header(text: str) -> str:
    """A header of ours without case and spacing."""
    return " ".join(text.casefold().split())


def our_columns(headings: Mapping[int, str], our_headers: Sequence[str]) -> dict[str, int]:
    """Columns whose headers are ours (header -> column).

    One header of a common wording may be the person's own; ours stand in a run. A run counts
    from three neighbours, or from as many as we add in all where that is fewer.
    """
    wanted = {same_header(header): header for header in our_headers}
    wanted |= {same_header(f"{header} (comparables)"): header for header in our_headers}
    needed = min(3, len(our_headers))
    found: dict[str, int] = {}
    run: list[tuple[str, int]] = []
    last = None
    for column in [*sorted(headings), None]:
        header = wanted.get(same_header(headings[column])) if column is not None else None
        if column is None or header is None or last is None or column != last + 1:
            if len(run) >= needed > 0:
                for name, place in run:
                    found.setdefault(name, place)
            run = []
        if column is not None and header is not None:
            run.append((header, column))
        last = column
    return found


def _read_items(book: Book, sheet: str, header: _Header, our_headers: Sequence[str]) -> SheetReader:
    header_row = header.rows[-1]
    columns = {name: heading.column for name, heading in header.columns.fields.items()}
    ours = our_columns({h.column: h.text for h in header.headings}, our_headers)
    understood = Understood(
        book.path, sheet, header.rows, sorted(header.columns.fields.values(), key=_place),
        [h for h in header.columns.unknown if h.column not in ours.values()],
        list(header.columns.doubts), ours,
        other_sheets=[e.name for e in book.sheets if e.name != sheet],
    )  # fmt: skip
    collector = _Collector(columns, understood, book.epoch)
    # What stands above the header (a title, a date) is in nobody's way.
    top = header.rows[0]
    last_column = max((m.last_column for m in book.merges(sheet) if m.last_row >= top), default=0)
    first_row_headers = {plain_header(h.text) for h in header.headings}
    for number, cells in book.rows(sheet, frozenset(columns.values())):
        if number >= top:
            last_column = max(last_column, cells[-1].column)
        if number > header_row:
            collector.add(number, cells, first_row_headers)
    if not collector.rows:
        raise SheetError(
            "there is nothing to fill: no row under the header describes a piece",
            where=f"{book.path}, sheet {sheet!r}, below row {header_row}",
        )
    for picture in book.pictures(sheet):
        if picture.first_row <= collector.rows[-1] and picture.last_row >= header_row:
            last_column = max(last_column, picture.last_column)
    understood.n_items = len(collector.rows)
    taken = set(ours.values())
    hers = max((h.column for h in header.headings if h.column not in taken), default=0)
    return SheetReader(
        book.path, book.kind, sheet, header_row, columns, collector.table(), understood,
        last_column, max(last_column, hers) + 1, ours, collector.numeric, book.names_of_ours(),
    )  # fmt: skip


def _place(heading: Heading) -> int:
    return heading.column


class _Collector:
    """Gathers the recognised cells of one row after the other."""

    def __init__(self, columns: Mapping[str, int], understood: Understood, epoch: dt.date) -> None:
        self.rows: list[int] = []
        self.numeric: dict[str, list[bool]] = {name: [] for name in AMOUNT_FIELDS}
        self._fields_of = {column: name for name, column in columns.items()}
        self._values: dict[str, list[object]] = {
            name: []
            for name in chain(
                TEXT_FIELDS, AMOUNT_FIELDS, (f"{n}_text" for n in AMOUNT_FIELDS), DATE_FIELDS
            )
        }
        self._text_fields = [name for name in TEXT_FIELDS if name in columns]
        self._amount_fields = [name for name in AMOUNT_FIELDS if name in columns]
        self._date_fields = [name for name in DATE_FIELDS if name in columns]
        self._understood = understood
        self._epoch = epoch

    def add(self, number: int, cells: Sequence[Cell], headers: set[str]) -> None:
        """Take a row if it describes a piece."""
        fields_of = self._fields_of
        named = {fields_of[cell[0]]: cell for cell in cells if cell[0] in fields_of}
        texts = {name: text_of(named[name]) for name in self._text_fields if name in named}
        said = texts.get("description") or texts.get("category") or ""
        if not said or self._is_no_piece(said, texts, headers):
            self._understood.n_skipped += 1
            if not said:
                self._note_lost(number, named)
            return
        self.rows.append(number)
        for name in self._text_fields:
            cell = named.get(name)
            if cell is not None and cell.kind in ("error", "uncalculated"):
                self._problem(number, cell)
            self._values[name].append(texts.get(name) or None)
        for name in self._amount_fields:
            self._add_amount(name, number, named.get(name))
        for name in self._date_fields:
            cell = named.get(name)
            day = date_of(cell, self._epoch) if cell is not None else None
            if cell is not None and day is None:
                self._problem(number, cell, "is no date that can be read with certainty")
            self._values[name].append(day)

    def table(self) -> pa.Table:
        """What was gathered, in the documented columns."""
        arrays = {"row": pa.array(self.rows, pa.int32())}
        for name, values in self._values.items():
            kind = pa.string()
            if name in AMOUNT_FIELDS:
                kind = pa.float64()
            elif name in DATE_FIELDS:
                kind = pa.date32()
            given = pa.array(values, kind) if values else pa.nulls(len(self.rows), kind)
            arrays[name] = given
        return pa.table(arrays)

    def _add_amount(self, name: str, number: int, cell: Cell | None) -> None:
        amount: float | None = None
        text: str | None = None
        numeric = cell is None  # a formula may refer to an empty cell as to a number
        if cell is not None:
            text = text_of(cell) or None
            if cell.kind == "number" and isinstance(cell.value, float):
                amount, numeric = cell.value, True
            elif cell.kind == "text":
                amount = amount_of_text(str(cell.value))
                if amount is None:
                    self._problem(number, cell, f"{text!r} is no plain amount, and counts as none")
            else:
                self._problem(number, cell)
            if amount is not None and amount < 0:
                self._problem(number, cell, "is negative and not used")
                amount, numeric = None, False
        self._values[name].append(amount)
        self._values[f"{name}_text"].append(text)
        self.numeric[name].append(numeric)

    @staticmethod
    def _is_no_piece(said: str, texts: Mapping[str, str], headers: set[str]) -> bool:
        if len(said) > LONGEST_HEADER:
            return False
        plain = plain_header(said)
        if plain in _TOTALS:
            return True
        return plain in headers and all(plain_header(t) in headers for t in texts.values() if t)

    def _note_lost(self, number: int, named: Mapping[str, Cell]) -> None:
        for name in ("asking_price", "condition", "material"):
            if name in named:
                self._problem(number, named[name], "stands in a row that describes no piece")
                return

    def _problem(self, number: int, cell: Cell, what: str | None = None) -> None:
        if what is None:
            what = {
                "error": f"holds the error {cell.value}",
                "uncalculated": "holds a formula that no program has calculated yet: open the "
                "sheet, save it and try again",
                "date": "holds a date where an amount is expected",
                "truth": "holds yes or no where an amount is expected",
            }.get(cell.kind, "cannot be used")
        self._understood.n_problems += 1
        if len(self._understood.problems) < MOST_PROBLEMS:
            self._understood.problems.append(Problem(cell_name(number, cell.column), what))
