-- One row a cell of sales that could be compared: category x attribution x condition x set size.
-- Each cell is held against the finest group with at least $min_group sales: itself, else its
-- category in any condition, else its family. A cell for which even the family is too small has
-- no group, and its prices are not judged.
-- Reads: facts (row_key, category_id, family_id, attribution, condition, set_size, log_price,
-- can_compare). Makes: cells (cell_id, its keys, n_sales, group_id, group_level).
CREATE OR REPLACE TABLE cells AS
WITH counted AS (
    SELECT category_id, family_id, attribution, condition, set_size, count(*) AS n_sales
    FROM facts
    WHERE can_compare
    GROUP BY ALL
),
wider AS (
    SELECT
        *,
        sum(n_sales) OVER (PARTITION BY category_id, attribution, set_size) AS n_category,
        sum(n_sales) OVER (PARTITION BY family_id, attribution, set_size) AS n_family
    FROM counted
)
SELECT
    row_number() OVER (ORDER BY category_id, attribution, condition, set_size)::INTEGER AS cell_id,
    category_id,
    family_id,
    attribution,
    condition,
    set_size,
    n_sales,
    CASE
        WHEN n_sales >= $min_group THEN 'condition'
        WHEN n_category >= $min_group THEN 'category'
        WHEN n_family >= $min_group THEN 'family'
    END AS group_level,
    CASE
        WHEN n_sales >= $min_group
            THEN concat_ws('|', category_id, attribution, set_size, condition)
        WHEN n_category >= $min_group THEN concat_ws('|', category_id, attribution, set_size, 'any')
        WHEN n_family >= $min_group
            THEN concat_ws('|', 'family ' || family_id, attribution, set_size, 'any')
    END AS group_id
FROM wider
ORDER BY cell_id;
