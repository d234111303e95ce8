-- One row a block that holds more than one row: a block is one value of one rule.
-- `most`: rows up to which a block of the rule is compared whole. That is $block_rows, or less
-- where the pairs of all blocks of the rule would be over $most_pairs: the rarest go first.
-- Reads: link_keys (rule, block, row_key). Makes: link_blocks (rule, block, n, most).
CREATE OR REPLACE TABLE link_blocks AS
WITH sized AS (
    SELECT
        rule,
        block,
        count(*) AS n
    FROM link_keys
    GROUP BY rule, block
    HAVING count(*) > 1
),
added_up AS (
    SELECT
        rule,
        n,
        sum(sum(n * (n - 1) // 2)) OVER (PARTITION BY rule ORDER BY n) AS n_pairs
    FROM sized
    WHERE n <= $block_rows
    GROUP BY rule, n
),
allowed AS (
    SELECT
        rule,
        CASE
            WHEN max(n_pairs) <= $most_pairs THEN $block_rows::BIGINT
            ELSE coalesce(max(n) FILTER (n_pairs <= $most_pairs), 1)
        END AS most
    FROM added_up
    GROUP BY rule
)
SELECT
    s.rule,
    s.block,
    s.n,
    coalesce(a.most, $block_rows)::BIGINT AS most
FROM sized AS s
LEFT JOIN allowed AS a ON a.rule = s.rule;
