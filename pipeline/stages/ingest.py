"""Ingest: the records of one export become landed rows, every cell still text.

Read: batches of cells by header. Work: lines that are no sale (headers repeated, totals, blank
lines) are named; mapped columns take the name of their meaning; the others are kept by header.
Write: nothing; the caller does.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import LANDED, MEANINGS, MEASURE
from pipeline.exports.source import Source

TOTAL = re.compile(
    r"^\W*(grand |sub)?-?(totals?|sum|summe|gesamt(summe)?|zwischensumme|totaal|totale|count"
    r"|anzahl)\b",
    re.IGNORECASE,
)
NUMBER = r"^\s*[-+]?[0-9][0-9.,' ]*\s*$"


def rows_that_are_none(cells: pa.RecordBatch, source: Source) -> tuple[list[int], list[str]]:
    """Records that are no rows of data, and why.

    Args:
        cells: text columns by header.
        source: tells which columns must hold something in a sale.

    Returns:
        Indices into `cells`, rising, and a reason for each (`pipeline.reasons.SET_ASIDE`).
    """
    reasons: dict[int, str] = {}
    headers = [h for h in source.columns if h in cells.schema.names]
    if not headers or not cells.num_rows:
        return [], []
    first = pc.equal(pc.utf8_trim_whitespace(cells.column(headers[0])), headers[0])
    for row in np.flatnonzero(first.to_numpy(zero_copy_only=False)).tolist():
        if all(cells.column(h)[row].as_py().strip() == h for h in headers):
            reasons[row] = "repeated_header"
    for row in _without_date(cells, source):
        values = [cells.column(k)[row].as_py().strip() for k in range(cells.num_columns)]
        stated = [v for v in values if v]
        if not stated:
            reasons[row] = "blank_line"
        elif TOTAL.match(stated[0]) and len(stated) <= max(3, len(values) // 2):
            reasons[row] = "total_line"
    rows = sorted(reasons)
    return rows, [reasons[k] for k in rows]


def _without_date(cells: pa.RecordBatch, source: Source) -> list[int]:
    """Rows without a date of sale (without a price, where the date is a constant)."""
    header = source.header_of.get("sold") or source.header_of.get("price")
    if header is None:
        return []
    digits = pc.match_substring_regex(cells.column(header), "[0-9]")
    return np.flatnonzero(~digits.to_numpy(zero_copy_only=False)).tolist()


def land(
    cells: pa.RecordBatch,
    line_number: npt.NDArray[np.int64],
    source: Source,
    file_id: str,
) -> pa.Table:
    """Landed rows of a batch of records.

    Args:
        cells: text columns by header, n rows.
        line_number: physical line of each, int64 of length n.
        source: says which column means what.
        file_id: first 16 hex digits of the export's SHA-256.

    Returns:
        Table of n rows with the schema `pipeline.columns.LANDED`; an empty cell is null in the
        columns that have a meaning. Cells that nobody mapped stand in `other_cells` by header.
    """
    n = cells.num_rows
    columns: dict[str, pa.Array] = {
        "file_id": pa.array([file_id], pa.string()).take(pa.array(np.zeros(n, dtype=np.int64))),
        "line_number": pa.array(line_number, pa.int64()),
    }
    header_of = source.header_of
    for meaning in MEANINGS:
        name = f"{meaning}_text"
        if meaning in header_of:
            cell = pc.utf8_trim_whitespace(cells.column(header_of[meaning]))
            columns[name] = pc.if_else(pc.equal(cell, ""), pa.scalar(None, pa.string()), cell)
        elif meaning in source.constants:
            value = pa.array([source.constants[meaning]], pa.string())
            columns[name] = value.take(pa.array(np.zeros(n, dtype=np.int64)))
        else:
            columns[name] = pa.nulls(n, pa.string())
    columns["measures"] = _measures(cells, source)
    unmapped = [
        name
        for name in cells.schema.names
        if name not in source.columns or source.columns[name].startswith(MEASURE)
    ]
    columns["other_cells"] = _as_map(cells, unmapped)
    return pa.table([columns[f.name] for f in LANDED], schema=LANDED)


def _as_map(cells: pa.RecordBatch, names: list[str]) -> pa.Array:
    """The named columns of each row as a map; empty cells are left out."""
    n = cells.num_rows
    if not names or not n:
        return pa.nulls(n, LANDED.field("other_cells").type)
    stacked = pa.concat_arrays([cells.column(name) for name in names])
    order = np.arange(n * len(names)).reshape(len(names), n).T.ravel()
    filled = ~pc.equal(stacked, "").to_numpy(zero_copy_only=False)[order]
    values = stacked.take(pa.array(order[filled]))
    keys = pa.DictionaryArray.from_arrays(
        pa.array((order // n).astype(np.int32)[filled]), pa.array(names, pa.string())
    ).cast(pa.string())
    ends = np.cumsum(filled.reshape(n, len(names)).sum(axis=1))
    offsets = pa.array(np.concatenate(([0], ends)).astype(np.int32))
    return pa.MapArray.from_arrays(offsets, keys, values)


def _measures(cells: pa.RecordBatch, source: Source) -> pa.Array:
    """Numbers of the columns mapped as measures; what is no number is left out."""
    names = [h for h, m in source.columns.items() if m.startswith(MEASURE)]
    n = cells.num_rows
    if not names or not n:
        return pa.nulls(n, LANDED.field("measures").type)
    texts = pa.RecordBatch.from_arrays(
        [_plain_number(cells.column(h), source.decimal_mark) for h in names],
        names=[source.columns[h].removeprefix(MEASURE) for h in names],
    )
    as_text = _as_map(texts, texts.schema.names)
    return pa.MapArray.from_arrays(
        as_text.offsets, as_text.keys, pc.cast(as_text.items, pa.float64())
    )


def _plain_number(column: pa.Array, decimal_mark: str) -> pa.Array:
    """Numbers as text that a cast to float takes; "" for what is no number."""
    group = "." if decimal_mark == "," else ","
    text = pc.replace_substring_regex(column, f"[{group}' ]", "")
    if decimal_mark == ",":
        text = pc.replace_substring(text, ",", ".")
    good = pc.match_substring_regex(text, r"^[-+]?[0-9]{1,15}(\.[0-9]*)?$")
    text = pc.replace_substring_regex(text, r"^\+", "")
    return pc.if_else(good, text, "")
