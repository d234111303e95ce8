-- Every count of sales that a band will have.
-- Reads: band_facts, cells, concept_paths.
WITH counted AS (
    SELECT p.ancestor_id, w.condition, c.attribution, c.set_size, f.n
    FROM (SELECT cell_id, count(*) AS n FROM band_facts GROUP BY cell_id) AS f
    INNER JOIN cells AS c USING (cell_id)
    INNER JOIN concept_paths AS p USING (category_id)
    CROSS JOIN LATERAL (SELECT unnest([c.condition, 'any']) AS condition) AS w
)
SELECT DISTINCT sum(n)::BIGINT AS n
FROM counted
GROUP BY ancestor_id, condition, attribution, set_size
ORDER BY n;
