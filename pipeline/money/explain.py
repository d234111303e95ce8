"""One sale's way from the text of its price to the price on the basis, step by step.

Every figure comes out of the same column functions that a refresh uses, called with one row, so
that an explanation cannot differ from the table it explains.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pyarrow as pa

from pipeline import reasons
from pipeline.money import basis as basis_rules
from pipeline.money import price_level as level_rules
from pipeline.money import rates as rate_rules
from pipeline.money.amounts import REASONS as AMOUNT_REASONS
from pipeline.money.amounts import USABLE_REASONS, read_amounts
from pipeline.money.exact import AMOUNT_TYPE, SHARE_PARTS
from pipeline.money.terms_of_sale import BASES, TermsOfSale

NO_BAND = "Feeds no band"


@dataclass(frozen=True, slots=True)
class ExplainedStep:
    """One step: its name, what the price is after it, and a sentence for a person.

    `amount` is None from the step on that set the sale aside.
    """

    name: str
    amount: Decimal | None
    currency: str | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Sale:
    """What one sale says of its price.

    Attributes:
        premium_rate: millionths of the hammer price, where the row tells its own rate.
        is_each: the amount is of each of the pieces.
        whole_lot: what is wanted is the price of the whole lot, not of a piece.
    """

    text: str | None
    terms: TermsOfSale
    decimal_mark: str | None = None
    currency: str | None = None
    price_type: str | None = None
    sold_on: date | None = None
    shipping_amount: Decimal | None = None
    tax_amount: Decimal | None = None
    premium_amount: Decimal | None = None
    premium_rate: int | None = None
    n_pieces: int | None = 1
    is_each: bool = False
    whole_lot: bool = False


def explain_basis(
    sale: Sale,
    *,
    basis: str = "buyer",
    to: str | None = None,
    rates: rate_rules.Rates | None = None,
    price_level: level_rules.PriceLevel | None = None,
    base_month: date | None = None,
) -> list[ExplainedStep]:
    """The steps text, amount, pieces, shipping, tax, premium, fees, rate, per piece, price level.

    Args:
        sale: the price as found and what the source says of it.
        basis: "buyer" or "seller".
        to: the workspace's currency; None leaves the sale's own.
        rates: needed where `to` is another currency than the sale's.
        price_level: a price index, with `base_month` the month whose money is wanted.

    Returns:
        The steps that changed or stopped the price, in order. The last one holds the result.

    Raises:
        SettingsError: there is no such basis, currency or base month.
    """
    steps = [ExplainedStep("text", None, sale.currency, f'The source says "{sale.text or ""}".')]
    read = read_amounts(
        pa.array([sale.text], pa.string()), sale.decimal_mark, sale.currency
    ).to_pylist()[0]
    currency, reason = read["currency"], read["reason"]
    if read["kind"] != "amount" or (reason and reason not in USABLE_REASONS):
        sentence = AMOUNT_REASONS[reason][1] if reason else "No amount was read."
        return [*steps, ExplainedStep("amount", None, currency, f"No sale's amount: {sentence}")]
    amount: Decimal = read["amount"]
    note = f" {AMOUNT_REASONS[reason][1]}" if reason else ""
    steps.append(
        ExplainedStep(
            "amount",
            amount,
            currency,
            f"Read as {_money(amount, currency)} ({read['rule']}).{note}",
        )
    )
    if sale.is_each and sale.n_pieces is not None and sale.n_pieces > 1:
        steps.append(_pieces_step(amount, currency, sale.n_pieces))
        if steps[-1].amount is None:
            return steps
        amount = steps[-1].amount
    steps += _basis_steps(sale, amount, currency, read["price_type"], basis)
    if steps[-1].amount is None:
        return steps
    if to is not None and currency != to:
        steps.append(_rate_step(steps[-1].amount, currency, to, sale.sold_on, rates))
        if steps[-1].amount is None:
            return steps
    last = steps[-1]
    if sale.whole_lot and sale.is_each and sale.n_pieces is None:
        sentence = f"{NO_BAND}: {reasons.FLAGS['pieces_unknown']}"
        return [*steps, ExplainedStep("pieces", None, last.currency, sentence)]
    if not sale.whole_lot and sale.n_pieces is not None and sale.n_pieces > 1:
        steps.append(_piece_step(last, sale.n_pieces))
    elif not sale.whole_lot and sale.n_pieces is None and not sale.is_each:
        sentence = f"{NO_BAND}: nothing says how many pieces there are."
        return [*steps, ExplainedStep("per_piece", None, last.currency, sentence)]
    if price_level is not None and base_month is not None:
        steps.append(_level_step(steps[-1], sale.sold_on, price_level, base_month))
    return steps


def _basis_steps(
    sale: Sale, amount: Decimal, currency: str | None, told: str | None, basis: str
) -> list[ExplainedStep]:
    terms = sale.terms
    kind = sale.price_type or told or terms.price_type
    row = basis_rules.to_basis(
        _column(amount),
        terms,
        basis,
        price_types=pa.array([kind], pa.string()),
        shipping_amounts=_column(sale.shipping_amount),
        tax_amounts=_column(sale.tax_amount),
        premium_amounts=_column(sale.premium_amount),
        premium_rates=pa.array([sale.premium_rate], pa.int64()),
    ).to_pylist()[0]
    if row["basis_amount"] is None:
        sentence = basis_rules.REASONS[row["reason"]][1]
        return [ExplainedStep("basis", None, currency, f"{NO_BAND}: {sentence}")]
    steps = []
    now = amount
    told = "told beside the price"
    share = f"{(terms.tax_share * 100).normalize():f} %"
    tax = share if sale.tax_amount is None else told
    premium = terms.premium if sale.premium_amount is None else told
    if sale.premium_rate is not None:
        premium = f"{(Decimal(sale.premium_rate) / (SHARE_PARTS // 100)).normalize():f} %, {told}"
    for column, name, sign, text in (
        ("shipping_taken_amount", "shipping", -1, "shipping that lay in the price"),
        (
            "tax_taken_amount",
            "tax",
            -1,
            f"tax that lay in it ({tax})",
        ),
        ("fees_taken_amount", "fees", -1, f"the seller's fees ({terms.fees})"),
        ("premium_added_amount", "premium", 1, f"the buyer's premium ({premium})"),
    ):
        change = sign * row[column]
        if not change:
            continue
        now += change
        verb = "Added" if change > 0 else "Taken off"
        steps.append(
            ExplainedStep(name, now, currency, f"{verb}: {_money(abs(change), currency)}, {text}.")
        )
    if basis == "seller":
        steps = _in_seller_order(steps, amount)
    note = "".join(f" {text}" for name, text in reasons.BASIS_NOTES.items() if row[name])
    sentence = f"The price ({kind}) as {BASES[basis]}: {_money(row['basis_amount'], currency)}."
    return [*steps, ExplainedStep("basis", row["basis_amount"], currency, sentence + note)]


def _in_seller_order(steps: list[ExplainedStep], start: Decimal) -> list[ExplainedStep]:
    """On the seller's basis the premium goes before the fees, which are taken of the hammer."""
    changes = []
    before = start
    for step in steps:
        after = step.amount if step.amount is not None else before
        changes.append((step, after - before))
        before = after
    order = {"shipping": 0, "tax": 1, "premium": 2, "fees": 3}
    changes.sort(key=lambda change: order[change[0].name])
    result = []
    now = start
    for step, change in changes:
        now += change
        result.append(ExplainedStep(step.name, now, step.currency, step.sentence))
    return result


