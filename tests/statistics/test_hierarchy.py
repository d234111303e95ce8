"""REML and effects of the tree-shaped model against statsmodels and dense algebra."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse

from pipeline.statistics.cross_products import Counted, count
from pipeline.statistics.features import CATEGORY, FAMILY, SHARED, Group
from pipeline.statistics.hierarchy import Tree

HERE, NOT = True, False


def group(name: str, start: int, size: int, kind: str, levels: tuple[bool, bool, bool]) -> Group:
    return Group(name, start, start + size, kind, levels, tuple(str(i) for i in range(size)))


def sample(seed: int, n: int = 400) -> tuple[np.ndarray, ...]:
    """Values with two covariates, in 12 categories of 3 families."""
    rng = np.random.default_rng(seed)
    category = rng.integers(0, 12, n)
    family = category % 3
    x = np.column_stack([np.ones(n), rng.integers(0, 2, n), rng.normal(size=n)])
    level = rng.normal(0, 0.6, 3)[family] + rng.normal(0, 0.4, 12)[category]
    y = x @ [4.0, -0.5, 0.2] + level + rng.normal(0, 0.5, n)
    return x, y, category, family


def counted(x: np.ndarray, y: np.ndarray, category, family, groups: list[Group]) -> Counted:
    return count(sparse.csr_array(x), y, np.ones(y.size), category, family, groups)


def test_effects_agree_with_least_squares():
    """statsmodels OLS: shared effects without shrinkage, their errors and the noise, 4 digits."""
    api = pytest.importorskip("statsmodels.api")
    x, y, category, family = sample(1)
    groups = [group("attribution", 0, 3, "fixed", (HERE, NOT, NOT))]
    fit = api.OLS(y, x).fit()
    kept = {}

    def visit(level, number, columns, covariance):
        kept[level, number] = covariance.copy()

    got = Tree(counted(x, y, category, family, groups), groups).reml(rounds=3, visit=visit)
    assert got.shared == pytest.approx(fit.params, rel=1e-4)
    assert np.sqrt(np.diag(kept[SHARED, 0])) == pytest.approx(fit.bse, rel=1e-4)
    assert got.noise == pytest.approx(fit.scale, rel=1e-4)


def test_reml_agrees_with_mixedlm():
    """statsmodels MixedLM, random level of a category: 4 digits."""
    api = pytest.importorskip("statsmodels.api")
    x, y, category, _ = sample(2)
    groups = [
        group("attribution", 0, 1, "fixed", (HERE, NOT, HERE)),
        group("measure", 1, 2, "fixed", (HERE, NOT, NOT)),
    ]
    fit = api.MixedLM(y, x, groups=category).fit(reml=True, gtol=1e-10)
    tree = Tree(counted(x, y, category, np.zeros_like(category), groups), groups)
    got = tree.reml(rounds=2000, tolerance=1e-10, prune=False)
    assert got.variances[CATEGORY, 0] == pytest.approx(float(fit.cov_re[0, 0]), rel=1e-4)
    assert got.noise == pytest.approx(fit.scale, rel=1e-4)
    assert got.shared == pytest.approx(fit.fe_params, rel=1e-4)
    effects = {int(k): float(np.asarray(v)[0]) for k, v in fit.random_effects.items()}
    for c, (_, value) in got.category.items():
        assert float(value[0]) == pytest.approx(effects[c], abs=1e-4)


def test_nested_reml_agrees_with_mixedlm():
    """statsmodels MixedLM with a family level and a category level inside it: 4 digits."""
    api = pytest.importorskip("statsmodels.api")
    mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model")
    rng = np.random.default_rng(7)
    n = 900
    category = rng.integers(0, 30, n)
    family = category % 6
    x = np.column_stack([np.ones(n), rng.normal(size=n)])
    level = rng.normal(0, 0.7, 6)[family] + rng.normal(0, 0.3, 30)[category]
    y = x @ [2.0, 0.3] + level + rng.normal(0, 0.5, n)
    inside = []
    for f in range(6):
        rows = np.flatnonzero(family == f)
        inside.append((category[rows, None] == np.unique(category[rows])[None, :]).astype(float))
    order = np.argsort(family, kind="stable")
    names = [[[f"c{i}" for i in range(m.shape[1])] for m in inside]]
    spec = mixed.VCSpec(["category"], names, [inside])
    fit = api.MixedLM(
        y[order], x[order], groups=family[order], exog_re=np.ones((n, 1)), exog_vc=spec
    ).fit(reml=True, gtol=1e-10)
    groups = [
        group("attribution", 0, 1, "fixed", (HERE, HERE, HERE)),
        group("measure", 1, 1, "fixed", (HERE, NOT, NOT)),
    ]
    tree = Tree(counted(x, y, category, family, groups), groups)
    got = tree.reml(rounds=5000, tolerance=1e-11, prune=False)
    assert got.variances[FAMILY, 0] == pytest.approx(float(fit.cov_re[0, 0]), rel=2e-4)
    assert got.variances[CATEGORY, 0] == pytest.approx(float(fit.vcomp[0]), rel=2e-4)
    assert got.noise == pytest.approx(fit.scale, rel=1e-4)
    assert got.shared == pytest.approx(fit.fe_params, rel=1e-4)


def dense(x, y, category, family, groups, variances, noise):
    """The same posterior by one dense system, every level written out."""
    g = x.shape[1]
    blocks, prior = [x], []
    for level, place in ((SHARED, np.zeros_like(family)), (FAMILY, family), (CATEGORY, category)):
        for number in range(int(place.max()) + 1):
            if level != SHARED:
                blocks.append(x * (place == number)[:, None])
            q = np.zeros((g, g))
            for i, one in enumerate(groups):
                at = slice(one.start, one.stop)
                tau = variances[level, i]
                q[at, at] = (
                    1e-8 * np.eye(one.size)
                    if np.isinf(tau)
                    else (one.precision() / tau if tau > 0 else 1e12 * np.eye(one.size))
                )
            prior.append(q)
    z = np.hstack(blocks)
    p = np.zeros((z.shape[1], z.shape[1]))
    for k, q in enumerate(prior):
        p[k * g : (k + 1) * g, k * g : (k + 1) * g] = q
    inverse = np.linalg.inv(z.T @ z / noise + p)
    return inverse @ (z.T @ y) / noise, inverse


def test_elimination_agrees_with_one_dense_system():
    """Effects and covariances of three levels, with a walk, against numpy."""
    rng = np.random.default_rng(3)
    n = 150
    category = rng.integers(0, 6, n)
    family = category % 2
    x = np.zeros((n, 8))
    x[:, 0] = 1
    x[np.arange(n), 1 + rng.integers(0, 3, n)] = 1
    x[np.arange(n), 4 + rng.integers(0, 4, n)] = 1
    y = rng.normal(size=n) + x @ rng.normal(size=8)
    groups = [
        group("attribution", 0, 1, "fixed", (HERE, HERE, HERE)),
        group("condition", 1, 3, "iid", (HERE, HERE, HERE)),
        Group("time", 4, 8, "walk", (HERE, HERE, NOT), tuple("abcd"), (1.0, 0.5, 1.0, 1.0), 4),
    ]
    variances = np.array([[np.inf, 0.5, 0.3], [0.2, 0.1, 0.05], [0.1, 0.05, 0.0]])
    noise = 0.7
    kept = {}

    def visit(level, number, columns, covariance):
        kept[level, number] = (columns, covariance.copy())

    tree = Tree(counted(x, y, category, family, groups), groups)
    got = tree.solve(variances, noise, visit=visit)
    value, inverse = dense(x, y, category, family, groups, variances, noise)
    assert got.shared == pytest.approx(value[:8], abs=1e-6)
    for c in range(6):
        pick = np.zeros((8, value.size))
        for k in (0, 1 + c % 2, 3 + c):
            pick[:, 8 * k : 8 * k + 8] += np.eye(8)
        columns, covariance = kept[CATEGORY, c]
        assert got.total(c % 2, c)[columns] == pytest.approx((pick @ value)[columns], abs=1e-6)
        expected = (pick @ inverse @ pick.T)[np.ix_(columns, columns)]
        assert covariance == pytest.approx(expected, abs=1e-6)


def test_residual_squares_come_from_the_counts():
    x, y, category, family = sample(5)
    groups = [
        group("attribution", 0, 1, "fixed", (HERE, HERE, HERE)),
        group("measure", 1, 2, "iid", (HERE, HERE, NOT)),
    ]
    tree = Tree(counted(x, y, category, family, groups), groups)
    got = tree.reml(rounds=3)
    mean = np.array([x[i] @ got.total(int(family[i]), int(category[i])) for i in range(y.size)])
    assert tree.residual_squares(got) == pytest.approx(((y - mean) ** 2).sum())


def test_cells_give_the_same_fit_as_sales():
    """Sales alike, counted into one row with their mean, weight and squares."""
    x, y, category, family = sample(6)
    x = x[:, :2]
    groups = [
        group("attribution", 0, 1, "fixed", (HERE, HERE, HERE)),
        group("condition", 1, 1, "iid", (HERE, HERE, NOT)),
    ]
    key = category * 2 + x[:, 1].astype(int)
    cells, inverse = np.unique(key, return_inverse=True)
    n = np.bincount(inverse).astype(float)
    mean = np.bincount(inverse, y) / n
    first = np.array([np.flatnonzero(key == k)[0] for k in cells])
    by_cell = count(
        sparse.csr_array(x[first]), mean, n, category[first], family[first], groups,
        sales=n, squares=float(y @ y),
    )  # fmt: skip
    one = Tree(counted(x, y, category, family, groups), groups).reml(rounds=5)
    other = Tree(by_cell, groups).reml(rounds=5)
    assert other.noise == pytest.approx(one.noise)
    assert other.shared == pytest.approx(one.shared)
    assert other.variances[1:] == pytest.approx(one.variances[1:])
