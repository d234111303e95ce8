"""What a sale's terms lead one to expect of its price: a plain additive model that doubts slips.

Every label of every term has an effect on the log price, shrunk towards none (ridge), fitted with
weights that doubt surprising sales (a t distribution; Lange, Little & Taylor 1989, JASA 84), so
that a slipped price hardly moves what it is held against.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy import linalg, sparse

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.outliers import NORMAL_QUARTILE

# Standard deviation of the effects of labels before any sale is seen, log units: a term may well
# move a price by half (common practice, no source). Against the scatter of prices it says how
# many sales a label needs to be believed; where prices scatter little, hardly any.
USUAL_EFFECT = 0.5
# A label of fewer sales is part of what is usual.
LEAST_LABEL = 3
# Degrees of freedom, as the price model has it: log prices have tails heavier than normal.
FREEDOM = 5.0
_TURNS = 4
# Sales that the effects are learned from; with more, an even selection in the order given.
MOST_LEARNED = 200_000


def differences(log_price: Floats, terms: Sequence[Ints], flags: tuple[Ints, Ints]) -> Floats:
    """Log price less what the terms lead one to expect, one a sale.

    Args:
        log_price: without NaN; terms: for every term the label's number of each sale, from 0;
        flags: sales and labels of a term of which a sale may have several (faults).
    """
    n = log_price.size
    row = np.concatenate([*(np.arange(n) for _ in terms), flags[0]]).astype(np.int64)
    columns, at = [], 0
    for codes in [*terms, flags[1]]:
        columns.append(codes + at)
        at += int(codes.max(initial=-1)) + 1
    matrix = sparse.csr_array(
        (np.ones(row.size), (row, np.concatenate(columns).astype(np.int64))), shape=(n, at)
    )
    matrix = matrix[:, np.asarray(matrix.sum(axis=0)).ravel() >= LEAST_LABEL]
    step = -(-n // MOST_LEARNED)
    known, price = matrix[::step], log_price[::step]
    usual = float(np.median(price))
    weight = np.ones(price.size)
    effects = np.zeros(matrix.shape[1])
    scale = _scale(price - usual)
    for _ in range(_TURNS):
        weighted = sparse.csr_array(known.multiply(weight[:, None]))
        left = (known.T @ weighted).toarray()
        left += (scale / USUAL_EFFECT) ** 2 * np.eye(effects.size)
        effects = linalg.solve(left, weighted.T @ (price - usual), assume_a="pos")
        away = price - usual - known @ effects
        scale = _scale(away)
        weight = (FREEDOM + 1) / (FREEDOM + (away / scale) ** 2)
    return np.asarray(log_price - usual - matrix @ effects)


def _scale(away: Floats) -> float:
    """Robust standard deviation about zero."""
    return max(float(np.median(np.abs(away))) / NORMAL_QUARTILE, 1e-6)
