"""The figures: pure functions on numpy arrays and Arrow tables, without input or output.

Plain statistics

- `quantiles`: `quantile` (nine types), `median_interval`, `median_interval_ranks` and
  `quantile_interval_ranks` (ranks of order statistics by n, for arrays of n), `bounds_quantile`,
  `harrell_davis`, `weighted_quantile`, `effective_count`.
- `outliers`: `screen` (groups that lean on their parent, two scales, ordered reasons),
  `modified_z`, `grubbs`, `generalised_esd`, `fences`.
- `ratio_study`: `ratio_study`, `cod`, `prd`, `prb`, `median_ratio`, `rank_correlation`.
- `repeat_sales`: `repeat_sales_index` (Bailey, Muth and Nourse).
- `pooling`: `james_stein`, `dersimonian_laird`, `reml`, `fixed_effect`.

The price model, a mixed model of the log price with the nearest sales beside it

- `model_settings.ModelSettings`: every knob with its reason.
- `model.fit_model(sales, settings, as_of) -> PriceModel`; `PriceModel.predict(items)` gives the
  median, 19 quantiles, the evidence, named lines that sum to the median, and the sales read.
- `effects`: `price_adjustments`, `price_words`, `price_index`, `pooled_bands`,
  `condition_sensitivity`, all from one fitted model.
- `cells`: `count_cells`, `refit_on_cells`: levels and terms from all sales, by counted cell.
- `model_file`: `to_tables`, `from_tables`.
- `backtest`: `backtest(sales, settings, folds)` against the `rivals`.

Inside it: `sales_columns` reads tables, `words` titles, `features` makes the columns, `hierarchy`
fits them by REML, `lines` names the sums, `embedding` and `neighbours` find like sales,
`dispersion` and `ranges` say how wide, `fit` binds them.

The model in short. With x the features of a sale (attribution class as level, condition, material,
period, market, set, faults, words, sizes and their curves, time), family f and category c:

    log price = x'(b + g_f + d_c) + nearest sales + error

b is shared by all, g_f and d_c are departures of the family and of the category. Each kind of
effect on each of the three levels has a variance of its own, estimated by restricted maximum
likelihood, which decides how far it is shrunk; levels of different attribution classes share
nothing but that variance. Surprising sales weigh less (a t distribution). The nearest earlier
sales of the same family and class add the weighted mean of what they brought beyond their
effects, each left out of its own fit. Ranges come from errors on the latest sales, held back.
"""
