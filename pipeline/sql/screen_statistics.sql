-- One row a group that some cell is held against: median and median absolute deviation (MAD) of
-- the natural log of the price over all comparable sales of the group, and the mean absolute
-- deviation, which stands in where the MAD is 0 (Iglewicz and Hoaglin 1993 for the score; the
-- stand-in with 1.253314, from memory).
-- Reads: facts, cells. Makes: group_statistics.
CREATE OR REPLACE TABLE group_statistics AS
WITH groups AS (
    SELECT DISTINCT group_id, group_level FROM cells WHERE group_id IS NOT NULL
),
membership AS (
    SELECT DISTINCT c.cell_id, g.group_id, g.group_level
    FROM cells AS c
    INNER JOIN groups AS g
        ON g.group_id IN (
            concat_ws('|', c.category_id, c.attribution, c.set_size, c.condition),
            concat_ws('|', c.category_id, c.attribution, c.set_size, 'any'),
            concat_ws('|', 'family ' || c.family_id, c.attribution, c.set_size, 'any')
        )
),
members AS (
    SELECT m.group_id, m.group_level, f.log_price
    FROM fact_cells AS f
    INNER JOIN membership AS m USING (cell_id)
),
centres AS (
    SELECT group_id, any_value(group_level) AS level, count(*) AS n_sales,
           median(log_price) AS median_log
    FROM members
    GROUP BY group_id
),
spreads AS (
    SELECT group_id, median(abs(log_price - median_log)) AS mad_log,
           -- rounded: the order of a sum moves its last bits
           round(avg(abs(log_price - median_log)), 12) AS mean_deviation_log
    FROM members
    INNER JOIN centres USING (group_id)
    GROUP BY group_id
)
SELECT group_id, level, n_sales, median_log, mad_log, mean_deviation_log,
       $threshold::DOUBLE AS threshold
FROM centres
INNER JOIN spreads USING (group_id)
ORDER BY group_id;
