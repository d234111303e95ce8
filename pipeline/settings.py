"""Every knob of a workspace, with its unit and the reason for its default.

`data/settings.toml` holds what a person changed; what it leaves out takes the default below. The
file that `comparables init` writes is made from these declarations, so the two cannot part.
"""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any, Literal, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from rapidfuzz import fuzz, process

from pipeline.errors import ComparablesError, SettingsError


def knob(default: Any, *, unit: str, reason: str, **limits: Any) -> Any:
    """A setting with its unit and the reason for its default."""
    return Field(default, description=reason, json_schema_extra={"unit": unit}, **limits)


class Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class BasisSettings(Section):
    """What one price means, everywhere in the workspace."""

    currency: str = knob(
        "GBP",
        unit="ISO 4217 code",
        pattern="^[A-Z]{3}$",
        reason="The currency in which you buy and sell.",
    )
    kind: Literal["buyer", "seller"] = knob(
        "buyer", unit="buyer or seller",
        reason="buyer: what a buyer paid before tax and shipping, the figure that auction results "
        "and shop prices share. seller: what the seller was left with.",
    )  # fmt: skip
    price_index: str = knob(
        "auto", unit="auto, none, own or cpi:series", pattern=r"^(auto|none|own|cpi:[a-z_]+)$",
        reason="What money was worth, for real_amount. own: data/decisions/price_index.csv; "
        "cpi:us_all_items and the like: US consumer prices out of the package cpi, for a workspace "
        "in USD; auto: the first of these that is there, else none.",
    )  # fmt: skip
    base_month: str = knob(
        "", unit="YYYY-MM or empty", pattern=r"^(\d{4}-\d{2})?$",
        reason="Month in whose money real_amount is told; empty: the newest month the price index "
        "reaches.",
    )  # fmt: skip
    max_rate_age_days: int = knob(
        10, unit="days", ge=0, le=366,
        reason="The longest closing of the currency markets is under a week; an older rate means "
        "that the table of rates ends.",
    )  # fmt: skip


class TermSettings(Section):
    """How text becomes a concept: by likeness, and by a lead over the runner-up."""

    accept_score: float = knob(
        92.0, unit="0 to 100", ge=50, le=100,
        reason="Spellings this like a label are taken, if the margin holds as well.",
    )  # fmt: skip
    accept_margin: float = knob(
        6.0, unit="points", ge=0, le=100,
        reason="Lead over the best label of any other concept that a taken spelling needs.",
    )  # fmt: skip
    review_score: float = knob(
        78.0, unit="0 to 100", ge=0, le=100,
        reason="From here a person is asked; below it nothing is proposed.",
    )  # fmt: skip
    least_sure: float = knob(
        0.0, unit="chance in 100", ge=0, le=100,
        reason="Readings of titles less sure than this wait for a person. 0 takes all that no rule "
        "doubts; 95 keeps out a quarter of the wrong categories and two thirds of the wrong "
        "materials, at the price of 4 and 24 of 100 right ones.",
    )  # fmt: skip
    circa_years: int = knob(
        5, unit="years", ge=0, le=50,
        reason="A circa reaches five years either way (Cataloging Cultural Objects, 2006).",
    )  # fmt: skip
    century: Literal["hundreds", "trade"] = knob(
        "hundreds", unit="hundreds or trade",
        reason="hundreds: the 18th century is 1700 to 1799 (EDTF); trade: 1701 to 1800.",
    )  # fmt: skip


class ScreenSettings(Section):
    """What is out of line. Nothing is deleted: a flagged sale stays and feeds no band."""

    min_group: int = knob(
        10, unit="sales", ge=5,
        reason="A group needs at least this many sales to judge a price by; with fewer the group "
        "above is asked.",
    )  # fmt: skip
    threshold: float = knob(
        3.5, unit="modified z-score", gt=0,
        reason="Iglewicz and Hoaglin (1993) advise 3.5.",
    )  # fmt: skip
    explained_within: float = knob(
        2.0, unit="modified z-score", ge=0,
        reason="A price far from its group is not out of line when it lies this near to what its "
        "material, faults and other terms lead one to expect: 95 % of usual prices do. 0: never.",
    )  # fmt: skip
    lowest_price: float = knob(
        0.01, unit="basis currency", ge=0,
        reason="Below this a price is a slip or a token.",
    )  # fmt: skip
    highest_price: float = knob(
        100_000_000.0, unit="basis currency", gt=0,
        reason="Above this a price is a slip of the keyboard.",
    )  # fmt: skip
    window_days: int = knob(
        3653, unit="days", ge=30,
        reason="Older sales are kept but feed no band: ten years, until the back-test says less.",
    )  # fmt: skip


class BandSettings(Section):
    """What a published band needs."""

    min_sales: int = knob(
        1, unit="sales", ge=1,
        reason="A band is published from this many sales on; every band shows its count, and "
        "under 6 no 95 % interval exists.",
    )  # fmt: skip
    answer_sales: int = knob(
        6, unit="sales", ge=1,
        reason="`comparables band` gives a figure from this many sales on, else it says 'not "
        "enough sales': the fewest for which a 95 % interval of the median exists.",
    )  # fmt: skip


