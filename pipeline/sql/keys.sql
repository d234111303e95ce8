-- One row a row that may be a sale, with what tells whether another row tells of it too.
-- A listing of several pieces counts once a day on which it sold (listing_day).
-- Reads: rows. Makes: keys.
CREATE OR REPLACE TABLE keys AS
SELECT
    row_key,
    source_id,
    listing_id IS NOT NULL AS has_number,
    CASE
        WHEN listing_id IS NOT NULL THEN hash(source_id, listing_id, listing_day)
        ELSE hash(source_id, values_digest)
    END AS listing_key,
    values_digest,
    file_rank,
    line_number
FROM rows
WHERE aside_reason IS NULL;
