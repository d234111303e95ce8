"""Components against networkx; one partner a side; nothing depends on the order of links."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.linking.clusters import apart, components, one_partner_a_side

PAIRS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), max_size=80)


def as_arrays(pairs: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    table = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return table[:, 0], table[:, 1]


@pytest.mark.parametrize(("n", "m", "seed"), [(10, 5, 1), (200, 150, 2), (5_000, 4_000, 3)])
def test_components_are_those_of_networkx(n: int, m: int, seed: int) -> None:
    graph = nx.gnm_random_graph(n, m, seed=seed)
    rng = np.random.default_rng(seed)
    name = rng.choice(10**12, n, replace=False)
    edges = [(int(name[a]), int(name[b])) for a, b in graph.edges()]
    keys, smallest = components(*as_arrays(edges))
    expected = {
        int(name[node]): min(int(name[k]) for k in group)
        for group in nx.connected_components(graph)
        if len(group) > 1
        for node in group
    }
    assert dict(zip(keys.tolist(), smallest.tolist(), strict=True)) == expected


@given(PAIRS, st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_components_do_not_depend_on_order_or_direction(pairs, shuffle) -> None:  # type: ignore[no-untyped-def]
    first = components(*as_arrays(pairs))
    turned = [(b, a) if shuffle.random() < 0.5 else (a, b) for a, b in pairs]
    shuffle.shuffle(turned)
    second = components(*as_arrays(turned))
    assert all(np.array_equal(x, y) for x, y in zip(first, second, strict=True))
    # taken again on what they gave, they give the same
    again = components(*first)
    assert np.array_equal(again[1], first[1])


def test_no_links_no_components() -> None:
    keys, smallest = components(*as_arrays([]))
    assert len(keys) == len(smallest) == 0


@given(
    st.lists(
        st.tuples(st.integers(0, 12), st.integers(20, 32), st.integers(50, 100)),
        max_size=40, unique_by=lambda t: t[:2],
    ),
    st.randoms(use_true_random=False),
)  # fmt: skip
@settings(max_examples=80, deadline=None)
def test_the_best_links_are_taken_one_by_one(links, shuffle) -> None:  # type: ignore[no-untyped-def]
    """Rounds over all rows give what taking the best link again and again gives."""

    def taken(rows: list[tuple[int, int, int]]) -> set[tuple[int, int]]:
        a, b = as_arrays([r[:2] for r in rows])
        score = np.array([r[2] for r in rows], dtype=np.float64)
        mask = one_partner_a_side(a, b, np.zeros_like(a), np.ones_like(b), score)
        return set(zip(a[mask].tolist(), b[mask].tolist(), strict=True))

    greedy: set[tuple[int, int]] = set()
    for a, b, _ in sorted(links, key=lambda r: (-r[2], r[0], r[1])):
        if not any(a == x or b == y for x, y in greedy):
            greedy.add((a, b))
    assert taken(links) == greedy
    shuffle.shuffle(links)
    assert taken(links) == greedy


def test_a_row_may_have_one_partner_on_each_of_several_sides() -> None:
    a, b = as_arrays([(1, 10), (1, 11), (1, 20)])
    side = {1: 0, 10: 1, 11: 1, 20: 2}
    mask = one_partner_a_side(
        a, b, np.array([side[k] for k in a]), np.array([side[k] for k in b]), np.array([9.0, 8, 7])
    )
    assert mask.tolist() == [True, False, True]


def test_what_a_person_parted_is_parted_at_the_weakest_link() -> None:
    a, b = as_arrays([(1, 2), (2, 3), (3, 4), (5, 6)])
    score = np.array([99.0, 96.0, 98.0, 95.0])
    fixed = np.zeros(4, dtype=bool)
    assert apart(a, b, score, fixed, [(1, 4)]).tolist() == [True, False, True, True]
    fixed[1] = True
    assert apart(a, b, score, fixed, [(1, 4)]).tolist() == [True, True, False, True]
    assert apart(a, b, score, fixed, [(1, 6)]).all()
