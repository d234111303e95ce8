-- One row a fact that has a group: its modified z-score (Iglewicz and Hoaglin 1993).
-- Reads: fact_cells, cells, group_statistics. Makes: scores (row_key, group_id, z_score).
CREATE OR REPLACE TABLE scores AS
SELECT
    f.row_key,
    c.group_id,
    CASE
        WHEN g.mad_log > 1e-12 THEN 0.6745 * (f.log_price - g.median_log) / g.mad_log
        WHEN g.mean_deviation_log > 1e-12
            THEN (f.log_price - g.median_log) / (1.253314 * g.mean_deviation_log)
        ELSE 0
    END AS z_score
FROM fact_cells AS f
INNER JOIN cells AS c USING (cell_id)
INNER JOIN group_statistics AS g USING (group_id);
