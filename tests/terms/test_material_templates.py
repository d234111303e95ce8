"""Titles made of the trade's patterns, whose material is known because it was put there.

The patterns and the concepts are in `tests/bench/material_templates.py`; common practice, no source.
"""

from __future__ import annotations

from collections import Counter

import pytest

from tests.bench.material_templates import NONE, SEEMING, WHOLE, Case, cases, judged

Judged = list[tuple[Case, str | None, str]]


@pytest.fixture(scope="module")
def readings() -> Judged:
    return list(judged())


def test_there_are_many_patterns_and_titles() -> None:
    assert len(WHOLE) + len(NONE) + len(SEEMING) >= 60
    assert len(cases()) >= 3000
    assert len({case.material for case in cases()}) >= 150


def test_few_materials_are_accepted_in_error(readings: Judged) -> None:
    wrong = [(case.title, read) for case, read, verdict in readings if verdict == "wrong"]
    assert len(wrong) <= 0.002 * len(readings), wrong


def test_the_material_of_the_whole_is_found_and_accepted(readings: Judged) -> None:
    """Stones and gold that may be a colour, as in a turquoise vase, wait for a person."""
    stated = [(case, verdict) for case, _, verdict in readings if case.wanted is not None]
    right = sum(verdict == "right" for _, verdict in stated)
    assert right >= 0.95 * len(stated)


def test_no_pattern_fails_as_a_pattern(readings: Judged) -> None:
    """A gap of one pattern would hide in the sum."""
    n = Counter(case.pattern for case, _, _ in readings)
    wrong = Counter(case.pattern for case, _, verdict in readings if verdict == "wrong")
    assert not {name: count for name, count in wrong.items() if count > 0.05 * n[name]}
