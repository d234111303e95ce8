"""What may be paid for a piece: fees, costs and a target, worked back from what it may bring.

The selling price is uncertain and given by quantiles. A cautious one of them counts as the
expected price; from it the highest price to pay follows in closed form:

    net proceeds N(S) = S - fees(S) - shipping out
    margin on price m:  highest = (N(S) - cleaning - repair - m S) / (1 + tax)
    mark-up on cost u:  highest = (N(S) / (1 + u) - cleaning - repair) / (1 + tax)
    profit in money p:  highest = (N(S) - cleaning - repair - p) / (1 + tax)

Cost, for the mark-up, is what is spent until the piece is ready for sale: price, tax, cleaning
and repair. All figures are estimates in the currency of the terms; none is an appraisal. The same
sums stand here as formulas for a spreadsheet, and give the same figures to the cent.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from statistics import NormalDist
from typing import Annotated, Any

import numpy as np
import numpy.typing as npt
from pydantic import BaseModel, ConfigDict, Field, model_validator

Floats = npt.NDArray[np.float64]

BAND_LEVELS = (0.1, 0.5, 0.9)
"""Levels of the three prices that a sheet carries: low, value, high (an 80 % range)."""

_FROM_ROUND_TO_CENTS = 6  # decimals kept before rounding down, so that 12.34 is not 12.33


class TargetKind(StrEnum):
    """What a purchase has to earn."""

    MARGIN = "margin on price"
    MARKUP = "mark-up on cost"
    PROFIT = "profit in money"


class Decision(StrEnum):
    """What to do about a piece at its asking price."""

    BUY = "buy"
    BARGAIN = "bargain"
    LEAVE = "leave"
    NOT_ENOUGH_SALES = "not_enough_sales"
    NO_PRICE = "no_price_asked"


DECISION_TEXTS: Mapping[Decision, str] = {
    Decision.BUY: "buy",
    Decision.BARGAIN: "bargain down to {:.{digits}f}",
    Decision.LEAVE: "leave",
    Decision.NOT_ENOUGH_SALES: "not enough sales",
    Decision.NO_PRICE: "no price asked",
}

_COMMON = "common practice, no source"


def _knob(default: Any, description: str, unit: str, reason: str, **limits: Any) -> Any:
    return Field(
        default, description=description, json_schema_extra={"unit": unit, "reason": reason},
        **limits,
    )  # fmt: skip


class FeeStep(BaseModel):
    """The share that a market takes of the part of a price from an amount up to the next step."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    from_amount: Annotated[Decimal, Field(ge=0)]
    share: Annotated[Decimal, Field(ge=0, lt=1)]


