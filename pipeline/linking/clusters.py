"""From links between two to clusters, and from many candidates to one partner a side.

Every result depends on the links and the row keys only, never on the order in which they come.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def components(left: Ints, right: Ints) -> tuple[Ints, Ints]:
    """Connected components of a graph that is given by its edges.

    Args:
        left, right: keys at the ends of each edge, int64.

    Returns:
        The distinct keys, rising, and for each the smallest key of its component.
    """
    keys, place = np.unique(np.concatenate((left, right)), return_inverse=True)
    if not len(keys):
        return keys, keys
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n, m = len(keys), len(left)
    graph = coo_array((np.ones(m, dtype=np.int8), (place[:m], place[m:])), shape=(n, n))
    _, label = connected_components(graph, directed=False)
    smallest = np.full(label.max() + 1, np.iinfo(np.int64).max)
    np.minimum.at(smallest, label, keys)
    return keys, smallest[label]


def one_partner_a_side(
    left: Ints, right: Ints, left_side: Ints, right_side: Ints, score: Floats
) -> Bools:
    """The links that stay when a row may have one partner on each side only.

    The best link that is left is taken again and again, ties by the smaller keys; it uses up the
    place of its left row on the right row's side and the other way round. Done for all rows at
    once, in rounds: a link that is the best of both its rows is the one that would be taken.

    Args:
        left, right: keys of the rows; left_side, right_side: the side that each row is on, such
            as its source; score: the higher the better. All of length n.

    Returns:
        Mask of length n.
    """
    taken = np.zeros(len(left), dtype=bool)
    order = np.lexsort((right, left, -score))
    rank = np.empty(len(left), dtype=np.int64)
    rank[order] = np.arange(len(left))
    # a row's place on a side is one place, whichever end of the link the row stands on
    ends = np.concatenate((np.stack((left, right_side)), np.stack((right, left_side))), axis=1)
    _, place = np.unique(ends, axis=1, return_inverse=True)
    at_left, at_right = place[: len(left)], place[len(left) :]
    open_links = np.arange(len(left))
    n_places = int(place.max()) + 1 if len(place) else 0
    while len(open_links):
        best = np.full(n_places, np.iinfo(np.int64).max)
        np.minimum.at(best, at_left[open_links], rank[open_links])
        np.minimum.at(best, at_right[open_links], rank[open_links])
        mine = rank[open_links]
        wins = (best[at_left[open_links]] == mine) & (best[at_right[open_links]] == mine)
        won = open_links[wins]
        taken[won] = True
        used = np.zeros(n_places, dtype=bool)
        used[at_left[won]] = True
        used[at_right[won]] = True
        rest = open_links[~wins]
        open_links = rest[~(used[at_left[rest]] | used[at_right[rest]])]
    return taken


def apart(
    left: Ints, right: Ints, score: Floats, fixed: Bools, never: list[tuple[int, int]]
) -> Bools:
    """The links that stay when some pairs of rows must not end in one component.

    Args:
        left, right, score: the links, of length n.
        fixed: links that a person made, which are never cut.
        never: pairs of keys that must lie in different components.

    Returns:
        Mask of length n. From each path between a forbidden pair the weakest link that nobody
        fixed is cut, ties by the larger keys, until none is left.
    """
    keep = np.ones(len(left), dtype=bool)
    for one, other in sorted(never):
        while True:
            path = _path(left, right, keep, one, other)
            free = [e for e in path if not fixed[e]]
            if not free:
                break
            weakest = min(free, key=lambda e: (score[e], -left[e], -right[e]))
            keep[weakest] = False
    return keep


def _path(left: Ints, right: Ints, keep: Bools, start: int, end: int) -> list[int]:
    """Edges of a shortest path between two keys; empty where there is none."""
    came_by: dict[int, tuple[int, int]] = {start: (-1, start)}
    ring = [start]
    while ring and end not in came_by:
        inside = np.array(ring)
        touched = np.flatnonzero(keep & (np.isin(left, inside) | np.isin(right, inside)))
        ring = []
        for edge in touched.tolist():
            a, b = int(left[edge]), int(right[edge])
            for here, there in ((a, b), (b, a)):
                if here in came_by and there not in came_by:
                    came_by[there] = (edge, here)
                    ring.append(there)
    if end not in came_by or start == end:
        return []
    path, here = [], end
    while here != start:
        edge, here = came_by[here]
        path.append(edge)
    return path
