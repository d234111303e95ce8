"""Corrections: what people mended in single cells, as data in data/decisions/corrections.csv.

A correction names a sale, a column by its meaning, the text that it expects there and the text
that is to stand in its place. It is applied to the landed text before terms and prices are read,
so that all that follows from the cell follows from the correction. One that no longer finds what
it expects stops the refresh: the source has mended itself, or the row is another.
"""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from pipeline.columns import LANDED, MEANINGS
from pipeline.database import open_to_read
from pipeline.decision_file import Said, read_said
from pipeline.errors import DecisionError
from pipeline.exports.sale_dates import read_sale_dates
from pipeline.exports.source import Source
from pipeline.sql import run

HEADER = ("sale_id", "column", "expected", "new", "who", "decided_on", "why")
SCHEMA = pa.schema([*((name, pa.string()) for name in HEADER), ("line", pa.int64())])
CHANGES = pa.schema(
    [
        pa.field("line_number", pa.int64()),
        pa.field("column", pa.string()),
        pa.field("expected", pa.string()),
        pa.field("new", pa.string()),
        pa.field("row_digest", pa.string()),
    ]
)
COLUMNS = tuple(m for m in MEANINGS if m != "listing_id")
TEXT_COLUMNS = [f"{name}_text" for name in COLUMNS]
CORRECTED = pa.list_(pa.string())
_DAY = re.compile(r"^(.*)@(\d{4}-\d{2}-\d{2})$")
_DIGEST = re.compile(r"^~([0-9a-f]{16})(?:#([2-9]|[1-9][0-9]+))?$")


def row_digest_sql(row: str) -> str:
    """SQL for the digest that stands in the key of a row without a listing number."""
    texts = ", ".join(f'{row}."{c}"' for c in TEXT_COLUMNS)
    return f"left(md5(concat_ws(chr(31), {texts}, {row}.other_cells::VARCHAR)), 16)"


def read_corrections(path: Path) -> pa.Table:
    """The corrections; an empty table where there is no such file.

    An empty `expected` means an empty cell; an empty `new` empties the cell.

    Returns:
        Table with SCHEMA, in the order of the file.

    Raises:
        DecisionError: a line that does not hold, or two for one cell, with file and line.
    """
    rows: dict[tuple[str, str], Said] = {}
    for said in read_said(path, HEADER, may_be_empty=("expected", "new")):
        _prove(said)
        cell = (said["sale_id"], said["column"])
        if cell in rows:
            raise _two_for_one_cell(rows[cell], said)
        rows[cell] = said
    told = [{**said.cells, "line": said.line} for said in rows.values()]
    return pa.Table.from_pylist(told, schema=SCHEMA)


def _prove(said: Said) -> None:
    said.one_of("column", COLUMNS)
    source, _, number = said["sale_id"].partition(":")
    if not source or not number:
        raise said.fault(
            "sale_id", f"'{said['sale_id']}' is no key of a sale.",
            "Write it as the table sales has it: source:number, or source:~digest.",
        )  # fmt: skip
    if said["expected"] == said["new"]:
        raise said.fault(
            "new", f"The text expected and the new one are both '{said['new']}'.",
            "Take the line away.",
        )  # fmt: skip


def _two_for_one_cell(before: Said, said: Said) -> DecisionError:
    loop = before["expected"] == said["new"] and before["new"] == said["expected"]
    told = "turn each other round in a loop" if loop else "concern one cell"
    return said.fault(
        "column",
        f"Two corrections of {said['sale_id']}, {said['column']}, {told}; the other is on line "
        f"{before.line}.",
        "Keep one that leads from the text of the export to the text you want.",
    )


# ---------------------------------------------------------------------------------------------
# Which cells of a file, and the change itself


def changes_for_file(
    corrections: pa.Table, landed: str, source_id: str, source: Source, newest: dt.date
) -> pa.Table:
    """The cells of one landed file that corrections name.

    A number that this file shows on several days is a listing of several pieces: the plain key
    means its first day, `source:number@YYYY-MM-DD` another.

    Returns:
        Table with CHANGES, one row a cell; empty for most files.
    """
    own = [c for c in corrections.to_pylist() if c["sale_id"].startswith(f"{source_id}:")]
    if not own:
        return CHANGES.empty_table()
    for one in own:
        one["number"] = one["sale_id"].removeprefix(f"{source_id}:")
    found = _numbered(own, landed, source, newest) + _unnumbered(own, landed)
    found.sort(key=lambda c: (c["line_number"], c["column"]))
    return pa.Table.from_pylist(found, schema=CHANGES)


def _numbered(
    own: list[dict[str, Any]], landed: str, source: Source, newest: dt.date
) -> list[dict[str, Any]]:
    wanted: dict[str, list[tuple[dict[str, Any], str | None]]] = {}
    for one in own:
        wanted.setdefault(one["number"], []).append((one, None))
        parted = _DAY.match(one["number"])
        if parted:
            wanted.setdefault(parted[1], []).append((one, parted[2]))
    rows = pq.read_table(
        landed, columns=["line_number", "listing_id_text", "sold_text"],
        filters=pc.field("listing_id_text").isin(sorted(wanted)),
    )  # fmt: skip
    if not rows.num_rows:
        return []
    sold_on, _ = read_sale_dates(rows.column("sold_text"), source.date_order, newest)
    days: dict[str, set[dt.date]] = {}
    told = list(
        zip(
            rows["line_number"].to_pylist(), rows["listing_id_text"].to_pylist(),
            sold_on.to_pylist(), strict=True,
        )
    )  # fmt: skip
    for _, number, day in told:
        if day is not None:
            days.setdefault(number, set()).add(day)
    found = []
    for line, number, day in told:
        for one, of_day in wanted[number]:
            several = len(days.get(number, ())) > 1
            if of_day is not None and (day is None or day.isoformat() != of_day):
                continue
            if of_day is None and several and day != min(days[number]):
                continue
            found.append({**one, "line_number": line, "row_digest": None})
    return found


