"""Time of one estimate, of a sheet of a thousand pieces, and of the commands' start.

    python -m tests.bench.bench_estimate [--workspace FOLDER | --sales 10_000_000 [--keep FOLDER]]

Without a workspace the demo is set up in a temporary folder; with --sales it is grown to so many
(`tests.bench.grown` says how). The baseline in the same run is what a person would write by hand:
the median of the category's sales by SQL, one query a piece. The thousand pieces are all told in
different words.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pyarrow as pa

from pipeline.answers.estimate import Estimator
from pipeline.answers.init import make_workspace
from pipeline.answers.pricing import price_sheet
from pipeline.refresh import refresh
from pipeline.workspace import Workspace

AIM_ONE, AIM_SHEET, AIM_START = 0.050, 3.0, 1.0
REPEATS = 7
AGES = (
    "about 1900", "c.1880", "George III", "Victorian", "Edwardian", "18th century", "1920s",
    "Regency", "early 19th century", "mid 20th century",
)  # fmt: skip
KINDS = (
    "oak mantel clock", "brass carriage clock", "pair of silver candlesticks",
    "mahogany chest of drawers", "porcelain teapot painted with flowers",
    "set of 6 mahogany dining chairs", "cut glass decanter", "brass desk lamp", "pine blanket box",
    "walnut side table",
)  # fmt: skip
STATES = (
    "good", "fair", "dents", "small chip", "rewired", "later handles", "some wear", "one leg loose",
    "very good", "crack to the base",
)  # fmt: skip
DESCRIPTIONS = [f"{kind}, {age}, {state}" for kind in KINDS for age in AGES for state in STATES]


def seconds(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median of several runs."""
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def by_hand(estimator: Estimator, categories: list[str]) -> None:
    for category in categories:
        estimator.con.execute(
            "SELECT median(compared_amount::DOUBLE) FROM sales WHERE category_id = ? AND "
            "is_comparable", [category],
        ).fetchall()  # fmt: skip


def command(workspace: Path, *words: str) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, "-m", "pipeline", *words, "-w", str(workspace)],
        capture_output=True, check=False,
    )  # fmt: skip


def most_memory() -> str:
    """The most memory that this process has held."""
    return f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20:.2f} GiB"


def told(name: str, took: float, aim: float | None, baseline: float | None = None) -> None:
    ratio = f"  {took / baseline:6.2f} x the baseline" if baseline else ""
    held = "" if aim is None else f"  aim {aim:g} s: {'held' if took <= aim else 'MISSED'}"
    print(f"{name:<58} {took:8.3f} s{ratio}{held}")


def measure(workspace: Path) -> None:
    estimator = Estimator(workspace)
    (n,) = estimator.con.execute("SELECT count(*) FROM sales").fetchall()[0]
    print(f"{n:,} sales; median of {REPEATS} runs\n")
    items: list[dict[str, object]] = [{"description": text} for text in DESCRIPTIONS]
    first = estimator.estimate([items[0]])
    category = first["category_id"][0].as_py()
    hand = seconds(lambda: by_hand(estimator, [category]))
    told("by hand: one median", hand, None)
    told("one estimate", seconds(lambda: estimator.estimate([items[0]])), AIM_ONE, hand)
    worst = max(seconds(lambda i=i: estimator.estimate([items[i]]), 3) for i in range(0, 1000, 50))
    told("the slowest of twenty", worst, AIM_ONE)
    found = estimator.estimate(items)["category_id"].to_pylist()
    hand = seconds(lambda: by_hand(estimator, [c for c in found if c]), 3)
    told("by hand: a thousand medians", hand, None)
    told("a thousand estimates", seconds(lambda: estimator.estimate(items), 3), None, hand)
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "round.csv"
        rows = [f'"{item["description"]}",{40 + k % 90}' for k, item in enumerate(items)]
        source.write_text("description,asking price\n" + "\n".join(rows) + "\n")
        place = Workspace.at(workspace)
        start = seconds(lambda: Estimator(place), 3)
        whole = seconds(lambda: price_sheet(place, source, replace=True), 3)
        told("opening database, model and vocabulary", start, None)
        told("a sheet of a thousand pieces, beyond opening", whole - start, AIM_SHEET, hand)
        print(f"most memory held so far: {most_memory()}")
    python = seconds(lambda: subprocess.run([sys.executable, "-c", "import duckdb"], check=True), 3)
    told("by hand: start of Python with the engine", python, None)
    for words in (("band", "mantel clock"), ("estimate", "mantel clock")):
        took = seconds(command(workspace, *words), 3)
        told(f"start and answer of `{words[0]}`", took, AIM_START, python)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--workspace", type=Path)
    parser.add_argument("--sales", type=int, help="grow the demo to so many sales")
    parser.add_argument("--keep", type=Path, help="where to make the grown one, to use it again")
    chosen = parser.parse_args()
    if chosen.workspace is not None:
        pa.set_cpu_count(1)
        measure(chosen.workspace)
        return
    if chosen.sales is not None:
        from tests.bench.grown import grow

        with tempfile.TemporaryDirectory() as folder:
            place = grow(chosen.keep or Path(folder) / "grown", chosen.sales)
            # in a process of its own: growing takes more memory than answering
            subprocess.run(
                [sys.executable, "-m", "tests.bench.bench_estimate", "--workspace",
                 str(place.root)], check=True,
            )  # fmt: skip
        return
    pa.set_cpu_count(1)
    with tempfile.TemporaryDirectory() as folder:
        make_workspace(Path(folder) / "demo", demo=True)
        refresh(Path(folder) / "demo")
        measure(Path(folder) / "demo")


if __name__ == "__main__":
    main()
