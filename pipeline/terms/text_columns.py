"""A column of texts, in whatever form a caller holds it, as one Arrow array.

The pipeline hands on Arrow; a person at a prompt has a list, a pandas Series or a NumPy array.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pyarrow as pa

from pipeline.errors import UsageError
from pipeline.terms.printed import printed
from pipeline.terms.text import one_array

# an Arrow column, a pandas or NumPy one, or any iterable of str and None
Texts = Any


def text_column(values: Texts, name: str) -> pa.Array:
    """The values as large_string, null where nothing stands (None, NaN, pandas' NA).

    Args:
        values: an Arrow array or chunked array, a pandas Series or Index, a NumPy array, or an
            iterable; numbers and dates become the text that they print as.
        name: what the caller calls them, for the message.

    Raises:
        UsageError: one string, or no column at all.
    """
    if isinstance(values, pa.Array | pa.ChunkedArray):
        column = values if _holds_text(values.type) else _from_values(values.to_pylist())
    elif isinstance(values, str | bytes) or not isinstance(values, Iterable):
        shown = f"the text '{values}'" if isinstance(values, str) else f"a {type(values).__name__}"
        raise UsageError(
            f"`{name}` is {shown}, where a column of texts is asked for.",
            todo="Give a list, a pandas Series or an Arrow array; for one text a list of one.",
        )
    elif hasattr(values, "__dataframe__") or isinstance(values, pa.Table | dict):
        raise UsageError(
            f"`{name}` is a whole table, where one column of texts is asked for.",
            todo="Give one of its columns.",
        )
    else:
        column = _from_values(values)
    if pa.types.is_null(column.type):
        return pa.nulls(len(column), pa.large_string())
    return one_array(column)


def _from_values(values: Iterable[Any]) -> pa.Array | pa.ChunkedArray:
    held = values if hasattr(values, "dtype") else list(values)
    try:
        column = pa.array(held, from_pandas=True)
        if not _holds_text(column.type):
            raise pa.ArrowInvalid("no text")
    except (pa.ArrowInvalid, pa.ArrowTypeError, pa.ArrowNotImplementedError):
        column = pa.array([printed(one) for one in held], pa.large_string())
    return column


def _holds_text(kind: pa.DataType) -> bool:
    if pa.types.is_dictionary(kind):
        kind = kind.value_type
    return (
        pa.types.is_string(kind)
        or pa.types.is_large_string(kind)
        or pa.types.is_string_view(kind)
        or pa.types.is_null(kind)
    )
