"""An estimate as a person reads it at the shelf, or as JSON."""

from __future__ import annotations

import json
import math
from typing import Any

from rich import box
from rich.table import Table
from rich.text import Text

from pipeline.answers.buying import TargetKind
from pipeline.answers.estimate.estimator import NO_FIGURE
from pipeline.answers.offer import Offer
from pipeline.answers.show import NO_APPRAISAL, console_of, plain_text
from pipeline.terms.vocabulary_file import Concept

TITLE_WIDTH = 46
# Log units: what moves a price by less than half a per cent shares one line with its like, and
# under 0.05 % all of them together are not worth one.
LEAST_ALONE = 5e-3
LEAST_SHOWN = 5e-4
SMALL = "small differences"


def show_offer(offer: Offer, *, as_json: bool) -> None:
    """One piece: what was understood, the figure, what to do, and the sales behind it."""
    if as_json:
        told = {**offer.as_dict(), "statement": NO_APPRAISAL}
        print(json.dumps(told, default=str, indent=2, ensure_ascii=False))  # noqa: T201
        return
    console = console_of()
    piece = offer.piece
    console.print(Text.assemble("Understood: ", plain_text(piece["understood"] or "nothing"), "."))
    if piece["not_understood"]:
        words = ", ".join(piece["not_understood"])
        console.print(Text.assemble("Told nothing: ", plain_text(words), "."))
    console.print()
    for line in _answer(offer):
        console.print(Text(line))
    for caution in offer.cautions:
        console.print(Text(f"Caution: {caution_sentence(caution)}", style="bold"))
    if piece["value_amount"] is not None:
        console.print()
        console.print(_grid(offer))
        console.print(Text(_reconciliation(offer)))
        console.print(Text(_effects(piece["sum"])))
        console.print()
    console.print(
        Text(
            f"As of {piece['as_of']}, {_basis(piece)}. Method {piece['method_version']}. "
            f"{NO_APPRAISAL}"
        )
    )


def caution_sentence(caution: Concept) -> str:
    """A caution by name, and all that `caution_text` tells of it."""
    return f"{caution.pref_label}: {caution_text(caution)}"


def caution_text(caution: Concept) -> str:
    """What a caution says, its authority, jurisdiction and date of the rule, and what to do."""
    told = caution.extra
    place = ", ".join(filter(None, (told.get("jurisdiction"), told.get("rule_date"))))
    return (
        f"{told.get('sentence', '')} [{told.get('authority', '')}; {place}] "
        f"{_sentence(told.get('advice', ''))}"
    )


def money(value: float | None, digits: int = 2) -> str:
    """An amount with thousands parted, or a dash."""
    return "-" if value is None else f"{value:,.{digits}f}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "." * (not text.endswith(".")) if text else ""


def _basis(piece: dict[str, Any]) -> str:
    of = "buyer's price before tax and shipping" if piece["basis"] == "buyer" else "seller's net"
    return f"{piece['currency']}, {of}"


def _answer(offer: Offer) -> list[str]:
    piece, terms = offer.piece, offer.terms
    digits, currency = terms.minor_digits, piece["currency"]
    if piece["value_amount"] is None:
        return [f"Decision: none. No figure: {piece['why'].removeprefix(NO_FIGURE)}."]
    if offer.asking is None:
        asked = f"No price asked: up to {money(offer.highest, digits)} may be paid."
    else:
        asked = (
            f"Asked {money(offer.asking, digits)}: {offer.decision}. Chance that the sale clears "
            f"its costs: {offer.chance or 0:.0%}."
        )
    return [
        asked,
        f"Value {money(piece['value_amount'], digits)} {currency}; eight in ten such pieces bring "
        f"{money(piece['low_amount'], digits)} to {money(piece['high_amount'], digits)} "
        f"(market: {piece['market']}).",
        f"Highest price to pay {money(offer.highest, digits)}: for {_target(offer)}, at a price of "
        f"{money(offer.expected, digits)}, which {1 - float(terms.cautious_quantile):.0%} of such "
        "pieces reach.",
        f"{_sentence(piece['why'])} Newest sale {piece['newest_sold_on']}.",
    ]


