-- One row a sale: all its flags, most telling first, and whether it feeds the bands. A person's
-- decision outranks the flags. A price out of line with its group is told so, unless its terms
-- explain it: on its side it lies by less than $explained_within of scores beyond what they lead
-- one to expect. Else a price out of line with its terms is told so, with that score and group.
-- Reads: facts, scores, term_scores. Makes: verdicts.
CREATE OR REPLACE TABLE verdicts AS
WITH told AS (
    SELECT
        f.row_key,
        f.person_flag,
        f.can_compare,
        coalesce(abs(s.z_score) >= $threshold, false)
            AND coalesce(t.z_score * sign(s.z_score) >= $explained_within, true) AS told_by_group,
        NOT told_by_group AND coalesce(abs(t.z_score) >= $threshold, false) AS told_by_terms,
        CASE WHEN told_by_terms THEN t.group_id ELSE s.group_id END AS group_id,
        CASE WHEN told_by_terms THEN t.z_score ELSE s.z_score END AS z_score,
        CASE
            WHEN f.person_flag = 'leave_out' THEN list_concat(f.flags, ['left_out_by_person'])
            WHEN told_by_group AND s.z_score > 0
                THEN list_concat(f.flags, ['price_out_of_line_high'])
            WHEN told_by_group THEN list_concat(f.flags, ['price_out_of_line_low'])
            WHEN told_by_terms AND t.z_score > 0
                THEN list_concat(f.flags, ['price_unlike_terms_high'])
            WHEN told_by_terms THEN list_concat(f.flags, ['price_unlike_terms_low'])
            ELSE f.flags
        END AS flags
    FROM facts AS f
    LEFT JOIN scores AS s USING (row_key)
    LEFT JOIN term_scores AS t USING (row_key)
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
