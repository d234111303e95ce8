"""How long the linking of made-up sales takes, and how much memory it needs."""

from __future__ import annotations

import resource
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import duckdb

from pipeline.linking.decisions import SCHEMA
from pipeline.settings import LinkSettings
from pipeline.stages.link import link_sales

WORDS = {
    "age": "Victorian,Georgian,Edwardian,Art Deco,antique,vintage,c1860,19th century,circa 1920,"
           "Regency,1930s,late 18th century",
    "stuff": "mahogany,oak,walnut,pine,brass,silver,glass,porcelain,copper,pewter,rosewood,"
             "satinwood,elm,bronze,silk",
    "kind": "chest of drawers,dining chair,mantel clock,table lamp,oil lamp,side table,"
            "corner cupboard,wall mirror,wine glass,decanter,teapot,vase,plate,bowl,candlestick,"
            "tankard,etching,engraving,map,globe,rug,sampler,quilt,brooch,locket,doll,"
            "rocking horse,barometer,writing box,tea caddy,bookcase,wardrobe,stool,jug,figurine,"
            "paperweight,coffee pot,salver,toast rack,copper kettle",
    "more": "signed,rare,lovely,small,large,with label,restored,old repair,original,chipped,"
            "in need of attention,beautiful,ornate,unusual,fine,heavy,from a country house,"
            "must see,boxed,marked",
    "feature": "with turned legs,on bracket feet,with painted dial,with engraved crest,"
               "with floral border,with hinged lid,with brass handles,with carved frieze,"
               "with gilt rim,with blue glaze,with original key,with glass shade",
    "grade": "good,very good,fair,excellent,used,poor,mint,good with some wear",
}  # fmt: skip

TEXTS = ("description", "category", "material", "period", "attribution", "maker", "size", "shipping",
         "premium", "place", "url")  # fmt: skip


def make_sales(con: duckdb.DuckDBPyConnection, n: int) -> None:
    """`rows` and `dropped` as they stand before linking; 1 in 50 sales is told twice.

    Prices are round as people ask them; a title has four to twelve words, one of them a number
    out of 100,000.
    """
    lists = {
        name: "[" + ", ".join(f"'{word}'" for word in text.split(",")) + "]"
        for name, text in WORDS.items()
    }

    def pick(name: str, salt: int) -> str:
        return f"{lists[name]}[1 + (hash(i, {salt}) % len({lists[name]}))::INT]"

    con.execute("SELECT setseed(0.5)")
    nulls = ", ".join(f'NULL::VARCHAR AS "{c}_text"' for c in TEXTS)
    con.execute(
        f"""
        CREATE TABLE rows AS
        WITH drawn AS (
            SELECT
                k AS row_key,
                -- a second telling draws what the first one drew
                CASE WHEN hash(k, 1) % 50 = 0 THEN greatest(k - 1, 0) ELSE k END AS i,
                hash(k, 2) % 3 AS s
            FROM range({n}) AS t(k)
        ),
        told AS (
            SELECT *, {pick("kind", 3)} AS kind,
                exp(3 + (hash(i, 9) % 17) * 0.25 + 0.7 * (
                    (hash(i, 10) % 1000 + hash(i, 11) % 1000 + hash(i, 12) % 1000) / 500.0 - 3
                )) AS price
            FROM drawn
        )
        SELECT
            row_key::BIGINT AS row_key,
            ['rooms', 'stall', 'ledger'][1 + s::INT] AS source_id,
            CASE WHEN s < 2 THEN row_key::VARCHAR END AS listing_id,
            ['rooms', 'stall', 'ledger'][1 + s::INT] || ':' || row_key AS sale_id,
            's' || s AS file_id,
            kind AS category_id,
            NULL::VARCHAR AS aside_reason,
            DATE '2023-01-01' + (hash(i, 13) % 1380)::INT AS sold_on,
            CASE WHEN hash(row_key, 14) % 10 = 0 THEN ['not_sold'] ELSE [] END::VARCHAR[]
                AS price_flags,
            concat_ws(' ', {pick("age", 4)}, {pick("stuff", 5)}, kind || ',',
                {pick("feature", 6)} || ',', {pick("more", 7)} || ', ref',
                (hash(i, 8) % 100000)::VARCHAR) AS title_text,
            {pick("grade", 15)} AS condition_text,
            'unknown' AS condition,
            (CASE WHEN price < 100 THEN round(price) + 1 ELSE round(price, -1) END)
                ::DECIMAL(18, 4) AS lot_amount,
            lot_amount AS price_amount, lot_amount AS basis_amount,
            lot_amount::VARCHAR AS price_text, 'GBP' AS currency, 1.0::DOUBLE AS rate,
            NULL::VARCHAR AS material_id, NULL::VARCHAR AS maker_id, 'unknown' AS attribution,
            NULL::INTEGER AS made_from_year, NULL::INTEGER AS made_to_year, 'single' AS lot_kind,
            1::INTEGER AS n_pieces, NULL::MAP(VARCHAR, DOUBLE) AS measures,
            NULL::MAP(VARCHAR, VARCHAR) AS other_cells, {nulls}
        FROM told
        """
    )
    con.execute(
        "CREATE TABLE dropped (row_key BIGINT, kept_key BIGINT, reason VARCHAR, score DOUBLE)"
    )
    con.execute("CREATE TABLE parted_rows (row_key BIGINT, side UBIGINT)")


def time_sales(n: int, memory: str = "4GB") -> Iterator[str]:
    """Sentences: seconds, peak memory, and what was found."""
    with tempfile.TemporaryDirectory() as folder, duckdb.connect(str(Path(folder) / "x.db")) as con:
        con.execute(f"SET memory_limit = '{memory}'")
        con.execute(f"SET temp_directory = '{folder}/scratch'")
        con.execute("SET preserve_insertion_order = false")
        make_sales(con, n)
        con.execute("CHECKPOINT")
        wall, used = time.perf_counter(), time.process_time()
        link_sales(con, SCHEMA.empty_table(), LinkSettings())
        wall, used = time.perf_counter() - wall, time.process_time() - used
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        dropped = con.execute("SELECT count(*) FROM dropped").fetchall()[0][0]
        pieces = con.execute("SELECT count(*) FROM piece_links").fetchall()[0][0]
        doubts = con.execute("SELECT count(*) FROM link_review").fetchall()[0][0]
        yield (
            f"{n:,} sales: {wall:.1f} s ({used:.1f} s of processor), {peak:.1f} GB at most, "
            f"{dropped:,} rows dropped, {pieces:,} links of pieces, {doubts:,} pairs to look at"
        )
        for rule in con.execute("FROM link_rules").fetchall():
            yield "  {}: {:,} blocks, {:,} pairs, {:,} full blocks of {:,} rows, {:,} pairs skipped, up to {:,} rows".format(
                *rule
            )
