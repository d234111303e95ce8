"""Misspelt words: what is corrected, what never is, and outside figures for the measures."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from rapidfuzz.distance import OSA, DamerauLevenshtein, Jaro, JaroWinkler, Levenshtein

from pipeline.terms.lexicon import Lexicon, lexicon_for
from pipeline.terms.titles import TITLE_ACCEPT_SCORE


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return lexicon_for()


def read(lexicon: Lexicon, word: str) -> tuple[str, float]:
    numbers, scores = lexicon.look_up([word])
    known = {number: one for one, number in lexicon.words.items()}
    return known.get(int(numbers[0]), ""), float(scores[0])


# Winkler's published examples (as in the table of published figures for this project)
@pytest.mark.parametrize(
    ("one", "other", "jaro", "winkler"),
    [
        ("MARTHA", "MARHTA", 0.944, 0.961),
        ("DWAYNE", "DUANE", 0.822, 0.840),
        ("DIXON", "DICKSONX", 0.767, 0.813),
        ("JON", "JOHN", 0.917, 0.933),
        ("SHACKLEFORD", "SHACKELFORD", 0.970, 0.982),
    ],
)
def test_jaro_winkler_as_published(one: str, other: str, jaro: float, winkler: float) -> None:
    assert Jaro.similarity(one, other) == pytest.approx(jaro, abs=5e-4)
    assert JaroWinkler.similarity(one, other) == pytest.approx(winkler, abs=5e-4)


def test_edit_distances_as_published() -> None:
    assert Levenshtein.distance("kitten", "sitting") == 3
    # optimal string alignment against true Damerau
    assert OSA.distance("CA", "ABC") == 3
    assert DamerauLevenshtein.distance("CA", "ABC") == 2


def test_no_cut_off_parts_opposites_from_slips() -> None:
    """Why guards come before likeness: the opposites are the more alike."""
    slip = JaroWinkler.similarity("mahogany", "mahogony")
    assert JaroWinkler.similarity("bronze", "bronzed") > slip
    assert JaroWinkler.similarity("linen", "line") > slip


@pytest.mark.parametrize(
    ("spelling", "never"),
    [
        ("teal", "teak"),
        ("wine", "pine"),
        ("line", "linen"),
        ("bronzed", "bronze"),
        ("unrestored", "restored"),
        ("ivorine", "ivory"),
        ("silvered", "silver"),
        ("grass", "glass"),
        ("hickory", "ivory"),
        ("leatherette", "leather"),
        ("chain", "chair"),
        ("match", "watch"),
        ("medal", "metal"),
        ("poetry", "pottery"),
        ("paint", "print"),
        ("curved", "carved"),
    ],
)
def test_never_merged(lexicon: Lexicon, spelling: str, never: str) -> None:
    assert read(lexicon, spelling)[0] != never


@pytest.mark.parametrize(
    ("spelling", "word"),
    [
        ("mahogony", "mahogany"),
        ("chandaleer", "chandelier"),
        ("porcelian", "porcelain"),
        ("candelstick", "candlestick"),
        ("furneture", "furniture"),
        ("victorain", "victorian"),
        ("walnutt", "walnut"),
        ("barometter", "barometer"),
        ("earthenwear", "earthenware"),
    ],
)
def test_slips_are_read(lexicon: Lexicon, spelling: str, word: str) -> None:
    found, score = read(lexicon, spelling)
    assert found == word
    assert score >= TITLE_ACCEPT_SCORE


def test_names_are_left_alone(lexicon: Lexicon) -> None:
    for name in ("tarelli", "ostrander", "penley", "wexcombe", "brandt", "harrow"):
        found, _ = read(lexicon, name)
        assert found in ("", name)


def test_outside_misspellings(lexicon: Lexicon) -> None:
    """codespell's list of real misspellings: few may be read as another word.

    Of its entries that stand for one word of the vocabulary's names, none may be accepted as a
    wrong word in more than 1 % of cases, and half at least must be read right.
    """
    spec = importlib.util.find_spec("codespell_lib")
    if spec is None or spec.origin is None:
        pytest.skip("codespell is not installed: its dictionary is the outside check")
    lines = (Path(spec.origin).parent / "data" / "dictionary.txt").read_text("utf-8").splitlines()
    targets = lexicon._spelling_targets()
    pairs = [
        (wrong, right)
        for wrong, _, right in (line.partition("->") for line in lines)
        if right in targets and "," not in right and wrong not in lexicon.words and len(wrong) > 4
    ]
    assert len(pairs) > 300
    numbers, scores = lexicon.look_up([wrong for wrong, _ in pairs])
    known = {number: one for one, number in lexicon.words.items()}
    right = wrong = 0
    for (_, meant), number, score in zip(pairs, numbers, scores, strict=True):
        found = known.get(int(number), "")
        if found and score >= TITLE_ACCEPT_SCORE:
            # singular for plural is no other word
            same = found.rstrip("s") == meant.rstrip("s")
            right, wrong = right + same, wrong + (not same)
    assert wrong / len(pairs) < 0.01
    assert right / len(pairs) > 0.5
