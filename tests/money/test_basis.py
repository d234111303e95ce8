"""Prices on one basis: the constructed chain, premiums in steps, and every way to stop."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from pipeline.errors import SettingsError
from pipeline.money.basis import (
    BASIS_SCHEMA,
    REASONS,
    per_piece,
    to_basis,
    with_premium,
    without_premium,
)
from pipeline.money.exact import AMOUNT_TYPE, divide, from_units, to_units
from pipeline.money.explain import Sale, explain_basis
from pipeline.money.price_level import PriceLevel
from pipeline.money.terms_of_sale import Fees, Premium, TermsOfSale, terms_from_settings

TIERED = Premium.model_validate([{"up_to": 1000, "share": 0.25}, {"share": 0.20}])


def column(*amounts: str | None) -> pa.Array:
    return pa.array([None if a is None else Decimal(a) for a in amounts], AMOUNT_TYPE)


def terms(**values: Any) -> TermsOfSale:
    return terms_from_settings(values, "source.toml")


def one(table: pa.Table) -> dict[str, Any]:
    assert table.schema == BASIS_SCHEMA
    return table.to_pylist()[0]


# The constructed chain: hammer 400, premium 25 % makes 500, tax of 8 % makes 540, shipping of 35
# makes 575; a commission of 15 % leaves the seller 340; a lot of four is 125 each.
CHAIN = {"premium": 0.25, "fees": 0.15, "tax_share": 0.08}


@pytest.mark.parametrize(
    ("amount", "values", "shipping"),
    [
        ("400", {"price_type": "hammer"}, None),
        ("500", {"price_type": "with_premium"}, None),
        ("540", {"price_type": "with_premium", "tax": "included"}, None),
        (
            "575",
            {"price_type": "with_premium", "tax": "included", "shipping": "included"},
            "35",
        ),
        (
            "575",
            {
                "price_type": "with_premium",
                "tax": "included",
                "shipping": "free",
                "shipping_allowance": 35,
            },
            None,
        ),
        ("340", {"price_type": "net_to_seller"}, None),
    ],
)
def test_the_constructed_chain(amount: str, values: dict[str, Any], shipping: str | None) -> None:
    stated = terms(**CHAIN, **values)
    buyer = one(to_basis(column(amount), stated, "buyer", shipping_amounts=column(shipping)))
    seller = one(to_basis(column(amount), stated, "seller", shipping_amounts=column(shipping)))
    assert (buyer["basis_amount"], buyer["reason"]) == (Decimal(500), None)
    assert (seller["basis_amount"], seller["reason"]) == (Decimal(340), None)


def test_a_lot_of_four() -> None:
    assert per_piece(column("500", "500", None, "500"), pa.array([4, None, 4, 0])).to_pylist() == [
        Decimal(125),
        None,
        None,
        None,
    ]


def test_a_premium_in_steps_to_and_fro() -> None:
    hammer = column("1500", "1000", "400", None, "0.01", "99999999999.9999")
    price = with_premium(hammer, TIERED)
    assert price.to_pylist()[:4] == [Decimal(1850), Decimal(1250), Decimal(500), None]
    assert without_premium(price, TIERED).equals(hammer)


def test_a_half_lost_both_ways_comes_back() -> None:
    """A premium of 0.00045 is rounded to 0.0004, and so is the way back, past the step's end."""
    steps = Premium.model_validate([{"up_to": 450, "share": "0.000001"}, {"share": "0"}])
    hammer = column("449.9999", "450", "450.0001", "450.0002", "900")
    assert without_premium(with_premium(hammer, steps), steps).equals(hammer)


SHARES = st.decimals(min_value=0, max_value=1, places=6)


