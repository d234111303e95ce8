"""Fit the weights of `pipeline/vocabulary/sureness.csv`, and print what they would buy.

`first_sight.csv` counts, by signs, what the reader of commit f7ba7c8 read right and wrong in the
part to tune on of the wide lists: it had seen none of them, so its errors are those of a first
sight. What today's reader gets wrong there is no guide, since it was mended on these rows.

    python -m tests.bench.fit_sureness            # writes the weights
    python -m tests.bench.fit_sureness --dry-run  # prints them only
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.special import expit

from pipeline.terms.sureness import COLUMNS, SURENESS_FILE

COUNTS = Path(__file__).with_name("first_sight.csv")
PENALTY = 2.0  # of a squared weight: few errors, many signs
LEAST_WEIGHT = 0.05  # smaller ones are left out


def fit(kind: str) -> dict[str, float]:
    """Weights of the log-odds of being wrong, the constant under ""."""
    with COUNTS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["kind"] == kind]
    patterns = [set(filter(None, row["signs"].split("; "))) for row in rows]
    signs = sorted(set().union(*patterns))
    design = np.array([[1.0, *(float(sign in one) for sign in signs)] for one in patterns])
    right = np.array([float(row["right"]) for row in rows])
    wrong = np.array([float(row["wrong"]) for row in rows])

    def loss(weights: npt.NDArray[np.float64]) -> tuple[float, npt.NDArray[np.float64]]:
        odds = design @ weights
        value = np.sum(wrong * np.logaddexp(0, -odds) + right * np.logaddexp(0, odds))
        slope = design.T @ ((wrong + right) * expit(odds) - wrong)
        penalty = np.append(0.0, weights[1:])
        return value + PENALTY * float(penalty @ penalty), slope + 2 * PENALTY * penalty

    found = minimize(loss, np.zeros(design.shape[1]), jac=True, method="L-BFGS-B").x
    weights = {sign: float(weight) for sign, weight in zip(["", *signs], found, strict=True)}
    return {s: w for s, w in weights.items() if not s or abs(w) >= LEAST_WEIGHT}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--dry-run", action="store_true", help="print the weights only")
    arguments = parser.parse_args()
    rows = [
        (kind, sign, f"{weight:.2f}")
        for kind in ("category", "material")
        for sign, weight in fit(kind).items()
    ]
    for kind, sign, weight in rows:
        print(f"{kind:<10}{sign or '(constant)':<24}{weight:>7}")
    if not arguments.dry_run:
        with SURENESS_FILE.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(COLUMNS)
            writer.writerows(rows)
        print(f"{len(rows)} weights written to {SURENESS_FILE.name}")


if __name__ == "__main__":
    main()
