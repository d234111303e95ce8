"""Prices in the money of one month, by a named index of consumer prices.

P2 = P1 * index of the base month / index of the month of sale. An index of consumer goods says
what money was worth, not what antiques were: the nominal price stays beside the result, and the
index is named, because another index gives another price.

A month that was never published (the US index of October 2025) is a gap: its sales have no
deflated price. Nothing is interpolated, and a sale before the index begins keeps its nominal price.
"""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline import reasons
from pipeline.errors import DecisionError, SettingsError
from pipeline.money.exact import AMOUNT_TYPE, END_OF_UNITS, from_units, to_units

REASONS = reasons.PRICE_LEVEL

DEFLATED_SCHEMA = pa.schema(
    [
        ("deflated_amount", AMOUNT_TYPE),
        ("index_month", pa.date32()),
        ("reason", pa.string()),
    ]
)

# Series of the US Bureau of Labor Statistics: CPI-U, US city average, not seasonally adjusted.
US_SERIES: dict[str, str] = {
    "us_all_items": "CUUR0000SA0",
    "us_furniture_and_bedding": "CUUR0000SEHJ",
    "us_clocks_lamps_decorator_items": "CUUR0000SEHL01",
}


@dataclass(frozen=True)
class PriceLevel:
    """A monthly or yearly index.

    Attributes:
        name: the index's name, published beside every deflated price.
        first: months since January of year 0 of the first figure.
        values: one figure a month (or a year) from `first`, NaN where there is a gap.
        yearly: one figure a year instead of a month.
    """

    name: str
    first: int
    values: npt.NDArray[np.float64]
    yearly: bool = False

    @classmethod
    def from_months(cls, name: str, figures: Mapping[date, float]) -> PriceLevel:
        """An index from its months; any day of a month stands for it."""
        if not figures:
            raise SettingsError(f'The price index "{name}" has no month.')
        by_month = {on.year * 12 + on.month - 1: figure for on, figure in figures.items()}
        return cls(name, min(by_month), _dense(by_month))

    @classmethod
    def from_years(cls, name: str, figures: Mapping[int, float]) -> PriceLevel:
        """An index with one figure a year, for sales dated to the year only."""
        if not figures:
            raise SettingsError(f'The price index "{name}" has no year.')
        return cls(name, min(figures) * 12, _dense(dict(figures)), yearly=True)

    @classmethod
    def united_states(cls, series: str = "us_all_items", *, yearly: bool = False) -> PriceLevel:
        """A US consumer price index out of the `cpi` package's own table (no network).

        Raises:
            SettingsError: the package is not installed, or carries no such series.
        """
        if series not in US_SERIES:
            raise SettingsError(
                f'There is no price index "{series}".',
                todo="Choose one of " + ", ".join(US_SERIES) + ', or "own".',
            )
        rows = _packaged_rows(US_SERIES[series])
        if yearly:
            figures = {year: value for year, period, value in rows if period == "M13"}
            return cls.from_years(series, figures)
        months = {
            date(year, int(period[1:]), 1): value
            for year, period, value in rows
            if period[0] == "M" and period != "M13"
        }
        return cls.from_months(series, months)

    def figure(self, on: date) -> float | None:
        """The index of the month (or year) of `on`; None where there is none."""
        place = self._places(np.array([_month(on)]))[0]
        if not 0 <= place < len(self.values) or np.isnan(self.values[place]):
            return None
        return float(self.values[place])

    def bounds(self) -> tuple[date, date]:
        """The first day of the first and of the last month (or year) with a figure."""
        step = 12 if self.yearly else 1
        last = self.first + (len(self.values) - 1) * step
        return date(self.first // 12, self.first % 12 + 1, 1), date(last // 12, last % 12 + 1, 1)

    def _places(self, months: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        return (months - self.first) // (12 if self.yearly else 1)

    def deflate(
        self, amount: pa.Array | pa.ChunkedArray, on: pa.Array | pa.ChunkedArray, base_month: date
    ) -> pa.Table:
        """Amounts in money of `base_month`.

        Args:
            amount: decimal128(18, 4), nominal.
            on: date32, the days of sale, aligned with `amount`.
            base_month: any day of the month wanted.

        Returns:
            `DEFLATED_SCHEMA`, aligned. The amount is rounded half to even at the fourth decimal;
            `index_month` is the first day of the month (or year) whose figure was used. For
            `before_index` the nominal amount is given, for the other reasons null.

        Raises:
            SettingsError: the index has no figure for the base month.
        """
        base = self.figure(base_month)
        if base is None:
            first, last = self.bounds()
            raise SettingsError(
                f'The price index "{self.name}" has no figure for {base_month:%Y-%m}.',
                todo=f"Choose a base month from {first:%Y-%m} to {last:%Y-%m} that it has.",
            )
        units, valid = to_units(amount)
        dates = on.combine_chunks() if isinstance(on, pa.ChunkedArray) else on
        dates = dates.cast(pa.date32())
        dated = np.asarray(dates.is_valid())
        days = np.asarray(dates.cast(pa.int32()).fill_null(0)).astype("datetime64[D]")
        months = days.astype("datetime64[M]").astype(np.int64) + 1970 * 12
        place = self._places(months)
        inside = dated & (place >= 0) & (place < len(self.values))
        figure = np.full(len(units), np.nan)
        figure[inside] = self.values[place[inside]]
        early = dated & (place < 0)
        names = (None, "index_no_date", "before_index", "after_index", "no_index_month")
        reason = np.zeros(len(units), np.int8)
        reason[inside & np.isnan(figure)] = 4
        reason[dated & (place >= len(self.values))] = 3
        reason[early] = 2
        reason[~dated] = 1
        product = np.rint(units.astype(np.float64) * (base / figure))
        there = valid & np.isfinite(product) & (np.abs(product) < END_OF_UNITS)
        result = np.where(there, product, 0).astype(np.int64)
        result = np.where(early & valid, units, result).astype(np.int64)
        step = 12 if self.yearly else 1
        used = (self.first + place * step - 1970 * 12).astype("datetime64[M]")
        return pa.table(
            [
                from_units(result, there | (early & valid)),
                pa.array(used.astype("datetime64[D]"), pa.date32(), mask=np.isnan(figure)),
                pa.array(names, pa.string()).take(pa.array(reason)),
            ],
            schema=DEFLATED_SCHEMA,
        )


def _dense(figures: dict[int, float]) -> npt.NDArray[np.float64]:
    first, last = min(figures), max(figures)
    values = np.full(last - first + 1, np.nan)
    for place, figure in figures.items():
        values[place - first] = figure
    return values


def _month(on: date) -> int:
    return on.year * 12 + on.month - 1


def _packaged_rows(series_id: str) -> list[tuple[int, str, float]]:
    # The package opens 60 MB of series and checks its age when it is imported; its table alone
    # is enough.
    spec = find_spec("cpi")
    if spec is None or spec.origin is None:
        raise SettingsError(
            "The US consumer price index comes with the package cpi, which is not installed.",
            todo='Install cpi, or set the price index to "own" and give '
            "data/decisions/price_index.csv.",
        )
    table = Path(spec.origin).with_name("cpi.db")
    if not table.is_file():
        raise SettingsError("The package cpi has no table of figures.", where=table)
    connection = sqlite3.connect(f"file:{table}?mode=ro", uri=True)
    try:
        found = connection.execute(
            "select year, period, value from indexes where series = ?", (series_id,)
        ).fetchall()
    except sqlite3.Error as error:
        raise SettingsError(
            f"The package cpi's table of figures cannot be read: {error}.", where=table
        ) from error
    finally:
        connection.close()
    return [(int(year), str(period), float(value)) for year, period, value in found]


def read_own_index(path: Path) -> PriceLevel:
    """A user's index: a file of month, index, name.

    A month is written 2024-01. A month without a figure is a gap and may be left out or left
    empty; a figure of zero is an error, because a gap is not zero.

    Raises:
        DecisionError: a line does not hold; the message names it.
    """
    figures: dict[date, float] = {}
    names: set[str] = set()
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file)
        missing = {"month", "index", "name"} - set(reader.fieldnames or ())
        if missing:
            raise DecisionError(
                f"The price index file has no column {', '.join(sorted(missing))}.",
                where=path,
                todo="Its first line is: month,index,name",
            )
        for row in reader:
            where = f"{path}, line {reader.line_num}"
            month = _own_month(row["month"] or "", where)
            names.add((row["name"] or "").strip())
            if month in figures:
                raise DecisionError(f"{month:%Y-%m} stands there twice.", where=where)
            if (row["index"] or "").strip():
                figures[month] = _own_figure(row["index"] or "", where)
    if len(names) != 1 or "" in names:
        raise DecisionError(
            "The price index file does not hold one named index.",
            where=path,
            todo="Write the same name in every line; keep other indexes in other files.",
        )
    if not figures:
        raise DecisionError("The price index file holds no figure.", where=path)
    return PriceLevel.from_months(names.pop(), figures)


def _own_month(text: str, where: str) -> date:
    try:
        year, month = text.strip().split("-")[:2]
        return date(int(year), int(month), 1)
    except ValueError as error:
        raise DecisionError(
            f'"{text}" is no month.', where=where, todo="Write it as 2024-01."
        ) from error


def _own_figure(text: str, where: str) -> float:
    try:
        figure = float(Decimal(text.strip()))
    except ArithmeticError:
        figure = float("nan")
    if not 0 < figure < 1e12:
        raise DecisionError(
            f'"{text}" is no index figure.',
            where=where,
            todo="Write a number above zero, or leave the cell empty where the month has none.",
        )
    return figure
