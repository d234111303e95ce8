-- One row a row that may be a sale, with what tells whether another row tells of it too.
-- A listing of several pieces counts once a day on which it sold (listing_day). Where a source
-- numbers nothing, rows with the same cells tell of one sale; the second in one export is the same
-- again (`is_repeat`), unless a person called it different from the first: then it counts beside
-- it (`is_apart`), as does the second of every other export.
-- Reads: rows, said_links (sale_id, other_sale_id, link; the smaller key first). Makes: keys.
CREATE OR REPLACE TABLE keys AS
SELECT
    r.row_key,
    r.source_id,
    r.listing_id IS NOT NULL AS has_number,
    CASE
        WHEN r.listing_id IS NOT NULL THEN hash(r.source_id, r.listing_id, r.listing_day)
        WHEN s.sale_id IS NOT NULL THEN hash(r.source_id, r.values_digest, r.nth)
        ELSE hash(r.source_id, r.values_digest)
    END AS listing_key,
    r.values_digest,
    r.file_rank,
    r.line_number,
    coalesce(r.nth, 1) AS nth,
    r.nth IS NOT NULL AND s.sale_id IS NULL AS is_repeat,
    s.sale_id IS NOT NULL AS is_apart
FROM rows AS r
LEFT JOIN said_links AS s
    ON s.sale_id = r.repeats_sale_id AND s.other_sale_id = r.sale_id AND s.link = 'different'
WHERE r.aside_reason IS NULL;
