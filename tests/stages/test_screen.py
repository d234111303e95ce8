"""Screening by sets, against published figures."""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.settings import ScreenSettings
from pipeline.stages.screen import screen
from pipeline.statistics.outliers import modified_z

# Iglewicz and Hoaglin (1993): scores of the last two.
IGLEWICZ_HOAGLIN = (3.2, 3.4, 3.7, 3.7, 3.8, 3.9, 4, 4, 4.1, 4.2, 4.7, 4.8, 14, 15)


def scored(
    logs: list[float], groups: list[str] | None = None, **knobs: float
) -> list[float | None]:
    """z-scores of prices in the order given; a group is a condition of one category."""
    con = duckdb.connect()
    n = len(logs)
    facts = pa.table(
        {
            "row_key": pa.array(range(n), pa.int64()),
            "category_id": ["kind"] * n,
            "family_id": ["family"] * n,
            "attribution": ["period"] * n,
            "condition": groups or ["good"] * n,
            "set_size": ["single"] * n,
            "log_price": pa.array(logs, pa.float64()),
            "sold_on": pa.array([0] * n, pa.int32()).cast(pa.date32()),
            "amount": pa.array(np.exp(np.array(logs) / 10)),
            "can_compare": [True] * n,
        }
    )
    con.register("given", facts)
    con.execute("CREATE TABLE facts AS FROM given")
    screen(con, ScreenSettings.model_validate(knobs))
    found = dict(con.execute("SELECT row_key, z_score FROM scores").fetchall())
    return [found.get(k) for k in range(n)]


def test_the_published_scores() -> None:
    scores = scored(list(IGLEWICZ_HOAGLIN), min_group=5)
    assert scores[-2] == pytest.approx(22.48333, abs=1e-5)
    assert scores[-1] == pytest.approx(24.73167, abs=1e-5)
    assert sum(abs(s) >= 3.5 for s in scores if s is not None) == 2


def test_a_mad_of_zero_has_an_answer() -> None:
    """More than half alike: the mean absolute deviation stands in (factor 1.253314, from memory)."""
    scores = scored([4.0] * 9 + [5.0, 9.0], min_group=5)
    mean = (1.0 + 5.0) / 11
    assert scores[-1] == pytest.approx(5.0 / (1.253314 * mean))
    assert scored([4.0] * 8, min_group=5) == [0.0] * 8


def test_a_small_group_is_held_against_the_one_above() -> None:
    logs = [*np.linspace(3, 4, 12).tolist(), 3.5, 9.0]
    groups = ["good"] * 12 + ["poor"] * 2
    scores = scored(logs, groups, min_group=10)
    assert scores[12] is not None
    assert abs(scores[12]) < 1
    assert scores[13] is not None
    assert scores[13] > 3.5
    assert scored([3.0, 4.0, 5.0], min_group=10) == [None, None, None]


@given(
    st.lists(st.floats(0, 12, allow_nan=False).map(lambda x: round(x, 4)), min_size=6, max_size=40)
)
@settings(max_examples=40, deadline=None)
def test_sets_and_arrays_agree(logs: list[float]) -> None:
    """The SQL and `pipeline.statistics` are written apart and give the same scores."""
    ours = np.array(scored(logs, min_group=5), dtype=float)
    assert ours == pytest.approx(np.asarray(modified_z(np.array(logs))), abs=1e-6)
