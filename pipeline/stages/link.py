"""Link, first step: the same listing in several exports is one sale.

Read: the table `keys` (row_key, source_id, listing_id, digest, file_rank, line_number). Work: sets,
in SQL. Write: the tables `dropped` (row_key, kept_key, reason, score, differs).
"""

from __future__ import annotations

import duckdb

from pipeline.sql import run


def link_listings(con: duckdb.DuckDBPyConnection) -> None:
    """Find rows that tell of a listing told already; the newest export counts."""
    run(con, "link_listings")
