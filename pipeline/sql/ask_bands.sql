-- Every band of one category and set size.
-- Reads: price_bands.
SELECT *
FROM price_bands
WHERE category_id = $category_id AND set_size = $set_size
ORDER BY attribution, condition = 'any' DESC, condition;
