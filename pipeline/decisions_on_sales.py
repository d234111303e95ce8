"""What people decided on single sales: data/decisions/sales.csv."""

from __future__ import annotations

from pathlib import Path

import pyarrow as pa

from pipeline.decision_file import read_said

HEADER = ("sale_id", "action", "who", "decided_on", "why")
ACTIONS = ("keep", "leave_out")
SCHEMA = pa.schema([(name, pa.string()) for name in HEADER])


def read_sale_decisions(path: Path) -> pa.Table:
    """The decisions on sales; an empty table where there is no such file.

    Returns:
        Table of texts: sale_id, action (keep or leave_out), who, decided_on (ISO 8601), why.

    Raises:
        DecisionError: a line that does not hold, with file, line and column.
    """
    rows: dict[str, dict[str, str]] = {}
    for said in read_said(path, HEADER):
        said.one_of("action", ACTIONS)
        other = rows.setdefault(said["sale_id"], said.cells)
        if other["action"] != said["action"]:
            raise said.fault(
                "action", f"Two decisions on {said['sale_id']} disagree.",
                "Take one of them away.",
            )  # fmt: skip
    return pa.Table.from_pylist(list(rows.values()), schema=SCHEMA)
