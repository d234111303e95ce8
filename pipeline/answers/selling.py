"""Where pieces are to be sold and on what terms, and how a person names the columns of a sheet.

`data/decisions/sheet.toml` holds both; without it there is one market with the usual terms.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from pipeline.answers.buying import MarketTerms
from pipeline.money.currencies import minor_units
from pipeline.settings import prove, read_toml
from pipeline.workspace import Workspace

FILE = "sheet.toml"


class SheetFile(BaseModel):
    """The whole of data/decisions/sheet.toml."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    columns: dict[str, str] = Field(
        default_factory=dict, description="Field -> header or letters of the column that holds it."
    )
    market: tuple[dict[str, Any], ...] = Field(
        default=(), description="Markets that you sell in, the usual one first."
    )


class Selling(BaseModel):
    """What sheet.toml says, proved: terms by market, the usual one first, and columns by field."""

    model_config = ConfigDict(frozen=True)

    terms: tuple[MarketTerms, ...]
    columns: dict[str, str]

    def terms_of(self, market: str | None) -> MarketTerms:
        """The terms of a market; the usual ones, under its name, where the file has none for it."""
        for terms in self.terms:
            if market is not None and terms.market.casefold() == market.strip().casefold():
                return terms
        usual = self.terms[0]
        return usual if market is None else usual.model_copy(update={"market": market})


class _Proved(BaseModel):
    market: tuple[MarketTerms, ...]


def read_selling(workspace: Workspace, currency: str, basis: str) -> Selling:
    """The terms of selling of a workspace.

    Args:
        currency: of the published database; every market is told in it.
        basis: "buyer", or "seller" where the prices are what a seller was left with: the fees of
            a market are then in the prices already, and are not taken off again.

    Raises:
        SettingsError: the file does not hold, with file and key.
    """
    path = workspace.decisions / FILE
    said = read_toml(path, SheetFile) if path.exists() else SheetFile()
    money = {"currency": currency, "minor_digits": minor_units(currency)}
    given = [{**money, **market} for market in said.market] or [money]
    terms = prove({"market": given}, _Proved, path).market
    if basis == "seller":
        nothing = {"fee_share": 0, "fee_steps": (), "fee_fixed": 0}
        terms = tuple(MarketTerms.model_validate({**one.model_dump(), **nothing}) for one in terms)
    return Selling(terms=terms, columns=dict(said.columns))


def sheet_toml(currency: str) -> str:
    """A sheet.toml that shows every setting, its unit and the reason for its default."""
    lines = [
        "# How your own sheet is read and filled. A line that begins with '#' is an example;",
        "# take the mark away to use it.",
        "",
        "# Which of your columns is what, where the header alone does not say it:",
        "# [columns]",
        '# description = "What I saw"',
        '# asking_price = "F"',
        "",
        "# The markets you sell in, the usual one first. A price that bands compare is what the",
        "# buyer paid: at auction the premium is a fee of the house, and belongs into fee_share.",
        "# [[market]]",
    ]
    for name, field in MarketTerms.model_fields.items():
        if name in ("currency", "minor_digits"):
            continue
        extra = field.json_schema_extra
        told = extra if isinstance(extra, dict) else {}
        unit = str(told.get("unit", "")).replace("money", currency)
        lines.append(f"# {name}: {field.description}, {unit}; {told.get('reason', '')}.")
        lines.append(f"# {name} = {_toml(field.default)}")
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, tuple):
        return "[{ from_amount = 0, share = 0.2 }, { from_amount = 1000, share = 0.12 }]"
    return f'"{value}"' if isinstance(value, str) else str(value)
