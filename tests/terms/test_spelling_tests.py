"""Tests of spellings are remembered under their name, so one name is one test."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pipeline.terms

NAMED = re.compile(r'spellings_that\(\s*"([^"]+)",\s*([^\n]+)')


def test_a_name_stands_for_one_test_of_spellings() -> None:
    """Two tests under one name would make the reading hang on which is asked first."""
    sources = sorted(Path(pipeline.terms.__file__).parent.glob("*.py"))
    asked = {
        match.groups() for path in sources for match in NAMED.finditer(path.read_text("utf-8"))
    }
    assert len(asked) > 5
    names = Counter(name for name, _ in asked)
    assert [name for name, count in names.items() if count > 1] == []
