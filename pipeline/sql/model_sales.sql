-- The sales that the price model learns from, in an order that no file's place can change.
-- Reads: sales. Gives: the columns of the price model.
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
    -- of the sides only the largest: all sellers tell it, and the others go with it
    map_from_entries(list_filter(
        map_entries(measures),
        lambda one: NOT regexp_full_match(
            one.key, '(height|width|depth|length|diameter)_(mm|cm|m|in|ft)'
        )
    )) AS measures
FROM sales
WHERE is_comparable AND compared_amount > 0
ORDER BY sold_on, sale_id;
