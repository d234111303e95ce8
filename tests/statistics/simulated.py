"""Simulated sales whose true effects are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

CONDITIONS = ("excellent", "good", "fair", "poor")
CONDITION_EFFECTS = np.array([0.25, 0.0, -0.35, -0.8])
MATERIALS = ("oak", "pine", "walnut", "brass", "glass")
FAULTS = ("chip", "refinished", "replaced hardware")
FAULT_EFFECTS = np.array([-0.3, -0.2, -0.15])
WORDS = ("signed", "labelled", "boxed", "nice", "estate", "lovely", "old", "find")
WORD_EFFECTS = np.array([0.4, 0.2, 0.3, 0.0, 0.0, 0.0, 0.0, 0.0])
CLASSES = ("period", "style", "reproduction")


@dataclass(frozen=True)
class Truth:
    """The sales, and the effects they were drawn with."""

    sales: pa.Table
    mean: np.ndarray
    condition: np.ndarray  # families x grades, against "good"
    material: np.ndarray
    level: np.ndarray  # categories x classes
    index: np.ndarray  # by month, log, against the last
    category: np.ndarray
    family: np.ndarray


def simulate(
    seed: int, n: int = 3000, *, noise: float = 0.4, families: int = 4, categories: int = 16,
    months: int = 36, heavy: bool = False, width_by_family: bool = False,
) -> Truth:  # fmt: skip
    rng = np.random.default_rng(seed)
    family_of = np.arange(categories) % families
    level = (
        4.0
        + rng.normal(0, 0.5, families)[family_of][:, None]
        + rng.normal(0, 0.4, categories)[:, None]
        + np.array([0.0, -0.9, -1.6])[None, :]
        + rng.normal(0, 0.15, (categories, 3))
    )
    condition = CONDITION_EFFECTS[None, :] + rng.normal(0, 0.1, (families, 4))
    condition -= condition[:, [1]]
    material = rng.normal(0, 0.25, 5)
    index = np.cumsum(rng.normal(0.004, 0.02, months))
    index -= index[-1]
    weight = rng.pareto(1.5, categories) + 0.2
    category = rng.choice(categories, n, p=weight / weight.sum())
    family = family_of[category]
    kind = rng.choice(3, n, p=[0.5, 0.3, 0.2])
    grade = rng.choice(4, n, p=[0.2, 0.45, 0.25, 0.1])
    stuff = rng.integers(0, 5, n)
    month = np.sort(rng.integers(0, months, n))
    fault = rng.random((n, 3)) < 0.1
    word = rng.random((n, len(WORDS))) < 0.15
    height = rng.lognormal(3, 0.4, n)
    mean = (
        level[category, kind] + condition[family, grade] + material[stuff] + index[month]
        + fault @ FAULT_EFFECTS + word @ WORD_EFFECTS + 0.3 * (np.log(height) - 3)
    )  # fmt: skip
    spread = np.full(n, noise) * (
        np.array([0.6, 1.0, 1.4, 1.0])[family % 4] if width_by_family else 1
    )
    error = rng.standard_t(4, n) / np.sqrt(2) if heavy else rng.normal(size=n)
    first = np.datetime64("2022-01", "M")
    day = (first + month).astype("datetime64[D]") + rng.integers(0, 28, n)
    sales = pa.table(
        {
            "sale_id": [f"s{i}" for i in range(n)],
            "log_price": mean + spread * error,
            "sold_on": pa.array(day),
            "family_id": [f"family {i}" for i in family],
            "category_id": [f"category {i:02d}" for i in category],
            "attribution": [CLASSES[i] for i in kind],
            "condition": [CONDITIONS[i] for i in grade],
            "material_id": [MATERIALS[i] for i in stuff],
            "faults": [[FAULTS[j] for j in np.flatnonzero(row)] for row in fault],
            # a number of its own, since a title without a word would be a title not stated
            "title_text": [
                " ".join([*(WORDS[j] for j in np.flatnonzero(row)), f"n{i}"])
                for i, row in enumerate(word)
            ],
            "measures": pa.StructArray.from_arrays([pa.array(height)], ["height"]),
        }
    )
    return Truth(sales, mean, condition, material, level, index, category, family)
