"""`comparables backtest`, and the calibration that a refresh keeps."""

from __future__ import annotations

import csv
import json
import random
from pathlib import Path
from xml.etree import ElementTree

import duckdb
import pytest

import pipeline
from pipeline.refresh import refresh
from pipeline.reports.weekly import write_report
from pipeline.stages.calibration import Calibration, calibration_of
from pipeline.workspace import Workspace
from tests.conftest import HEADER, SHOP
from tests.test_cli import run

SETTINGS = """\
[model]
least_sales = 100
most_words = 10
n_neighbours = 0
"""
N_SALES = 900


def sale_lines(n: int) -> str:
    chance = random.Random(11)
    lines = []
    for k in range(n):
        kind, level = (("mantel clock", 200.0), ("teapot", 40.0))[k % 2]
        fair = chance.random() < 0.4
        price = level * (0.6 if fair else 1.0) * chance.lognormvariate(0, 0.3)
        day = f"20{22 + 3 * k // n}-{1 + (36 * k // n) % 12:02}-{1 + k % 27:02}"
        state = "fair" if fair else "good"
        lines.append(f"{k},{kind} piece {k * 7919},{kind},{state},{day},{price:.2f}\n")
    return "".join(lines)


def workspace(root: Path, n: int, settings: str = SETTINGS) -> Path:
    place = root / "data" / "raw" / "shop"
    place.mkdir(parents=True)
    (root / "data" / "settings.toml").write_text(settings)
    (place / "source.toml").write_text(SHOP)
    (place / "a.csv").write_text(HEADER + sale_lines(n))
    return root


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = workspace(tmp_path_factory.mktemp("backtest"), N_SALES)
    refresh(root)
    return root


def test_a_backtest_is_told_and_written(published: Path) -> None:
    code, told = run("backtest", "--folds", "2", "--json", "-w", published)
    assert code == 0
    answer = json.loads(told)
    rows = {(m["method"], m["kind"], m["group"]): m for m in answer["measures"]}
    model, plain = rows["price model", "all", "all"], rows["category median", "all", "all"]
    assert model["n"] == plain["n"]
    assert model["male"] < plain["male"]
    for name in ("cod", "prd", "prb", "mdape", "pinball", "coverage_50", "width_90"):
        assert model[name] is not None
    assert "not an appraisal" in answer["note"]
    folder = published / "reports" / "backtest"
    assert [Path(f) for f in answer["files"]] == [
        folder / name for name in ("measures.csv", "predictions.csv", "backtest.svg")
    ]
    with (folder / "measures.csv").open() as file:
        kept = {(r["method"], r["kind"], r["group"]): r for r in csv.DictReader(file)}
    assert float(kept["price model", "all", "all"]["male"]) == pytest.approx(model["male"])
    with (folder / "predictions.csv").open() as file:
        predictions = [r for r in csv.DictReader(file) if r["method"] == "price model"]
    assert len(predictions) == len({r["sale_id"] for r in predictions}) == model["n"]
    inside = sum(
        float(r["p10_amount"]) <= float(r["price_amount"]) <= float(r["p90_amount"])
        for r in predictions
    )
    assert inside / len(predictions) == pytest.approx(model["coverage_80"], abs=0.01)
    with pipeline.connect(published) as con:
        prices = dict(con.execute("SELECT sale_id, compared_amount FROM sales").fetchall())
    assert all(
        float(r["price_amount"]) == pytest.approx(float(prices[r["sale_id"]]), abs=0.006)
        for r in predictions
    )
    ElementTree.parse(folder / "backtest.svg")


def test_a_backtest_as_text(published: Path) -> None:
    code, told = run("backtest", "--folds", "1", "-w", published)
    assert code == 0
    for part in ("price model", "ridge", "strong", "clocks", "PRB", "not an appraisal", "Written:"):
        assert part in told, part


def test_no_backtest(tmp_path: Path) -> None:
    few = workspace(tmp_path / "few", 40)
    code, told = run("backtest", "-w", few)
    assert (code, "Nothing has been published" in told) == (8, True)
    refresh(few)
    code, told = run("backtest", "-w", few)
    assert (code, "40 feed bands, and 100 are needed" in told) == (10, True)
    assert run("backtest", "--folds", "0", "-w", few)[0] == 2
    code, told = run("status", "-w", few)
    assert (code, "Calibration: not judged" in told) == (0, True)


def test_the_refresh_keeps_its_calibration(published: Path) -> None:
    with pipeline.connect(published) as con:
        kept = calibration_of(con)
        failed = con.execute("SELECT count(*) FROM check_results WHERE NOT passed").fetchone()
    assert failed == (0,)
    assert kept.rows[0]["kind"] == "all"
    assert kept.rows[0]["n"] >= 30
    code, told = run("status", "-w", published)
    assert (code, "the 80 % range of an estimate held" in told) == (0, True)


def test_a_drift_is_told_everywhere(published: Path) -> None:
    """A warning needs a group that is off; the sentence names it, its count and its share."""
    with pipeline.connect(published) as con:
        rows = calibration_of(con).rows
    told = Calibration([rows[0] | {"is_off": True, "coverage_80": 0.61}, *rows[1:]]).warnings()
    assert len(told) == 1
    assert "all families" in told[0] and "61%" in told[0]
    database = published / "data" / "curated" / "comparables.duckdb"
    data = database.read_bytes()
    try:
        with duckdb.connect(str(database)) as con:
            con.execute("UPDATE model_calibration SET is_off = true WHERE kind = 'all'")
        assert "Warning: estimates have drifted" in run("status", "-w", published)[1]
        page = write_report(Workspace.at(published)).read_text()
        assert "Warning: estimates have drifted" in page
        again = refresh(published)
        assert not again.is_new and len(again.warnings) == 1
    finally:
        database.write_bytes(data)
