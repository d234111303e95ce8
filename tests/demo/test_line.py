"""The whole line over the demo, against the truth: what holds and must go on holding.

Thresholds are floors, set below what is reached; `python -m tests.demo.compare` tells the figures.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.demo.compare import Comparison


@pytest.fixture(scope="module")
def compared(demo_workspace: Path) -> Comparison:
    return Comparison(demo_workspace / "data" / "curated" / "comparables.duckdb")


def test_only_what_is_broken_is_set_aside(compared: Comparison) -> None:
    for name, (n, of) in compared.broken().items():
        if name == "good rows":
            assert n == 0
        elif name != "no price told":
            assert n == of, name


def test_every_offer_stays_out_of_the_bands(compared: Comparison) -> None:
    assert compared.prices()["offers_kept_from_bands"] == 1.0


def test_basis_prices_are_the_true_ones(compared: Comparison) -> None:
    assert compared.prices()["basis_right"] >= 0.999


def test_lots_are_known(compared: Comparison) -> None:
    for kind, rates in compared.lots().items():
        least = 0.94 if kind == "part or empty box" else 0.98
        assert rates.precision >= 0.98, kind
        assert rates.recall >= least, kind


def test_overlapping_exports_count_once(compared: Comparison) -> None:
    figures = compared.duplicates()
    assert figures["one row per sale"].precision >= 0.98
    for kind in ("same_listing", "same_row", "corrected_listing"):
        assert figures[f"  {kind}"].recall == 1.0, kind


def test_terms_are_read(compared: Comparison) -> None:
    category = compared.category()
    assert category["accepted"] >= 0.90
    assert category["near_of_accepted"] >= 0.95
    terms = compared.terms()
    assert terms["material"] >= 0.94
    assert terms["period"] >= 0.97
    assert terms["condition_told"] >= 0.98
    assert terms["class"] >= 0.97


def test_clean_sales_are_left_in_peace(compared: Comparison) -> None:
    assert compared.wild()["clean_flagged"] <= 0.01


def test_slipped_prices_are_found(compared: Comparison) -> None:
    assert compared.wild()["found"] >= 0.65


def test_intervals_of_the_bands_hold_the_true_medians(compared: Comparison) -> None:
    figures = compared.bands(least=12)
    assert figures["cells"] >= 200
    assert figures["interval_holds_truth"] >= 0.90