class MarketTerms(BaseModel):
    """What selling in a market costs, and what a purchase for it has to earn.

    Each field's `json_schema_extra` gives its unit and the reason for its default.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    market: str = _knob("market", "Name of the market", "name", "only one market is needed")
    currency: str = _knob(
        "USD", "Currency of all amounts", "ISO 4217 code", "the basis of a new workspace",
        pattern="^[A-Z]{3}$",
    )  # fmt: skip
    minor_digits: int = _knob(
        2, "Decimals of the currency", "digits", "most currencies have cents (ISO 4217)",
        ge=0, le=4,
    )  # fmt: skip
    fee_share: Decimal = _knob(
        Decimal("0.15"), "Fees that grow with the price", "share of the selling price",
        f"commission and payment together ({_COMMON})", ge=0, lt=1,
    )  # fmt: skip
    fee_steps: tuple[FeeStep, ...] = _knob(
        (),
        "Fees in steps, in place of the one share",
        "amount and share of the part above it",
        "most markets take one share of the whole price",
    )
    fee_fixed: Decimal = _knob(
        Decimal(0), "Fee for each sale", "money", "not every market has one", ge=0
    )
    shipping_out: Decimal = _knob(
        Decimal(0), "Shipping and packing that the seller pays", "money a sale",
        "the buyer collects or pays for it", ge=0,
    )  # fmt: skip
    purchase_tax_share: Decimal = _knob(
        Decimal(0), "Sales tax paid on the purchase and not got back", "share of the price paid",
        "differs by place and by permit: ask a licensed adviser", ge=0, le=1,
    )  # fmt: skip
    target_kind: TargetKind = _knob(
        TargetKind.MARGIN, "What the target is measured in", "word",
        "resellers think in a part of the price",
    )  # fmt: skip
    target: Decimal = _knob(
        Decimal("0.5"), "What a purchase has to earn", "share or money, by its kind",
        f"half of the price, as a keystone has it ({_COMMON})", ge=0,
    )  # fmt: skip
    cautious_quantile: Decimal = _knob(
        Decimal("0.4"), "Quantile that counts as the expected price", "share of sales below it",
        f"a little under the middle, since a piece is seen at its best when bought ({_COMMON})",
        ge=Decimal("0.01"), le=Decimal("0.99"),
    )  # fmt: skip
    bargain_share: Decimal = _knob(
        Decimal("0.25"), "Reduction that is worth asking for", "share of the asking price",
        f"a quarter off is often granted, more is seldom ({_COMMON})", ge=0, lt=1,
    )  # fmt: skip

    @model_validator(mode="after")
    def _is_possible(self) -> MarketTerms:
        amounts = [step.from_amount for step in self.fee_steps]
        if amounts and (amounts[0] != 0 or any(b <= a for a, b in pairwise(amounts))):
            raise ValueError("fee_steps must start at an amount of 0 and rise")
        top = max(step.share for step in self.steps)
        if self.target_kind is TargetKind.MARGIN and self.target + top >= 1:
            raise ValueError(
                f"a margin of {self.target} and fees of {top} leave nothing to pay for a piece"
            )
        return self

    @property
    def steps(self) -> tuple[FeeStep, ...]:
        """The fees in steps; one step where there is one share."""
        return self.fee_steps or (FeeStep(from_amount=Decimal(0), share=self.fee_share),)

    @property
    def slug(self) -> str:
        """The market's name as a part of a defined name."""
        return re.sub(r"\W+", "_", self.market.casefold()).strip("_") or "market"


# -- what a piece brings ------------------------------------------------------------------------


def price_at(quantile: float, levels: Sequence[float], quantiles: npt.ArrayLike) -> Floats:
    """Price below which a share `quantile` of like pieces sells.

    Between the given levels the log price is a straight line over the normal score; beyond the
    outer ones the line goes on. With the levels 0.1, 0.5, 0.9 that is a log-normal price whose
    halves have spreads of their own.

    Args:
        quantile: between 0 and 1, both left out.
        levels: k rising levels.
        quantiles: prices, shape (n, k), rising along each row; NaN where there is no estimate.

    Returns:
        Prices, shape (n,).
    """
    scores = np.array([NormalDist().inv_cdf(level) for level in levels])
    logs = np.log(_as_quantiles(quantiles, len(levels)))
    score = NormalDist().inv_cdf(quantile)
    segment = int(np.clip(np.searchsorted(scores, score) - 1, 0, len(scores) - 2))
    low, high = logs[:, segment], logs[:, segment + 1]
    part = (score - scores[segment]) / (scores[segment + 1] - scores[segment])
    return np.asarray(np.exp(low + part * (high - low)))


def _normal_above(score: Floats) -> Floats:
    """Share of the standard normal distribution above each score."""
    return np.array([math.erfc(one / math.sqrt(2.0)) / 2.0 for one in score.tolist()])


def chance_of_at_least(
    price: npt.ArrayLike, levels: Sequence[float], quantiles: npt.ArrayLike
) -> Floats:
    """Chance that a piece brings a price or more, by the distribution of `price_at`.

    Where two neighbouring quantiles are equal there is no line between them: a price up to them
    is surely reached as far as the higher level says, one above is not.

    Args:
        price: shape (n,); 0 or less is surely reached.
        levels: k rising levels.
        quantiles: prices, shape (n, k).

    Returns:
        Chances between 0 and 1, shape (n,); NaN where the price or a quantile is.
    """
    scores = np.array([NormalDist().inv_cdf(level) for level in levels])
    logs = np.log(_as_quantiles(quantiles, len(levels)))
    prices = np.broadcast_to(np.asarray(price, float), logs.shape[:1])
    with np.errstate(divide="ignore", invalid="ignore"):
        target = np.log(np.maximum(prices, 0.0))
        segment = np.clip((logs < target[:, None]).sum(axis=1) - 1, 0, len(scores) - 2)
        rows = np.arange(len(logs))
        low, high = logs[rows, segment], logs[rows, segment + 1]
        width = high - low
        part = np.where(
            width > 0, (target - low) / np.where(width > 0, width, 1.0),
            np.where(target > high, np.inf, -np.inf),
        )  # fmt: skip
        score = scores[segment] + part * (scores[segment + 1] - scores[segment])
        chance = np.where(prices <= 0, 1.0, _normal_above(score))
    missing = np.isnan(prices) | np.isnan(logs).any(axis=1)
    return np.where(missing, np.nan, chance)


