"""A single value of any type as the text that it stands for."""

from __future__ import annotations

from typing import Any


def printed(value: Any) -> str | None:
    """The text of a value; None for what stands for nothing (None, NaN, pandas' NA and NaT).

    A whole number held as a float, as a column with gaps holds it, prints as the whole number.
    """
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bytes):
        return value.decode("utf-8", "replace")
    shown = str(value)
    if shown in ("nan", "<NA>", "NaT"):
        return None
    return shown.removesuffix(".0") if isinstance(value, float) else shown
