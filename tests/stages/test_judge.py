"""The judge lays like checks of many tables under one another, and tells each its own faults."""

from __future__ import annotations

import pandas as pd
import pytest

from pipeline.stages.judge import NOT_NULL, ONCE, SHOWN, TRUE, Judge, between, one_of

KEYS = pd.Series(["a", "b", "c"])


@pytest.fixture(scope="module")
def judge() -> Judge:
    return Judge()


def test_each_check_hears_of_its_own_rows(judge: Judge) -> None:
    judge.ask(NOT_NULL, 0, KEYS, pd.Series(["x", None, "z"]))
    judge.ask(NOT_NULL, 1, KEYS, pd.Series([1.0, 2.0, 3.0]))
    judge.ask(NOT_NULL, 2, KEYS, pd.Series([pd.NaT, pd.NaT, pd.Timestamp("2024-01-01")]))
    judge.ask(NOT_NULL, 3, KEYS, pd.Series([["x"], None, []]))
    judge.ask(between(min_value=0), 4, KEYS, pd.Series([0.0, -0.5, None]))
    judge.ask(between(min_value=0), 5, KEYS, pd.Series([7, 8, 9]))
    judge.ask(between(max_value=1), 6, KEYS, pd.Series([7, 1, 0]))
    judge.ask(one_of(["good", "fair"]), 7, KEYS, pd.Series(["good", "poor", None]))
    judge.ask(one_of(["good"]), 8, KEYS, pd.Series(["good", "good", "fair"]))
    judge.ask(TRUE, 9, KEYS, pd.Series([True, None, False], dtype="object"))
    assert judge.answers() == {
        0: ["b"], 2: ["a", "b"], 3: ["b"], 4: ["b"], 6: ["a"], 7: ["b"], 8: ["c"], 9: ["c"],
    }  # fmt: skip
    assert judge.answers() == {}


def test_a_key_stands_once_in_its_table(judge: Judge) -> None:
    keys = pd.Series(["a", "b", "a", "c"])
    judge.ask(ONCE, 0, keys, "sales: " + keys)
    judge.ask(ONCE, 1, KEYS, "labels: " + KEYS)
    assert judge.answers() == {0: ["a"]}


def test_a_long_list_is_closed_too(judge: Judge) -> None:
    known = [f"kind-{n}" for n in range(500)]
    judge.ask(one_of(known), 0, KEYS, pd.Series(["kind-1", None, "kind-500"]))
    assert judge.answers() == {0: ["c"]}


def test_many_faults_are_shown_in_part(judge: Judge) -> None:
    keys = pd.Series([f"row {n}" for n in range(2 * SHOWN)])
    judge.ask(NOT_NULL, 3, keys, pd.Series([None] * len(keys)))
    assert judge.answers() == {3: keys[:SHOWN].tolist()}


def test_a_check_that_cannot_be_made_has_failed(judge: Judge) -> None:
    judge.ask(between(min_value=0), 0, KEYS, pd.Series(["x", "y", "z"]))
    (told,) = judge.answers()[0]
    assert "the check itself failed" in told


def test_rows_where_there_must_be_none(judge: Judge) -> None:
    assert judge.is_empty(pd.DataFrame({"row_key": []}))
    assert not judge.is_empty(pd.DataFrame({"row_key": ["a"]}))
