"""The sheet of assumptions and the live money columns that lean on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

import numpy as np

from pipeline.answers import buying
from pipeline.answers.buying import BAND_LEVELS, MarketTerms, TargetKind
from pipeline.answers.sheet.cells import CellValue, ExtraSheet, FilledColumn, Formula, Shown
from pipeline.answers.sheet.reader import SheetReader
from pipeline.errors import SheetError

SHEET = "assumptions"
FEE_ROWS = 4  # steps that a person may fill in; more where the terms have more

_INTRODUCTION = (
    "Change a figure in column B and the sheet of pieces follows.",
    "A figure that is worked out here is an estimate and no appraisal.",
)


_MoneyColumn = tuple[
    str, str, Sequence[float | str | None], str, float, Callable[[MarketTerms], str]
]


def assumptions_sheet(markets: Sequence[MarketTerms], name: str = SHEET) -> ExtraSheet:
    """The sheet of assumptions, a block a market, every figure with its unit and its reason.

    Raises:
        SheetError: two markets share a name.
    """
    if len({terms.slug for terms in markets}) != len(markets):
        raise SheetError("two markets have the same name")
    rows: list[list[CellValue]] = [["Assumptions"]]
    rows.extend([line] for line in _INTRODUCTION)
    names: dict[str, str] = {}
    picks: dict[str, Sequence[str]] = {}
    bold = {1}
    for terms in markets:
        rows.append([])
        rows.append([f"Market: {terms.market} ({terms.currency})", "value", "unit", "why"])
        bold.add(len(rows))
        bold.add(_add_block(terms, rows, names, picks))
    return ExtraSheet(
        name,
        rows,
        names=names,
        widths=(66.0, 18.0, 30.0, 74.0, 24.0),
        bold_rows=frozenset(bold),
        pick_lists=picks,
    )


def money_columns(
    reader: SheetReader,
    terms_of_item: Sequence[MarketTerms],
    low: Sequence[float | None],
    value: Sequence[float | None],
    high: Sequence[float | None],
) -> list[FilledColumn]:
    """The columns low, value, high and, live over them, what may be paid and what to do.

    Args:
        reader: the opened sheet; asking price, cleaning and repair come from it.
        terms_of_item: the terms of the market that each item is to be sold in.
        low, value, high: P10, median and P90 of what each item may bring; None (in any of the
            three) where there are not enough sales.
    """
    n_items = reader.items.num_rows
    digits = np.array([terms.minor_digits for terms in terms_of_item] or [2])
    bands = np.array(
        [[np.nan if v is None else v for v in row] for row in zip(low, value, high, strict=True)],
        float,
    ).reshape(n_items, 3)
    bands[np.isnan(bands).any(axis=1)] = np.nan
    for digit in np.unique(digits):
        rows = digits == digit
        least = 10.0 ** -int(digit)  # a range that rounds to nothing has no logarithm
        bands[rows] = np.maximum(buying.round_half_up(bands[rows], int(digit)), least)
    asking, cleaning, repair = (
        reader.items.column(name).to_numpy().astype(float)
        for name in ("asking_price", "cleaning_cost", "repair_cost")
    )
    expected, highest, even, chance = (np.full(n_items, np.nan) for _ in range(4))
    decisions: list[str] = [""] * n_items
    for terms in dict.fromkeys(terms_of_item):
        rows = np.array([t == terms for t in terms_of_item])
        expected[rows] = buying.expected_price(terms, BAND_LEVELS, bands[rows])
        highest[rows] = buying.highest_price_to_pay(
            expected[rows], terms, cleaning[rows], repair[rows]
        )
        even[rows] = buying.break_even_price(asking[rows], terms, cleaning[rows], repair[rows])
        chance[rows] = buying.chance_of_clearing(
            asking[rows], terms, BAND_LEVELS, bands[rows], cleaning[rows], repair[rows]
        )
        for item, decision in zip(
            np.flatnonzero(rows), buying.decide(asking[rows], highest[rows], terms), strict=True
        ):
            decisions[item] = buying.decision_text(decision, float(highest[item]), terms)
    columns = [
        FilledColumn("low", "low (P10)", _listed(bands[:, 0]), number_format="money"),
        FilledColumn("value", "value", _listed(bands[:, 1]), number_format="money"),
        FilledColumn("high", "high (P90)", _listed(bands[:, 2]), number_format="money"),
    ]
    markets = {terms.slug: terms for terms in terms_of_item}
    made: tuple[_MoneyColumn, ...] = (
        ("expected", "expected price", _listed(expected), "money", 16.0, buying.expected_formula),
        ("highest", "highest price to pay", _listed(highest), "money", 22.0,
         buying.highest_formula),
        ("break_even", "break-even price", _listed(even), "money", 18.0,
         buying.break_even_formula),
        ("clearing", "chance of clearing costs", _listed(chance), "share", 25.0,
         buying.clearing_formula),
        ("decision", "decision", decisions, "text", 24.0, buying.decision_formula),
    )  # fmt: skip
    for key, header, values, number_format, width, formula in made:
        templates = {slug: formula(terms) for slug, terms in markets.items()}
        columns.append(
            FilledColumn(
                key,
                header,
                values,
                formula=[templates[terms.slug] for terms in terms_of_item],
                number_format=number_format,
                width=width,
            )
        )
    return columns


def terms_from_sheet(terms: MarketTerms, reader: SheetReader) -> MarketTerms:
    """The terms as a person changed them in the sheet of assumptions of an earlier run.

    Raises:
        SheetError: a changed figure cannot be an assumption.
    """
    fields = {
        "quantile": "cautious_quantile", "fee_fixed": "fee_fixed", "shipping": "shipping_out",
        "tax": "purchase_tax_share", "target_kind": "target_kind", "target": "target",
        "bargain": "bargain_share",
    }  # fmt: skip
    changed: dict[str, object] = {}
    for assumption, name in fields.items():
        found = reader.named_values.get(buying.assumption_name(terms, assumption))
        if found is not None:
            changed[name] = found if isinstance(found, str) else repr(found)
    steps = [
        (
            reader.named_values.get(buying.assumption_name(terms, f"fee_from_{number}")),
            reader.named_values.get(buying.assumption_name(terms, f"fee_share_{number}")),
        )
        for number in range(1, max(FEE_ROWS, len(terms.steps)) + 1)
    ]
    given = [
        {"from_amount": repr(start), "share": repr(share)}
        for start, share in steps
        if isinstance(start, float) and isinstance(share, float)
    ]
    if given:
        changed["fee_steps"] = given
    if not changed:
        return terms
    try:
        return MarketTerms.model_validate({**terms.model_dump(), **changed})
    except ValueError as error:
        raise SheetError(
            f"the assumptions for {terms.market!r} do not hold: {_first_line(error)}",
            where=f"{reader.path}, sheet of assumptions",
            todo="put the figure right there, or delete the sheet to begin with the settings",
        ) from error


def _add_block(
    terms: MarketTerms,
    rows: list[list[CellValue]],
    names: dict[str, str],
    picks: dict[str, Sequence[str]],
) -> int:
    """Add a market's rows; returns the row of the header over its fee steps."""

    def add(label: str, value: CellValue, unit: str, why: str, assumption: str | None) -> None:
        rows.append([label, value, unit, why])
        if assumption:
            names[buying.assumption_name(terms, assumption)] = f"B{len(rows)}"

    def knob(field: str, value: CellValue, assumption: str) -> None:
        info = MarketTerms.model_fields[field]
        extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        default = info.default == getattr(terms, field)
        why = str(extra.get("reason", "")) if default else "as set for this workspace"
        add(str(info.description), value, str(extra.get("unit", "")), why, assumption)

    def share(field: str, assumption: str) -> None:
        knob(field, Shown(float(getattr(terms, field)), "share"), assumption)

    def money(field: str, assumption: str) -> None:
        knob(field, Shown(float(getattr(terms, field)), "money"), assumption)

    share("cautious_quantile", "quantile")
    position = Formula(buying.position_formula(terms), _position(terms))
    add(
        "Place of that quantile between the value and the edge of its range",
        Shown(position, "figure"), "-1 is low, 0 the value, 1 high", "worked out", "position",
    )  # fmt: skip
    target = float(terms.target)
    knob("target_kind", terms.target_kind.value, "target_kind")
    picks[f"B{len(rows)}"] = [kind.value for kind in TargetKind]
    is_profit = terms.target_kind is TargetKind.PROFIT
    knob("target", Shown(target, "money" if is_profit else "share"), "target")
    share("bargain_share", "bargain")
    share("purchase_tax_share", "tax")
    money("shipping_out", "shipping")
    money("fee_fixed", "fee_fixed")
    rows.append(
        [
            "Fees that grow with the price: of the part above this amount ...",
            "... this share", "added to the step before", "left of the amount",
            "price for one more, added",
        ]
    )  # fmt: skip
    first = len(rows) + 1
    count = max(FEE_ROWS, len(terms.steps))
    for index in range(count):
        row = first + index
        step = terms.steps[index] if index < len(terms.steps) else None
        before = terms.steps[index - 1].share if step and index else Decimal(0)
        start = float(step.from_amount) if step else None
        net = float(buying.net_of_step(terms, start)) if start is not None else 0.0
        gross = 1 / (1 - float(step.share)) if step else 0.0
        change = float(step.share - before) if step else 0.0
        rows.append(
            [
                None if start is None else Shown(start, "money"),
                None if step is None else Shown(float(step.share), "share"),
                Shown(Formula(buying.fee_change_formula(row, first), change), "share"),
                Shown(Formula(buying.fee_net_formula(terms, row), net), "money"),
                Shown(
                    Formula(
                        buying.fee_gross_formula(row, first),
                        gross - (1 / (1 - float(before)) if index else 0.0) if step else 0.0,
                    ),
                    "figure",
                ),
            ]
        )
        names[buying.assumption_name(terms, f"fee_from_{index + 1}")] = f"A{row}"
        names[buying.assumption_name(terms, f"fee_share_{index + 1}")] = f"B{row}"
    last = first + count - 1
    for assumption, column in (
        ("fee_from", "A"), ("fee_change", "C"), ("fee_net", "D"), ("fee_gross", "E"),
    ):  # fmt: skip
        names[buying.assumption_name(terms, assumption)] = f"{column}{first}:{column}{last}"
    return first - 1


def _position(terms: MarketTerms) -> float:
    from statistics import NormalDist

    normal = NormalDist()
    return normal.inv_cdf(float(terms.cautious_quantile)) / normal.inv_cdf(0.9)


def _listed(values: np.ndarray) -> list[float | None]:
    return [None if np.isnan(v) else float(v) for v in values]


def _first_line(error: ValueError) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[-2] if len(lines) > 2 else lines[0]
