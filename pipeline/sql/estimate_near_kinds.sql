-- Where a kind has too few sales: the kind above it and those beside it that have enough, most first.
-- Reads: price_bands, concepts. Gives: category_id, pref_label, n.
SELECT
    b.category_id,
    c.pref_label,
    max(b.n_own) AS n
FROM price_bands AS b
INNER JOIN concepts AS c ON b.category_id = c.concept_id AND c.kind = 'category'
INNER JOIN concepts AS o ON o.concept_id = $category AND o.kind = 'category'
WHERE
    (c.concept_id = o.broader_id OR c.broader_id = o.broader_id)
    AND c.concept_id <> $category
    AND b.attribution = $attribution
    AND b.condition = 'any'
    AND b.set_size = 'single'
    AND b.n_own >= $least
GROUP BY b.category_id, c.pref_label
ORDER BY n DESC, b.category_id
LIMIT 3;
