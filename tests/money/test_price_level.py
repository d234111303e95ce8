"""Deflating by a price index: published figures, gaps and edges."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pyarrow as pa
import pytest

from pipeline.errors import DecisionError, SettingsError
from pipeline.money.exact import AMOUNT_TYPE
from pipeline.money.price_level import DEFLATED_SCHEMA, PriceLevel, read_own_index


def deflate(level: PriceLevel, amount: str, on: date | None, base: date) -> dict[str, object]:
    table = level.deflate(
        pa.array([Decimal(amount)], AMOUNT_TYPE), pa.array([on], pa.date32()), base
    )
    assert table.schema == DEFLATED_SCHEMA
    return table.to_pylist()[0]


# CPI-U, US city average, all items, 1982-84 = 100, annual averages: US Bureau of Labor Statistics.
ANNUAL = {
    1913: 9.9, 1920: 20.0, 1933: 13.0, 1950: 24.1, 1980: 82.4, 2000: 172.2, 2010: 218.056,
    2020: 258.811, 2021: 270.970, 2022: 292.655, 2023: 304.702, 2024: 313.689,
}  # fmt: skip


@pytest.mark.parametrize(
    ("amount", "year", "base", "expected"),
    [
        ("100", 1950, 2024, "1301.6141"),
        ("250", 2021, 2024, "289.4130"),
        ("100", 1920, 1933, "65.0000"),
        # The cpi package: inflate(100, 1950, to=2010) is 904.79668.
        ("100", 1950, 2010, "904.7967"),
    ],
)
def test_published_annual_figures(amount: str, year: int, base: int, expected: str) -> None:
    level = PriceLevel.from_years("annual", ANNUAL)
    found = deflate(level, amount, date(year, 6, 30), date(base, 1, 1))
    assert found["deflated_amount"] == Decimal(expected)
    assert found["index_month"] == date(year, 1, 1)


@pytest.mark.parametrize(
    ("series", "expected"),
    [
        # The cpi package, inflate(100, 2015, to=2020): the index that is named matters.
        ("us_all_items", "109.1951"),
        ("us_furniture_and_bedding", "99.1680"),
        ("us_clocks_lamps_decorator_items", "78.0277"),
    ],
)
def test_the_packaged_series(series: str, expected: str) -> None:
    pytest.importorskip("cpi")
    level = PriceLevel.united_states(series, yearly=True)
    found = deflate(level, "100", date(2015, 1, 1), date(2020, 1, 1))
    assert found["deflated_amount"] == Decimal(expected)
    assert level.name == series


@pytest.mark.filterwarnings("ignore")
def test_every_packaged_year_agrees_with_the_package() -> None:
    cpi = pytest.importorskip("cpi")
    level = PriceLevel.united_states(yearly=True)
    years = list(range(1913, 2025))
    table = level.deflate(
        pa.array([Decimal(100)] * len(years), AMOUNT_TYPE),
        pa.array([date(year, 1, 1) for year in years], pa.date32()),
        date(2020, 1, 1),
    )
    for year, amount in zip(years, table["deflated_amount"].to_pylist(), strict=True):
        assert float(amount) == pytest.approx(cpi.inflate(100, year, to=2020), abs=6e-5)


def test_a_month_never_published_is_a_gap() -> None:
    # The index of October 2025 was never published (BLS).
    pytest.importorskip("cpi")
    level = PriceLevel.united_states()
    base = date(2024, 1, 1)
    gap = deflate(level, "100", date(2025, 10, 15), base)
    assert gap == {"deflated_amount": None, "index_month": None, "reason": "no_index_month"}
    assert deflate(level, "100", date(2025, 9, 15), base)["reason"] is None
    with pytest.raises(SettingsError, match="no figure for 2025-10"):
        deflate(level, "100", date(2024, 1, 1), date(2025, 10, 1))


def test_edges() -> None:
    level = PriceLevel.from_months("short", {date(2020, 1, 1): 100.0, date(2020, 3, 1): 110.0})
    base = date(2020, 3, 31)
    assert deflate(level, "100", date(2020, 1, 31), base)["deflated_amount"] == Decimal(110)
    early = deflate(level, "100", date(2019, 12, 31), base)
    assert (early["deflated_amount"], early["reason"]) == (Decimal(100), "before_index")
    late = deflate(level, "100", date(2020, 4, 1), base)
    assert (late["deflated_amount"], late["reason"]) == (None, "after_index")
    undated = deflate(level, "100", None, base)
    assert (undated["deflated_amount"], undated["reason"]) == (None, "index_no_date")
    assert deflate(level, "100", date(1066, 1, 1), base)["reason"] == "before_index"
    assert level.bounds() == (date(2020, 1, 1), date(2020, 3, 1))
    assert level.figure(date(2020, 2, 1)) is None


def test_nulls_and_chunks() -> None:
    level = PriceLevel.from_months("one", {date(2020, 1, 1): 100.0})
    table = level.deflate(
        pa.chunked_array([pa.array([None, Decimal(1)], AMOUNT_TYPE)]),
        pa.chunked_array([pa.array([date(2020, 1, 5)] * 2, pa.date32())]),
        date(2020, 1, 1),
    )
    assert table["deflated_amount"].to_pylist() == [None, Decimal(1)]


def test_an_own_index(tmp_path: Path) -> None:
    file = tmp_path / "price_index.csv"
    file.write_text("month,index,name\n2020-01,100,own\n2020-02,,own\n2020-03,103,own\n")
    level = read_own_index(file)
    assert level.name == "own"
    assert level.figure(date(2020, 2, 1)) is None
    assert level.figure(date(2020, 3, 1)) == 103


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("2020-13,100,own", "no month"),
        ("2020-01,0,own", "no index figure"),
        ("2020-01,abc,own", "no index figure"),
        ("2020-01,100,own\n2020-01,100,own", "twice"),
        ("2020-01,100,own\n2020-02,100,other", "one named index"),
        ("2020-01,,own", "no figure"),
    ],
)
def test_a_wrong_own_index_is_a_named_error(tmp_path: Path, lines: str, message: str) -> None:
    file = tmp_path / "price_index.csv"
    file.write_text(f"month,index,name\n{lines}\n")
    with pytest.raises(DecisionError, match=message):
        read_own_index(file)


def test_no_such_series() -> None:
    with pytest.raises(SettingsError, match="no price index"):
        PriceLevel.united_states("moon")
