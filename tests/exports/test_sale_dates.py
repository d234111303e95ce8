"""Dates of sale in the forms that exports use."""

from __future__ import annotations

import datetime as dt

import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.exports.sale_dates import read_sale_date, read_sale_dates

FIFTH_OF_MARCH = dt.date(2024, 3, 5)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2024-03-05", "dmy"), ("2024/03/05", "mdy"), ("20240305", "dmy"), ("5/3/2024", "dmy"),
        ("3/5/2024", "mdy"), ("05.03.24", "dmy"), ("24-03-05", "ymd"), ("Mar 5, 2024", "dmy"),
        ("5. März 2024", "dmy"), ("5 mars 2024", "dmy"), ("Tue, 5 Mar 2024", "mdy"),
        ("5th March 2024", "mdy"), ("5-Mar-24", "dmy"), ("5 de marzo de 2024", "dmy"),
        ("2024 March 5", "dmy"), ("MARCH 05 2024", "mdy"),
    ],
)  # fmt: skip
def test_forms(text: str, order: str) -> None:
    assert read_sale_date(text, order, 2026) == FIFTH_OF_MARCH


@pytest.mark.parametrize(
    "text", ["31/02/2024", "32.01.2020", "13/13/2020", "0000-00-00", "n/a", "12", "45350", "2024"]
)
def test_what_exists_in_no_calendar(text: str) -> None:
    assert read_sale_date(text, "dmy", 2026) is None


def test_a_month_is_its_last_day() -> None:
    assert read_sale_date("October 2009", "dmy", 2026) == dt.date(2009, 10, 31)
    assert read_sale_date("2024-02", "dmy", 2026) == dt.date(2024, 2, 29)


@given(st.dates(dt.date(1990, 1, 1), dt.date(2026, 1, 1)))
def test_there_and_back(day: dt.date) -> None:
    for form, order in (("%d.%m.%Y", "dmy"), ("%m/%d/%Y", "mdy"), ("%Y-%m-%d", "dmy"),
                        ("%d %B %Y", "mdy"), ("%b %d, %Y", "dmy"), ("%d/%m/%y", "dmy")):  # fmt: skip
        if form.endswith("%y") and day.year < 1930:
            continue
        assert read_sale_date(day.strftime(form), order, 2026) == day


def test_a_column_with_times_and_reasons() -> None:
    texts = pa.array(
        ["2024-03-05 14:03:22", "2024-03-05T14:03:22Z", "05/03/2024 2:15 PM", "05.03.2024, 14:15",
         "2027-01-01", None, "rubbish", "2026-11"]
    )  # fmt: skip
    days, reasons = read_sale_dates(texts, "dmy", dt.date(2026, 11, 24))
    assert days.to_pylist()[:4] == [FIFTH_OF_MARCH] * 4
    assert reasons.to_pylist()[:4] == [None] * 4
    assert reasons.to_pylist()[4:7] == ["future_sale", "no_date", "unreadable_date"]
    assert days.to_pylist()[7] == dt.date(2026, 11, 24)  # a month that is not over
