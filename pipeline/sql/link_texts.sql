-- One row a row that some pair holds, with everything that is compared.
-- Reads: rows, link_rows, link_candidates. Makes: link_texts.
CREATE OR REPLACE TABLE link_texts AS
WITH wanted AS (
    SELECT a AS row_key FROM link_candidates
    UNION
    SELECT b FROM link_candidates
)
SELECT
    r.row_key,
    r.title_text AS title,
    CASE WHEN r.condition_text IS NOT NULL THEN hash(r.condition_text) END AS condition,
    nullif(r.condition, 'unknown') AS grade,
    r.material_id AS material,
    r.maker_id AS maker,
    nullif(r.attribution, 'unknown') AS attribution,
    r.made_from_year,
    r.made_to_year,
    r.lot_kind,
    r.n_pieces,
    r.measures,
    CASE
        WHEN coalesce(r.lot_amount, r.price_amount) IS NOT NULL
            THEN hash(coalesce(r.lot_amount, r.price_amount)::DECIMAL(18, 2), r.currency)
    END AS amount,
    ln(nullif(coalesce(r.lot_amount, r.price_amount), 0)::DOUBLE * coalesce(r.rate, 1)) AS log_amount,
    r.sold_on - DATE '1970-01-01' AS day,
    r.source_id AS source
FROM rows AS r
SEMI JOIN wanted AS w ON w.row_key = r.row_key;
