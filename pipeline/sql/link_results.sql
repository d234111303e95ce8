-- What linking found, in the shape in which it is kept. A row whose kept row went itself is moved
-- to the row that stays.
-- Reads: rows, dropped, found_dropped, found_pieces, found_doubts, found_rules.
-- Makes: piece_links; fills dropped, link_review, link_rules.
CREATE OR REPLACE TABLE dropped AS
SELECT
    d.row_key,
    coalesce(f.kept_key, d.kept_key) AS kept_key,
    d.reason,
    d.score
FROM dropped AS d
LEFT JOIN found_dropped AS f ON f.row_key = d.kept_key
UNION ALL
SELECT row_key, kept_key, 'same_event', round(score, 2)
FROM found_dropped;

CREATE OR REPLACE TABLE piece_links AS
SELECT
    earlier AS row_key,
    later AS kept_key,
    kind AS reason,
    round(score, 2) AS score
FROM found_pieces;

INSERT INTO link_review
SELECT
    y.sale_id,
    x.sale_id AS other_sale_id,
    d.kind AS proposed,
    round(d.score, 2) AS score,
    x.title_text AS other_title_text,
    y.title_text,
    d.evidence
FROM found_doubts AS d
INNER JOIN rows AS x ON x.row_key = d.a
INNER JOIN rows AS y ON y.row_key = d.b
ORDER BY y.sale_id, x.sale_id;

INSERT INTO link_rules
SELECT * FROM found_rules
ORDER BY rule;
