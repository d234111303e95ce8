"""Years of the Hijra, Polish centuries and dates that are conceded to be later, in fields and titles.

The years of the Hijra are checked against pairs that the Walters Art Museum publishes (CC0, object
IDs 30391, 10266 and 30162) and, for whole centuries, against the tabular calendar: 1 Muharram 1201
AH fell in October 1786, the end of 1300 AH in November 1883 (from memory). The rest is common
practice, no source.
"""

from __future__ import annotations

import datetime as dt

import pyarrow as pa
import pytest

from pipeline.terms.dates import find_dates, read_date
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary

TODAY = dt.date(2026, 11, 24)


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("1068 AH/AD 1657", 1657, 1657),
        ("9th century AH/AD 15th century", 1400, 1499),
        ("12th century AH/AD 18th century", 1700, 1799),
        ("late 9th century AH/AD 15th century", 1400, 1499),
        ("10th-11th century AH/AD 16th-17th century", 1500, 1699),
        ("12th century AH (18th century)", 1700, 1799),
        ("13th century AH", 1786, 1883),
        ("A.H. 13th century", 1786, 1883),
        ("AH 1068-70", 1657, 1660),
        ("between 1068 and 1070 AH", 1657, 1660),
        ("dated AH 1068 (1657-8 AD)", 1657, 1658),
        ("1255 H / 1839 CE", 1839, 1839),
        ("1255 Hijri", 1839, 1840),
        ("1657-58 AD", 1657, 1658),
        ("AD 150-75", 150, 175),
        ("AD 15th century", 1400, 1499),
        ("AD second half of the 2nd century", 150, 199),
        ("240-30 BC", -240, -30),
        ("Anf. 20. Jh.", 1900, 1925),
        ("ép. Napoléon III", 1852, 1870),
        ("Qajar, dated 1255/1839", 1839, 1839),
        ("1068/1657-58", 1657, 1658),
        ("1200/1300", 1200, 1300),
        ("Dynasty 26, 664-525 BC", -664, -525),
        ("25th-26th Dynasty, 747-525 BC", -747, -525),
        ("Qing dynasty 19th century", 1800, 1899),
        ("fine XIX inizio XX secolo", 1875, 1925),
        ("late 19th early 20th century", 1875, 1925),
        ("late Georgian early Victorian", 1791, 1858),
        ("inizio '900", 1900, 1925),
        ("fine '800, inizio '900", 1875, 1925),
        ("ultimo quarto '700", 1775, 1799),
        ("seconda metà del '700", 1750, 1799),
    ],
)
def test_fields_in_other_reckonings(text: str, earliest: int, latest: int) -> None:
    reading = read_date(text, today=TODAY)
    assert (reading.earliest, reading.latest) == (earliest, latest), reading
    assert reading.certainty == "stated"


@pytest.mark.parametrize(
    "text",
    ["dated 1786 but later", "dated 1786, but probably later", "bears date 1786, though later"],
)
def test_a_date_conceded_to_be_older_than_the_piece_opens_a_range(text: str) -> None:
    reading = read_date(text, today=TODAY)
    assert (reading.earliest, reading.latest) == (1786, None)
    assert reading.certainty == "uncertain"


@pytest.mark.parametrize("text", ["c.1780, but later painted", "18th century but later handles"])
def test_later_work_opens_no_range(text: str) -> None:
    assert read_date(text, today=TODAY).latest in (1785, 1799)


@pytest.mark.parametrize(
    ("text", "earliest", "latest", "certainty"),
    [
        ("1920s (or earlier)", None, 1929, "stated"),
        ("c. 1850 (and later)", 1845, None, "circa"),
        ("reg'd 1884", 1884, None, "stated"),
        ("after the 1690 original", None, None, "style"),
        ("after the 1920s", 1929, None, "stated"),
        ("composed of 17th century elements", None, None, "style"),
        ("assembled from 18th century parts, circa 1900", 1895, 1905, "partial"),
    ],
)
def test_open_ends_models_and_older_parts(
    text: str, earliest: int | None, latest: int | None, certainty: str
) -> None:
    reading = read_date(text, today=TODAY)
    assert (reading.earliest, reading.latest, reading.certainty) == (earliest, latest, certainty)


def test_the_turn_of_the_last_century_is_one_of_two() -> None:
    reading = read_date("turn of the last century", today=TODAY)
    assert (reading.earliest, reading.latest, reading.certainty) == (1890, 1910, "ambiguous")


TITLES = [
    ("Qajar copper bowl, AH 1255/1839", 1839, 1839),
    ("Qajar copper bowl, dated 1255 AH", 1839, 1840),
    ("Persian tile, 13th century AH", 1786, 1883),
    ("Obraz olejny, poł. XIX w.", 1835, 1865),
    ("Talerz porcelanowy, XIX w.", 1800, 1899),
    ("Komoda, 2 poł. XVIII w.", 1750, 1799),
    ("Zegar kominkowy, pocz. XX w.", 1900, 1925),
    ("Serwis, lata 30. XX w., komplet", 1930, 1939),
    ("Zegar, przełom XIX/XX w.", 1890, 1910),
    ("Figura, XVIII wieku", 1700, 1799),
    ("Oak chest, dated 1690 but later", 1690, None),
    ("Pine chest late 19th early 20th century", 1875, 1925),
    ("Persian sword, dated 1255/1839", 1839, 1839),
    # no date: a model's number, "w." for width or with, a volume, a firm's founding
    ("Silver tankard incorporating 1890 crown", None, None),
    ("Amplifier AH 1255", None, None),
    ("Ottoman silver box AH 1293", None, None),
    ("Encyclopaedia Vol XIX w. maps", None, None),
    ("Shoes size XX w. buckles", None, None),
    ("Biscuit tin, firm established 1822", None, None),
]


@pytest.mark.parametrize(("title", "earliest", "latest"), TITLES)
def test_titles_in_other_reckonings(title: str, earliest: int | None, latest: int | None) -> None:
    reading = find_dates(title, today=TODAY)
    assert (reading.earliest, reading.latest) == (earliest, latest), reading


def test_titles_are_read_alike_in_a_column() -> None:
    read = read_titles(pa.array([title for title, _, _ in TITLES]), vocabulary=Vocabulary.load())
    years = zip(read["made_earliest"].to_pylist(), read["made_latest"].to_pylist(), strict=True)
    assert list(years) == [(earliest, latest) for _, earliest, latest in TITLES]
