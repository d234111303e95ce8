"""Work on the distinct values of a column, and the way back to its rows."""

from __future__ import annotations

from collections.abc import Callable

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


def repeated(value: str | None, n: int) -> pa.Array:
    """n times the same text."""
    return pa.nulls(n, pa.string()) if value is None else pa.repeat(pa.scalar(value), n)
