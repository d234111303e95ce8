"""Properties of date reading, and its agreement with the edtf package's parser and phrases."""

from __future__ import annotations

import ast
import datetime as dt
import os
import tarfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipeline.terms.dates import CERTAINTIES, find_dates, read_date
from pipeline.terms.dates.lexer import PLACE_HOLDER, lex, lex_title
from pipeline.terms.dates.lexicon import WORDS
from pipeline.terms.dates.phrases import PHRASES

TODAY = dt.date(2026, 11, 24)

_YEAR = st.integers(1400, 2026).map(str)
_CENTURY = st.sampled_from(
    ["19th century", "18th C.", "C17th", "XVIIIe siècle", "19. Jh.", "s. XIX", "sec. XVIII"]
)
_POINT = st.one_of(
    _YEAR,
    _CENTURY,
    st.integers(140, 202).map(lambda tens: f"{tens}0s"),
    st.sampled_from(["George III", "Meiji", "Art Deco", "300 BC", "2nd century BC", "May 1872"]),
)
_PREFIX = st.sampled_from(
    ["", "ca. ", "c.", "circa ", "probably ", "early ", "late ", "before ", "after ", "mid-", "by "]
)
_DASH = st.sampled_from(["-", " - ", "–", " to ", "/", " or "])
PHRASE = st.one_of(
    st.tuples(_PREFIX, _POINT).map("".join),
    st.tuples(_PREFIX, _POINT, _DASH, _PREFIX, _POINT).map("".join),
    st.tuples(_POINT, st.sampled_from(["?", " (?)", " style", ", printed 1920", " and later"])).map(
        "".join
    ),
)


# The grammar's own words in any order: what no cataloguer writes must still hold together.
_VOCABULARY = [*WORDS, *(" ".join(words) for items in PHRASES.values() for words, _, _ in items)]
_PIECES = ["1860", "1990-2050", "19th", "2000s", "300 BC", "c18", "XIXe", "186-", "meiji", "mid"]
JUMBLE = st.lists(
    st.sampled_from(_VOCABULARY) | st.sampled_from([*_PIECES, "-", "/", ",", "(", ")", "?", "."]),
    max_size=6,
).map(" ".join)


def _key(text: str) -> tuple[object, ...]:
    reading = read_date(text, today=TODAY)
    return reading.earliest, reading.latest, reading.edtf, reading.certainty, reading.rule


@given(PHRASE | JUMBLE | st.text(max_size=40))
@settings(max_examples=400, deadline=None)
@example("1st century B.C.-1st century A.D.")
@example("500000 BC")
@example("ca. 2 BC")
def test_a_reading_holds_together(text: str) -> None:
    for reading in (read_date(text, today=TODAY), find_dates(text, today=TODAY)):
        assert reading.certainty in CERTAINTIES
        assert reading.text == text
        if reading.certainty in ("none", "style"):
            assert not reading.is_date
        else:
            assert reading.is_date and reading.edtf
        if reading.earliest is not None and reading.latest is not None:
            assert reading.earliest <= reading.latest
        if reading.latest is not None:
            assert reading.latest <= TODAY.year
        assert reading.earliest != 0 and reading.latest != 0
        if reading.earliest is not None:
            assert reading.earliest <= TODAY.year


@given(PHRASE)
@settings(max_examples=300, deadline=None)
def test_case_spaces_and_forms_of_dash_change_nothing(text: str) -> None:
    plain = _key(text)
    assert _key(text.upper()) == plain
    assert _key(text.lower()) == plain
    assert _key(f"  {text.replace(' ', '  ')}\n") == plain
    for dash in "‐‑–—−":
        assert _key(text.replace("-", dash)) == plain


@given(PHRASE)
@settings(max_examples=200, deadline=None)
def test_the_settings_only_widen(text: str) -> None:
    narrow = read_date(text, circa_years=0, today=TODAY)
    wide = read_date(text, circa_years=10, today=TODAY)
    assert narrow.is_date == wide.is_date
    if narrow.earliest is not None and wide.earliest is not None:
        assert wide.earliest <= narrow.earliest
    if narrow.latest is not None and wide.latest is not None:
        assert wide.latest >= narrow.latest


