"""From what a price says to what a piece cost on one basis, and back.

Two bases: "buyer", the buyer's price before tax and shipping (hammer price and premium together),
and "seller", what the seller kept. Amounts are exact; every step that divides or takes a share
rounds once, half to even, at the fourth decimal. The way from a total to the basis is

    total - shipping, / (1 + tax), - premium = hammer, - fees = seller's net

and the seller's fees are taken of the hammer price, or of the fixed price.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline import reasons
from pipeline.errors import SettingsError
from pipeline.money.exact import (
    AMOUNT_TYPE,
    END_OF_UNITS,
    SHARE_PARTS,
    Mask,
    Units,
    decimal_share,
    decimal_units,
    divide,
    from_units,
    to_units,
)
from pipeline.money.terms_of_sale import BASES, PRICE_TYPES, Steps, TermsOfSale

# Reason -> (usable as a price on the basis, one sentence).
REASONS: dict[str, tuple[bool, str]] = {
    **{name: (False, sentence) for name, sentence in reasons.BASIS.items()},
    **{name: (True, sentence) for name, sentence in reasons.BASIS_NOTES.items()},
}
USABLE_REASONS: frozenset[str] = frozenset(r for r, (usable, _) in REASONS.items() if usable)

BASIS_SCHEMA = pa.schema(
    [
        ("basis_amount", AMOUNT_TYPE),
        ("reason", pa.string()),
        ("shipping_taken_amount", AMOUNT_TYPE),
        ("tax_taken_amount", AMOUNT_TYPE),
        ("premium_added_amount", AMOUNT_TYPE),
        ("fees_taken_amount", AMOUNT_TYPE),
        *((note, pa.bool_()) for note in reasons.BASIS_NOTES),
    ]
)


def _stepwise(units: Units, steps: Steps, sign: int) -> Units:
    """units + sign * (shares of the parts of units), rounded once."""
    parts = steps.parts()
    exact = np.zeros_like(units)
    highs: list[int | None] = [low for low, _ in parts[1:]]
    for (low, share), high in zip(parts, [*highs, None], strict=True):
        inside = np.maximum(units - low, 0)
        if high is not None:
            inside = np.minimum(inside, high - low)
        exact = exact + inside * share
    return units + sign * divide(exact, SHARE_PARTS)


def _stepwise_back(units: Units, steps: Steps, sign: int) -> Units:
    """The amount that `_stepwise` brings to `units`, rounded once."""
    parts = steps.parts()
    # Where each step starts, after the shares, in millionths of a unit so that nothing is lost.
    starts = [0]
    for (low, share), (high, _) in pairwise(parts):
        starts.append(starts[-1] + (high - low) * (SHARE_PARTS + sign * share))
    scaled = units * SHARE_PARTS
    result = divide(scaled, SHARE_PARTS + sign * parts[0][1])
    for (low, share), start in zip(parts[1:], starts[1:], strict=True):
        here = scaled > start
        value = low + divide(scaled - start, SHARE_PARTS + sign * share)
        result = np.where(here, value, result)
    # Both ways round: where each lost the same half, one unit beside is the amount that was meant.
    short = units - _stepwise(result, steps, sign)
    beside = result + np.where(short > 0, 1, -1)
    meant = (short != 0) & (_stepwise(beside, steps, sign) == units)
    return np.where(meant, beside, result)


def with_premium(hammer: pa.Array, premium: Steps) -> pa.Array:
    """Hammer prices to prices with the buyer's premium (decimal128(18, 4))."""
    units, valid = to_units(hammer)
    return from_units(_stepwise(units, premium, 1), valid)


def without_premium(price: pa.Array, premium: Steps) -> pa.Array:
    """Prices with the buyer's premium to hammer prices: the exact inverse of `with_premium`.

    A premium never falls as the hammer price rises, so no two hammer prices make one price: the
    hammer price returns to the last decimal. A price that none makes goes to the nearest one.
    """
    units, valid = to_units(price)
    return from_units(_stepwise_back(units, premium, 1), valid)


# Amounts that are not Python's integers stay below 40 million units of money; times this many
# pieces they still fit 64 bits.
_MANY_PIECES = 10_000_000
_CODES = (None, *REASONS)
_USABLE_CODES = np.array([r is None or r in USABLE_REASONS for r in _CODES])


@dataclass(slots=True)
class _Way:
    """A column of prices on its way; the amounts each step took are kept.

    `reason` holds places in `_CODES`; `notes` tells which rows each note is true of.
    """

    units: Units
    reason: npt.NDArray[np.int8]
    shipping: Units
    tax: Units
    premium: Units
    fees: Units
    notes: dict[str, Mask] = field(default_factory=dict)

    def note(self, where: Mask, reason: str) -> None:
        """Keep a note, and give it as the reason to rows that have none yet."""
        self.notes[reason] = where
        self.reason[where & (self.reason == 0)] = _CODES.index(reason)

    def stop(self, where: Mask, reason: str) -> None:
        """Set rows aside: stronger than a note, weaker than what stopped them before."""
        self.reason[where & _USABLE_CODES[self.reason]] = _CODES.index(reason)


