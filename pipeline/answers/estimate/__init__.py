"""From a described piece to a figure with its range, its evidence and the sum behind it."""

from __future__ import annotations

from pipeline.answers.estimate.columns import ESTIMATES
from pipeline.answers.estimate.estimator import Estimator, estimate

__all__ = ["ESTIMATES", "Estimator", "estimate"]
