-- One row a pair of rows that share a block, each pair once, the smaller key first. Blocks of up
-- to `most` rows are compared whole; of fuller ones only those of a rule in $starred are compared
-- at all, each row with the block's smallest key, so that ten thousand like rows make ten thousand
-- pairs.
-- Two rows go on only if enough of their words are the same: $share of the fewer, and more of them
-- ($share_in_company) where the block holds over $company rows (64 bits, a word a bit). A rule in
-- $across pairs rows of different sides alone; one in $led, rows of which one at least leads.
-- Reads: link_keys, link_blocks, link_marks (row_key, signature, side, leads).
-- Makes: link_pairs (a, b, rule).
CREATE OR REPLACE TABLE link_members AS
SELECT
    k.rule,
    k.block,
    k.row_key,
    b.n,
    m.signature,
    m.side,
    m.leads
FROM link_keys AS k
INNER JOIN link_blocks AS b ON b.rule = k.rule AND b.block = k.block AND b.n <= b.most
INNER JOIN link_marks AS m USING (row_key);

CREATE OR REPLACE TABLE link_pairs AS
WITH full_blocks AS (
    SELECT
        k.rule,
        k.block,
        min(k.row_key) AS smallest
    FROM link_keys AS k
    INNER JOIN link_blocks AS b ON b.rule = k.rule AND b.block = k.block AND b.n > b.most
    WHERE list_contains($starred::TINYINT[], k.rule)
    GROUP BY k.rule, k.block
),
met AS (
    SELECT
        x.row_key AS a,
        y.row_key AS b,
        x.rule
    FROM link_members AS x
    INNER JOIN link_members AS y
        ON y.rule = x.rule AND y.block = x.block AND y.row_key > x.row_key
    WHERE bit_count(x.signature & y.signature)
        >= CASE WHEN x.n > $company THEN $share_in_company ELSE $share END
            * least(bit_count(x.signature), bit_count(y.signature))
        AND (x.side <> y.side OR NOT list_contains($across::TINYINT[], x.rule))
        AND (x.leads OR y.leads OR NOT list_contains($led::TINYINT[], x.rule))
    UNION ALL
    SELECT
        f.smallest,
        k.row_key,
        k.rule
    FROM full_blocks AS f
    INNER JOIN link_keys AS k ON k.rule = f.rule AND k.block = f.block AND k.row_key > f.smallest
)
SELECT
    a,
    b,
    min(rule) AS rule
FROM met
GROUP BY a, b;
