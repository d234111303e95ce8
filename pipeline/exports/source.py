"""What a person says about a source: data/raw/<source>/source.toml.

A source is one place that sales can be exported from. Its file says what its exports never do:
what a price means, in which currency, and which column is which.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator
from rapidfuzz import fuzz, process

from pipeline.columns import MEANINGS, MEASURE
from pipeline.errors import SettingsError
from pipeline.money.terms_of_sale import TermsOfSale
from pipeline.settings import read_toml

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|"}


class Source(BaseModel):
    """One source: what its source.toml says."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = Field(min_length=1)
    market: Literal["auction", "online", "dealer", "private", "charity"]
    date_order: Literal["dmy", "mdy", "ymd"]
    encoding: str = "auto"
    delimiter: str = "auto"
    header_line: int | None = Field(default=None, ge=1)
    currency: str = Field(default="", pattern="^([A-Z]{3})?$")
    decimal_mark: Literal[".", ",", ""] = ""
    price_of: Literal["lot", "piece"] = "lot"
    sold_words: tuple[str, ...] = (
        "sold", "completed", "complete", "paid", "shipped", "delivered", "yes", "y", "true", "1",
    )  # fmt: skip
    price: TermsOfSale = TermsOfSale()
    columns: dict[str, str]
    constants: dict[str, str] = {}

    @field_validator("delimiter")
    @classmethod
    def _known_delimiter(cls, value: str) -> str:
        if value == "auto" or value in DELIMITERS.values():
            return value
        if value in DELIMITERS:
            return DELIMITERS[value]
        raise ValueError(f"a delimiter is one of {', '.join(DELIMITERS)} or auto")

    @field_validator("encoding")
    @classmethod
    def _known_encoding(cls, value: str) -> str:
        if value == "auto":
            return value
        try:
            "".encode(value)
        except LookupError:
            raise ValueError(f"'{value}' is no encoding that Python knows") from None
        return value.lower()

    @field_validator("columns")
    @classmethod
    def _each_meaning_once(cls, value: dict[str, str]) -> dict[str, str]:
        claimed: dict[str, str] = {}
        for header, meaning in value.items():
            if not meaning.startswith(MEASURE) and meaning not in MEANINGS:
                nearest = process.extractOne(meaning, list(MEANINGS), scorer=fuzz.ratio)
                raise ValueError(
                    f"column '{header}' means '{meaning}', which is no known meaning; the nearest "
                    f"is '{nearest[0] if nearest else 'title'}'"
                )
            if meaning in claimed:
                raise ValueError(
                    f"columns '{claimed[meaning]}' and '{header}' both claim to be '{meaning}'; "
                    "leave the mark on one of them"
                )
            claimed[meaning] = header
        return value

    @field_validator("constants")
    @classmethod
    def _known_constants(cls, value: dict[str, str]) -> dict[str, str]:
        for meaning in value:
            if meaning not in MEANINGS:
                nearest = process.extractOne(meaning, list(MEANINGS), scorer=fuzz.ratio)
                raise ValueError(
                    f"the constant '{meaning}' is no known meaning; the nearest is "
                    f"'{nearest[0] if nearest else 'title'}'"
                )
        return value

    @model_validator(mode="after")
    def _enough_to_go_on(self) -> Source:
        stated = set(self.columns.values()) | set(self.constants)
        for meaning in ("price", "sold"):
            if meaning not in stated:
                raise ValueError(
                    f"no column and no constant means '{meaning}'; a sale needs a price and a date"
                )
        if not {"title", "category"} & stated:
            raise ValueError("no column means 'title' or 'category'; a sale needs a description")
        both = set(self.columns.values()) & set(self.constants)
        if both:
            raise ValueError(f"'{min(both)}' is both a column and a constant")
        return self

    @property
    def header_of(self) -> dict[str, str]:
        """Meaning -> header of the export."""
        return {meaning: header for header, meaning in self.columns.items()}

    @property
    def fingerprint(self) -> str:
        """Digest of everything said about the source."""
        said = json.dumps(self.model_dump(mode="json"), sort_keys=True)
        return hashlib.sha256(said.encode()).hexdigest()


def load_source(path: Path) -> Source:
    """Read and prove a source.toml.

    Raises:
        SettingsError: naming the file and the key; says how to make the file if there is none.
    """
    if not path.is_file():
        raise SettingsError(
            f"The source '{path.parent.name}' has exports but no source.toml.",
            where=path,
            todo="Run `comparables describe` on one of its exports and save what it proposes.",
        )
    return read_toml(path, Source)
