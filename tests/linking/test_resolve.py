"""From scored pairs to what is done, on links made by hand."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.linking.resolve import Linked, Links, Resolution, resolve
from pipeline.settings import LinkSettings


def rows_of(n: int, **given: list[int]) -> Linked:
    def column(name: str, default: list[int]) -> np.ndarray:
        return np.array(given.get(name, default), dtype=np.int64)

    numbers = list(range(n))
    return Linked(
        key=np.arange(n, dtype=np.int64),
        side=column("side", numbers),
        day=column("day", [30 * k for k in numbers]),
        is_offer=column("offer", [0] * n).astype(bool),
        fullness=column("fullness", [5] * n),
        order=column("order", numbers),
    )


def links_of(*links: tuple[int, int, str, float], said: dict[int, int] | None = None) -> Links:
    marks = np.zeros(len(links), dtype=np.int8)
    for at, what in (said or {}).items():
        marks[at] = what
    return Links(
        a=np.array([x[0] for x in links], dtype=np.int64),
        b=np.array([x[1] for x in links], dtype=np.int64),
        kind=np.array([x[2] for x in links], dtype="U10"),
        score=np.array([x[3] for x in links], dtype=np.float64),
        said=marks,
    )


def pieces(found: Resolution) -> list[tuple[int, int, str]]:
    told = found.pieces.to_pylist()
    return sorted((r["earlier"], r["later"], r["kind"]) for r in told)


def gone(found: Resolution) -> dict[int, int]:
    return {r["row_key"]: r["kept_key"] for r in found.dropped.to_pylist()}


def test_the_fullest_row_of_an_event_stays_then_the_first_by_name() -> None:
    links = links_of((0, 1, "same_event", 99.0), (1, 2, "same_event", 98.0))
    day = [3, 3, 4]
    assert gone(resolve(links, rows_of(3, day=day, fullness=[5, 7, 6]), LinkSettings())) == {
        0: 1, 2: 1,
    }  # fmt: skip
    assert gone(resolve(links, rows_of(3, day=day, order=[2, 1, 0]), LinkSettings())) == {
        0: 2, 1: 2,
    }  # fmt: skip


def test_a_listing_is_the_twin_of_one_listing_of_another_source() -> None:
    links = links_of((0, 1, "same_event", 99.0), (0, 2, "same_event", 97.0))
    assert gone(resolve(links, rows_of(3, side=[0, 1, 1], day=[1, 1, 1]), LinkSettings())) == {1: 0}


def test_links_of_a_dropped_row_pass_to_the_row_that_stays() -> None:
    links = links_of((0, 1, "same_event", 99.0), (1, 2, "resale", 99.0), (0, 2, "resale", 99.5))
    found = resolve(links, rows_of(3, day=[1, 1, 400]), LinkSettings())
    assert gone(found) == {1: 0}
    assert pieces(found) == [(0, 2, "resale")]


def test_a_life_is_told_step_by_step() -> None:
    """Sold, offered twice in vain, sold again."""
    links = links_of(
        (0, 3, "resale", 99.0), (1, 3, "relisted", 99.0), (2, 3, "relisted", 99.0),
        (1, 2, "relisted", 99.0),
    )  # fmt: skip
    found = resolve(links, rows_of(4, offer=[0, 1, 1, 0]), LinkSettings())
    assert pieces(found) == [(0, 3, "resale"), (1, 3, "relisted"), (2, 3, "relisted")]


def test_an_offer_that_never_sold_is_linked_with_the_next_offer() -> None:
    links = links_of((0, 1, "relisted", 99.0))
    found = resolve(links, rows_of(2, offer=[1, 1]), LinkSettings())
    assert pieces(found) == [(0, 1, "relisted")]


@pytest.mark.parametrize(("n", "linked"), [(6, True), (7, False)])
def test_what_comes_too_often_is_a_common_kind(n: int, linked: bool) -> None:
    links = links_of(*((k, k + 1, "resale", 99.0) for k in range(n - 1)))
    found = resolve(links, rows_of(n), LinkSettings(most_sales=6))
    assert (len(pieces(found)) == n - 1) is linked
    assert found.n_common_rows == (0 if linked else n)
    assert found.n_common_links == (0 if linked else n - 1)
    assert len(found.doubtful) == 0


def test_doubts_come_likeliest_first_and_not_where_all_is_settled() -> None:
    links = links_of(
        (0, 1, "resale", 70.0), (2, 3, "resale", 80.0), (4, 5, "resale", 99.0),
        (5, 6, "resale", 99.0), (4, 6, "resale", 75.0), (7, 8, "resale", 79.0),
    )  # fmt: skip
    found = resolve(links, rows_of(9), LinkSettings(review_score=60.0))
    assert found.doubtful.tolist() == [1, 5, 0]
    few = resolve(links, rows_of(9), LinkSettings(review_score=60.0, review_rows=1))
    assert few.doubtful.tolist() == [1]


def test_what_people_said_outranks_the_score() -> None:
    links = links_of((0, 1, "resale", 99.9), (2, 3, "resale", 1.0), said={0: -1, 1: 1})
    assert pieces(resolve(links, rows_of(4), LinkSettings())) == [(2, 3, "resale")]


def test_nothing_joins_by_way_of_a_third_what_people_parted() -> None:
    links = links_of(
        (0, 1, "same_event", 99.0), (1, 2, "same_event", 95.0), (0, 2, "same_event", 20.0),
        said={2: -1},
    )  # fmt: skip
    assert gone(resolve(links, rows_of(3, day=[1, 1, 1]), LinkSettings())) == {1: 0}
