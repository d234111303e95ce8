-- The row of this refresh in its log, counted from the tables just made.
-- Reads: refresh_files, sales, duplicates, set_aside, term_matches, price_bands.
INSERT INTO refreshes BY NAME
SELECT
    $refresh_id AS refresh_id,
    $refreshed_at AS refreshed_at,
    $package_version AS package_version,
    $method_version AS method_version,
    $basis AS basis,
    $currency AS currency,
    $as_of::DATE AS as_of,
    $n_files AS n_files,
    $n_files_read AS n_files_read,
    $n_files_refused AS n_files_refused,
    (SELECT coalesce(sum(n_rows), 0) FROM refresh_files) AS n_rows,
    (SELECT count(*) FROM sales) AS n_sales,
    (SELECT count(*) FROM sales WHERE is_comparable) AS n_comparable,
    (SELECT count(*) FROM duplicates WHERE is_dropped) AS n_duplicates,
    (SELECT count(*) FROM set_aside) AS n_set_aside,
    (SELECT count(*) FROM term_matches WHERE status = 'review') AS n_waiting,
    (SELECT count(*) FROM price_bands) AS n_bands,
    $settings AS settings;
