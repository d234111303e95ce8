"""Screen: which sales can be compared, and which prices are out of line.

Read: `facts` (one row a sale, with what makes it not comparable already named). Work: sets, in
SQL, on the log price within the finest group that has enough sales. Write: `cells`,
`group_statistics`, `scores`. Nothing is deleted.
"""

from __future__ import annotations

import duckdb

from pipeline.settings import ScreenSettings
from pipeline.sql import run


def screen(con: duckdb.DuckDBPyConnection, settings: ScreenSettings) -> None:
    """Group the comparable sales, keep each group's statistics and score every price.

    Args:
        con: database with `facts`.
        settings: `min_group` sales at least make a group; `threshold` is the modified z-score
            from which a price is out of line (Iglewicz and Hoaglin, 1993).
    """
    run(con, "screen_groups", min_group=settings.min_group)
    run(con, "screen_members")
    run(con, "screen_statistics", threshold=settings.threshold)
    run(con, "screen_scores")
