"""Amounts as whole ten-thousandths: exact arithmetic on whole columns.

Amounts are decimal128(18, 4). Eighteen digits fit a 64-bit integer, so a column of amounts is a
column of integers that count 1/10000 of a currency unit, and sums, differences and shares of them
are exact until the one rounding that each step names: half to even at the fourth decimal.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

AMOUNT_TYPE = pa.decimal128(18, 4)
PER_UNIT = 10_000
# Shares (premium, tax, commission) are whole millionths: 8.875 % is 88,750.
SHARE_PARTS = 1_000_000
# 40 million units of money. Below it every product on the way to a basis stays inside 64 bits
# (a tenfold amount before fees, doubled by a premium, times a million parts of a share); columns
# with larger amounts take Python's integers, slower and as exact.
_SAFE_UNITS = 4 * 10**11
# decimal128(18, 4) ends here.
END_OF_UNITS = 10**18

Units = npt.NDArray[Any]
Mask = npt.NDArray[np.bool_]


def to_units(amounts: pa.Array | pa.ChunkedArray) -> tuple[Units, Mask]:
    """Amounts as integers (0 where null) and which of them are there.

    The integers are int64, or Python's own where one of them is above 40 million units of money.
    """
    array = amounts.combine_chunks() if isinstance(amounts, pa.ChunkedArray) else amounts
    array = array.cast(AMOUNT_TYPE)
    valid = np.asarray(array.is_valid())
    if len(array) == 0:
        return np.empty(0, np.int64), valid
    words = np.frombuffer(array.buffers()[1], np.int64)
    # Little-endian 16-byte integers; 18 digits live in the low half, the high half is the sign.
    low = words[0::2][array.offset : array.offset + len(array)]
    units = np.where(valid, low, 0)
    if np.abs(units).max() > _SAFE_UNITS:
        return units.astype(object), valid
    return units, valid


def from_units(units: Units, valid: Mask) -> pa.Array:
    """Integers of 1/10000 as decimal128(18, 4), null where not valid."""
    low = np.where(valid, units, 0).astype(np.int64)
    words = np.empty(2 * len(low), np.int64)
    words[0::2] = low
    words[1::2] = low >> 63
    bits = pa.array(valid, pa.bool_())
    nulls = int(len(valid) - np.count_nonzero(valid))
    return pa.Array.from_buffers(
        AMOUNT_TYPE, len(low), [bits.buffers()[1], pa.py_buffer(words)], null_count=nulls
    )


def divide(numerator: Units, divisor: int | Units) -> Units:
    """Integer division rounded half to even; the divisor is positive."""
    whole = numerator // divisor
    rest = numerator - whole * divisor
    twice = 2 * rest
    up = (twice > divisor) | ((twice == divisor) & (whole % 2 == 1))
    return whole + np.where(up, 1, 0)


def share_of(units: Units, share: int) -> Units:
    """So many millionths of the units, rounded half to even."""
    return divide(units * share, SHARE_PARTS)


def decimal_units(amount: Decimal) -> int:
    """One amount as 1/10000 units. Exact: more than four decimals are the caller's fault."""
    return int((amount * PER_UNIT).to_integral_exact())


def decimal_share(share: Decimal) -> int:
    """One share as millionths."""
    return int((share * SHARE_PARTS).to_integral_exact())


def as_decimal(units: int) -> Decimal:
    """1/10000 units as an amount with four decimals."""
    return (Decimal(units) / PER_UNIT).quantize(Decimal("0.0001"))
