"""The table of money text forms for the documentation, made by running the reader.

`python -m pipeline.money.forms` writes it to standard output.
"""

from __future__ import annotations

import sys
from decimal import Decimal

from pipeline.money.amounts import REASONS, AmountReading, read_amount

# (text, the source's decimal mark, the source's currency)
FORMS: tuple[tuple[str, str | None, str | None], ...] = (
    ("£1,250.00", None, None),
    ("1.250,00 EUR", None, None),
    ("1 250,00 €", None, None),
    ("1\u202f250,00 €", None, None),
    ("CHF 1'250.–", None, None),
    ("45.-", None, "CHF"),
    ("SEK 300:-", None, None),
    ("US $45", None, None),
    ("$45", None, "CAD"),
    ("$45", None, "EUR"),
    ("kr 1.250,-", None, "DKK"),
    ("₹1,25,000.50", None, None),
    ("35€99", None, None),
    ("1.234", ",", "EUR"),
    ("1.234", ".", "EUR"),
    ("1.234", None, "EUR"),
    ("£1.234", None, None),
    ("KWD 1.234", None, None),
    ("1.2k", None, "GBP"),
    ("$2.5 million", None, "USD"),
    ("50p", None, None),
    ("1.25E+03", None, "GBP"),
    ("1e400", None, "GBP"),
    ("£1 5s 6d", None, None),
    ("£1/5/6", None, None),
    ("42/-", None, None),
    ("2 gns", None, None),
    ("10/6", None, "GBP"),
    ("£1 25s", None, None),
    ("sold for £45", None, None),
    ("hammer 400", None, "GBP"),
    ("£500 inc. BP", None, None),
    ("Est. £100-150, sold £180", None, None),
    ("100-150", None, "GBP"),
    ("£80/120", None, None),
    ("~~£60~~ £45", None, None),
    ("was £60 now £45", None, None),
    ("£60 £45", None, None),
    ("£45 + £5 p&p", None, None),
    ("£45 each", None, None),
    ("2 x £45", None, None),
    ("£45 or best offer", None, None),
    ("best offer accepted", None, "USD"),
    ("best offer of $40 accepted", None, "USD"),
    ("POA", None, "GBP"),
    ("sold by private treaty", None, "GBP"),
    ("unsold", None, "GBP"),
    ("about £400", None, None),
    ("from £45", None, None),
    ("£15 off", None, None),
    ("40 % off", None, "GBP"),
    ("(45.00)", None, "GBP"),
    ("-£45", None, None),
    ("0.00", None, "GBP"),
    ("¥1,250.50", None, "JPY"),
    ("£45 / $60", None, None),
    ("12.03.2024", None, "GBP"),
    ("3 chairs", None, "GBP"),
    ("n/a", None, "GBP"),
)


def money_forms_table() -> str:
    """Markdown: what a cell says, and what it became.

    Each row is read when the table is made; nothing in it is written by hand.
    """
    lines = [
        "| Text | Source's mark and currency | Became | Kind | Taken as a sale | Why |",
        "|---|---|---|---|---|---|",
    ]
    for text, mark, currency in FORMS:
        reading = read_amount(text, mark, currency)
        source = ", ".join(part for part in (f"`{mark}`" if mark else "", currency or "") if part)
        why = REASONS[reading.reason][1] if reading.reason else ""
        usable = reading.reason is None or REASONS[reading.reason][0]
        taken = "yes" if reading.kind == "amount" and usable and reading.currency else "no"
        # A stroke inside code would end the cell of a Markdown table, so it is written apart.
        shown = text.replace("|", "\\|")
        lines.append(
            f"| `{shown}` | {source} | {_became(reading)} | {reading.kind} | {taken} | {why} |"
        )
    return "\n".join(lines) + "\n"


def _became(reading: AmountReading) -> str:
    currency = f" {reading.currency}" if reading.currency else ""
    if reading.amount is not None:
        kind = f" ({reading.price_type})" if reading.price_type else ""
        return f"{_plain(reading.amount)}{currency}{kind}"
    if reading.low_amount is not None and reading.high_amount is not None:
        return f"{_plain(reading.low_amount)} to {_plain(reading.high_amount)}{currency}"
    return ""


def _plain(amount: Decimal) -> str:
    return f"{amount:,f}"


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    sys.stdout.write(money_forms_table())
