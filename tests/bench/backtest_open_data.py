"""Back-test the price model on open data and print the table as Markdown.

python -m tests.bench.backtest_open_data [names] [--folds 4] [--through-exports]

The sets go to the model as they are, under its own settings; or, with --through-exports, through the
whole line like any export, under the settings of a workspace, as `comparables backtest` does.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from pipeline.settings import Settings
from pipeline.stages.model import settings_of
from pipeline.statistics.backtest import MODEL, TREES, Folds, backtest
from pipeline.statistics.model_settings import ModelSettings
from tests.bench.open_sales import SETS
from tests.bench.open_workspace import refreshed_sales

COLUMNS = ("n", "median_ratio", "cod", "prd", "prb", "male", "mdape", "pinball")
RANGES = ("coverage_50", "coverage_80", "coverage_90", "width_80")
DIGITS = {"n": 0, "cod": 1, "mdape": 1, "male": 4, "pinball": 4, "width_80": 0}


def row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def run(
    name: str, folds: Folds, settings: ModelSettings, *, through_exports: bool = False
) -> tuple[float, float]:
    """Print the tables of one set; ratios of MALE and pinball to the boosted trees'."""
    started = time.perf_counter()
    if through_exports:
        with tempfile.TemporaryDirectory() as folder:
            sales = refreshed_sales(name, Path(folder))
        settings = settings_of(Settings().model)
    else:
        sales = SETS[name]()
    with threadpool_limits(1):  # see `fit_model`
        result = backtest(sales, settings, folds)
    measures = result.measures.to_pylist()
    print(f"\n### {name} ({time.perf_counter() - started:.0f} s)\n")
    print(row(["method", *COLUMNS, *RANGES]))
    print(row(["---"] * (1 + len(COLUMNS) + len(RANGES))))
    for one in measures:
        if one["kind"] == "all" or (one["method"] == MODEL and one["kind"] == "evidence"):
            label = one["method"] if one["kind"] == "all" else f"– {one['group']}"
            cells = [f"{one[c]:.{DIGITS.get(c, 3)}f}" for c in (*COLUMNS, *RANGES)]
            print(row([label, *cells]), flush=True)
    of = {one["method"]: one for one in measures if one["kind"] == "all"}
    if TREES not in of:
        return float("nan"), float("nan")
    return tuple(of[MODEL][m] / of[TREES][m] for m in ("male", "pinball"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=list(SETS))
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--first-share", type=float, default=0.5)
    parser.add_argument("--set", action="append", default=[], help="a setting, name=value")
    parser.add_argument("--through-exports", action="store_true")
    arguments = parser.parse_args()
    given = dict(one.split("=", 1) for one in arguments.set)
    settings = ModelSettings(**given)
    folds = Folds(arguments.folds, arguments.first_share)
    ratios = {
        name: run(name, folds, settings, through_exports=arguments.through_exports)
        for name in arguments.names
    }
    print("\n### Against boosted trees (1 and below is the aim)\n")
    print(row(["set", "error", "pinball"]))
    print(row(["---"] * 3))
    for name, pair in ratios.items():
        print(row([name, *(f"{r:.3f}" for r in pair)]))
    mean = np.exp(np.nanmean(np.log(np.array(list(ratios.values()))), axis=0))
    print(row(["geometric mean", *(f"{r:.3f}" for r in mean)]))


if __name__ == "__main__":
    main()
