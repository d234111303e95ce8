-- Spellings of fields that wait for a person, those that hold up most sales first. A row is one
-- spelling of one kind: n_sales carry it, and of these n_held have nothing else to go by.
-- Reads: sales, term_matches. A department that nothing is known of waits only if it holds sales up.
WITH carried AS (
    SELECT 'category' AS kind, category_text AS text, count(*) AS n_sales,
        count(*) FILTER (WHERE list_has_any(flags, ['category_in_review', 'no_category'])) AS n_held
    FROM sales WHERE category_text IS NOT NULL GROUP BY ALL
    UNION ALL
    SELECT 'material', material_text, count(*), count(*) FILTER (WHERE material_id IS NULL)
    FROM sales WHERE material_text IS NOT NULL GROUP BY ALL
    UNION ALL
    SELECT 'period', period_text, count(*),
        count(*) FILTER (WHERE coalesce(period_id, made_from_year::VARCHAR, made_to_year::VARCHAR)
            IS NULL)
    FROM sales WHERE period_text IS NOT NULL GROUP BY ALL
    UNION ALL
    SELECT 'condition', condition_text, count(*), count(*) FILTER (WHERE condition = 'unknown')
    FROM sales WHERE condition_text IS NOT NULL GROUP BY ALL
    UNION ALL
    SELECT 'attribution', attribution_text, count(*),
        count(*) FILTER (WHERE attribution_id IS NULL)
    FROM sales WHERE attribution_text IS NOT NULL GROUP BY ALL
    UNION ALL
    SELECT 'maker', maker_text, count(*), count(*) FILTER (WHERE maker_id IS NULL)
    FROM sales WHERE maker_text IS NOT NULL GROUP BY ALL
)
SELECT kind, text, n_sales, n_held
FROM carried INNER JOIN term_matches AS m USING (kind, text)
WHERE m.status = 'review' OR (m.status = 'none' AND kind = 'category' AND n_held > 0)
ORDER BY n_held DESC, n_sales DESC, kind, text;
