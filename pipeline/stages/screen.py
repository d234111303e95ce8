"""Screen: which sales can be compared, and which prices are out of line.

Read: `facts` (one row a sale, with what makes it not comparable already named). Work: sets, in
SQL, on the log price within the finest group that has enough sales; then once more on what the
price is beyond its terms. Write: `cells`, `group_statistics`, `scores`, `term_scores`. Nothing is
deleted.
"""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.settings import ScreenSettings
from pipeline.sql import run, table_of
from pipeline.statistics.arrays import Floats

# Sales from which terms tell what to expect: as many as the price model asks for.
LEAST_SALES = 200
# Log units: a standard deviation of 10 % in the measure of a median absolute deviation.
LEAST_DEVIATION = 0.06745


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


def screen_by_terms(con: duckdb.DuckDBPyConnection, settings: ScreenSettings) -> None:
    """Hold every price against what all its terms together lead one to expect.

    A cell is often too small or too mixed to show a slip: its pieces differ in material, faults
    and market. What those explain is taken off first, and the rest is judged as in `screen`.

    Args:
        con: database with `rows`, `fact_cells` and `group_statistics`.

    Makes `term_scores`; it is empty where fewer than LEAST_SALES can be compared.
    """
    from threadpoolctl import threadpool_limits

    sales = table_of(con, "screen_terms")
    if sales.num_rows < LEAST_SALES:
        sales = sales.slice(0, 0)
        found = np.zeros(0)
    else:
        # One thread: the order of a sum may not depend on how many there are.
        with threadpool_limits(1):
            found = _differences(sales)
    told = sales.select(["row_key", "family_id"]).append_column(
        "difference", pa.array(np.round(found, 9))
    )
    con.register("term_differences", told)
    run(
        con,
        "screen_term_scores",
        min_group=settings.min_group,
        threshold=settings.threshold,
        least_deviation=LEAST_DEVIATION,
    )
    con.unregister("term_differences")


def _differences(sales: pa.Table) -> Floats:
    from pipeline.statistics.expected import differences

    terms = [
        np.asarray(pc.rank(sales[name], tiebreaker="dense")) - 1
        for name in sales.column_names
        if name not in ("row_key", "log_price", "faults")
    ]
    faults = sales["faults"].combine_chunks()
    flat = pc.list_flatten(faults)
    labels = np.asarray(pc.rank(flat, tiebreaker="dense")).astype(np.int64) - 1
    row = np.asarray(pc.list_parent_indices(faults)).astype(np.int64)
    return differences(
        sales["log_price"].to_numpy(), [t.astype(np.int64) for t in terms], (row, labels)
    )
