-- The bands whose median moved most between two databases, both with at least $least sales.
-- Reads: before.price_bands, after.price_bands.
SELECT
    a.category_id, a.condition, a.attribution,
    b.median AS before_median, a.median AS after_median,
    b.n_sales AS before_n, a.n_sales AS after_n
FROM after.price_bands AS a
INNER JOIN before.price_bands AS b
    USING (category_id, condition, attribution, set_size, currency, basis)
WHERE a.n_sales >= $least AND b.n_sales >= $least AND a.median <> b.median
ORDER BY abs(ln(a.median / b.median)) DESC, a.category_id, a.condition, a.attribution
LIMIT 10;
