"""A model as two plain tables, so that it lies in a database or a file beside its figures.

`model_outline` holds one JSON text; `model_arrays` one row an array (number, dtype, shape,
bytes). Nothing is executed when a model is read back: only the classes named here are built.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.errors import WorkspaceError
from pipeline.statistics.dispersion import Dispersion
from pipeline.statistics.embedding import PointMaker
from pipeline.statistics.features import FeatureSpace, Group, Measure, TimeGrid
from pipeline.statistics.fit import Fit, Pool
from pipeline.statistics.hierarchy import Solution
from pipeline.statistics.lines import Lines
from pipeline.statistics.model import PriceModel
from pipeline.statistics.model_settings import ModelSettings
from pipeline.statistics.neighbours import Likeness
from pipeline.statistics.ranges import Ranges

FORM = 3
_CLASSES: dict[str, Any] = {
    c.__name__: c
    for c in (
        PriceModel, Fit, Pool, FeatureSpace, Group, Measure, TimeGrid, Solution, Lines,
        PointMaker, Likeness, Dispersion, Ranges,
    )
}  # fmt: skip


def to_tables(model: PriceModel) -> dict[str, pa.Table]:
    """The model as tables `model_outline` and `model_arrays`, as far as predictions need it.

    What only the tables of effects need (`effects`) is left behind: covariances, counts
    and held-back sales.
    """
    arrays: list[npt.NDArray[Any]] = []
    bare = replace(model.fit, covariances={}, word_variances={}, column_counts={}, last_errors=None)
    outline = {"form": FORM, "model": _taken_apart(replace(model, fit=bare, held=None), arrays)}
    return {
        "model_outline": pa.table({"outline": [json.dumps(outline, ensure_ascii=False)]}),
        "model_arrays": pa.table(
            {
                "number": pa.array(range(len(arrays)), pa.int64()),
                "dtype": pa.array([a.dtype.str for a in arrays], pa.string()),
                "shape": pa.array([list(a.shape) for a in arrays], pa.list_(pa.int64())),
                "data": pa.array([a.tobytes() for a in arrays], pa.large_binary()),
            }
        ),
    }


def from_tables(tables: dict[str, pa.Table]) -> PriceModel:
    """The model back from `to_tables`.

    Raises:
        WorkspaceError: the tables are not those of a model of this version.
    """
    try:
        outline = json.loads(tables["model_outline"].column("outline")[0].as_py())
        rows = sorted(tables["model_arrays"].to_pylist(), key=lambda row: row["number"])
        arrays = [
            np.frombuffer(row["data"], dtype=np.dtype(row["dtype"])).reshape(row["shape"])
            for row in rows
        ]
        form = outline["form"]
    except (KeyError, IndexError, ValueError, TypeError) as problem:
        raise WorkspaceError(
            "the stored price model cannot be read", todo="Run a refresh to fit it anew."
        ) from problem
    if form != FORM:
        raise WorkspaceError(
            f"the stored price model has form {form}, this version reads {FORM}",
            todo="Run a refresh to fit it anew.",
        )
    model = _put_together(outline["model"], arrays)
    if not isinstance(model, PriceModel):
        raise WorkspaceError("the stored tables hold no price model")
    return model


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
    name = type(value).__name__
    if is_dataclass(value) and name in _CLASSES:
        parts = {f.name: _taken_apart(getattr(value, f.name), arrays) for f in fields(value)}
        return {"$": name, "v": parts}
    raise TypeError(f"a {name} has no place in a stored model")


def _put_together(value: Any, arrays: list[npt.NDArray[Any]]) -> Any:
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
        # a list of a sale's keys may be long, and a text is nothing to put together
        items = [one if one.__class__ is str else _put_together(one, arrays) for one in inner]
        return items if kind == "list" else tuple(items)
    if kind == "dict":
        return {_put_together(k, arrays): _put_together(v, arrays) for k, v in inner}
    return _CLASSES[kind](**{k: _put_together(v, arrays) for k, v in inner.items()})
