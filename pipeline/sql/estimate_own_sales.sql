-- The sales that an estimate calls its own: of one category and attribution class.
-- A join and no list_contains, so that parts of the table without such categories are passed over.
-- Reads: sales. Gives: category_id, attribution, n, newest_sold_on.
SELECT
    category_id,
    attribution,
    count(*) AS n,
    max(sold_on) AS newest_sold_on
FROM sales
WHERE is_comparable AND category_id IN (SELECT unnest($categories::VARCHAR[]))
GROUP BY category_id, attribution
ORDER BY category_id, n DESC, attribution;
