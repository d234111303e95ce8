"""Years of three digits, and other dates of titles that the words about them decide."""

from __future__ import annotations

import pyarrow as pa
import pytest

import pipeline
from pipeline.terms.titles import read_titles

Years = tuple[int | None, int | None]
NONE: Years = (None, None)


def years_of(titles: list[str]) -> list[Years]:
    rows = read_titles(pa.array(titles)).to_pylist()
    return [(row["made_earliest"], row["made_latest"]) for row in rows]


def check(cases: list[tuple[str, Years]]) -> None:
    found = years_of([title for title, _ in cases])
    wrong = [(t, w, f) for (t, w), f in zip(cases, found, strict=True) if f != w]
    assert wrong == []


def test_a_culture_vouches_for_years_of_three_digits() -> None:
    check(
        [
            ("Tunic, wool, Wari, 500-800", (500, 800)),
            ("Vase, Maya, 600-900", (600, 900)),
            ("Relief, Maya, c. 785", (780, 790)),
            ("Textile fragment, Coptic, 500-700", (500, 700)),
            ("Vessel, 800-1200, Manteno culture", (800, 1200)),
            ("Bowl, Teotihuacan (450-650)", (450, 650)),
            ("Jar, Northern Qi dynasty, 550-577", (550, 577)),
            ("Jar, Western Jin dynasty, 265-316", (265, 316)),
            ("Granary, earthenware, Han dynasty, 25-220", (25, 220)),
            ("Tang horse, 700-750", (700, 750)),
            ("Votive stele, Northern Wei dynasty, dated 524", (524, 524)),
        ]
    )


def test_years_of_three_digits_alone() -> None:
    check(
        [
            ("Book cover plaque, ivory, Metz, c. 870", (865, 875)),
            ("Bowl, 900s", (900, 999)),
            ("Mosaic, 500s", (500, 599)),
            ("Bowl, late 800s-early 900s", (875, 925)),
            ("Bowl, 800s CE", (800, 899)),
        ]
    )


@pytest.mark.parametrize(
    "title",
    [
        "Approx 500 beads", "Vase, weight c. 870 g", "Lot 500-800", "Box of c. 400 buttons",
        "Stamp album, est. 400-600", "Maya vase, est. 600-900", "Ring, 750", "Beads, c. 500",
        "Stamps (ca. 870)", "Roman blind, 100-200 cm", "Greek vase, 600-700 pieces",
        "Tin of Greek olives, 400-500 g", "Roman Catholic missal, pages 320-340",
        "Bowl, 300-400", "Jeans, 501s",
    ],
)  # fmt: skip
def test_sizes_counts_and_prices_are_no_years(title: str) -> None:
    assert years_of([title]) == [NONE]


def test_the_edo_of_benin_are_no_period_of_japan() -> None:
    check(
        [
            ("Plaque: warrior; brass; Edo peoples, Benin court, 16th-17th century", (1500, 1699)),
            ("Armlet, ivory, Edo artist, 16th-17th century", (1500, 1699)),
            ("Head of an Oba; brass; Edo; 17th century", (1600, 1699)),
            ("Bell, Benin, Edo peoples, 1550-1680", (1550, 1680)),
            ("Pendant: leopard, brass, Edo, Benin", NONE),
            ("Netsuke, ivory, Edo period, 19th century", (1800, 1868)),
        ]
    )


def test_initials_and_classes_tell_of_no_life() -> None:
    check(
        [
            ("Sampler, worked by M.B., 1798", (1798, 1798)),
            ("Box, carved J.B. 1688", (1688, 1688)),
            ("Box, carved J. B. 1688", (1688, 1688)),
            ("Mug, inscribed W D 1788", (1788, 1788)),
            ("Watercolour, signed D. Ravel 1888", (1888, 1888)),
            ("Medal, Class D, 1918", (1918, 1918)),
            ("Map, sheet 34 NE, 1888", (1888, 1888)),
            ("Vessel, A.D. 400-600", (400, 600)),
            ("Portrait of John Ravel (b. 1788)", NONE),
            ("Mourning ring, d. 1788", NONE),
        ]
    )