def _target(offer: Offer) -> str:
    terms = offer.terms
    if terms.target_kind is TargetKind.PROFIT:
        wanted = f"a profit of {money(float(terms.target), terms.minor_digits)}"
    else:
        wanted = f"a {terms.target_kind!s} of {float(terms.target):.0%}"
    top = max(step.share for step in terms.steps)
    return f"{wanted} after fees of {'up to ' * bool(terms.fee_steps)}{float(top):.0%}"


def _grid(offer: Offer) -> Table:
    """The sales that were read, what differs and by how much, adjusted price and weight."""
    digits = offer.terms.minor_digits
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title_justify="left")
    table.add_column("sold", no_wrap=True)
    table.add_column("market", no_wrap=True)
    table.add_column("the sale, and what differs", ratio=1)
    table.add_column("price", justify="right", no_wrap=True)
    table.add_column("adjusted", justify="right", no_wrap=True)
    table.add_column("weight", justify="right", no_wrap=True)
    for one in offer.piece["comparables"]:
        title = plain_text(_cut(one["title_text"] or one["sale_id"]))
        for line in shown_differences(one):
            title.append(f"\n  {line}")
        table.add_row(
            f"{one['sold_on']:%Y-%m-%d}" if one["sold_on"] else "",
            plain_text(one["market"]), title, money(one["sold_amount"], digits),
            money(one["adjusted_amount"], digits), _weight(one["weight"]),
        )  # fmt: skip
    table.add_row(
        "", "", "what the effects of all sales say", "",
        money(offer.effects_amount, digits),
        _weight(1 - sum(one["weight"] for one in offer.piece["comparables"])),
    )  # fmt: skip
    return table


def _weight(share: float) -> str:
    return f"{share:.1%}" if share else "none"


def shown_differences(comparable: dict[str, Any]) -> list[str]:
    """The differences of a sale that are worth a line."""
    return [difference(line) for line in _worth_a_line(comparable["adjustments"])]


def _worth_a_line(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Lines that say something alone, and the sum of the others: the product stays the same."""
    alone = [line for line in lines if abs(line["log_effect"]) >= LEAST_ALONE]
    rest = sum(line["log_effect"] for line in lines if abs(line["log_effect"]) < LEAST_ALONE)
    if abs(rest) >= LEAST_SHOWN:
        alone.append({"what": SMALL, "of_the_sale": None, "of_the_piece": None, "log_effect": rest})
    return alone


def difference(line: dict[str, Any]) -> str:
    """One difference of a sale in words: what it is, from what to what, per cent."""
    percent = f"{100 * math.expm1(line['log_effect']):+.1f} %"
    theirs, ours = line["of_the_sale"], line["of_the_piece"]
    if theirs is None or theirs == ours:
        return f"{line['what']} {percent}"
    return f"{line['what']}: {theirs} -> {ours} {percent}"


def _reconciliation(offer: Offer) -> str:
    value = money(offer.piece["value_amount"], offer.terms.minor_digits)
    drift = 100 * ((offer.drift or 1.0) - 1)
    if all(one["weight"] == 0 for one in offer.piece["comparables"]):
        return (
            f"The value {value} is what the effects of all sales together say. The likest sales "
            "are shown to compare: they proved to foretell prices no better, and weigh nothing."
        )
    moved = f", {drift:+.1f} % for the drift of the newest sales" if abs(drift) >= 0.05 else ""
    return f"Together, as a weighted geometric mean{moved}: {value}"


def _effects(lines: list[dict[str, Any]]) -> str:
    """The same figure as one product: a usual price, and what every term adds."""
    first, *rest = lines
    parts = [f"{first['what']} {math.exp(first['log_effect']):,.2f}"]
    parts += [
        f"{line['what']} x {math.exp(line['log_effect']):.3f}" for line in _worth_a_line(rest)
    ]
    return "The same as a product: " + "; ".join(parts)


def _cut(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= TITLE_WIDTH else flat[: TITLE_WIDTH - 1] + "…"
