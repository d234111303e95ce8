"""Array types, and the one rule for missing numbers: NaN is missing and is left out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def present(values: npt.ArrayLike) -> Floats:
    """The numbers that are there, as one flat float array: NaN is left out.

    Raises:
        ValueError: a value is infinite; a logarithm of zero must not pass for a price.
    """
    flat = np.asarray(values, dtype=np.float64).ravel()
    flat = flat[~np.isnan(flat)]
    if np.isinf(flat).any():
        raise ValueError("an infinite value is not a measurement")
    return flat


def paired(first: npt.ArrayLike, second: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Two flat float arrays of one length, without the pairs of which either half is NaN.

    Raises:
        ValueError: the lengths differ, or a value is infinite.
    """
    left = np.asarray(first, dtype=np.float64).ravel()
    right = np.asarray(second, dtype=np.float64).ravel()
    if left.shape != right.shape:
        raise ValueError(f"{left.size} values cannot be paired with {right.size}")
    keep = ~(np.isnan(left) | np.isnan(right))
    left, right = left[keep], right[keep]
    if np.isinf(left).any() or np.isinf(right).any():
        raise ValueError("an infinite value is not a measurement")
    return left, right


def group_starts(sorted_groups: Ints, n_groups: int) -> Ints:
    """Where each group begins in an array sorted by group: n_groups + 1 offsets."""
    return np.searchsorted(sorted_groups, np.arange(n_groups + 1)).astype(np.int64)
