-- The sales that the price model learns from, in an order that no file's place can change.
-- Reads: sales. Gives: the columns of the price model.
WITH learned AS (
    SELECT * FROM sales WHERE is_comparable AND compared_amount > 0
),
told AS (
    SELECT unnest(map_keys(measures)) AS key FROM learned
),
usual AS (
    SELECT key FROM told GROUP BY key HAVING count(*) >= 0.5 * (SELECT count(*) FROM learned)
),
usually_told AS (
    SELECT coalesce(list(key), []) AS keys FROM usual
)
SELECT
    sale_id,
    ln(compared_amount::DOUBLE) AS log_price,
    sold_on,
    family_id,
    category_id,
    attribution,
    condition,
    material_id,
    period_id,
    market,
    set_size AS set_class,
    coalesce(faults, []) AS faults,
    title_text,
    -- of the sides that few tell only the largest, which all tell and with which the others go; a
    -- side that half the sales tell, as a column of an export does, stands for itself
    map_from_entries(list_filter(
        map_entries(measures),
        lambda one: list_contains(u.keys, one.key) OR NOT regexp_full_match(
            one.key, '(height|width|depth|length|diameter)_(mm|cm|m|in|ft)'
        )
    )) AS measures
FROM learned
CROSS JOIN usually_told AS u
ORDER BY sold_on, sale_id;
