"""Quotation marks that swallow lines, and header rows that stand below a preamble."""

from __future__ import annotations

import csv
import io
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from pipeline.errors import ExportError

PREAMBLE_LINES = 100
DELIMITERS = (",", ";", "\t", "|")
LONGEST_CELL = 1 << 26

csv.field_size_limit(LONGEST_CELL)


def split_line(line: str, delimiter: str) -> list[str]:
    """The cells of one physical line; an open quotation mark takes the rest of the line."""
    return next(csv.reader([line], delimiter=delimiter), [])


def opens_quote(line: str, delimiter: str, is_open: bool = False) -> bool:
    """Whether a quoted cell is still open at the end of the line.

    A quotation mark counts where a cell begins with it (RFC 4180); `24" x 36"` opens nothing.
    """
    if '"' not in line:
        return is_open
    at = 0
    if is_open or line.startswith('"'):
        at = _closing(line, 0 if is_open else 1)
    while at >= 0:
        start = line.find(delimiter + '"', at)
        if start < 0:
            return False
        at = _closing(line, start + len(delimiter) + 1)
    return True


def _closing(line: str, at: int) -> int:
    """Index after the mark that closes a cell which began before `at`; -1 if none does."""
    while True:
        at = line.find('"', at)
        if at < 0:
            return -1
        if line[at : at + 2] == '""':
            at += 2
            continue
        return at + 1


@dataclass(frozen=True)
class RecordShape:
    """What a whole row of an export looks like, to know one that a quotation mark swallowed.

    Args:
        delimiter: one character.
        n_cells: cells of the header.
        with_digits: places of the cells that hold a price or a date, and so a digit.
    """

    delimiter: str
    n_cells: int
    with_digits: tuple[int, ...] = ()

    def fits(self, line: str) -> bool:
        """Whether the line, its marks taken as they stand, has the cells of a row."""
        if self.n_cells < 2 or line.count(self.delimiter) < self.n_cells - 1:
            return False
        cells = split_line(line, self.delimiter)
        if opens_quote(line, self.delimiter):
            cells = cells[:-1] + cells[-1].split(self.delimiter)
        return len(cells) == self.n_cells and all(
            any(c.isdigit() for c in cells[k]) for k in self.with_digits
        )

    def may_swallow(self, cell: str, place: int) -> bool:
        """Whether a cell of several lines could hold the end of one row and the start of another.

        Cheap and generous: a yes only leads to a closer look.
        """
        lines = cell.split("\n")
        if place + lines[0].count(self.delimiter) + 1 < self.n_cells:
            return False
        inner = any(line.count(self.delimiter) >= self.n_cells - 1 for line in lines[1:-1])
        return inner or lines[-1].count(self.delimiter) >= place


def stray_quote_lines(lines: Iterable[tuple[int, str]], shape: RecordShape) -> Iterator[int]:
    """Numbers of the lines on which a stray quotation mark opens.

    A cell may hold line breaks. But when the line that opens it has all the cells of a row if the
    mark is taken as a letter, and a line after it has them too, the mark is a slip: its line is
    named, and reading goes on from the next line.

    Args:
        lines: line number and text, in order, from the first after the header.
        shape: what a row looks like.
    """
    queue: deque[tuple[int, str]] = deque()
    held: list[tuple[int, str]] = []
    opener_fits = False
    source = iter(lines)
    while True:
        item = queue.popleft() if queue else next(source, None)
        if item is None:
            if held and opener_fits and len(held) > 1 and any(shape.fits(t) for _, t in held[1:]):
                yield held[0][0]
                queue.extend(held[1:])
                held = []
                continue
            return
        if not held:
            if opens_quote(item[1], shape.delimiter):
                held, opener_fits = [item], shape.fits(item[1])
            continue
        held.append(item)
        if opener_fits and shape.fits(item[1]):
            yield held[0][0]
            queue.extendleft(reversed(held[1:]))
            held = []
        elif not opens_quote(item[1], shape.delimiter, is_open=True):
            held = []


class Header:
    """Where a header stands and what it says."""

    def __init__(self, names: list[str], delimiter: str, first_line: int, n_lines: int) -> None:
        self.names = names
        self.delimiter = delimiter
        self.first_line = first_line
        self.n_lines = n_lines

    @property
    def n_lines_before_data(self) -> int:
        return self.first_line - 1 + self.n_lines


def find_header(
    start: str, wanted: Iterable[str], delimiter: str, header_line: int | None, where: str
) -> Header:
    """Find the line that holds every wanted header, below any preamble.

    Args:
        start: the first lines of the export.
        wanted: headers that source.toml maps.
        delimiter: one character, or `auto` to try all.
        header_line: the line where the header begins, if stated.

    Raises:
        ExportError: the file is empty, or no line holds the headers; names the nearest header.
    """
    lines = start.split("\n")[:PREAMBLE_LINES]
    if not any(line.strip() for line in lines):
        raise ExportError("The file is empty.", where=where, todo="Export it again.")
    wanted_set = set(wanted)
    best: tuple[int, list[str], int] = (0, [], 1)
    tries = DELIMITERS if delimiter == "auto" else (delimiter,)
    for mark in tries:
        places = range(len(lines)) if header_line is None else [header_line - 1]
        for k in places:
            if k >= len(lines):
                continue
            cells, n_lines = _header_at(lines, k, mark)
            found = len(wanted_set & set(cells))
            if found == len(wanted_set):
                _refuse_twins(cells, wanted_set, where, k + 1)
                return Header(_distinct(cells), mark, k + 1, n_lines)
            if found > best[0] or not best[1]:
                best = (found, cells, k + 1)
    missing = sorted(wanted_set - set(best[1]))
    nearest = process.extractOne(missing[0], best[1], scorer=fuzz.ratio) if best[1] else None
    hint = f"; the nearest there is '{nearest[0]}'" if nearest and nearest[1] >= 50 else ""
    raise ExportError(
        f"No line of the first {PREAMBLE_LINES} holds the header: column "
        f"'{missing[0]}' is missing{hint}.",
        where=f"{where}, line {best[2]}",
        todo="Mend [columns] in source.toml, or run `comparables describe` on the file.",
    )


def _header_at(lines: list[str], k: int, delimiter: str) -> tuple[list[str], int]:
    """Cells of the header that begins at lines[k], and how many lines it takes."""
    if '"' not in lines[k]:
        return [c.strip() for c in lines[k].split(delimiter)], 1
    end = k
    is_open = opens_quote(lines[k], delimiter)
    while is_open and end + 1 < len(lines):
        end += 1
        is_open = opens_quote(lines[end], delimiter, is_open=True)
    if is_open:
        return [c.strip() for c in split_line(lines[k], delimiter)], 1
    text = "\n".join(lines[k : end + 1])
    cells = next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), [])
    return [c.strip() for c in cells], end - k + 1


def _refuse_twins(cells: list[str], wanted: set[str], where: str, line: int) -> None:
    for name in wanted:
        if cells.count(name) > 1:
            raise ExportError(
                f"Two columns are headed '{name}', and source.toml maps that name.",
                where=f"{where}, line {line}",
                todo="Rename one of them at the source, or map another column.",
            )


def _distinct(cells: list[str]) -> list[str]:
    """Header names made distinct: a nameless one gets its place, a repeated one a number."""
    names: list[str] = []
    for k, cell in enumerate(cells, 1):
        name = cell or f"column {k}"
        number = 2
        while name in names:
            name = f"{cell or f'column {k}'} ({number})"
            number += 1
        names.append(name)
    return names
