"""The price model: fit it to sales, ask it for prices, and read every line of its sums.

    model = fit_model(sales, ModelSettings(), as_of=date(2026, 11, 1))
    answers = model.predict(items)

Columns of sales and items (all but log_price may be absent): sale_id, log_price, sold_on (date),
family_id, category_id, attribution (class), condition, material_id, period_id, market, set_class,
faults (list of text), title_text, measures (struct or map of name to number).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa

from pipeline.errors import NotEnoughSales
from pipeline.statistics import sales_columns as read
from pipeline.statistics.arrays import Bools, Floats, Ints
from pipeline.statistics.features import CATEGORY
from pipeline.statistics.fit import Fit, Reading, fit_sales, read_items
from pipeline.statistics.lines import BASE
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.ranges import (
    EVIDENCE,
    LEVELS,
    Errors,
    HeldBack,
    Ranges,
    common_error,
    learn_ranges,
)

LEAST_SALES = 10
# Of all sales; ranges of fits to fewer than the other two fifths would be another model's.
_MOST_HELD_BACK = 0.6
NEAREST = "nearest sales"
DRIFT = "drift since the held-back sales"
LEFT_OUT = "own price left out"

_LINE = pa.struct([("line", pa.string()), ("log_effect", pa.float64())])
_NEIGHBOUR = pa.struct(
    [
        ("sale_id", pa.string()),
        ("category_id", pa.string()),
        ("row", pa.int64()),
        ("weight", pa.float64()),
        ("log_price", pa.float64()),
        ("adjusted_log_price", pa.float64()),
        ("adjustments", pa.list_(_LINE)),
    ]
)


@dataclass
class PriceModel:
    """A fitted model.

    fit: effects, likeness and widths; ranges: quantiles of scores by evidence class; drift: log
    units added to the centre (share of the held-back bias); as_of: the day prices are brought to;
    held: the held-back sales, None where there were too few or the model was read back.
    """

    fit: Fit
    ranges: Ranges
    drift: float
    as_of: dt.date
    n_sales: int
    held: HeldBack | None = None

    @property
    def settings(self) -> ModelSettings:
        return self.fit.settings

    def predict(
        self,
        items: pa.Table | dict[str, Any],
        *,
        explain: bool = True,
        said_in_full: bool = True,
    ) -> pa.Table:
        """Prices of items, one row an item, in their order.

        Args:
            said_in_full: whether titles say all that a seller would; False for pieces described
                in a few words, where what is not said counts as usual for the category.

        Returns:
            log_centre: the median expected, natural logarithm of the price. quantiles: list of 19
            log prices, 5 % to 95 % in steps of 5. evidence: a class of `ranges.EVIDENCE`. n_own:
            sales of category and attribution class. own_share: how much of the category's level
            is its own sales' (0 to 1). log_width: expected scale of the error. contributions:
            named log effects that sum to log_centre; terms are told against the most frequent one
            of their kind. neighbours: the sales read, nearest first, of weight zero where likeness
            proved to be of no use; weights sum below 1, adjusted_log_price is log_price plus its
            adjustments, and the line "nearest sales" is the weighted sum of what they lie above
            the effects alone.
            The last two only if explain.
        """
        table = read.as_table(items)
        reading = read_items(self.fit, table, said_in_full=said_in_full)
        centre = reading.centre + self.drift
        quantiles = self.ranges.quantiles(centre, reading.width, reading.evidence)
        columns: dict[str, Any] = {
            "log_centre": pa.array(centre),
            "quantiles": pa.FixedSizeListArray.from_arrays(
                pa.array(quantiles.ravel()), len(LEVELS)
            ),
            "evidence": pa.array([EVIDENCE[i] for i in reading.evidence], pa.string()),
            "n_own": pa.array(reading.own),
            "own_share": pa.array(own_shares(self.fit, reading)),
            "log_width": pa.array(reading.width),
        }
        if explain:
            columns["contributions"] = self._contributions(reading)
            columns["neighbours"] = self._neighbours(reading)
        return pa.table(columns)

    def _contributions(self, reading: Reading) -> pa.Array:
        names = [*self.fit.lines.names, NEAREST, DRIFT]
        effects = reading.effects.copy()
        base = self.fit.lines.names.index(BASE)
        effects[:, base] += self.fit.baseline
        # a term is told against the most frequent one of its kind, which belongs to the base
        for group in self.fit.space.groups:
            if group.reference >= 0:
                usual = self.fit.solution.shared[group.reference]
                effects[:, self.fit.lines.of_column[group.start]] -= usual
                effects[:, base] += usual
        drift = np.full(effects.shape[0], self.drift)
        values = np.column_stack([effects, reading.local.mean, drift])
        return _lists_of_lines(names, values, np.abs(values) > 0)

    def _neighbours(self, reading: Reading) -> pa.Array:
        pool = reading.found
        found = reading.places >= 0
        weighed = found & (reading.local.weights > 0)
        used = np.where(weighed.any(axis=1, keepdims=True), weighed, found)
        item, slot = np.nonzero(used)
        at = reading.places[item, slot]
        own_effects = reading.effects[item]
        adjustments = np.column_stack(
            [own_effects - pool.effects[at], pool.residual[at] - pool.plain[at]]
        )
        categories = pa.array(self.fit.space.categories, pa.string())
        adjusted = pool.log_price[at] + adjustments.sum(axis=1)
        children = pa.StructArray.from_arrays(
            [
                pool.sale_id.take(pa.array(at)),
                categories.take(pa.array(pool.category[at], mask=pool.category[at] < 0)),
                pa.array(pool.row[at], pa.int64()),
                pa.array(reading.local.weights[item, slot]),
                pa.array(pool.log_price[at]),
                pa.array(adjusted),
                _lists_of_lines(
                    [*self.fit.lines.names, LEFT_OUT], adjustments, np.abs(adjustments) > 0
                ),
            ],
            fields=list(_NEIGHBOUR),
        )
        return pa.ListArray.from_arrays(_offsets(used.sum(axis=1)), children)


def _offsets(sizes: Ints) -> pa.Array:
    return pa.array(np.concatenate([[0], np.cumsum(sizes)]).astype(np.int32))


def _lists_of_lines(names: list[str], values: Floats, keep: Bools) -> pa.Array:
    """A list of {line, log_effect} a row, only of the lines kept."""
    column = np.broadcast_to(np.arange(len(names)), values.shape)[keep]
    lines = pa.DictionaryArray.from_arrays(
        pa.array(column.astype(np.int32)), pa.array(names, pa.string())
    ).cast(pa.string())
    children = pa.StructArray.from_arrays([lines, pa.array(values[keep])], fields=list(_LINE))
    return pa.ListArray.from_arrays(_offsets(keep.sum(axis=1)), children)


def own_shares(fit: Fit, reading: Reading) -> Floats:
    """How much of a category's level comes from its own sales: 1 - posterior / prior variance."""
    first, _ = fit.lines.attribution
    group = next(i for i, g in enumerate(fit.space.groups) if g.name == "attribution")
    prior = float(fit.solution.variances[CATEGORY, group])
    if len(fit.space.categories) < 2:
        return np.where(reading.own > 0, 1.0, 0.0)
    out = np.zeros(reading.own.size)
    if prior <= 0:
        return out
    for category in np.unique(reading.rows.category):
        if category not in fit.solution.own_variance:
            continue
        columns, variance = fit.solution.own_variance[int(category)]
        left = np.full(len(fit.space.classes), prior)
        mine = (columns >= first) & (columns < first + left.size)
        left[columns[mine] - first] = variance[mine]
        rows = np.flatnonzero((reading.rows.category == category) & (reading.rows.attribution >= 0))
        out[rows] = 1 - left[reading.rows.attribution[rows]] / prior
    return np.clip(out, 0.0, 1.0)


