-- The same listing exported again: by source and listing number, or, where a source numbers
-- nothing, by the digest of all its cells. The row of the newest export counts (file_rank rises
-- with the newest sale in a file, then with its name; then the later line). Of the same cells twice
-- in one export, without a number, nobody can tell whether a line was exported twice or two like
-- pieces sold alike: they count once, under a reason of their own, until a person parts them.
-- Reads: keys. Makes: dropped (row_key, kept_key, reason, score), and parted_rows (row_key, side):
-- rows that a person parted, with what they share, so that no likeness joins them again.
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
        arg_max(k.row_key, (-k.nth, k.file_rank, k.line_number)) AS kept_key,
        arg_max(k.values_digest, (-k.nth, k.file_rank, k.line_number)) AS kept_digest
    FROM keys AS k
    SEMI JOIN often USING (listing_key)
    GROUP BY k.listing_key
)
SELECT
    k.row_key,
    p.kept_key,
    CASE
        WHEN k.is_repeat THEN 'repeated_row'
        WHEN NOT k.has_number THEN 'same_row'
        WHEN k.values_digest = p.kept_digest THEN 'same_listing'
        ELSE 'corrected_listing'
    END AS reason,
    100.0 AS score
FROM keys AS k
INNER JOIN kept AS p USING (listing_key)
WHERE k.row_key <> p.kept_key;

CREATE OR REPLACE TABLE parted_rows AS
SELECT k.row_key, hash(k.source_id, k.values_digest) AS side
FROM keys AS k
SEMI JOIN (
    SELECT source_id, values_digest FROM keys WHERE is_apart
) AS p ON p.source_id = k.source_id AND p.values_digest = k.values_digest
WHERE NOT k.has_number;
