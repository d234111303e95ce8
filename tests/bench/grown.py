"""A published database of millions of sales, made out of the demo's in minutes.

Reading ten million rows anew takes long and says nothing of estimates. So the demo is refreshed as
it is, and every sale of it is told again with a key, a day and a price of its own: the price moved
by a seeded scatter of about 25 %, the day by up to four years back. What an estimate asks for is
then made by the project's own writers: `sales` in the declared order, the bands
(`stages.summarise`), the price model with its tables (`stages.model`), the log, and the publishing.
Links and screening are left as the demo's; no estimate reads them.
"""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import duckdb

from pipeline.answers.init import make_workspace
from pipeline.answers.lookup import vocabulary_of
from pipeline.build import as_of, count_markets
from pipeline.columns import MARKET_COUNTS, PRICE_BANDS, REFRESHES, SALES
from pipeline.refresh import refresh
from pipeline.sql import run
from pipeline.stages.model import TABLES, summarise_by_model
from pipeline.stages.publish import comment, put_in_place, time_stamp
from pipeline.stages.summarise import summarise
from pipeline.table_def import sql_type
from pipeline.versions import METHOD_VERSION, __version__
from pipeline.workspace import Workspace

_MADE = {
    "sale_id": "CASE WHEN k = 0 THEN sale_id ELSE sale_id || '~' || k END",
    "sold_on": "CASE WHEN k = 0 THEN sold_on ELSE sold_on - (hash(sale_id, k) % 1461)::INTEGER END",
    "compared_amount": "greatest(0.01, compared_amount::DOUBLE * exp(0.25 * ("
    "(hash(k, sale_id) % 1000) / 500.0 - 1)))",
}


def grow(folder: Path, n_sales: int) -> Workspace:
    """Make a workspace in a folder whose database holds about so many sales."""
    make_workspace(folder, demo=True)
    refresh(folder)
    place = Workspace.at(folder)
    built = place.curated / "grown.duckdb"
    shutil.copy2(place.database, built)
    con = duckdb.connect(str(built))
    try:
        con.execute("SET preserve_insertion_order = false")
        con.execute("SET memory_limit = '8GB'")
        _repeat(con, n_sales)
        _bands_and_model(con, place)
        con.execute("CHECKPOINT")
    finally:
        con.close()
    put_in_place(place, built, time_stamp(), 0)
    return place


def _repeat(con: duckdb.DuckDBPyConnection, n_sales: int) -> None:
    (n,) = con.execute("SELECT count(*) FROM sales").fetchall()[0]
    listed = ", ".join(
        f'({_MADE.get(c.name, c.name)})::{sql_type(c.type)} AS "{c.name}"' for c in SALES.columns
    )
    order = ", ".join(dict.fromkeys((*SALES.sort, *SALES.key)))
    con.execute("ALTER TABLE sales RENAME TO first_sales")
    con.execute(SALES.ddl())
    con.execute("SET preserve_insertion_order = true")
    con.execute(
        f"INSERT INTO sales SELECT {listed} FROM first_sales, range({max(n_sales // n, 1)}) AS t(k) "
        f"ORDER BY {order}"
    )
    con.execute("SET preserve_insertion_order = false")
    con.execute("DROP TABLE first_sales")


def _bands_and_model(con: duckdb.DuckDBPyConnection, place: Workspace) -> None:
    settings = place.settings()
    for table in (MARKET_COUNTS, PRICE_BANDS, *TABLES):
        con.execute(f"DROP TABLE {table.name}")
    count_markets(con)
    con.execute(
        "CREATE TABLE cells AS SELECT row_number() OVER () AS cell_id, * FROM (SELECT DISTINCT "
        "category_id, attribution, condition, set_size FROM sales WHERE is_comparable)"
    )
    con.execute(
        "CREATE TABLE fact_cells AS SELECT c.cell_id, s.sale_id AS row_key, "
        "s.compared_amount::DOUBLE AS amount, s.sold_on FROM sales AS s INNER JOIN cells AS c "
        "USING (category_id, attribution, condition, set_size) WHERE s.is_comparable"
    )
    con.execute("CREATE VIEW verdicts AS SELECT sale_id AS row_key, is_comparable FROM sales")
    summarise(con, vocabulary_of(place), settings, METHOD_VERSION)
    con.execute("DROP VIEW verdicts")
    for name in ("cells", "fact_cells", "band_facts"):
        con.execute(f"DROP TABLE {name}")
    summarise_by_model(con, settings.model, METHOD_VERSION)
    con.execute(f"DELETE FROM {REFRESHES.name}")
    run(
        con, "refresh_row", refresh_id="grown", refreshed_at=dt.datetime(2026, 1, 1),
        package_version=__version__, method_version=METHOD_VERSION, basis=settings.basis.kind,
        currency=settings.basis.currency, as_of=as_of(con), n_files=0, n_files_read=0,
        n_files_refused=0, settings=settings.as_json(),
    )  # fmt: skip
    run(con, "published_macros")
    comment(con)
