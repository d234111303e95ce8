"""How sure a reading is: what the figure is made of, how it ranks, and what a setting leaves.

The ranking is tried on the held part of the wide lists (labels by other hands, see LABELS.md), of
which the sums alone are looked at.
"""

from __future__ import annotations

from pathlib import Path

import pyarrow as pa
import pytest

from pipeline.errors import VocabularyError
from pipeline.settings import TermSettings
from pipeline.terms.reader import read_terms
from pipeline.terms.sureness import load_weights
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary
from tests.bench.fit_sureness import fit
from tests.bench.wide_lists import WideScore, measure_wide

TITLES = pa.array(
    [
        "Oak stool",
        "Victorian walnut chiffonier, mirrored back",
        "Old brown thing, brass, by the lamp on a table with a clock",
        "Set of six dining chairs and a bench in oak, some worm",
        "Bazzle frock, tinted, a jug",
    ]
)


@pytest.mark.parametrize("kind", ["category", "material"])
def test_the_weights_in_use_are_those_that_the_script_fits(kind: str) -> None:
    fitted = {sign: round(weight, 2) for sign, weight in fit(kind).items()}
    assert load_weights()[kind] == fitted
    assert len(fitted) > 10


def test_a_plain_title_is_surer_than_a_run_of_words() -> None:
    score = read_titles(TITLES)["category_score"].to_pylist()
    assert score[0] > 99
    assert score[0] > score[2]
    told = read_terms(None, "category", titles=TITLES)
    assert told["score"].to_pylist() == pytest.approx(score)


def test_what_is_less_sure_waits_and_nothing_else_changes() -> None:
    free = read_titles(TITLES)
    for kind in ("category", "material"):
        before = 6
        for least in (0.0, 80.0, 99.0, 100.0):
            strict = read_titles(TITLES, settings=TermSettings(least_sure=least))
            assert strict[f"{kind}_id"] == free[f"{kind}_id"]
            accepted = strict[f"{kind}_status"].to_pylist().count("accepted")
            assert accepted <= before
            before = accepted
        assert before == 0  # nothing is certain
    assert read_titles(TITLES, settings=TermSettings(least_sure=0)) == free


@pytest.fixture(scope="module")
def strict_and_free() -> tuple[dict[str, WideScore], dict[str, WideScore]]:
    vocabulary = Vocabulary.load()
    strict = measure_wide("held", vocabulary, TermSettings(least_sure=98.0))
    return strict, measure_wide("held", vocabulary)


def test_wrong_readings_are_the_less_sure_ones(
    strict_and_free: tuple[dict[str, WideScore], dict[str, WideScore]],
) -> None:
    """Measured on 27 November 2026: category 0.44 % for 1.12, with 76.5 % right for 91.4."""
    strict, free = strict_and_free
    assert strict["category"].wrong_share < 0.006
    assert strict["category"].wrong_share < free["category"].wrong_share / 2
    assert strict["category"].right > 0.80 * free["category"].right
    for kind in ("category", "material"):
        kept = strict[kind].right / free[kind].right
        assert strict[kind].wrong_share < kept * free[kind].wrong_share  # better than chance


def test_a_weight_that_is_no_number_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "sureness.csv"
    path.write_text("kind,sign,weight\ncategory,,-4.8\ncategory,late,much\n", encoding="utf-8")
    with pytest.raises(VocabularyError, match="'much' is no number") as error:
        load_weights(path)
    assert "line 3, column weight" in str(error.value.where)
