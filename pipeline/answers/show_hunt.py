"""Ranked kinds as a person reads them on a terminal, or as a program reads them from a pipe."""

from __future__ import annotations

import json
from typing import Any

from rich import box
from rich.table import Table

from pipeline.answers.hunt import Hunt
from pipeline.answers.hunt_order import HuntOrder
from pipeline.answers.lookup import vocabulary_of
from pipeline.answers.show import NO_APPRAISAL, console_of, plain_text
from pipeline.answers.show_estimate import caution_sentence
from pipeline.workspace import Workspace

_WORDS = {
    HuntOrder.median: "by the lower end of the median",
    HuntOrder.evidence: "by the number of sales",
    HuntOrder.spread: "the least spread first",
    HuntOrder.holds: "those first that lose least by a fair condition",
    HuntOrder.sensitive: "those first that lose most by a fair condition",
    HuntOrder.trend: "by the last year of their family",
}


def show_hunt(workspace: Workspace, found: Hunt, *, as_json: bool) -> None:
    """A line a kind: what it brings, its evidence, its condition, its trend."""
    if as_json:
        print(json.dumps(_as_told(found), default=str, indent=1))  # noqa: T201
        return
    console = console_of()
    within = f" of {found.within}" if found.within else ""
    console.print(
        f"{len(found.kinds)} of {found.n_kinds} kinds{within} with {found.min_sales} single sales "
        f"or more, {_WORDS[found.order]}. Sales up to {found.as_of}."
    )
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("kind", "class"):
        table.add_column(name, no_wrap=True)
    for name in (
        "sales",
        "last",
        "median",
        "95 % of it",
        "half lie in",
        "fair, % of good",
        "a year, %",
    ):
        table.add_column(name, justify="right", no_wrap=True)
    for row in found.kinds:
        table.add_row(
            plain_text(row["label"]), row["attribution"], f"{row['n_sales']:,}",
            f"{row['last_sold_on']:%Y-%m}", f"{row['median']:,.0f}",
            _range(row["median_low"], row["median_high"]), _range(row["p25"], row["p75"]),
            _with_range(row, "fair") + _SCOPES.get(row["fair_scope"] or "", ""),
            _with_range(row, "year"),
        )  # fmt: skip
    console.print(table)
    first = found.kinds[0]
    money = "buyer's price before tax and shipping" if first["basis"] == "buyer" else "seller's net"
    console.print(
        f"{first['currency']}, {money}, in any condition. Fair, % of good: what a fair one brings "
        "of a like piece in good condition, with its 95 % interval, by the price model; * of the "
        "family, ** of all, where the kind has no such sales. A year: how the family's prices "
        f"moved in the last one. Method {first['method_version']}."
    )
    vocabulary = vocabulary_of(workspace)
    for caution in sorted({c for row in found.kinds for c in row["cautions"]}):
        kinds = [row["label"] for row in found.kinds if caution in row["cautions"]]
        told = caution_sentence(vocabulary.concept("caution", caution))
        named = ", ".join(dict.fromkeys(kinds))
        console.print(plain_text(f"Caution, on some of {named}: {told}"))
    console.print(NO_APPRAISAL)


_SCOPES = {"family": " *", "all": " **"}


def _range(low: float | None, high: float | None) -> str:
    return "-" if low is None or high is None else f"{low:,.0f} to {high:,.0f}"


def _with_range(row: dict[str, Any], name: str) -> str:
    value = row[f"{name}_percent"]
    if value is None:
        return "-"
    form = "+.0f" if name == "year" else ".0f"
    return f"{value:{form}} ({row[f'{name}_low']:{form}} to {row[f'{name}_high']:{form}})"


def _as_told(found: Hunt) -> dict[str, Any]:
    return {
        "order": found.order.value,
        "within": found.within,
        "min_sales": found.min_sales,
        "as_of": found.as_of.isoformat(),
        "n_kinds": found.n_kinds,
        "kinds": found.kinds,
        "note": NO_APPRAISAL,
    }