@given(PHRASE)
@settings(max_examples=80, deadline=None)
def test_the_edtf_parser_takes_what_we_write(text: str) -> None:
    edtf = pytest.importorskip("edtf", reason="needs the edtf package (test only)")
    reading = read_date(text, today=TODAY)
    if reading.edtf is None:
        return
    parsed = edtf.parse_edtf(reading.edtf)
    low, high = parsed.lower_strict().tm_year, parsed.upper_strict().tm_year
    slack = 5 if reading.edtf.count("~") or reading.edtf.count("%") else 0
    if reading.rule == "part_of_century" and reading.certainty == "uncertain":
        return
    if reading.earliest is not None and not reading.edtf.startswith("/"):
        counted = reading.earliest + (reading.earliest < 0)
        first = edtf.parse_edtf(reading.edtf.split("/")[0]) if "/" in reading.edtf else parsed
        assert low - slack <= counted <= first.upper_strict().tm_year + slack
    if reading.latest is not None and not reading.edtf.endswith("/"):
        counted = reading.latest + (reading.latest < 0)
        last = edtf.parse_edtf(reading.edtf.split("/")[-1]) if "/" in reading.edtf else parsed
        assert last.lower_strict().tm_year - slack <= counted <= high + slack


# Where we differ from the phrases that python-edtf 5.0.2 publishes (tests/test_natlang.py, MIT),
# and why. Its authors call some of them limits of their parser.
DIFFERENCES = {
    "active late 17th-19th centuries": "late is read: from 1675",
    "90": "two digits alone are a number, not a year",
    "c1900s": "a century or a decade: the wide reading, marked ambiguous",
    "c1800s?": "a century or a decade: the wide reading, marked ambiguous",
    "year in about the 1800s": "a century or a decade: the wide reading, marked ambiguous",
    "before about the 1900s": "written so that python-edtf's own parser reads it: /1900~",
    "before the 1900s": "written so that python-edtf's own parser reads it: /1900",
    "before 19th century": "written so that python-edtf's own parser reads it: /1800",
    "after about the 1920s": "written so that python-edtf's own parser reads it: 1929~/",
    "10/7/2008": "day and month cannot be told apart: the year alone",
    "month in 1872": "the year is what counts",
    "day in Spring 1849": "the year is what counts",
    "day in January 1872": "the year is what counts",
    "day in 1872": "the year is what counts",
    "a day in about Spring 1849?": "the year is what counts",
    "c64 BCE": "EDTF has a year 0: 64 BC is -0063",
    "1857-mid 1860s": "mid is read: to 1866",
    "1920s -early 1930s": "early is read: to 1933",
    "1858/1860": "the text is an EDTF interval as it stands",
    "1861-67 (later print)": "a later print is later",
    "1863 or 1864": "both years: one of a set",
    "1864 or 1866": "both years: one of a set",
}


def _published_phrases() -> list[tuple[str, str | None]]:
    """The phrases, from an unpacked or packed sdist that EDTF_SDIST names; nothing is copied."""
    place = os.environ.get("EDTF_SDIST")
    if not place or not Path(place).exists():
        pytest.skip("EDTF_SDIST does not name the edtf 5.0.2 sdist (pip download --no-binary)")
    path = Path(place)
    if path.is_file():
        with tarfile.open(path) as archive:
            member = next(n for n in archive.getnames() if n.endswith("tests/test_natlang.py"))
            handle = archive.extractfile(member)
            source = handle.read().decode("utf-8") if handle else ""
    else:
        source = next(path.rglob("test_natlang.py")).read_text(encoding="utf-8")
    function = next(
        node
        for node in ast.parse(source).body
        if isinstance(node, ast.FunctionDef) and node.name == "test_natlang"
    )
    decorator = function.decorator_list[0]
    assert isinstance(decorator, ast.Call)
    return list(ast.literal_eval(decorator.args[1]))


def test_agreement_with_the_phrases_of_python_edtf() -> None:
    phrases = _published_phrases()
    assert len(phrases) == 136
    differing = {
        text for text, expected in phrases if read_date(text, today=TODAY).edtf != expected
    }
    assert differing <= set(DIFFERENCES), differing - set(DIFFERENCES)


@given(
    st.lists(
        st.sampled_from([PLACE_HOLDER] * 30 + _VOCABULARY + _PIECES) | st.sampled_from("'$7.c"),
        max_size=9,
    ),
    st.lists(st.sampled_from([" ", " ", " ", "", "-", ", ", " (", "/", ".", "  "]), min_size=9),
)
@settings(max_examples=400, deadline=None)
@example(["185", PLACE_HOLDER], ["- "] * 9)
@example(["e", PLACE_HOLDER, "c18"], [" "] * 9)
def test_a_title_cut_at_place_holders_has_the_same_tokens(
    words: list[str], gaps: list[str]
) -> None:
    folded = "".join(word + gap for word, gap in zip(words, gaps, strict=False))
    assert list(lex_title(folded)) == lex(folded)
