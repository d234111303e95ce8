-- The bands that get a pooled one beside them: of a category with sales of its own, in one grade.
-- A band of any condition mixes grades and has no one piece that could stand for it.
-- Reads: price_bands, sales. Gives: category_id, family_id, attribution, condition, set_class.
SELECT
    b.category_id,
    f.family_id,
    b.attribution,
    b.condition,
    b.set_size AS set_class
FROM price_bands AS b
INNER JOIN (
    SELECT category_id, min(family_id) AS family_id
    FROM sales
    WHERE is_comparable
    GROUP BY category_id
) AS f USING (category_id)
WHERE b.n_own > 0 AND b.condition <> 'any'
ORDER BY b.category_id, b.attribution, b.condition, b.set_size;
