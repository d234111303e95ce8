-- One row a comparable sale, with every term that may move its price, in an order that no file's
-- place can change.
-- Reads: fact_cells, rows. Gives: row_key, log_price and the terms.
SELECT
    f.row_key,
    f.log_price,
    coalesce(r.family_id, '') AS family_id,
    r.category_id,
    concat_ws('|', r.category_id, r.attribution) AS category_attribution,
    r.attribution,
    r.condition,
    r.set_size,
    coalesce(r.material_id, '') AS material_id,
    concat_ws('|', r.category_id, coalesce(r.material_id, '')) AS category_material,
    coalesce(r.period_id, '') AS period_id,
    r.market,
    coalesce(r.faults, []) AS faults
FROM fact_cells AS f
INNER JOIN rows AS r USING (row_key)
ORDER BY r.sale_id;
