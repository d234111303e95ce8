-- One row a pair of rows that share a block, each pair once, the smaller key first. Blocks of up
-- to `most` rows are compared whole. Fuller ones are parted by `finer`, which only like rows
-- share; a part that is still too full is not compared all with all, but each row with the
-- part's smallest key, so that ten thousand rows of one title make ten thousand pairs.
-- Two rows go on only if enough of their words are the same ($share of the fewer; 64 bits, a word
-- a bit). A rule in $across pairs rows of different sides alone; one in $led, rows of which one at
-- least leads.
-- Reads: link_keys, link_blocks, link_marks (row_key, signature, side, leads, finer).
-- Makes: link_pairs (a, b, rule).
CREATE OR REPLACE TABLE link_full AS
SELECT
    k.rule,
    hash(k.block, m.finer) AS part,
    b.most,
    k.row_key
FROM link_keys AS k
INNER JOIN link_blocks AS b ON b.rule = k.rule AND b.block = k.block AND b.n > b.most
INNER JOIN link_marks AS m USING (row_key);

CREATE OR REPLACE TABLE link_parts AS
SELECT
    rule,
    part,
    any_value(most) AS most,
    count(*) AS n,
    min(row_key) AS smallest
FROM link_full
GROUP BY rule, part
HAVING count(*) > 1;

CREATE OR REPLACE TABLE link_pairs AS
WITH small AS (
    SELECT
        k.rule,
        k.block,
        k.row_key,
        m.signature,
        m.side,
        m.leads
    FROM link_keys AS k
    INNER JOIN link_blocks AS b ON b.rule = k.rule AND b.block = k.block AND b.n <= b.most
    INNER JOIN link_marks AS m USING (row_key)
),
parted AS (
    SELECT
        f.rule,
        f.part AS block,
        f.row_key,
        m.signature,
        m.side,
        m.leads
    FROM link_full AS f
    INNER JOIN link_parts AS p ON p.rule = f.rule AND p.part = f.part AND p.n <= p.most
    INNER JOIN link_marks AS m USING (row_key)
),
together AS (
    SELECT rule, block, row_key, signature, side, leads FROM small
    UNION ALL
    SELECT rule, hash(block, 'part'), row_key, signature, side, leads FROM parted
),
met AS (
    SELECT
        x.row_key AS a,
        y.row_key AS b,
        x.rule
    FROM together AS x
    INNER JOIN together AS y
        ON y.rule = x.rule AND y.block = x.block AND y.row_key > x.row_key
    WHERE bit_count(x.signature & y.signature)
        >= $share * least(bit_count(x.signature), bit_count(y.signature))
        AND (x.side <> y.side OR NOT list_contains($across::TINYINT[], x.rule))
        AND (x.leads OR y.leads OR NOT list_contains($led::TINYINT[], x.rule))
    UNION ALL
    SELECT
        p.smallest,
        f.row_key,
        f.rule
    FROM link_full AS f
    INNER JOIN link_parts AS p ON p.rule = f.rule AND p.part = f.part AND p.n > p.most
    WHERE f.row_key > p.smallest
)
SELECT
    a,
    b,
    min(rule) AS rule
FROM met
GROUP BY a, b;
