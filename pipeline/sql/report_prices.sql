-- The prices of the sales of one band.
-- Reads: sales, concepts.
WITH RECURSIVE below AS (
    SELECT $category_id AS category_id
    UNION
    SELECT c.concept_id
    FROM concepts AS c
    INNER JOIN below AS b ON c.broader_id = b.category_id
    WHERE c.kind = 'category'
)
SELECT s.compared_amount::DOUBLE AS amount
FROM sales AS s
SEMI JOIN below USING (category_id)
WHERE s.is_comparable
    AND s.attribution = $attribution
    AND s.set_size = $set_size
    AND (s.condition = $condition OR $condition = 'any')
ORDER BY amount;
