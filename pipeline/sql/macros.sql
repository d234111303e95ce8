-- Quantile of type 7 (Hyndman and Fan 1996) of a sorted list v at share p:
-- h = (n - 1) p, between the values at ranks floor(h) + 1 and floor(h) + 2.
CREATE OR REPLACE MACRO quantile_of_sorted(v, p) AS (
    v[1 + floor((len(v) - 1) * p)::BIGINT]
    + ((len(v) - 1) * p - floor((len(v) - 1) * p))
    * (
        v[least(2 + floor((len(v) - 1) * p)::BIGINT, len(v))]
        - v[1 + floor((len(v) - 1) * p)::BIGINT]
    )
);
