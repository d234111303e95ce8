"""One export, read whole: records as Arrow batches with their lines, and the balance of the file.

The fast way reads with Arrow and looks only at what came out. When a cell holds a line that would
be a row of its own, or the reader loses its way, the lines with stray quotation marks are found
by going through the text once, taken out, and the file is read again without them.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pa_csv

from pipeline.errors import ExportError
from pipeline.exports.lines import (
    Header,
    RecordShape,
    find_header,
    split_line,
    stray_quote_lines,
)
from pipeline.exports.source import Source
from pipeline.exports.stream import LineCount, TextFile, clean_text, detect_encoding

BLOCK = 1 << 23
HEAD = 1 << 18


@dataclass
class Aside:
    """Lines that became no row: where each begins, how many lines it takes, why, its cells."""

    line_number: list[int] = field(default_factory=list)
    n_lines: list[int] = field(default_factory=list)
    reason: list[str] = field(default_factory=list)
    cells: list[list[str]] = field(default_factory=list)

    def add(self, line: int, n_lines: int, reason: str, cells: list[str]) -> None:
        self.line_number.append(line)
        self.n_lines.append(n_lines)
        self.reason.append(reason)
        self.cells.append(cells)

    def __len__(self) -> int:
        return len(self.reason)


@dataclass
class Balance:
    """How the lines of a file divide (rule: lines = header + rows + set aside + breaks)."""

    encoding: str = ""
    n_lines: int = 0
    n_header_lines: int = 0
    n_rows: int = 0
    n_lines_set_aside: int = 0
    n_cell_line_breaks: int = 0

    @property
    def holds(self) -> bool:
        return self.n_lines == (
            self.n_header_lines + self.n_rows + self.n_lines_set_aside + self.n_cell_line_breaks
        )


@dataclass
class Records:
    """A batch of records: their cells by header, and the line on which each begins."""

    cells: pa.RecordBatch
    line_number: npt.NDArray[np.int64]


class _LostAtQuote(Exception):  # noqa: N818 - a signal within this module
    """A quotation mark seems to have swallowed rows."""


class ExportReader:
    """Reads one export. `passes()` may be called once; afterwards `aside` and `balance` stand."""

    def __init__(self, path: Path, source: Source, where: str, largest: int) -> None:
        self.path, self.source, self.where, self.largest = path, source, where, largest
        self.encoding = (
            detect_encoding(path, largest) if source.encoding == "auto" else source.encoding
        )
        self.aside = Aside()
        self.balance = Balance(encoding=self.encoding)
        self.header = self._find_header()
        self.shape = RecordShape(
            self.header.delimiter,
            len(self.header.names),
            tuple(
                self.header.names.index(name)
                for name, meaning in source.columns.items()
                if meaning in ("price", "sold")
            ),
        )
        self._lost = self._watchful = False
        self._next_line = 1

    def _find_header(self) -> Header:
        start = b""
        for chunk in clean_text(self.path, self.encoding, self.largest, LineCount()):
            start += chunk[: HEAD - len(start)]
            if len(start) >= HEAD:
                break
        if not start.strip():
            raise ExportError("The file is empty.", where=self.where, todo="Export it again.")
        return find_header(
            start.decode("utf-8", errors="replace"),
            self.source.columns,
            self.source.delimiter,
            self.source.header_line,
            self.where,
        )

    def passes(self) -> Iterator[Iterator[Records]]:
        """The records, in one pass or, where a quotation mark may swallow rows, in a second.

        A caller starts anew what it does with the records at each pass; the last one counts.

        Raises:
            ExportError: the file cannot be read as a table.
        """
        yield self._records(frozenset(), watchful=True)
        if self._lost:
            without = frozenset(stray_quote_lines(self._lines_of_data(), self.shape))
            yield self._records(without, watchful=False)

    def _records(self, without: frozenset[int], watchful: bool) -> Iterator[Records]:
        self.aside = Aside()
        self.balance = Balance(encoding=self.encoding)
        self._lost = False
        self._watchful = watchful
        try:
            yield from self._parse(without)
        except _LostAtQuote:
            self._lost = True
        except pa.ArrowInvalid as error:
            self._lost = watchful
            if not watchful:
                raise ExportError(
                    f"The file cannot be read as a table: {error}.",
                    where=self.where,
                    todo="Export it again, quoted by the rules of CSV (RFC 4180).",
                ) from None

    def _parse(self, without: frozenset[int]) -> Iterator[Records]:
        header, count = self.header, LineCount()
        skipped_lines = np.array(sorted(without), dtype=np.int64)
        text = clean_text(
            self.path, self.encoding, self.largest, count, without, header.n_lines_before_data
        )
        bad: dict[int, pa_csv.InvalidRow] = {}

        def invalid(row: pa_csv.InvalidRow) -> str:
            bad[row.number] = row
            return "skip"

        stream = pa.PythonFile(TextFile(text, header.n_lines_before_data), mode="r")
        kinds = {name: pa.string() for name in header.names}
        try:
            reader = pa_csv.open_csv(
                stream,
                read_options=pa_csv.ReadOptions(
                    block_size=BLOCK, use_threads=False, column_names=header.names
                ),
                parse_options=pa_csv.ParseOptions(
                    delimiter=header.delimiter,
                    newlines_in_values=True,
                    ignore_empty_lines=False,
                    invalid_row_handler=invalid,
                ),
                convert_options=pa_csv.ConvertOptions(
                    column_types=kinds, strings_can_be_null=False, check_utf8=False
                ),
            )
        except pa.ArrowInvalid as error:
            if "Empty CSV" not in str(error):
                raise
            reader = iter(())
        record = 0
        self._next_line = header.n_lines_before_data + 1
        for batch in reader:
            record = yield from self._place(batch, record, bad, skipped_lines, count)
        while record + 1 in bad:
            record += 1
            self._set_invalid_aside(bad.pop(record), skipped_lines, count)
        self._close_balance(count, without)

    def _place(
        self,
        batch: pa.RecordBatch,
        record: int,
        bad: dict[int, pa_csv.InvalidRow],
        skipped: npt.NDArray[np.int64],
        count: LineCount,
    ) -> Generator[Records, None, int]:
        """Give each record of the batch its line; set aside the bad ones that lie between."""
        breaks = _line_breaks(batch)
        if breaks is not None and self._watchful:
            self._look_for_swallowed(batch, breaks)
        n = batch.num_rows
        ahead = np.array(sorted(bad), dtype=np.int64)
        numbers = np.arange(record + 1, record + n + len(ahead) + 1, dtype=np.int64)
        numbers = np.setdiff1d(numbers, ahead, assume_unique=True)[:n] if len(ahead) else numbers
        lines_each = np.ones(n, dtype=np.int64) if breaks is None else 1 + breaks
        starts = np.empty(n, dtype=np.int64)
        at = 0
        line = self._next_line
        last = int(numbers[-1]) if n else record
        for k in sorted(k for k in bad if k < last):
            until = int(np.searchsorted(numbers, k))
            starts[at:until] = line + np.concatenate(([0], np.cumsum(lines_each[at:until])))[:-1]
            line += int(lines_each[at:until].sum())
            self._next_line = line
            self._set_invalid_aside(bad.pop(k), skipped, count)
            line, at = self._next_line, until
        starts[at:] = line + np.concatenate(([0], np.cumsum(lines_each[at:])))[:-1]
        self._next_line = line + int(lines_each[at:].sum())
        self.balance.n_rows += n
        self.balance.n_cell_line_breaks += int(lines_each.sum()) - n
        yield Records(batch, _physical(starts, skipped, count))
        return last

    def _set_invalid_aside(
        self, row: pa_csv.InvalidRow, skipped: npt.NDArray[np.int64], count: LineCount
    ) -> None:
        text = row.text
        n_lines = 1 + text.count("\n")
        if n_lines > 1 and self._watchful:
            raise _LostAtQuote
        start = _physical(np.array([self._next_line], dtype=np.int64), skipped, count)
        few = row.actual_columns < row.expected_columns
        self.aside.add(
            int(start[0]),
            n_lines,
            "too_few_cells" if few else "too_many_cells",
            split_line(text.replace("\n", " "), self.header.delimiter),
        )
        self._next_line += n_lines

    def _look_for_swallowed(self, batch: pa.RecordBatch, breaks: npt.NDArray[np.int64]) -> None:
        rows = np.flatnonzero(breaks)
        some = batch.take(pa.array(rows))
        for place, column in enumerate(some.columns):
            holds = pc.filter(column, pc.match_substring(column, "\n"))
            if any(self.shape.may_swallow(cell, place) for cell in holds.to_pylist()):
                raise _LostAtQuote

    def _lines_of_data(self) -> Iterator[tuple[int, str]]:
        number, count = 0, LineCount()
        for chunk in clean_text(self.path, self.encoding, self.largest, count):
            # lines that are no text are not in the chunk, but they have their numbers
            missing = {n for n, _ in count.undecodable}
            for line in chunk.decode("utf-8", errors="replace").removesuffix("\n").split("\n"):
                number += 1
                while number in missing:
                    number += 1
                if number > self.header.n_lines_before_data:
                    yield number, line

    def _close_balance(self, count: LineCount, without: frozenset[int]) -> None:
        for number, text in count.undecodable:
            self.aside.add(number, 1, "undecodable", split_line(text, self.header.delimiter))
        for number, line in self._lines_of_data() if without else ():
            if number in without:
                self.aside.add(number, 1, "stray_quote", split_line(line, self.header.delimiter))
        self.balance.n_lines = count.n_lines
        self.balance.n_header_lines = min(self.header.n_lines_before_data, count.n_lines)
        self.balance.n_lines_set_aside = sum(self.aside.n_lines)

    def set_rows_aside(
        self, records: Records, rows: npt.NDArray[np.int64], reasons: list[str]
    ) -> None:
        """Take records that were read out of the rows: a repeated header, a total, a blank."""
        some = records.cells.take(pa.array(rows))
        columns = [column.to_pylist() for column in some.columns]
        for k, (row, reason) in enumerate(zip(rows.tolist(), reasons, strict=True)):
            cells = [column[k] for column in columns]
            breaks = sum(cell.count("\n") for cell in cells)
            self.aside.add(int(records.line_number[row]), 1 + breaks, reason, cells)
            self.balance.n_rows -= 1
            self.balance.n_cell_line_breaks -= breaks


def _line_breaks(batch: pa.RecordBatch) -> npt.NDArray[np.int64] | None:
    """Line breaks inside the cells of each record; None where there are none at all."""
    total: npt.NDArray[np.int64] | None = None
    for column in batch.columns:
        data = column.buffers()[2]
        if data is None or np.count_nonzero(np.frombuffer(data, dtype=np.uint8) == 10) == 0:
            continue
        found = pc.count_substring(column, "\n").to_numpy(zero_copy_only=False).astype(np.int64)
        total = found if total is None else total + found
    return total if total is not None and total.any() else None


def _physical(
    starts: npt.NDArray[np.int64], skipped: npt.NDArray[np.int64], count: LineCount
) -> npt.NDArray[np.int64]:
    """Line numbers of the whole file from those of the text without the lines left out."""
    left_out = np.unique(
        np.concatenate([skipped, np.array([n for n, _ in count.undecodable], dtype=np.int64)])
    )
    if not len(left_out):
        return starts
    # the k-th line left out moves every start at or after it, counted without the k before it
    return starts + np.searchsorted(left_out - np.arange(len(left_out)), starts, side="right")
