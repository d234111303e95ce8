"""The sales that a prediction may read as its nearest: held whole, or read when asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Literal, Protocol

import numpy as np
import pyarrow as pa

from pipeline.statistics.arrays import Floats, Ints

By = Literal["part", "kind"]


@dataclass
class Pool:
    """Sales, one row each, in the order of the table of the fit.

    points: of the learned likeness; residual: log units, each sale left out of its own fit; plain:
    with it in; trust: 0 to 1; day: days since 1970, or the order of the table where all are of one
    day; part: family and attribution class; kind: category and class; category: place in the
    space's list; row: place in the table of the fit; effects: by line; sale_id: text.
    """

    points: Floats
    residual: Floats
    plain: Floats
    trust: Floats
    day: Floats
    part: Ints
    kind: Ints
    category: Ints
    row: Ints
    effects: Floats
    log_price: Floats
    sale_id: pa.StringArray

    @property
    def size(self) -> int:
        return int(self.row.size)

    def at(self, places: Ints) -> Pool:
        """The sales of some places, in their order."""
        return Pool(**{
            f.name: self.sale_id.take(pa.array(places)) if f.name == "sale_id"
            else getattr(self, f.name)[places]
            for f in fields(self)
        })  # fmt: skip

    def parted(self, by: By, numbers: Sequence[int]) -> dict[int, Pool]:
        """The sales of each part or kind that is asked for and has any."""
        mine: Ints = getattr(self, by)
        found = {number: np.flatnonzero(mine == number) for number in numbers}
        return {number: self.at(places) for number, places in found.items() if places.size}

    def whole(self) -> Pool:
        return self


class Pools(Protocol):
    """What a fit asks of its sales."""

    def parted(self, by: By, numbers: Sequence[int]) -> dict[int, Pool]:
        """The sales of each part or kind that is asked for and has any."""
        ...

    def whole(self) -> Pool:
        """All of them at once."""
        ...


class StoredPool:
    """Sales that lie elsewhere: those of a kind or a part are read when first asked for."""

    def __init__(self, read: Callable[[By, Sequence[int]], Pool], read_all: Callable[[], Pool]):
        """Args:
        read: the sales of some parts or kinds, in any order.
        read_all: all sales, in any order.
        """
        self._read = read
        self._read_all = read_all
        self._held: dict[By, dict[int, Pool | None]] = {"part": {}, "kind": {}}

    def parted(self, by: By, numbers: Sequence[int]) -> dict[int, Pool]:
        """See `Pools`."""
        held = self._held[by]
        missing = [number for number in numbers if number not in held]
        if missing:
            held |= dict.fromkeys(missing)
            held |= _parted(self._read(by, missing), by)
        found = {number: held[number] for number in numbers}
        return {number: sales for number, sales in found.items() if sales is not None}

    def whole(self) -> Pool:
        """See `Pools`."""
        sales = self._read_all()
        return sales.at(np.argsort(sales.row, kind="stable"))


def _parted(sales: Pool, by: By) -> dict[int, Pool]:
    """Sales in any order by part or kind, each in the order of the table of the fit."""
    if not sales.size:
        return {}
    mine: Ints = getattr(sales, by)
    order = np.lexsort((sales.row, mine))
    cuts = np.flatnonzero(np.diff(mine[order])) + 1
    return {int(mine[places[0]]): sales.at(places) for places in np.split(order, cuts)}


def joined(pools: Sequence[Pool], n_lines: int) -> Pool:
    """Pools one after the other; of none, an empty one with so many lines of effects."""
    if len(pools) == 1:
        return pools[0]
    if not pools:
        number, place = np.zeros(0), np.zeros(0, dtype=np.int64)
        return Pool(
            points=np.zeros((0, 0)), residual=number, plain=number, trust=number, day=number,
            part=place, kind=place, category=place, row=place, effects=np.zeros((0, n_lines)),
            log_price=number, sale_id=pa.array([], pa.string()),
        )  # fmt: skip
    return Pool(**{
        f.name: pa.concat_arrays([pool.sale_id for pool in pools]) if f.name == "sale_id"
        else np.concatenate([getattr(pool, f.name) for pool in pools])
        for f in fields(Pool)
    })  # fmt: skip
