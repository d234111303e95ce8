"""What was understood of a sheet and what was written, as a person reads it."""

from __future__ import annotations

from pipeline.answers.pricing import Priced
from pipeline.answers.show import NO_APPRAISAL, console_of, plain_text


def show_priced(priced: Priced) -> None:
    """First what was understood; then, if it was no dry run, what was written where."""
    console = console_of()
    for line in priced.understood.lines():
        console.print(plain_text(line))
    if priced.filled is None:
        console.print("Nothing was written: a dry run.")
        return
    filled = priced.filled
    told = ", ".join(f"{word} {n:,}" for word, n in sorted(priced.decisions.items()))
    console.print(f"Valued: {priced.n_valued:,} of {filled.n_items:,} pieces; {told}.")
    for note in (*priced.notes, *filled.notes):
        console.print(plain_text(f"Note: {note}"))
    if filled.left_out:
        console.print(f"A text file holds no more sheets; left out: {', '.join(filled.left_out)}.")
    console.print(plain_text(f"Written: {filled.target}, sheet {filled.sheet_name!r}"))
    console.print(NO_APPRAISAL)
