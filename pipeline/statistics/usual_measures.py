"""The usual measures of a kind, for a sale that tells none.

A rug is larger than a thimble. Where some sales of a kind tell their size and others do not, a
missing one must stand for the kind's usual size and not for that of all goods, or the slope of size
would part the two by far more than the size does.
"""

from __future__ import annotations

import numpy as np

from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Floats, Ints

# Sales of the family, and of all, that a kind's own sizes weigh as many of.
_LEANING = 3.0


def usual_measures(standard: Floats, category: read.Factor, family_of: Ints) -> Floats:
    """The mean measure of each category, leaning on its family and that on all.

    Args:
        standard: sales x measures in standard units, NaN where none is told.

    Returns:
        (categories + 1) x measures; the last row is of a kind that was never seen.
    """
    there = np.isfinite(standard)
    told = np.where(there, standard, 0.0)
    shape = (len(category.labels), standard.shape[1])
    sums, counts = np.zeros(shape), np.zeros(shape)
    np.add.at(sums, category.codes, told)
    np.add.at(counts, category.codes, there.astype(np.float64))
    families = np.zeros((int(family_of.max(initial=0)) + 1, shape[1]))
    of_family = families.copy()
    np.add.at(families, family_of, sums)
    np.add.at(of_family, family_of, counts)
    parent = families / (of_family + _LEANING)  # of all goods the mean is nought
    own = (sums + _LEANING * parent[family_of]) / (counts + _LEANING)
    return np.vstack([own, np.zeros(shape[1])])


def shares_untold(standard: Floats, category: read.Factor) -> Floats:
    """The share of each category's sales that do not tell a measure, in the shape of the above."""
    untold = ~np.isfinite(standard)
    shape = (len(category.labels), standard.shape[1])
    sums = np.zeros(shape)
    np.add.at(sums, category.codes, untold.astype(np.float64))
    counts = np.bincount(category.codes, minlength=shape[0])[:, None]
    overall = untold.mean(axis=0, keepdims=True) if untold.shape[0] else np.zeros((1, shape[1]))
    return np.vstack([np.where(counts > 0, sums / np.maximum(counts, 1), overall), overall])


def usual_logs(values: Floats, category: read.Factor, family_of: Ints) -> Floats:
    """The usual natural logarithm of a measure by category and, last, of all: categories + 1."""
    logs = log_of(values)
    there = logs[np.isfinite(logs)]
    overall = float(there.mean()) if there.size else 0.0
    return usual_measures(logs[:, None] - overall, category, family_of)[:, 0] + overall


def log_of(values: Floats) -> Floats:
    """The natural logarithm; NaN of what is no size."""
    return np.log(np.where(values > 0, values, np.nan))
