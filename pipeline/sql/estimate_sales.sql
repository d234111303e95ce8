-- The sales that estimates name as comparables. Their categories are told too: the table is sorted
-- by them, and a search by key alone would read all of it.
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
    measures,
    compared_amount::DOUBLE AS sold_amount
FROM sales
WHERE
    category_id IN (SELECT unnest($categories::VARCHAR[]))
    AND sale_id IN (SELECT unnest($sale_ids::VARCHAR[]));
