"""Reigns, dynasties and named periods, read from the package's own table of years."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from importlib import resources

from pipeline.errors import VocabularyError

_TABLE = "date_words.csv"
_KINDS = frozenset({"reign", "period", "dynasty", "ambiguous", "culture"})


@dataclass(frozen=True, slots=True)
class NamedPeriod:
    """A name that stands for a range of years.

    `earliest` or `latest` None means open on that side. `in_titles` tells whether the bare name
    is safe in running text: "Kangxi" is, "Federal" or "Empire" is not. Kind `ambiguous` marks
    names that the trade uses for more than one range, kind `culture` those that give no years of
    their own but vouch for years of three digits beside them ("Maya, 600-900").
    """

    label: str
    earliest: int | None
    latest: int | None
    kind: str
    in_titles: bool


Phrases = dict[str, list[tuple[tuple[str, ...], NamedPeriod]]]


def load_named() -> Phrases:
    """The package's own table without the cultures, as phrases by their first word."""
    return _of_kind(cultures=False)


def load_cultures() -> Phrases:
    """The cultures of the package's own table, as phrases by their first word."""
    return _of_kind(cultures=True)


def _of_kind(*, cultures: bool) -> Phrases:
    source = resources.files("pipeline").joinpath("vocabulary", _TABLE)
    found: Phrases = {}
    for first, phrases in parse_named(source.read_text(encoding="utf-8")).items():
        kept = [one for one in phrases if (one[1].kind == "culture") == cultures]
        if kept:
            found[first] = kept
    return found


def parse_named(table: str) -> Phrases:
    """Phrases by their first word, from the text of a table of named periods.

    Raises:
        VocabularyError: a row of the table contradicts itself, or a name stands twice.
    """
    phrases: Phrases = {}
    seen: dict[str, int] = {}
    rows = csv.DictReader(table.splitlines())
    for line, row in enumerate(rows, start=2):
        where = f"{_TABLE}, line {line}"
        period = _period(row, where)
        for name in (row["label"], *filter(None, row["also"].split("|"))):
            if name in seen:
                raise VocabularyError(
                    f"The name '{name}' stands twice (lines {seen[name]} and {line}).",
                    where=where,
                    todo="Keep one of the two.",
                )
            seen[name] = line
            words = tuple(name.replace("'", " ").replace("&", " & ").split())
            phrases.setdefault(words[0], []).append((words, period))
    return phrases


def _period(row: dict[str, str], where: str) -> NamedPeriod:
    try:
        earliest = int(row["earliest"]) if row["earliest"] else None
        latest = int(row["latest"]) if row["latest"] else None
    except ValueError as problem:
        raise VocabularyError(
            f"A year of '{row['label']}' is no whole number.",
            where=where,
            todo="Write the year in digits, negative for BC, or leave the cell empty.",
        ) from problem
    if row["kind"] not in _KINDS:
        raise VocabularyError(
            f"'{row['kind']}' is no kind of named period.",
            where=where,
            todo=f"Use one of {', '.join(sorted(_KINDS))}.",
        )
    if earliest is not None and latest is not None and earliest > latest:
        raise VocabularyError(
            f"'{row['label']}' ends before it begins.", where=where, todo="Swap the years."
        )
    return NamedPeriod(row["label"], earliest, latest, row["kind"], row["in_titles"] == "yes")