@settings(max_examples=200, deadline=None)
@given(
    units=st.lists(st.integers(0, 10**17), min_size=1, max_size=20),
    bounds=st.lists(st.integers(1, 10**8), max_size=4, unique=True),
    data=st.data(),
)
def test_without_premium_is_the_exact_inverse(
    units: list[int], bounds: list[int], data: st.DataObject
) -> None:
    steps = [{"up_to": bound, "share": data.draw(SHARES)} for bound in sorted(bounds)]
    premium = Premium.model_validate([*steps, {"share": data.draw(SHARES)}])
    hammer = pa.array([Decimal(u) / 10_000 for u in units], AMOUNT_TYPE)
    price = with_premium(hammer, premium)
    assert without_premium(price, premium).equals(hammer)
    # The same by exact fractions, one amount at a time.
    for amount, result in zip(hammer.to_pylist(), price.to_pylist(), strict=True):
        assert abs(result - _priced(amount, premium)) <= Decimal("0.00005")


def _priced(amount: Decimal, premium: Premium) -> Decimal:
    total, low = amount, Decimal(0)
    for step in premium.steps:
        high = step.up_to if step.up_to is not None else max(amount, low)
        total += max(min(amount, high) - low, Decimal(0)) * step.share
        low = high
    return total


@settings(max_examples=100, deadline=None)
@given(st.lists(st.one_of(st.none(), st.integers(-(10**17), 10**17)), max_size=30))
def test_amounts_become_integers_and_come_back(units: list[int | None]) -> None:
    amounts = pa.array([None if u is None else Decimal(u) / 10_000 for u in units], AMOUNT_TYPE)
    values, valid = to_units(amounts)
    assert [int(v) if ok else None for v, ok in zip(values, valid, strict=True)] == units
    assert from_units(values, valid).equals(amounts)
    if len(amounts) > 2:
        sliced = amounts.slice(1, 2)
        assert from_units(*to_units(sliced)).equals(sliced)


@pytest.mark.parametrize(
    ("numerator", "divisor", "expected"),
    [(5, 10, 0), (15, 10, 2), (25, 10, 2), (-5, 10, 0), (-15, 10, -2), (7, 4, 2), (5, 4, 1)],
)
def test_division_rounds_half_to_even(numerator: int, divisor: int, expected: int) -> None:
    assert divide(np.array([numerator]), divisor).tolist() == [expected]


@pytest.mark.parametrize(
    ("values", "basis", "reason"),
    [
        ({"price_type": "asking"}, "buyer", "asking_price"),
        ({"price_type": "estimate"}, "buyer", "estimate_only"),
        ({"price_type": "unknown"}, "buyer", "price_type_unknown"),
        ({"price_type": "hammer"}, "buyer", "premium_unknown"),
        ({"price_type": "with_premium"}, "seller", "premium_unknown"),
        ({"price_type": "fixed"}, "seller", "fees_unknown"),
        ({"price_type": "net_to_seller"}, "buyer", "fees_unknown"),
        (
            {"price_type": "fixed", "shipping": "free", "shipping_allowance": 40},
            "buyer",
            "nothing_left",
        ),
    ],
)
def test_what_cannot_reach_the_basis(values: dict[str, Any], basis: str, reason: str) -> None:
    row = one(to_basis(column("40"), terms(**values), basis))
    assert (row["basis_amount"], row["reason"]) == (None, reason)
    assert not REASONS[reason][0]


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({"price_type": "fixed", "shipping": "unknown"}, "shipping_unknown"),
        ({"price_type": "fixed", "shipping": "included"}, "shipping_amount_missing"),
        ({"price_type": "fixed", "tax": "unknown"}, "tax_unknown"),
    ],
)
def test_what_is_kept_with_a_note(values: dict[str, Any], reason: str) -> None:
    row = one(to_basis(column("40"), terms(**values)))
    assert (row["basis_amount"], row["reason"]) == (Decimal(40), reason)


def test_rows_may_say_themselves_what_their_price_is() -> None:
    table = to_basis(
        column("400", "500", "500", None),
        terms(price_type="with_premium", premium=0.25),
        price_types=pa.array(["hammer", None, "asking", "hammer"]),
    )
    assert table["basis_amount"].to_pylist() == [Decimal(500), Decimal(500), None, None]
    assert table["reason"].to_pylist() == [None, None, "asking_price", "amount_missing"]


def test_large_amounts_stay_exact() -> None:
    row = one(to_basis(column("60000000.0001"), terms(price_type="hammer", premium=0.25)))
    assert row["basis_amount"] == Decimal("75000000.0001")
    too_large = one(to_basis(column("90000000000000"), terms(price_type="hammer", premium=1)))
    assert too_large["reason"] == "amount_too_large"


