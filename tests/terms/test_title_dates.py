"""Remains of titles that are read once for many say what each says by itself."""

from __future__ import annotations

import pytest

import pipeline
from pipeline.terms import date_remains
from pipeline.terms.dates.named import load_named

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
