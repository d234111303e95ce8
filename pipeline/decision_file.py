"""Decisions of people as CSV: who, when and why beside each, and a place for every complaint."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.csv_rows import read_rows
from pipeline.errors import DecisionError

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z")


@dataclass(frozen=True)
class Said:
    """One line of a file of decisions: its trimmed cells, and where they stand."""

    cells: dict[str, str]
    path: Path
    line: int

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def fault(self, column: str, what: str, todo: str | None = None) -> DecisionError:
        """An error that names file, line and column."""
        where = f"{self.path}, line {self.line}, column {column}"
        return DecisionError(what, where=where, todo=todo)

    def one_of(self, column: str, allowed: tuple[str, ...]) -> None:
        """Prove that a cell holds one of a few words."""
        if self[column] not in allowed:
            raise self.fault(
                column, f"'{self[column]}' is no {column}.", f"Use one of: {', '.join(allowed)}."
            )


def read_said(
    path: Path, columns: tuple[str, ...], may_be_empty: tuple[str, ...] = ()
) -> Iterator[Said]:
    """The lines of a file of decisions; nothing where there is no such file.

    Args:
        columns: that the header must name; one is decided_on, which holds a date (ISO 8601).
        may_be_empty: those whose cells may be.

    Raises:
        DecisionError: with file, line and column: the file does not hold, a cell is empty, or a
            date is none.
    """
    if not path.exists():
        return
    for line, cells in read_rows(path, columns, DecisionError):
        said = Said({name: cells[name] for name in columns}, path, line)
        for name in columns:
            if not said[name] and name not in may_be_empty:
                raise said.fault(name, f"The column {name} is empty.", "Fill it.")
        said_day(said)
        yield said


def said_day(said: Said) -> dt.date:
    """The day of a decision, of the column decided_on."""
    text = said["decided_on"]
    # fromisoformat alone also takes week dates and dates without hyphens
    if _DATE.match(text):
        with contextlib.suppress(ValueError):
            return dt.date.fromisoformat(text)
    raise said.fault("decided_on", f"'{text}' is no date.", "Write it as YYYY-MM-DD.")
