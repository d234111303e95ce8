"""The two functions for readers of the package take whatever form a column of texts has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

import pipeline
from pipeline.errors import UsageError
from tests.bench.reading_score import labelled_rows

WORDS = ["oak", None, "vict. mahog"]
EXPECTED = ["oak", None, "mahogany"]


@pytest.mark.parametrize(
    "form",
    [
        list,
        tuple,
        iter,
        lambda words: np.array(words, dtype=object),
        pd.Series,
        lambda words: pd.Series(words, dtype="string"),
        lambda words: pd.Series(words, dtype="category"),
        lambda words: pd.Series([*words[:1], np.nan, *words[2:]]),
        pd.Index,
        pa.array,
        lambda words: pa.chunked_array([words[:1], words[1:]]),
        lambda words: pa.array(words).dictionary_encode(),
        lambda words: pa.array(words, pa.large_string()),
        lambda words: pa.array(words, pa.string_view()),
        lambda words: pa.array([word and word.encode() for word in words]),
    ],
)
def test_every_form_of_a_column_reads_alike(form: Callable[[list[str | None]], Any]) -> None:
    assert pipeline.read_terms(form(WORDS), "material")["concept_id"].to_pylist() == EXPECTED
    table = pipeline.read_terms(None, "material", titles=form(WORDS))
    assert table["concept_id"].to_pylist() == EXPECTED


@pytest.mark.parametrize(
    "nothing", [[], pa.array([], pa.string()), pa.chunked_array([], pa.string())]
)
def test_an_empty_column_gives_an_empty_table(nothing: Any) -> None:
    assert pipeline.read_terms(nothing, "category").num_rows == 0


def test_a_column_of_nothing_states_nothing() -> None:
    for column in ([None, None], pa.nulls(2), pd.Series([np.nan, np.nan])):
        table = pipeline.read_terms(column, "category")
        assert table["status"].to_pylist() == ["none", "none"]


def test_numbers_are_no_terms_and_no_error() -> None:
    table = pipeline.read_terms(pd.Series([1860, None]), "material")
    assert table["text"].to_pylist() == ["1860", None]
    assert table["concept_id"].to_pylist() == [None, None]


@pytest.mark.parametrize(
    "wrong",
    ["oak", b"oak", 5, None, {"a": 1}, pd.DataFrame({"a": ["oak"]}), pa.table({"a": ["oak"]})],
)
def test_what_is_no_column_is_refused_by_name(wrong: Any) -> None:
    with pytest.raises(UsageError, match="`texts` is") as failure:
        pipeline.read_terms(wrong, "material")
    assert "Give" in failure.value.todo


@pytest.mark.parametrize("value", [1860, 1860.0, np.int64(1860), b"1860", " 1860 "])
def test_a_year_is_a_year_in_every_type(value: Any) -> None:
    reading = pipeline.read_date(value, today=dt.date(2026, 1, 1))
    assert (reading.earliest, reading.latest) == (1860, 1860)


@pytest.mark.parametrize("value", [None, float("nan"), pd.NA, pd.NaT, np.nan, ""])
def test_nothing_is_no_date_in_every_type(value: Any) -> None:
    assert pipeline.read_date(value).certainty == "none"


@pytest.mark.parametrize("kind", ["category", "material"])
def test_a_title_in_a_field_is_read_as_a_title(kind: str) -> None:
    """Whoever hands titles over as texts gets nearly what titles give; short ones stay fields."""
    titles = [
        row["title"]
        for name in ("labelled_titles.csv", "labelled_trade.csv", "labelled_fresh.csv")
        for row in labelled_rows(name, "tune")
    ]
    as_field = pipeline.read_terms(titles, kind).to_pylist()
    as_title = pipeline.read_terms(None, kind, titles=titles).to_pylist()
    long = [i for i, title in enumerate(titles) if len(title.split()) > 6]
    assert len(long) > 300
    differ = [
        titles[i]
        for i in long
        if (as_field[i]["concept_id"], as_field[i]["status"])
        != (as_title[i]["concept_id"], as_title[i]["status"])
    ]
    assert len(differ) <= 0.02 * len(long), differ


def test_a_list_of_kinds_stays_a_field() -> None:
    texts = [
        "Antiques > Furniture > Chests of Drawers > Georgian Chests of Drawers",
        "Books & Maps",
    ]
    table = pipeline.read_terms(texts, "category")
    assert table["concept_id"].to_pylist()[0] == "chest-of-drawers"
    assert table["status"].to_pylist()[1] == "review"


def test_a_work_on_paper_is_no_thing_of_paper() -> None:
    """The medium of a drawing, as museums write it, is not taken for a title."""
    table = pipeline.read_terms(["ink and pencil on artist board from a sketchbook"], "material")
    assert table["concept_id"].to_pylist() == ["ink-drawing"]