class FitSettings(Section):
    """The price model: adjustments, words, index and pooled bands from all sales together."""

    enabled: bool = knob(
        True, unit="true or false",
        reason="Estimates, adjustments and the index come from it; 12 s of work on 9,260 sales.",
    )  # fmt: skip
    least_sales: int = knob(
        200, unit="sales", ge=10,
        reason="With fewer comparable sales its tables stay empty: not enough sales.",
    )  # fmt: skip
    window_days: int = knob(
        3650, unit="days", gt=0,
        reason="Older sales do not count; ten years, since the index brings a sale to today.",
    )  # fmt: skip
    half_life_days: float = knob(
        1460.0, unit="days", gt=0,
        reason="A sale of this age counts half. Long, because the index carries prices through "
        "time; it lets the effects of terms drift slowly.",
    )  # fmt: skip
    most_words: int = knob(
        300, unit="words and pairs", ge=0,
        reason="The most frequent words and pairs of titles that are weighed; the cost grows with "
        "the cube of their number, and 1,200 take minutes where these take seconds.",
    )  # fmt: skip
    interactions: bool = knob(
        True, unit="true or false",
        reason="Whether terms may depend on each other (size by condition, condition by material): "
        "they foretell better where sizes are told, and useless ones vanish.",
    )  # fmt: skip
    most_interactions: int = knob(
        200, unit="columns", ge=0,
        reason="Pairs of terms or of a term and a size that are weighed; more cost time, and "
        "lowered no error in the back-test.",
    )  # fmt: skip
    n_neighbours: int = knob(
        30, unit="sales", ge=0, le=200,
        reason="Nearest earlier sales that an estimate reads beside the effects; 20 to 40 hardly "
        "differ. A band is of no one piece, and reads none.",
    )  # fmt: skip


class EstimateSettings(Section):
    """What an estimate of a described piece needs, and shows."""

    least_sales: int = knob(
        3, unit="sales", ge=1,
        reason="Sales of the piece's category and attribution class from which there is a figure; "
        "with fewer it would be that of its family, and the answer is 'not enough sales'.",
    )  # fmt: skip
    comparables: int = knob(
        6, unit="sales", ge=3, le=30,
        reason="Sales that are shown one by one; an appraiser's grid has three to eight (common "
        "practice, no source).",
    )  # fmt: skip


class LinkSettings(Section):
    """What tells of one sale, or of one piece. Clear links are made, doubtful ones wait."""

    accept_score: float = knob(
        90.0, unit="chance in 100", ge=50, le=100,
        reason="From here two rows are taken for one sale and the fuller one stays: a sale counted "
        "twice and a sale lost do like harm.",
    )  # fmt: skip
    relist_score: float = knob(
        80.0, unit="chance in 100", ge=50, le=100,
        reason="From here an offer that did not sell is linked with a later sale. It feeds no "
        "band either way, so that a wrong link costs little.",
    )  # fmt: skip
    piece_score: float = knob(
        95.0, unit="chance in 100", ge=50, le=100,
        reason="From here two sales are taken for one piece sold again. Two pieces of a common "
        "kind are not that, and a wrong pair bends the index: so it must be very likely.",
    )  # fmt: skip
    review_score: float = knob(
        60.0, unit="chance in 100", ge=0, le=100,
        reason="From here a person is asked; below it nothing is proposed.",
    )  # fmt: skip
    review_rows: int = knob(
        2_000, unit="pairs", ge=0,
        reason="The likeliest doubtful pairs that are listed; nobody reads more.",
    )  # fmt: skip
    event_days: int = knob(
        3, unit="days", ge=0, le=31,
        reason="Two sources may date one sale by the hammer and by the payment, a weekend apart.",
    )  # fmt: skip
    relist_days: int = knob(
        400, unit="days", ge=1, le=3653,
        reason="What did not sell comes again within about a year, or is kept.",
    )  # fmt: skip
    most_sales: int = knob(
        6, unit="rows", ge=2,
        reason="No piece comes to market more often within the evidence; more rows alike are a "
        "common kind, and are not linked.",
    )  # fmt: skip
    block_rows: int = knob(
        100, unit="rows", ge=2,
        reason="Rows that are compared all with all; a fuller block is parted by category, day "
        "and price first.",
    )  # fmt: skip
    most_pairs: int = knob(
        3_000_000, unit="pairs", ge=1,
        reason="Pairs that a rule of blocking may bring together: some seconds of work. Where "
        "there would be more, block_rows is lowered for the rule, so that what is rarest goes "
        "first.",
    )  # fmt: skip


