"""Price: every price on the basis of the workspace, with each step kept.

Read: landed rows and their source. Work: text to exact amounts, what the price means to the
basis, the currency by the rate of the day of sale, the lot to what a band compares, and that in
money of one month. Write: the money columns of `sales`; rows that can be no sale get a reason to
be set aside, and what is to be known of a price beside it stands in its notes.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline import reasons
from pipeline.exports.sale_dates import read_sale_dates
from pipeline.exports.source import Source
from pipeline.money.amounts import USABLE_REASONS, read_amounts
from pipeline.money.basis import per_piece, times_pieces, to_basis
from pipeline.money.currencies import CODES, candidates, settle
from pipeline.money.premium_rates import read_premium_rates
from pipeline.money.rates import Rates, convert
from pipeline.money.real_money import RealMoney
from pipeline.money.terms_of_sale import PRICE_TYPES
from pipeline.settings import Settings
from pipeline.stages.distinct import is_true, one_array, repeated
from pipeline.stages.lots import read_lots
from pipeline.stages.normalise import lists_of_reasons
from pipeline.table_def import MONEY
from pipeline.terms.text import fold_text

NOT_A_SALE = ("asking_price", "estimate_only", "price_type_unknown")
OUT_OF_REACH = ("premium_unknown", "fees_unknown", "nothing_left", "amount_too_large")


@dataclass(frozen=True)
class PriceReader:
    """What pricing needs beside the rows; `real` is None where there is no price index."""

    source: Source
    rates: Rates
    settings: Settings
    newest: dt.date
    real: RealMoney | None = None


def price(landed: pa.Table, reader: PriceReader) -> pa.Table:
    """The money columns of n landed rows of one source.

    Returns:
        Table of n rows: sold_on, price_amount, currency, price_type, shipping_amount, lot_kind,
        n_pieces, set_size, lot_amount, rate, rate_on, basis_amount, piece_amount,
        compared_amount, real_amount, real_reason, notes, `price_flags` (reasons that keep the row
        from the bands) and `aside_reason`, `aside_column` (null where the row is a sale).
    """
    n = landed.num_rows
    source, settings = reader.source, reader.settings
    sold_on, date_problem = read_sale_dates(
        landed.column("sold_text"), source.date_order, reader.newest
    )
    said = read_stated(landed, source)
    column = {name: one_array(said[name]) for name in said.column_names}
    amount, code, each = column["amount"], column["currency"], column["is_each"]
    pieces = column["n_pieces"]
    counted_or_whole = pc.or_(pc.invert(each), pc.is_valid(pieces))
    whole = whole_price(amount, each, pieces)
    basis = to_basis(
        whole,
        source.price,
        settings.basis.kind,
        price_types=column["price_type"],
        shipping_amounts=column["shipping_amount"],
        tax_amounts=column["tax_amount"],
        premium_amounts=column["premium_amount"],
        premium_rates=column["premium_rate"],
    )
    told, in_own = one_array(basis["reason"]), one_array(basis["basis_amount"])
    rates = reader.rates.lookup(code, sold_on, settings.basis.currency)
    rate = one_array(rates["rate"])
    converted = convert(in_own, rate)
    nothing = pa.scalar(None, MONEY)
    lot_amount = pc.if_else(counted_or_whole, in_own, nothing)
    basis_amount = pc.if_else(counted_or_whole, converted, nothing)
    piece_amount = pc.if_else(counted_or_whole, per_piece(converted, pieces), converted)
    compared = piece_amount if source.price_of == "piece" else basis_amount
    real_amount, real_reason = _in_real_money(compared, sold_on, reader.real)
    out_of_bounds = pc.or_(
        is_true(pc.less(compared, _money(settings.screen.lowest_price))),
        is_true(pc.greater(compared, _money(settings.screen.highest_price))),
    )
    # What has no room in its column is above every bound.
    no_room = pc.and_(pc.and_(pc.is_valid(in_own), pc.is_valid(rate)), pc.is_null(converted))
    flags = {
        "not_sold": column["is_unsold"],
        "not_a_sale_price": is_true(pc.is_in(told, value_set=pa.array(NOT_A_SALE))),
        "basis_out_of_reach": pc.and_(
            is_true(pc.is_in(told, value_set=pa.array(OUT_OF_REACH))), pc.is_valid(amount)
        ),
        "pieces_unknown": pc.and_(pc.invert(counted_or_whole), pa.scalar(source.price_of == "lot")),
        "no_rate": pc.and_(pc.is_valid(in_own), pc.is_null(rate)),
        "price_out_of_bounds": pc.or_(out_of_bounds, no_room),
        "bulk_lot": is_true(pc.equal(column["lot_kind"], "bulk")),
    }
    notes = {
        name: column[name] if name in column else one_array(basis[name])
        for name in reasons.PRICE_NOTES
    }
    too_large = pc.and_(pc.is_valid(amount), pc.is_null(whole))
    price_problem = pc.if_else(too_large, "amount_too_large", column["price_problem"])
    aside, aside_column = _first_problem(
        [
            (date_problem, "sold"),
            (price_problem, "price"),
            (column["premium_problem"], "premium"),
            (column["quantity_problem"], "quantity"),
        ]
    )
    return pa.table(
        {
            "sold_on": sold_on,
            "price_amount": amount,
            "currency": code,
            "price_type": column["price_type"],
            "shipping_amount": column["shipping_amount"],
            "lot_kind": column["lot_kind"],
            "n_pieces": pieces.cast(pa.int32()),
            "set_size": column["set_size"],
            "lot_amount": lot_amount,
            "rate": rate,
            "rate_on": one_array(rates["rate_on"]),
            "basis_amount": basis_amount,
            "piece_amount": piece_amount,
            "compared_amount": compared,
            "real_amount": real_amount,
            "real_reason": real_reason,
            "notes": lists_of_reasons(notes, n),
            "price_flags": lists_of_reasons(flags, n),
            "aside_reason": aside,
            "aside_column": aside_column,
        }
    )


_USABLE = pa.array(sorted(USABLE_REASONS), pa.string())
_OFFERS = pa.array(reasons.KEPT_AMOUNTS, pa.string())


def read_stated(landed: pa.Table, source: Source) -> pa.Table:
    """What n landed rows of a source say of their prices, before anything is reckoned.

    Returns:
        Table of n rows: amount, currency, default_currency (taken where the text has none),
        price_type, is_each (the amount is of one piece), is_unsold, shipping_amount, tax_amount,
        premium_amount, premium_rate (millionths of the hammer price; then there is no amount),
        lot_kind, n_pieces, set_size; a mask for each of the notes that the texts give; and
        price_problem, premium_problem and quantity_problem, keys of
        `pipeline.reasons.SET_ASIDE`.
    """
    n = landed.num_rows
    currency, contradicted = _currency(landed, source)
    read = read_amounts(landed.column("price_text"), source.decimal_mark or None, currency)
    amount, reason = one_array(read["amount"]), one_array(read["reason"])
    is_offer = is_true(pc.is_in(reason, value_set=_OFFERS))
    asked = is_true(pc.equal(reason, "asking_price"))
    unsold = pc.or_(_is_unsold(landed, source), is_true(pc.equal(reason, "not_sold")))
    usable = pc.or_(pc.is_null(reason), is_true(pc.is_in(reason, value_set=_USABLE)))
    usable = pc.and_(pc.or_(usable, asked), pc.is_valid(amount))
    amount = pc.if_else(usable, amount, pa.scalar(None, amount.type))
    problem = pc.if_else(
        pc.or_(usable, is_offer), None, pc.coalesce(reason, pa.scalar("price_missing"))
    )
    code = pc.if_else(usable, one_array(read["currency"]), None)
    problem = pc.if_else(pc.and_(usable, pc.is_null(code)), "currency_unclear", problem)
    two = pc.and_(contradicted, is_true(pc.not_equal(code, currency)))
    problem = pc.if_else(pc.and_(usable, two), "two_currencies", problem)
    problem = pc.if_else(unsold, None, problem)
    kinds = _price_types(landed, one_array(read["price_type"]), asked, source)
    beside = {
        name: _told_amount(landed, name, source, currency, code)
        for name in ("shipping", "tax", "premium")
    }
    lots = read_lots(landed, source.price_of)
    price_each = is_true(pc.equal(reason, "price_each"))
    premium, unread = beside["premium"]
    rate, too_high, bare = read_premium_rates(one_array(landed.column("premium_text")), amount)
    is_amount = pc.is_null(rate)
    premium = pc.if_else(is_amount, premium, pa.scalar(None, MONEY))
    beside["premium"] = (premium, pc.and_(unread, is_amount))
    is_hammer = is_true(pc.equal(kinds, "hammer"))
    more_than_hammer = pc.or_(
        pc.and_(is_hammer, is_true(pc.greater(premium, amount))), pa.array(too_high)
    )
    return pa.table(
        {
            "amount": amount,
            "currency": code,
            "price_type": kinds,
            "is_each": _true(n) if source.price_of == "piece" else price_each,
            "is_unsold": unsold,
            "default_currency": currency,
            "premium_rate": rate,
            "premium_taken_as_rate": pa.array(bare),
            **{f"{name}_amount": told for name, (told, _) in beside.items()},
            **{f"{name}_unreadable": unread for name, (_, unread) in beside.items()},
            **{name: is_true(pc.equal(reason, name)) for name in reasons.AMOUNT_NOTES},
            **{name: is_true(pc.equal(lots["reason"], name)) for name in reasons.QUANTITY_NOTES},
            **{name: lots[name] for name in ("lot_kind", "n_pieces", "set_size")},
            "price_problem": problem,
            "premium_problem": pc.if_else(
                pc.and_(more_than_hammer, pc.invert(unsold)), "premium_out_of_bounds", None
            ),
            "quantity_problem": lots["problem"],
        }
    )


def whole_price(amount: pa.Array, each: pa.Array, pieces: pa.Array) -> pa.Array:
    """What is paid for all pieces, where the amount is of each of so many; else the amount.

    It comes before premium, tax and shipping, which are reckoned of what is paid.
    """
    many = pc.and_(each, pc.is_valid(pieces))
    return pc.if_else(many, times_pieces(amount, pieces), amount)


def _in_real_money(
    compared: pa.Array, sold_on: pa.Array, real: RealMoney | None
) -> tuple[pa.Array, pa.Array]:
    if real is not None:
        return real.tell(compared, sold_on)
    n = len(compared)
    return pa.nulls(n, MONEY), pc.if_else(pc.is_valid(compared), "no_price_index", None)


def _true(n: int) -> pa.Array:
    return pa.array(np.ones(n, dtype=bool))


def _money(value: float) -> pa.Scalar:
    return pa.scalar(round(value, 4), pa.float64()).cast(MONEY)


def _first_problem(problems: list[tuple[pa.Array, str]]) -> tuple[pa.Array, pa.Array]:
    """The first reason that a row has, and the column it lies in."""
    found = pc.coalesce(*[p for p, _ in problems])
    columns = pc.coalesce(
        *[pc.if_else(pc.is_valid(p), pa.scalar(name), None) for p, name in problems]
    )
    return found, columns


def _currency(landed: pa.Table, source: Source) -> tuple[pa.Array, pa.Array]:
    """The currency that each row states, else that of the source; and which rows state one.

    What is stated and is no currency leaves it open: the source's must not stand in for it.
    """
    stated = one_array(landed.column("currency_text"))
    own = source.currency or None
    n = len(stated)
    if stated.null_count == n:
        return repeated(own, n), pc.invert(_true(n))
    coded = pc.dictionary_encode(stated)
    codes = [_code(text, own) for text in coded.dictionary.to_pylist()]
    code = pa.array(codes, pa.string()).take(coded.indices)
    return pc.if_else(pc.is_null(stated), repeated(own, n), code), pc.is_valid(code)


def _code(text: str, own: str | None) -> str | None:
    """The ISO 4217 code of a cell of a currency column."""
    written = text.strip()
    if written.upper() in CODES:
        return written.upper()
    found = candidates(written, own)
    return settle(found, [written], own) if found else None


def _is_unsold(landed: pa.Table, source: Source) -> pa.Array:
    """Rows whose status is stated and none of the source's words for sold."""
    status = one_array(landed.column("status_text"))
    if status.null_count == len(status):
        return pc.invert(_true(len(status)))
    coded = pc.dictionary_encode(status)
    sold_words = {fold_text(w).strip() for w in source.sold_words}
    unsold = [fold_text(t).strip() not in sold_words for t in coded.dictionary.to_pylist()]
    return is_true(pa.array(unsold, pa.bool_()).take(coded.indices))


