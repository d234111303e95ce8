-- What each pair of rows could be, by dates, sides and whether the piece was sold: one event told
-- twice, an offer that came again, or a sale and a later sale. Pairs that can be none of these go
-- no further, unless a person named them. `a` becomes the earlier row (on one day the smaller key).
-- A listing of several pieces that sold on several days is no piece sold again, nor is a bulk lot.
-- Reads: link_pairs, link_rows, link_said.
-- Makes: link_candidates; `said` is 1 for same, -1 for different, 0 where nobody said anything.
CREATE OR REPLACE TABLE link_candidates AS
WITH met AS (
    SELECT p.a, p.b, coalesce(s.said, 0)::TINYINT AS said
    FROM link_pairs AS p
    LEFT JOIN link_said AS s ON s.a = p.a AND s.b = p.b
    UNION ALL
    SELECT s.a, s.b, s.said
    FROM link_said AS s
    ANTI JOIN link_pairs AS p ON p.a = s.a AND p.b = s.b
),
dated AS (
    SELECT
        p.a AS one,
        p.b AS other,
        p.said,
        x.listing = y.listing AS one_listing,
        x.is_offer AS one_offer,
        y.is_offer AS other_offer,
        x.day <= y.day AS in_order,
        x.is_bulk OR y.is_bulk AS of_bulk,
        abs(x.day - y.day)::INTEGER AS days,
        x.side <> y.side AS across,
        CASE WHEN x.category = y.category THEN x.category ELSE 0 END AS category
    FROM met AS p
    INNER JOIN link_rows AS x ON x.row_key = p.a
    INNER JOIN link_rows AS y ON y.row_key = p.b
),
ordered AS (
    SELECT
        CASE WHEN in_order THEN one ELSE other END AS a,
        CASE WHEN in_order THEN other ELSE one END AS b,
        CASE WHEN in_order THEN one_offer ELSE other_offer END AS first_offer,
        CASE WHEN in_order THEN other_offer ELSE one_offer END AS second_offer,
        days,
        across,
        category,
        said,
        one_listing,
        of_bulk
    FROM dated
),
named AS (
    SELECT
        a,
        b,
        category,
        days,
        said,
        CASE
            WHEN days <= $event_days AND (across OR said = 1) AND first_offer = second_offer
                THEN 'same_event'
            WHEN first_offer AND (days BETWEEN 1 AND $relist_days OR said <> 0) THEN 'relisted'
            WHEN (one_listing OR of_bulk) AND said = 0 THEN NULL
            WHEN NOT first_offer AND NOT second_offer AND (days > $event_days OR said <> 0)
                THEN 'resale'
        END AS kind
    FROM ordered
)
SELECT a, b, category, days, said, kind
FROM named
WHERE kind IS NOT NULL;