def _unnumbered(own: list[dict[str, Any]], landed: str) -> list[dict[str, Any]]:
    """The plain key means every line with these cells; `#2` one of them, before the plain key."""
    wanted: dict[str, list[tuple[int | None, dict[str, Any]]]] = {}
    for one in own:
        parted = _DIGEST.match(one["number"])
        if parted:
            nth = int(parted[2]) if parted[2] else None
            wanted.setdefault(parted[1], []).append((nth, one))
    if not wanted:
        return []
    with duckdb.connect() as con:
        rows = con.execute(
            "SELECT line_number, digest, "
            "row_number() OVER (PARTITION BY digest ORDER BY line_number DESC) "
            f"FROM (SELECT line_number, {row_digest_sql('p')} AS digest "
            "FROM read_parquet(?) AS p WHERE listing_id_text IS NULL) "
            "WHERE list_contains(?, digest)",
            [landed, sorted(wanted)],
        ).fetchall()
    found = []
    for line, digest, place in rows:
        for nth, one in wanted[digest]:
            own_line = any(
                n == place and other["column"] == one["column"] for n, other in wanted[digest]
            )
            if nth == place or (nth is None and not own_line):
                found.append({**one, "line_number": line, "row_digest": digest})
    return found


def correct(landed: pa.Table, changes: pa.Table | None) -> tuple[pa.Table, pa.Array, pa.Array]:
    """Put the new texts in place of the expected ones; a cell that holds another text is left.

    Args:
        landed: n rows with the schema LANDED.
        changes: from `changes_for_file`.

    Returns:
        The rows; for each the columns that were corrected (null for none); and the digest that
        the key of a corrected row without a number keeps (null elsewhere).
    """
    n = landed.num_rows
    if changes is None or not changes.num_rows:
        return landed, pa.nulls(n, CORRECTED), pa.nulls(n, pa.string())
    place = {line: k for k, line in enumerate(landed["line_number"].to_pylist())}
    corrected: dict[int, list[str]] = {}
    digests: dict[int, str] = {}
    by_column: dict[str, dict[int, str | None]] = {}
    for change in changes.to_pylist():
        row = place.get(change["line_number"])
        if row is None:
            continue
        name = f"{change['column']}_text"
        if (landed[name][row].as_py() or "") != change["expected"]:
            continue
        by_column.setdefault(name, {})[row] = change["new"] or None
        corrected.setdefault(row, []).append(change["column"])
        if change["row_digest"]:
            digests[row] = change["row_digest"]
    for name, cells in by_column.items():
        values = landed[name].to_pylist()
        for row, new in cells.items():
            values[row] = new
        at = LANDED.get_field_index(name)
        landed = landed.set_column(at, LANDED.field(name), pa.array(values, pa.string()))
    marks = pa.array([corrected.get(k) for k in range(n)], CORRECTED)
    keys = pa.array([digests.get(k) for k in range(n)], pa.string())
    return landed, marks, keys


# ---------------------------------------------------------------------------------------------
# What came of them


def prove_corrections(con: duckdb.DuckDBPyConnection, corrections: pa.Table) -> None:
    """Make `applied_corrections`: each correction with the row that counts.

    Args:
        con: holds `rows` and `dropped`, after exports were laid over each other.

    Raises:
        DecisionError: a sale is there, but its cell holds another text than the one expected;
            with file, line and the text found.
    """
    con.register("all_corrections", corrections)
    run(con, "corrections")
    con.unregister("all_corrections")
    wrong = con.execute(
        f"SELECT c.line, c.sale_id, c.column_name, c.expected_text, "
        f"map_extract(MAP([{', '.join(repr(c) for c in COLUMNS)}], "
        f"[{', '.join(f'r.{c}_text' for c in COLUMNS)}]), c.column_name)[1] "
        "FROM applied_corrections AS c INNER JOIN rows AS r USING (row_key) "
        "WHERE NOT c.is_applied ORDER BY c.line"
    ).fetchall()
    if wrong:
        line, sale_id, column, expected, found = wrong[0]
        more = f" {len(wrong) - 1} more no longer fit either." if len(wrong) > 1 else ""
        raise DecisionError(
            f"The correction of {sale_id} expects '{expected or ''}' as {column}, but the export "
            f"says '{found or ''}'.{more}",
            where=f"data/decisions/corrections.csv, line {line}",
            todo="Take the line away if the source has mended itself; else mend what it expects.",
        )


def unused_corrections(database: Path, corrections: pa.Table) -> list[str]:
    """A sentence for every correction whose sale is in no export."""
    if not corrections.num_rows:
        return []
    with open_to_read(database) as con:
        used = set(con.execute("SELECT sale_id, column_name FROM corrections").fetchall())
    return [
        f"corrections.csv, line {c['line']}: there is no sale '{c['sale_id']}' whose "
        f"{c['column']} could be corrected."
        for c in corrections.to_pylist()
        if (c["sale_id"], c["column"]) not in used
    ]


__all__ = [
    "changes_for_file",
    "correct",
    "prove_corrections",
    "read_corrections",
    "row_digest_sql",
    "unused_corrections",
]
