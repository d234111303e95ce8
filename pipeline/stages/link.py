"""Link: one row a sale, however often it was told, and the pieces that came to market again.

Read: `rows`, and what people decided on pairs. Work: the same listing exported again, in SQL; then
one event told twice and one piece offered or sold again, by blocks, evidence and clusters
(`pipeline.linking`). Write: `dropped` (rows that are no sale of their own), `piece_links` (both
rows stay), `link_review` (pairs that wait for a person) and `link_rules` (what was compared and
what was left out).
"""

from __future__ import annotations

import duckdb
import numpy as np
import pyarrow as pa

from pipeline.columns import LINK_REVIEW, LINK_RULES
from pipeline.linking.blocks import BlockingResult
from pipeline.linking.resolve import Linked, Links, Resolution, resolve
from pipeline.linking.sales import RULES, propose_links, put_away
from pipeline.settings import LinkSettings
from pipeline.sql import run, table_of


def link_listings(con: duckdb.DuckDBPyConnection) -> None:
    """Find rows that tell of a listing told already; the newest export counts.

    Args:
        con: holds `keys`; `dropped` and `parted_rows` are made.
    """
    run(con, "link_listings")


def link_sales(con: duckdb.DuckDBPyConnection, decisions: pa.Table, settings: LinkSettings) -> None:
    """Find rows that tell of one event, and rows of one piece.

    Args:
        con: holds `rows`, `parted_rows` and `dropped`; `dropped` grows, and `piece_links`,
            `link_review` and `link_rules` are made.
        decisions: columns sale_id, other_sale_id, link (same or different).
    """
    con.register("said_links", decisions)
    links, blocking = propose_links(con, settings)
    told = _links(links)
    found = resolve(told, _rows_of(con, told), settings)
    con.register("found_dropped", found.dropped)
    con.register("found_pieces", found.pieces)
    con.register("found_doubts", links.take(pa.array(found.doubtful)))
    con.register("found_rules", _rules(blocking, found, settings))
    con.execute(LINK_REVIEW.ddl())
    con.execute(LINK_RULES.ddl())
    run(con, "link_results")
    for name in ("found_dropped", "found_pieces", "found_doubts", "found_rules", "said_links"):
        con.unregister(name)
    put_away(con)


def _links(links: pa.Table) -> Links:
    return Links(
        a=links["a"].to_numpy(),
        b=links["b"].to_numpy(),
        kind=np.array(links["kind"].to_pylist(), dtype=str),
        score=links["score"].to_numpy(),
        said=links["said"].to_numpy(),
    )


def _rows_of(con: duckdb.DuckDBPyConnection, links: Links) -> Linked:
    """What resolving needs of the rows that links hold."""
    keys = pa.table({"row_key": pa.array(np.unique(np.concatenate((links.a, links.b))))})
    con.register("linked_keys", keys)
    found = table_of(con, "link_linked")
    con.unregister("linked_keys")
    column = {name: found[name].to_numpy() for name in found.column_names}
    return Linked(
        key=column["row_key"],
        side=column["side"].astype(np.uint64).view(np.int64),
        day=column["day"],
        is_offer=column["is_offer"].astype(bool),
        fullness=column["fullness"],
        order=column["place"],
    )


def _rules(blocking: list[BlockingResult], found: Resolution, settings: LinkSettings) -> pa.Table:
    rows = [
        {
            "rule": RULES[r.rule], "n_blocks": r.n_blocks, "n_pairs": r.n_pairs,
            "n_full_blocks": r.n_full, "n_rows_in_full_blocks": r.n_rows_full,
            "n_pairs_skipped": r.n_pairs_skipped, "n_rows_allowed": r.limit,
            "n_rows_too_common": r.n_rows_common,
        }
        for r in blocking
    ]  # fmt: skip
    rows.append(
        {
            "rule": "alike too often to be one piece", "n_blocks": found.n_common_clusters,
            "n_pairs": found.n_common_links, "n_full_blocks": found.n_common_clusters,
            "n_rows_in_full_blocks": found.n_common_rows,
            "n_pairs_skipped": found.n_common_links, "n_rows_allowed": settings.most_sales,
            "n_rows_too_common": found.n_common_rows,
        }
    )  # fmt: skip
    return pa.Table.from_pylist(rows, schema=LINK_RULES.schema())
