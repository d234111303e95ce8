"""What to do about one piece at its asking price: an estimate with the terms of a market."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from pipeline.answers import buying
from pipeline.answers.buying import BAND_LEVELS, MarketTerms
from pipeline.answers.estimate import Estimator
from pipeline.answers.estimate.grid import effects_alone_of
from pipeline.answers.selling import read_selling
from pipeline.errors import UsageError
from pipeline.terms.vocabulary_file import Concept


@dataclass(frozen=True)
class Offer:
    """One piece, answered.

    piece: a row of `ESTIMATES`, its range rounded to the currency; terms: of the market;
    asking, expected, highest: money, None where unknown; chance: of clearing the costs, 0 to 1;
    decision: in words; cautions: concepts of the vocabulary; effects_amount and drift: with the
    comparables the parts of the value.
    """

    piece: dict[str, Any]
    terms: MarketTerms
    asking: float | None
    expected: float | None
    highest: float | None
    chance: float | None
    decision: str
    cautions: list[Concept]
    effects_amount: float | None
    drift: float | None

    def as_dict(self) -> dict[str, Any]:
        """All of it as plain values, for JSON."""
        out = asdict(self)
        out["terms"] = self.terms.model_dump(mode="json")
        out["cautions"] = [{"id": c.id, "label": c.pref_label, **c.extra} for c in self.cautions]
        return out


def offer_of(
    estimator: Estimator,
    description: str,
    *,
    asking: float | None = None,
    market: str | None = None,
    cleaning: float = 0.0,
    repair: float = 0.0,
) -> Offer:
    """Estimate a described piece and say what may be paid for it.

    Args:
        asking, cleaning, repair: money in the currency of the workspace.
        market: where it is to be sold; None takes the first of sheet.toml that has sales, or the
            one with most sales.

    Raises:
        UsageError: an amount is below zero, nothing is described, or no sales are known of the
            market.
    """
    for name, amount in (("asking price", asking), ("cleaning", cleaning), ("repair", repair)):
        if amount is not None and not 0 <= amount < float("inf"):
            raise UsageError(f"The {name} is {amount}: an amount of money is zero or more.")
    if not description.strip():
        raise UsageError("Nothing is described.", todo="Say what the piece is, in quotation marks.")
    selling = read_selling(estimator.workspace, estimator.currency, estimator.basis)
    if market is None:
        usual = selling.terms[0].market
        market = usual if usual in estimator.markets else None
    row = estimator.estimate([{"description": description, "market": market}]).to_pylist()[0]
    terms = selling.terms_of(row["market"])
    effects, drift = effects_alone_of(row["sum"]) if row["sum"] else (None, None)
    band = np.full((1, 3), np.nan)
    if row["value_amount"] is not None:
        names = ("low_amount", "value_amount", "high_amount")
        exact = np.array([row[name] for name in names])
        band[0] = np.maximum(
            buying.round_half_up(exact, terms.minor_digits), 10.0**-terms.minor_digits
        )
    asked = np.array([np.nan if asking is None else asking])
    expected = buying.expected_price(terms, BAND_LEVELS, band)
    highest = buying.highest_price_to_pay(expected, terms, cleaning, repair)
    chance = buying.chance_of_clearing(asked, terms, BAND_LEVELS, band, cleaning, repair)
    decision = buying.decide(asked, highest, terms)[0]
    vocabulary = estimator.reader.vocabulary
    return Offer(
        piece=row,
        terms=terms,
        asking=asking,
        expected=_known(expected),
        highest=_known(highest),
        chance=_known(chance),
        decision=buying.decision_text(decision, float(highest[0]), terms),
        cautions=[vocabulary.concept("caution", c) for c in row["cautions"]],
        effects_amount=effects,
        drift=drift,
    )


def _known(values: Any) -> float | None:
    value = float(values[0])
    return None if np.isnan(value) else value