def fit_model(
    sales: pa.Table | dict[str, Any],
    settings: ModelSettings | None = None,
    as_of: dt.date | None = None,
    *,
    start: PriceModel | None = None,
) -> PriceModel:
    """Fit the price model.

    Args:
        sales: see the module; rows without a finite log_price, sold after as_of or before the
            window are left out.
        as_of: the day prices are brought to; the last sale's if None.
        start: an earlier model of like sales, to set out from. Quicker, and within a per cent or
            two of the same prices; not for a refresh, whose figures may not depend on the last.

    Raises:
        NotEnoughSales: fewer than ten usable sales.
    """
    from threadpoolctl import threadpool_limits

    chosen = settings if settings is not None else ModelSettings()
    # The matrices are many and small: threads that share one cost five times what they bring, and
    # the order of a sum may not depend on how many there are.
    with threadpool_limits(1):
        return _fitted(read.as_table(sales), chosen, as_of, start)


def _fitted(
    table: pa.Table, chosen: ModelSettings, as_of: dt.date | None, start: PriceModel | None
) -> PriceModel:
    price = read.numbers(table, "log_price")
    day = read.days(table)
    as_of_days = _reference_day(day, as_of)
    usable = np.isfinite(price)
    if day is not None:
        dated = np.where(np.isnan(day), as_of_days, day)
        usable &= (dated <= as_of_days) & (dated > as_of_days - chosen.window_days)
    if usable.sum() < LEAST_SALES:
        raise NotEnoughSales(
            f"{int(usable.sum())} usable sales are too few for the price model; it takes "
            f"{LEAST_SALES}",
            todo="Add sales, or widen window_days.",
        )
    rows = np.flatnonzero(usable)
    whole = None
    if rows.size > chosen.most_joint_sales:
        whole = table.take(pa.array(rows))
        rows = rows[_thinned(whole, chosen)]
    table = table.take(pa.array(rows))
    day = None if day is None else day[rows]
    before = start.fit if start is not None else None
    held, drift = None, 0.0
    tests = held_back_blocks(day, chosen)
    if not tests:
        fit = fit_sales(table, chosen, as_of_days, before)
        errors = fit.last_errors
    else:
        blocks = []
        for earlier, later in tests:
            cut = float(np.nanmax(np.asarray(day)[earlier]))
            inner = fit_sales(table.take(pa.array(earlier)), chosen, cut, before)
            part = table.take(pa.array(later))
            blocks.append(_held_back(part, read_items(inner, part)))
        errors, drift = _errors_and_drift(blocks, chosen.drift_share)
        held = HeldBack.together(blocks)
        fit = fit_sales(table, chosen, as_of_days, inner)
    pool = fit.pool.whole()
    pool.row = rows[pool.row]
    if errors is None:
        raise NotEnoughSales("no sale could be foretold from others")
    ranges = learn_ranges(errors)
    model = PriceModel(fit, ranges, drift, _date(as_of_days), int(rows.size), held)
    if whole is not None:
        from pipeline.statistics.cells import count_cells, refit_on_cells

        refit_on_cells(model, count_cells(whole))
    return model