@dataclass(frozen=True, slots=True)
class _ToldPremium:
    """The premium told beside each of n prices: as an amount, or in millionths of the hammer."""

    amount: Units
    has_amount: Mask
    rate: npt.NDArray[np.int64]
    has_rate: Mask


def _told_premium(
    amounts: pa.Array | pa.ChunkedArray, rates: pa.Array | pa.ChunkedArray
) -> _ToldPremium:
    amount, has_amount = to_units(amounts)
    has_rate = np.asarray(rates.is_valid()) & ~has_amount
    return _ToldPremium(amount, has_amount, np.asarray(rates.fill_null(0)), has_rate)


def to_basis(
    amounts: pa.Array | pa.ChunkedArray,
    terms: TermsOfSale,
    basis: str = "buyer",
    *,
    price_types: pa.Array | pa.ChunkedArray | None = None,
    shipping_amounts: pa.Array | pa.ChunkedArray | None = None,
    tax_amounts: pa.Array | pa.ChunkedArray | None = None,
    premium_amounts: pa.Array | pa.ChunkedArray | None = None,
    premium_rates: pa.Array | pa.ChunkedArray | None = None,
) -> pa.Table:
    """Bring a source's amounts to the basis, in their own currency.

    Args:
        amounts: decimal128(18, 4) as read.
        terms: what the source's prices mean.
        basis: "buyer" or "seller", see `BASES`.
        price_types: what each price is, where rows say so themselves ("hammer 400"); null takes
            the source's.
        shipping_amounts: shipping told beside each price, used where it lies in the price.
        tax_amounts: tax told beside each price, used in place of the source's share where tax
            lies in the price.
        premium_amounts: premium told beside each price, used in place of the source's steps.
        premium_rates: rates of premium told beside each price in millionths of the hammer price
            (int64), used in place of the source's steps where there is no amount.

    Returns:
        A table of `BASIS_SCHEMA`, aligned with `amounts`. `basis_amount` is null where `reason`
        is not in `USABLE_REASONS`. The last columns tell of which rows each note is true.

    Raises:
        SettingsError: there is no such basis.
    """
    if basis not in BASES:
        raise SettingsError(f'There is no basis "{basis}".', todo='Choose "buyer" or "seller".')
    units, valid = to_units(amounts)
    zero = np.zeros_like(units)
    nothing = pa.nulls(len(units), AMOUNT_TYPE)
    way = _Way(units.copy(), np.zeros(len(units), np.int8), zero, zero, zero, zero)
    kind = _kinds(price_types, terms, len(units))
    _stop_where_no_sale(way, kind, valid)
    not_net = kind != PRICE_TYPES.index("net_to_seller")
    _take_shipping(way, terms, shipping_amounts, not_net)
    _take_tax(way, terms, tax_amounts, not_net)
    premium = _told_premium(
        nothing if premium_amounts is None else premium_amounts,
        pa.nulls(len(units), pa.int64()) if premium_rates is None else premium_rates,
    )
    _to_the_basis(way, kind, terms, basis, premium)
    way.stop(valid & (way.units <= 0) & (units > 0), "nothing_left")
    way.stop(valid & (np.abs(way.units) >= END_OF_UNITS), "amount_too_large")
    keep = _USABLE_CODES[way.reason]
    return pa.table(
        [
            from_units(way.units, keep),
            pa.array(_CODES, pa.string()).take(pa.array(way.reason)),
            *(from_units(u, keep) for u in (way.shipping, way.tax, way.premium, way.fees)),
            *(pa.array(way.notes.get(n, ~keep) & keep) for n in reasons.BASIS_NOTES),
        ],
        schema=BASIS_SCHEMA,
    )


def _kinds(
    price_types: pa.Array | pa.ChunkedArray | None, terms: TermsOfSale, size: int
) -> npt.NDArray[np.int64]:
    """Each row's price type as its place in `PRICE_TYPES`."""
    own = PRICE_TYPES.index(terms.price_type)
    if price_types is None:
        return np.full(size, own)
    array = (
        price_types.combine_chunks() if isinstance(price_types, pa.ChunkedArray) else price_types
    )
    encoded = array.cast(pa.string()).dictionary_encode()
    unknown = PRICE_TYPES.index("unknown")
    names = encoded.dictionary.to_pylist()
    places = np.array(
        [PRICE_TYPES.index(n) if n in PRICE_TYPES else unknown for n in names] + [own], np.int64
    )
    return places[np.asarray(encoded.indices.fill_null(len(names)))]


def _stop_where_no_sale(way: _Way, kind: npt.NDArray[np.int64], valid: Mask) -> None:
    way.stop(~valid, "amount_missing")
    for name, reason in (
        ("asking", "asking_price"),
        ("estimate", "estimate_only"),
        ("unknown", "price_type_unknown"),
    ):
        way.stop(kind == PRICE_TYPES.index(name), reason)


