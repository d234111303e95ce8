"""Resale index: how prices moved, told by pieces that were sold more than once.

Read: `sales` of the database being built. Work: the repeat-sales regression, by quarters or years
as the pairs allow. Write: `resale_index`, which leans on no model, so that it can be held beside
`price_index`; there and empty where the pairs are too few.
"""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import RESALE_INDEX
from pipeline.sql import table_of
from pipeline.statistics.arrays import Floats, Ints
from pipeline.statistics.repeat_sales import repeat_sales_index

ANY = "any"
# Pairs for every period that is to be told; with fewer, longer periods are taken, or none. Common
# practice, no source: a period then stands on sixteen prices.
LEAST_PAIRS_A_PERIOD = 8
# Months of a period, finest first, and the fewest periods that make an index.
GRAINS = (3, 12)
LEAST_PERIODS = 3
DECIMALS = 6


def index_resales(con: duckdb.DuckDBPyConnection, method: str) -> None:
    """Make `resale_index` from the `sales` of a database; method: version, for every row."""
    con.execute(RESALE_INDEX.ddl())
    found = resale_levels(table_of(con, "resale_pairs"))
    found = found.append_column("method_version", pa.array([method] * found.num_rows, pa.string()))
    con.register("levels", found.select(RESALE_INDEX.names).cast(RESALE_INDEX.schema()))
    con.execute(f'INSERT INTO "{RESALE_INDEX.name}" FROM levels ORDER BY scope, family_id, period')
    con.unregister("levels")


def resale_levels(pairs: pa.Table) -> pa.Table:
    """The index of all pairs and of each family that has enough of them.

    Args:
        pairs: family_id, first_on, second_on (dates), first_amount, second_amount (above zero, one
            currency and basis), one row a piece sold twice.

    Returns:
        scope (all, family), family_id, period (2026-Q1 or 2026), price_level (1 in the last period
        told), low, high (95 %), n_pairs (those with a sale in the period, each also counted in its
        other one). A period that no chain of resales ties to the last has no row.
    """
    out = [_levels("all", ANY, pairs)]
    for family in sorted(pc.unique(pairs["family_id"].drop_null()).to_pylist()):
        out.append(_levels("family", family, pairs.filter(pc.equal(pairs["family_id"], family))))
    return pa.concat_tables(out)


def _levels(scope: str, family: str, pairs: pa.Table) -> pa.Table:
    for months in GRAINS:
        first, second = (_periods(pairs[name], months) for name in ("first_on", "second_on"))
        moved = first != second
        if not moved.any():
            continue
        start = int(first.min())
        n_periods = int(second.max()) - start + 1
        enough = int(moved.sum()) >= LEAST_PAIRS_A_PERIOD * n_periods
        if not enough or n_periods < LEAST_PERIODS:
            continue
        index = repeat_sales_index(
            first - start, second - start, pairs["first_amount"].to_numpy(),
            pairs["second_amount"].to_numpy(), n_periods=n_periods,
            base=int(second[moved].max()) - start,
        )  # fmt: skip
        told = np.flatnonzero(index.tied & np.isfinite(index.low))
        return _table(
            scope, family, [_label(start + int(i), months) for i in told], index.index[told],
            index.low[told], index.high[told], index.n_pairs[told],
        )  # fmt: skip
    return _table(scope, family, [], np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0, np.int64))


def _table(
    scope: str, family: str, period: list[str], level: Floats, low: Floats, high: Floats, n: Ints
) -> pa.Table:
    return pa.table(
        {
            "scope": pa.array([scope] * len(period), pa.string()),
            "family_id": pa.array([family] * len(period), pa.string()),
            "period": pa.array(period, pa.string()),
            "price_level": pa.array(np.round(level, DECIMALS), pa.float64()),
            "low": pa.array(np.round(low, DECIMALS), pa.float64()),
            "high": pa.array(np.round(high, DECIMALS), pa.float64()),
            "n_pairs": pa.array(n, pa.int64()),
        }
    )


def _periods(days: pa.ChunkedArray, months: int) -> Ints:
    month = days.to_numpy().astype("datetime64[M]").astype(np.int64) + 1970 * 12
    return np.asarray(month // months)


def _label(period: int, months: int) -> str:
    if months == 12:
        return f"{period:04d}"
    year, quarter = divmod(period, 4)
    return f"{year:04d}-Q{quarter + 1}"
