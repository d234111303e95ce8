"""What a source's prices mean: premium, tax, shipping and the seller's fees, as settings.

Each model proves itself when it is built. In a TOML file a premium is one share
(`premium = 0.25`) or a list of steps, each with the part of the hammer price it covers:

    premium = [{ up_to = 1000, share = 0.25 }, { share = 0.20 }]

A step's share is taken of the part of the price inside that step only (as income tax is).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from pipeline.errors import SettingsError
from pipeline.money.exact import decimal_share, decimal_units

PriceType = Literal[
    "hammer", "with_premium", "fixed", "asking", "estimate", "net_to_seller", "unknown"
]
PRICE_TYPES: tuple[str, ...] = (
    "hammer",
    "with_premium",
    "fixed",
    "asking",
    "estimate",
    "net_to_seller",
    "unknown",
)
Basis = Literal["buyer", "seller"]
BASES: dict[str, str] = {
    "buyer": "buyer's price before tax and shipping",
    "seller": "seller's net",
}


def _as_written(value: Any) -> Any:
    # A share in TOML is a binary float; what the person wrote is its shortest decimal.
    return Decimal(str(value)) if isinstance(value, float) else value


_HIGHEST_FEE = Decimal("0.9")
Share = Annotated[Decimal, BeforeValidator(_as_written), Field(ge=0, le=1, decimal_places=6)]
Money = Annotated[
    Decimal, BeforeValidator(_as_written), Field(ge=0, le=100_000_000, decimal_places=4)
]


SmallMoney = Annotated[
    Decimal, BeforeValidator(_as_written), Field(ge=0, le=1_000_000, decimal_places=4)
]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Step(_Model):
    """A share of the part of a price up to `up_to`; the last step has none and is open."""

    share: Share
    up_to: Money | None = None


class Steps(_Model):
    """Shares by parts of a price, lowest part first."""

    steps: tuple[Step, ...]

    @model_validator(mode="before")
    @classmethod
    def _one_share_is_one_step(cls, value: Any) -> Any:
        if isinstance(value, (int, float, Decimal, str)):
            return {"steps": [{"share": value}]}
        if isinstance(value, (list, tuple)):
            return {"steps": value}
        return value

    @model_validator(mode="after")
    def _rising_and_open(self) -> Self:
        bounds = [step.up_to for step in self.steps]
        if not bounds or bounds[-1] is not None:
            raise ValueError("the last step must be open: leave its up_to out")
        closed = [b for b in bounds[:-1] if b is not None]
        if len(closed) != len(bounds) - 1 or any(
            low >= high for low, high in zip([Decimal(0), *closed], closed, strict=False)
        ):
            raise ValueError("each step but the last needs an up_to above the one before")
        return self

    @classmethod
    def flat(cls, share: Decimal | str) -> Self:
        """One share of the whole price."""
        return cls(steps=(Step(share=Decimal(share)),))

    def parts(self) -> list[tuple[int, int]]:
        """(lower bound in 1/10000 units, share in millionths) of each step."""
        lows = [0, *(decimal_units(s.up_to) for s in self.steps if s.up_to is not None)]
        return [(low, decimal_share(s.share)) for low, s in zip(lows, self.steps, strict=True)]

    def __str__(self) -> str:
        if len(self.steps) == 1:
            return f"{_percent(self.steps[0].share)}"
        texts = [
            f"{_percent(s.share)} to {s.up_to:,f}" if s.up_to is not None else _percent(s.share)
            for s in self.steps
        ]
        return ", then ".join(texts)


class Premium(Steps):
    """The buyer's premium on the hammer price."""


class Fees(_Model):
    """What the seller pays: shares by parts of the price, and a fixed amount a sale."""

    share: Steps = Steps.flat("0")
    fixed: SmallMoney = Decimal(0)

    @model_validator(mode="before")
    @classmethod
    def _one_share(cls, value: Any) -> Any:
        return {"share": value} if isinstance(value, (int, float, Decimal, str)) else value

    @model_validator(mode="after")
    def _leaves_something(self) -> Self:
        if any(step.share > _HIGHEST_FEE for step in self.share.steps):
            raise ValueError("a fee of more than 90 per cent leaves nothing to compare")
        return self

    def __str__(self) -> str:
        return f"{self.share}" + (f" and {self.fixed:,f}" if self.fixed else "")


class TermsOfSale(_Model):
    """What a source's price says, for every sale of it that says nothing else.

    Attributes:
        price_type: what the price is; see `PRICE_TYPES`.
        premium: the buyer's premium; None where it is not known, a share of 0 where there is
            none.
        tax: whether a sales or value-added tax lies in the price.
        tax_share: the tax as a share of the price before it.
        shipping: "apart" (not in the price), "included" (the row's shipping amount lies in the
            price), "free" (the seller bears it, so that it hides in the price), "unknown".
        shipping_allowance: what one free delivery is taken to cost, in the source's currency. A
            stated guess: 0 leaves the price as it is.
        fees: what the seller pays; None where not known.
    """

    price_type: PriceType = "unknown"
    premium: Premium | None = None
    tax: Literal["excluded", "included", "unknown"] = "excluded"
    tax_share: Share = Decimal(0)
    shipping: Literal["apart", "included", "free", "unknown"] = "apart"
    shipping_allowance: Money = Decimal(0)
    fees: Fees | None = None

    @model_validator(mode="after")
    def _tax_has_a_share(self) -> Self:
        if self.tax == "included" and self.tax_share == 0:
            raise ValueError("tax is included, so tax_share must say how much it is")
        return self


def terms_from_settings(values: dict[str, Any], where: str) -> TermsOfSale:
    """Build the terms from a settings file's values.

    Raises:
        SettingsError: a value does not hold; the message names it and the file.
    """
    try:
        return TermsOfSale.model_validate(values)
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(str(part) for part in first["loc"]) or "the terms"
        message = first["msg"].removeprefix("Value error, ")
        given = first.get("input")
        if first["type"] == "less_than_equal" and "share" in name.split("."):
            message = "a share of more than 1 is more than 100 per cent"
        raise SettingsError(
            f"{name} is {given!r}: {message}.",
            where=where,
            todo="Shares are written from 0 to 1 (25 per cent is 0.25).",
        ) from error


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
