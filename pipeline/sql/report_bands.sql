-- The bands of a single kind and grade with the most evidence, one grade a kind.
-- Reads: price_bands, concepts.
WITH ranked AS (
    SELECT
        b.*,
        c.pref_label AS label,
        row_number() OVER (
            PARTITION BY b.category_id ORDER BY b.n_sales DESC, b.condition, b.attribution
        ) AS place
    FROM price_bands AS b
    INNER JOIN concepts AS c ON c.kind = 'category' AND c.concept_id = b.category_id
    WHERE b.level <> 'family' AND b.condition <> 'any' AND b.set_size = 'single'
        AND b.n_own * 2 >= b.n_sales
)
SELECT * EXCLUDE (place)
FROM ranked
WHERE place = 1
ORDER BY n_sales DESC, category_id
LIMIT $n::INTEGER;
