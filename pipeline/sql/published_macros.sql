-- A row of the answer: the band of one category x condition x attribution class x set size.
-- Reads price_bands, labels and refreshes; is kept in the published database for whoever opens it.
-- category is an id or any label that one category alone carries; answer tells whether the sales
-- suffice by the settings of the refresh, note what the figures are not. A band that has no sale
-- gives no row.
CREATE OR REPLACE MACRO estimate_band(
    category, condition := 'any', attribution := 'period', set_size := 'single'
) AS TABLE
SELECT
    CASE
        WHEN b.n_sales >= (
            SELECT CAST(r.settings ->> '$.bands.answer_sales' AS BIGINT)
            FROM refreshes AS r
            ORDER BY r.refreshed_at DESC
            LIMIT 1
        )
            THEN 'enough sales'
        ELSE 'not enough sales'
    END AS answer,
    b.*,
    'Evidence of past sales, not an appraisal for tax, insurance or a court: those need a '
    || 'qualified appraiser.' AS note
FROM price_bands AS b
WHERE
    b.category_id = coalesce(
        (
            SELECT any_value(l.concept_id)
            FROM labels AS l
            WHERE l.kind = 'category' AND l.concept_id = category
        ),
        (
            SELECT any_value(l.concept_id)
            FROM labels AS l
            WHERE l.kind = 'category' AND lower(l.label) = lower(category) AND NOT l.is_ambiguous
        )
    )
    AND b.condition = condition
    AND b.attribution = attribution
    AND b.set_size = set_size;