class RefreshSettings(Section):
    """How a refresh runs."""

    workers: int = knob(
        0, unit="processes", ge=0, le=64,
        reason="Files are read side by side; 0 takes one process a core.",
    )  # fmt: skip
    memory: str = knob(
        "4GB", unit="size", pattern=r"^\d+(\.\d+)?\s?(MB|GB)$",
        reason="What the database engine may use before it works on disk.",
    )  # fmt: skip
    generations: int = knob(
        4, unit="databases", ge=1, le=100,
        reason="Earlier databases kept for `comparables restore`: a month of weekly refreshes.",
    )  # fmt: skip
    refuse_undecodable_share: float = knob(
        0.05, unit="share of lines", ge=0, le=1,
        reason="A file with more undecodable lines than this is in another encoding than stated.",
    )  # fmt: skip
    largest_file: str = knob(
        "20GB", unit="size, unpacked", pattern=r"^\d+(\.\d+)?\s?(MB|GB)$",
        reason="A packed export that unpacks to more is refused: it is broken or hostile.",
    )  # fmt: skip
    newest_sale: dt.date | None = knob(
        None, unit="date",
        reason="No sale may be later than this; left out: the day of the refresh.",
    )  # fmt: skip


class Settings(Section):
    """The whole of data/settings.toml."""

    basis: BasisSettings = BasisSettings()
    terms: TermSettings = TermSettings()
    screen: ScreenSettings = ScreenSettings()
    bands: BandSettings = BandSettings()
    model: FitSettings = FitSettings()
    estimate: EstimateSettings = EstimateSettings()
    link: LinkSettings = LinkSettings()
    refresh: RefreshSettings = RefreshSettings()

    def as_json(self) -> str:
        """Sorted JSON, for digests and the record of refreshes."""
        return json.dumps(self.model_dump(mode="json"), sort_keys=True)


def bytes_of(size: str) -> int:
    """The number of bytes of "512MB" or "4GB" (decimal prefixes)."""
    number, unit = size[:-2].strip(), size[-2:]
    return int(float(number) * {"MB": 10**6, "GB": 10**9}[unit])


def load_settings(path: Path) -> Settings:
    """Read and prove a settings file; a missing file gives the defaults.

    Raises:
        SettingsError: naming the file, the key and, for an unknown key, the nearest known one.
    """
    if not path.exists():
        return Settings()
    return read_toml(path, Settings)


Model = TypeVar("Model", bound=BaseModel)


def read_toml(path: Path, model: type[Model]) -> Model:
    """Read a TOML file into a model, or say what in it does not hold.

    Raises:
        SettingsError: the file is no TOML, or a key or value of it is not the model's.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise SettingsError(
            f"The file is not UTF-8 text: byte {error.start} cannot be decoded.",
            where=path,
            todo="Save it as UTF-8.",
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(
            f"The file is no valid TOML: {error}.", where=path, todo="Mend the line named."
        ) from None
    return prove(raw, model, path)


def prove(raw: dict[str, Any], model: type[Model], where: Path | str) -> Model:
    """Build the model; every complaint at once, unknown keys with the nearest known one."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        problems = [_complaint(e, model) for e in error.errors()]
    except ComparablesError as error:
        raise SettingsError(error.what, where=where, todo=error.todo) from None
    raise SettingsError("; ".join(problems) + ".", where=where, todo="Mend the keys named.")


def _complaint(error: Any, model: type[BaseModel]) -> str:
    path = [str(part) for part in error["loc"]]
    key = ".".join(path)
    if error["type"] == "extra_forbidden":
        known = _known_keys(model, path[:-1])
        nearest = process.extractOne(path[-1], known, scorer=fuzz.ratio)
        hint = f"; the nearest known key is '{nearest[0]}'" if nearest else ""
        return f"unknown key '{key}'{hint}"
    message = str(error["msg"]).removeprefix("Value error, ")
    return f"'{key}' is {error['input']!r}: {message[:1].lower()}{message[1:]}"


def _known_keys(model: type[BaseModel], path: list[str]) -> list[str]:
    for part in path:
        if part.isdigit():  # a place in a list, whose members are the model found before
            continue
        field = model.model_fields.get(part)
        if field is None:
            return []
        kinds = [field.annotation, *get_args(field.annotation)]
        inner = [k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)]
        if not inner:
            return []
        model = inner[0]
    return list(model.model_fields)


def settings_toml(settings: Settings | None = None) -> str:
    """The settings file with every knob, its unit and its reason; defaults stand as comments."""
    settings = settings or Settings()
    lines = [
        "# Settings of this workspace. A line that begins with '#' shows the default;",
        "# take the mark away to change it.",
    ]
    for name, field in Settings.model_fields.items():
        section = getattr(settings, name)
        doc = (type(section).__doc__ or "").strip()
        lines += ["", f"[{name}]", f"# {doc}"]
        for key, inner in type(section).model_fields.items():
            extra = inner.json_schema_extra
            unit = extra.get("unit", "") if isinstance(extra, dict) else ""
            value = getattr(section, key)
            mark = "# " if value == inner.default else ""
            example = "  # an example; left out by default" if value is None else ""
            lines += [
                f"# {key}: {inner.description} Unit: {unit}.",
                f"{mark}{key} = {_toml(value)}{example}",
            ]
        del field
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if value is None:
        return "2030-12-31"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return json.dumps(value)
