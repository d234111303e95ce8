"""`comparables hunt`: ranks of kinds whose prices and love of condition are known."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from pipeline.answers.hunt_order import HuntOrder
from pipeline.refresh import refresh
from tests.conftest import HEADER, SHOP
from tests.test_cli import run

SETTINGS = """\
[model]
least_sales = 100
most_words = 0
n_neighbours = 0
"""
# kind: usual price, what a fair one brings of a good one, sales
KINDS = {
    "mantel clock": (200.0, 0.9, 300), "teapot": (40.0, 0.4, 300), "longcase clock": (900.0, 0.9, 60),
    "table lamp": (60.0, 0.65, 8),
}  # fmt: skip


def workspace(root: Path, settings: str = SETTINGS) -> Path:
    place = root / "data" / "raw" / "shop"
    place.mkdir(parents=True)
    (root / "data" / "settings.toml").write_text(settings)
    (place / "source.toml").write_text(SHOP)
    chance = random.Random(5)
    lines = []
    for kind, (level, fair_share, n) in KINDS.items():
        for k in range(n):
            fair = chance.random() < 0.4
            price = level * (fair_share if fair else 1.0) * chance.lognormvariate(0, 0.2)
            day = f"20{22 + k % 3}-{1 + k // 3 % 12:02}-{1 + k % 27:02}"
            state = "fair" if fair else "good"
            lines.append(f"{len(lines)},{kind} piece {k * 7919},{kind},{state},{day},{price:.2f}\n")
    (place / "a.csv").write_text(HEADER + "".join(lines))
    refresh(root)
    return root


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return workspace(tmp_path_factory.mktemp("hunt"))


def ranked(place: Path, *args: str) -> list[dict]:
    code, told = run("hunt", "--json", *args, "-w", place)
    assert code == 0, told
    return json.loads(told)["kinds"]


def test_each_order_ranks_by_its_figure(published: Path) -> None:
    names = {o: [k["label"] for k in ranked(published, "--order", o)] for o in list(HuntOrder)}
    assert names["median"] == ["longcase clock", "mantel clock", "teapot"]
    assert names["evidence"] == ["mantel clock", "teapot", "longcase clock"]
    assert names["holds"][-1] == "teapot"
    assert names["sensitive"][0] == "teapot"
    assert names["spread"][-1] == "teapot"
    assert set(names["trend"]) == set(names["median"])


def test_the_true_loss_lies_in_the_interval(published: Path) -> None:
    rows = {k["label"]: k for k in ranked(published)}
    for name in ("mantel clock", "teapot"):
        low, high = rows[name]["fair_low"], rows[name]["fair_high"]
        assert low <= 100 * KINDS[name][1] <= high
        assert high - low < 25
        assert rows[name]["fair_scope"] == "category"
    for row in rows.values():
        assert row["median_low"] <= row["median"] <= row["median_high"]
        assert row["n_sales"] == KINDS[row["label"]][2]


def test_options(published: Path) -> None:
    assert [k["label"] for k in ranked(published, "--family", "clocks and watches")] == [
        "longcase clock", "mantel clock",
    ]  # fmt: skip
    assert len(ranked(published, "--limit", "1")) == 1
    assert {k["label"] for k in ranked(published, "--min-sales", "6")} == set(KINDS)
    code, told = run("hunt", "-w", published)
    assert code == 0
    for part in ("longcase clock", "of good", "not an appraisal", "2024-12-31"[:7]):
        assert part in told


def test_what_cannot_be_ranked(published: Path, tmp_path: Path) -> None:
    for args, code, told in [
        (["--min-sales", "500"], 10, "no kind has 500"),
        (["--family", "teapot", "--min-sales", "301"], 10, "within teapot"),
        (["--family", "xyzzy"], 2, "no category"),
        (["--order", "colour"], 2, ""),
        (["--min-sales", "2"], 2, ""),
    ]:
        found, output = run("hunt", *args, "-w", published)
        assert (found, told in output) == (code, True), (args, output)
    empty = tmp_path / "empty"
    (empty / "data" / "raw").mkdir(parents=True)
    found, output = run("hunt", "-w", empty)
    assert (found, "Nothing has been published" in output) == (8, True)


def test_without_a_model_prices_are_ranked_and_losses_are_not(tmp_path: Path) -> None:
    place = workspace(tmp_path / "off", "[model]\nenabled = false\n")
    rows = ranked(place)
    assert [r["label"] for r in rows] == ["longcase clock", "mantel clock", "teapot"]
    assert all(r["fair_percent"] is None and r["year_percent"] is None for r in rows)
    for order in ("holds", "sensitive", "trend"):
        found, output = run("hunt", "--order", order, "-w", place)
        assert (found, "needs the price model" in output) == (8, True)
    assert run("hunt", "-w", place)[0] == 0
