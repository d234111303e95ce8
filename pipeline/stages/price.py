"""Price: every price on the basis of the workspace, with each step kept.

Read: landed rows and their source. Work: text to exact amounts, what the price means to the
basis, the currency by the rate of the day of sale, the lot to what a band compares. Write: the
money columns of `sales`; rows that can be no sale get a reason to be set aside.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import MONEY
from pipeline.exports.sale_dates import read_sale_dates
from pipeline.exports.source import Source
from pipeline.money.amounts import USABLE_REASONS, read_amounts
from pipeline.money.basis import per_piece, to_basis
from pipeline.money.rates import Rates, convert
from pipeline.settings import Settings
from pipeline.stages.distinct import is_true, one_array, repeated
from pipeline.stages.normalise import lists_of_reasons
from pipeline.terms.quantities import (
    combine,
    read_quantities,
    read_quantity_column,
    size_classes,
)
from pipeline.terms.text import fold_text

NOT_A_SALE = ("asking_price", "estimate_only", "price_type_unknown")
IMPOSSIBLE_QUANTITIES = ("quantity_zero", "quantity_too_large")
OUT_OF_REACH = ("premium_unknown", "fees_unknown", "nothing_left", "amount_too_large")

@dataclass(frozen=True)
class PriceReader:
    """What pricing needs beside the rows."""

    source: Source
    rates: Rates
    settings: Settings
    newest: dt.date


def price(landed: pa.Table, reader: PriceReader) -> pa.Table:
    """The money columns of n landed rows of one source.

    Returns:
        Table of n rows: sold_on, price_amount, currency, price_type, shipping_amount, lot_kind,
        n_pieces, set_size, lot_amount, rate, rate_on, basis_amount, piece_amount,
        compared_amount, `price_flags` (reasons that keep the row from the bands) and
        `aside_reason`, `aside_column` (null where the row is a sale).
    """
    n = landed.num_rows
    source, settings = reader.source, reader.settings
    sold_on, date_problem = read_sale_dates(
        landed.column("sold_text"), source.date_order, reader.newest
    )
    currency = _currency(landed, source)
    read = read_amounts(
        landed.column("price_text"), source.decimal_mark or None, currency
    )
    amount, reason = one_array(read["amount"]), one_array(read["reason"])
    unsold = _is_unsold(landed, source)
    usable = pc.or_(pc.is_null(reason), is_true(pc.is_in(reason, value_set=_USABLE)))
    usable = pc.and_(usable, pc.is_valid(amount))
    amount = pc.if_else(usable, amount, pa.scalar(None, amount.type))
    price_problem = pc.if_else(usable, None, pc.coalesce(reason, pa.scalar("price_missing")))
    price_problem = pc.if_else(unsold, None, price_problem)
    code = pc.if_else(usable, one_array(read["currency"]), None)
    no_currency = pc.and_(usable, pc.is_null(code))
    price_problem = pc.if_else(no_currency, "currency_unclear", price_problem)

    shipping = _shipping(landed, source, currency)
    kinds = _price_types(landed, one_array(read["price_type"]))
    basis = to_basis(
        amount, source.price, settings.basis.kind, price_types=kinds, shipping_amounts=shipping
    )
    told = one_array(basis["reason"])
    lots = _lots(landed, source)
    in_own = one_array(basis["basis_amount"])
    lot_amount = _whole_lot(in_own, lots, source)
    rates = reader.rates.lookup(code, sold_on, settings.basis.currency)
    rate = one_array(rates["rate"])
    basis_amount = convert(lot_amount, rate)
    pieces = one_array(lots["n_pieces"])
    piece_amount = per_piece(basis_amount, pieces)
    one_each = repeated("piece", n) if source.price_of == "piece" else repeated("lot", n)
    compared = pc.if_else(pc.equal(one_each, "piece"), piece_amount, basis_amount)
    out_of_bounds = pc.or_(
        is_true(pc.less(compared, _money(settings.screen.lowest_price))),
        is_true(pc.greater(compared, _money(settings.screen.highest_price))),
    )
    flags = {
        "not_sold": unsold,
        "not_a_sale_price": is_true(pc.is_in(told, value_set=pa.array(NOT_A_SALE))),
        "basis_out_of_reach": pc.and_(
            is_true(pc.is_in(told, value_set=pa.array(OUT_OF_REACH))), pc.is_valid(amount)
        ),
        "no_rate": pc.and_(pc.is_valid(lot_amount), pc.is_null(rate)),
        "price_out_of_bounds": out_of_bounds,
        "bulk_lot": is_true(pc.equal(lots["lot_kind"], "bulk")),
    }
    aside, aside_column = _first_problem(
        [(date_problem, "sold"), (price_problem, "price"), (one_array(lots["problem"]), "quantity")]
    )
    return pa.table(
        {
            "sold_on": sold_on,
            "price_amount": amount.cast(MONEY),
            "currency": code,
            "price_type": pc.coalesce(kinds, pa.scalar(source.price.price_type)),
            "shipping_amount": shipping.cast(MONEY),
            "lot_kind": one_array(lots["lot_kind"]),
            "n_pieces": pieces.cast(pa.int32()),
            "set_size": one_array(lots["set_size"]),
            "lot_amount": lot_amount.cast(MONEY),
            "rate": rate,
            "rate_on": one_array(rates["rate_on"]),
            "basis_amount": basis_amount.cast(MONEY),
            "piece_amount": piece_amount.cast(MONEY),
            "compared_amount": compared.cast(MONEY),
            "price_flags": lists_of_reasons(flags, n),
            "aside_reason": aside,
            "aside_column": aside_column,
        }
    )


_USABLE = pa.array(sorted(USABLE_REASONS), pa.string())


def _money(value: float) -> pa.Scalar:
    return pa.scalar(round(value, 4), pa.float64()).cast(MONEY)


def _first_problem(problems: list[tuple[pa.Array, str]]) -> tuple[pa.Array, pa.Array]:
    """The first reason that a row has, and the column it lies in."""
    reasons = pc.coalesce(*[p for p, _ in problems])
    columns = pc.coalesce(
        *[pc.if_else(pc.is_valid(p), pa.scalar(name), None) for p, name in problems]
    )
    return reasons, columns


def _currency(landed: pa.Table, source: Source) -> pa.Array:
    """The currency that each row states, else that of the source."""
    stated = one_array(landed.column("currency_text"))
    own = source.currency or None
    if stated.null_count == len(stated):
        return repeated(own, len(stated))
    code = pc.utf8_upper(pc.utf8_trim_whitespace(stated))
    code = pc.if_else(pc.match_substring_regex(code, "^[A-Z]{3}$"), code, None)
    return pc.coalesce(code, repeated(own, len(stated)))


def _is_unsold(landed: pa.Table, source: Source) -> pa.Array:
    """Rows whose status is stated and none of the source's words for sold."""
    status = one_array(landed.column("status_text"))
    if status.null_count == len(status):
        return pa.array(np.zeros(len(status), dtype=bool))
    coded = pc.dictionary_encode(status)
    sold_words = {fold_text(w).strip() for w in source.sold_words}
    unsold = [fold_text(t).strip() not in sold_words for t in coded.dictionary.to_pylist()]
    return is_true(pa.array(unsold, pa.bool_()).take(coded.indices))


