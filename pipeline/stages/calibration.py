"""Calibration: what the kept `model_calibration` says of the price model's ranges, in sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.columns import MODEL_CALIBRATION


@dataclass(frozen=True)
class Calibration:
    """Rows of `model_calibration`, all first; none where the model could not be judged."""

    rows: list[dict[str, Any]]

    def sentences(self) -> list[str]:
        """How the ranges held in all, and every warning."""
        if not self.rows:
            return ["Calibration: not judged; the price model is off, or the sales are too few."]
        whole = self.rows[0]
        return [
            f"Calibration: on the newest {whole['n']:,} sales the 80 % range of an estimate held "
            f"{whole['coverage_80']:.0%}; median of estimate over price "
            f"{whole['median_ratio']:.2f}, median error {whole['mdape']:.0f} %.",
            *self.warnings(),
        ]

    def warnings(self) -> list[str]:
        """A sentence for every group whose ranges or middle are off by more than chance does."""
        return [_warning(row) for row in self.rows if row["is_off"]]


def _warning(row: dict[str, Any]) -> str:
    part = {"all": "all families", "family": f"family {row['part']}"}.get(
        row["kind"], f"{row['part']} evidence"
    )
    return (
        f"Warning: estimates have drifted, {part}: of {row['n']:,} newest sales "
        f"{row['coverage_80']:.0%} lay in the 80 % range and {row['share_below']:.0%} below the "
        "estimate, where 50 % should. Read its ranges with care; `comparables backtest` shows more."
    )


def calibration_of(con: duckdb.DuckDBPyConnection) -> Calibration:
    """The calibration of a published database."""
    result = con.execute(f"FROM {MODEL_CALIBRATION.name} ORDER BY kind <> 'all', kind, part")
    names = [column[0] for column in result.description or []]
    return Calibration([dict(zip(names, row, strict=True)) for row in result.fetchall()])
