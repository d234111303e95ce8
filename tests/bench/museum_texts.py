"""How well the reader does on texts of museums, and on dates in the manner of auction catalogues.

`museum_records.csv` holds facts of published records: the museum's date text with the earliest and
latest year that the museum gives, and its text for the medium. A museum's own years are a
convention (circa is three years back at one house, five either way at another; a century ends in
1799 or 1800), so agreement is told three ways: to the year, within ten years at both ends, and
whether the years read hold the museum's own. `museum_judged.csv` holds as much of other objects, and
what the thing is; it is for judging alone. `museum_open.csv` holds 977 records more, all looked at.
See tests/terms/LABELS.md.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import pyarrow as pa

from pipeline.terms.dates import DateReading, read_date
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary
from tests.bench.reading_score import Score, count_term, labelled_rows

TODAY = dt.date(2026, 11, 24)
NEAR = 10  # years; what the conventions of museums differ by
RECORDS = "museum_records.csv"
JUDGED = "museum_judged.csv"  # held whole, and shown by sums alone
OPEN = "museum_open.csv"  # records of nine museums, all of the part to tune on
Years = tuple[int | None, int | None]


@dataclass
class DateScore:
    """Counts of date texts; `none` counts texts that are no date and were read as none."""

    rows: int = 0
    exact: int = 0
    near: int = 0
    holds: int = 0
    none: int = 0
    unread: int = 0
    wrong: int = 0
    confident: int = 0  # of the wrong: certainty "stated" or "circa"

    def line(self, name: str) -> str:
        right = self.near + self.none
        return (
            f"{name}: {self.rows} texts, right {right} ({100 * right / self.rows:.1f} %; to the year "
            f"{self.exact}, within {NEAR} years {self.near}, no date read as none {self.none}), "
            f"holding the years given {self.holds}, unread {self.unread}, wrong {self.wrong}, "
            f"of these said without reserve {self.confident}"
        )


def museum_dates(part: str, name: str = RECORDS) -> tuple[DateScore, list[str]]:
    """Date texts of museums beside the years that the museums give."""
    rows = [row for row in labelled_rows(name, part) if row["date_text"]]
    return _dates((row["date_text"], _years(row)) for row in rows)


def auction_dates(part: str) -> tuple[DateScore, list[str]]:
    """Dates in the manner of auction catalogues, beside what was written down first."""
    return _dates((row["text"], _years(row)) for row in labelled_rows("auction_dates.csv", part))


def museum_materials(part: str, vocabulary: Vocabulary, name: str = RECORDS) -> Score:
    """Texts for the medium beside the material that they name first."""
    rows = [row for row in labelled_rows(name, part) if row["medium"]]
    texts = pa.array([row["medium"] for row in rows])
    score = Score()
    for row, read in zip(
        rows, read_terms(texts, "material", vocabulary=vocabulary).to_pylist(), strict=True
    ):
        count_term(score, row["medium"], row["material"], read["concept_id"], read["status"])
    return score


def museum_categories(part: str, vocabulary: Vocabulary, name: str = JUDGED) -> Score:
    """The kind of object beside what the museum calls it, each text once.

    The name of the object is read as a field, and where there is none, the title as a title.
    """
    named: dict[str, str] = {}
    titled: dict[str, str] = {}
    for row in labelled_rows(name, part):
        if row["object_name"]:
            named[row["object_name"]] = row["category"]
        else:
            titled[row["title"]] = row["category"]
    fields = read_terms(pa.array(named, pa.string()), "category", vocabulary=vocabulary)
    titles = read_titles(pa.array(titled, pa.string()), vocabulary)
    readings = [(read["concept_id"], read["status"]) for read in fields.to_pylist()]
    readings += [(read["category_id"], read["category_status"]) for read in titles.to_pylist()]
    score = Score()
    for (text, label), (value, status) in zip(
        [*named.items(), *titled.items()], readings, strict=True
    ):
        above = vocabulary.ancestors("category", value) if value else ()
        count_term(score, text, label, value, status, above)
    return score


def _dates(rows: Iterator[tuple[str, Years]]) -> tuple[DateScore, list[str]]:
    score, misses = DateScore(), []
    for text, wanted in rows:
        reading = read_date(text, today=TODAY)
        found: Years = (reading.earliest, reading.latest)
        score.rows += 1
        if wanted == (None, None) and found == (None, None):
            score.none += 1
            continue
        score.holds += found != (None, None) and _holds(found, wanted)
        if found == wanted:
            score.exact += 1
        if _near(found, wanted):
            score.near += 1
            continue
        _miss(score, reading)
        misses.append(f"{text} -> {found} {reading.certainty} (given {wanted})")
    return score, misses


def _miss(score: DateScore, reading: DateReading) -> None:
    if reading.earliest is None and reading.latest is None:
        score.unread += 1
        return
    score.wrong += 1
    score.confident += reading.certainty in ("stated", "circa")


def _near(found: Years, wanted: Years) -> bool:
    return wanted != (None, None) and all(
        a == b or (a is not None and b is not None and abs(a - b) <= NEAR)
        for a, b in zip(found, wanted, strict=True)
    )


def _holds(found: Years, wanted: Years) -> bool:
    low = found[0] is None or (wanted[0] is not None and found[0] <= wanted[0])
    high = found[1] is None or (wanted[1] is not None and wanted[1] <= found[1])
    return low and high


def _years(row: dict[str, str]) -> Years:
    earliest, latest = row["earliest"], row["latest"]
    return int(earliest) if earliest else None, int(latest) if latest else None
