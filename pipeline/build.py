"""Build: from prepared rows to a finished database, by sets.

Every step is a .sql file; this module binds their values and keeps the order. The database is
built beside the published one and is nobody's until `publish` puts it in place.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq

from pipeline import reasons
from pipeline.columns import (
    CONCEPTS,
    CORRECTIONS,
    DUPLICATES,
    LABELS,
    MARKET_COUNTS,
    MEANINGS,
    REFRESH_FILES,
    SALES,
    SET_ASIDE,
    TERM_MATCHES,
)
from pipeline.corrections import prove_corrections, row_digest_sql
from pipeline.database import quoted
from pipeline.intake import FileRecord, aside_path
from pipeline.progress import Progress
from pipeline.settings import Settings
from pipeline.sql import run, text_of
from pipeline.stages.link import link_listings, link_sales
from pipeline.stages.model import summarise_by_model
from pipeline.stages.normalise import FIELDS, TermReader, read_field
from pipeline.stages.resale_index import index_resales
from pipeline.stages.screen import screen, screen_by_terms
from pipeline.stages.summarise import summarise
from pipeline.table_def import TableDef, sql_type
from pipeline.terms.vocabulary import Vocabulary

TEXT_COLUMNS = [f"{name}_text" for name in MEANINGS if name != "listing_id"]


def open_build(path: Path, settings: Settings) -> duckdb.DuckDBPyConnection:
    """A fresh database at `path`, within the memory that the settings allow."""
    for leftover in (path, path.with_name(path.name + ".wal")):
        leftover.unlink(missing_ok=True)
    con = duckdb.connect(str(path))
    con.execute(f"SET memory_limit = '{settings.refresh.memory}'")
    con.execute("SET preserve_insertion_order = false")
    con.execute("SET enable_progress_bar = false")
    return con


def build(
    con: duckdb.DuckDBPyConnection,
    records: Sequence[FileRecord],
    reader: TermReader,
    settings: Settings,
    person_decisions: pa.Table,
    link_decisions: pa.Table,
    corrections: pa.Table,
    method: str,
    progress: Progress,
) -> None:
    """Make every published table but `refreshes` and `check_results`.

    Args:
        con: an empty database.
        records: the exports; those that are in have prepared rows on disk.
        person_decisions: columns sale_id, action (keep or leave_out).
        link_decisions: columns sale_id, other_sale_id, link (same or different).
        corrections: what people mended (`pipeline.corrections`).
        method: version of the method, for the bands.
    """
    con.register("person_decisions", person_decisions)
    _rows_view(con, [r for r in records if r.is_in and r.prepared])
    progress.stage("finding what was told twice")
    con.register("said_links", link_decisions)
    run(con, "keys")
    con.unregister("said_links")
    link_listings(con)
    con.execute("DROP TABLE keys")
    prove_corrections(con, corrections)
    link_sales(con, link_decisions, settings.link)
    progress.stage("screening")
    run(con, "facts", window_days=settings.screen.window_days)
    screen(con, settings.screen)
    screen_by_terms(con, settings.screen)
    run(
        con,
        "verdicts",
        threshold=settings.screen.threshold,
        explained_within=settings.screen.explained_within,
        order_of_flags=list(reasons.FLAGS),
    )
    progress.stage("making the bands")
    summarise(con, reader.vocabulary, settings, method)
    progress.stage("writing the sales")
    _sales(con)
    count_markets(con)
    if settings.model.enabled:
        progress.stage("fitting the price model")
    summarise_by_model(con, settings.model, method)
    index_resales(con, method)
    _set_aside(con, records)
    _duplicates(con)
    _corrections(con)
    _term_matches(con, reader)
    _vocabulary(con, reader.vocabulary)
    _files(con, records)
    for view in ("rows",):
        con.execute(f"DROP VIEW {view}")
    for table in (
        "dropped", "piece_links", "repeat_listings", "repeat_rows", "parted_rows",
        "applied_corrections", "facts", "cells", "fact_cells", "scores", "term_scores",
        "verdicts", "band_facts", "file_order",
    ):  # fmt: skip
        con.execute(f"DROP TABLE {table}")
    con.unregister("person_decisions")


def _rows_view(con: duckdb.DuckDBPyConnection, records: Sequence[FileRecord]) -> None:
    """`rows`: every prepared row with its key, the rank of its file and the key of its sale."""
    listed = ", ".join(quoted(str(r.prepared)) for r in records)
    source = f"read_parquet([{listed}])" if records else _no_rows(con)
    con.execute(
        f"""
        CREATE TABLE file_order AS
        WITH newest AS (
            SELECT file_id, max(sold_on) AS newest FROM {source} GROUP BY file_id
        )
        SELECT file_id, row_number() OVER (ORDER BY coalesce(newest, DATE '0001-01-01'), path)
            ::BIGINT AS file_rank
        FROM newest INNER JOIN (SELECT * FROM (VALUES {_values(records)}) AS t(file_id, path))
            USING (file_id)
        """
    )
    # A listing of several pieces: one export shows its number on several days. Each day is a sale
    # of its own; the first keeps the plain key, the others take the day as well.
    con.execute(
        f"""
        CREATE TABLE repeat_listings AS
        WITH by_file AS (
            SELECT
                source_id, listing_id, min(sold_on) AS first_day,
                min(sold_on) <> max(sold_on) AS on_several_days
            FROM {source}
            WHERE listing_id IS NOT NULL AND aside_reason IS NULL
            GROUP BY source_id, listing_id, file_id
        )
        SELECT source_id, listing_id, min(first_day) AS first_day
        FROM by_file
        GROUP BY source_id, listing_id
        HAVING bool_or(on_several_days)
        """
    )
    _repeat_rows(con, source)
    texts = ", ".join(f'p."{c}"' for c in TEXT_COLUMNS)
    plain = f"p.source_id || ':~' || coalesce(p.kept_digest, {row_digest_sql('p')})"
    con.execute(
        f"""
        CREATE VIEW rows AS
        SELECT
            p.*,
            f.file_rank,
            f.file_rank * 8589934592 + p.line_number AS row_key,
            hash({texts}, p.other_cells) AS values_digest,
            CASE WHEN s.first_day IS NOT NULL THEN p.sold_on END AS listing_day,
            CASE
                WHEN p.sold_on > s.first_day
                    THEN p.source_id || ':' || p.listing_id || '@' || p.sold_on::VARCHAR
                WHEN p.listing_id IS NOT NULL THEN p.source_id || ':' || p.listing_id
                WHEN n.nth IS NOT NULL THEN {plain} || '#' || n.nth
                ELSE {plain}
            END AS sale_id,
            n.nth,
            CASE WHEN n.nth IS NOT NULL THEN {plain} END AS repeats_sale_id
        FROM {source} AS p
        INNER JOIN file_order AS f USING (file_id)
        LEFT JOIN repeat_rows AS n
            ON n.file_id = p.file_id AND n.line_number = p.line_number
        LEFT JOIN repeat_listings AS s
            ON s.source_id = p.source_id AND s.listing_id = p.listing_id
        """
    )


def _repeat_rows(con: duckdb.DuckDBPyConnection, source: str) -> None:
    """`repeat_rows`: lines without a number whose cells stand again further down in their file.

    The last such line keeps the plain key; the others are counted from it upwards (2, 3 ...), so
    that each can be named, and the second of one export is the second of the next.
    """
    con.execute(
        f"""
        CREATE TABLE repeat_rows AS
        WITH unnumbered AS (
            SELECT file_id, line_number, coalesce(kept_digest, {row_digest_sql("p")}) AS digest
            FROM {source} AS p
            WHERE listing_id IS NULL AND aside_reason IS NULL
        ),
        often AS (
            SELECT file_id, digest FROM unnumbered GROUP BY ALL HAVING count(*) > 1
        ),
        counted AS (
            SELECT
                file_id, line_number,
                row_number() OVER (PARTITION BY file_id, digest ORDER BY line_number DESC) AS nth
            FROM unnumbered SEMI JOIN often USING (file_id, digest)
        )
        SELECT file_id, line_number, nth FROM counted WHERE nth > 1
        """
    )


def _no_rows(con: duckdb.DuckDBPyConnection) -> str:
    """An empty table with the columns of prepared rows, for a workspace without exports."""
    names = [c for c in SALES.names if c not in _MADE_BY_SETS]
    body = ", ".join(f'"{c.name}" {sql_type(c.type)}' for c in SALES.columns if c.name in names)
    con.execute(
        f"CREATE TEMP TABLE no_rows ({body}, term_flags VARCHAR[], price_flags VARCHAR[], "
        "aside_reason VARCHAR, aside_column VARCHAR, markers VARCHAR[], "
        "corrected VARCHAR[], kept_digest VARCHAR)"
    )
    return "no_rows"


_MADE_BY_SETS = ("sale_id", "flags", "person_flag", "is_comparable", "z_score", "group_id",
                 "is_antique", "resale_of_sale_id")  # fmt: skip


def _values(records: Sequence[FileRecord]) -> str:
    if not records:
        return "(NULL::VARCHAR, NULL::VARCHAR)"
    return ", ".join(f"({quoted(r.file_id)}, {quoted(r.path)})" for r in records)


def _sales(con: duckdb.DuckDBPyConnection) -> None:
    made = {
        "sale_id": "r.sale_id",
        "is_antique": "CASE WHEN r.made_to_year IS NOT NULL "
        "THEN r.made_to_year < year(r.sold_on) - 100 END",
        "resale_of_sale_id": "e.earlier_id",
        **{c: f"v.{c}" for c in ("z_score", "group_id", "flags", "person_flag", "is_comparable")},
    }
    body = ",\n".join(
        f'({made.get(c.name, f"r.{c.name}")})::{sql_type(c.type)} AS "{c.name}"'
        for c in SALES.columns
    )
    _fill(
        con,
        SALES,
        f"""
        SELECT {body}
        FROM rows AS r
        INNER JOIN verdicts AS v USING (row_key)
        LEFT JOIN (
            SELECT p.kept_key, x.sale_id AS earlier_id
            FROM piece_links AS p
            INNER JOIN rows AS x ON x.row_key = p.row_key
            WHERE p.reason = 'resale'
        ) AS e ON e.kept_key = r.row_key
        """,
    )


def count_markets(con: duckdb.DuckDBPyConnection) -> None:
    """Make `markets` of the sales."""
    _fill(con, MARKET_COUNTS, text_of("markets"))


def _fill(con: duckdb.DuckDBPyConnection, table: TableDef, query: str) -> None:
    """Create a declared table and fill it from a query, sorted by the keys people ask by."""
    con.execute(table.ddl())
    con.execute("SET preserve_insertion_order = true")
    order = ", ".join(f'"{k}"' for k in dict.fromkeys((*table.sort, *table.key)))
    con.execute(f'INSERT INTO "{table.name}" FROM ({query}) ORDER BY {order}')
    con.execute("SET preserve_insertion_order = false")


def _set_aside(con: duckdb.DuckDBPyConnection, records: Sequence[FileRecord]) -> None:
    lines = []
    for record in records:
        if record.is_in and record.landed:
            table = pq.read_table(aside_path(record.landed))
            n = table.num_rows
            lines.append(
                table.append_column("file_id", pa.repeat(pa.scalar(record.file_id), n))
                .append_column("source_id", pa.repeat(pa.scalar(record.source_id), n))
            )  # fmt: skip
    empty = {"line_number": pa.int64(), "n_lines": pa.int64(), "reason": pa.string(),
             "cells": pa.list_(pa.string()), "file_id": pa.string(),
             "source_id": pa.string()}  # fmt: skip
    con.register("lines_aside", pa.concat_tables([pa.schema(empty).empty_table(), *lines]))
    texts = ", ".join(f'"{c}"' for c in ["listing_id", *TEXT_COLUMNS])
    _fill(
        con,
        SET_ASIDE,
        f"""
        SELECT file_id, line_number, n_lines, source_id, 'ingest' AS stage, reason,
            NULL AS column_name, cells
        FROM lines_aside
        UNION ALL
        SELECT file_id, line_number, 1, source_id, 'price', aside_reason, aside_column,
            list_concat(
                list_filter([{texts}], lambda x: x IS NOT NULL),
                coalesce(map_values(other_cells), [])
            )
        FROM rows
        WHERE aside_reason IS NOT NULL
        """,
    )
    con.unregister("lines_aside")


def _duplicates(con: duckdb.DuckDBPyConnection) -> None:
    pairs = ", ".join(f"'{c.removesuffix('_text')}': r.\"{c}\"" for c in TEXT_COLUMNS)
    differs = ", ".join(
        f'CASE WHEN r."{c}" IS DISTINCT FROM k."{c}" THEN \'{c.removesuffix("_text")}\' END'
        for c in TEXT_COLUMNS
    )
    _fill(
        con,
        DUPLICATES,
        f"""
        SELECT
            k.sale_id, r.sale_id AS other_sale_id, r.file_id, r.line_number, d.reason,
            true AS is_dropped, d.score,
            list_filter([{differs}], lambda x: x IS NOT NULL) AS differs,
            map_from_entries(list_filter(map_entries(MAP {{{pairs}}}),
                lambda e: e.value IS NOT NULL)) AS cells
        FROM dropped AS d
        INNER JOIN rows AS r ON r.row_key = d.row_key
        INNER JOIN rows AS k ON k.row_key = d.kept_key
        UNION ALL
        SELECT
            k.sale_id, r.sale_id, r.file_id, r.line_number, p.reason, false, p.score, NULL, NULL
        FROM piece_links AS p
        INNER JOIN rows AS r ON r.row_key = p.row_key
        INNER JOIN rows AS k ON k.row_key = p.kept_key
        """,
    )


def _corrections(con: duckdb.DuckDBPyConnection) -> None:
    _fill(
        con,
        CORRECTIONS,
        """
        SELECT c.sale_id, c.column_name, c.expected_text, c.new_text, c.who, c.decided_on, c.why,
            r.file_id, r.line_number
        FROM applied_corrections AS c
        INNER JOIN rows AS r USING (row_key)
        """,
    )


def _term_matches(con: duckdb.DuckDBPyConnection, reader: TermReader) -> None:
    """One row a distinct spelling of a field that some row carries, and what it was read as."""
    read = []
    for kind in FIELDS:
        found = con.sql(
            f'SELECT "{kind}_text" AS text, count(*) AS n_rows FROM rows '
            f'WHERE "{kind}_text" IS NOT NULL GROUP BY 1 ORDER BY 1'
        ).to_arrow_table()
        if not found.num_rows:
            continue
        texts = found["text"].combine_chunks()
        matches = read_field(texts, kind, reader)
        columns = {c: matches[c] for c in matches.column_names if c in TERM_MATCHES.names}
        columns |= {"kind": pa.repeat(pa.scalar(kind), len(texts)), "text": texts,
                    "n_rows": found["n_rows"]}  # fmt: skip
        read.append(
            pa.table({c.name: columns[c.name] for c in TERM_MATCHES.columns}).cast(
                TERM_MATCHES.schema()
            )
        )
    con.register("matches", pa.concat_tables([TERM_MATCHES.schema().empty_table(), *read]))
    _fill(con, TERM_MATCHES, "SELECT * FROM matches")
    con.unregister("matches")


def _vocabulary(con: duckdb.DuckDBPyConnection, vocabulary: Vocabulary) -> None:
    concepts, labels = vocabulary.to_tables()
    con.register("all_concepts", concepts)
    con.register("all_labels", labels)
    for table, source in ((CONCEPTS, "all_concepts"), (LABELS, "all_labels")):
        listed = ", ".join(f'"{c}"' for c in table.names)
        _fill(con, table, f"SELECT {listed} FROM {source}")
        con.unregister(source)


def _files(con: duckdb.DuckDBPyConnection, records: Sequence[FileRecord]) -> None:
    rows = [
        {
            "file_id": r.file_id, "source_id": r.source_id, "path": r.path, "sha256": r.sha256,
            "n_bytes": r.n_bytes, "status": "read" if r.is_in else r.status, "problem": r.problem,
            "encoding": r.balance.encoding or None, "n_lines": r.balance.n_lines,
            "n_header_lines": r.balance.n_header_lines,
            "n_lines_set_aside": r.balance.n_lines_set_aside,
            "n_cell_line_breaks": r.balance.n_cell_line_breaks, "n_rows": r.balance.n_rows,
            "n_sales": 0, "n_duplicates": 0, "n_rows_set_aside": 0,
        }
        for r in records
    ]  # fmt: skip
    con.register("file_rows", pa.Table.from_pylist(rows, schema=REFRESH_FILES.schema()))
    listed = ", ".join(
        {
            "n_sales": "CASE WHEN is_in THEN coalesce(s.n, 0) ELSE 0 END AS n_sales",
            "n_duplicates": "CASE WHEN is_in THEN coalesce(d.n, 0) ELSE 0 END AS n_duplicates",
            "n_rows_set_aside": "CASE WHEN is_in THEN coalesce(a.n, 0) ELSE 0 END "
            "AS n_rows_set_aside",
        }.get(c, f"f.{c}")
        for c in REFRESH_FILES.names
    )
    _fill(
        con,
        REFRESH_FILES,
        f"""
        SELECT {listed}
        FROM (SELECT *, status = 'read' AS is_in FROM file_rows) AS f
        LEFT JOIN (SELECT file_id, count(*) AS n FROM sales GROUP BY 1) AS s USING (file_id)
        LEFT JOIN (SELECT file_id, count(*) AS n FROM duplicates WHERE is_dropped GROUP BY 1)
            AS d USING (file_id)
        LEFT JOIN (SELECT file_id, count(*) AS n FROM set_aside WHERE stage <> 'ingest'
            GROUP BY 1) AS a USING (file_id)
        """,
    )
    con.unregister("file_rows")


def as_of(con: duckdb.DuckDBPyConnection) -> dt.date | None:
    """Date of the newest sale."""
    found: dt.date | None = con.execute("SELECT max(sold_on) FROM sales").fetchall()[0][0]
    return found
