"""A mixed model on three levels, solved by elimination up the tree and fitted by REML.

The mean of a row x of category c in family f is x'(b + g_f + d_c): effects shared by all,
departures of the family, departures of the category, all shrunk as far as their variance says.
The normal equations hang together like a tree, so categories are eliminated first, then families,
then the shared effects are solved. The sales enter only through the counted cross products of
each category: the cost grows with the cells that are filled, not with the sales.

Variance components by the fixed-point equations of restricted maximum likelihood
(Harville 1977, JASA 72; Schall 1991, Biometrika 78): tau^2 = u'Qu / (q - tr(QC) / tau^2).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from pipeline.statistics.arrays import Bools, Floats, Ints
from pipeline.statistics.cross_products import Counted, only
from pipeline.statistics.features import CATEGORY, FAMILY, SHARED, Group

Visit = Callable[[int, int, Ints, Floats], None]

# A flat prior's precision: small beside any evidence, large enough to solve empty columns.
_FLAT = 1e-8
_LEAST_VARIANCE_SHARE = 1e-7
_MOST_VARIANCE = 1e6
# A component with fewer effective degrees of freedom than this is nothing.
_LEAST_FREEDOM = 0.15


@dataclass
class _Node:
    """A family or category while it is eliminated.

    own: columns with effects of their own; at: their places in the node's columns;
    solved: S^-1, own x own; lift: S^-1 times the cross products with all the node's columns;
    offset: S^-1 times the right side. Own effects are offset - lift @ (effects from above).
    """

    columns: Ints
    own: Ints
    at: Ints
    solved: Floats
    lift: Floats
    offset: Floats


@dataclass
class Solution:
    """Effects, in log units, and what the fit learned about them.

    shared: one a column. family, category: per family and category the columns with an effect of
    their own and the departures. freedom: effective degrees of freedom, levels x groups.
    own_variance: per category, posterior variance of its own departures.
    """

    shared: Floats
    noise: float
    variances: Floats
    freedom: Floats
    family: dict[int, tuple[Ints, Floats]] = field(default_factory=dict)
    category: dict[int, tuple[Ints, Floats]] = field(default_factory=dict)
    own_variance: dict[int, tuple[Ints, Floats]] = field(default_factory=dict)

    def total(self, family: int, category: int) -> Floats:
        """Summed effects at a place in the tree (-1: nowhere known), one a column."""
        out = self.shared.copy()
        if family in self.family:
            own, value = self.family[family]
            out[own] += value
        if category in self.category:
            own, value = self.category[category]
            out[own] += value
        return out


class Tree:
    """The normal equations of one set of counted sales, for any variance components."""

    def __init__(
        self,
        counted: Counted,
        groups: Sequence[Group],
        guesses: Floats | None = None,
        most: Floats | None = None,
    ) -> None:
        """Args:
        guesses: levels x groups, a variance expected beforehand that counts as one degree of
            freedom, so that a component with little evidence does not fall to nothing; 0 where
            none is held (plain REML).
        most: levels x groups, the variance that a component may not exceed; none if absent.
        """
        self.counted = counted
        self.groups = tuple(groups)
        self.n_columns = counted.n_columns
        self.group_of = np.zeros(self.n_columns, dtype=np.int64)
        self.precisions = []
        for i, group in enumerate(self.groups):
            self.group_of[group.start : group.stop] = i
            self.precisions.append(group.precision())
        self.on_level: Bools = np.array(
            [[group.levels[level] for group in self.groups] for level in range(3)], dtype=bool
        ).reshape(3, len(self.groups))
        self.contrasts = [i for i, group in enumerate(self.groups) if group.reference >= 0]
        self.departs = np.ones(self.n_columns, dtype=bool)
        self.departs[[self.groups[i].reference for i in self.contrasts]] = False
        self.guesses = np.zeros(self.on_level.shape) if guesses is None else guesses
        self.most = (
            np.full(self.on_level.shape, _MOST_VARIANCE)
            if most is None
            else np.minimum(most, _MOST_VARIANCE)
        )
        self.walks = [i for i, group in enumerate(self.groups) if group.kind == "walk"]

    def drop(self, useless: Bools) -> None:
        """Leave out components (levels x groups) whose variance has shrunk to nothing."""
        self.on_level = self.on_level & ~useless
        live: Bools = np.asarray(self.on_level.any(axis=0), dtype=bool)[self.group_of]
        self.counted = only(self.counted, live)

    def start_variances(self, spread: float) -> Floats:
        """First guesses, levels x groups: a share of the values' variance each; 0 where absent."""
        guess = np.array([0.2, 0.04, 0.02])[:, None] * spread * self.on_level
        for i, group in enumerate(self.groups):
            if group.kind == "fixed":
                guess[SHARED, i] = np.inf
            elif group.name == "word" or not group.levels[CATEGORY]:
                guess[:, i] *= 0.1
        return np.asarray(guess)

    def _prior(self, columns: Ints, level: int, variances: Floats) -> Floats:
        """Prior precision on some columns, those of a walk that are missing integrated out."""
        variance = variances[level][self.group_of[columns]]
        flat = np.isinf(variance)
        diagonal = np.where(flat, _FLAT, 1.0 / np.where(flat | (variance <= 0), 1.0, variance))
        out = np.diag(diagonal)
        if level != SHARED:
            of = self.group_of[columns]
            for i in self.contrasts:
                inside = np.flatnonzero(of == i)
                if inside.size:
                    # departures from that of the reference, which is as uncertain as each of them
                    out[np.ix_(inside, inside)] -= 1.0 / (inside.size + 1) / variances[level, i]
        for i in self.walks:
            group = self.groups[i]
            inside = np.flatnonzero((columns >= group.start) & (columns < group.stop))
            if inside.size:
                out[np.ix_(inside, inside)] = (
                    self._walk_precision(i, columns[inside] - group.start) / variances[level, i]
                )
        return np.asarray(out)

    def _walk_precision(self, i: int, places: Ints) -> Floats:
        from scipy import linalg

        full = self.precisions[i]
        if places.size == full.shape[0]:
            return full
        return np.asarray(linalg.inv(linalg.inv(full)[np.ix_(places, places)]))

    def _node(
        self,
        columns: Ints,
        able: Ints,
        gram: Floats,
        right: Floats,
        level: int,
        variances: Floats,
        noise: float,
    ) -> _Node:
        """Solve a node's own effects in terms of those from above; gram is able x columns."""
        departs = self.on_level[level][self.group_of[columns[able]]]
        keep = np.flatnonzero(departs & self.departs[columns[able]])
        at = able[keep]
        own = columns[at]
        if own.size == 0:
            none = np.zeros((0, 0))
            return _Node(columns, own, at, none, np.zeros((0, columns.size)), np.zeros(0))
        rows = gram[keep] / noise
        solved = _inverse(rows[:, at] + self._prior(own, level, variances))
        return _Node(columns, own, at, solved, solved @ rows, solved @ (right[at] / noise))

    def solve(
        self,
        variances: Floats,
        noise: float,
        *,
        moments: bool = False,
        visit: Visit | None = None,
    ) -> Solution:
        """Effects for given variance components.

        Args:
            variances: levels x groups, tau^2; noise: sigma^2 of one sale of weight one.
            moments: also effective degrees of freedom and the variances of own effects.
            visit: called with (level, number, columns, covariance) of the summed effects of every
                place in the tree; they are too large to be kept all at once.
        """
        from scipy import linalg

        g = self.n_columns
        active = np.flatnonzero(self.on_level[SHARED][self.group_of])
        place = np.full(g, -1, dtype=np.int64)
        place[active] = np.arange(active.size)
        left, right = self._prior(active, SHARED, variances), np.zeros(active.size)
        families: dict[int, _Node] = {}
        categories: dict[int, _Node] = {}
        for branch in self.counted.branches:
            gram, values = branch.gram / noise, branch.right / noise
            for leaf in branch.leaves:
                node = self._node(
                    leaf.columns, leaf.able, leaf.gram, leaf.right, CATEGORY, variances, noise
                )
                categories[leaf.category] = node
                if node.own.size:
                    keep = np.searchsorted(leaf.able, node.at)
                    coupling = leaf.gram[keep] / noise
                    at = np.searchsorted(branch.columns, leaf.columns)
                    gram[np.ix_(at, at)] -= coupling.T @ node.lift
                    values[at] -= coupling.T @ node.offset
            everything = np.arange(branch.columns.size)
            node = self._node(
                branch.columns, everything, gram * noise, values * noise, FAMILY, variances, noise
            )
            families[branch.family] = node
            if node.own.size:
                values = values - gram[:, node.at] @ node.offset
                gram = gram - gram[:, node.at] @ node.lift
            up = np.flatnonzero(place[branch.columns] >= 0)
            to = place[branch.columns[up]]
            left[np.ix_(to, to)] += gram[np.ix_(up, up)]
            right[to] += values[up]
        factor = linalg.cho_factor(left, lower=True, check_finite=False)
        shared = np.zeros(g)
        shared[active] = linalg.cho_solve(factor, right, check_finite=False)
        solution = Solution(shared, noise, variances, np.zeros(variances.shape))
        self._substitute_back(solution, families, categories)
        if moments or visit is not None:
            self._moments(solution, active, place, _inverse_of(factor), families, categories, visit)
        return solution

    def _substitute_back(
        self, solution: Solution, families: dict[int, _Node], categories: dict[int, _Node]
    ) -> None:
        for branch in self.counted.branches:
            node = families[branch.family]
            above = solution.shared[branch.columns].copy()
            value = node.offset - node.lift @ above
            solution.family[branch.family] = (node.own, value)
            above[node.at] += value
            for leaf in branch.leaves:
                mine = categories[leaf.category]
                from_above = above[np.searchsorted(branch.columns, leaf.columns)]
                solution.category[leaf.category] = (
                    mine.own,
                    mine.offset - mine.lift @ from_above,
                )

    def _moments(
        self,
        solution: Solution,
        active: Ints,
        place: Ints,
        shared: Floats,
        families: dict[int, _Node],
        categories: dict[int, _Node],
        visit: Visit | None,
    ) -> None:
        tally = _Tally(self, solution)
        tally.add(SHARED, active, np.diag(shared), shared)
        if visit is not None:
            visit(SHARED, 0, active, shared)
        for branch in self.counted.branches:
            node = families[branch.family]
            up = np.flatnonzero(place[branch.columns] >= 0)
            to = place[branch.columns[up]]
            above = np.zeros((branch.columns.size, branch.columns.size))
            above[np.ix_(up, up)] = shared[np.ix_(to, to)]
            own = node.solved + node.lift @ above @ node.lift.T
            tally.add(FAMILY, node.own, np.diag(own), own)
            tally.add_contrasts(FAMILY, node, above)
            total = _summed(node, above)
            if visit is not None:
                visit(FAMILY, branch.family, branch.columns, total)
            for leaf in branch.leaves:
                mine = categories[leaf.category]
                at = np.searchsorted(branch.columns, leaf.columns)
                if mine.own.size:
                    upper = total[np.ix_(at, at)]
                    diagonal = np.diag(mine.solved) + np.einsum(
                        "ij,ij->i", mine.lift @ upper, mine.lift
                    )
                    tally.add(CATEGORY, mine.own, diagonal, None)
                    tally.add_contrasts(CATEGORY, mine, upper)
                    solution.own_variance[leaf.category] = (mine.own, diagonal)
                if visit is not None:
                    visit(
                        CATEGORY, leaf.category, leaf.columns, _summed(mine, total[np.ix_(at, at)])
                    )

    def residual_squares(self, solution: Solution) -> float:
        """Weighted sum of squared residuals, from the counted sums alone."""
        out = self.counted.squares
        for branch in self.counted.branches:
            effect = solution.shared[branch.columns].copy()
            own, value = solution.family[branch.family]
            effect[np.searchsorted(branch.columns, own)] += value
            out += float(effect @ (branch.gram @ effect) - 2 * (branch.right @ effect))
            for leaf in branch.leaves:
                own, value = solution.category[leaf.category]
                if own.size == 0:
                    continue
                at = np.searchsorted(leaf.columns, own)
                rows = leaf.gram[np.searchsorted(leaf.able, at)]
                above = effect[np.searchsorted(branch.columns, leaf.columns)]
                out += float(value @ (2 * (rows @ above - leaf.right[at]) + rows[:, at] @ value))
        return max(out, 0.0)

    def reml(
        self,
        variances: Floats | None = None,
        noise: float | None = None,
        *,
        rounds: int,
        tolerance: float = 1e-4,
        prune: bool = True,
        visit: Visit | None = None,
    ) -> Solution:
        """Variance components by REML, and the effects under them.

        Args:
            variances, noise: where to start; a guess from the values' spread if None.
            rounds: most rounds of the fixed-point equations.
            tolerance: stop when no component that matters moves more, as a share of itself.
            prune: leave out components that have shrunk to nothing; it changes no figure that
                is shown and saves most of the time.
            visit: of the last solution, see `solve`.
        """
        spread = self.counted.squares / max(self.counted.n, 1.0)
        tau = self.start_variances(spread) if variances is None else variances.copy()
        sigma = max(0.5 * spread if noise is None else noise, 1e-10)
        for turn in range(rounds):
            tau[~self.on_level] = 0.0
            solution = self.solve(tau, sigma, moments=True)
            used = float(solution.freedom.sum())
            left = max(self.counted.n - used, 0.05 * self.counted.n, 1.0)
            new_sigma = max(self.residual_squares(solution) / left, 1e-10)
            new_tau = self._updated(tau, solution, new_sigma)
            matters = np.isfinite(tau) & (tau > 1e-4 * new_sigma)
            moved = np.abs(new_tau[matters] / tau[matters] - 1) if matters.any() else np.zeros(1)
            moved_most = max(float(moved.max()), abs(new_sigma / sigma - 1))
            tau, sigma = new_tau, new_sigma
            if prune and turn >= 1:
                faint = (solution.freedom < _LEAST_FREEDOM) & (self.guesses == 0)
                self.drop(np.isfinite(tau) & self.on_level & faint)
            if moved_most < tolerance:
                break
        tau[~self.on_level] = 0.0
        return self.solve(tau, sigma, visit=visit)

    def _updated(self, tau: Floats, solution: Solution, sigma: float) -> Floats:
        quadratic = np.zeros(tau.shape)
        self._add_quadratic(quadratic, SHARED, np.arange(self.n_columns), solution.shared)
        for own, value in solution.family.values():
            self._add_quadratic(quadratic, FAMILY, own, value)
        for own, value in solution.category.values():
            self._add_quadratic(quadratic, CATEGORY, own, value)
        least = _LEAST_VARIANCE_SHARE * sigma
        active = np.isfinite(tau) & (tau > 0)
        out = tau.copy()
        held = self.guesses > 0
        quadratic += self.guesses
        freedom = np.maximum(solution.freedom + held, 1e-12)
        out[active] = np.clip(quadratic[active] / freedom[active], least, self.most[active])
        # No evidence left for a component: it shrinks towards nothing instead of 0 / 0.
        weak = active & ~held & (solution.freedom < 1e-6)
        out[weak] = np.maximum(tau[weak] * 0.1, least)
        return out

    def sizes_and_sums(self, group: Ints, value: Floats) -> tuple[Floats, Floats]:
        """How many columns of each group there are, and the sum of their values."""
        k = len(self.groups)
        sizes = np.bincount(group, minlength=k).astype(np.float64)
        return sizes, np.asarray(np.bincount(group, value, k), dtype=np.float64)

    def _add_quadratic(self, out: Floats, level: int, columns: Ints, value: Floats) -> None:
        group = self.group_of[columns]
        plain = ~np.isin(group, self.walks)
        out[level] += np.bincount(group[plain], value[plain] ** 2, len(self.groups))
        if level != SHARED and self.contrasts:
            n, total = self.sizes_and_sums(group, value)
            out[level, self.contrasts] -= (total**2 / (n + 1))[self.contrasts]
        for i in self.walks:
            inside = np.flatnonzero(group == i)
            if inside.size and self.on_level[level, i]:
                precision = self._walk_precision(i, columns[inside] - self.groups[i].start)
                out[level, i] += float(value[inside] @ precision @ value[inside])


