-- One row a category (narrower ones included) x condition (and any) x attribution x set size.
-- Quantiles are of type 7 (Hyndman and Fan 1996); the interval of the median is that of order
-- statistics, whose ranks for each count stand in interval_ranks.
-- Reads: band_facts (cell_id, amount, sold_on), cells, concept_paths (category_id, ancestor_id),
-- category_levels, interval_ranks (n, low_rank, high_rank, coverage). Makes: price_bands.
CREATE OR REPLACE TABLE price_bands AS
WITH cell_values AS (
    SELECT
        cell_id,
        list_sort(list(amount)) AS amounts,
        min(sold_on) AS first_sold_on,
        max(sold_on) AS last_sold_on
    FROM band_facts
    GROUP BY cell_id
),
spread AS (
    SELECT
        p.ancestor_id AS category_id,
        wanted.condition,
        c.attribution,
        c.set_size,
        p.ancestor_id = c.category_id AS is_own,
        v.amounts,
        v.first_sold_on,
        v.last_sold_on
    FROM cell_values AS v
    INNER JOIN cells AS c USING (cell_id)
    INNER JOIN concept_paths AS p USING (category_id)
    CROSS JOIN LATERAL (SELECT unnest([c.condition, 'any']) AS condition) AS wanted
),
bands AS (
    SELECT
        category_id,
        condition,
        attribution,
        set_size,
        list_sort(flatten(list(amounts))) AS v,
        sum(len(amounts))::BIGINT AS n_sales,
        coalesce(sum(len(amounts)) FILTER (WHERE is_own), 0)::BIGINT AS n_own,
        min(first_sold_on) AS first_sold_on,
        max(last_sold_on) AS last_sold_on
    FROM spread
    GROUP BY category_id, condition, attribution, set_size
    HAVING sum(len(amounts)) >= $min_sales
)
SELECT
    b.category_id,
    l.level,
    b.condition,
    b.attribution,
    b.set_size,
    b.n_sales,
    b.n_own,
    quantile_of_sorted(b.v, 0.10) AS p10,
    quantile_of_sorted(b.v, 0.25) AS p25,
    quantile_of_sorted(b.v, 0.50) AS median,
    quantile_of_sorted(b.v, 0.75) AS p75,
    quantile_of_sorted(b.v, 0.90) AS p90,
    b.n_sales >= $p90_bounded_from AS p90_is_bounded,
    b.v[r.low_rank] AS median_low,
    b.v[r.high_rank] AS median_high,
    r.coverage AS median_coverage,
    b.first_sold_on,
    b.last_sold_on,
    $currency AS currency,
    $basis AS basis,
    $method_version AS method_version
FROM bands AS b
INNER JOIN category_levels AS l USING (category_id)
LEFT JOIN interval_ranks AS r ON r.n = b.n_sales
ORDER BY b.category_id, b.attribution, b.condition, b.set_size;
