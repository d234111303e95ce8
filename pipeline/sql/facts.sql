-- One row a sale, with what screening and bands need of it. A sale can be compared when nothing
-- flags it, or a person keeps it, and it has a category and a price.
-- Reads: rows, dropped, person_decisions (sale_id, action). Makes: facts.
CREATE OR REPLACE TABLE facts AS
WITH newest AS (
    SELECT max(r.sold_on) AS as_of
    FROM rows AS r
    ANTI JOIN dropped USING (row_key)
    WHERE r.aside_reason IS NULL
),
judged AS (
    SELECT
        r.row_key,
        r.category_id,
        r.family_id,
        r.attribution,
        r.condition,
        r.set_size,
        r.sold_on,
        r.compared_amount::DOUBLE AS amount,
        p.action AS person_flag,
        CASE
            WHEN r.sold_on < n.as_of - $window_days::INTEGER
                THEN list_concat(r.term_flags, r.price_flags, ['beyond_window'])
            WHEN len(r.term_flags) = 0 THEN r.price_flags
            WHEN len(r.price_flags) = 0 THEN r.term_flags
            ELSE list_concat(r.term_flags, r.price_flags)
        END AS flags
    FROM rows AS r
    CROSS JOIN newest AS n
    LEFT JOIN person_decisions AS p ON p.sale_id = r.sale_id
    ANTI JOIN dropped AS d ON d.row_key = r.row_key
    WHERE r.aside_reason IS NULL
)
SELECT
    *,
    CASE WHEN amount > 0 THEN ln(amount) END AS log_price,
    coalesce(person_flag, '') <> 'leave_out'
    AND (len(flags) = 0 OR person_flag IS NOT DISTINCT FROM 'keep')
    AND category_id IS NOT NULL
    AND coalesce(amount, 0) > 0 AS can_compare
FROM judged;
