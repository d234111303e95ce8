-- The sales that estimates name as comparables.
-- Reads: sales. Gives: one row a sale asked for.
SELECT
    sale_id,
    sold_on,
    market,
    title_text,
    category_id,
    material_id,
    period_id,
    condition,
    set_size,
    coalesce(faults, []) AS faults,
    compared_amount::DOUBLE AS sold_amount
FROM sales
WHERE
    list_contains($families::VARCHAR[], family_id)
    AND sale_id IN (SELECT unnest($sale_ids::VARCHAR[]));
