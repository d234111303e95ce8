-- The sales that an estimate calls its own: of one category and attribution class.
-- Reads: sales. Gives: category_id, attribution, n, newest_sold_on.
SELECT
    category_id,
    attribution,
    count(*) AS n,
    max(sold_on) AS newest_sold_on
FROM sales
WHERE is_comparable AND list_contains($categories::VARCHAR[], category_id)
GROUP BY category_id, attribution
ORDER BY category_id, n DESC, attribution;
