"""From scored pairs to what is done: rows dropped, pieces linked, pairs that wait for a person."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.linking.clusters import apart, components, one_partner_a_side
from pipeline.settings import LinkSettings

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Linked:
    """The rows that links concern, by rising key.

    key: row keys. side: rows of one side tell of different events. day: of sale. is_offer: it did
    not sell. fullness: how much it tells; the fuller row stays. order: rank of the sale_id.
    """

    key: Ints
    side: Ints
    day: Ints
    is_offer: Bools
    fullness: Ints
    order: Ints

    def at(self, keys: Ints) -> Ints:
        return np.searchsorted(self.key, keys)


@dataclass(frozen=True)
class Resolution:
    """What follows from the links.

    dropped: row_key, kept_key, score. pieces: earlier, later (row keys), kind, score. doubtful:
    indices into the links, likeliest first. n_common_clusters, n_common_rows, n_common_links:
    what was alike too often to be one piece.
    """

    dropped: pa.Table
    pieces: pa.Table
    doubtful: Ints
    n_common_clusters: int
    n_common_rows: int
    n_common_links: int


@dataclass(frozen=True)
class Links:
    """n scored pairs; a is the earlier row. said: 1 where a person called the pair the same, -1
    different, 0 where nobody said anything."""

    a: Ints
    b: Ints
    kind: npt.NDArray[np.str_]
    score: Floats
    said: npt.NDArray[np.int8]


def resolve(links: Links, rows: Linked, settings: LinkSettings) -> Resolution:
    """Take the clear links, cluster them, and leave the doubtful ones to a person.

    Every result is the same in whatever order links and rows come.
    """
    kept_of, event_score, in_events = _events(links, rows, settings)
    a, b = _kept(links.a, kept_of), _kept(links.b, kept_of)
    pieces, cluster_of, common = _pieces(links, a, b, rows, settings)
    together = (a == b) | (
        (cluster_of[rows.at(a)] == cluster_of[rows.at(b)]) & (cluster_of[rows.at(a)] >= 0)
    )
    open_to_doubt = ~together & ~in_events & (links.said == 0) & ~common[rows.at(a)]
    open_to_doubt &= links.score >= settings.review_score
    doubtful = np.flatnonzero(open_to_doubt)
    doubtful = doubtful[np.lexsort((links.b[doubtful], links.a[doubtful], -links.score[doubtful]))]
    gone = np.array(sorted(kept_of), dtype=np.int64)
    dropped = pa.table(
        {
            "row_key": pa.array(gone),
            "kept_key": pa.array([kept_of[k] for k in gone.tolist()], pa.int64()),
            "score": pa.array([event_score[k] for k in gone.tolist()], pa.float64()),
        }
    )
    n_clusters = len(np.unique(cluster_of[common])) if common.any() else 0
    n_links = int((common[rows.at(a)] & (links.kind != "same_event")).sum())
    return Resolution(
        dropped, pieces, doubtful[: settings.review_rows], n_clusters, int(common.sum()), n_links
    )


def _kept(keys: Ints, kept_of: dict[int, int]) -> Ints:
    if not kept_of:
        return keys
    gone = np.array(sorted(kept_of), dtype=np.int64)
    instead = np.array([kept_of[k] for k in gone.tolist()], dtype=np.int64)
    place = np.minimum(np.searchsorted(gone, keys), len(gone) - 1)
    return np.where(gone[place] == keys, instead[place], keys)


def _never(links: Links) -> list[tuple[int, int]]:
    at = np.flatnonzero(links.said < 0)
    ends = zip(links.a[at].tolist(), links.b[at].tolist(), strict=True)
    return [(min(x, y), max(x, y)) for x, y in ends]


def _events(
    links: Links, rows: Linked, settings: LinkSettings
) -> tuple[dict[int, int], dict[int, float], Bools]:
    """The row that stays for each row that goes, its score, and the links that were taken."""
    clear = (links.kind == "same_event") & (links.said >= 0)
    clear &= (links.score >= settings.accept_score) | (links.said > 0)
    at = np.flatnonzero(clear)
    score = np.where(links.said[at] > 0, 101.0, links.score[at])
    a, b = links.a[at], links.b[at]
    stays = one_partner_a_side(a, b, rows.side[rows.at(a)], rows.side[rows.at(b)], score)
    stays |= links.said[at] > 0
    at, a, b, score = at[stays], a[stays], b[stays], score[stays]
    uncut = apart(a, b, score, links.said[at] > 0, _never(links))
    at, a, b, score = at[uncut], a[uncut], b[uncut], score[uncut]
    taken = np.zeros(len(links.a), dtype=bool)
    taken[at] = True
    keys, cluster = components(a, b)
    place = rows.at(keys)
    order = np.lexsort((rows.order[place], -rows.fullness[place], cluster))
    first = np.ones(len(order), dtype=bool)
    first[1:] = cluster[order][1:] != cluster[order][:-1]
    best = dict(zip(cluster[order][first].tolist(), keys[order][first].tolist(), strict=True))
    kept_of = {
        key: best[own]
        for key, own in zip(keys.tolist(), cluster.tolist(), strict=True)
        if best[own] != key
    }
    highest: dict[int, float] = {}
    for ends in (a, b):
        for key, value in zip(ends.tolist(), np.minimum(score, 100.0).tolist(), strict=True):
            highest[key] = max(value, highest.get(key, 0.0))
    return kept_of, highest, taken


def _pieces(
    links: Links, a: Ints, b: Ints, rows: Linked, settings: LinkSettings
) -> tuple[pa.Table, Ints, Bools]:
    """Links of one piece, the cluster of each row (-1 outside), and the rows that are too common.

    Args:
        a, b: the ends of each link, moved to the rows that stay.
    """
    enough = np.where(links.kind == "relisted", settings.relist_score, settings.piece_score)
    clear = (links.kind != "same_event") & (links.said >= 0) & (a != b)
    clear &= (links.score >= enough) | (links.said > 0)
    at = np.flatnonzero(clear)
    uncut = apart(a[at], b[at], links.score[at], links.said[at] > 0, _never(links))
    at = at[uncut]
    cluster_of = np.full(len(rows.key), -1, dtype=np.int64)
    common = np.zeros(len(rows.key), dtype=bool)
    keys, cluster = components(a[at], b[at])
    if not len(keys):
        return _piece_table([], [], [], []), cluster_of, common
    _, own, size = np.unique(cluster, return_inverse=True, return_counts=True)
    place = rows.at(keys)
    cluster_of[place] = cluster
    too_many = size[own] > settings.most_sales
    common[place] = too_many
    best: dict[tuple[int, int], float] = {}
    weakest: dict[int, float] = {}
    scores = np.where(links.said > 0, 100.0, links.score)
    for k in at.tolist():
        pair = (int(a[k]), int(b[k]))
        best[pair] = max(best.get(pair, 0.0), float(scores[k]))
        home = int(cluster_of[rows.at(a[k : k + 1])[0]])
        weakest[home] = min(weakest.get(home, 100.0), float(scores[k]))
    order = place[~too_many]
    order = order[np.lexsort((rows.key[order], rows.day[order], cluster_of[order]))]
    return _chains(order, rows, cluster_of, best, weakest, settings), cluster_of, common


def _chains(
    order: Ints,
    rows: Linked,
    cluster_of: Ints,
    best: dict[tuple[int, int], float],
    weakest: dict[int, float],
    settings: LinkSettings,
) -> pa.Table:
    """The life of each piece: a sale with the sale before it, an offer with what came of it.

    An offer is linked with the next sale of its cluster, or, where it never sold, with the next
    offer.
    """
    earlier, later, kinds, scores = [], [], [], []
    members: dict[int, list[int]] = {}
    for place in order.tolist():
        members.setdefault(int(cluster_of[place]), []).append(place)
    for home, places in members.items():
        sales = [p for p in places if not rows.is_offer[p]]
        found: list[tuple[int, int, str]] = [
            (x, y, "resale")
            for x, y in pairwise(sales)
            if rows.day[y] - rows.day[x] > settings.event_days
        ]
        for n, place in enumerate(places):
            if rows.is_offer[place]:
                after = [p for p in places[n + 1 :] if rows.day[p] > rows.day[place]]
                then = next((p for p in after if not rows.is_offer[p]), after[0] if after else None)
                if then is not None:
                    found.append((place, then, "relisted"))
        for x, y, kind in found:
            pair = (int(rows.key[x]), int(rows.key[y]))
            earlier.append(pair[0])
            later.append(pair[1])
            kinds.append(kind)
            scores.append(best.get(pair, weakest[home]))
    return _piece_table(earlier, later, kinds, scores)


def _piece_table(
    earlier: list[int], later: list[int], kinds: list[str], scores: list[float]
) -> pa.Table:
    return pa.table(
        {
            "earlier": pa.array(earlier, pa.int64()),
            "later": pa.array(later, pa.int64()),
            "kind": pa.array(kinds, pa.string()),
            "score": pa.array(scores, pa.float64()),
        }
    )
