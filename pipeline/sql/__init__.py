"""The set-based steps: one .sql file each, read on its own, run with bound values."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import duckdb
import pyarrow as pa


@cache
def text_of(name: str) -> str:
    """The SQL of a step."""
    return (files("pipeline.sql") / f"{name}.sql").read_text(encoding="utf-8")


def run(con: duckdb.DuckDBPyConnection, name: str, **values: Any) -> duckdb.DuckDBPyConnection:
    """Run a step; `values` fill its $parameters.

    A step may hold several statements; each is given the values that it names.
    """
    result = con
    for statement in con.extract_statements(text_of(name)):
        wanted = {k: v for k, v in values.items() if k in statement.named_parameters}
        result = con.execute(statement, wanted or None)
    return result


def table_of(con: duckdb.DuckDBPyConnection, name: str) -> pa.Table:
    """The rows of a step that asks one question without values, as an Arrow table."""
    return con.sql(text_of(name)).to_arrow_table()
