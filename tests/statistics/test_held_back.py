"""Which sales a fit holds back to learn its ranges from, and what of their error it carries on."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.statistics.model import _MOST_HELD_BACK, held_back_blocks
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.ranges import common_error

SETTINGS = ModelSettings()


@given(st.integers(0, 2_500), st.integers(1, 400), st.integers(0, 10))
def test_blocks_follow_each_other_and_the_sales_before_them(n: int, days: int, seed: int) -> None:
    day = np.random.default_rng(seed).integers(0, days, n).astype(float)
    blocks = held_back_blocks(day, SETTINGS)
    held = [row for _, later in blocks for row in later]
    assert len(held) == len(set(held))
    for earlier, later in blocks:
        assert day[earlier].max() < day[later].min()
        assert len(earlier) + len(later) <= n
    for (_, before), (_, after) in pairwise(blocks):
        assert day[before].max() < day[after].min()
    if blocks:
        assert day[blocks[-1][1]].max() == day.max()


def test_few_sales_are_held_back_in_several_blocks_and_many_in_one() -> None:
    """Until there are 300, or 60 % of all."""
    sizes = {n: len(held_back_blocks(np.arange(n, dtype=float), SETTINGS)) for n in (99, 100, 600)}
    assert sizes == {99: 0, 100: 3, 600: 3}
    assert len(held_back_blocks(np.arange(1_000.0), SETTINGS)) == 2
    assert len(held_back_blocks(np.arange(1_500.0), SETTINGS)) == 1
    held = sum(later.size for _, later in held_back_blocks(np.arange(100.0), SETTINGS))
    assert held == _MOST_HELD_BACK * 100


def test_sales_of_one_day_are_never_parted() -> None:
    day = np.repeat(np.arange(30.0), 20)
    for earlier, later in held_back_blocks(day, SETTINGS):
        assert not set(day[earlier]) & set(day[later])


def test_no_dates_hold_nothing_back() -> None:
    assert held_back_blocks(None, SETTINGS) == []
    assert held_back_blocks(np.full(1_000, np.nan), SETTINGS) == []


def test_a_common_error_that_may_be_chance_is_not_carried() -> None:
    rng = np.random.default_rng(3)
    carried = np.array([common_error(rng.normal(0, 0.5, 200)) for _ in range(400)])
    plain = 0.5 * np.sqrt(np.pi / 2 / 200)
    assert np.mean(carried == 0) > 0.6  # a normal variate lies inside one standard error 68 %
    assert np.sqrt(np.mean(carried**2)) < 0.75 * plain


def test_a_common_error_beyond_chance_is_carried_nearly_whole() -> None:
    rng = np.random.default_rng(4)
    assert common_error(rng.normal(0.3, 0.5, 2_000)) == pytest.approx(0.3, abs=0.04)
    assert common_error(np.zeros(50)) == 0
    assert common_error(np.full(50, -0.2)) == -0.2