def expected_price(terms: MarketTerms, levels: Sequence[float], quantiles: npt.ArrayLike) -> Floats:
    """The price that counts as expected: the cautious quantile, in whole cents."""
    price = price_at(float(terms.cautious_quantile), levels, quantiles)
    return round_half_up(price, terms.minor_digits)


# -- what a sale costs ----------------------------------------------------------------------------


def fees(selling_price: npt.ArrayLike, terms: MarketTerms) -> Floats:
    """What the market takes of a selling price, in money, shape as given."""
    price = np.asarray(selling_price, float)
    total = np.full(price.shape, float(terms.fee_fixed))
    before = Decimal(0)
    for step in terms.steps:
        above = np.maximum(price - float(step.from_amount), 0.0)
        total = total + above * float(step.share - before)
        before = step.share
    return total


def net_proceeds(selling_price: npt.ArrayLike, terms: MarketTerms) -> Floats:
    """What is left of a selling price after fees and shipping, in money."""
    price = np.asarray(selling_price, float)
    return np.asarray(price - fees(price, terms) - float(terms.shipping_out))


def selling_price_for(net: npt.ArrayLike, terms: MarketTerms) -> Floats:
    """The selling price that leaves `net` after fees and shipping; 0 where none is needed."""
    wanted = np.asarray(net, float) + float(terms.fee_fixed + terms.shipping_out)
    froms = np.array([float(step.from_amount) for step in terms.steps])
    shares = np.array([float(step.share) for step in terms.steps])
    nets = net_of_step(terms, froms)
    step = np.clip(np.searchsorted(nets, wanted, side="right") - 1, 0, len(nets) - 1)
    price = froms[step] + (wanted - nets[step]) / (1.0 - shares[step])
    return np.where(wanted <= 0, 0.0, price)


def net_of_step(terms: MarketTerms, amount: npt.ArrayLike) -> Floats:
    """What is left of an amount after the fees that grow with it, fixed ones apart."""
    start = np.asarray(amount, float)
    return np.asarray(start - (fees(start, terms) - float(terms.fee_fixed)))


def break_even_price(
    paid: npt.ArrayLike,
    terms: MarketTerms,
    cleaning: npt.ArrayLike = 0.0,
    repair: npt.ArrayLike = 0.0,
) -> Floats:
    """The selling price at which a purchase neither earns nor loses; NaN where `paid` is."""
    cost = landed_cost(paid, terms, cleaning, repair)
    return round_half_up(selling_price_for(cost, terms), terms.minor_digits)


def landed_cost(
    paid: npt.ArrayLike,
    terms: MarketTerms,
    cleaning: npt.ArrayLike = 0.0,
    repair: npt.ArrayLike = 0.0,
) -> Floats:
    """What is spent until a piece is ready for sale: price, tax, cleaning, repair."""
    taxed = np.asarray(paid, float) * (1.0 + float(terms.purchase_tax_share))
    return np.asarray(taxed + _filled(cleaning) + _filled(repair))


# -- what may be paid -----------------------------------------------------------------------------


def highest_price_to_pay(
    expected: npt.ArrayLike,
    terms: MarketTerms,
    cleaning: npt.ArrayLike = 0.0,
    repair: npt.ArrayLike = 0.0,
) -> Floats:
    """The highest price at which a piece that brings `expected` still meets the target.

    Args:
        expected: expected selling prices, shape (n,); NaN where there is no estimate.
        terms: the market's terms.
        cleaning, repair: costs of each piece in money; NaN counts as none.

    Returns:
        Prices before tax, rounded down to cents, 0 at the least; NaN where `expected` is.
    """
    price = np.asarray(expected, float)
    work = _filled(cleaning) + _filled(repair)
    net = net_proceeds(price, terms)
    target = float(terms.target)
    if terms.target_kind is TargetKind.MARKUP:
        left = net / (1.0 + target) - work
    elif terms.target_kind is TargetKind.MARGIN:
        left = net - work - target * price
    else:
        left = net - work - target
    before_tax = left / (1.0 + float(terms.purchase_tax_share))
    return np.asarray(np.maximum(round_down(before_tax, terms.minor_digits), 0.0))


