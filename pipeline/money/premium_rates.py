"""A buyer's premium that a cell tells as a rate ("25 %") in place of an amount."""

from __future__ import annotations

import re
from decimal import Decimal

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.money.exact import SHARE_PARTS, Mask

_PER_CENT = r"(?:%|per ?cent\.?|pct\.?|p\. ?c\.|v\.? ?h\.?)"
_RATE = re.compile(rf"\s*(\d{{1,4}}(?:[.,]\d{{1,4}})?)\s*{_PER_CENT}\s*", re.I)


def read_premium_rates(texts: pa.Array) -> tuple[pa.Array, Mask]:
    """Rates of the hammer price. `pipeline.money.basis` applies them where the premium has its
    place on the way: of what is left when shipping and tax are off and fees are on.

    Args:
        texts: n cells of a premium column, nulls allowed.

    Returns:
        n rates in millionths of the hammer price (int64, null where the text is no rate; one
        above 100 per cent is given as 100), and which of them are above 100 per cent.
    """
    coded = pc.dictionary_encode(texts)
    rates = [_rate(text) for text in coded.dictionary.to_pylist()]
    rate = pa.array(rates, pa.int64()).take(coded.indices)
    too_high = pc.fill_null(pc.greater(rate, SHARE_PARTS), False)
    return (
        pc.min_element_wise(rate, pa.scalar(SHARE_PARTS, pa.int64()), skip_nulls=False),
        np.asarray(too_high.to_numpy(zero_copy_only=False), dtype=bool),
    )


def _rate(text: str) -> int | None:
    """The rate in millionths; None where the text is none."""
    found = _RATE.fullmatch(text)
    if found is None:
        return None
    return int(Decimal(found[1].replace(",", ".")) * (SHARE_PARTS // 100))
