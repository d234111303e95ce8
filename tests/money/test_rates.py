"""Rates of exchange: published days, the days between, and the edges of the series."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pyarrow as pa
import pytest
from currency_converter import CurrencyConverter
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import DecisionError, SettingsError
from pipeline.money.exact import AMOUNT_TYPE
from pipeline.money.rates import RATE_SCHEMA, REASONS, OwnRate, Rates, convert, read_own_rates


def look(rates: Rates, currency: str | None, on: date | None, to: str) -> dict[str, object]:
    table = rates.lookup(pa.array([currency], pa.string()), pa.array([on], pa.date32()), to)
    assert table.schema == RATE_SCHEMA
    return table.to_pylist()[0]


@pytest.fixture(scope="module")
def rates() -> Rates:
    return Rates.bundled()


@pytest.mark.parametrize(
    ("on", "rate", "rate_on"),
    [
        # ECB euro reference rates, by the CurrencyConverter package.
        (date(2013, 3, 21), 1.291, date(2013, 3, 21)),
        (date(2024, 1, 2), 1.0956, date(2024, 1, 2)),
        # A Sunday takes Friday's rate; an interpolated one would be 1.3004667.
        (date(2013, 3, 3), 1.3, date(2013, 3, 1)),
        # New Year's Day after the last rate of 2023.
        (date(2024, 1, 1), 1.105, date(2023, 12, 29)),
    ],
)
def test_published_rates(rates: Rates, on: date, rate: float, rate_on: date) -> None:
    assert look(rates, "EUR", on, "USD") == {"rate": rate, "rate_on": rate_on, "reason": None}


def test_between_two_currencies(rates: Rates) -> None:
    # 100 GBP on 2 January 2020 by the CurrencyConverter package.
    found = look(rates, "GBP", date(2020, 1, 2), "USD")
    assert found["rate"] == pytest.approx(1.31949356, abs=5e-9)
    amount = convert(pa.array([Decimal(100)], AMOUNT_TYPE), pa.array([found["rate"]]))
    assert amount.to_pylist() == [Decimal("131.9494")]


def test_the_same_currency_needs_no_day(rates: Rates) -> None:
    assert look(rates, "USD", None, "USD") == {"rate": 1.0, "rate_on": None, "reason": None}


@pytest.mark.parametrize(
    ("currency", "on", "reason"),
    [
        ("EUR", date(1998, 12, 31), "rate_before_series"),
        ("EUR", date(2099, 1, 1), "rate_too_old"),
        # Slovenia's tolar ended with 2006.
        ("SIT", date(2007, 3, 1), "rate_too_old"),
        ("XCD", date(2020, 1, 2), "rate_unknown_currency"),
        (None, date(2020, 1, 2), "rate_no_currency"),
        ("EUR", None, "rate_no_date"),
    ],
)
def test_no_rate_is_a_reason(
    rates: Rates, currency: str | None, on: date | None, reason: str
) -> None:
    found = look(rates, currency, on, "USD")
    assert found == {"rate": None, "rate_on": None, "reason": reason}
    assert reason in REASONS


def test_how_old_a_rate_may_be_is_a_setting() -> None:
    # Good Friday to Easter Monday 2024: 29 March to 1 April.
    assert look(Rates.bundled(4), "EUR", date(2024, 4, 1), "USD")["rate_on"] == date(2024, 3, 28)
    assert look(Rates.bundled(3), "EUR", date(2024, 4, 1), "USD")["reason"] == "rate_too_old"
    with pytest.raises(SettingsError, match="days old"):
        Rates.bundled(-1)


def test_an_unknown_target_is_a_named_error(rates: Rates) -> None:
    with pytest.raises(SettingsError, match="XCD"):
        rates.lookup(pa.array(["EUR"]), pa.array([date(2020, 1, 2)]), "XCD")


@settings(max_examples=60, deadline=None)
@given(
    days=st.lists(st.dates(date(1999, 1, 4), date(2026, 10, 30)), min_size=1, max_size=20),
    source=st.sampled_from(["EUR", "GBP", "CHF", "SEK"]),
)
def test_the_reference_library_agrees(days: list[date], source: str) -> None:
    reference = _reference()
    table = Rates.bundled().lookup(
        pa.array([source] * len(days)), pa.array(days, pa.date32()), "USD"
    )
    for on, row in zip(days, table.to_pylist(), strict=True):
        expected = reference.convert(1, source, "USD", on)
        assert row["rate"] == pytest.approx(expected, rel=1e-12)
        assert row["rate_on"] <= on


_CONVERTERS: list[CurrencyConverter] = []


def _reference() -> CurrencyConverter:
    if not _CONVERTERS:
        _CONVERTERS.append(
            CurrencyConverter(
                fallback_on_missing_rate=True, fallback_on_missing_rate_method="last_known"
            )
        )
    return _CONVERTERS[0]


def test_own_rates_add_days_and_currencies(tmp_path: Path) -> None:
    file = tmp_path / "rates.csv"
    file.write_text(
        "on,currency,per_eur,source\n"
        "1995-06-30,USD,1.3250,bank statement\n"
        "2024-01-02,USD,1.1,bank statement\n"
        "2024-01-02,XCD,2.97,central bank\n"
    )
    own = Rates.with_own(read_own_rates(file))
    assert look(own, "EUR", date(1995, 7, 1), "USD")["rate"] == 1.325
    assert look(own, "EUR", date(2024, 1, 2), "USD")["rate"] == 1.1
    assert look(own, "XCD", date(2024, 1, 3), "EUR")["rate"] == pytest.approx(1 / 2.97)
    assert own.sources[1:] == ("bank statement", "central bank")
    # The bundled rates are shared by all and stay as they are.
    assert look(Rates.bundled(), "EUR", date(2024, 1, 2), "USD")["rate"] == 1.0956
    assert own.add([OwnRate(date(2024, 1, 3), "USD", 1.2, "x")]).bounds("USD") is not None


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("2024-13-01,USD,1.1,x", "no date"),
        ("2024-01-02,EUR,1.1,x", "no currency"),
        ("2024-01-02,USD,0,x", "no rate"),
        ("2024-01-02,USD,nan,x", "no rate"),
        ("2024-01-02,USD,abc,x", "no rate"),
        ("2024-01-02,USD,1.1,", "without a source"),
    ],
)
def test_a_wrong_own_rate_names_its_line(tmp_path: Path, line: str, message: str) -> None:
    file = tmp_path / "rates.csv"
    file.write_text(f"on,currency,per_eur,source\n{line}\n")
    with pytest.raises(DecisionError, match=message) as caught:
        list(read_own_rates(file))
    assert "line 2" in str(caught.value)


def test_a_rates_file_without_its_columns(tmp_path: Path) -> None:
    file = tmp_path / "rates.csv"
    file.write_text("date,rate\n")
    with pytest.raises(DecisionError, match="no column currency"):
        list(read_own_rates(file))


def test_conversion_rounds_once_and_keeps_nulls() -> None:
    amounts = pa.array(
        [Decimal("0.0001"), Decimal("99999999999.9999"), None, Decimal(1)], AMOUNT_TYPE
    )
    rates = pa.array([1.5, 1.0, 2.0, None])
    assert convert(amounts, rates).to_pylist() == [
        Decimal("0.0002"),
        Decimal("99999999999.9999"),
        None,
        None,
    ]
