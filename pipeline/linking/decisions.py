"""What people decided on pairs of sales: data/decisions/links.csv."""

from __future__ import annotations

from pathlib import Path

import pyarrow as pa

from pipeline.decision_file import read_said
from pipeline.errors import DecisionError

HEADER = ("sale_id", "other_sale_id", "link", "who", "decided_on", "why")
LINKS = ("same", "different")
SCHEMA = pa.schema([*((name, pa.string()) for name in HEADER), ("line", pa.int64())])


def read_link_decisions(path: Path) -> pa.Table:
    """The decisions on pairs; an empty table where there is no such file.

    `same`: the two rows tell of one event, if their days are near and their source does not
    number them apart; else of one piece. `different`: they do not, and nothing may join them,
    not even by way of a third row.

    Returns:
        Table with SCHEMA, the smaller sale_id first, one row a pair.

    Raises:
        DecisionError: a line that does not hold, with file, line and column.
    """
    rows: dict[tuple[str, str], dict[str, str | int]] = {}
    for said in read_said(path, HEADER):
        said.one_of("link", LINKS)
        if said["sale_id"] == said["other_sale_id"]:
            raise said.fault(
                "other_sale_id", "A sale is held against itself.", "Take the line away."
            )
        one, other = sorted((said["sale_id"], said["other_sale_id"]))
        told: dict[str, str | int] = {
            **said.cells, "sale_id": one, "other_sale_id": other, "line": said.line
        }  # fmt: skip
        before = rows.setdefault((one, other), told)
        if before["link"] != said["link"]:
            raise said.fault(
                "link",
                f"Two decisions on {one} and {other} disagree; the other is on line "
                f"{before['line']}.",
                "Take one of them away.",
            )
    _prove_together(rows, path)
    return pa.Table.from_pylist(list(rows.values()), schema=SCHEMA)


def _prove_together(rows: dict[tuple[str, str], dict[str, str | int]], path: Path) -> None:
    """What is the same by way of others cannot be different."""
    root: dict[str, str] = {}

    def top(name: str) -> str:
        while root.setdefault(name, name) != name:
            name = root[name]
        return name

    for (one, other), said in rows.items():
        if said["link"] == "same":
            low, high = sorted((top(one), top(other)))
            root[high] = low
    for (one, other), said in rows.items():
        if said["link"] == "different" and top(one) == top(other):
            raise DecisionError(
                f"{one} and {other} are called different, but other lines make them the same.",
                where=f"{path}, line {said['line']}",
                todo="Take one of these lines away.",
            )