class _Tally:
    """Sums effective degrees of freedom q - tr(QC) / tau^2 over the nodes of each level."""

    def __init__(self, tree: Tree, solution: Solution) -> None:
        self.tree = tree
        self.variances = solution.variances
        self.freedom = solution.freedom

    def add(self, level: int, columns: Ints, diagonal: Floats, full: Floats | None) -> None:
        on = self.tree.on_level[level]
        group = self.tree.group_of[columns]
        plain = ~np.isin(group, self.tree.walks) & on[group]
        tau = self.variances[level][group[plain]]
        flat = np.isinf(tau)
        variance = diagonal[plain]
        share = np.where(
            flat, 1 - _FLAT * variance, 1 - variance / np.where(flat | (tau <= 0), 1.0, tau)
        )
        # a departure from a reference varies by up to twice tau^2; `add_contrasts` makes it good
        correlated = np.isin(group[plain], self.tree.contrasts) & (level != SHARED)
        share = np.where(correlated, share, np.maximum(share, 0.0))
        self.freedom[level] += np.bincount(group[plain], share, self.freedom.shape[1])
        if full is None:
            return
        for i in self.tree.walks:
            inside = np.flatnonzero(group == i)
            if inside.size and on[i]:
                places = columns[inside] - self.tree.groups[i].start
                precision = self.tree._walk_precision(i, places)
                trace = float((precision * full[np.ix_(inside, inside)]).sum())
                self.freedom[level, i] += inside.size - trace / self.variances[level, i]

    def add_contrasts(self, level: int, node: _Node, above: Floats) -> None:
        """What the common part of departures from a reference adds: 1'C1 / (m + 1) / tau^2."""
        on = self.tree.on_level[level]
        group = self.tree.group_of[node.own]
        for i in self.tree.contrasts:
            inside = np.flatnonzero(group == i)
            if not on[i] or inside.size == 0:
                continue
            lift = node.lift[inside].sum(axis=0)
            total = float(node.solved[np.ix_(inside, inside)].sum() + lift @ above @ lift)
            self.freedom[level, i] += total / (inside.size + 1) / self.variances[level, i]


def _summed(node: _Node, above: Floats) -> Floats:
    """Covariance of effects from above plus the node's own, on the node's columns."""
    if node.own.size == 0:
        return above
    out = above.copy()
    out[node.at] -= node.lift @ above
    out[:, node.at] -= out @ node.lift.T
    out[np.ix_(node.at, node.at)] += node.solved
    return out


def _inverse_of(factor: tuple[Floats, bool]) -> Floats:
    from scipy import linalg

    lower, info = linalg.lapack.dpotri(factor[0], lower=1)
    if info:
        raise np.linalg.LinAlgError("the normal equations are singular")
    upper = np.triu_indices(lower.shape[0], 1)
    lower[upper] = lower.T[upper]
    return np.asarray(lower)


def _inverse(matrix: Floats) -> Floats:
    from scipy import linalg

    return _inverse_of(linalg.cho_factor(matrix, lower=True, check_finite=False))
