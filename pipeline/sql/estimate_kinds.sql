-- How many sales the kinds below a category have, most first: what a vague word could mean.
-- Reads: price_bands, concepts. Gives: category_id, pref_label, n.
SELECT
    b.category_id,
    c.pref_label,
    max(b.n_own) AS n
FROM price_bands AS b
INNER JOIN concepts AS c ON b.category_id = c.concept_id AND c.kind = 'category'
WHERE c.broader_id = $category AND b.condition = 'any' AND b.set_size = 'single'
GROUP BY b.category_id, c.pref_label
ORDER BY n DESC, b.category_id
LIMIT 5;
