"""The nearest sales: what the residuals of like, earlier pieces say about a piece.

Likeness is a distance over named parts (size, words, terms, expected price, time), each with a
scale that is learned from the residuals themselves: the scales, the strength and the noise of a
Gaussian process are those under which each sale is best foretold by its nearest earlier ones
(Vecchia 1988, JRSS B 50, the likelihood; Datta et al. 2016, JASA 111, its use for prediction).
The weights of the neighbours then follow, and their sum below one is the shrinkage to zero.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import optimize

from pipeline.statistics.arrays import Floats, Ints

_ROOT3 = float(np.sqrt(3.0))
_BLOCK = 256


@dataclass(frozen=True)
class Embedding:
    """Points of sales: one row a sale; part_of says to which named part a column belongs."""

    points: Floats
    part_of: Ints
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Likeness:
    """The learned metric: a scale a part (per squared distance), and two variances.

    strength: variance of what like sales share; noise: variance of one sale; both in squared log
    units. A likeness with strength 0 says that neighbours tell nothing.
    """

    scales: Floats
    strength: float
    noise: float

    def scaled(self, embedding: Embedding) -> Floats:
        """Points whose plain Euclidean distance is the learned one; idle columns left out."""
        scale = np.sqrt(self.scales)[embedding.part_of]
        use = scale > 1e-3 * max(float(scale.max(initial=0.0)), 1e-12)
        return (embedding.points[:, use] * scale[use]).astype(np.float32)


def kernel(distance: Floats) -> Floats:
    """Share of common residual at a distance (Matern 3/2): 1 at 0, falling smoothly."""
    d = _ROOT3 * distance
    return np.asarray((1 + d) * np.exp(-d))


def nearest(
    targets: Floats,
    pool: Floats,
    k: int,
    *,
    target_order: Floats | None = None,
    pool_order: Floats | None = None,
) -> tuple[Ints, Floats]:
    """The k nearest of the pool for each target, only those strictly earlier if orders are given.

    Returns:
        Places in the pool (-1 where there are fewer) and distances, targets x k, nearest first.
    """
    n, m = targets.shape[0], pool.shape[0]
    k_found = min(k, m)
    places = np.full((n, k), -1, dtype=np.int64)
    distances = np.full((n, k), np.inf)
    if k_found == 0 or n == 0:
        return places, distances
    norms = np.einsum("ij,ij->i", pool, pool)
    order = np.argsort(target_order, kind="stable") if target_order is not None else np.arange(n)
    pool_sort = None
    if target_order is not None and pool_order is not None:
        pool_sort = np.argsort(pool_order, kind="stable")
        pool, norms, sorted_order = pool[pool_sort], norms[pool_sort], pool_order[pool_sort]
    for start in range(0, n, _BLOCK):
        rows = order[start : start + _BLOCK]
        block = targets[rows]
        limit = m
        if pool_sort is not None and target_order is not None:
            cuts = np.searchsorted(sorted_order, target_order[rows], side="left")
            limit = int(cuts.max(initial=0))
            if limit == 0:
                continue
        squared = norms[None, :limit] - 2 * (block @ pool[:limit].T)
        if pool_sort is not None:
            squared[np.arange(limit)[None, :] >= cuts[:, None]] = np.inf
        take = min(k, limit)
        if take < limit:
            chosen = np.argpartition(squared, take - 1, axis=1)[:, :take]
        else:
            chosen = np.broadcast_to(np.arange(limit), (rows.size, limit))
        close = np.take_along_axis(squared, chosen, axis=1)
        close = close + np.einsum("ij,ij->i", block, block)[:, None]
        by = np.argsort(close, axis=1, kind="stable")
        close = np.take_along_axis(close, by, axis=1)
        chosen = np.take_along_axis(chosen, by, axis=1)
        found = np.isfinite(close)
        if pool_sort is not None:
            chosen = pool_sort[chosen]
        places[rows[:, None], np.arange(take)[None, :]] = np.where(found, chosen, -1)
        distances[rows[:, None], np.arange(take)[None, :]] = np.where(
            found, np.sqrt(np.maximum(close, 0.0)), np.inf
        )
    return places, distances


@dataclass(frozen=True)
class Local:
    """What the neighbours say: targets, or targets x k for weights (0 where there is none)."""

    mean: Floats
    variance: Floats
    weights: Floats


def local_evidence(
    pool: Floats,
    residuals: Floats,
    trust: Floats,
    places: Ints,
    distances: Floats,
    likeness: Likeness,
) -> Local:
    """Weights of the neighbours, their weighted residual, and the variance that is left.

    Args:
        pool: scaled points; residuals, trust: of the pool (trust 1 is a usual sale, less one that
            its residual made doubtful); places, distances: from `nearest_within`.

    Weights are not negative: a neighbour that would count against itself (it stands in the
    shadow of a nearer one) is left out and the others are weighed again.
    """
    n, k = places.shape
    mean, weights = np.zeros(n), np.zeros((n, k))
    variance = np.full(n, likeness.strength)
    if likeness.strength <= 0 or k == 0:
        return Local(mean, variance, weights)
    for start in range(0, n, 2048):
        rows = slice(start, min(start + 2048, n))
        at = places[rows]
        here = at >= 0
        safe = np.where(here, at, 0)
        near = pool[safe]
        between = np.einsum("nkd,nkd->nk", near, near)
        squared = (
            between[:, :, None] + between[:, None, :] - 2 * np.matmul(near, near.transpose(0, 2, 1))
        )
        shared = likeness.strength * kernel(np.sqrt(np.maximum(squared, 0.0)).astype(np.float64))
        cross = likeness.strength * kernel(np.where(here, distances[rows], 1e6))
        noise = likeness.noise / np.maximum(trust[safe], 1e-3)
        for _ in range(4):
            cross = np.where(here, cross, 0.0)
            matrix = shared * (here[:, :, None] & here[:, None, :])
            diagonal = np.where(here, likeness.strength + noise, 1.0)
            matrix[:, np.arange(k), np.arange(k)] = diagonal
            solved = np.linalg.solve(matrix, cross[:, :, None])[:, :, 0]
            negative = solved < 0
            if not negative.any():
                break
            here = here & ~negative
        solved = np.maximum(np.where(here, solved, 0.0), 0.0)
        weights[rows] = solved
        mean[rows] = (solved * residuals[safe]).sum(axis=1)
        variance[rows] = np.maximum(
            likeness.strength - (solved * cross).sum(axis=1), 1e-3 * likeness.strength
        )
    return Local(mean, variance, weights)


def nearest_within(
    targets: Floats,
    target_part: Ints,
    pool: Floats,
    pool_part: Ints,
    k: int,
    *,
    target_order: Floats | None = None,
    pool_order: Floats | None = None,
) -> tuple[Ints, Floats]:
    """As `nearest`, only among the pool's sales of the target's own part (family and class)."""
    places = np.full((targets.shape[0], k), -1, dtype=np.int64)
    distances = np.full((targets.shape[0], k), np.inf)
    for part in np.unique(target_part):
        rows = np.flatnonzero(target_part == part)
        mine = np.flatnonzero(pool_part == part)
        if part < 0 or mine.size == 0:
            continue
        at, far = nearest(
            targets[rows],
            pool[mine],
            k,
            target_order=None if target_order is None else target_order[rows],
            pool_order=None if pool_order is None else pool_order[mine],
        )
        places[rows] = np.where(at >= 0, mine[np.maximum(at, 0)], -1)
        distances[rows] = far
    return places, distances


def learn_likeness(
    embedding: Embedding,
    residuals: Floats,
    trust: Floats,
    order: Floats,
    part: Ints,
    *,
    start: Likeness | None = None,
    n_targets: int = 500,
    k: int = 24,
    seed: int = 0,
) -> Likeness:
    """Scales, strength and noise under which sales are best foretold by nearest earlier ones.

    The climb starts from several places (or from one learned before) and the end that foretells
    a common set of sales with the least absolute error is taken; if none does better than no
    neighbours at all, the strength is 0.

    Args:
        residuals: log units, of the effects, each left out of its own fit.
        trust: 0 to 1 a sale. order: time; a sale is foretold from those before it.
        part: sales of different parts never speak for each other.
    """
    rng = np.random.default_rng(seed)
    total = float(np.average(residuals**2, weights=trust))
    late = np.argsort(order, kind="stable")[residuals.size // 5 :]
    judges = rng.choice(late, size=min(2 * n_targets, late.size), replace=False)
    n_parts = len(embedding.parts)
    best = Likeness(np.full(n_parts, 1e-6), 0.0, total)
    least = float(np.average(np.abs(residuals[judges])))
    if start is not None and start.strength > 0:
        starts = [start]
    else:
        starts = [Likeness(scales, 0.5 * total, 0.5 * total) for scales in _first_scales(embedding)]
    for first in starts:
        theta = np.log(np.concatenate([first.scales, [first.strength, first.noise]]))
        for turn in range(1 if start is not None else 2):
            scaled = _unpack(theta).scaled(embedding)
            size = min(n_targets if turn else n_targets // 2, late.size)
            chosen = rng.choice(late, size=size, replace=False)
            joint = _with_neighbours(scaled, chosen, part, order, k)
            if joint.shape[0] < 20:
                return best
            theta = _climb(theta, joint, embedding, residuals, trust)
        found = _unpack(theta)
        error = _judged(found, judges, embedding, residuals, trust, order, part, k)
        if error < least:
            best, least = found, error
    return best


def _first_scales(embedding: Embedding) -> list[Floats]:
    """Places to start from: everything alike, and expected price and sizes first."""
    n_parts = len(embedding.parts)
    leading = np.array(
        [
            2.0 if p == "expected price" else 0.5 if p.startswith(("size", "effect")) else 0.01
            for p in embedding.parts
        ]
    )
    return [np.full(n_parts, 3.0 / n_parts), leading]


def _with_neighbours(scaled: Floats, chosen: Ints, part: Ints, order: Floats, k: int) -> Ints:
    places, _ = nearest_within(
        scaled[chosen],
        part[chosen],
        scaled,
        part,
        k,
        target_order=order[chosen],
        pool_order=order,
    )
    full = (places >= 0).all(axis=1)
    return np.concatenate([places[full], chosen[full][:, None]], axis=1)


def _judged(
    likeness: Likeness,
    judges: Ints,
    embedding: Embedding,
    residuals: Floats,
    trust: Floats,
    order: Floats,
    part: Ints,
    k: int,
) -> float:
    scaled = likeness.scaled(embedding)
    places, distances = nearest_within(
        scaled[judges],
        part[judges],
        scaled,
        part,
        k,
        target_order=order[judges],
        pool_order=order,
    )
    local = local_evidence(scaled, residuals, trust, places, distances, likeness)
    return float(np.abs(residuals[judges] - local.mean).mean())


def _unpack(theta: Floats) -> Likeness:
    return Likeness(np.exp(theta[:-2]), float(np.exp(theta[-2])), float(np.exp(theta[-1])))


def _climb(
    theta: Floats, joint: Ints, embedding: Embedding, residuals: Floats, trust: Floats
) -> Floats:
    n_parts = len(embedding.parts)
    b, k = joint.shape
    parts = np.empty((n_parts, b, k, k))
    for p in range(n_parts):
        points = embedding.points[:, embedding.part_of == p][joint]
        square = np.einsum("bkd,bkd->bk", points, points)
        parts[p] = np.maximum(
            square[:, :, None]
            + square[:, None, :]
            - 2 * np.matmul(points, points.transpose(0, 2, 1)),
            0.0,
        )
    flat = parts.reshape(n_parts, -1)
    r, inverse_trust = residuals[joint], 1.0 / np.maximum(trust[joint], 1e-3)
    target_weight = np.minimum(trust[joint[:, -1]], 1.0)
    eye = np.arange(k)
    centre = theta.copy()
    centre[:n_parts] = np.log(0.02)

    def negative(t: Floats) -> tuple[float, Floats]:
        scales, strength, noise = np.exp(t[:n_parts]), np.exp(t[-2]), np.exp(t[-1])
        d = _ROOT3 * np.sqrt(scales @ flat + 1e-12)
        decay = np.exp(-d).reshape(b, k, k)
        share = (1 + d.reshape(b, k, k)) * decay
        matrix = strength * share
        matrix[:, eye, eye] = strength + noise * inverse_trust + 1e-9
        inverse = np.linalg.inv(matrix)
        # The last one given the others, from the joint inverse.
        pivot = inverse[:, -1, -1]
        mean_gap = np.einsum("bk,bk->b", inverse[:, -1, :], r) / pivot
        value = 0.5 * target_weight * (np.log(pivot) - pivot * mean_gap**2)
        # Gradient weights: joint minus conditioning set, both halves of (aa' - K^-1) / 2.
        a = np.einsum("bij,bj->bi", inverse, r)
        last = inverse[:, :, -1]
        a_rest = a - last * (a[:, -1] / pivot)[:, None]
        rest = inverse - last[:, :, None] * last[:, None, :] / pivot[:, None, None]
        weight = 0.5 * (
            a[:, :, None] * a[:, None, :] - inverse - a_rest[:, :, None] * a_rest[:, None, :] + rest
        )
        weight *= target_weight[:, None, None]
        by_distance = (weight * (-1.5 * strength) * decay).reshape(-1)
        gradient = np.empty(t.size)
        gradient[:n_parts] = (flat @ by_distance) * scales
        gradient[-2] = float((weight * strength * share).sum())
        gradient[-2] += float(
            (weight[:, eye, eye] * (strength - strength * share[:, eye, eye])).sum()
        )
        gradient[-1] = float((weight[:, eye, eye] * noise * inverse_trust).sum())
        pull = (t - centre)[:n_parts] / 3.0
        total = -float(value.sum()) + 0.5 * float(pull @ pull)
        gradient = -gradient
        gradient[:n_parts] += pull / 3.0
        return total, gradient

    bounds = [(-14.0, 8.0)] * n_parts + [(theta[-1] - 12, theta[-1] + 4)] * 2
    found = optimize.minimize(
        negative, theta, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": 40}
    )
    return np.asarray(found.x, dtype=np.float64)
