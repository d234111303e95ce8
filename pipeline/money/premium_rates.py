"""A buyer's premium that a cell tells as a rate ("25 %", "+25%") in place of an amount.

A bare number under 1 ("0.25") may be a rate or an amount. It is read as a rate where, as an amount,
it would be under a twentieth of the price (common practice, no source: a premium is a tenth of the
hammer price or more); elsewhere it stays an amount.
"""

from __future__ import annotations

import re
from decimal import Decimal

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.money.exact import SHARE_PARTS, Mask

_PER_CENT = r"(?:%|per ?cent\.?|pct\.?|p\. ?c\.|v\.? ?h\.?)"
_RATE = re.compile(rf"\s*\+?\s*(\d{{1,4}}(?:[.,]\d{{1,4}})?)\s*{_PER_CENT}\s*", re.I)
_SHARE = re.compile(r"\s*\+?0?[.,](\d{1,4})\s*")
LEAST_PREMIUM = 20.0
"""An amount beneath the price divided by this is no premium."""


def read_premium_rates(texts: pa.Array, prices: pa.Array) -> tuple[pa.Array, Mask, Mask]:
    """Rates of the hammer price. `pipeline.money.basis` applies them where the premium has its
    place on the way: of what is left when shipping and tax are off and fees are on.

    Args:
        texts: n cells of a premium column, nulls allowed.
        prices: n amounts beside them, null where there is none.

    Returns:
        n rates in millionths of the hammer price (int64, null where the text is no rate; one
        above 100 per cent is given as 100); which of them are above 100 per cent; and which are
        bare numbers that were taken for a rate.
    """
    coded = pc.dictionary_encode(texts)
    told = coded.dictionary.to_pylist()
    rate = pa.array([_rate(text) for text in told], pa.int64()).take(coded.indices)
    bare = pa.array([_bare_share(text) for text in told], pa.int64()).take(coded.indices)
    least = pc.multiply(pc.cast(prices, pa.float64()), SHARE_PARTS / LEAST_PREMIUM)
    is_bare = pc.fill_null(pc.less(pc.cast(bare, pa.float64()), least), False)
    rate = pc.if_else(is_bare, bare, rate)
    too_high = pc.fill_null(pc.greater(rate, SHARE_PARTS), False)
    return (
        pc.min_element_wise(rate, pa.scalar(SHARE_PARTS, pa.int64()), skip_nulls=False),
        np.asarray(too_high.to_numpy(zero_copy_only=False), dtype=bool),
        np.asarray(is_bare.to_numpy(zero_copy_only=False), dtype=bool),
    )


def _bare_share(text: str) -> int | None:
    """A bare number between 0 and 1 in millionths; None where the text is none."""
    found = _SHARE.fullmatch(text)
    share = int(Decimal(f"0.{found[1]}") * SHARE_PARTS) if found else 0
    return share or None


def _rate(text: str) -> int | None:
    """The rate in millionths; None where the text is none."""
    found = _RATE.fullmatch(text)
    if found is None:
        return None
    return int(Decimal(found[1].replace(",", ".")) * (SHARE_PARTS // 100))