def test_no_such_basis() -> None:
    with pytest.raises(SettingsError, match="no basis"):
        to_basis(column("1"), terms(price_type="fixed"), "owner")


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"premium": 1.01}, "more than 100 per cent"),
        ({"premium": -0.1}, "greater than or equal to 0"),
        ({"premium": [{"share": 0.2, "up_to": 10}]}, "the last step must be open"),
        ({"premium": []}, "the last step must be open"),
        (
            {"premium": [{"share": 0.2, "up_to": 10}, {"share": 0.1, "up_to": 5}, {"share": 0}]},
            "above the one before",
        ),
        ({"premium": [{"share": 0.2}, {"share": 0.1}]}, "above the one before"),
        ({"premium": 0.12345678}, "decimal places"),
        ({"tax": "included"}, "tax_share must say"),
        ({"fees": 0.95}, "more than 90 per cent"),
        ({"price_type": "gavel"}, "hammer"),
        ({"premum": 0.2}, "premum"),
    ],
)
def test_wrong_terms_are_named_errors(values: dict[str, Any], message: str) -> None:
    with pytest.raises(SettingsError, match=message) as caught:
        terms(**values)
    assert "source.toml" in str(caught.value)


def test_a_premium_proves_itself_when_it_is_built() -> None:
    with pytest.raises(ValidationError):
        Premium.flat("1.5")
    assert str(TIERED) == "25 % to 1,000, then 20 %"
    assert str(Fees.model_validate({"share": 0.15, "fixed": 0.3})) == "15 % and 0.3"


def test_fees_in_steps_and_fixed() -> None:
    stated = terms(
        price_type="fixed",
        fees={"share": [{"up_to": 100, "share": 0.1}, {"share": 0.05}], "fixed": 2},
    )
    net = one(to_basis(column("300"), stated, "seller"))
    assert net["basis_amount"] == Decimal(278)
    back = to_basis(
        column("278"), stated, "buyer", price_types=pa.array(["net_to_seller"])
    ).to_pylist()[0]
    assert (back["basis_amount"], back["reason"]) == (Decimal(300), None)


def test_the_whole_way_is_explained() -> None:
    stated = terms(**CHAIN, price_type="with_premium", tax="included", shipping="included")
    sale = Sale(
        "$575.00",
        stated,
        currency="USD",
        sold_on=date(2013, 3, 3),
        shipping_amount=Decimal(35),
        n_pieces=4,
    )
    index = PriceLevel.from_months("test index", {date(2013, 3, 1): 100.0, date(2024, 1, 1): 150.0})
    steps = explain_basis(sale, to="EUR", price_level=index, base_month=date(2024, 1, 1))
    assert [(s.name, s.amount) for s in steps] == [
        ("text", None),
        ("amount", Decimal(575)),
        ("shipping", Decimal(540)),
        ("tax", Decimal(500)),
        ("basis", Decimal(500)),
        ("rate", Decimal("384.6154")),
        ("per_piece", Decimal("96.1538")),
        ("price_level", Decimal("144.2307")),
    ]
    seller = explain_basis(sale, basis="seller")
    assert [(s.name, s.amount) for s in seller][4:7] == [
        ("premium", Decimal(400)),
        ("fees", Decimal(340)),
        ("basis", Decimal(340)),
    ]


@pytest.mark.parametrize(
    ("text", "values", "name", "words"),
    [
        ("POA", {"price_type": "fixed"}, "amount", "on request"),
        ("£45 o.n.o.", {"price_type": "fixed"}, "amount", "asked, not paid"),
        ("£45", {"price_type": "asking"}, "basis", "not a sale"),
    ],
)
def test_an_explanation_ends_where_the_sale_was_set_aside(
    text: str, values: dict[str, Any], name: str, words: str
) -> None:
    last = explain_basis(Sale(text, terms(**values), currency="GBP"))[-1]
    assert (last.name, last.amount) == (name, None)
    assert words in last.sentence
