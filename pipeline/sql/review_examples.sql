-- At most $n sales of each thing asked for, the newest first, no title twice.
-- Reads: sales and the table asked (item, kind, text), whose kind may be title.
WITH told AS (
    SELECT *, coalesce(title_text, description_text) AS told FROM sales
    WHERE coalesce(title_text, description_text) IS NOT NULL
), found AS (
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'title' AND a.text = t.told
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'category' AND a.text = t.category_text
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'material' AND a.text = t.material_text
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'period' AND a.text = t.period_text
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'condition' AND a.text = t.condition_text
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'attribution' AND a.text = t.attribution_text
    UNION ALL
    SELECT a.item, t.* FROM told AS t INNER JOIN asked AS a
        ON a.kind = 'maker' AND a.text = t.maker_text
), newest AS (
    SELECT * FROM found
    QUALIFY row_number() OVER (PARTITION BY item, told ORDER BY sold_on DESC, sale_id) = 1
)
SELECT item, sale_id, told AS title, price_amount::DOUBLE AS price, currency, sold_on
FROM newest
QUALIFY row_number() OVER (PARTITION BY item ORDER BY sold_on DESC, sale_id) <= $n
ORDER BY item, sold_on DESC, sale_id;
