"""Which price index a workspace measures by, and the month whose money it tells prices in."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from importlib.util import find_spec
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import SettingsError
from pipeline.money.price_level import US_SERIES, PriceLevel, read_own_index
from pipeline.settings import BasisSettings, Settings

OWN_INDEX = "price_index.csv"
PACKAGED = "cpi:"
PACKAGED_CURRENCY = "USD"


@dataclass(frozen=True)
class RealMoney:
    """A price index and the month in whose money prices are told.

    Attributes:
        setting: what `basis.price_index` came to, "own" or "cpi:<series>".
    """

    setting: str
    level: PriceLevel
    base_month: date

    @property
    def fingerprint(self) -> str:
        """Digest of all that a deflated price depends on."""
        said = f"{self.setting}|{self.level.name}|{self.level.first}|{self.base_month}|"
        return hashlib.sha256(said.encode() + self.level.values.tobytes()).hexdigest()

    def tell(self, amount: pa.Array, on: pa.Array) -> tuple[pa.Array, pa.Array]:
        """Amounts in money of the base month, and why one is missing or nominal.

        Args:
            amount: decimal128(18, 4), nominal.
            on: date32, the days of sale.

        Returns:
            Amounts, and keys of `pipeline.reasons.REAL`; both null where `amount` is null.
        """
        told = self.level.deflate(amount, on, self.base_month)
        why = told.column("reason").combine_chunks()
        return (
            told.column("deflated_amount").combine_chunks(),
            pc.if_else(pc.is_valid(amount), why, pa.scalar(None, pa.string())),
        )


def real_money(basis: BasisSettings, decisions: Path) -> RealMoney | None:
    """The price index that the settings ask for; None where there is none.

    Args:
        decisions: the folder in which a user's own index may lie.

    Raises:
        SettingsError: the index named is not there, is of another currency, or has no figure
            for the base month.
        DecisionError: the user's own index does not hold.
    """
    setting = _meant(basis, decisions / OWN_INDEX)
    if setting == "none":
        return None
    if setting == "own":
        level = read_own_index(decisions / OWN_INDEX)
    else:
        level = PriceLevel.united_states(setting.removeprefix(PACKAGED))
    return RealMoney(setting, level, _base_month(basis, level))


def _meant(basis: BasisSettings, own: Path) -> str:
    """The setting with "auto" made good: the user's own index, else the packaged one in dollars."""
    asked = basis.price_index
    if asked == "own" and not own.is_file():
        raise SettingsError(
            "basis.price_index is 'own', and there is no such file.",
            where=own,
            todo="Write the file with the columns month,index,name, or choose another index.",
        )
    if asked.startswith(PACKAGED) and basis.currency != PACKAGED_CURRENCY:
        raise SettingsError(
            f"basis.price_index is '{asked}', an index of US prices, and the workspace counts in "
            f"{basis.currency}.",
            todo="Give an index of that currency in data/decisions/price_index.csv, or set "
            'price_index = "none".',
        )
    if asked != "auto":
        return asked
    if own.is_file():
        return "own"
    if basis.currency == PACKAGED_CURRENCY and find_spec("cpi") is not None:
        return PACKAGED + next(iter(US_SERIES))
    return "none"


def _base_month(basis: BasisSettings, level: PriceLevel) -> date:
    first, last = level.bounds()
    if not basis.base_month:
        return last
    try:
        month = date.fromisoformat(f"{basis.base_month}-01")
    except ValueError:
        raise SettingsError(
            f"basis.base_month is '{basis.base_month}', which is no month.",
            todo="Write it as 2024-01.",
        ) from None
    if level.figure(month) is None:
        raise SettingsError(
            f'The price index "{level.name}" has no figure for {month:%Y-%m}.',
            todo=f"Choose a base month from {first:%Y-%m} to {last:%Y-%m} that it has.",
        )
    return month


def settings_in_force(settings: Settings, real: RealMoney | None) -> str:
    """The settings as JSON for the record, with the index and the month that they came to."""
    values = settings.model_dump(mode="json")
    values["basis"] |= {
        "price_index": real.setting if real else "none",
        "price_index_name": real.level.name if real else None,
        "base_month": f"{real.base_month:%Y-%m}" if real else None,
    }
    return json.dumps(values, sort_keys=True)
