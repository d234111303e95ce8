"""How common a word is: counts of words, pairs of words and amounts, by group, in fixed memory.

A count lives in a table of 2^k places at the place that a hash names. Two words that meet in one
place share a count, so a count is never too low: a word may look commoner than it is, and links
are made more cautiously for it, never less.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from pipeline.linking.words import Words64, mixed

Floats = npt.NDArray[np.float64]
Counts32 = npt.NDArray[np.int32]
Groups = npt.NDArray[np.int64]

EVERYTHING = 0
"""The group of all rows."""


def places_for(n_rows: int) -> int:
    """Bits of a table for so many rows: about eight words a row, at most 128 MB a table."""
    return int(np.clip(np.ceil(np.log2(max(n_rows, 1) * 8)), 20, 25))


@dataclass
class Frequencies:
    """Counts of codes within groups; group 0 holds every row.

    bits: log2 of the number of places. rows: rows in each group.
    """

    bits: int
    n_groups: int
    table: Counts32 = field(init=False)
    rows: Groups = field(init=False)

    def __post_init__(self) -> None:
        self.table = np.zeros(1 << self.bits, dtype=np.int32)
        self.rows = np.zeros(self.n_groups, dtype=np.int64)

    def add_rows(self, group: Groups) -> None:
        """Count rows; `group` 0 counts in 0 alone, any other in 0 as well."""
        self.rows += np.bincount(group[group > 0], minlength=self.n_groups)
        self.rows[EVERYTHING] += len(group)

    def add(self, code: Words64, group: Groups) -> None:
        """Count codes, each in its own group and in the group of everything."""
        np.add.at(self.table, self._place(code, np.zeros(len(code), dtype=np.int64)), np.int32(1))
        own = group > 0
        np.add.at(self.table, self._place(code[own], group[own]), np.int32(1))

    def count(self, code: Words64, group: Groups) -> Counts32:
        """How often each code was counted in its group, or a little more."""
        return self.table[self._place(code, group)]

    def _place(self, code: Words64, group: Groups) -> npt.NDArray[np.int64]:
        with np.errstate(over="ignore"):
            salted = code + mixed(group.astype(np.uint64) + np.uint64(0x5EED))
        return (mixed(salted) >> np.uint64(64 - self.bits)).astype(np.int64)

    def chance(self, code: Words64, group: Groups, *, others: float = 2.0) -> Floats:
        """The chance that a row of the group, drawn blindly, carries the code.

        The two rows that are compared are taken out of the count; then the share in the group is
        drawn towards the share among all rows, by as much as ten rows would, and one row is
        added, so that nothing is impossible because it was not seen yet.

        Args:
            others: rows to take out.

        Returns:
            float64 in (0, 1].
        """
        everywhere = np.zeros(len(code), dtype=np.int64)
        overall = np.maximum(self.count(code, everywhere) - others, 0) / max(
            float(self.rows[EVERYTHING]) - others, 1.0
        )
        n = np.maximum(self.rows[group] - others, 0)
        seen = np.maximum(self.count(code, group) - others, 0)
        return np.minimum((seen + 1.0 + _DRAWN * overall) / (n + 1.0 + _DRAWN), 1.0)


_DRAWN = 10.0
