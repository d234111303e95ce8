-- One row a kind of thing x attribution class with enough single sales: what it brings, how sure
-- that is, what condition does to it, and how its family's prices moved in the last year.
-- A fair one's price against a good one's is the price model's, of the category, else of its
-- family, else of all; where both are held against a third grade their errors are added as if
-- they were independent, which makes the interval a little too wide.
-- Reads: price_bands, concepts, price_adjustments, price_index, sales.
-- $root_id: only this kind and narrower ones, or null; $min_sales.
WITH RECURSIVE below AS (
    SELECT concept_id
    FROM concepts
    WHERE kind = 'category' AND (concept_id = $root_id OR $root_id IS NULL)
    UNION
    SELECT c.concept_id
    FROM concepts AS c
    INNER JOIN below AS b ON c.kind = 'category' AND c.broader_id = b.concept_id
),
kinds AS (
    SELECT b.*, c.pref_label AS label, coalesce(c.family_id, c.concept_id) AS family_id
    FROM price_bands AS b
    INNER JOIN concepts AS c ON c.kind = 'category' AND c.concept_id = b.category_id
    WHERE b.condition = 'any' AND b.set_size = 'single' AND b.n_sales >= $min_sales
        AND b.n_own * 2 >= b.n_sales
        AND b.category_id IN (SELECT concept_id FROM below)
),
grades AS (
    SELECT scope, family_id, category_id, reference,
        max(log_effect) FILTER (WHERE term = 'fair') AS fair,
        max(log_error) FILTER (WHERE term = 'fair') AS fair_error,
        max(log_effect) FILTER (WHERE term = 'good') AS good,
        max(log_error) FILTER (WHERE term = 'good') AS good_error
    FROM price_adjustments
    WHERE kind = 'condition'
    GROUP BY ALL
),
contrasts AS (
    SELECT scope, family_id, category_id,
        if(reference = 'fair', 0, fair) - if(reference = 'good', 0, good) AS gap,
        sqrt(if(reference = 'fair', 0, fair_error) ** 2
            + if(reference = 'good', 0, good_error) ** 2) AS error
    FROM grades
),
conditions AS (
    SELECT k.category_id, k.attribution, g.scope, g.gap, g.error
    FROM kinds AS k
    INNER JOIN contrasts AS g
        ON g.gap IS NOT NULL AND (
            (g.scope = 'category' AND g.category_id = k.category_id)
            OR (g.scope = 'family' AND g.family_id = k.family_id)
            OR g.scope = 'all'
        )
    QUALIFY row_number() OVER (
        PARTITION BY k.category_id, k.attribution
        ORDER BY list_position(['category', 'family', 'all'], g.scope)
    ) = 1
),
years AS (
    SELECT family_id, price_level, low, high
    FROM price_index
    WHERE scope = 'family'
    QUALIFY row_number() OVER (PARTITION BY family_id ORDER BY period DESC)
        = if(period LIKE '%Q%', 5, 13)
),
warned AS (
    SELECT category_id, list_sort(list_distinct(flatten(list(cautions)))) AS cautions
    FROM sales
    WHERE is_comparable
    GROUP BY category_id
)
SELECT
    k.category_id,
    k.label,
    k.family_id,
    k.attribution,
    k.n_sales,
    k.first_sold_on,
    k.last_sold_on,
    k.median,
    k.median_low,
    k.median_high,
    k.p25,
    k.p75,
    k.p75 / k.p25 AS spread,
    100 * exp(c.gap) AS fair_percent,
    100 * exp(c.gap - 1.959964 * c.error) AS fair_low,
    100 * exp(c.gap + 1.959964 * c.error) AS fair_high,
    c.scope AS fair_scope,
    100 * (1 / y.price_level - 1) AS year_percent,
    100 * (1 / y.high - 1) AS year_low,
    100 * (1 / y.low - 1) AS year_high,
    coalesce(w.cautions, []) AS cautions,
    k.currency,
    k.basis,
    k.method_version
FROM kinds AS k
LEFT JOIN conditions AS c
    ON c.category_id = k.category_id AND c.attribution = k.attribution
LEFT JOIN years AS y ON y.family_id = k.family_id
LEFT JOIN warned AS w ON w.category_id = k.category_id
ORDER BY k.category_id, k.attribution;
