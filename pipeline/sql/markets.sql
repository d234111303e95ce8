-- How many sales each market gives to the bands.
-- Reads: sales. Gives: the columns of `markets`.
SELECT
    market,
    count(*) AS n_comparable,
    min(sold_on) AS first_sold_on,
    max(sold_on) AS last_sold_on
FROM sales
WHERE is_comparable
GROUP BY market
