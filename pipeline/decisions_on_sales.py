"""What people decided on single sales: data/decisions/sales.csv."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import pyarrow as pa

from pipeline.errors import DecisionError

HEADER = ("sale_id", "action", "who", "decided_on", "why")
ACTIONS = ("keep", "leave_out")
SCHEMA = pa.schema([(name, pa.string()) for name in HEADER])


def read_sale_decisions(path: Path) -> pa.Table:
    """The decisions on sales; an empty table where there is no such file.

    Returns:
        Table of texts: sale_id, action (keep or leave_out), who, decided_on (ISO 8601), why.

    Raises:
        DecisionError: a line that does not hold, with file and line.
    """
    if not path.exists():
        return SCHEMA.empty_table()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise DecisionError(
            "The file is not UTF-8.", where=path, todo="Save it as UTF-8."
        ) from None
    reader = csv.DictReader(text.splitlines())
    if tuple(reader.fieldnames or ()) != HEADER:
        raise DecisionError(
            f"The header is not {','.join(HEADER)}.", where=f"{path}, line 1", todo="Mend it."
        )
    rows: dict[str, dict[str, str]] = {}
    for row in reader:
        where = f"{path}, line {reader.line_num}"
        said = {k: (row.get(k) or "").strip() for k in HEADER}
        _prove(said, where)
        other = rows.get(said["sale_id"])
        if other and other["action"] != said["action"]:
            raise DecisionError(
                f"Two decisions on {said['sale_id']} disagree.", where=where,
                todo="Take one of them away.",
            )  # fmt: skip
        rows[said["sale_id"]] = said
    return pa.Table.from_pylist(list(rows.values()), schema=SCHEMA)


def _prove(said: dict[str, str], where: str) -> None:
    for name in HEADER:
        if not said[name]:
            raise DecisionError(f"The column {name} is empty.", where=where, todo="Fill it.")
    if said["action"] not in ACTIONS:
        raise DecisionError(
            f"The action '{said['action']}' is none of {', '.join(ACTIONS)}.", where=where
        )
    try:
        dt.date.fromisoformat(said["decided_on"])
    except ValueError:
        raise DecisionError(
            f"'{said['decided_on']}' is no date.", where=where, todo="Write it as YYYY-MM-DD."
        ) from None
