"""Remains of titles that are read once for many say what each says by itself."""

from __future__ import annotations

import pyarrow as pa
import pytest

import pipeline
from pipeline.terms import date_remains
from pipeline.terms.dates.named import load_named
from pipeline.terms.titles import read_titles

FORMS = [
    "{} zz", "zz {} zz, zz 7", "{}", "{} period zz", "zz, {}", "zz {} style zz", "{} revival zz",
    "zz in the {} manner", "{}, marked zz", "early {} zz", "{} and later zz", "zz after {} zz",
    "not {} zz", "reproduction {} zz", "{} (7) zz", "of {} zz", "zz ({})", "late {}",
    "zz {} mark", "{} dynasty zz", "{} marked 7", "zz {}?", "probably {} zz", "{} or later",
    "{} zz c1784", "zz {}, 1851", "zz dated 1790, {}",
]  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_a_name_read_by_its_stand_in_says_the_same(form: str) -> None:
    names = [" ".join(words) for phrases in load_named().values() for words, _ in phrases]
    assert len(names) > 400
    differ = [
        text
        for text in map(form.format, names)
        if date_remains.read_remain(text, 5, "hundreds")
        != date_remains._read_once.__wrapped__(text, 5, "hundreds")
    ]
    assert differ == []


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("1950s 1960s", (1950, 1969)),
        ("1930s 40s 50s", (1930, 1959)),
        ("late 1960s early 1970s", (1967, 1973)),
        ("1960s 1950s", (1960, 1969)),
        ("1950s, 30 cm", (1950, 1959)),
    ],
)
def test_decades_side_by_side(text: str, years: tuple[int | None, int | None]) -> None:
    read = pipeline.read_date(text)
    assert (read.earliest, read.latest) == years


YEAR_FORMS = [
    "zz c1851 7", "zz, zz c. 1851", "zz circa 1851, zz", "zz ca 1851; zz", "zz 1851", "1851 zz",
    "zz (1851)", "zz, 1851.", "victorian zz, zz c1851 7", "zz dated 1851", "zz marked zz c1851",
    "zz dated 1851, zz", "antique zz zz, circa 1851", "zz, signed zz 1851", "reproduction zz 1851",
    "zz c1851 style zz", "zz patent 1851", "zz, empire zz, c1851", "zz before 1851", "zz 1851 7",
    "zz annees 1851", "zz.b. c1851. zz", "zz 1851-7", "zz after zz c1851", "a zz of 1851 and later",
]  # fmt: skip
YEARS = (1501, 1510, 1550, 1699, 1790, 1820, 1850, 1901, 1925, 1960, 1999)


@pytest.mark.parametrize("form", YEAR_FORMS)
@pytest.mark.parametrize("circa_years", [5, 10])
def test_a_year_read_for_all_years_is_read_as_each_is(form: str, circa_years: int) -> None:
    found = date_remains._read_any_year(form, circa_years, "hundreds")
    for year in YEARS if found is not None else ():
        each = date_remains._read_once(form.replace("1851", str(year)), circa_years, "hundreds")
        moved = [None if one is None else one - 1851 + year for one in found[:2]]
        assert each == (*moved, found[2]), (form, year)


def test_most_plain_years_are_read_for_all() -> None:
    found = [date_remains._read_any_year(form, 5, "hundreds") is not None for form in YEAR_FORMS]
    assert sum(found[:8]) == 8
    assert not any(found[YEAR_FORMS.index(one)] for one in ("zz annees 1851", "zz.b. c1851. zz"))


@pytest.mark.parametrize(
    ("title", "years"),
    [
        # a word of a phrase is a date's in its phrase alone
        ("Belt, gold tone, 80s", (1980, 1989)),
        ("Glass jug with gold spots, 60s", (1960, 1969)),
        ("Geo 3 oak chest", (1760, 1820)),
        ("Napoleon 3 cupboard", (1852, 1870)),
        # two titles that differ by the year alone
        ("Oak chair, c. 1740", (1735, 1745)),
        ("Oak chair, c. 1900", (1895, 1905)),
        ("Oak chair 1743", (1743, 1743)),
        ("Oak chair, 1743-7", (1743, 1747)),
    ],
)
def test_titles_read_side_by_side(title: str, years: tuple[int, int]) -> None:
    others = [f"Oak chair, c. {year}" for year in range(1700, 1720)]
    row = read_titles(pa.array([*others, title])).to_pylist()[-1]
    assert (row["made_earliest"], row["made_latest"]) == years


@pytest.mark.parametrize(
    ("title", "years"),
    [
        ("Belt, 1890's to 1900's", (1890, 1909)),
        ("Spares, 1700s-1800s", (1700, 1899)),
        ("Banjo 1900s-20s", (1900, 1929)),
        ("Vase, late 1800's early 1900's", (1875, 1925)),
        ("Weight, bronze; early nineteenth c. Star mark", (1800, 1825)),
        ("Bowl; 20 c., first half", (1900, 1950)),
        ("Pendant. C18-19th", (1700, 1899)),
        ("Vase 1930 ish", (1925, 1935)),
        ("Landscape, relined. Second half of the 17th century", (1650, 1699)),
        ("Bicycle, 1884; tyres renewed 1968", (1884, 1884)),
        ("Mangling board, wedding gift, 1757", (1757, 1757)),
        ("Print after a painting of 1882, c. 1890", (1885, 1895)),
        ("Armour in 16th century French taste, late 19th century", (1875, 1899)),
        ("Sundial dated 1679 but 20th century copy", (1900, 1999)),
        ("Portrait of 1920 after a photograph of 1860", (1920, 1920)),
        ("Set in 18th century Dutch tiles", (1700, 1799)),
        ("Jubilee mug 1837-1897", (1897, 1897)),
        ("Jubilee mug, 1887", (1887, 1887)),
        ("Chair, 1837-1897", (1837, 1897)),
    ],
)
def test_dates_of_titles(title: str, years: tuple[int, int]) -> None:
    row = read_titles(pa.array([title])).to_pylist()[0]
    assert (row["made_earliest"], row["made_latest"]) == years
