"""Field and title together: who wins, and what is reported."""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles


@pytest.mark.parametrize(
    ("kind", "text", "title", "concept", "rule", "disagrees"),
    [
        # nothing in the field: the title is read
        ("category", None, "oak mantel clock", "mantel-clock", "title", False),
        ("category", "n/a", "oak mantel clock", "mantel-clock", "title", False),
        # the same
        ("category", "mantel clock", "oak mantel clock", "mantel-clock", "agree", False),
        # the title says more on the same line of the tree
        ("category", "clock", "Victorian mantel clock", "mantel-clock", "title_narrower", False),
        # the field says more
        ("category", "mantel clock", "Victorian clock", "mantel-clock", "field", False),
        # they contradict: the field was chosen by somebody
        ("category", "table", "brass candlestick", "table", "field", True),
        ("material", "oak", "mahogany table", "oak", "field", True),
        # a piece is no better than the worse of two grades
        ("condition", "excellent", "oak chair, poor condition", "poor", "title_lower", True),
        ("condition", "poor", "oak chair, excellent condition", "poor", "field", True),
        ("condition", "used", "oak chair in good condition", "good", "title_narrower", False),
        # a copy is never pooled with what it copies
        (
            "attribution",
            "of the period",
            "repro Georgian chair",
            "reproduction",
            "title_later",
            True,
        ),
        ("attribution", "reproduction", "Georgian chair", "reproduction", "field", True),
    ],
)
def test_who_wins(
    kind: str, text: str | None, title: str, concept: str, rule: str, disagrees: bool
) -> None:
    table = read_terms(pa.array([text], pa.string()), kind, pa.array([title]))
    row = table.to_pylist()[0]
    assert (row["concept_id"], row["rule"], row["disagrees"]) == (concept, rule, disagrees)


def test_the_loser_is_kept_in_also() -> None:
    table = read_terms(pa.array(["table"]), "category", pa.array(["brass candlestick"]))
    assert "candlestick" in table["also"].to_pylist()[0]


def test_rows_keep_their_order_and_text() -> None:
    texts = pa.array(["oak", None, "pine", "oak"] * 50)
    titles = pa.array(["oak chair", "teak desk", None, "elm stool"] * 50)
    table = read_terms(texts, "material", titles)
    assert table["text"].to_pylist() == texts.to_pylist()
    assert table["concept_id"].to_pylist()[:4] == ["oak", "teak", "pine", "oak"]
    assert table["disagrees"].to_pylist()[:4] == [False, False, False, True]


def test_the_currency_tells_what_two_trades_mean() -> None:
    texts = pa.array(["bureau", "bureau", "bureau", "Dresser", None])
    titles = pa.array(["oak", "oak", "oak", "pine", "Inlaid bureau, 1930s"])
    codes = pa.array(["GBP", "USD", None, "USD", "GBP"])
    waiting = read_terms(texts, "category", titles)
    assert set(waiting["status"].to_pylist()) == {"review"}
    table = read_terms(texts, "category", titles, currencies=codes)
    assert table["concept_id"].to_pylist()[:2] == ["bureau", "chest-of-drawers"]
    assert table["status"].to_pylist() == ["accepted", "accepted", "review", "accepted", "accepted"]
    assert table["concept_id"].to_pylist()[3:] == ["chest-of-drawers", "bureau"]
    read = read_titles(titles, currencies=codes)
    assert (read["category_id"].to_pylist()[4], read["category_status"].to_pylist()[4]) == (
        "bureau",
        "accepted",
    )
