"""A buyer's premium that a cell tells as a rate ("25 %") in place of an amount."""

from __future__ import annotations

import re
from decimal import Decimal

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.money.exact import Mask, divide, from_units, to_units

_RATE = re.compile(r"\s*(\d{1,4}(?:[.,]\d{1,4})?)\s*(?:%|per ?cent\.?|pct\.?|v\.? ?h\.?)\s*", re.I)
_ONE = 1_000_000  # a rate is held in millionths of the hammer price


def premium_of_rates(
    texts: pa.Array, amounts: pa.Array, is_hammer: pa.Array
) -> tuple[pa.Array, Mask, Mask]:
    """The premium in money of each price, where its text is a rate.

    Args:
        texts: n cells of a premium column, nulls allowed.
        amounts: n prices, decimal128(18, 4).
        is_hammer: whether each price is a hammer price; else it holds the premium already.

    Returns:
        n amounts (null where the text is no rate or the price is null), which texts are rates,
        and which of those are above 100 per cent (reckoned as 100).
    """
    coded = pc.dictionary_encode(texts)
    rates = [_rate(text) for text in coded.dictionary.to_pylist()]
    place = np.asarray(pc.fill_null(coded.indices, len(rates)).to_numpy(zero_copy_only=False))
    rate = np.array([*rates, -1], dtype=np.int64)[place]
    told = rate >= 0
    units, valid = to_units(amounts)
    share = np.where(told, np.minimum(rate, _ONE), 0)
    hammer = np.asarray(is_hammer.to_numpy(zero_copy_only=False), dtype=bool)
    added = divide(units * share, _ONE)
    held = units - divide(units * _ONE, _ONE + share)
    return from_units(np.where(hammer, added, held), told & valid), told, told & (rate > _ONE)


def _rate(text: str) -> int:
    """The rate in millionths; -1 where the text is none."""
    found = _RATE.fullmatch(text)
    if found is None:
        return -1
    return int(Decimal(found[1].replace(",", ".")) * (_ONE // 100))
