"""The rungs of the ladder on which a field's text is read."""

from __future__ import annotations

import datetime as dt

import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import UsageError
from pipeline.settings import TermSettings
from pipeline.terms.decisions import TermDecision, TermDecisions
from pipeline.terms.reader import SCHEMA, candidates, read_terms


def read(text: str | None, kind: str, decisions: TermDecisions | None = None) -> dict[str, object]:
    table = read_terms(pa.array([text], pa.string()), kind, decisions=decisions)
    return dict(table.to_pylist()[0])


@pytest.mark.parametrize(
    ("kind", "text", "concept", "method"),
    [
        ("category", "mantel-clock", "mantel-clock", "exact"),
        ("category", "Mantel Clock", "mantel-clock", "exact"),
        ("category", "teapots", "teapot", "label"),
        ("category", "clocks, mantel", "mantel-clock", "label"),
        ("category", "Furniture > Chairs > Dining", "dining-chair", "phrase"),
        ("category", "Ceramics & Glass > Teapots", "teapot", "phrase"),
        ("category", "Dining chairs (set of 4)", "dining-chair", "phrase"),
        ("material", "Oak & brass", "oak", "phrase"),
        ("material", "silver plated", "silver-plate", "label"),
        ("period", "Victorian", "victorian", "exact"),
        ("condition", "Good", "good", "exact"),
        ("condition", "VGC", "very_good", "label"),
        ("condition", "A/F", "poor", "label"),
        ("condition", "Used - Good", "good", "label"),
        ("attribution", "attributed to Gillow", "attributed-to", "phrase"),
    ],
)
def test_rungs(kind: str, text: str, concept: str, method: str) -> None:
    row = read(text, kind)
    assert (row["concept_id"], row["method"], row["status"]) == (concept, method, "accepted")


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("category", "chair lift"),
        ("material", "teal"),
        ("material", "wine"),
        ("material", "faux ivory"),
        ("material", "oak effect"),
        ("material", "not oak"),
        ("material", "grass"),
        ("period", "Vict/Edw"),
        ("period", "Empire?"),
        ("period", "Georgian or later"),
        ("condition", "not good"),
        ("attribution", "attributed to or circle of"),
        ("category", "see description"),
        ("material", "n/a"),
    ],
)
def test_never_accepted(kind: str, text: str) -> None:
    row = read(text, kind)
    assert row["status"] in ("review", "none") or row["concept_id"] in ("grained", "faux-ivory")


def test_a_subset_of_words_is_no_likeness() -> None:
    # a measure on sets of words calls these equal; nothing may be accepted on that
    row = read("oak table leg screw", "category")
    assert (row["concept_id"], row["status"]) != ("table", "accepted")


@pytest.mark.parametrize("text", [None, "", "  ", "N/A", "-", "unknown"])
def test_nothing_stated(text: str | None) -> None:
    row = read(text, "category")
    assert (row["concept_id"], row["status"], row["method"]) == (None, "none", "none")


def decide(kind: str, text: str, action: str, concept_id: str | None) -> TermDecision:
    return TermDecision(kind, text, concept_id, action, "A. Penley", dt.date(2024, 5, 1), "", 2)


def test_a_decision_beats_every_other_reading() -> None:
    decisions = TermDecisions(
        [
            decide("category", "chair lift", "accept", "armchair"),
            decide("material", "teal", "ignore", None),
            decide("category", "mantel clock", "reject", "mantel-clock"),
        ]
    )
    row = read("Chair LIFT", "category", decisions)
    assert (row["concept_id"], row["method"], row["status"]) == (
        "armchair",
        "decision",
        "accepted",
    )
    row = read("teal", "material", decisions)
    assert (row["concept_id"], row["status"]) == (None, "ignored")
    row = read("mantel clock", "category", decisions)
    assert row["concept_id"] != "mantel-clock" or row["status"] != "accepted"


