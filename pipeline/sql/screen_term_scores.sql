-- The modified z-score (Iglewicz and Hoaglin 1993) of what a sale brought beyond its terms, within
-- its family, or among all where the family has fewer than $min_group sales. The median absolute
-- deviation counts as $least_deviation at least, so that kinds sold at one fixed price do not
-- flag a few per cent. The groups' statistics are kept with those of the first screening.
-- Reads: term_differences (row_key, family_id, difference). Makes: term_scores; adds to
-- group_statistics.
CREATE OR REPLACE TABLE term_scores AS
WITH sized AS (
    SELECT *, count(*) OVER (PARTITION BY family_id) AS n_family FROM term_differences
),
grouped AS (
    SELECT
        row_key,
        difference,
        CASE WHEN n_family >= $min_group THEN 'terms|family ' || family_id ELSE 'terms|any' END
            AS group_id
    FROM sized
),
members AS (
    SELECT group_id, difference FROM grouped WHERE group_id <> 'terms|any'
    UNION ALL
    SELECT 'terms|any', difference FROM grouped
),
centres AS (
    SELECT group_id, count(*) AS n_sales, median(difference) AS median_log
    FROM members
    GROUP BY group_id
),
spreads AS (
    SELECT group_id, median(abs(difference - median_log)) AS mad_log,
        avg(abs(difference - median_log)) AS mean_deviation_log
    FROM members
    INNER JOIN centres USING (group_id)
    GROUP BY group_id
)
SELECT
    g.row_key,
    g.group_id,
    g.difference,
    round(0.6745 * (g.difference - c.median_log)
        / greatest(s.mad_log, $least_deviation::DOUBLE), 6) AS z_score,
    c.n_sales,
    c.median_log,
    greatest(s.mad_log, $least_deviation::DOUBLE) AS mad_log,
    s.mean_deviation_log
FROM grouped AS g
INNER JOIN centres AS c USING (group_id)
INNER JOIN spreads AS s USING (group_id);
INSERT INTO group_statistics BY NAME
SELECT DISTINCT group_id, 'terms' AS level, n_sales, round(median_log, 6) AS median_log,
    round(mad_log, 6) AS mad_log, round(mean_deviation_log, 6) AS mean_deviation_log,
    $threshold::DOUBLE AS threshold
FROM term_scores
ORDER BY group_id;