def _thinned(table: pa.Table, settings: ModelSettings) -> Ints:
    """Rows of a sample of most_joint_sales that keeps thin categories whole."""
    category = read.factor(table, "category_id")
    codes = category.codes if category is not None else np.zeros(table.num_rows, np.int64)
    counts = np.sort(np.bincount(codes))
    # The cap under which the capped counts sum to the size of the sample.
    below = np.cumsum(counts) + counts * np.arange(counts.size - 1, -1, -1)
    whole = int(np.searchsorted(below, settings.most_joint_sales, side="right"))
    spent = int(counts[:whole].sum())
    cap = (settings.most_joint_sales - spent) // max(counts.size - whole, 1)
    draw = np.random.default_rng(settings.seed).permutation(table.num_rows)
    order = draw[np.argsort(codes[draw], kind="stable")]
    first = np.concatenate([[True], np.diff(codes[order]) != 0])
    start = np.maximum.accumulate(np.where(first, np.arange(order.size), 0))
    return np.sort(order[np.arange(order.size) - start < cap])


def _reference_day(day: Floats | None, as_of: dt.date | None) -> float:
    if as_of is not None:
        return float((as_of - dt.date(1970, 1, 1)).days)
    if day is None or not np.isfinite(day).any():
        return 0.0
    return float(np.nanmax(day))


def _date(days: float) -> dt.date:
    return dt.date(1970, 1, 1) + dt.timedelta(days=int(days))


def _held_back(part: pa.Table, reading: Reading) -> HeldBack:
    family, n = read.factor(part, "family_id"), part.num_rows
    return HeldBack(
        np.asarray(read.days(part)),
        read.numbers(part, "log_price"),
        reading.centre,
        reading.width,
        reading.evidence,
        ("",) * n if family is None else tuple(family.labels[i] for i in family.codes),
    )


def _errors_and_drift(blocks: list[HeldBack], share: float) -> tuple[Errors, float]:
    """Errors of the held-back sales as a prediction of their day would have made them, and the
    drift that a prediction of today carries.

    A block's errors are held against the drift that the block before it told; the first block's
    against its own, since nothing came before it.
    """
    biases = [share * common_error(b.log_price - b.centre) for b in blocks]
    carried = [biases[0], *biases[:-1]]
    error = [b.log_price - b.centre - c for b, c in zip(blocks, carried, strict=True)]
    all_of = HeldBack.together(blocks)
    errors = Errors(np.concatenate(error), all_of.width, all_of.evidence)
    return errors, biases[-1]


def held_back_blocks(day: Floats | None, settings: ModelSettings) -> list[tuple[Ints, Ints]]:
    """(earlier, later) rows of each block of the latest sales, oldest block first; the later ones
    are foretold from the earlier ones.

    One block where the latest `calibration_share` of the sales are enough to learn ranges from;
    else further ones before it, until there are `enough_calibration_sales` or three fifths of the
    sales are held back. None where there are too few sales, or no dates.
    """
    if day is None:
        return []
    filled = np.where(np.isnan(day), -np.inf, day)
    n = filled.size
    want = int(settings.calibration_share * n)
    if want < settings.least_calibration_sales:
        return []
    ordered = np.sort(filled)
    out: list[tuple[Ints, Ints]] = []
    end, total = np.inf, 0
    for number in range(1, n // want):
        if out and (
            total >= settings.enough_calibration_sales or number * want > _MOST_HELD_BACK * n
        ):
            break
        cut = ordered[n - number * want]
        later = np.flatnonzero((filled >= cut) & (filled < end))
        earlier = np.flatnonzero(filled < cut)
        if earlier.size < LEAST_SALES or later.size > _MOST_HELD_BACK * n or not np.isfinite(cut):
            break
        if later.size < settings.least_calibration_sales:
            continue  # a day of many sales was held back whole
        if later.size > settings.most_calibration_sales:
            latest = np.argsort(filled[later], kind="stable")[: settings.most_calibration_sales]
            later = later[latest]
        out.append((earlier, later))
        end, total = cut, total + later.size
    return out[::-1]
