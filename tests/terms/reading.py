"""One title read, as the tests of single titles ask for it."""

from __future__ import annotations

from typing import Any

import pyarrow as pa

from pipeline.terms.titles import read_titles


def title(text: str) -> dict[str, Any]:
    """The columns of `read_titles` for one title."""
    return read_titles(pa.array([text])).to_pylist()[0]


def accepted(text: str, kind: str = "category") -> str | None:
    """What of a kind was read and accepted; None for what waits and for nothing."""
    read = title(text)
    return read[f"{kind}_id"] if read[f"{kind}_status"] == "accepted" else None
