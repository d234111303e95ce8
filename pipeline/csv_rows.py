"""Rows of a small CSV file that a person keeps, with the place of whatever does not hold."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from pathlib import Path


def read_rows(
    path: Path,
    required: tuple[str, ...],
    error: Callable[..., Exception],
) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield (first line number, column -> trimmed cell) for each row of a UTF-8 CSV file.

    Args:
        required: columns that the header must name, in any order.
        error: what is raised, with `where` and `todo`.

    Raises:
        error: the file cannot be opened, is not UTF-8, a broken quote, a missing, empty or repeated
            column, or a row with more or fewer cells than the header.
    """
    text = _decode(path, error)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header: list[str] | None = None
    line = 1
    try:
        for cells in reader:
            first_line, line = line, reader.line_num + 1
            if not any(cell.strip() for cell in cells):
                continue
            if header is None:
                header = [cell.strip() for cell in cells]
                _check_header(path, first_line, header, required, error)
                continue
            if len(cells) != len(header):
                raise error(
                    f"The row has {len(cells)} cells and the header has {len(header)}.",
                    where=f"{path}, line {first_line}",
                    todo="Put a cell that holds a comma in double quotes, and give every column "
                    "a cell.",
                )
            yield first_line, {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
    except csv.Error as broken:
        raise error(
            f"The file is not readable as CSV: {broken}.",
            where=f"{path}, line {line}",
            todo="Look for a double quote that is not closed or not doubled.",
        ) from None
    if header is None:
        raise error(
            "The file is empty: it has no header.",
            where=f"{path}, line 1",
            todo=f"Write the header {','.join(required)}, or remove the file.",
        )


def _decode(path: Path, error: Callable[..., Exception]) -> str:
    try:
        data = path.read_bytes()
    except OSError as failure:
        raise error(
            f"The file cannot be opened: {failure.strerror}.", where=path, todo="Check its name."
        ) from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        line = data.count(b"\n", 0, broken.start) + 1
        raise error(
            f"The file is not UTF-8: byte 0x{data[broken.start]:02X} starts no character.",
            where=f"{path}, line {line}, column {_column_at(data, broken.start)}",
            todo="Save it again as UTF-8 (in a spreadsheet program: 'CSV UTF-8').",
        ) from None
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise error(
            "The file holds a zero byte: it is probably UTF-16 and not UTF-8.",
            where=f"{path}, line {line}",
            todo="Save it again as UTF-8 (in a spreadsheet program: 'CSV UTF-8').",
        )
    return text


def _column_at(data: bytes, position: int) -> str:
    """The name of the column a byte lies in, as far as the damaged text still shows it."""
    line_start = data.rfind(b"\n", 0, position) + 1
    readable = data[line_start:position].decode("utf-8", "replace")
    header_line = data.split(b"\n", 1)[0].decode("utf-8-sig", "replace")
    header = next(csv.reader([header_line]), [])
    before = next(csv.reader([readable]), [""])
    index = max(len(before) - 1, 0)
    return header[index].strip() if index < len(header) else str(index + 1)


def _check_header(
    path: Path,
    line: int,
    header: list[str],
    required: tuple[str, ...],
    error: Callable[..., Exception],
) -> None:
    for name in required:
        if name not in header:
            raise error(
                f"The column {name} is missing.",
                where=f"{path}, line {line}, column {name}",
                todo=f"Name the columns {', '.join(required)} in the first line.",
            )
    for index, name in enumerate(header):
        if not name:
            raise error(
                f"Column {index + 1} has no name.",
                where=f"{path}, line {line}, column {index + 1}",
                todo="Name it, or remove the empty column.",
            )
        if name in header[:index]:
            raise error(
                f"The column {name} is there twice.",
                where=f"{path}, line {line}, column {name}",
                todo="Keep one of the two.",
            )
