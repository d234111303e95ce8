"""What was understood of a sheet and what was written, as a person reads it."""

from __future__ import annotations

from pipeline.answers.pricing import Priced
from pipeline.answers.sheet import Understood
from pipeline.answers.show import NO_APPRAISAL, console_of, plain_text


def show_understood(understood: Understood) -> None:
    """What is what in the sheet, before anything is estimated."""
    console = console_of()
    for line in understood.lines():
        console.print(plain_text(line))


def show_priced(priced: Priced) -> None:
    """What was written where, if it was no dry run."""
    console = console_of()
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
