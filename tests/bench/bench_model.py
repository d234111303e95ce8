"""How long the price model takes, and how well its intervals hold.

python -m tests.bench.bench_model            cells of ten million sales; needs about 6 GB
python -m tests.bench.bench_model --seeds 200    coverage on simulated truth
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pyarrow as pa

from pipeline.statistics.cells import count_cells, refit_on_cells
from pipeline.statistics.effects import price_adjustments
from pipeline.statistics.model import fit_model
from pipeline.statistics.model_settings import ModelSettings
from tests.statistics.simulated import CONDITIONS, FAULT_EFFECTS, FAULTS, MATERIALS, simulate


def large(n: int, seed: int) -> pa.Table:
    """n sales in 400 categories of 20 families, four classes, six grades, 30 materials."""
    rng = np.random.default_rng(seed)
    weight = rng.pareto(1.1, 400) + 0.05
    category = rng.choice(400, n, p=weight / weight.sum()).astype(np.int16)
    kind = rng.choice(4, n, p=[0.5, 0.25, 0.15, 0.1]).astype(np.int8)
    grade = rng.choice(6, n, p=[0.1, 0.2, 0.3, 0.2, 0.1, 0.1]).astype(np.int8)
    material = ((category * 7) % 27 + rng.integers(0, 4, n)).astype(np.int8)
    period = rng.choice(8, n).astype(np.int8)
    month = rng.integers(0, 60, n).astype(np.int16)
    level = rng.normal(4, 0.8, (400, 4))
    effect = np.linspace(0.5, -1.0, 6)
    price = level[category, kind] + effect[grade] + 0.02 * material + rng.normal(0, 0.6, n)
    day = (np.datetime64("2021-01", "M") + month).astype("datetime64[D]") + 14

    def labels(codes: np.ndarray, name: str) -> pa.DictionaryArray:
        names = pa.array([f"{name} {i:03d}" for i in range(int(codes.max()) + 1)])
        return pa.DictionaryArray.from_arrays(pa.array(codes.astype(np.int32)), names)

    return pa.table(
        {
            "log_price": price,
            "sold_on": pa.array(day),
            "family_id": labels(category % 20, "family"),
            "category_id": labels(category, "category"),
            "attribution": labels(kind, "class"),
            "condition": labels(grade, "grade"),
            "material_id": labels(material, "material"),
            "period_id": labels(period, "period"),
        }
    )


def time_fit(n: int) -> None:
    sales = large(n, 1)
    with clocked(f"{n:,} sales counted into cells"):
        cells = count_cells(sales)
    print(f"{cells.num_rows:,} cells")
    sample = sales.take(pa.array(np.random.default_rng(0).choice(n, 30_000, replace=False)))
    with clocked("model of a sample of 30,000"):
        model = fit_model(sample, ModelSettings())
    with clocked("levels and terms on all cells"):
        refit_on_cells(model, cells)
    del model, cells
    with clocked(f"the whole fit as the pipeline makes it, {n:,} sales, counting included"):
        fit_model(sales, ModelSettings(most_words=300, most_interactions=200))


@contextmanager
def clocked(what: str) -> Iterator[None]:
    """Print the time by the clock and by the processor (one thread's and all others')."""
    wall, processor = time.perf_counter(), time.process_time()
    yield
    print(
        f"{what}: {time.perf_counter() - wall:.1f} s by the clock, "
        f"{time.process_time() - processor:.1f} s of processor",
        flush=True,
    )


def coverage(seeds: int) -> None:
    """Share of 95 % intervals that hold the truth, over seeds of 1,500 sales."""
    held: dict[str, list[bool]] = {}
    for seed in range(seeds):
        truth = simulate(seed, 1500)
        model = fit_model(truth.sales, ModelSettings(n_neighbours=0, calibration_share=0.01))
        table = price_adjustments(model, {"condition": "good", "material_id": "oak"})
        for row in table.to_pylist():
            if row["kind"] == "condition" and row["scope"] == "family":
                family = int(row["family_id"].split()[1])
                true = truth.condition[family, CONDITIONS.index(row["term"])]
            elif row["kind"] == "material_id" and row["scope"] == "all":
                true = truth.material[MATERIALS.index(row["term"])] - truth.material[0]
            elif row["kind"] == "fault" and row["scope"] == "all":
                true = FAULT_EFFECTS[FAULTS.index(row["term"])]
            else:
                continue
            inside = row["low_percent"] <= 100 * np.expm1(true) <= row["high_percent"]
            held.setdefault(row["kind"], []).append(inside)
    for kind, hits in held.items():
        print(f"{kind}: {np.mean(hits):.3f} of {len(hits)} intervals hold")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, default=10_000_000)
    parser.add_argument("--seeds", type=int, default=0)
    arguments = parser.parse_args()
    if arguments.seeds:
        coverage(arguments.seeds)
    else:
        time_fit(arguments.sales)


if __name__ == "__main__":
    main()
