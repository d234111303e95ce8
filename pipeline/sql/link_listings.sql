-- The same listing exported again: by source and listing number, or, where a source numbers
-- nothing, by the digest of all its cells. The row of the newest export counts (file_rank rises
-- with the newest sale in a file, then with its name; then the later line).
-- Reads: keys (row_key, source_id, listing_key, values_digest, file_rank, line_number,
-- has_number). Makes: dropped (row_key, kept_key, reason, score).
CREATE OR REPLACE TABLE dropped AS
WITH often AS (
    SELECT listing_key
    FROM keys
    GROUP BY listing_key
    HAVING count(*) > 1
),
kept AS (
    SELECT
        k.listing_key,
        arg_max(k.row_key, (k.file_rank, k.line_number)) AS kept_key,
        arg_max(k.values_digest, (k.file_rank, k.line_number)) AS kept_digest
    FROM keys AS k
    SEMI JOIN often USING (listing_key)
    GROUP BY k.listing_key
)
SELECT
    k.row_key,
    p.kept_key,
    CASE
        WHEN NOT k.has_number THEN 'same_row'
        WHEN k.values_digest = p.kept_digest THEN 'same_listing'
        ELSE 'corrected_listing'
    END AS reason,
    100.0 AS score
FROM keys AS k
INNER JOIN kept AS p USING (listing_key)
WHERE k.row_key <> p.kept_key;