def _rate_step(
    amount: Decimal | None,
    currency: str | None,
    to: str,
    sold_on: date | None,
    rates: rate_rules.Rates | None,
) -> ExplainedStep:
    known = rates if rates is not None else rate_rules.Rates.bundled()
    row = known.lookup(
        pa.array([currency], pa.string()), pa.array([sold_on], pa.date32()), to
    ).to_pylist()[0]
    if row["rate"] is None:
        return ExplainedStep("rate", None, to, f"{NO_BAND}: {rate_rules.REASONS[row['reason']]}")
    result = rate_rules.convert(_column(amount), pa.array([row["rate"]])).to_pylist()[0]
    return ExplainedStep(
        "rate",
        result,
        to,
        f"One {currency} was {row['rate']:.6g} {to} on {row['rate_on']}, the last rate known on "
        f"the day of sale: {_money(result, to)}.",
    )


def _pieces_step(amount: Decimal, currency: str | None, n_pieces: int) -> ExplainedStep:
    whole = basis_rules.times_pieces(_column(amount), pa.array([n_pieces])).to_pylist()[0]
    if whole is None:
        sentence = f"No sale's amount: {reasons.AMOUNTS['amount_too_large']}"
    else:
        sentence = f"{n_pieces} pieces at that price: {_money(whole, currency)}."
    return ExplainedStep("pieces", whole, currency, sentence)


def _piece_step(last: ExplainedStep, n_pieces: int) -> ExplainedStep:
    each = basis_rules.per_piece(_column(last.amount), pa.array([n_pieces])).to_pylist()[0]
    return ExplainedStep(
        "per_piece", each, last.currency, f"{n_pieces} pieces: {_money(each, last.currency)} each."
    )


def _level_step(
    last: ExplainedStep, sold_on: date | None, level: level_rules.PriceLevel, base_month: date
) -> ExplainedStep:
    row = level.deflate(
        _column(last.amount), pa.array([sold_on], pa.date32()), base_month
    ).to_pylist()[0]
    if row["reason"] is not None:
        sentence = level_rules.REASONS[row["reason"]]
    else:
        sentence = (
            f"In money of {base_month:%Y-%m} by the index {level.name}: "
            f"{_money(row['deflated_amount'], last.currency)}."
        )
    return ExplainedStep("price_level", row["deflated_amount"], last.currency, sentence)


def _column(amount: Decimal | None) -> pa.Array:
    scaled = None if amount is None else amount.quantize(Decimal("0.0001"))
    return pa.array([scaled], AMOUNT_TYPE)


def _money(amount: Decimal | None, currency: str | None) -> str:
    if amount is None:
        return "nothing"
    # At least cents; ten-thousandths only where there are some.
    text = f"{amount:,.4f}"
    text = text[:-2] if text.endswith("00") else text
    return f"{text} {currency}" if currency else text