def test_a_gift_in_the_name_is_no_acquisition() -> None:
    check(
        [
            ("Tin, Christmas gift, brass, 1914", (1914, 1914)),
            ("Chair, gift of A. Ravel, 1923", NONE),
            ("Chair, mahogany, Gift, 1914", NONE),
        ]
    )


def test_what_is_dated_behind_a_word_of_style() -> None:
    check(
        [
            ("Teak sideboard danish style 1960s", (1960, 1969)),
            ("Sideboard colonial style 1975", (1975, 1975)),
            ("Chair Danish style (1960s)", (1960, 1969)),
            ("Sideboard Danish style c.1965", (1960, 1970)),
            ("Vintage style 1950s dress", NONE),
            ("Retro style 1970s lamp", NONE),
            ("Lamp in the style 1930s", NONE),
            ("1950's style stools", NONE),
            ("Old style 1950s telephone", NONE),
        ]
    )


def test_what_a_reproduction_bears() -> None:
    check(
        [
            ("Fireback cast iron dated 1649 reproduction", NONE),
            ("Reproduction fireback dated 1649", NONE),
            ("Later copy, dated 1902", (1902, 1902)),
            ("Fireback dated 1649, not a reproduction", (1649, 1649)),
        ]
    )


def test_a_year_behind_the_box() -> None:
    check(
        [
            ("Doll in box 1965", (1965, 1965)),
            ("Toy in original box 1972", (1972, 1972)),
            ("Box 1955", NONE),
            ("Archive box 1902", NONE),
        ]
    )


def test_years_of_something_else() -> None:
    check(
        [
            ("Georgian table, top replaced 1920", (1714, 1830)),
            ("Oak chest, lid replaced, c. 1680", (1675, 1685)),
            ("Chair with 1970s upholstery", NONE),
            ("Vase, published in Ravel 1984, p. 32, ca. 1750", (1745, 1755)),
            ("Tin, Ravel's Tea, since 1869", NONE),
            ("Panel, spurious date 1588, 19th century", (1800, 1899)),
            ("Facsimile of a map of 1610", NONE),
            ("Bowl, given to the museum in 1911", NONE),
            ("Apple peeler, cast iron, c1880 Pat'd. Ravelby", (1875, 1885)),
            ("Cutlery, deco, Ravel & Wood Ltd 1935", (1935, 1935)),
        ]
    )


def test_what_a_cataloguer_corrects() -> None:
    check(
        [
            ("Map, published 1662 [but c. 1680]", (1675, 1685)),
            ("Bible, London 1599 [but Ravelby, c. 1633], black letter", (1628, 1638)),
            ("Pamphlet, 1697 [i.e. 1679]", (1679, 1679)),
            ("Atlas, London 1794 [1801]", (1801, 1801)),
        ]
    )


def test_forms_of_other_languages() -> None:
    check(
        [
            ("Paire de vases, porcelaine, XVIIIe s.", (1700, 1799)),
            ("Commode, noyer, XVIIIe", (1700, 1799)),
            ("Lampe, années 50", (1950, 1959)),
            ("Vaso, anni '60", (1960, 1969)),
            ("Stoel, jaren 60", (1960, 1969)),
            ("Vas, 1950-tal", (1950, 1959)),
            ("Skål, silver, 1700-talets mitt", (1735, 1765)),
            ("Skab, 1800-tallet", (1800, 1899)),
            ("Самовар, конец XIX века", (1875, 1899)),
            ("Coin, 27 BC-AD 14", (-27, 14)),
            ("Jar, Neolithic, ca. 2600-2300 B.C.", (-2605, -2295)),
            ("Bowl, Daoguang six-character seal mark and of the period", (1821, 1850)),
        ]
    )


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("Maya, 600-900", (600, 900)),
        ("Northern Qi dynasty, 550-577", (550, 577)),
        ("Edo peoples, 16th-17th century", (1500, 1699)),
        ("900s", (900, 999)),
    ],
)
def test_texts_of_dates_agree(text: str, years: Years) -> None:
    read = pipeline.read_date(text)
    assert (read.earliest, read.latest) == years
