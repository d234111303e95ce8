"""Rows a second for money text, rates, bases, price level and quantities.

    python -m tests.bench.bench_money [--rows 1000000]

Beside the reading of amounts stands a plain loop over price-parser (BSD) on a sample of the same
texts, as a person would write it; without that library the ratio is left out.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from importlib.util import find_spec

import numpy as np
import pyarrow as pa

from pipeline.money.amounts import read_amounts
from pipeline.money.basis import to_basis
from pipeline.money.exact import from_units
from pipeline.money.price_level import PriceLevel
from pipeline.money.rates import Rates, convert
from pipeline.money.terms_of_sale import terms_from_settings
from pipeline.terms.quantities import read_quantities

SAMPLE = 20_000
TITLES = (
    "Victorian mahogany chest of drawers with bun feet {}",
    "Set of {} dining chairs in oak, drop-in seats",
    "Pair of brass candlesticks, {} cm",
    "Wedgwood jasperware vase, c. {}",
    "Job lot of costume jewellery, {} pieces",
    "Georgian silver spoon by T. Marlow, London 18{}",
    "Longcase clock, 8 day, painted dial, no. {}",
    "Etching, signed, edition {}/75",
)


def prices(rows: int, rng: np.random.Generator) -> dict[str, pa.Array]:
    """Three columns of price texts: plain and much repeated, plain and mostly distinct, odd."""
    cents = np.exp(rng.normal(5, 1.2, rows)) * 100
    whole = (cents // 500 * 5).astype(np.int64)
    exact = cents.astype(np.int64)
    odd = (
        "sold for £{}", "£{} each", "was £{} now £5", "{},00 €", "US $ {}.50", "hammer {}",
        "£{} 5s 6d", "{}-9999999", "POA", "{} gns", "about £{}", "CHF {}.–",
    )  # fmt: skip
    return {
        "auction, whole pounds": pa.array([f"£{amount:,}.00" for amount in whole]),
        "online, cents": pa.array([f"US ${c // 100}.{c % 100:02d}" for c in exact]),
        "every form": pa.array(
            [odd[place % len(odd)].format(amount) for place, amount in enumerate(whole)]
        ),
    }


def _letters(number: int) -> str:
    """A made-up name, another for each number, that no rule reads."""
    return "".join("bdfghjklmr"[int(digit)] for digit in str(number)) + "ane"


def timed(name: str, rows: int, work: Callable[[], object]) -> float:
    """Run once, print, and return rows a second."""
    start = time.perf_counter()
    work()
    seconds = time.perf_counter() - start
    print(f"{name:<44}{seconds:>8.2f} s{rows / seconds:>14,.0f} rows/s")
    return rows / seconds


def plain_loop(texts: list[str]) -> float | None:
    """Rows a second of a plain loop over price-parser."""
    if find_spec("price_parser") is None:
        return None
    from price_parser import Price

    start = time.perf_counter()
    for text in texts:
        Price.fromstring(text)
    return len(texts) / (time.perf_counter() - start)


def main() -> None:
    """Run every measurement once."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rows", type=int, default=1_000_000)
    rows = parser.parse_args().rows
    rng = np.random.default_rng(20)
    for name, texts in prices(rows, rng).items():
        speed = timed(f"amounts: {name}", rows, lambda texts=texts: read_amounts(texts, ".", "GBP"))
        loop = plain_loop(texts.slice(0, min(SAMPLE, rows)).to_pylist())
        ratio = f"{speed / loop:,.0f} times" if loop else "not measured"
        print(f"{'':<6}against a loop over price-parser: {ratio}; {len(texts.unique()):,} distinct")
    start = time.perf_counter()
    rates = Rates.bundled()
    print(f"{'rates: reading the packaged history':<44}{time.perf_counter() - start:>8.2f} s")
    currency = pa.array(np.array(["GBP", "USD", "EUR", "CHF"])[rng.integers(0, 4, rows)])
    on = pa.array(rng.integers(11_000, 20_700, rows).astype(np.int32)).cast(pa.date32())
    timed("rates: look-up", rows, lambda: rates.lookup(currency, on, "GBP"))
    amounts = from_units(
        (np.exp(rng.normal(5, 1, rows)) * 10_000).astype(np.int64), np.ones(rows, bool)
    )
    found = rates.lookup(currency, on, "GBP")
    timed("rates: conversion", rows, lambda: convert(amounts, found["rate"]))
    stated = terms_from_settings(
        {
            "price_type": "with_premium",
            "premium": [{"up_to": 1000, "share": 0.25}, {"share": 0.2}],
            "tax": "included",
            "tax_share": 0.2,
            "fees": 0.15,
        },
        "bench",
    )
    timed("basis: buyer", rows, lambda: to_basis(amounts, stated, "buyer"))
    timed("basis: seller, premium in steps", rows, lambda: to_basis(amounts, stated, "seller"))
    months = {date(2000 + place // 12, place % 12 + 1, 1): 100.0 + place for place in range(324)}
    level = PriceLevel.from_months("bench", months)
    timed("price level", rows, lambda: level.deflate(amounts, on, date(2024, 1, 1)))
    titles = pa.array(
        [TITLES[place % len(TITLES)].format(n) for place, n in enumerate(rng.integers(2, 99, rows))]
    )
    timed("quantities: repeated titles", rows, lambda: read_quantities(titles))
    distinct = pa.array([f"{t} {_letters(n)}" for n, t in enumerate(titles.to_pylist())])
    timed("quantities: every title distinct", rows, lambda: read_quantities(distinct))
    print(f"largest amount {Decimal(max(amounts.to_pylist()))}")


if __name__ == "__main__":
    main()
