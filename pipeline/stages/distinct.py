"""Work on the distinct values of a column, and the way back to its rows."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc


def one_array(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    """The column as one array."""
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def by_distinct(
    column: pa.Array | pa.ChunkedArray, work: Callable[[pa.Array], pa.Table]
) -> pa.Table:
    """Apply `work` to the distinct values of a column and give each row its own result.

    Args:
        column: n texts; nulls get a row of nulls.
        work: from m distinct texts to a table of m rows.

    Returns:
        Table of n rows.
    """
    coded = pc.dictionary_encode(one_array(column))
    done = work(coded.dictionary.cast(pa.string()))
    return done.take(coded.indices)


def is_true(mask: pa.Array | pa.ChunkedArray) -> pa.Array:
    """A mask in which null is false."""
    return pc.fill_null(one_array(mask), False)


def union_lists(lists: list[pa.Array]) -> pa.Array:
    """Row by row, the values of several list columns, each once, in the order of the columns.

    Args:
        lists: columns of lists of texts, all of n rows; a null list is empty.

    Returns:
        n lists.
    """
    n = len(lists[0])
    rows = np.concatenate([pc.list_parent_indices(a).to_numpy(zero_copy_only=False) for a in lists])
    values = pa.concat_arrays([pc.list_flatten(a).cast(pa.string()) for a in lists])
    coded = pc.dictionary_encode(values)
    codes = coded.indices.to_numpy(zero_copy_only=False).astype(np.int64)
    _, first = np.unique(rows.astype(np.int64) * max(len(coded.dictionary), 1) + codes,
                         return_index=True)  # fmt: skip
    first = first[np.lexsort((first, rows[first]))]
    ends = np.cumsum(np.bincount(rows[first], minlength=n)) if n else np.zeros(0, dtype=np.int64)
    offsets = pa.array(np.concatenate(([0], ends)).astype(np.int32))
    return pa.ListArray.from_arrays(offsets, values.take(pa.array(first)))


def repeated(value: str | None, n: int) -> pa.Array:
    """n times the same text."""
    return pa.nulls(n, pa.string()) if value is None else pa.repeat(pa.scalar(value), n)
