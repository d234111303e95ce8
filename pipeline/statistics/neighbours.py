"""The nearest sales: what the residuals of like, earlier pieces say about a piece.

Likeness is a distance over named parts (size, words, terms, expected price, time), each with a
scale. The evidence is a weighted mean of the neighbours' residuals that leans on zero,
sum(w r) / (sum(w) + lean), with w falling by distance (Nadaraya 1964; Watson 1964). Scales and
lean are those under which sales are best foretold by their earlier neighbours (metric learning
for kernel regression: Weinberger & Tesauro 2007, AISTATS).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.statistics.arrays import Floats, Ints

# What a person asks of a like sale before anything else (common practice, no source).
_TERMS = ("category", "material_id", "condition", "set_class", "period_id")
_TERM_SCALE = 4.0
_ROOT3 = float(np.sqrt(3.0))
_BLOCK = 256
_CANDIDATES = 40
_USUAL_SCALE = 0.05


@dataclass(frozen=True)
class Embedding:
    """Points of sales: one row a sale; part_of says to which named part a column belongs."""

    points: Floats
    part_of: Ints
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Likeness:
    """The learned metric: a scale a part (per squared distance), and the weight of zero.

    useful is False where neighbours foretold no better than none: then they are not asked.
    """

    scales: Floats
    lean: float
    useful: bool

    def scaled(self, embedding: Embedding) -> Floats:
        """Points whose plain Euclidean distance is the learned one; idle columns left out."""
        scale = np.sqrt(self.scales)[embedding.part_of]
        use = scale > 1e-3 * max(float(scale.max(initial=0.0)), 1e-12)
        return np.asarray((embedding.points[:, use] * scale[use]).astype(np.float32))


def kernel(distance: Floats) -> Floats:
    """Weight at a distance (Matern 3/2): 1 at 0, falling smoothly to 0."""
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
    """What the neighbours say: a mean a target, log units; weights targets x k that sum below one
    (0 where there is none); support: the sum of likeness, in sales alike to the last detail."""

    mean: Floats
    weights: Floats
    support: Floats


def local_evidence(
    residuals: Floats, trust: Floats, places: Ints, distances: Floats, likeness: Likeness
) -> Local:
    """Weights of the neighbours and their weighted residual.

    Args:
        residuals, trust: of the pool (trust 1 is a usual sale, less one that its residual made
            doubtful); places, distances: from `nearest_within`.
    """
    n, k = places.shape
    if not likeness.useful or k == 0 or residuals.size == 0:
        return Local(np.zeros(n), np.zeros((n, k)), np.zeros(n))
    safe = np.maximum(places, 0)
    alike = kernel(np.where(places >= 0, distances, 1e3)) * trust[safe] * (places >= 0)
    support = alike.sum(axis=1)
    weights = alike / (support + likeness.lean)[:, None]
    return Local((weights * residuals[safe]).sum(axis=1), weights, support)


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
    k: int = 30,
    n_targets: int = 2500,
    seed: int = 0,
) -> Likeness:
    """Scales and lean under which sales are best foretold by nearest earlier ones.

    Several turns of climbing, each with the neighbours of the scales before; the turn that
    foretells a common set of sales with the least absolute error is taken, and if none beats no
    neighbours at all the likeness says so.

    Args:
        residuals: log units, of the effects, each left out of its own fit.
        trust: 0 to 1 a sale. order: time; a sale is foretold from those before it.
        part: sales of different parts never speak for each other.
        start: a likeness learned before, to set out from.
    """
    rng = np.random.default_rng(seed)
    n_parts = len(embedding.parts)
    late = np.argsort(order, kind="stable")[residuals.size // 5 :]
    judges = rng.choice(late, size=min(n_targets, late.size), replace=False)
    flat = Likeness(np.full(n_parts, 3.0 / max(n_parts, 1)), 1.0, True)
    warm = start is not None and start.useful
    current = start if start is not None and warm else flat
    best = Likeness(current.scales, current.lean, False)
    least = float(np.average(np.abs(residuals[judges]), weights=trust[judges]))
    for _turn in range(1 if warm else 2):
        chosen = rng.choice(late, size=min(n_targets, late.size), replace=False)
        scaled = current.scaled(embedding)
        places, _ = nearest_within(
            scaled[chosen],
            part[chosen],
            scaled,
            part,
            _CANDIDATES,
            target_order=order[chosen],
            pool_order=order,
        )
        some = (places >= 0).sum(axis=1) >= min(5, _CANDIDATES)
        if some.sum() < 20:
            break
        current = _climb(current, chosen[some], places[some], embedding, residuals, trust)
        error = _judged(current, judges, embedding, residuals, trust, order, part, k)
        if error < least:
            best, least = current, error
    return best if best.useful else Likeness(_plain_scales(embedding), best.lean, False)


def _plain_scales(embedding: Embedding) -> Floats:
    """Where likeness foretells nothing, the sales to be shown are those of like terms."""
    return np.array([_TERM_SCALE if part in _TERMS else 1.0 for part in embedding.parts])


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
    local = local_evidence(residuals, trust, places, distances, likeness)
    return float(np.average(np.abs(residuals[judges] - local.mean), weights=trust[judges]))


def _climb(
    start: Likeness,
    chosen: Ints,
    places: Ints,
    embedding: Embedding,
    residuals: Floats,
    trust: Floats,
) -> Likeness:
    """Scales and lean of least (rounded-off) absolute error for given candidates."""
    n_parts = len(embedding.parts)
    here = places >= 0
    safe = np.maximum(places, 0)
    apart = np.empty((n_parts, *places.shape))
    for p in range(n_parts):
        points = embedding.points[:, embedding.part_of == p]
        gap = points[chosen][:, None, :] - points[safe]
        apart[p] = np.einsum("bkd,bkd->bk", gap, gap)
    flat = apart.reshape(n_parts, -1)
    r, t, y = residuals[safe], trust[safe] * here, residuals[chosen]
    importance = trust[chosen]
    corner = 0.5 * float(np.median(np.abs(y))) + 1e-9
    prior = 1e-4 * float(importance.sum()) * corner

    def error(x: Floats) -> tuple[float, Floats]:
        scales, lean = np.exp(x[:-1]), float(np.exp(x[-1]))
        d = _ROOT3 * np.sqrt(scales @ flat + 1e-9).reshape(places.shape)
        decay = np.exp(-d)
        w = (1 + d) * decay * t
        total = w.sum(axis=1) + lean
        mean = (w * r).sum(axis=1) / total
        gap = mean - y
        size = np.sqrt(gap**2 + corner**2)
        slope = importance * gap / size / total
        by_distance = slope[:, None] * (r - mean[:, None]) * t * (-1.5 * decay)
        away = x[:-1] - np.log(_USUAL_SCALE)
        gradient = np.append(
            (flat @ by_distance.ravel()) * scales + 2 * prior * away,
            -float((slope * mean).sum()) * lean,
        )
        return float((importance * size).sum() + prior * (away @ away)), gradient

    first = np.log(np.append(start.scales, start.lean))
    bounds = [(-12.0, 8.0)] * n_parts + [(-5.0, 5.0)]
    from scipy import optimize  # late: only a fit needs it, and it takes long to load

    found = optimize.minimize(
        error,
        np.clip(first, [low for low, _ in bounds], [high for _, high in bounds]),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": 50},
    )
    return Likeness(np.exp(found.x[:-1]), float(np.exp(found.x[-1])), True)
