"""Titles made of the trade's patterns, whose category is known because it was put there.

The patterns and the concepts are in `tests/bench/category_templates.py`; common practice, no source.
"""

from __future__ import annotations

from collections import Counter

import pytest

from tests.bench.category_templates import (
    LIKENESSES,
    NOT_IT,
    SEVERAL,
    UNLIKE,
    WHOLE,
    Case,
    cases,
    judged,
)

Judged = list[tuple[Case, str | None, str]]


@pytest.fixture(scope="module")
def readings() -> Judged:
    return list(judged())


def test_there_are_many_patterns_and_titles() -> None:
    assert len(WHOLE) + len(SEVERAL) + len(NOT_IT) + len(UNLIKE) + len(LIKENESSES) >= 80
    assert len(cases()) >= 8000
    assert len({case.concept for case in cases()}) >= 1200


def test_few_categories_are_accepted_in_error(readings: Judged) -> None:
    """What is sold alone, with parts, beside another thing, as a picture or as a part of it."""
    of_one = [
        (case, read, verdict) for case, read, verdict in readings if case.pattern not in UNLIKE
    ]
    wrong = [(case.title, read) for case, read, verdict in of_one if verdict == "wrong"]
    assert len(wrong) <= 0.001 * len(of_one), wrong


def test_the_thing_for_sale_is_found_and_accepted(readings: Judged) -> None:
    stated = [(case, read, verdict) for case, read, verdict in readings if case.wanted is not None]
    missed = [(case.title, read) for case, read, verdict in stated if verdict != "right"]
    assert len(missed) <= 0.006 * len(stated), missed


def test_unlike_things_of_one_rank_wait_for_a_person(readings: Judged) -> None:
    of_lots = [(case, read, verdict) for case, read, verdict in readings if case.pattern in UNLIKE]
    wrong = [(case.title, read) for case, read, verdict in of_lots if verdict == "wrong"]
    assert len(wrong) <= 0.08 * len(of_lots), wrong


def test_no_pattern_fails_as_a_pattern(readings: Judged) -> None:
    """A gap of one pattern would hide in the sum."""
    n = Counter(case.pattern for case, _, _ in readings)
    wrong = Counter(case.pattern for case, _, verdict in readings if verdict == "wrong")
    assert not {name: count for name, count in wrong.items() if count > 0.13 * n[name]}


def test_no_concept_fails_as_a_concept(readings: Judged) -> None:
    """A label that reads as another thing in every title would hide in the sum too."""
    n = Counter(case.concept for case, _, _ in readings)
    right = Counter(case.concept for case, _, verdict in readings if verdict == "right")
    assert not [name for name, count in n.items() if count >= 3 and right[name] < 0.5 * count]
