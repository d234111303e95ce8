"""Read one vocabulary file, and prove what can be proved of it alone.

What a file alone cannot show (does `broader` exist, is a label shared) is checked by
`pipeline.terms.vocabulary` once all files are together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyarrow as pa

from pipeline.csv_rows import read_rows
from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label, normalise_texts

COMMON_COLUMNS = ("id", "prefLabel", "altLabels", "hiddenLabels", "broader", "scopeNote")
FIELD_ONLY = "field_only"
SEPARATOR = "|"
FIRST_YEAR, LAST_YEAR = -10_000, 2_100

_SLUG = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*\Z")
_YEAR = re.compile(r"-?\d{1,5}\Z")
_WORDS = re.compile(r"[A-Za-z0-9]+(?: [A-Za-z0-9]+)*\Z")
_RANK = re.compile(r"[1-9]\d{0,2}\Z")


@dataclass(frozen=True)
class Concept:
    """One concept of the vocabulary, in SKOS terms (W3C 2009).

    `extra` holds the columns that only this kind has, as written, empty cells included. The
    column `field_only`, which any kind may have, names labels that count where a field of its own
    states them and never in running text ("fine" as a condition); one that stands in no other
    column is a hidden label too.
    """

    kind: str
    id: str
    pref_label: str
    alt_labels: tuple[str, ...]
    hidden_labels: tuple[str, ...]
    broader: str | None
    scope_note: str
    extra: Mapping[str, str] = field(hash=False)

    @property
    def earliest_year(self) -> int | None:
        """First year of a period, negative for BC; None where open or not a period."""
        return _year_or_none(self.extra.get("earliest", ""))

    @property
    def latest_year(self) -> int | None:
        """Last year of a period, negative for BC; None where open or not a period."""
        return _year_or_none(self.extra.get("latest", ""))

    @property
    def rank(self) -> int | None:
        """Place in a ladder, 1 the best or nearest; None where the concept has none."""
        text = self.extra.get("rank", "")
        return int(text) if text else None

    def many(self, column: str) -> tuple[str, ...]:
        """The parts of a column that holds a list, such as `caution_ids`."""
        return split_cell(self.extra.get(column, ""))


@dataclass(frozen=True)
class Place:
    """Where a concept was written: what an error names."""

    path: Path
    line: int

    def cell(self, column: str) -> str:
        return f"{self.path}, line {self.line}, column {column}"


@dataclass(frozen=True)
class Kind:
    """What the file of one kind must hold beyond the common columns.

    Args:
        columns: the further columns the header must name.
        closed: for a column, the values a cell may take.
        closed_lists: the same for a column of several values.
    """

    file_name: str
    columns: tuple[str, ...] = ()
    closed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    closed_lists: Mapping[str, frozenset[str]] = field(default_factory=dict)


KINDS: dict[str, Kind] = {
    "category": Kind("categories.csv"),
    "material": Kind(
        "materials.csv",
        ("aspect", "caution_ids"),
        {"aspect": frozenset({"material", "technique", "finish"})},
    ),
    "period": Kind("periods.csv", ("earliest", "latest", "region", "range_source")),
    "condition": Kind("conditions.csv", ("rank",)),
    "fault": Kind(
        "faults.csv",
        ("kind", "direction", "families"),
        {
            "kind": frozenset({"fault", "alteration", "repair", "completeness", "plus"}),
            "direction": frozenset({"lowers", "raises", "neutral"}),
        },
    ),
    "attribution": Kind(
        "attributions.csv",
        ("rank", "class"),
        {"class": frozenset({"period", "style", "reproduction", "unknown"})},
    ),
    "marker": Kind(
        "markers.csv",
        ("kind",),
        {
            "kind": frozenset(
                {"lot", "pair", "set", "part", "empty_box", "not_a_sale", "quantity_word"}
            )
        },
    ),
    "caution": Kind("cautions.csv"),
    "maker": Kind("makers.csv"),
}
AMBIGUITIES_FILE = "ambiguities.csv"
AMBIGUITY_COLUMNS = ("label", "kind", "rule", "prefer", "reason")


def split_cell(cell: str) -> tuple[str, ...]:
    """The parts of a cell that holds several values parted by '|'; empty parts fall away."""
    if not cell:
        return ()
    return tuple([part for piece in cell.split(SEPARATOR) if (part := piece.strip())])


def exact_form(label: str) -> str:
    """The form in which two labels count as one and the same literal for SKOS S13 and S14."""
    folded = label.casefold()
    return " ".join(folded.split()) if "  " in folded else folded


def labels_of(concept: Concept) -> Iterator[tuple[str, str, str]]:
    """(label, its type, its column) for every label of a concept, the preferred one first."""
    yield concept.pref_label, "pref", "prefLabel"
    for label in concept.alt_labels:
        yield label, "alt", "altLabels"
    for label in concept.hidden_labels:
        yield label, "hidden", "hiddenLabels"


def label_forms(concepts: Iterable[Concept]) -> dict[str, str]:
    """Every label of the concepts -> its normalised form.

    One pass over all of them: thousands of single calls would be felt when the command starts.
    """
    labels: set[str] = set()
    for concept in concepts:
        labels.add(concept.pref_label)
        labels.update(concept.alt_labels, concept.hidden_labels)
    forms = {label: label.lower() for label in labels if _WORDS.match(label)}
    others = labels - forms.keys()
    forms |= {label: normalise_label(label) for label in others if not label.isascii()}
    plain = [label for label in others if label not in forms]
    # not pa.array: that imports pandas, which a command's start would wait for
    array = pa.LargeStringArray.from_buffers(
        len(plain),
        pa.py_buffer(np.cumsum([0, *map(len, plain)], dtype=np.int64)),
        pa.py_buffer("".join(plain).encode("ascii")),
    )
    forms.update(zip(plain, normalise_texts(array).to_pylist(), strict=True))
    return forms


def check_label_forms(concept: Concept, forms: Mapping[str, str], place: Place) -> None:
    """Prove that every label can be found by.

    Raises:
        VocabularyError: a label without letter or digit.
    """
    for label, _, column in labels_of(concept):
        if not forms[label]:
            raise VocabularyError(
                f"The label '{label}' of {concept.id} holds no letter or digit.",
                where=place.cell(column),
                todo="Remove it: nothing could be found by it.",
            )


def read_concepts(path: Path, kind: str) -> Iterator[tuple[Concept, Place]]:
    """Yield the concepts of one file, each proved as far as its own row goes."""
    rules = KINDS[kind]
    for line, row in read_rows(path, COMMON_COLUMNS + rules.columns, VocabularyError):
        place = Place(path, line)
        concept = _concept(kind, row, place)
        _check_labels(concept, place)
        _check_extra(concept, rules, place)
        yield concept, place


def _concept(kind: str, row: dict[str, str], place: Place) -> Concept:
    concept_id = row["id"]
    if not _SLUG.match(concept_id):
        raise VocabularyError(
            f"'{concept_id}' is no concept id." if concept_id else "The concept has no id.",
            where=place.cell("id"),
            todo="Use lower-case letters a-z and digits, parted by single hyphens or underscores, "
            "as in 'chest-of-drawers'.",
        )
    broader = row["broader"] or None
    if broader is not None and not _SLUG.match(broader):
        raise VocabularyError(
            f"'{broader}' is no concept id.",
            where=place.cell("broader"),
            todo="Give the id of one broader concept, or leave the cell empty.",
        )
    alt_labels, hidden_labels = split_cell(row["altLabels"]), split_cell(row["hiddenLabels"])
    limited = split_cell(row.get(FIELD_ONLY, ""))
    if limited:
        written = {exact_form(one) for one in (row["prefLabel"], *alt_labels, *hidden_labels)}
        hidden_labels += tuple(one for one in limited if exact_form(one) not in written)
    return Concept(
        kind=kind,
        id=concept_id,
        pref_label=row["prefLabel"],
        alt_labels=alt_labels,
        hidden_labels=hidden_labels,
        broader=broader,
        scope_note=row["scopeNote"],
        extra={name: cell for name, cell in row.items() if name not in COMMON_COLUMNS},
    )


def _check_labels(concept: Concept, place: Place) -> None:
    if not concept.pref_label:
        raise VocabularyError(
            f"The concept {concept.id} has no preferred label.",
            where=place.cell("prefLabel"),
            todo="Write the one label that is shown for it.",
        )
    if SEPARATOR in concept.pref_label:
        raise VocabularyError(
            f"The concept {concept.id} has more than one preferred label; a concept has one in a "
            "language (SKOS S14).",
            where=place.cell("prefLabel"),
            todo="Keep one and move the others to altLabels.",
        )
    seen: dict[str, str] = {}
    for column, labels in (
        ("prefLabel", (concept.pref_label,)),
        ("altLabels", concept.alt_labels),
        ("hiddenLabels", concept.hidden_labels),
    ):
        for label in labels:
            form = exact_form(label)
            if form in seen:
                raise VocabularyError(
                    f"The label '{label}' of {concept.id} is in {seen[form]} and in {column}; "
                    "preferred, alternative and hidden labels are disjoint (SKOS S13)."
                    if seen[form] != column
                    else f"The label '{label}' of {concept.id} is in {column} twice.",
                    where=place.cell(column),
                    todo="Keep it in one place.",
                )
            seen[form] = column


def _check_extra(concept: Concept, rules: Kind, place: Place) -> None:
    for column, allowed in rules.closed.items():
        _check_closed(concept.extra[column], allowed, place, column)
    for column, allowed in rules.closed_lists.items():
        for value in concept.many(column):
            _check_closed(value, allowed, place, column)
    rank = concept.extra.get("rank", "")
    if rank and not _RANK.match(rank):
        raise VocabularyError(
            f"'{rank}' is no rank.",
            where=place.cell("rank"),
            todo="Use a whole number from 1 (best or nearest), or leave it empty.",
        )
    if concept.kind == "period":
        _check_years(concept, place)


def _check_closed(value: str, allowed: frozenset[str], place: Place, column: str) -> None:
    if value not in allowed:
        raise VocabularyError(
            f"'{value}' is not a value of {column}." if value else f"{column} is empty.",
            where=place.cell(column),
            todo=f"Use one of: {', '.join(sorted(allowed))}.",
        )


def _check_years(concept: Concept, place: Place) -> None:
    for column in ("earliest", "latest"):
        text = concept.extra[column]
        if text and not (_YEAR.match(text) and FIRST_YEAR <= int(text) <= LAST_YEAR):
            raise VocabularyError(
                f"'{text}' is no year.",
                where=place.cell(column),
                todo=f"Use a whole number from {FIRST_YEAR} to {LAST_YEAR}, negative for BC, or "
                "leave it empty.",
            )
    earliest, latest = concept.earliest_year, concept.latest_year
    if earliest is not None and latest is not None and earliest > latest:
        raise VocabularyError(
            f"The period {concept.id} starts in {earliest}, after its end in {latest}.",
            where=place.cell("earliest"),
            todo="Put the earlier year first; years BC are negative.",
        )
    if (earliest is not None or latest is not None) and not concept.extra["range_source"]:
        raise VocabularyError(
            f"The years of {concept.id} name no source.",
            where=place.cell("range_source"),
            todo="Say where the range comes from; 'from memory' is an answer.",
        )


def _year_or_none(text: str) -> int | None:
    return int(text) if text else None
