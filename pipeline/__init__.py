"""Resale market comparables: what like pieces sold for.

The Python interface::

    import pipeline

    pipeline.refresh("my-workspace")
    con = pipeline.connect("my-workspace")      # read-only DuckDB
    con.execute("FROM price_bands").df()

What is heavy is imported when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from pipeline.versions import METHOD_VERSION, __version__

_PLACES = {
    "Workspace": "pipeline.workspace",
    "refresh": "pipeline.refresh",
    "connect": "pipeline.answers.query",
    "estimate": "pipeline.answers.estimate",
    "read_date": "pipeline.terms.dates",
    "read_terms": "pipeline.terms.reader",
}

if TYPE_CHECKING:
    from pipeline.answers.estimate import estimate
    from pipeline.answers.query import connect
    from pipeline.refresh import refresh
    from pipeline.terms.dates import read_date
    from pipeline.terms.reader import read_terms
    from pipeline.workspace import Workspace

__all__ = [
    "METHOD_VERSION",
    "Workspace",
    "__version__",
    "connect",
    "estimate",
    "read_date",
    "read_terms",
    "refresh",
]


def __getattr__(name: str) -> Any:
    if name in _PLACES:
        value = getattr(import_module(_PLACES[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'pipeline' has no attribute '{name}'")
