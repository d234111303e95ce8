-- The sales that feed bands: comparable and not out of line, or kept by a person.
-- Reads: fact_cells, verdicts (row_key, is_comparable). Makes: band_facts (cell_id, amount, sold_on).
CREATE OR REPLACE TABLE band_facts AS
SELECT f.cell_id, f.amount, f.sold_on
FROM fact_cells AS f
INNER JOIN verdicts AS v USING (row_key)
WHERE v.is_comparable;
