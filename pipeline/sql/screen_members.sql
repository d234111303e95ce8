-- One row a comparable sale: the number of its cell and the natural log of its price.
-- Reads: facts, cells. Makes: fact_cells (row_key, cell_id, log_price, sold_on, amount).
CREATE OR REPLACE TABLE fact_cells AS
SELECT f.row_key, c.cell_id, f.log_price, f.sold_on, f.amount
FROM facts AS f
INNER JOIN cells AS c USING (category_id, attribution, condition, set_size)
WHERE f.can_compare;
