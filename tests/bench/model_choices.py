"""What the settings of the price model are worth, each moved alone: `python -m tests.bench.model_choices`.

Walk-forward back-tests on the demo and on open data (tests/bench/open_sales.py), without rivals. Every
cell holds the mean absolute log error as a ratio to that of the defaults on the same set, and the
share of sales inside the 80 % range. With `--workspace` the demo is read from a refreshed one.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from pathlib import Path

import duckdb
import pyarrow as pa
from threadpoolctl import threadpool_limits

from pipeline.sql import table_of
from pipeline.stages.model import RELATIVE
from pipeline.statistics.backtest import Folds, backtest
from pipeline.statistics.model_settings import ModelSettings
from tests.bench.open_sales import SETS

# As the pipeline has it by default, see pipeline/settings.py.
USUAL = {"most_words": 300, "most_interactions": 200, "relative_measures": RELATIVE}
CHOICES: dict[str, tuple[object, ...]] = {
    "window_days": (730, 1095, 1825),
    "half_life_days": (365.0, 730.0, 2920.0),
    "robustness": (3.0, 10.0, 1000.0),
    "least_level_count": (1, 5),
    "most_words": (0, 150, 600),
    "interactions": (False,),
    "most_interactions": (1500,),
    "n_neighbours": (0, 10, 60),
    "drift_share": (0.0, 1.0),
    "enough_calibration_sales": (20, 1000),
}


def demo_sales(workspace: Path | None) -> pa.Table:
    """The comparable sales of the demo, refreshed anew where no workspace is given."""
    if workspace is None:
        from pipeline.refresh import refresh
        from tests.demo.compare import make_workspace

        with tempfile.TemporaryDirectory() as folder:
            place = make_workspace(Path(folder))
            refresh(place)
            return demo_sales(place)
    database = workspace / "data" / "curated" / "comparables.duckdb"
    with duckdb.connect(str(database), read_only=True) as con:
        return table_of(con, "model_sales")


def measured(sales: pa.Table, n_folds: int, **changed: object) -> tuple[float, float]:
    """Mean absolute log error, and coverage of the 80 % range."""
    settings = ModelSettings.model_validate({**USUAL, **changed})
    with threadpool_limits(1):
        result = backtest(sales, settings, Folds(n=n_folds), rivals=())
    whole = next(row for row in result.measures.to_pylist() if row["kind"] == "all")
    return float(whole["male"]), float(whole["coverage_80"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", nargs="*", default=["ames", "car_prices", "computers"])
    parser.add_argument("--workspace", type=Path)
    parser.add_argument("--folds", type=int, default=2)
    asked = parser.parse_args()
    tables = {"demo": demo_sales(asked.workspace), **{name: SETS[name]() for name in asked.sets}}
    print("| setting | value | " + " | ".join(tables) + " | mean |")
    print("| --- | --- | " + " | ".join("---" for _ in tables) + " | --- |")
    usual = {name: measured(table, asked.folds) for name, table in tables.items()}
    cells = " | ".join(f"{error:.4f}, {inside:.3f}" for error, inside in usual.values())
    print(f"| (defaults) | | {cells} | 1.000 |", flush=True)
    for setting, values in CHOICES.items():
        for value in values:
            found = {n: measured(t, asked.folds, **{setting: value}) for n, t in tables.items()}
            ratios = {name: found[name][0] / usual[name][0] for name in tables}
            mean = math.exp(sum(math.log(r) for r in ratios.values()) / len(ratios))
            cells = " | ".join(f"{ratios[name]:.3f}, {found[name][1]:.3f}" for name in tables)
            print(f"| {setting} | {value} | {cells} | {mean:.3f} |", flush=True)


if __name__ == "__main__":
    main()
