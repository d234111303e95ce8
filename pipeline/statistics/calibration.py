"""Whether stated ranges still hold: a quick back-test of the sales that every fit holds back.

The fit foretells its latest sales from the earlier ones. Ranges learned on the older half of them
are held against the newer half, as split conformal ranges are meant to be used; no further fit is
needed. A range is off when chance alone would hardly part it so far from its promise.
"""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from scipy import special

from pipeline.statistics.arrays import Floats
from pipeline.statistics.backtest import MODEL, measure
from pipeline.statistics.ranges import (
    EVIDENCE,
    LEVELS,
    Errors,
    HeldBack,
    common_error,
    learn_ranges,
)

# One false alarm in a hundred refreshes, over all groups and both checks together (Bonferroni).
# Sales of one kind err alike, so there will be somewhat more.
FALSE_ALARMS = 0.01
# With fewer newer sales even a coverage of nothing would say little.
LEAST_JUDGED = 30
PROMISED = 0.8


def quick_backtest(held: HeldBack, drift_share: float) -> pa.Table:
    """Measures of the newer half of held-back sales under ranges of the older half.

    Args:
        held: as `PriceModel.held`.
        drift_share: share of the older half's common error that is carried to the newer.

    Returns:
        A row a group (all, a family, an evidence class), the columns of `backtest.measure` but
        method, and n_learned_from (older sales), share_below (share of prices under the
        estimate), is_off. No rows where either half has fewer than LEAST_JUDGED sales.
    """
    cut = float(np.median(held.day)) if held.day.size else 0.0
    older, newer = held.day < cut, held.day >= cut
    if min(int(older.sum()), int(newer.sum())) < LEAST_JUDGED:
        return pa.table({})
    error = held.log_price - held.centre
    drift = drift_share * common_error(error[older])
    ranges = learn_ranges(Errors(error[older] - drift, held.width[older], held.evidence[older]))
    centre = held.centre[newer] + drift
    found = ranges.quantiles(centre, held.width[newer], held.evidence[newer])
    families = np.array(held.family, dtype=object)[newer]
    classes = np.array(EVIDENCE, dtype=object)[held.evidence[newer]]
    price = held.log_price[newer]
    measures = measure(
        pa.table(
            {
                "method": pa.array([MODEL] * price.size),
                "family_id": pa.array(families, pa.string()),
                "evidence": pa.array(classes, pa.string()),
                "log_price": pa.array(price),
                "quantiles": pa.FixedSizeListArray.from_arrays(
                    pa.array(found.ravel()), len(LEVELS)
                ),
            }
        )
    ).drop_columns("method")
    groups = list(zip(measures["kind"].to_pylist(), measures["group"].to_pylist(), strict=True))
    chosen = {"family": families, "evidence": classes, "all": np.full(price.size, "all")}
    below = [float((price < centre)[chosen[kind] == name].mean()) for kind, name in groups]
    learned = pa.array([int(older.sum())] * len(groups), pa.int64())
    n = measures["n"].to_numpy()
    off = _is_off(measures["coverage_80"].to_numpy(), PROMISED, n, int(older.sum()))
    off |= _is_off(np.array(below), 0.5, n, int(older.sum()))
    return (
        measures.append_column("n_learned_from", learned)
        .append_column("share_below", pa.array(below))
        .append_column("is_off", pc.fill_null(pa.array(off), False))
    )


def _is_off(share: Floats, promised: float, n: Floats, n_older: int) -> np.ndarray:
    """Whether a share lies beyond what chance does, in both the judged and the older sales."""
    reach = float(special.ndtri(1 - FALSE_ALARMS / (2 * 2 * max(n.size, 1))))
    error = np.sqrt(promised * (1 - promised) * (1 / n + 1 / n_older))
    return (n >= LEAST_JUDGED) & (np.abs(share - promised) > reach * error)
