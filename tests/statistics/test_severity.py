"""Kinds that take condition more or less seriously than others, on sales whose truth is known."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from pipeline.statistics.effects import condition_sensitivity, price_adjustments
from pipeline.statistics.model import PriceModel, fit_model
from pipeline.statistics.model_file import from_tables, to_tables
from pipeline.statistics.model_settings import ModelSettings

GRADES = ("good", "excellent", "fair", "poor")
EFFECTS = np.array([0.0, 0.3, -0.4, -1.1])
FAULTS = ("chipped", "cracked", "stained")
FAULT_EFFECTS = np.array([-0.2, -0.6, -0.3])
N_CATEGORIES, PER_CATEGORY = 40, 80


@pytest.fixture(scope="module")
def truth() -> np.ndarray:
    """How much each category counts condition, 1 on average."""
    return np.clip(np.random.default_rng(5).normal(1.0, 0.35, N_CATEGORIES), 0.1, None)


@pytest.fixture(scope="module")
def sales(truth: np.ndarray) -> pa.Table:
    rng = np.random.default_rng(6)
    category = np.repeat(np.arange(N_CATEGORIES), PER_CATEGORY)
    n = category.size
    grade = rng.choice(len(GRADES), n, p=[0.45, 0.2, 0.2, 0.15])
    fault = rng.integers(0, 6, n)  # from 3 on: none
    effect = truth[category] * EFFECTS[grade] + np.append(FAULT_EFFECTS, [0.0] * 3)[fault]
    level = rng.normal(4, 1, N_CATEGORIES)
    return pa.table(
        {
            "log_price": level[category] + effect + rng.normal(0, 0.4, n),
            "category_id": [f"c{c:02d}" for c in category],
            "family_id": [f"f{c % 5}" for c in category],
            "attribution": ["period"] * n,
            "condition": [GRADES[g] for g in grade],
            "faults": [[FAULTS[f]] if f < 3 else [] for f in fault],
        }
    )


@pytest.fixture(scope="module")
def model(sales: pa.Table) -> PriceModel:
    return fit_model(sales, ModelSettings(n_neighbours=0, interactions=False))


def test_effects_of_a_category_hold_its_own_severity(model: PriceModel, truth: np.ndarray) -> None:
    rows = price_adjustments(model, {"condition": "good"}).to_pylist()
    poor = {
        r["category_id"]: r
        for r in rows
        if r["scope"] == "category" and (r["kind"], r["term"]) == ("condition", "poor")
    }
    told = np.array([poor[f"c{c:02d}"]["log_effect"] for c in range(N_CATEGORIES)])
    error = np.array([poor[f"c{c:02d}"]["log_error"] for c in range(N_CATEGORIES)])
    true = truth * EFFECTS[3]
    assert np.corrcoef(told, true)[0, 1] > 0.8
    # 40 intervals of 95 %: fewer than 34 hold in less than one draw of a thousand
    assert (np.abs(told - true) < 1.96 * error).sum() >= 34
    assert np.sqrt(np.mean((told - true) ** 2)) < 0.6 * true.std()


def test_sensitivity_ranks_the_kinds(model: PriceModel, truth: np.ndarray) -> None:
    rows = [r for r in condition_sensitivity(model).to_pylist() if r["scope"] == "category"]
    spread = {r["category_id"]: r["spread"] for r in rows}
    told = np.array([spread[f"c{c:02d}"] for c in range(N_CATEGORIES)])
    assert np.corrcoef(told, truth)[0, 1] > 0.8


def test_a_model_read_back_predicts_the_same(model: PriceModel, sales: pa.Table) -> None:
    again = from_tables(to_tables(model))
    some = sales.slice(0, 200)
    assert again.predict(some)["log_centre"].equals(model.predict(some)["log_centre"])


def test_faults_without_a_told_condition_may_weigh_more() -> None:
    """Half the sellers tell no grade; their faulty pieces are worse ones."""
    rng = np.random.default_rng(7)
    n = 3000
    poor = rng.random(n) < 0.3
    silent = rng.random(n) < 0.5
    fault = rng.integers(0, 3, n)
    faulty = rng.random(n) < np.where(poor, 0.6, 0.1)
    price = 4 + np.where(faulty, FAULT_EFFECTS[fault], 0.0) - 1.0 * poor + rng.normal(0, 0.3, n)
    model = fit_model(
        {
            "log_price": price,
            "category_id": [f"c{c}" for c in rng.integers(0, 6, n)],
            "family_id": ["f"] * n,
            "attribution": ["period"] * n,
            "condition": np.where(silent, "unknown", np.where(poor, "poor", "good")).tolist(),
            "faults": [
                [FAULTS[f]] if there else [] for f, there in zip(fault, faulty, strict=True)
            ],
        },
        ModelSettings(n_neighbours=0, interactions=False),
    )
    rows = price_adjustments(model).to_pylist()
    told = {r["term"]: r for r in rows if (r["scope"], r["kind"]) == ("all", "fault")}
    for name, true in zip(FAULTS, FAULT_EFFECTS, strict=True):
        assert abs(told[name]["log_effect"] - true) < 2.6 * told[name]["log_error"]


def test_severities_do_not_take_the_place_of_the_effects_themselves() -> None:
    """Many faults of unlike effects, counted alike by all kinds: each interval is its own.

    What severities scale is learned from the same sales, so that free ones would explain every
    fault at once and leave its interval far too narrow.
    """
    rng = np.random.default_rng(8)
    n, n_faults = 9000, 40
    effects = rng.normal(-0.25, 0.15, n_faults)
    fault, there = rng.integers(0, n_faults, n), rng.random(n) < 0.3
    kind = rng.integers(0, 30, n)
    price = 4 + np.where(there, effects[fault], 0.0) + rng.normal(0, 0.7, n)
    model = fit_model(
        {
            "log_price": price,
            "category_id": [f"c{c:02d}" for c in kind],
            "family_id": [f"f{c % 15:02d}" for c in kind],
            "attribution": ["period"] * n,
            "condition": ["good"] * n,
            "faults": [
                [f"fault {f:02d}"] if one else [] for f, one in zip(fault, there, strict=True)
            ],
        },
        ModelSettings(n_neighbours=0, interactions=False, calibration_share=0.01),
    )
    rows = price_adjustments(model).to_pylist()
    told = {r["term"]: r for r in rows if (r["scope"], r["kind"]) == ("all", "fault")}
    held = [
        abs(told[f"fault {f:02d}"]["log_effect"] - effects[f])
        < 1.96 * told[f"fault {f:02d}"]["log_error"]
        for f in range(n_faults)
    ]
    # 40 intervals of 95 %: fewer than 34 hold in less than one draw of a thousand
    assert sum(held) >= 34
