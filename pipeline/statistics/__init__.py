"""The figures: pure functions on numpy arrays and Arrow tables, without input or output.

- `quantiles`: quantiles of the nine types, intervals of order statistics, what n can bound.
- `outliers`: robust scores and flags in groups that lean on their parent.
- `ratio_study`: COD, PRD, PRB and the median ratio of estimates against prices.
- `repeat_sales`: an index from pieces sold more than once.
"""
