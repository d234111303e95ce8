-- One row a row that some link holds, by rising key. `fullness`: how much it tells; a numbered row
-- before one without a number, then the count of cells that say something. `place`: its rank by
-- sale_id.
-- Reads: rows, link_rows, linked_keys (row_key). Gives: row_key, side, day, is_offer, fullness,
-- place.
SELECT
    r.row_key,
    l.side,
    l.day::BIGINT AS day,
    l.is_offer,
    (
        (r.category_id IS NOT NULL)::BIGINT + (r.title_text IS NOT NULL)::BIGINT
        + (r.description_text IS NOT NULL)::BIGINT + (r.category_text IS NOT NULL)::BIGINT
        + (r.material_text IS NOT NULL)::BIGINT + (r.period_text IS NOT NULL)::BIGINT
        + (r.condition_text IS NOT NULL)::BIGINT + (r.attribution_text IS NOT NULL)::BIGINT
        + (r.maker_text IS NOT NULL)::BIGINT + (r.size_text IS NOT NULL)::BIGINT
        + (r.price_text IS NOT NULL)::BIGINT
        + (r.shipping_text IS NOT NULL)::BIGINT + (r.premium_text IS NOT NULL)::BIGINT
        + (r.place_text IS NOT NULL)::BIGINT + (r.url_text IS NOT NULL)::BIGINT
        + coalesce(cardinality(r.measures), 0)::BIGINT
        + coalesce(cardinality(r.other_cells), 0)::BIGINT
    ) AS fullness,
    row_number() OVER (ORDER BY r.sale_id, r.row_key) AS place
FROM rows AS r
SEMI JOIN linked_keys AS k ON k.row_key = r.row_key
INNER JOIN link_rows AS l ON l.row_key = r.row_key
ORDER BY r.row_key;
