"""Questions to the published tables: read-only, whatever is asked."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb

from pipeline.columns import CONDITIONS
from pipeline.database import open_to_read
from pipeline.errors import NotEnoughSales, UsageError, WorkspaceError
from pipeline.sql import run
from pipeline.workspace import Workspace


def connect(workspace: Workspace | str | Path) -> duckdb.DuckDBPyConnection:
    """A read-only connection to the published database of a workspace.

    It sees the database as it was when it was opened, also while a refresh puts a new one in
    place.

    Raises:
        WorkspaceError: nothing has been published yet, or the file cannot be read.
    """
    place = workspace if isinstance(workspace, Workspace) else Workspace.at(workspace)
    if not place.database.exists():
        raise WorkspaceError(
            "Nothing has been published in this workspace yet.",
            where=place.database,
            todo="Put exports under data/raw and run `comparables refresh`.",
        )
    try:
        return open_to_read(place.database)
    except duckdb.Error as error:
        raise WorkspaceError(
            f"The database cannot be opened: {str(error).splitlines()[0]}",
            where=place.database,
            todo="Run `comparables restore`, or `comparables refresh --force`.",
        ) from None


def connect_guarded(workspace: Workspace) -> duckdb.DuckDBPyConnection:
    """As `connect`, and shut off from files and the network: for statements that people type."""
    con = connect(workspace)
    con.execute("SET enable_external_access = false")
    con.execute("SET lock_configuration = true")
    return con


def ask(workspace: Workspace, statement: str) -> duckdb.DuckDBPyRelation:
    """Run one statement that only reads.

    Raises:
        UsageError: the statement is not SQL, is more than one, or would do more than read.
    """
    con = connect_guarded(workspace)
    try:
        parsed = con.extract_statements(statement)
    except duckdb.Error as error:
        raise UsageError(f"This is not SQL: {_first(error)}") from None
    if len(parsed) != 1:
        raise UsageError(f"{len(parsed)} statements were given; one is taken at a time.")
    try:
        answer = con.sql(parsed[0].query)
    except duckdb.IOException:
        raise  # the database's fault, not the statement's
    except duckdb.Error as error:
        raise UsageError(
            f"The question cannot be answered: {_first(error)}",
            todo="Only reading is allowed. `FROM price_bands LIMIT 5` shows what a table holds.",
        ) from None
    if answer is None:
        raise UsageError("The statement asks nothing: it gives no rows.")
    return answer


def _first(error: duckdb.Error) -> str:
    return str(error).strip().split("\n\n", 1)[0]


@dataclass
class BandAnswer:
    """A band, or the nearest that has enough sales, and how the question was understood."""

    question: str
    category_id: str
    category: str
    understood_by: str
    condition: str
    attribution: str
    set_size: str
    others: list[str]
    band: dict[str, Any] | None
    nearest: dict[str, Any] | None
    all_conditions: list[dict[str, Any]] = field(default_factory=list)
    as_of: dt.date | None = None


def band(
    workspace: Workspace,
    text: str,
    *,
    condition: str | None = None,
    attribution: str | None = None,
    set_size: str = "single",
) -> BandAnswer:
    """The band of a category in a condition.

    Args:
        text: any known label of a category, or near enough.
        condition: a grade in any known wording; None for any.
        attribution: period, style, reproduction or unknown; None takes the class with the most
            sales, and says which.
        set_size: single, pair, or a size class of sets.

    Raises:
        UsageError: the text is no category, or the condition no grade; names the nearest.
    """
    from pipeline.answers.lookup import concept_of

    settings = workspace.settings()
    found = concept_of(workspace, text, "category")
    grade = "any" if condition is None else concept_of(workspace, condition, "condition").id
    con = connect(workspace)
    rows = _rows(run(con, "ask_bands", category_id=found.id, set_size=set_size))
    kinds = sorted({r["attribution"] for r in rows})
    chosen = attribution or _most_sold(rows) or "unknown"
    in_class = [r for r in rows if r["attribution"] == chosen]
    in_class.sort(key=lambda r: ("any", *CONDITIONS).index(r["condition"]))
    own = next((r for r in in_class if r["condition"] == grade), None)
    enough = own if own and own["n_sales"] >= settings.bands.answer_sales else None
    nearest = None
    if enough is None:
        nearest = next(
            (r for r in in_class if r["condition"] == "any"
             and r["n_sales"] >= settings.bands.answer_sales), None,
        )  # fmt: skip
    as_of = con.execute("SELECT max(as_of) FROM refreshes").fetchall()[0][0]
    return BandAnswer(
        text, found.id, found.label, found.how, grade, chosen, set_size,
        [k for k in kinds if k != chosen], own, nearest, in_class, as_of,
    )  # fmt: skip


def need_enough(answer: BandAnswer, least: int) -> dict[str, Any]:
    """The band itself.

    Raises:
        NotEnoughSales: fewer than `least`; says what there is.
    """
    if answer.band is None or answer.band["n_sales"] < least:
        n = 0 if answer.band is None else answer.band["n_sales"]
        hint = None
        if answer.nearest:
            hint = (
                f"In any condition there are {answer.nearest['n_sales']} sales: ask without "
                "--condition."
            )
        raise NotEnoughSales(
            f"Not enough sales: {answer.category}, condition {answer.condition}, attribution "
            f"{answer.attribution}, {answer.set_size} has {n}, and {least} are needed.",
            todo=hint,
        )
    return answer.band


def _most_sold(rows: list[dict[str, Any]]) -> str | None:
    counts: dict[str, int] = {}
    for row in rows:
        if row["condition"] == "any":
            counts[row["attribution"]] = row["n_sales"]
    return max(counts, key=lambda k: (counts[k], k)) if counts else None


def _rows(con: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    names = [d[0] for d in con.description or []]
    return [dict(zip(names, row, strict=True)) for row in con.fetchall()]
