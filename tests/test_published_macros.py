"""The macro kept in the published database, and the tables beside it that other programs read."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest

import pipeline
from pipeline.columns import PRICE_BANDS
from pipeline.reasons import NO_APPRAISAL
from tests.conftest import HEADER, WorkspaceMaker, shop_rows


@pytest.fixture
def place(make_workspace: WorkspaceMaker) -> Path:
    rows = shop_rows(29) + shop_rows(2, start=50, kind="oil lamp")
    place = make_workspace({"shop": {"a.csv": HEADER + rows}})
    pipeline.refresh(place)
    return place


def connections(place: Path) -> list[duckdb.DuckDBPyConnection]:
    plain = duckdb.connect(str(place / "data/curated/comparables.duckdb"), read_only=True)
    return [pipeline.connect(place), plain]


def test_the_macro_gives_the_band_that_was_asked_for(place: Path) -> None:
    (attribution,) = duckdb.sql(
        f"SELECT DISTINCT attribution FROM '{place}/data/curated/tables/price_bands.parquet'"
    ).fetchall()[0]
    for con in connections(place):
        ask = (
            "SELECT answer, category_id, n_sales, median FROM estimate_band(category := $c, "
            "condition := 'good', attribution := $a)"
        )
        for name in ("mantel-clock", "Mantel Clock"):  # prices 100, 101 .. 128: the middle is 114
            got = con.execute(ask, {"c": name, "a": attribution}).fetchall()
            assert got == [("enough sales", "mantel-clock", 29, 114.0)]
        got = con.execute(ask, {"c": "oil-lamp", "a": attribution}).fetchall()
        assert [row[0] for row in got] == ["not enough sales"]
        assert con.execute(ask, {"c": "no such thing", "a": attribution}).fetchall() == []
        assert con.execute(
            "SELECT condition, set_size FROM estimate_band(category := 'mantel-clock', "
            "attribution := $a)", {"a": attribution},
        ).fetchall() == [("any", "single")]  # fmt: skip


def test_the_bands_beside_the_database_have_the_declared_columns(place: Path) -> None:
    tables = place / "data/curated/tables"
    names = [column.name for column in PRICE_BANDS.columns]
    parquet = duckdb.sql(f"DESCRIBE FROM '{tables}/price_bands.parquet'").fetchall()
    with duckdb.connect(str(place / "data/curated/comparables.duckdb"), read_only=True) as con:
        kept = con.sql("DESCRIBE price_bands").fetchall()
    assert [row[0] for row in parquet] == names
    assert [row[:2] for row in parquet] == [row[:2] for row in kept]
    header = (tables / "price_bands.csv").read_text(encoding="utf-8").splitlines()[0]
    assert header == ",".join([*names, "note"])


def test_a_figure_that_is_handed_on_says_what_it_is_not(place: Path) -> None:
    tables = place / "data/curated/tables"
    for con in connections(place):
        kinds = con.execute("SELECT DISTINCT attribution FROM price_bands").fetchall()
        ask = "SELECT note FROM estimate_band(category := 'mantel-clock', attribution := $a)"
        notes = [con.execute(ask, {"a": kind}).fetchall() for (kind,) in kinds]
        assert [(NO_APPRAISAL,)] in notes
    noted = duckdb.sql(f"SELECT DISTINCT note FROM read_csv('{tables}/price_bands.csv')")
    assert noted.fetchall() == [(NO_APPRAISAL,)]
    for path in tables.glob("*.parquet"):
        held = duckdb.sql(
            f"SELECT decode(value) FROM parquet_kv_metadata('{path}') WHERE decode(key) = 'note'"
        )
        assert held.fetchall() == [(NO_APPRAISAL,)], path.name
