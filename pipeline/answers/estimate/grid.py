"""The sales behind a figure, each brought to the piece line by line, and how they make the sum.

The sales-comparison approach: each like sale is adjusted for every difference (time, condition,
material ...), the adjusted prices are averaged by likeness, and the effects of all sales together
stand in for the evidence that the like sales do not give. In logarithms

    value = (1 - sum of weights) * effects alone + sum of weight * adjusted price + drift

so that the parts give the value exactly.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import numpy as np

from pipeline.statistics.model import DRIFT, LEFT_OUT, NEAREST
from pipeline.terms.size_words import sizes_in_words

NAMES = {
    "base": "usual price of its class in the usual terms",
    "family": "family", "category": "category",
    "material_id": "material", "period_id": "period", "set_class": "set or single",
    "fault": "faults and merits", "word": "words of the title", "size": "size",
    LEFT_OUT: "its own price, left out of the effects",
    NEAREST: "the like sales, beyond the effects", DRIFT: "drift of the newest sales",
}  # fmt: skip
_TERMS = {
    "condition": ("condition", "condition"),
    "material_id": ("material_id", "material"),
    "period_id": ("period_id", "period"),
    "category": ("category_id", "category"),
    "family": ("category_id", "category"),
}

NOT_TOLD = "not told"

LabelOf = Callable[[str, str], str]


def line_name(line: str) -> str:
    """What a line of the model is called in words."""
    for prefix in ("curve ", "measure "):
        line = line.removeprefix(prefix)
    parts = line.split(" x ")
    return " with ".join(NAMES.get(part, part) for part in parts)


def sum_of(contributions: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines of a prediction in words, largest names first as the model has them."""
    return [{"what": line_name(c["line"]), "log_effect": c["log_effect"]} for c in contributions]


def comparables_of(
    neighbours: list[dict[str, Any]],
    sales: dict[str, dict[str, Any]],
    piece: dict[str, Any],
    as_of: dt.date,
    label_of: LabelOf,
    most: int,
) -> list[dict[str, Any]]:
    """The heaviest sales of a prediction with their differences, and the rest as one row.

    Args:
        neighbours: of one prediction, see `PriceModel.predict`.
        sales: by sale_id, the columns of sql/estimate_sales.sql.
        piece: the piece in the columns of the model.
        most: sales that are shown one by one.

    Returns:
        Rows of `columns.COMPARABLE`; the last one, without sale_id, holds the weight of the sales
        not shown and their average, where there are any.
    """
    heaviest = heaviest_first(neighbours)
    rows = []
    for one in heaviest[:most]:
        sale = sales.get(one["sale_id"], {})
        rows.append(
            {
                "sale_id": one["sale_id"],
                "sold_on": sale.get("sold_on"),
                "market": sale.get("market"),
                "title_text": sale.get("title_text"),
                "sold_amount": float(np.exp(one["log_price"])),
                "adjustments": _differences(one["adjustments"], sale, piece, as_of, label_of),
                "adjusted_amount": float(np.exp(one["adjusted_log_price"])),
                "weight": one["weight"],
            }
        )
    rest = heaviest[most:]
    weight = sum(one["weight"] for one in rest)
    if weight > 0:
        mean = sum(one["weight"] * one["adjusted_log_price"] for one in rest) / weight
        rows.append(
            {
                "sale_id": None,
                "sold_on": None,
                "market": None,
                "title_text": f"{len(rest)} more sales, each lighter",
                "sold_amount": None,
                "adjustments": [],
                "adjusted_amount": float(np.exp(mean)),
                "weight": weight,
            }
        )
    return rows


def heaviest_first(neighbours: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The sales of a prediction by weight, the nearer first of those that weigh alike."""
    return sorted(neighbours, key=lambda one: -one["weight"])


def effects_alone_of(lines: list[dict[str, Any]]) -> tuple[float, float]:
    """The price by the effects alone, and the factor of the drift, of the lines of `sum_of`."""
    drift = sum(c["log_effect"] for c in lines if c["what"] == NAMES[DRIFT])
    local = sum(c["log_effect"] for c in lines if c["what"] == NAMES[NEAREST])
    total = sum(c["log_effect"] for c in lines)
    return float(np.exp(total - drift - local)), float(np.exp(drift))


def reconciled(effects: float, drift: float, comparables: list[dict[str, Any]]) -> float:
    """The value that the parts give: the weighted geometric mean, times the drift."""
    weights = [one["weight"] for one in comparables]
    logs = [float(np.log(one["adjusted_amount"])) for one in comparables]
    mean = (1 - sum(weights)) * float(np.log(effects))
    mean += sum(w * x for w, x in zip(weights, logs, strict=True))
    return float(np.exp(mean)) * drift


def _differences(
    lines: list[dict[str, Any]],
    sale: dict[str, Any],
    piece: dict[str, Any],
    as_of: dt.date,
    label_of: LabelOf,
) -> list[dict[str, Any]]:
    out = []
    for line in lines:
        theirs, ours = _values(line["line"], sale, piece, as_of, label_of)
        out.append(
            {
                "what": line_name(line["line"]),
                "of_the_sale": theirs,
                "of_the_piece": ours,
                "log_effect": line["log_effect"],
            }
        )
    return out


def _values(
    line: str, sale: dict[str, Any], piece: dict[str, Any], as_of: dt.date, label_of: LabelOf
) -> tuple[str | None, str | None]:
    """What the sale and the piece have on a line, in words."""
    if not sale:
        return None, None
    if line == "time":
        return f"{sale['sold_on']:%Y-%m}", f"{as_of:%Y-%m}"
    if line == "size":
        theirs, ours = (", ".join(sizes_in_words(x["measures"])) for x in (sale, piece))
        return theirs or NOT_TOLD, ours or NOT_TOLD
    if line == "market":
        return sale["market"], piece["market"]
    if line == "set_class":
        return sale["set_size"], piece["set_class"]
    if line == "fault":
        lists = (sale["faults"], piece["faults"])
        theirs, ours = (", ".join(label_of("fault", f) for f in x) or NOT_TOLD for x in lists)
        return theirs, ours
    if line in _TERMS:
        column, kind = _TERMS[line]
        theirs, ours = (
            label_of(kind, x[column]) if x.get(column) not in (None, "unknown") else NOT_TOLD
            for x in (sale, piece)
        )
        return theirs, ours
    return None, None
