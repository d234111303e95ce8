"""A model as three plain tables, so that it lies in a database or a file beside its figures.

`model_outline` holds one JSON text; `model_arrays` one row an array (number, dtype, shape,
bytes); `model_pool` one row a sale that a prediction may read as its nearest. Of these a
prediction needs only those of a few kinds or parts, so they are asked for when they are needed.
Nothing is executed when a model is read back: only the classes named here are built.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import WorkspaceError
from pipeline.statistics.dispersion import Dispersion
from pipeline.statistics.embedding import PointMaker
from pipeline.statistics.features import FeatureSpace, Group, Measure, TimeGrid
from pipeline.statistics.fit import Fit
from pipeline.statistics.hierarchy import Solution
from pipeline.statistics.lines import Lines
from pipeline.statistics.model import PriceModel
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.neighbours import Likeness
from pipeline.statistics.pool import By, Pool, Pools, StoredPool
from pipeline.statistics.ranges import Ranges

FORM = 5
OUTLINE, ARRAYS, POOL = "model_outline", "model_arrays", "model_pool"
PoolRows = Callable[[By | None, Sequence[int]], pa.Table]
_CLASSES: dict[str, Any] = {
    c.__name__: c
    for c in (
        PriceModel, Fit, FeatureSpace, Group, Measure, TimeGrid, Solution, Lines, PointMaker,
        Likeness, Dispersion, Ranges,
    )
}  # fmt: skip
_LISTS = ("points", "effects")


def to_tables(model: PriceModel) -> dict[str, pa.Table]:
    """The model as its three tables, as far as predictions need it.

    What only the tables of effects need (`effects`) is left behind: covariances, counts
    and held-back sales.
    """
    arrays: list[npt.NDArray[Any]] = []
    bare = replace(model.fit, covariances={}, word_variances={}, column_counts={}, last_errors=None)
    outline = {"form": FORM, "model": _taken_apart(replace(model, fit=bare, held=None), arrays)}
    return {
        OUTLINE: pa.table({"outline": [json.dumps(outline, ensure_ascii=False)]}),
        ARRAYS: pa.table(
            {
                "number": pa.array(range(len(arrays)), pa.int64()),
                "dtype": pa.array([a.dtype.str for a in arrays], pa.string()),
                "shape": pa.array([list(a.shape) for a in arrays], pa.list_(pa.int64())),
                "data": pa.array([a.tobytes() for a in arrays], pa.large_binary()),
            }
        ),
        POOL: _table_of(model.fit.pool.whole()),
    }


def from_tables(tables: dict[str, pa.Table]) -> PriceModel:
    """The model back from `to_tables`.

    Raises:
        WorkspaceError: the tables are not those of a model of this version.
    """

    def rows(by: By | None, numbers: Sequence[int]) -> pa.Table:
        pool = tables[POOL]
        if by is None:
            return pool
        return pool.filter(pc.is_in(pool[by], pa.array(numbers, pa.int64())))

    return read_model(tables, rows)


def read_model(tables: dict[str, pa.Table], pool_rows: PoolRows) -> PriceModel:
    """The model back from its outline and arrays; its sales are read when a prediction needs them.

    Args:
        tables: `model_outline` and `model_arrays`.
        pool_rows: gives the rows of `model_pool` of some parts or kinds, all of them for None.

    Raises:
        WorkspaceError: the tables are not those of a model of this version. A prediction raises it
            too, where the sales it asks for are not.
    """
    try:
        outline = json.loads(tables[OUTLINE].column("outline")[0].as_py())
        form = outline["form"]
    except (KeyError, IndexError, ValueError, TypeError) as problem:
        raise _unreadable() from problem
    if form != FORM:
        raise WorkspaceError(
            f"the stored price model has form {form}, this version reads {FORM}",
            todo="Run a refresh to fit it anew.",
        )
    try:
        rows = sorted(tables[ARRAYS].to_pylist(), key=lambda row: row["number"])
        arrays = [
            np.frombuffer(row["data"], dtype=np.dtype(row["dtype"])).reshape(row["shape"])
            for row in rows
        ]
        model = _put_together(outline["model"], arrays, pool_rows)
    except (KeyError, IndexError, ValueError, TypeError, AttributeError) as problem:
        raise _unreadable() from problem
    if not isinstance(model, PriceModel):
        raise WorkspaceError("the stored tables hold no price model")
    return model


def _unreadable() -> WorkspaceError:
    return WorkspaceError(
        "the stored price model cannot be read", todo="Run a refresh to fit it anew."
    )


def _table_of(pool: Pool) -> pa.Table:
    columns: dict[str, Any] = {f.name: getattr(pool, f.name) for f in fields(Pool)}
    for name in _LISTS:
        values = columns[name]
        ends = np.arange(values.shape[0] + 1, dtype=np.int32) * values.shape[1]
        columns[name] = pa.ListArray.from_arrays(pa.array(ends), pa.array(values.ravel()))
    return pa.table(columns)


def _pool_of(table: pa.Table, widths: dict[str, int]) -> Pool:
    """The sales of some rows of `model_pool`.

    Raises:
        WorkspaceError: they are none of this model.
    """
    columns: dict[str, Any] = {}
    try:
        for name in (f.name for f in fields(Pool)):
            column = table[name].combine_chunks()
            if name == "sale_id":
                columns[name] = column.cast(pa.string())
            elif name in _LISTS:
                flat = column.flatten().to_numpy(zero_copy_only=False)
                columns[name] = flat.reshape(len(column), widths[name])
            else:
                columns[name] = column.to_numpy(zero_copy_only=False)
    except (KeyError, ValueError, AttributeError, pa.ArrowInvalid) as problem:
        raise _unreadable() from problem
    return Pool(**columns)


def _stored_pool(widths: dict[str, int], pool_rows: PoolRows) -> Pools:
    return StoredPool(
        lambda by, numbers: _pool_of(pool_rows(by, numbers), widths),
        lambda: _pool_of(pool_rows(None, ()), widths),
    )


def _taken_apart(value: Any, arrays: list[npt.NDArray[Any]]) -> Any:
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, np.integer | int):
        return int(value)
    if isinstance(value, np.floating | float):
        return {"$": "float", "v": float(value).hex()}
    if isinstance(value, dt.date):
        return {"$": "date", "v": value.isoformat()}
    if isinstance(value, ModelSettings):
        return {"$": "settings", "v": value.model_dump(mode="json")}
    if isinstance(value, np.ndarray):
        arrays.append(np.ascontiguousarray(value))
        return {"$": "array", "v": len(arrays) - 1}
    if isinstance(value, list | tuple):
        kind = "list" if isinstance(value, list) else "tuple"
        return {"$": kind, "v": [_taken_apart(item, arrays) for item in value]}
    if isinstance(value, dict):
        pairs = [[_taken_apart(k, arrays), _taken_apart(v, arrays)] for k, v in value.items()]
        return {"$": "dict", "v": pairs}
    if isinstance(value, Pool | StoredPool):
        pool = value.whole()
        return {"$": "pool", "v": {name: getattr(pool, name).shape[1] for name in _LISTS}}
    name = type(value).__name__
    if is_dataclass(value) and name in _CLASSES:
        parts = {f.name: _taken_apart(getattr(value, f.name), arrays) for f in fields(value)}
        return {"$": name, "v": parts}
    raise TypeError(f"a {name} has no place in a stored model")


def _put_together(value: Any, arrays: list[npt.NDArray[Any]], pool_rows: PoolRows) -> Any:
    def inside(part: Any) -> Any:
        return _put_together(part, arrays, pool_rows)

    if not isinstance(value, dict):
        return value
    kind, inner = value["$"], value["v"]
    if kind == "float":
        return float.fromhex(inner)
    if kind == "date":
        return dt.date.fromisoformat(inner)
    if kind == "settings":
        return ModelSettings.model_validate(inner)
    if kind == "array":
        return arrays[inner]
    if kind in ("list", "tuple"):
        items = [inside(one) for one in inner]
        return items if kind == "list" else tuple(items)
    if kind == "dict":
        return {inside(k): inside(v) for k, v in inner}
    if kind == "pool":
        return _stored_pool(inner, pool_rows)
    return _CLASSES[kind](**{k: inside(v) for k, v in inner.items()})
