"""Measures: the numbers of mapped columns, and beside them the sizes that the text states.

Read: landed rows. Work: sizes in words, titles and descriptions by their distinct texts. Write:
`measures` of each row. A mapped column counts before the text, which fills what no column tells;
what the text says of a side that a column tells otherwise is left out, and noted.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import NUMBERS
from pipeline.stages.distinct import by_distinct, one_array
from pipeline.terms.size_forms import LENGTHS
from pipeline.terms.sizes import AXES, LARGEST, NAMES, read_sizes

# Sides told in whole inches and in centimetres lie half an inch apart, and people round further;
# common practice, no source.
_ROUNDING_CM, _ROUNDING = 1.3, 0.02
_SIDES = tuple(f"{axis}_cm" for axis in AXES)
_LENGTHS = (LARGEST, *_SIDES)
_MAPPED_SIDE = re.compile(rf"({'|'.join((*AXES, 'largest'))})_({'|'.join(LENGTHS)})")

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def read_measures(landed: pa.Table) -> pa.Table:
    """Measures of n landed rows.

    Args:
        landed: size_text, title_text, description_text and measures (of mapped columns) are read.

    Returns:
        Table of n rows: measures, names and numbers of each row (mapped ones as they are; of the
        text lengths in cm, weight_g and carats; `largest_cm` is the largest side told), null where
        nothing is told; disagrees, whether a column and the text tell two sizes.
    """
    told = _of_text(landed)
    row, names, value = _entries(landed.column("measures"))
    mapped = _mapped_sides(len(landed), row, names, value)
    disagrees = _disagrees(told, mapped)
    for name in _LENGTHS:
        told[name][disagrees | ~np.isnan(mapped[name])] = np.nan
    told[LARGEST] = np.where(np.isnan(mapped[LARGEST]), _largest(told, mapped), np.nan)
    for name in NAMES:
        of_columns = pc.equal(names, name).to_numpy(zero_copy_only=False)
        told[name][row[of_columns]] = np.nan
    rows, labels, values = [row], [names], [value]
    for name, column in told.items():
        has = np.flatnonzero(~np.isnan(column))
        rows.append(has)
        labels.append(pa.repeat(pa.scalar(name), has.size))
        values.append(column[has])
    return pa.table(
        {
            "measures": _as_maps(
                len(landed), np.concatenate(rows), pa.concat_arrays(labels), np.concatenate(values)
            ),
            "disagrees": pa.array(disagrees),
        }
    )


def _of_text(landed: pa.Table) -> dict[str, Floats]:
    """Sizes of a column in words, of titles and of descriptions: the later fill what the earlier do
    not tell, or agree with."""
    told = {name: np.full(len(landed), np.nan) for name in NAMES}
    for name in ("size_text", "title_text", "description_text"):
        column = landed.column(name)
        if column.null_count < len(column):
            told = _filled(told, _columns(by_distinct(column, read_sizes)))
    return told


def _filled(title: dict[str, Floats], described: dict[str, Floats]) -> dict[str, Floats]:
    """The sizes of the first with those of the second that may be of the same thing."""
    silent = np.isnan(title[LARGEST])
    agrees = np.zeros(silent.size, dtype=bool)
    for name in _LENGTHS:
        agrees |= _near(title[LARGEST], described[name])
    for name in NAMES:
        fills = np.isnan(title[name])
        if name in _LENGTHS:
            fills &= silent | agrees
        title[name] = np.where(fills, described[name], title[name])
    larger = agrees & (described[LARGEST] > title[LARGEST])
    larger &= ~_near(described[LARGEST], title[LARGEST])
    title[LARGEST] = np.where(larger, described[LARGEST], title[LARGEST])
    return title


def _columns(sizes: pa.Table) -> dict[str, Floats]:
    return {
        name: np.array(pc.fill_null(one_array(sizes[name]), float("nan")), dtype=np.float64)
        for name in NAMES
    }


def _near(one: Floats, other: Floats) -> Bools:
    """Whether two lengths may be one, told in two units or rounded; false where either is none."""
    return np.abs(one - other) <= np.maximum(_ROUNDING_CM, _ROUNDING * np.maximum(one, other))


def _entries(column: pa.ChunkedArray) -> tuple[npt.NDArray[np.int64], pa.Array, Floats]:
    """Row, name and number of every entry of a column of maps."""
    maps = one_array(column)
    lists = maps.cast(pa.list_(maps.type.field(0).type))
    entries = pc.list_flatten(lists)
    return (
        np.asarray(pc.list_parent_indices(lists), dtype=np.int64),
        pc.struct_field(entries, 0).cast(pa.string()),
        np.array(pc.fill_null(pc.struct_field(entries, 1), float("nan")), dtype=np.float64),
    )


def _mapped_sides(
    n: int, row: npt.NDArray[np.int64], names: pa.Array, value: Floats
) -> dict[str, Floats]:
    """The mapped columns that name a side and its unit, in cm by `_LENGTHS`; NaN for none."""
    out = {name: np.full(n, np.nan) for name in _LENGTHS}
    coded = names.dictionary_encode()
    codes = coded.indices.to_numpy(zero_copy_only=False)
    for code, name in enumerate(coded.dictionary.to_pylist()):
        side = _MAPPED_SIDE.fullmatch(name)
        if side:
            mine = (codes == code) & (value > 0)
            out[f"{side[1]}_cm"][row[mine]] = value[mine] * LENGTHS[side[2]]
    return out


def _disagrees(told: dict[str, Floats], mapped: dict[str, Floats]) -> Bools:
    """Whether a side, or the largest where several are mapped, is told otherwise by the text."""
    out = np.zeros(told[LARGEST].size, dtype=bool)
    n_mapped = np.zeros(out.size, dtype=np.int64)
    known = np.zeros(out.size, dtype=bool)
    for name in _LENGTHS:
        both = ~np.isnan(told[name]) & ~np.isnan(mapped[name])
        out |= both & ~_near(told[name], mapped[name])
        n_mapped += ~np.isnan(mapped[name])
        known |= _near(told[LARGEST], mapped[name])
    axes = np.any([~np.isnan(told[name]) for name in _SIDES], axis=0)
    return out | (~np.isnan(told[LARGEST]) & ~axes & ~known & (n_mapped > 1))


def _largest(told: dict[str, Floats], mapped: dict[str, Floats]) -> Floats:
    """The largest side told; of the text only where it adds one to the mapped sides."""
    sides = np.array([mapped[name] for name in _SIDES])
    of_columns = np.fmax.reduce(sides)
    several = (~np.isnan(sides)).sum(axis=0) > 1
    repeats = several & ~(told[LARGEST] > of_columns * (1 + _ROUNDING) + _ROUNDING_CM)
    repeats |= _near(told[LARGEST], of_columns)
    return np.where(repeats, of_columns, np.fmax(of_columns, told[LARGEST]))


def _as_maps(n: int, row: npt.NDArray[np.int64], names: pa.Array, value: Floats) -> pa.Array:
    """Maps of n rows from their entries in any order; null for a row without."""
    order = np.argsort(row, kind="stable")
    sizes = np.bincount(row, minlength=n)
    offsets = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    empty = np.append(sizes == 0, False)
    return pa.MapArray.from_arrays(
        pa.array(offsets, mask=empty), names.take(pa.array(order)), pa.array(value[order]), NUMBERS
    )
