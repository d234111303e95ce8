"""Predictive ranges that hold as often as they say: conformal within evidence classes.

Errors of sales that were predicted without being seen, divided by the width expected of each, are
scores; their quantiles, by evidence class, turn a new prediction's width into its range (split
conformal prediction: Vovk, Gammerman & Shafer 2005; Lei et al. 2018, JASA 113). A class with few
scores leans on all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.quantiles import quantile, weighted_quantile

LEVELS = tuple(round(0.05 * i, 2) for i in range(1, 20))
EVIDENCE = ("strong", "fair", "thin", "family", "none")
# Scores that the quantiles of all classes together are worth against a class's own.
_LEAN = 60.0


@dataclass(frozen=True)
class Ranges:
    """scores: evidence classes x LEVELS, in widths; n: scores of each class."""

    scores: Floats
    n: Ints

    def quantiles(self, centre: Floats, width: Floats, evidence: Ints) -> Floats:
        """rows x LEVELS, rising in each row, in log units."""
        return np.asarray(centre[:, None] + width[:, None] * self.scores[evidence])


@dataclass(frozen=True)
class HeldBack:
    """Sales foretold by a fit that did not see them, one entry a sale.

    day: of sale, days since 1970; log_price; centre: log price foretold, before drift; width:
    expected scale of the error, log units; evidence: place in EVIDENCE; family: its id.
    """

    day: Floats
    log_price: Floats
    centre: Floats
    width: Floats
    evidence: Ints
    family: tuple[str, ...]


def learn_ranges(error: Floats, width: Floats, evidence: Ints, weight: Floats) -> Ranges:
    """Quantiles of the scores by class.

    Args:
        error: price less prediction, log units, of sales not seen; width: expected scale of each;
        evidence: place in EVIDENCE of each; weight: of each, one for a usual one.

    Quantiles are of type 6, k / (n + 1), the one under which a new score of the same kind lies
    below it with the stated chance.
    """
    score = error / width
    n = np.bincount(evidence, minlength=len(EVIDENCE))
    plain = bool(np.all(weight == weight[0])) if weight.size else True
    out = np.zeros((len(EVIDENCE), len(LEVELS)))
    if score.size == 0:
        return Ranges(out, n)

    def of(rows: Floats) -> Floats:
        chosen = rows.astype(bool)
        if plain:
            return quantile(score[chosen], LEVELS, 6)
        return weighted_quantile(score[chosen], weight[chosen], LEVELS)

    together = of(np.ones(score.size))
    for c in range(len(EVIDENCE)):
        out[c] = together
        if n[c] >= 10:
            share = n[c] / (n[c] + _LEAN)
            out[c] = share * of(evidence == c) + (1 - share) * together
    # The prediction itself is the median; a common error is carried by the model as drift.
    middle = LEVELS.index(0.5)
    out = np.sort(out, axis=1)
    out[:, :middle] = np.minimum(out[:, :middle], 0.0)
    out[:, middle] = 0.0
    out[:, middle + 1 :] = np.maximum(out[:, middle + 1 :], 0.0)
    return Ranges(out, n)


def evidence_class(own: Ints, in_family: Ints, some: int, many: int) -> Ints:
    """Place in EVIDENCE by the number of own sales (category and attribution class).

    strong: `many` own sales and more; fair: `some`; thin: one; family: none but the family's;
    none: not even those.
    """
    return np.select(
        [own >= many, own >= some, own >= 1, in_family >= 1], [0, 1, 2, 3], default=4
    ).astype(np.int64)
