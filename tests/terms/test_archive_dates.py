"""Date strings and years from the test data of two open-source readers of archives' dates.

`archive_dates.csv`: the strings and the years that timetwister (MIT) and emendate (MIT) publish in
their specifications. Where our documented convention differs (circa opens five years, a century is
counted in hundreds, a list of years is their span), our years stand there and the remark says so.
"""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import pytest

import pipeline

TODAY = dt.date(2026, 11, 24)
NOT_READ_SO = {
    "[July] 4 1776?": "a month in brackets, which no catalogue writes: no date, and it says so",
    "[ca. 2000s]": "the decade or the century: both are given, to today, as ambiguous",
    "2020-3": "EDTF wants two digits; museums shorten ranges so: 2020 to 2023",
}
with (Path(__file__).parent / "archive_dates.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


def _years(row: dict[str, str]) -> tuple[int | None, int | None]:
    earliest, latest = (int(row[end]) if row[end] else None for end in ("earliest", "latest"))
    return earliest, latest


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"])
def test_dates_of_archives_are_read(row: dict[str, str]) -> None:
    reading = pipeline.read_date(row["text"], today=TODAY)
    read = (reading.earliest, reading.latest)
    if row["text"] in NOT_READ_SO:
        assert read != _years(row), "it is read now: take it from the exceptions"
        return
    assert read == _years(row), reading


def test_the_list_is_whole() -> None:
    assert len(ROWS) == 212
    assert {row["source"].split()[0] for row in ROWS} == {"timetwister", "emendate"}
    assert set(NOT_READ_SO) <= {row["text"] for row in ROWS}


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        # common practice, no source: what was cast or made later than its model is of that time
        ("1876, cast 1920s", 1920, 1929),
        ("modeled 1881, cast ca. 1905", 1900, 1910),
        ("1958 (this example 1962)", 1962, 1962),
        # python-edtf publishes the year of the picture here
        ("1863, printed 1870", 1863, 1863),
        ("late 3rd-early 2nd millennium BC", -2334, -1667),
        ("18th C. or later", 1700, None),
        ("19th c., 2nd half", 1850, 1899),
        ("18th century; last quarter", 1775, 1799),
    ],
)
def test_models_casts_and_parts_behind(text: str, earliest: int | None, latest: int | None) -> None:
    reading = pipeline.read_date(text, today=TODAY)
    assert (reading.earliest, reading.latest) == (earliest, latest), reading


def test_a_list_of_years_is_their_span_and_says_so() -> None:
    reading = pipeline.read_date("1935, 1946-47", today=TODAY)
    assert (reading.earliest, reading.latest, reading.certainty) == (1935, 1947, "ambiguous")
    assert pipeline.read_date("24, 36", today=TODAY).certainty == "none"


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        # common practice, no source
        ("for the 1953 coronation, made 2002", 2002, 2002),
        ("labelled 1721, probably c. 1890", 1885, 1895),
        ("c. 1822, engraved 1901", 1817, 1827),
        ("made from 19th century timbers", None, None),
    ],
)
def test_what_a_date_is_of(text: str, earliest: int | None, latest: int | None) -> None:
    reading = pipeline.read_date(text, today=TODAY)
    assert (reading.earliest, reading.latest) == (earliest, latest), reading


def test_a_bound_after_today_is_today() -> None:
    reading = pipeline.read_date("before 1400-2000s", today=TODAY)
    assert (reading.latest, reading.edtf) == (2026, "/2026")
