"""What people decided on pairs of sales: data/decisions/links.csv."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import pyarrow as pa

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
    rows: dict[tuple[str, str], dict[str, str | int]] = {}
    for row in reader:
        where = f"{path}, line {reader.line_num}"
        said = {k: (row.get(k) or "").strip() for k in HEADER}
        _prove(said, where)
        one, other = sorted((said["sale_id"], said["other_sale_id"]))
        before = rows.get((one, other))
        if before and before["link"] != said["link"]:
            raise DecisionError(
                f"Two decisions on {one} and {other} disagree; the other is on line "
                f"{before['line']}.", where=where, todo="Take one of them away.",
            )  # fmt: skip
        rows.setdefault(
            (one, other),
            {**said, "sale_id": one, "other_sale_id": other, "line": reader.line_num},
        )
    _prove_together(rows, path)
    return pa.Table.from_pylist(list(rows.values()), schema=SCHEMA)


def _prove(said: dict[str, str], where: str) -> None:
    for name in HEADER:
        if not said[name]:
            raise DecisionError(f"The column {name} is empty.", where=where, todo="Fill it.")
    if said["link"] not in LINKS:
        raise DecisionError(
            f"The link '{said['link']}' is none of {', '.join(LINKS)}.", where=where
        )
    if said["sale_id"] == said["other_sale_id"]:
        raise DecisionError("A sale is held against itself.", where=where, todo="Take it away.")
    try:
        dt.date.fromisoformat(said["decided_on"])
    except ValueError:
        raise DecisionError(
            f"'{said['decided_on']}' is no date.", where=where, todo="Write it as YYYY-MM-DD."
        ) from None


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
