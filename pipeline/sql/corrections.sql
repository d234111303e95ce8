-- One row a correction of a sale that is there, with the row that counts: the one that stayed when
-- the exports were laid over each other. `is_applied`: the cell held what was expected.
-- Reads: rows, dropped, all_corrections. Makes: applied_corrections.
CREATE OR REPLACE TABLE applied_corrections AS
SELECT
    r.row_key,
    c.line,
    c.sale_id,
    c."column" AS column_name,
    nullif(c.expected, '') AS expected_text,
    nullif(c.new, '') AS new_text,
    c.who,
    c.decided_on::DATE AS decided_on,
    c.why,
    coalesce(list_contains(r.corrected, c."column"), false) AS is_applied
FROM all_corrections AS c
INNER JOIN rows AS r ON r.sale_id = c.sale_id
ANTI JOIN dropped AS d ON d.row_key = r.row_key;
