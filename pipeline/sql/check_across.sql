-- One row a row at fault of a rule that holds between tables.
-- Reads: sales, price_bands, refresh_files, set_aside. Gives: rule, row_key.
SELECT 'no_future_sale' AS rule, sale_id AS row_key
FROM sales
WHERE sold_on > $newest::DATE
UNION ALL
SELECT 'any_is_the_sum', concat_ws(' / ', category_id, attribution, set_size)
FROM price_bands
GROUP BY category_id, attribution, set_size
-- where small bands are left out ($min_sales over 1), those that are there may sum to less
HAVING coalesce(sum(n_sales) FILTER (WHERE condition = 'any'), 0)
    < coalesce(sum(n_sales) FILTER (WHERE condition <> 'any'), 0)
    OR ($min_sales = 1 AND coalesce(sum(n_sales) FILTER (WHERE condition = 'any'), 0)
        <> coalesce(sum(n_sales) FILTER (WHERE condition <> 'any'), 0))
UNION ALL
SELECT 'bands_count_sales', concat_ws(' / ', category_id, attribution, set_size)
FROM (
    SELECT category_id, attribution, set_size, sum(n_own) AS n
    FROM price_bands
    WHERE condition = 'any' AND n_own > 0
    GROUP BY ALL
) AS told
FULL JOIN (
    SELECT category_id, attribution, set_size, count(*) AS n
    FROM sales
    WHERE is_comparable
    GROUP BY ALL
) AS held USING (category_id, attribution, set_size)
WHERE coalesce(told.n, 0) <> coalesce(held.n, 0) AND ($min_sales = 1 OR told.n IS NOT NULL)
UNION ALL
SELECT 'files_count_rows', f.path
FROM refresh_files AS f
LEFT JOIN (SELECT file_id, count(*) AS n FROM sales GROUP BY file_id) AS s USING (file_id)
WHERE f.status = 'read' AND f.n_sales <> coalesce(s.n, 0)
UNION ALL
SELECT 'set_aside_counted', f.path
FROM refresh_files AS f
LEFT JOIN (
    SELECT
        file_id,
        coalesce(sum(n_lines) FILTER (WHERE stage = 'ingest'), 0) AS n_lines,
        count(*) FILTER (WHERE stage <> 'ingest') AS n_rows
    FROM set_aside
    GROUP BY file_id
) AS s USING (file_id)
WHERE f.status = 'read'
    AND (f.n_lines_set_aside <> coalesce(s.n_lines, 0)
        OR f.n_rows_set_aside <> coalesce(s.n_rows, 0))
UNION ALL
SELECT 'aside_lines_exist', concat_ws(' / ', s.file_id, s.line_number)
FROM set_aside AS s
INNER JOIN refresh_files AS f USING (file_id)
WHERE f.status = 'read' AND s.line_number > f.n_lines;