def _told_amount(
    landed: pa.Table, name: str, source: Source, currency: pa.Array, code: pa.Array
) -> tuple[pa.Array, pa.Array]:
    """An amount told beside the price, in the price's currency; and where it cannot be read."""
    text = one_array(landed.column(f"{name}_text"))
    n = len(text)
    if text.null_count == n:
        return pa.nulls(n, MONEY), pc.invert(_true(n))
    read = read_amounts(text, source.decimal_mark or None, currency)
    reason, amount = one_array(read["reason"]), one_array(read["amount"])
    usable = pc.or_(pc.is_null(reason), is_true(pc.is_in(reason, value_set=_USABLE)))
    usable = pc.or_(usable, is_true(pc.equal(reason, "zero_amount")))
    other = is_true(pc.not_equal(read["currency"], code))
    zero = is_true(pc.equal(amount, pa.scalar(0, MONEY)))
    usable = pc.and_(pc.and_(usable, pc.is_valid(amount)), pc.or_(zero, pc.invert(other)))
    amount = pc.if_else(usable, amount, pa.scalar(None, MONEY))
    if name == "shipping":
        free = is_true(pc.match_substring_regex(text, r"(?i)\bfree\b"))
        amount = pc.if_else(pc.and_(free, pc.is_null(amount)), pa.scalar(0, MONEY), amount)
    silent = pc.or_(pc.is_null(text), is_true(pc.equal(reason, "price_missing")))
    return amount, pc.and_(pc.is_null(amount), pc.invert(silent))


def _price_types(
    landed: pa.Table, from_text: pa.Array, asked: pa.Array, source: Source
) -> pa.Array:
    """What each price means: as its row says, else its text, else the source.

    A text that asks is an offer whatever the row says; what a row says and nobody knows is
    unknown.
    """
    stated = one_array(landed.column("price_type_text"))
    own = source.price.price_type
    if stated.null_count < len(stated):
        coded = pc.dictionary_encode(stated)
        kinds = [_price_type(text) for text in coded.dictionary.to_pylist()]
        stated = pa.array(kinds, pa.string()).take(coded.indices)
    kinds = pc.coalesce(stated, from_text, pa.scalar(own))
    return pc.if_else(asked, "asking", kinds)


def _price_type(text: str) -> str:
    """One of `PRICE_TYPES` of a cell that says what a price is."""
    words = "_".join(fold_text(text).replace("-", " ").replace("_", " ").split())
    kind = words.removesuffix("_price")
    return kind if kind in PRICE_TYPES else "unknown"
