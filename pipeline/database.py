"""Opening a published database to read it."""

from __future__ import annotations

from pathlib import Path

import duckdb


def open_to_read(path: Path) -> duckdb.DuckDBPyConnection:
    """A connection that sees the database of `path` as it is now, and can change nothing in it.

    A plain connection to a path that the process has open already is given what is open, even
    when the file was replaced meanwhile. So each reader gets an engine of its own and attaches
    the file to it.

    Raises:
        duckdb.Error: there is no such database, or it cannot be read.
    """
    con = duckdb.connect()
    try:
        con.execute(f"ATTACH {quoted(path)} AS comparables (READ_ONLY)")
        con.execute("USE comparables")
    except duckdb.Error:
        con.close()
        raise
    return con


def quoted(path: Path | str) -> str:
    """A path as a SQL literal."""
    return "'" + str(path).replace("'", "''") + "'"
