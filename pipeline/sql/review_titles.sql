-- Titles of sales that no band counts because nobody knows what they are, and whose field of
-- category does not wait itself. A row is one distinct title; a description stands in for none.
-- Reads: sales.
SELECT coalesce(title_text, description_text) AS title, count(*) AS n_sales
FROM sales
WHERE list_has_any(flags, ['category_in_review', 'no_category'])
    AND coalesce(title_text, description_text) IS NOT NULL
    AND (category_text IS NULL OR NOT list_contains($waiting::VARCHAR[], category_text))
GROUP BY ALL
ORDER BY n_sales DESC, title;
