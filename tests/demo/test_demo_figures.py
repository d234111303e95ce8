"""What the refreshed demo publishes, against the truth of its generator, which the code never sees."""

from __future__ import annotations

from pathlib import Path

from tests.demo.compare import Comparison


def test_intervals_of_effects_hold_the_true_ones(demo_workspace: Path) -> None:
    found = Comparison(demo_workspace / "data" / "curated" / "comparables.duckdb").adjustments()
    share, n = found["all"]
    assert n > 1000
    assert share >= 0.93
    for kind in ("category, condition", "category, market", "family, market"):
        assert found[kind][0] >= 0.93, kind
