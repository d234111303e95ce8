"""Money: closed forms against a search, published examples, and simulation."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from pipeline.answers import buying
from pipeline.answers.buying import BAND_LEVELS, Decision, FeeStep, MarketTerms, TargetKind

D = Decimal

PLAIN = {"fee_share": D(0), "cautious_quantile": D("0.5")}


def terms(**given: object) -> MarketTerms:
    return MarketTerms.model_validate({**PLAIN, **given})


# -- published examples ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "target", "selling", "cost"),
    [
        # mathondemand.com, "Selling price after a 30% profit margin is applied to an item that
        # cost $70": selling price 100, mark-up 42.86 %.
        (TargetKind.MARGIN, "0.30", 100.00, 70.00),
        (TargetKind.MARKUP, "0.428571428571", 100.00, 70.00),
        # calcreal.com, "Markup calculator": cost 40, mark-up 50 %, price 60, margin 33.33 %.
        (TargetKind.MARKUP, "0.5", 60.00, 40.00),
        (TargetKind.MARGIN, "0.3333333333", 60.00, 40.00),
        # "Business mathematics: what is the total cost of an item" (education-academia.github.io):
        # cost 5.00 with a mark-up of 30 % is 6.50.
        (TargetKind.MARKUP, "0.30", 6.50, 5.00),
        # Keystone: tag at half of the resale price, or at a third (common practice, no source).
        (TargetKind.MARKUP, "1", 90.00, 45.00),
        (TargetKind.MARKUP, "2", 90.00, 30.00),
        (TargetKind.MARGIN, "0.5", 90.00, 45.00),
        # From memory: a profit of 25 on a sale of 60 leaves 35.
        (TargetKind.PROFIT, "25", 60.00, 35.00),
    ],
)
def test_margin_and_markup_of_published_examples(
    kind: TargetKind, target: str, selling: float, cost: float
) -> None:
    highest = buying.highest_price_to_pay([selling], terms(target_kind=kind, target=D(target)))
    assert highest[0] == cost


def test_margin_is_markup_over_one_plus_markup() -> None:
    # S = C + M (Centennial College library guide, "Markup"): M/S = (M/C) / (1 + M/C).
    selling = np.array([33.37, 80.0, 1234.56])
    for markup in (D("0.25"), D("0.6"), D("1.5")):
        margin = markup / (1 + markup)
        by_cost = buying.highest_price_to_pay(
            selling, terms(target_kind="mark-up on cost", target=markup)
        )
        by_price = buying.highest_price_to_pay(
            selling, terms(target_kind="margin on price", target=margin)
        )
        assert by_cost == pytest.approx(by_price, abs=0.0101)


def test_seller_is_left_340_of_400_at_15_percent() -> None:
    # Constructed chain of this project's check values: hammer 400, 15 % commission, 340 left.
    assert buying.net_proceeds([400.0], terms(fee_share=D("0.15")))[0] == pytest.approx(340.0)


def test_tiered_fee_takes_each_share_of_its_own_part() -> None:
    # Constructed: 25 % to 1,000 and 20 % above on 1,500 is 350, as for a tiered premium.
    stepped = terms(
        fee_steps=(
            FeeStep(from_amount=D(0), share=D("0.25")),
            FeeStep(from_amount=D(1000), share=D("0.20")),
        )
    )
    assert buying.fees([1500.0, 1000.0, 10.0, 0.0], stepped) == pytest.approx([350, 250, 2.5, 0])


# -- the closed form against a search ------------------------------------------------------------

shares = st.integers(0, 400).map(lambda n: D(n) / 1000)
money = st.integers(0, 200_00).map(lambda n: D(n) / 100)


@st.composite
def market_terms(draw: st.DrawFn) -> MarketTerms:
    amounts = sorted(draw(st.sets(st.integers(1, 3000), max_size=3)))
    steps = tuple(FeeStep(from_amount=D(amount), share=draw(shares)) for amount in [0, *amounts])
    kind = draw(st.sampled_from(list(TargetKind)))
    top = max(step.share for step in steps)
    target = {
        TargetKind.MARGIN: st.integers(0, int((D("0.99") - top) * 1000)).map(lambda n: D(n) / 1000),
        TargetKind.MARKUP: st.integers(0, 3000).map(lambda n: D(n) / 1000),
        TargetKind.PROFIT: money,
    }[kind]
    return MarketTerms(
        fee_steps=steps,
        fee_fixed=draw(money),
        shipping_out=draw(money),
        purchase_tax_share=draw(st.integers(0, 200).map(lambda n: D(n) / 1000)),
        target_kind=kind,
        target=draw(target),
    )


def meets_target(paid: int, selling: D, t: MarketTerms, cleaning: D, repair: D) -> bool:
    """Whether a purchase at `paid` cents meets the target, in exact arithmetic."""
    price = Fraction(selling)
    fee = Fraction(t.fee_fixed)
    steps = [*t.steps, None]
    for step, following in pairwise(steps):
        assert step is not None
        upper = price if following is None else min(price, Fraction(following.from_amount))
        fee += max(upper - Fraction(step.from_amount), Fraction(0)) * Fraction(step.share)
    cost = Fraction(paid, 100) * (1 + Fraction(t.purchase_tax_share))
    cost += Fraction(cleaning) + Fraction(repair)
    profit = price - fee - Fraction(t.shipping_out) - cost
    if t.target_kind is TargetKind.MARGIN:
        return profit >= Fraction(t.target) * price
    if t.target_kind is TargetKind.MARKUP:
        return profit >= Fraction(t.target) * cost
    return profit >= Fraction(t.target)


@settings(max_examples=200, deadline=None)
@given(market_terms(), st.integers(1, 9_000_00), money, money)
def test_highest_price_is_what_a_search_by_hand_finds(
    t: MarketTerms, cents: int, cleaning: D, repair: D
) -> None:
    selling = D(cents) / 100
    found = buying.highest_price_to_pay([float(selling)], t, [float(cleaning)], [float(repair)])[0]
    low, high = -1, cents + 1  # the highest number of cents that meets the target, by halving
    while high - low > 1:
        middle = (low + high) // 2
        if meets_target(middle, selling, t, cleaning, repair):
            low = middle
        else:
            high = middle
    # A price within a millionth of a cent's edge may fall either side: ROUND(..., 6) decides.
    searched = max(low, 0)
    got = round(found * 100)
    assert abs(found * 100 - got) < 1e-6
    assert got == searched or (
        got == searched + 1 and _is_on_edge(got, selling, t, cleaning, repair)
    )


def _is_on_edge(cents: int, selling: D, t: MarketTerms, cleaning: D, repair: D) -> bool:
    hair = D("0.000001") * (1 + t.purchase_tax_share) * (1 + t.target)
    return meets_target(cents, selling, t, cleaning - hair, repair)


@settings(max_examples=100, deadline=None)
@given(market_terms(), st.integers(0, 5_000_00), money)
def test_break_even_brings_back_what_was_spent(t: MarketTerms, cents: int, cleaning: D) -> None:
    paid = cents / 100
    price = buying.break_even_price([paid], t, [float(cleaning)])
    spent = buying.landed_cost([paid], t, [float(cleaning)])
    assert buying.net_proceeds(price, t) == pytest.approx(spent, abs=0.0051) or spent[0] == 0


# -- the distribution ------------------------------------------------------------------------------


def test_quantiles_of_a_log_normal_price_are_met_exactly() -> None:
    # A log-normal price: log N(mu, sigma); its quantile is exp(mu + sigma z) by definition.
    mu, sigma = np.log(120.0), 0.6
    normal = NormalDist()
    levels = (0.1, 0.5, 0.9)
    row = [float(np.exp(mu + sigma * normal.inv_cdf(p))) for p in levels]
    for p in (0.02, 0.1, 0.3, 0.5, 0.77, 0.95):
        expected = float(np.exp(mu + sigma * normal.inv_cdf(p)))
        assert buying.price_at(p, levels, [row])[0] == pytest.approx(expected, rel=1e-12)
        assert buying.chance_of_at_least([expected], levels, [row])[0] == pytest.approx(1 - p)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.floats(1, 10_000), min_size=5, max_size=5).map(sorted),
    st.floats(0.02, 0.98),
)
def test_chance_and_price_are_each_others_inverse(row: list[float], level: float) -> None:
    levels = (0.05, 0.25, 0.5, 0.75, 0.95)
    if min(b / a for a, b in pairwise(row)) < 1.0001:
        return
    price = buying.price_at(level, levels, [row])
    assert buying.chance_of_at_least(price, levels, [row])[0] == pytest.approx(1 - level, abs=1e-9)


def test_chance_agrees_with_a_simulation() -> None:
    rng = np.random.default_rng(11)
    prices = np.exp(np.log(80) + 0.5 * rng.standard_normal(200_000))
    row = np.quantile(prices, BAND_LEVELS)
    t = terms(fee_share=D("0.2"), shipping_out=D(6), purchase_tax_share=D("0.08"))
    clears = (buying.net_proceeds(prices, t) >= 35 * 1.08 + 4).mean()
    chance = buying.chance_of_clearing([35.0], t, BAND_LEVELS, [row], [4.0])
    assert chance[0] == pytest.approx(clears, abs=0.005)  # 0.005 is 5 standard errors


def test_no_estimate_and_no_price_stay_unknown() -> None:
    t = terms()
    band = [[np.nan] * 3, [10.0, 20.0, 40.0]]
    expected = buying.expected_price(t, BAND_LEVELS, band)
    assert np.isnan(expected[0]) and expected[1] == 20.0
    chance = buying.chance_of_clearing([5.0, np.nan], t, BAND_LEVELS, band)
    assert np.isnan(chance).all()


def test_a_range_without_width_is_certain_on_either_side() -> None:
    band = [[50.0, 50.0, 50.0]] * 3
    assert list(buying.chance_of_at_least([49.0, 51.0, 0.0], BAND_LEVELS, band)) == [1.0, 0.0, 1.0]


# -- decisions and terms ---------------------------------------------------------------------------


def test_decisions_in_their_order() -> None:
    t = terms(bargain_share=D("0.25"))
    asking = [40.0, 50.0, 53.33, 53.40, np.nan, 10.0, 5.0]
    highest = [40.0, 40.0, 40.0, 40.0, 40.0, np.nan, 0.0]
    assert buying.decide(asking, highest, t) == [
        Decision.BUY, Decision.BARGAIN, Decision.BARGAIN, Decision.LEAVE, Decision.NO_PRICE,
        Decision.NOT_ENOUGH_SALES, Decision.LEAVE,
    ]  # fmt: skip
    assert buying.decision_text(Decision.BARGAIN, 40.0, t) == "bargain down to 40.00"


@pytest.mark.parametrize(
    "bad",
    [
        {"fee_share": "1"},
        {"target": "0.9", "fee_share": "0.15"},
        {"cautious_quantile": "0"},
        {"fee_steps": [{"from_amount": "5", "share": "0.1"}]},
        {"fee_steps": [{"from_amount": "0", "share": "0.1"}, {"from_amount": "0", "share": "0.2"}]},
        {"target_kind": "luck"},
        {"fees": "0.1"},
    ],
)
def test_terms_that_cannot_be(bad: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        MarketTerms.model_validate(bad)


def test_each_term_states_its_unit_and_reason() -> None:
    for name, field in MarketTerms.model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict) and extra["unit"] and extra["reason"], name
        assert field.description


def test_more_cautious_pays_less() -> None:
    band = [[30.0, 60.0, 140.0]]
    paid = [
        buying.highest_price_to_pay(
            buying.expected_price(terms(cautious_quantile=D(q)), BAND_LEVELS, band), terms()
        )[0]
        for q in ("0.1", "0.25", "0.4", "0.5", "0.7")
    ]
    assert paid == sorted(paid) and len(set(paid)) == 5


def test_rounding_is_that_of_a_spreadsheet() -> None:
    # ROUND takes halves away from zero; ROUNDDOWN cuts (ECMA-376 part 1, 18.17.7).
    assert list(buying.round_half_up([0.125, 2.675, 1.005, -0.125], 2)) == [0.13, 2.68, 1.01, -0.13]
    assert list(buying.round_down([12.34, 12.349999, 0.29], 2)) == [12.34, 12.34, 0.29]
