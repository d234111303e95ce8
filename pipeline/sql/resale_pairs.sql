-- One row a piece sold twice as the same thing: in the same kind, condition, class and set size, so
-- that between its two prices lies nothing but time. A sale that is set apart or out of line says
-- nothing.
-- Reads: sales. Gives: family_id, the two days and the two prices.
SELECT
    later.family_id,
    earlier.sold_on AS first_on,
    later.sold_on AS second_on,
    earlier.compared_amount::DOUBLE AS first_amount,
    later.compared_amount::DOUBLE AS second_amount
FROM sales AS later
INNER JOIN sales AS earlier ON later.resale_of_sale_id = earlier.sale_id
WHERE later.is_comparable AND earlier.is_comparable
    AND earlier.compared_amount > 0 AND later.compared_amount > 0
    AND later.category_id = earlier.category_id
    AND later.condition = earlier.condition
    AND later.attribution = earlier.attribution
    AND later.set_size = earlier.set_size
ORDER BY later.sale_id;
