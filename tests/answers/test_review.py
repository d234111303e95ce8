"""What waits, how it is answered, and that the next refresh goes by the answers."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from rich.console import Console

import pipeline
from pipeline.answers.review import FIELD, TITLE, Review, Waiting, decide, review, who_decides
from pipeline.answers.show_review import Dialogue, review_as_csv, review_as_json
from pipeline.errors import UsageError
from pipeline.refresh import refresh
from pipeline.terms.decisions import read_term_decisions
from pipeline.terms.vocabulary import Vocabulary
from pipeline.workspace import Workspace
from tests.conftest import HEADER, SHOP, shop_rows

VOCABULARY = Vocabulary.load()
EXPORT = (
    HEADER
    + shop_rows(4)
    + "".join(
        f"{50 + k},=Thing of use no {k},Zzyzx quux,good,2024-04-{1 + k:02},{20 + k}\n"
        for k in range(3)
    )
    + "".join(
        f"{70 + k},Chimney gubbin with a bell {k},,good,2024-05-{1 + k:02},{30 + k}\n"
        for k in range(2)
    )
)


def made(root: Path, text: str = EXPORT) -> Workspace:
    place = root / "data" / "raw" / "shop"
    place.mkdir(parents=True)
    (place / "source.toml").write_text(SHOP)
    (place / "a.csv").write_text(text)
    return Workspace.at(root)


@pytest.fixture(scope="module")
def refreshed(tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    workspace = made(tmp_path_factory.mktemp("waiting"))
    refresh(workspace)
    return workspace


@pytest.fixture(scope="module")
def found(refreshed: Workspace) -> Review:
    return review(refreshed)


def of(found: Review, stated_in: str) -> list[Waiting]:
    return [one for one in found.items if one.stated_in == stated_in]


def typed(lines: list[str]) -> Callable[[str], str]:
    left: Iterator[str] = iter(lines)

    def ask(_: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    return ask


def answered(workspace: Workspace, found: Review, lines: list[str]) -> str:
    out = io.StringIO()
    Dialogue(workspace, "Ada", typed(lines), Console(file=out, width=200)).run(found)
    return out.getvalue()


def test_fields_and_titles_wait_most_sales_first(found: Review) -> None:
    assert [(one.text, one.n_sales, one.n_held) for one in of(found, FIELD)] == [
        ("Zzyzx quux", 3, 3)
    ]
    assert {one.text[:14] for one in of(found, TITLE)} == {"Chimney gubbin"}
    assert found.items[0].stated_in == FIELD
    assert found.n_held == 5


def test_examples_are_real_sales_with_their_prices(found: Review) -> None:
    examples = found.items[0].examples
    assert [(e.sale_id, e.price, e.currency) for e in examples] == [
        ("shop:52", 22.0, "GBP"), ("shop:51", 21.0, "GBP"), ("shop:50", 20.0, "GBP"),
    ]  # fmt: skip


def test_a_list_for_programs(found: Review) -> None:
    rows = list(csv.DictReader(io.StringIO(review_as_csv(found))))
    assert rows[0]["text"] == "Zzyzx quux"
    assert rows[0]["example_1"].startswith("'=Thing")  # no formula for a spreadsheet
    assert len(rows) == len(found.items)
    assert json.loads(review_as_json(found))["sales_held_up"] == 5


def test_kind_and_limit(refreshed: Workspace) -> None:
    assert review(refreshed, kind="material").items == ()
    one = review(refreshed, limit=1)
    assert (len(one.items), one.n_items > 1) == (1, True)
    with pytest.raises(UsageError, match="'colour' is no kind of term"):
        review(refreshed, kind="colour")
    with pytest.raises(UsageError, match="At least one"):
        review(refreshed, limit=0)


def test_enter_skips_and_the_end_of_input_stops(refreshed: Workspace, found: Review) -> None:
    told = answered(refreshed, found, ["?", "", "9 9", "accept all"])
    assert "leave it for later" in told
    assert not (refreshed.decisions / "terms.csv").exists()


def test_a_title_is_not_decided_as_a_whole(refreshed: Workspace, found: Review) -> None:
    with pytest.raises(UsageError, match="vocabulary add"):
        decide(refreshed, VOCABULARY, of(found, TITLE)[0], "ignore", None, who="Ada")


def test_who_decides(refreshed: Workspace) -> None:
    assert who_decides(refreshed, " Ada ") == "Ada"
    assert who_decides(refreshed)


def test_answers_count_from_the_next_refresh(tmp_path: Path) -> None:
    workspace = made(tmp_path)
    refresh(workspace)
    asked = review(workspace)
    lines = []
    taught = False
    for item in asked.items:
        if item.stated_in == FIELD:
            lines += ["n mantel clock", "they call it so"]
        elif not taught:
            lines += ["n mantel clock", "chimney gubbin"]
            taught = True
        else:
            lines += ["s"]
    told = answered(workspace, asked, lines)
    assert "1 decisions saved" in told
    assert "1 labels saved" in told

    path = workspace.decisions / "terms.csv"
    decision = read_term_decisions(path, VOCABULARY).find("category", "zzyzx QUUX")
    assert decision is not None
    assert (decision.concept_id, decision.who, decision.why) == (
        "mantel-clock", "Ada", "they call it so",
    )  # fmt: skip
    assert review(workspace).items == ()  # what was answered waits no more, refreshed or not

    with path.open("a") as file:
        file.write("category,No such text,,ignore,Ada,2024-06-01,a slip\n")
    result = refresh(workspace)
    assert result.unused_decisions == [
        "terms.csv, line 3: no export holds the category 'No such text'."
    ]
    with pipeline.connect(workspace.root) as con:
        read = con.execute(
            "SELECT category_id, category_method, count(*) FROM sales GROUP BY ALL ORDER BY ALL"
        ).fetchall()
        match = con.execute(
            "SELECT concept_id, method FROM term_matches WHERE text = 'Zzyzx quux'"
        ).fetchall()
    assert [row for row in read if row[0] != "mantel-clock"] == []
    assert ("mantel-clock", "decision", 3) in read
    assert match == [("mantel-clock", "decision")]


def test_a_rejected_candidate_is_not_offered_again(tmp_path: Path) -> None:
    workspace = made(
        tmp_path, HEADER + "1,Thing,mantle clonk,good,2024-03-01,9\n" * 1 + shop_rows(2, start=5)
    )
    refresh(workspace)
    item = next(one for one in review(workspace).items if one.stated_in == FIELD)
    first = item.candidates[0].concept_id
    answered(workspace, Review((item,), 1, 1), ["r 1", "", "q"])
    refresh(workspace)
    again = [one for one in review(workspace).items if one.text == item.text]
    assert all(first not in {c.concept_id for c in one.candidates} for one in again)
