-- What each pair of rows could be, by dates, sides and whether the piece was sold: one event told
-- twice, an offer that came again, or a sale and a later sale. Pairs that can be none of these go
-- no further. `a` becomes the earlier row (on one day the smaller key).
-- Reads: link_pairs, link_rows. Makes: link_candidates (temporary).
CREATE OR REPLACE TEMP TABLE link_candidates AS
WITH dated AS (
    SELECT
        p.a AS one,
        p.b AS other,
        x.is_offer AS one_offer,
        y.is_offer AS other_offer,
        x.day <= y.day AS in_order,
        abs(x.day - y.day)::INTEGER AS days,
        x.side <> y.side AS across,
        CASE WHEN x.category = y.category THEN x.category ELSE 0 END AS category
    FROM link_pairs AS p
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
        category
    FROM dated
),
named AS (
    SELECT
        a,
        b,
        category,
        days,
        CASE
            WHEN days <= $event_days AND across AND first_offer = second_offer THEN 'same_event'
            WHEN first_offer AND days BETWEEN 1 AND $relist_days THEN 'relisted'
            WHEN NOT first_offer AND NOT second_offer AND days > $event_days THEN 'resale'
        END AS kind
    FROM ordered
)
SELECT a, b, category, days, kind
FROM named
WHERE kind IS NOT NULL;
