-- One row a block that holds more than one row: a block is one value of one rule.
-- Reads: link_keys (rule, block, row_key). Makes: link_blocks.
CREATE OR REPLACE TABLE link_blocks AS
SELECT
    rule,
    block,
    count(*) AS n
FROM link_keys
GROUP BY rule, block
HAVING count(*) > 1;