def _take_shipping(
    way: _Way,
    terms: TermsOfSale,
    shipping_amounts: pa.Array | pa.ChunkedArray | None,
    where: Mask,
) -> None:
    if terms.shipping == "unknown":
        way.note(where, "shipping_unknown")
    elif terms.shipping == "free":
        way.shipping = np.where(where, decimal_units(terms.shipping_allowance), 0)
    elif terms.shipping == "included":
        if shipping_amounts is None:
            way.note(where, "shipping_amount_missing")
            return
        told, there = to_units(shipping_amounts)
        way.note(where & ~there, "shipping_amount_missing")
        way.shipping = np.where(where & there, told, 0)
    way.units = way.units - way.shipping


def _take_tax(
    way: _Way,
    terms: TermsOfSale,
    tax_amounts: pa.Array | pa.ChunkedArray | None,
    where: Mask,
) -> None:
    if terms.tax == "unknown":
        way.note(where, "tax_unknown")
    if terms.tax != "included":
        return
    before = divide(way.units * SHARE_PARTS, SHARE_PARTS + decimal_share(terms.tax_share))
    taken = way.units - before
    if tax_amounts is not None:
        told, there = to_units(tax_amounts)
        taken = np.where(there, told, taken)
    way.tax = np.where(where, taken, 0)
    way.units = way.units - way.tax


def _to_the_basis(
    way: _Way,
    kind: npt.NDArray[np.int64],
    terms: TermsOfSale,
    basis: str,
    premium: _ToldPremium,
) -> None:
    hammer = kind == PRICE_TYPES.index("hammer")
    total = kind == PRICE_TYPES.index("with_premium")
    fixed = kind == PRICE_TYPES.index("fixed")
    net = kind == PRICE_TYPES.index("net_to_seller")
    if basis == "buyer":
        _add_fees(way, terms, net)
        # A seller's net is first the price it was made of; a premium stands on that price only
        # where the source is one that has a premium.
        due = hammer | (net & (terms.premium is not None))
        _change_by_premium(way, due, terms, premium, 1)
        return
    _change_by_premium(way, total, terms, premium, -1)
    if terms.fees is None:
        way.stop(hammer | total | fixed, "fees_unknown")
        return
    kept = _stepwise(way.units, terms.fees.share, -1) - decimal_units(terms.fees.fixed)
    way.fees = np.where(hammer | total | fixed, way.units - kept, 0)
    way.units = way.units - way.fees


def _change_by_premium(
    way: _Way, due: Mask, terms: TermsOfSale, told: _ToldPremium, sign: int
) -> None:
    """Add the premium to hammer prices (sign 1), or take it off prices that hold it (-1)."""
    there = told.has_amount | told.has_rate
    change = np.where(told.has_amount, sign * told.amount, _change_by_rate(way, told, sign))
    if terms.premium is None:
        way.stop(due & ~there, "premium_unknown")
    else:
        by_steps = _stepwise if sign > 0 else _stepwise_back
        change = np.where(there, change, by_steps(way.units, terms.premium, 1) - way.units)
    way.premium = np.where(due, change, 0)
    way.units = way.units + way.premium


def _change_by_rate(way: _Way, told: _ToldPremium, sign: int) -> Units:
    """The same where each row tells its own rate; 0 where it tells none."""
    if not told.has_rate.any():
        return np.zeros_like(way.units)
    if sign > 0:
        return divide(way.units * told.rate, SHARE_PARTS)
    return divide(way.units * SHARE_PARTS, SHARE_PARTS + told.rate) - way.units


def _add_fees(way: _Way, terms: TermsOfSale, net: Mask) -> None:
    if terms.fees is None:
        way.stop(net, "fees_unknown")
        return
    gross = _stepwise_back(way.units + decimal_units(terms.fees.fixed), terms.fees.share, -1)
    way.fees = np.where(net, way.units - gross, 0)
    way.units = way.units - way.fees


def per_piece(
    amounts: pa.Array | pa.ChunkedArray, n_pieces: pa.Array | pa.ChunkedArray
) -> pa.Array:
    """Amounts divided by the number of pieces, half to even; null where either is null or < 1."""
    units, valid = to_units(amounts)
    counts = n_pieces.combine_chunks() if isinstance(n_pieces, pa.ChunkedArray) else n_pieces
    pieces = np.asarray(counts.cast(pa.int64()).fill_null(0))
    meant = valid & (pieces >= 1)
    return from_units(divide(units, np.maximum(pieces, 1)), meant)


def times_pieces(
    amounts: pa.Array | pa.ChunkedArray, n_pieces: pa.Array | pa.ChunkedArray
) -> pa.Array:
    """Amounts of one piece as those of all of them, exact.

    Null where either is null, and where the product has more than fourteen digits before the
    decimals.
    """
    units, valid = to_units(amounts)
    counts = n_pieces.combine_chunks() if isinstance(n_pieces, pa.ChunkedArray) else n_pieces
    meant = valid & np.asarray(counts.is_valid())
    pieces = np.asarray(counts.cast(pa.int64()).fill_null(0))
    if len(units) and units.dtype != object and np.abs(pieces).max() >= _MANY_PIECES:
        units = units.astype(object)
    product = units * pieces
    return from_units(product, meant & (np.abs(product) < END_OF_UNITS).astype(bool))