def test_candidates_come_likeliest_first() -> None:
    found = candidates("wall clok", "category", n=4)
    assert len(found) <= 4
    assert "wall-clock" in [one.concept_id for one in found]
    assert [one.score for one in found] == sorted((one.score for one in found), reverse=True)
    assert len({one.concept_id for one in found}) == len(found)


def test_errors_say_what_to_do() -> None:
    with pytest.raises(UsageError, match="no kind of term 'colour'"):
        read_terms(pa.array(["red"]), "colour")
    with pytest.raises(UsageError, match="came with 1 titles"):
        read_terms(pa.array(["a", "b"]), "category", pa.array(["x"]))


TEXTS = st.sampled_from(
    ["oak table", "Clock, mantel", "chiar", "Teapots", "xyzzy", "table > dining", "brass", "?", ""]
)


@settings(deadline=None, max_examples=40)
@given(st.lists(TEXTS | st.none(), max_size=8))
def test_order_and_repetition_change_nothing(texts: list[str | None]) -> None:
    table = read_terms(pa.array(texts, pa.string()), "category")
    assert table.schema == SCHEMA
    assert table["text"].to_pylist() == texts
    rows = table.to_pylist()
    for text, row in zip(texts, rows, strict=True):
        assert row == read(text, "category")
    backwards = read_terms(pa.array(texts[::-1], pa.string()), "category").to_pylist()
    assert backwards[::-1] == rows


@settings(deadline=None, max_examples=30)
@given(TEXTS)
def test_what_was_read_reads_as_itself(text: str) -> None:
    row = read(text, "category")
    if row["concept_id"] is not None:
        again = read(str(row["concept_id"]), "category")
        assert again["concept_id"] == row["concept_id"]
        assert again["method"] == "exact"


def test_a_refused_reading_is_looked_for_again() -> None:
    """Where the only reading was refused, a person is offered the next in likeness."""
    text, lenient = pa.array(["pot cubboard"]), TermSettings(review_score=70)
    plain = read_terms(text, "category", settings=lenient).to_pylist()[0]
    assert (plain["concept_id"], plain["also"]) == ("pot-cupboard", [])
    no = TermDecision(
        "category", "pot cubboard", "pot-cupboard", "reject", "M. Tal", dt.date(2026, 1, 5), "no", 2
    )
    row = read_terms(text, "category", settings=lenient, decisions=TermDecisions([no])).to_pylist()[
        0
    ]
    likest = next(one for one in candidates("pot cubboard", "category") if one.score < 90)
    assert (row["concept_id"], row["status"], row["margin"]) == (likest.concept_id, "review", 0.0)
    strict = read_terms(text, "category", decisions=TermDecisions([no])).to_pylist()[0]
    assert (strict["concept_id"], strict["status"]) == (None, "none")


@pytest.mark.parametrize(
    ("text", "concept", "status"),
    [
        ("Chests & Trunks", "chest", "accepted"),  # a trunk is a chest: the broader holds both
        ("Candlesticks and Candelabra", "candlestick", "accepted"),
        ("Lighting > Lamps & Lighting", "lighting", "accepted"),
        ("Etchings & engravings", "etching", "review"),
        ("Cup and saucer", "cup-and-saucer", "accepted"),  # a name of its own
        ("Coffer?", "chest", "review"),
    ],
)
def test_two_kinds_in_one_value(text: str, concept: str, status: str) -> None:
    row = read(text, "category")
    assert (row["concept_id"], row["status"]) == (concept, status)


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("good to fair", "review"),
        ("Good structural condition, finish poor", "review"),
        ("Used: good", "accepted"),
        ("Mint?", "review"),
        ("less than perfect", "none"),
        ("perfect working order", "none"),  # it works: no word on how it looks
    ],
)
def test_grades_that_do_not_agree_wait_for_a_person(text: str, status: str) -> None:
    assert read(text, "condition")["status"] == status
