"""Predictive ranges that hold as often as they say: conformal within evidence classes.

Errors of sales that were predicted without being seen, divided by the width expected of each, are
scores; their quantiles, by evidence class, turn a new prediction's width into its range (split
conformal prediction: Vovk, Gammerman & Shafer 2005; Lei et al. 2018, JASA 113). A class with few
scores leans on all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.quantiles import quantile

LEVELS = tuple(round(0.05 * i, 2) for i in range(1, 20))
EVIDENCE = ("strong", "fair", "thin", "family", "none")
# Scores that the quantiles of all classes together are worth against a class's own.
_LEAN = 20.0
# Scores that a class must have to say anything of its own.
_LEAST_SCORES = 10


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

    @classmethod
    def together(cls, blocks: Sequence[HeldBack]) -> HeldBack:
        """The sales of several blocks, one after the other."""
        return cls(
            day=np.concatenate([b.day for b in blocks]),
            log_price=np.concatenate([b.log_price for b in blocks]),
            centre=np.concatenate([b.centre for b in blocks]),
            width=np.concatenate([b.width for b in blocks]),
            evidence=np.concatenate([b.evidence for b in blocks]),
            family=tuple(chain.from_iterable(b.family for b in blocks)),
        )


@dataclass(frozen=True)
class Errors:
    """Errors of sales that were not seen, one entry a sale.

    error: price less prediction, log units; width: expected scale of each; evidence: place in
    EVIDENCE.
    """

    error: Floats
    width: Floats
    evidence: Ints


def common_error(error: Floats) -> float:
    """The part of the sales' median error that is more than chance, log units.

    The median is shrunk by its own sampling variance (positive-part James and Stein 1961); its
    standard error is that of a normal sample with the spread of the median absolute deviation.
    """
    middle = float(np.median(error))
    spread = float(np.median(np.abs(error - middle))) / 0.6745
    chance = np.pi / 2 * spread**2 / error.size
    return middle * max(1 - chance / middle**2, 0.0) if middle else 0.0


def learn_ranges(errors: Errors) -> Ranges:
    """Quantiles of the scores by class.

    Quantiles are of type 6, k / (n + 1), the one under which a new score of the same kind lies
    below it with the stated chance.
    """
    n = np.bincount(errors.evidence, minlength=len(EVIDENCE))
    out = np.zeros((len(EVIDENCE), len(LEVELS)))
    if errors.error.size == 0:
        return Ranges(out, n)
    score = errors.error / errors.width
    together = quantile(score, LEVELS, 6)
    for c in range(len(EVIDENCE)):
        out[c] = together
        if n[c] >= _LEAST_SCORES:
            share = n[c] / (n[c] + _LEAN)
            out[c] = (
                share * quantile(score[errors.evidence == c], LEVELS, 6) + (1 - share) * together
            )
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