def chance_of_clearing(
    paid: npt.ArrayLike,
    terms: MarketTerms,
    levels: Sequence[float],
    quantiles: npt.ArrayLike,
    cleaning: npt.ArrayLike = 0.0,
    repair: npt.ArrayLike = 0.0,
) -> Floats:
    """Chance that the sale of a piece bought at `paid` brings back all that was spent on it."""
    needed = break_even_price(paid, terms, cleaning, repair)
    return round_half_up(chance_of_at_least(needed, levels, quantiles), 4)


def decide(asking: npt.ArrayLike, highest: npt.ArrayLike, terms: MarketTerms) -> list[Decision]:
    """What to do about each piece.

    Args:
        asking: asking prices; NaN where none is asked.
        highest: highest prices to pay; NaN where there are not enough sales.
    """
    ask = round_half_up(np.asarray(asking, float), terms.minor_digits)
    most = np.asarray(highest, float)
    hoped = round_half_up(ask * (1.0 - float(terms.bargain_share)), terms.minor_digits)
    answers = np.select(
        [np.isnan(most), np.isnan(ask), ask <= most, (most >= hoped) & (most > 0)],
        [3, 4, 0, 1],
        default=2,
    )
    kinds = list(Decision)
    return [kinds[answer] for answer in answers]


def decision_text(decision: Decision, highest: float, terms: MarketTerms) -> str:
    """A decision in words, as it stands in a sheet."""
    return DECISION_TEXTS[decision].format(highest, digits=terms.minor_digits)


# -- the same sums for a spreadsheet --------------------------------------------------------------

ASSUMPTIONS = (
    "quantile", "position", "fee_from", "fee_change", "fee_net", "fee_gross", "fee_fixed",
    "shipping", "tax", "target_kind", "target", "bargain",
)  # fmt: skip


def assumption_name(terms: MarketTerms, assumption: str) -> str:
    """The defined name of an assumption's cell (or range, for the four of the fee steps)."""
    return f"comparables_{terms.slug}_{assumption}"


def _template(text: str, terms: MarketTerms) -> str:
    """A formula's template with the names of a market's assumptions put in for <...>."""
    for assumption in ASSUMPTIONS:
        text = text.replace(f"<{assumption}>", assumption_name(terms, assumption))
    return text.replace("<digits>", str(terms.minor_digits))


_COSTS = "({cleaning_cost|0}+{repair_cost|0})"
_FEES = "(<fee_fixed>+SUMPRODUCT(({expected}><fee_from>)*({expected}-<fee_from>)*<fee_change>))"


def position_formula(terms: MarketTerms) -> str:
    """How far the cautious quantile lies from the middle to the outer level, as a formula."""
    return _template("NORMSINV(<quantile>)/NORMSINV(0.9)", terms)


def fee_change_formula(row: int, first_row: int) -> str:
    """What a step of the fees adds to the share of the step before (columns A and B)."""
    before = f"-{{B{row - 1}}}" if row > first_row else ""
    return f'IF({{A{row}}}="",0,{{B{row}}}{before})'


def fee_net_formula(terms: MarketTerms, row: int) -> str:
    """What is left of a step's amount after the fees that grow with it (column A)."""
    start = f"{{A{row}}}"
    return _template(
        f"{start}-SUMPRODUCT(({start}><fee_from>)*({start}-<fee_from>)*<fee_change>)", terms
    )


def fee_gross_formula(row: int, first_row: int) -> str:
    """What a step adds to the price that it takes to keep one unit more (columns A and B)."""
    before = f"-1/(1-{{B{row - 1}}})" if row > first_row else ""
    return f'IF({{A{row}}}="",0,1/(1-{{B{row}}}){before})'


def expected_formula(terms: MarketTerms) -> str:
    """The expected price over the columns low, value, high (`expected_price`)."""
    return _template(
        'IF({value}="","",ROUND({value}*EXP(ABS(<position>)'
        "*LN(IF(<position><0,{low},{high})/{value})),<digits>))",
        terms,
    )


