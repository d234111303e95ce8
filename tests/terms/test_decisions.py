"""Decisions on texts: proved when read, added whole or not at all."""

from __future__ import annotations

import csv
import datetime as dt
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import DecisionError
from pipeline.terms.decisions import (
    HEADER,
    TermDecisions,
    append_decision,
    decision_key,
    read_term_decisions,
)
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary
from tests.terms.test_vocabulary import GOOD

HEAD = ",".join(HEADER)
TODAY = dt.date(2026, 3, 1)


@pytest.fixture(scope="module")
def vocabulary(tmp_path_factory: pytest.TempPathFactory) -> Vocabulary:
    folder = tmp_path_factory.mktemp("package")
    for name, text in GOOD.items():
        (folder / name).write_text(text, encoding="utf-8")
    return Vocabulary.load(package_dir=folder)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "decisions" / "terms.csv"


def _write(path: Path, *lines: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join([HEAD, *lines]) + "\n", encoding="utf-8")


def test_no_file_is_no_decision(path: Path, vocabulary: Vocabulary) -> None:
    decisions = read_term_decisions(path, vocabulary)
    assert len(decisions) == 0
    assert decisions.table.num_rows == 0
    assert decisions.find("material", "mahog") is None


def test_decisions_are_found_by_kind_and_text_in_any_spelling(
    path: Path, vocabulary: Vocabulary
) -> None:
    _write(
        path,
        'material,"Hog, red",mahogany,accept,A. Reader,2026-02-01,The seller told me.',
        "material,man made,,ignore,A. Reader,2026-02-01,Says nothing.",
        "material,mahonia,mahogany,reject,A. Reader,2026-02-01,A shrub.",
        "material,mahonia,cuban-mahogany,reject,A. Reader,2026-02-01,A shrub.",
    )
    decisions = read_term_decisions(path, vocabulary)
    found = decisions.find("material", "  HOG  red ")
    assert found is not None
    assert found.concept_id == "mahogany"
    assert (found.who, found.decided_on, found.line) == ("A. Reader", dt.date(2026, 2, 1), 2)
    ignored = decisions.find("material", "Man-Made")
    assert ignored is not None
    assert ignored.concept_id is None
    assert decisions.find("category", "hog red") is None
    # a rejection settles nothing; it takes candidates away
    assert decisions.find("material", "mahonia") is None
    assert decisions.rejected("material", "Mahonia") == {"mahogany", "cuban-mahogany"}
    assert decisions.rejected("material", "hog red") == frozenset()


def test_the_table_has_the_columns_of_the_file(path: Path, vocabulary: Vocabulary) -> None:
    _write(
        path, "condition,tidy,good,accept,A,2026-02-01,So.", "condition,x,,ignore,A,2026-02-01,So."
    )
    table = read_term_decisions(path, vocabulary).table
    assert table.column_names == [*HEADER, "line"]
    assert table["decided_on"].to_pylist() == [dt.date(2026, 2, 1)] * 2
    assert table["concept_id"].to_pylist() == ["good", None]


def test_grades_that_differ_by_a_sign_are_two_texts(path: Path, vocabulary: Vocabulary) -> None:
    assert normalise_label("B+") == normalise_label("B-")
    _write(
        path,
        "condition,B+,good,accept,A,2026-02-01,So.",
        "condition,B-,used,accept,A,2026-02-01,So.",
    )
    decisions = read_term_decisions(path, vocabulary)
    plus, minus = decisions.find("condition", "b+"), decisions.find("condition", "B- ")
    assert plus is not None and minus is not None
    assert (plus.concept_id, minus.concept_id) == ("good", "used")


def test_unused_decisions(path: Path, vocabulary: Vocabulary) -> None:
    _write(
        path,
        "condition,tidy,good,accept,A,2026-02-01,So.",
        "condition,neat,good,accept,A,2026-02-01,So.",
        "material,tidy,,ignore,A,2026-02-01,So.",
    )
    decisions = read_term_decisions(path, vocabulary)
    unused = decisions.unused({("condition", "TIDY!"), ("category", "neat")})
    assert [(one.kind, one.text) for one in unused] == [("condition", "neat"), ("material", "tidy")]


