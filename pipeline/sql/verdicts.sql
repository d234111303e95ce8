-- One row a sale: all its flags, most telling first, and whether it feeds the bands. A person's
-- decision outranks the flags.
-- Reads: facts, scores. Makes: verdicts.
CREATE OR REPLACE TABLE verdicts AS
WITH told AS (
    SELECT
        f.row_key,
        f.person_flag,
        f.can_compare,
        s.group_id,
        s.z_score,
        CASE
            WHEN f.person_flag = 'leave_out' THEN list_concat(f.flags, ['left_out_by_person'])
            WHEN s.z_score >= $threshold THEN list_concat(f.flags, ['price_out_of_line_high'])
            WHEN s.z_score <= -$threshold THEN list_concat(f.flags, ['price_out_of_line_low'])
            ELSE f.flags
        END AS flags
    FROM facts AS f
    LEFT JOIN scores AS s USING (row_key)
)
SELECT
    row_key,
    person_flag,
    group_id,
    z_score,
    CASE
        WHEN len(flags) > 1 THEN list_filter($order_of_flags, lambda x: list_contains(flags, x))
        ELSE flags
    END AS flags,
    can_compare AND (len(flags) = 0 OR person_flag IS NOT DISTINCT FROM 'keep') AS is_comparable
FROM told;
