-- One row a pair of rows of which a person said something: 1 for the same, -1 for different.
-- Reads: rows, link_rows, said_links (sale_id, other_sale_id, link). Makes: link_said.
CREATE OR REPLACE TABLE link_said AS
WITH named_rows AS (
    SELECT r.sale_id, r.row_key
    FROM rows AS r
    SEMI JOIN (
        SELECT sale_id FROM said_links
        UNION
        SELECT other_sale_id FROM said_links
    ) AS s ON s.sale_id = r.sale_id
    SEMI JOIN link_rows AS l ON l.row_key = r.row_key
)
SELECT
    least(x.row_key, y.row_key) AS a,
    greatest(x.row_key, y.row_key) AS b,
    CASE s.link WHEN 'same' THEN 1 ELSE -1 END::TINYINT AS said
FROM said_links AS s
INNER JOIN named_rows AS x ON x.sale_id = s.sale_id
INNER JOIN named_rows AS y ON y.sale_id = s.other_sale_id;