def _shipping(landed: pa.Table, source: Source, currency: pa.Array) -> pa.Array:
    text = one_array(landed.column("shipping_text"))
    if text.null_count == len(text):
        return pa.nulls(len(text), MONEY)
    read = read_amounts(text, source.decimal_mark or None, currency)
    zero = is_true(pc.equal(read["reason"], "zero_amount"))
    amount = one_array(read["amount"])
    usable = pc.or_(pc.is_null(read["reason"]), is_true(pc.is_in(read["reason"], value_set=_USABLE)))
    amount = pc.if_else(one_array(usable), amount, pa.scalar(None, amount.type))
    free = pc.or_(zero, is_true(pc.match_substring(text, "free", ignore_case=True)))
    return pc.if_else(free, pa.scalar(0, MONEY), amount.cast(MONEY))


def _price_types(landed: pa.Table, from_text: pa.Array) -> pa.Array:
    """What each price means, where the row or its price text says so; null takes the source's."""
    stated = one_array(landed.column("price_type_text"))
    said = pc.replace_substring_regex(pc.utf8_lower(stated), "[ -]+", "_")
    return pc.coalesce(said, from_text)


def _lots(landed: pa.Table, source: Source) -> pa.Table:
    """Kind of lot, pieces, size class and problem, from the title and the quantity column."""
    read = read_quantities(landed.column("title_text"))
    quantity = one_array(landed.column("quantity_text"))
    if quantity.null_count < len(quantity):
        read = combine(read, read_quantity_column(quantity))
    kind, pieces, reason = (one_array(read[k]) for k in ("lot_kind", "n_pieces", "reason"))
    if source.price_of == "piece":
        kind = pc.if_else(pc.equal(kind, "bulk"), kind, pa.scalar("single"))
        sizes = pc.if_else(pc.equal(kind, "bulk"), "bulk", "single")
    else:
        sizes = size_classes(pieces, kind)
    impossible = is_true(pc.is_in(reason, value_set=pa.array(IMPOSSIBLE_QUANTITIES)))
    problem = pc.if_else(impossible, "quantity_out_of_bounds", None)
    return pa.table({"lot_kind": kind, "n_pieces": pieces, "set_size": sizes, "problem": problem})


def _whole_lot(amount: pa.Array, lots: pa.Table, source: Source) -> pa.Array:
    """The price of the whole lot, where the source tells that of a piece."""
    if source.price_of == "lot":
        return amount
    pieces = pc.fill_null(one_array(lots["n_pieces"]), 1).cast(pa.decimal128(9, 0))
    return pc.multiply(amount, pieces).cast(MONEY)