BROKEN = [
    ("no kind", ",a,good,accept,A,2026-02-01,So.", "kind", "names no kind"),
    ("unknown kind", "colour,a,good,accept,A,2026-02-01,So.", "kind", "'colour' is no kind"),
    ("no text", "condition,,good,accept,A,2026-02-01,So.", "text", "names no text"),
    ("no action", "condition,a,good,,A,2026-02-01,So.", "action", "what to do"),
    ("bad action", "condition,a,good,yes,A,2026-02-01,So.", "action", "'yes' is no action"),
    ("nobody", "condition,a,good,accept,,2026-02-01,So.", "who", "Nobody stands by"),
    ("no date", "condition,a,good,accept,A,,So.", "decided_on", "has no date"),
    ("no reason", "condition,a,good,accept,A,2026-02-01,", "why", "gives no reason"),
    ("bad date", "condition,a,good,accept,A,1 Feb 2026,So.", "decided_on", "is no date"),
    ("day that is none", "condition,a,good,accept,A,2026-02-30,So.", "decided_on", "is no date"),
    ("date without hyphens", "condition,a,good,accept,A,20260201,So.", "decided_on", "is no date"),
    ("unknown concept", "material,a,mahogani,accept,A,2026-02-01,So.", "concept_id", "no material"),
    ("no concept", "material,a,,accept,A,2026-02-01,So.", "concept_id", "names no material"),
    ("ignored concept", "material,a,wood,ignore,A,2026-02-01,So.", "concept_id", "to be ignored"),
]


@pytest.mark.parametrize(
    ("line", "column", "message"), [case[1:] for case in BROKEN], ids=[case[0] for case in BROKEN]
)
def test_a_line_that_does_not_hold_is_named(
    path: Path, vocabulary: Vocabulary, line: str, column: str, message: str
) -> None:
    _write(path, "condition,tidy,good,accept,A,2026-02-01,So.", line)
    with pytest.raises(DecisionError) as caught:
        read_term_decisions(path, vocabulary)
    assert message in caught.value.what
    assert caught.value.where == f"{path}, line 3, column {column}"
    assert caught.value.todo


def test_an_unknown_concept_names_the_nearest(path: Path, vocabulary: Vocabulary) -> None:
    _write(path, "material,a,mahogani,accept,A,2026-02-01,So.")
    with pytest.raises(DecisionError, match=r"Nearest: mahogany \(mahogony\)|Nearest: mahogany"):
        read_term_decisions(path, vocabulary)


def test_a_missing_column_is_named(path: Path, vocabulary: Vocabulary) -> None:
    path.parent.mkdir()
    path.write_text("kind,text,concept_id,action,who,why\n")
    with pytest.raises(DecisionError, match="column decided_on is missing"):
        read_term_decisions(path, vocabulary)


DISAGREEING = [
    ("accept,good", "accept,used"),
    ("accept,good", "ignore,"),
    ("ignore,", "accept,good"),
    ("accept,good", "reject,good"),
    ("reject,good", "accept,good"),
]
AGREEING = [
    ("accept,good", "accept,good"),
    ("ignore,", "ignore,"),
    ("accept,good", "reject,used"),
    ("reject,used", "accept,good"),
    ("reject,good", "reject,used"),
    ("reject,good", "ignore,"),
]


def _two(first: str, second: str) -> list[str]:
    lines = []
    for text, said in (("Tidy", first), ("tidy.", second)):
        action, concept = said.split(",")
        lines.append(f"condition,{text},{concept},{action},A,2026-02-01,So.")
    return lines


@pytest.mark.parametrize(("first", "second"), DISAGREEING)
def test_two_lines_that_disagree_are_an_error(
    path: Path, vocabulary: Vocabulary, first: str, second: str
) -> None:
    _write(path, *_two(first, second))
    with pytest.raises(DecisionError, match=r"disagree: .* in line 2, .* in line 3"):
        read_term_decisions(path, vocabulary)


@pytest.mark.parametrize(("first", "second"), AGREEING)
def test_two_lines_that_agree_are_none(
    path: Path, vocabulary: Vocabulary, first: str, second: str
) -> None:
    _write(path, *_two(first, second))
    assert len(read_term_decisions(path, vocabulary)) == 2


# --- adding a decision ---------------------------------------------------------------------


