"""What a fault is said of makes it another one: worn gilding, a missing lid, later handles.

The parts are data (pipeline/vocabulary/fault_parts.csv): a row is a group of parts, a column the
fault as said of no part, a cell the narrower concept. This module reads them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pipeline.csv_rows import read_rows
from pipeline.errors import VocabularyError
from pipeline.terms.modifiers import MODIFIERS_FILE
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary_file import split_cell

FAULT_PARTS_FILE = MODIFIERS_FILE.with_name("fault_parts.csv")
# said of a part by "later" and "replaced", by "missing" and "no" ... : the columns of the file
BASES = (
    "replaced-part",
    "incomplete",
    "wear",
    "losses",
    "chips",
    "loose",
    "foxing",
    "all-original",
)
COLUMNS = ("part", "words", *BASES)


@dataclass(frozen=True)
class FaultParts:
    """The groups of parts.

    Attributes:
        groups: names of the groups; their place is the group's number.
        group_of: word -> number of its group.
        narrower: for each group, concept said of no part -> concept said of the group.
    """

    groups: tuple[str, ...]
    group_of: dict[str, int]
    narrower: tuple[dict[str, str], ...]


def load_fault_parts(path: Path = FAULT_PARTS_FILE) -> FaultParts:
    """Read a file of parts.

    Raises:
        VocabularyError: a word in two groups, or a row without words.
    """
    status = path.stat()
    return _load(path, status.st_mtime_ns, status.st_size)


@lru_cache(maxsize=4)
def _load(path: Path, _modified: int, _size: int) -> FaultParts:
    groups: list[str] = []
    group_of: dict[str, int] = {}
    narrower: list[dict[str, str]] = []
    for line, row in read_rows(path, COLUMNS, VocabularyError):
        words = [normalise_label(word) for word in split_cell(row["words"])]
        twice = sorted({word for word in words if word in group_of})
        if twice or not words:
            raise VocabularyError(
                f"'{twice[0]}' is a part of two groups." if twice else "The group has no words.",
                where=f"{path}, line {line}, column words",
                todo="Leave each word in one group, and at least one word in each.",
            )
        group_of.update(dict.fromkeys(words, len(groups)))
        groups.append(row["part"])
        narrower.append({base: row[base] for base in BASES if row[base]})
    return FaultParts(tuple(groups), group_of, tuple(narrower))
