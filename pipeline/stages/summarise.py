"""Summarise: bands of prices from the sales that can be compared.

Read: `fact_cells`, `cells`, `scores` and the vocabulary. Work: sets, in SQL; quantiles are exact.
Write: `price_bands`.
"""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.settings import Settings
from pipeline.sql import run
from pipeline.statistics.quantiles import least_count_that_bounds, median_interval_ranks
from pipeline.terms.vocabulary import Vocabulary


def summarise(
    con: duckdb.DuckDBPyConnection, vocabulary: Vocabulary, settings: Settings, method: str
) -> None:
    """Make `price_bands`: one row a category x condition (and any) x attribution x set size."""
    paths, levels = concept_paths(vocabulary)
    con.register("concept_paths", paths)
    con.register("category_levels", levels)
    run(con, "band_facts")
    con.register("interval_ranks", interval_ranks(_counts(con)))
    run(con, "macros")
    run(
        con,
        "price_bands",
        min_sales=settings.bands.min_sales,
        p90_bounded_from=least_count_that_bounds(0.90),
        currency=settings.basis.currency,
        basis=settings.basis.kind,
        method_version=method,
    )
    for name in ("concept_paths", "category_levels", "interval_ranks"):
        con.unregister(name)


def concept_paths(vocabulary: Vocabulary) -> tuple[pa.Table, pa.Table]:
    """Every category with itself and each one above it, and the level of each category.

    Returns:
        Tables (category_id, ancestor_id) and (category_id, level).
    """
    concepts = vocabulary.concepts("category")
    has_narrower = {c.broader for c in concepts}
    pairs = [
        (c.id, above) for c in concepts for above in (c.id, *vocabulary.ancestors("category", c.id))
    ]
    levels = [
        "family" if c.broader is None else "branch" if c.id in has_narrower else "kind"
        for c in concepts
    ]
    return (
        pa.table(
            {"category_id": [p[0] for p in pairs], "ancestor_id": [p[1] for p in pairs]},
            schema=pa.schema([("category_id", pa.string()), ("ancestor_id", pa.string())]),
        ),
        pa.table(
            {"category_id": [c.id for c in concepts], "level": levels},
            schema=pa.schema([("category_id", pa.string()), ("level", pa.string())]),
        ),
    )


def _counts(con: duckdb.DuckDBPyConnection) -> list[int]:
    return [n for (n,) in run(con, "band_counts").fetchall()]


def interval_ranks(counts: list[int]) -> pa.Table:
    """Ranks of the order statistics that hold the median at 95 %, for each count that has them."""
    n = np.array(counts, dtype=np.int64)
    if not len(n):
        n = np.array([6], dtype=np.int64)
    ranks = median_interval_ranks(n, 0.95)
    low, high, coverage = (np.asarray(x) for x in ranks)
    found = low > 0
    return pa.table(
        {
            "n": n[found],
            "low_rank": low[found].astype(np.int64),
            "high_rank": high[found].astype(np.int64),
            "coverage": coverage[found],
        }
    )
