"""Partial pooling of a few estimates: how far each keeps its own, and how far it leans on all.

NaN is not taken. Variances are those of the estimates, known or well estimated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.statistics.arrays import Floats


@dataclass(frozen=True)
class Pooled:
    """Estimates drawn together.

    mean, standard_error: of the common mean; between: variance between the true values (tau^2);
    values: each estimate after pooling; own_share: weight of each one's own (1 - shrinkage);
    heterogeneity: Cochran's Q.
    """

    mean: float
    standard_error: float
    between: float
    values: Floats
    own_share: Floats
    heterogeneity: float


def _checked(values: npt.ArrayLike, variances: npt.ArrayLike) -> tuple[Floats, Floats]:
    y = np.asarray(values, dtype=np.float64).ravel()
    v = np.broadcast_to(np.asarray(variances, dtype=np.float64), y.shape).ravel()
    if y.size < 2:
        raise ValueError("pooling takes two estimates or more")
    if not (np.isfinite(y).all() and np.isfinite(v).all() and (v > 0).all()):
        raise ValueError("estimates are numbers and their variances above zero")
    return y, v


def _pooled(y: Floats, v: Floats, between: float) -> Pooled:
    weight = 1 / (v + between)
    mean = float(weight @ y / weight.sum())
    fixed = float((y / v).sum() / (1 / v).sum())
    share = between / (between + v)
    return Pooled(
        mean=mean,
        standard_error=float(weight.sum() ** -0.5),
        between=between,
        values=mean + share * (y - mean),
        own_share=share,
        heterogeneity=float(((y - fixed) ** 2 / v).sum()),
    )


def fixed_effect(values: npt.ArrayLike, variances: npt.ArrayLike) -> Pooled:
    """One common value, inverse-variance weights: every estimate is pooled entirely."""
    y, v = _checked(values, variances)
    return _pooled(y, v, 0.0)


def dersimonian_laird(values: npt.ArrayLike, variances: npt.ArrayLike) -> Pooled:
    """Random effects by moments (DerSimonian & Laird 1986); tau^2 is not negative."""
    y, v = _checked(values, variances)
    w = 1 / v
    excess = fixed_effect(y, v).heterogeneity - (y.size - 1)
    scale = float(w.sum() - (w @ w) / w.sum())
    return _pooled(y, v, max(excess / scale, 0.0))


def reml(values: npt.ArrayLike, variances: npt.ArrayLike, *, tolerance: float = 1e-12) -> Pooled:
    """Random effects by restricted maximum likelihood (Fisher scoring; Viechtbauer 2005)."""
    y, v = _checked(values, variances)
    between = dersimonian_laird(y, v).between
    for _ in range(500):
        w = 1 / (v + between)
        total = float(w.sum())
        mean = float(w @ y / total)
        w2 = w**2
        projected = float(w2 @ (y - mean) ** 2)
        trace = total - float(w2.sum()) / total
        information = (
            float(w2.sum()) - 2 * float((w**3).sum()) / total + (float(w2.sum()) / total) ** 2
        )
        moved = max(between + (projected - trace) / information, 0.0)
        if abs(moved - between) <= tolerance * (1 + between):
            between = moved
            break
        between = moved
    return _pooled(y, v, between)


def james_stein(values: npt.ArrayLike, variance: float) -> Pooled:
    """Estimates of one known variance drawn towards their mean (Efron & Morris 1975).

    The share kept is c = 1 - (k - 3) variance / sum of squares, not below 0; k of 4 and more.

    Raises:
        ValueError: fewer than four estimates, or a variance not above zero.
    """
    y, v = _checked(values, variance)
    if y.size < 4:
        raise ValueError("James and Stein's rule takes four estimates or more")
    mean = float(y.mean())
    squares = float(((y - mean) ** 2).sum())
    kept = max(1 - (y.size - 3) * float(v[0]) / squares, 0.0) if squares > 0 else 0.0
    return Pooled(
        mean=mean,
        standard_error=float(np.sqrt(v[0] / y.size)),
        between=max(squares / (y.size - 3) - float(v[0]), 0.0),
        values=mean + kept * (y - mean),
        own_share=np.full(y.size, kept),
        heterogeneity=squares / float(v[0]),
    )
