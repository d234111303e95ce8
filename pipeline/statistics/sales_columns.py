"""Reads the columns of a table of sales or items that the price model knows; any may be absent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.statistics.arrays import Floats, Ints

UNKNOWN = "unknown"
FACTORS = ("condition", "material_id", "period_id", "market", "set_class")


@dataclass(frozen=True)
class Factor:
    """A text column as codes into its sorted distinct labels."""

    codes: Ints
    labels: tuple[str, ...]

    def coded_as(self, labels: tuple[str, ...]) -> Ints:
        """The codes in another list of labels; -1 for a label that it does not hold."""
        place = {label: i for i, label in enumerate(labels)}
        table = np.array([place.get(label, -1) for label in self.labels], dtype=np.int64)
        return table[self.codes] if self.codes.size else self.codes


def as_table(sales: pa.Table | dict[str, Any]) -> pa.Table:
    """An Arrow table of the columns given as one, or as a dict of arrays (measures: a dict)."""
    if isinstance(sales, pa.Table):
        return sales
    columns: dict[str, Any] = dict(sales)
    if isinstance(columns.get("measures"), dict):
        arrays = {
            name: pa.array(np.asarray(values, dtype=np.float64))
            for name, values in columns["measures"].items()
        }
        columns["measures"] = pa.StructArray.from_arrays(list(arrays.values()), list(arrays))
    return pa.table(columns)


def factor(table: pa.Table, name: str) -> Factor | None:
    """A text column as codes, null as "unknown"; None where the table has no such column."""
    if name not in table.column_names:
        return None
    column = table.column(name)
    if pa.types.is_dictionary(column.type):
        column = column.cast(column.type.value_type)
    column = pc.fill_null(column.cast(pa.string()), UNKNOWN).combine_chunks()
    encoded = column.dictionary_encode()
    if isinstance(encoded, pa.ChunkedArray):
        encoded = encoded.combine_chunks()
    labels = encoded.dictionary.to_pylist()
    order = np.argsort(np.array(labels, dtype=object), kind="stable")
    rank = np.empty(len(labels), dtype=np.int64)
    rank[order] = np.arange(len(labels))
    codes = np.asarray(encoded.indices.to_numpy(zero_copy_only=False), dtype=np.int64)
    return Factor(rank[codes] if codes.size else codes, tuple(labels[i] for i in order))


def days(table: pa.Table, name: str = "sold_on") -> Floats | None:
    """A date column as days since 1970, NaN for null; None where there is no such column."""
    if name not in table.column_names:
        return None
    column = table.column(name).cast(pa.date32()).cast(pa.int32()).cast(pa.float64())
    return np.asarray(pc.fill_null(column, float("nan")).to_numpy(), dtype=np.float64)


def numbers(table: pa.Table, name: str) -> Floats:
    """A numeric column as floats, NaN for null.

    Raises:
        KeyError: there is no such column.
    """
    column = table.column(name).cast(pa.float64())
    return np.asarray(pc.fill_null(column, float("nan")).to_numpy(), dtype=np.float64)


def texts(table: pa.Table, name: str) -> npt.NDArray[np.object_] | None:
    """A text column as Python strings, null as ""; None where there is no such column."""
    if name not in table.column_names:
        return None
    column = table.column(name)
    if pa.types.is_dictionary(column.type):
        column = column.cast(column.type.value_type)
    return np.asarray(pc.fill_null(column.cast(pa.string()), "").to_numpy(), dtype=object)


def flags(table: pa.Table, name: str = "faults") -> tuple[Ints, Factor] | None:
    """A list column flattened: the row of every member, and the members as a factor."""
    if name not in table.column_names:
        return None
    column = table.column(name).combine_chunks()
    if isinstance(column, pa.ChunkedArray):
        column = pa.concat_arrays(column.chunks) if column.num_chunks else pa.array([], column.type)
    rows = np.asarray(pc.list_parent_indices(column).to_numpy(zero_copy_only=False), dtype=np.int64)
    members = factor(pa.table({"member": pc.list_flatten(column)}), "member")
    if members is None:
        return None
    return rows, members


def measures(table: pa.Table, name: str = "measures") -> dict[str, Floats]:
    """Numeric measures by name, NaN where missing; from a struct or a map column."""
    if name not in table.column_names:
        return {}
    column = table.column(name).combine_chunks()
    if isinstance(column, pa.ChunkedArray):
        column = pa.concat_arrays(column.chunks) if column.num_chunks else pa.array([], column.type)
    if pa.types.is_struct(column.type):
        return {
            field.name: np.asarray(
                pc.fill_null(
                    pc.struct_field(column, field.name).cast(pa.float64()), float("nan")
                ).to_numpy(zero_copy_only=False),
                dtype=np.float64,
            )
            for field in column.type
        }
    keys = factor(pa.table({"key": column.keys}), "key")
    rows = np.repeat(np.arange(len(column)), np.diff(column.offsets.to_numpy()))
    values = np.asarray(
        column.items.cast(pa.float64()).to_numpy(zero_copy_only=False), dtype=np.float64
    )
    out: dict[str, Floats] = {}
    if keys is None:
        return out
    for i, label in enumerate(keys.labels):
        one = np.full(len(column), np.nan)
        mine = keys.codes == i
        one[rows[mine]] = values[mine]
        out[label] = one
    return out
