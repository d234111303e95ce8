-- One row a sale or offer that stayed after the exports were laid over each other, with what
-- linking looks at before it looks at any text.
-- `side`: rows of one side cannot tell of one event twice, since their source numbers its
-- listings; a row without a number is a side of its own, unless a person parted it from its like. `amount`: the price of the lot on the
-- basis, in its own currency, to the hundredth.
-- Reads: rows, dropped, parted_rows. Makes: link_groups, link_rows.
CREATE OR REPLACE TABLE link_groups AS
SELECT
    category_id,
    row_number() OVER (ORDER BY category_id)::INTEGER AS category
FROM (
    SELECT DISTINCT category_id
    FROM rows
    WHERE category_id IS NOT NULL AND aside_reason IS NULL
);

CREATE OR REPLACE TABLE link_rows AS
SELECT
    r.row_key,
    coalesce(g.category, 0)::BIGINT AS category,
    r.sold_on - DATE '1970-01-01' AS day,
    hash(r.source_id) AS source,
    CASE
        WHEN r.listing_id IS NOT NULL THEN hash(r.source_id)
        ELSE coalesce(p.side, hash(r.source_id, r.row_key))
    END AS side,
    CASE WHEN r.listing_id IS NOT NULL THEN hash(r.source_id, r.listing_id) END AS listing,
    len(list_intersect(r.price_flags, ['not_sold', 'not_a_sale_price'])) > 0 AS is_offer,
    r.lot_kind = 'bulk' AS is_bulk,
    hash(coalesce(r.lot_amount, r.price_amount)::DECIMAL(18, 2), r.currency) AS amount,
    CASE WHEN r.condition_text IS NOT NULL THEN hash(r.condition_text) END AS condition,
    r.lot_amount IS NOT NULL OR r.price_amount IS NOT NULL AS has_amount
FROM rows AS r
LEFT JOIN link_groups AS g USING (category_id)
LEFT JOIN parted_rows AS p ON p.row_key = r.row_key
ANTI JOIN dropped AS d ON d.row_key = r.row_key
WHERE r.aside_reason IS NULL;