def _append(path: Path, vocabulary: Vocabulary, text: str, concept: str | None = "good") -> None:
    append_decision(
        path,
        vocabulary,
        kind="condition",
        text=text,
        concept_id=concept,
        action="accept" if concept else "ignore",
        who="A. Reader",
        why="I looked at the piece.",
        decided_on=TODAY,
    )


def test_a_decision_is_added_and_found(path: Path, vocabulary: Vocabulary) -> None:
    _append(path, vocabulary, "tidy")
    _append(path, vocabulary, "as ever", None)
    assert path.read_text(encoding="utf-8") == (
        f"{HEAD}\n"
        "condition,tidy,good,accept,A. Reader,2026-03-01,I looked at the piece.\n"
        "condition,as ever,,ignore,A. Reader,2026-03-01,I looked at the piece.\n"
    )
    assert [one.line for one in read_term_decisions(path, vocabulary).decisions] == [2, 3]
    assert [entry.name for entry in path.parent.iterdir()] == ["terms.csv"]


def test_what_is_there_stays_byte_for_byte(path: Path, vocabulary: Vocabulary) -> None:
    path.parent.mkdir()
    there = (
        b"\xef\xbb\xbfwhy,kind,text,concept_id,action,who,decided_on,note\r\n"
        b"So.,condition,neat,good,accept,A,2026-02-01,mine"
    )
    path.write_bytes(there)
    _append(path, vocabulary, "tidy")
    data = path.read_bytes()
    assert data.startswith(there + b"\n")
    decisions = read_term_decisions(path, vocabulary)
    found = decisions.find("condition", "tidy")
    assert found is not None
    assert (found.why, found.line) == ("I looked at the piece.", 3)


@pytest.mark.parametrize("text", ["=1+1", "+new", "-style", "@home", "'-old", '"a", b', "'plain"])
def test_no_cell_starts_a_formula_and_every_text_comes_back(
    path: Path, vocabulary: Vocabulary, text: str
) -> None:
    _append(path, vocabulary, text)
    with path.open(encoding="utf-8", newline="") as lines:
        cells = list(csv.reader(lines))[1]
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)
    (decision,) = read_term_decisions(path, vocabulary).decisions
    assert decision.text == text


def test_a_decision_that_disagrees_is_not_written(path: Path, vocabulary: Vocabulary) -> None:
    _append(path, vocabulary, "tidy")
    before = path.read_bytes()
    with pytest.raises(DecisionError, match="disagree"):
        _append(path, vocabulary, "TIDY", "used")
    with pytest.raises(DecisionError, match="no condition 'splendid'"):
        _append(path, vocabulary, "bright", "splendid")
    assert path.read_bytes() == before


def test_a_failure_while_writing_leaves_the_old_file(
    path: Path, vocabulary: Vocabulary, monkeypatch: pytest.MonkeyPatch
) -> None:
    _append(path, vocabulary, "tidy")
    before = path.read_bytes()

    def fail(_: int) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OSError, match="disk is full"):
        _append(path, vocabulary, "neat")
    assert path.read_bytes() == before
    assert [entry.name for entry in path.parent.iterdir()] == ["terms.csv"]


# --- properties ----------------------------------------------------------------------------

texts = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=20).filter(
    lambda text: bool(text.strip())
)


@given(text=texts)
def test_any_text_comes_back_as_it_was_but_for_its_spaces(
    text: str, vocabulary: Vocabulary, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("d") / "terms.csv"
    _append(path, vocabulary, text)
    decisions = read_term_decisions(path, vocabulary)
    (decision,) = decisions.decisions
    assert decision.text == " ".join(text.split())
    assert decisions.find("condition", text) == decision
    assert decisions.unused({("condition", text)}) == ()


@given(text=texts)
def test_case_and_spacing_do_not_change_the_key(text: str) -> None:
    if normalise_label(text):
        assert decision_key(f"  {text}  ") == decision_key(text)
        if text.isascii():
            assert decision_key(text.upper()) == decision_key(text)


def test_an_empty_set_of_decisions_answers_everything() -> None:
    nothing = TermDecisions(())
    assert nothing.unused({("material", "oak")}) == ()
    assert nothing.rejected("material", "oak") == frozenset()