def highest_formula(terms: MarketTerms) -> str:
    """The highest price to pay over the column of expected prices (`highest_price_to_pay`)."""
    shared = f'IF(<target_kind>="{TargetKind.MARKUP}",1/(1+<target>),1)'
    earned = (
        f'IF(<target_kind>="{TargetKind.MARGIN}",<target>*{{expected}},'
        f'IF(<target_kind>="{TargetKind.PROFIT}",<target>,0))'
    )
    left = f"(({{expected}}-{_FEES}-<shipping>)*{shared}-{_COSTS}-{earned})"
    return _template(
        f'IF({{expected}}="","",MAX(0,ROUNDDOWN(ROUND({left}/(1+<tax>),'
        f"{_FROM_ROUND_TO_CENTS}),<digits>)))",
        terms,
    )


def break_even_formula(terms: MarketTerms) -> str:
    """The selling price that brings back what is spent at the asking price.

    It is the inverse of the fees in steps, so a line with a bend at each step itself.
    """
    spent = f"({{asking_price|0}}*(1+<tax>)+{_COSTS}+<fee_fixed>+<shipping>)"
    return _template(
        f'IF({{asking_price|""}}="","",ROUND(SUMPRODUCT(({spent}><fee_net>)*({spent}-<fee_net>)'
        "*<fee_gross>),<digits>))",
        terms,
    )


def clearing_formula(terms: MarketTerms) -> str:
    """The chance of clearing the costs over the columns break_even, low, value, high."""

    def chance(outer: str, sign: str) -> str:
        return (
            f"ROUND(1-NORMSDIST({sign}NORMSINV(0.9)*LN({{break_even}}/{{value}})"
            f"/LN({outer}/{{value}})),4)"
        )

    below, above = chance("{low}", "-"), chance("{high}", "")
    return _template(
        'IF(OR({value}="",{break_even}=""),"",IF({break_even}<=0,1,IF({break_even}<={value},'
        f"IF({{low}}>={{value}},1,{below}),IF({{high}}<={{value}},0,{above}))))",
        terms,
    )


def decision_formula(terms: MarketTerms) -> str:
    """The decision in words over the column of highest prices and the asking price (`decide`)."""
    ask = "ROUND({asking_price|0},<digits>)"
    texts = DECISION_TEXTS
    bargain = texts[Decision.BARGAIN].partition("{")[0]
    return _template(
        f'IF({{highest}}="","{texts[Decision.NOT_ENOUGH_SALES]}",'
        f'IF({{asking_price|""}}="","{texts[Decision.NO_PRICE]}",'
        f'IF({ask}<={{highest}},"{texts[Decision.BUY]}",'
        f"IF(AND({{highest}}>0,{{highest}}>=ROUND({ask}*(1-<bargain>),<digits>)),"
        f'"{bargain}"&FIXED({{highest}},<digits>,1=1),"{texts[Decision.LEAVE]}"))))',
        terms,
    )


# -- rounding as a spreadsheet does it ------------------------------------------------------------


def round_half_up(values: npt.ArrayLike, digits: int) -> Floats:
    """Rounded to decimals, halves away from zero, as ROUND does."""
    scaled = np.abs(np.asarray(values, float)) * 10.0**digits
    return np.asarray(np.copysign(np.floor(scaled + 0.5 + 1e-9) / 10.0**digits, values))


def round_down(values: npt.ArrayLike, digits: int) -> Floats:
    """Rounded towards zero, as ROUNDDOWN does after a ROUND to six decimals."""
    exact = round_half_up(values, _FROM_ROUND_TO_CENTS)
    scaled = np.abs(exact) * 10.0**digits
    return np.asarray(np.copysign(np.floor(scaled + 1e-6) / 10.0**digits, exact))


def _filled(costs: npt.ArrayLike) -> Floats:
    return np.nan_to_num(np.asarray(costs, float), nan=0.0)


def _as_quantiles(quantiles: npt.ArrayLike, n_levels: int) -> Floats:
    array = np.atleast_2d(np.asarray(quantiles, float))
    if array.shape[1] != n_levels:
        raise ValueError(f"{n_levels} levels but {array.shape[1]} quantiles a row")
    return array
