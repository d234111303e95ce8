-- One row a source: its files, rows and sales.
-- Reads: refresh_files, sales.
WITH files AS (
    SELECT
        source_id,
        count(*) AS n_files,
        count(*) FILTER (WHERE status = 'refused') AS n_refused,
        sum(n_rows)::BIGINT AS n_rows,
        sum(n_duplicates)::BIGINT AS n_duplicates,
        sum(n_lines_set_aside + n_rows_set_aside)::BIGINT AS n_aside
    FROM refresh_files
    GROUP BY source_id
),
sold AS (
    SELECT
        source_id,
        any_value(market) AS market,
        count(*) AS n_sales,
        count(*) FILTER (WHERE is_comparable) AS n_comparable,
        min(sold_on) AS first_sold_on,
        max(sold_on) AS last_sold_on
    FROM sales
    GROUP BY source_id
)
SELECT
    source_id, market, n_files, n_refused, n_rows, n_duplicates, n_aside,
    coalesce(n_sales, 0) AS n_sales, coalesce(n_comparable, 0) AS n_comparable,
    first_sold_on, last_sold_on
FROM files
LEFT JOIN sold USING (source_id)
ORDER BY source_id;
