"""data/decisions/links.csv: what does not hold names file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import DecisionError
from pipeline.linking.decisions import read_link_decisions

TOP = "sale_id,other_sale_id,link,who,decided_on,why\n"


def test_pairs_are_read_in_one_order_and_once(tmp_path: Path) -> None:
    path = tmp_path / "links.csv"
    path.write_text(TOP + "s:2,s:1,same,Ada,2024-05-01,x\ns:1,s:2,same,Ada,2024-05-02,x\n")
    told = read_link_decisions(path).to_pylist()
    assert [(r["sale_id"], r["other_sale_id"], r["link"], r["line"]) for r in told] == [
        ("s:1", "s:2", "same", 2)
    ]
    assert read_link_decisions(tmp_path / "none.csv").num_rows == 0


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (["s:1,s:2,perhaps,Ada,2024-05-01,x"], "(?s)'perhaps' is no link.*line 2, column link.*same, different"),
        (["s:1,s:1,same,Ada,2024-05-01,x"], "held against itself"),
        (["s:1,s:2,same,Ada,2024-5-1,x"], "is no date"),
        (["s:1,s:2,same,,2024-05-01,x"], "column who is empty"),
        (["s:1,s:2,same,Ada,2024-05-01,x", "s:2,s:1,different,Ada,2024-05-01,x"], "disagree"),
        (
            ["s:1,s:2,same,Ada,2024-05-01,x", "s:2,s:3,same,Ada,2024-05-01,x",
             "s:1,s:3,different,Ada,2024-05-01,x"],
            "other lines make them the same",
        ),
    ],
)  # fmt: skip
def test_what_does_not_hold(tmp_path: Path, lines: list[str], message: str) -> None:
    path = tmp_path / "links.csv"
    path.write_text(TOP + "\n".join(lines) + "\n")
    with pytest.raises(DecisionError, match=message) as told:
        read_link_decisions(path)
    assert f"links.csv, line {1 + len(lines)}" in str(told.value)


def test_another_header(tmp_path: Path) -> None:
    path = tmp_path / "links.csv"
    path.write_text("a,b\n")
    with pytest.raises(DecisionError, match="The column sale_id is missing"):
        read_link_decisions(path)
