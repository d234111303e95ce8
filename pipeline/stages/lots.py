"""Lots: how many pieces a price is for, and in what kind of set."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from pipeline import reasons
from pipeline.stages.distinct import is_true, one_array
from pipeline.terms.quantities import (
    combine,
    read_quantities,
    read_quantity_column,
    size_classes,
)


def read_lots(landed: pa.Table, price_of: str = "lot") -> pa.Table:
    """Kind of lot, pieces, size class, what the reading tells, and the problem.

    Args:
        landed: n rows; title_text and quantity_text are read.
        price_of: "piece" where a price is for one piece of a lot.

    Returns:
        lot_kind, n_pieces, set_size, reason, problem (a reason that sets the row aside, or null).
    """
    read = read_quantities(landed.column("title_text"))
    quantity = one_array(landed.column("quantity_text"))
    if quantity.null_count < len(quantity):
        read = combine(read, read_quantity_column(quantity))
    kind, pieces, reason = (one_array(read[k]) for k in ("lot_kind", "n_pieces", "reason"))
    if price_of == "piece":
        kind = pc.if_else(pc.equal(kind, "bulk"), kind, pa.scalar("single"))
        sizes = pc.if_else(pc.equal(kind, "bulk"), "bulk", "single")
    else:
        sizes = size_classes(pieces, kind)
    impossible = is_true(pc.is_in(reason, value_set=pa.array(list(reasons.QUANTITIES))))
    problem = pc.if_else(impossible, "quantity_out_of_bounds", None)
    return pa.table(
        {
            "lot_kind": kind,
            "n_pieces": pieces,
            "set_size": sizes,
            "reason": reason,
            "problem": problem,
        }
    )
