"""Validate: the contract of every table, checked before anything is published.

Read: the tables of the new database. Work: the column declarations and the rules across columns
become expectations, which a judge puts to pandas frames (`judge`). A large table is sieved first:
DuckDB looks at every row for every check and hands over those at fault with a sample of the
others, so that the judge sees all that could fail without holding ten million rows in pandas.
Write: rows of `check_results`.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.columns import CHECK_RESULTS, TABLES
from pipeline.sql import run
from pipeline.stages.judge import NOT_NULL, ONCE, SHOWN, TRUE, Expectation, Judge, between, one_of
from pipeline.table_def import Column, TableDef, sql_text

WHOLE_FRAME = 50_000
SAMPLE = 2_000


@dataclass(frozen=True)
class Check:
    """One check of a table, told twice: to the sieve in SQL and to the judge as an expectation.

    `holds` is true for a good row and null for one that is not judged. `expectation` is what the
    values of the column must pass; None for a rule across columns, which the judge sees as a
    column of verdicts.
    """

    name: str
    columns: str
    holds: str
    sentence: str
    expectation: Expectation | None = None


def start_loading() -> None:
    """Load the judge ahead of time; it takes seconds, which a refresh can spend elsewhere."""
    os.environ["GX_ANALYTICS_ENABLED"] = "false"
    import great_expectations  # noqa: F401


def checks_of(table: TableDef, con: duckdb.DuckDBPyConnection) -> list[Check]:
    """Every check that the declaration of a table makes, but for the uniqueness of its key."""
    checks = [c for column in table.columns for c in _column_checks(column, con)]
    checks += [Check(r.name, ", ".join(r.needs), r.holds, r.sentence) for r in table.rules]
    return checks


def _column_checks(column: Column, con: duckdb.DuckDBPyConnection) -> list[Check]:
    name = f'"{column.name}"'
    checks = []
    if not column.null:
        sentence = "Every row has a value."
        checks.append(Check("present", column.name, f"{name} IS NOT NULL", sentence, NOT_NULL))
    if column.allowed is not None:
        checks.append(
            _in_list(column, "in_list", sorted(column.allowed), "Values of the closed list.")
        )
    if column.concept is not None:
        known = con.execute(
            "SELECT concept_id FROM concepts WHERE kind = ? ORDER BY 1", [column.concept]
        ).fetchall()
        sentence = f"A known concept of kind {column.concept}."
        checks.append(_in_list(column, "known_concept", [v for (v,) in known], sentence))
    for check, limit, sign, key in (
        ("not_below", column.minimum, ">=", "min_value"),
        ("not_above", column.maximum, "<=", "max_value"),
    ):
        if limit is not None:
            sentence = f"{check.replace('_', ' ').capitalize()} {limit:g}."
            holds = f"{name} {sign} {limit}"
            checks.append(Check(check, column.name, holds, sentence, between(**{key: limit})))
    return checks


def _in_list(column: Column, check: str, values: list[str], sentence: str) -> Check:
    listed = ", ".join(sql_text(v) for v in values) or "''"
    holds = f'"{column.name}" IN ({listed})'
    return Check(check, column.name, holds, sentence, one_of(values))


def validate(con: duckdb.DuckDBPyConnection, newest: Any, min_sales: int = 1) -> pa.Table:
    """Check every table; the results, one row a check.

    Args:
        con: the new database, with every published table but `check_results`.
        newest: the date after which no sale can lie.
        min_sales: sales from which a band is published; at 1 the counts must add up exactly.

    Returns:
        Table with the schema of `check_results`; a row with passed = false breaks the contract.
    """
    judge = Judge()
    asked: list[_Asked] = []
    for table in TABLES:
        if table.name != CHECK_RESULTS.name:
            asked += _ask_of_table(con, table, judge, len(asked))
    at_fault = judge.answers()
    rows = [_row(one, at_fault.get(number, [])) for number, one in enumerate(asked)]
    rows += _across_tables(con, judge, newest, min_sales)
    rows.sort(key=lambda r: (r["table_name"], r["check_name"], r["column_name"]))
    return pa.Table.from_pylist(rows, schema=CHECK_RESULTS.schema())


@dataclass(frozen=True)
class _Asked:
    """A check of a table with what the sieve found: rows at fault, and repeated keys."""

    table: str
    check: str
    columns: str
    sentence: str
    n_rows: int
    n_failed: int
    keys: tuple[str, ...] = ()


def _ask_of_table(
    con: duckdb.DuckDBPyConnection, table: TableDef, judge: Judge, number: int
) -> list[_Asked]:
    """Sieve a table and put its checks to the judge, numbered from `number` on."""
    checks = checks_of(table, con)
    n_rows = con.execute(f'SELECT count(*) FROM "{table.name}"').fetchall()[0][0]
    key = " || ' / ' || ".join(f"coalesce(\"{k}\"::VARCHAR, '')" for k in table.key)
    shown = [f"{key} AS row_key", *_shown_columns(table, checks)]
    shown += [f"({c.holds}) AS check_{k}" for k, c in enumerate(checks) if c.expectation is None]
    counted = ", ".join(f"count(*) FILTER (NOT ({c.holds}))" for c in checks) or "0"
    failed = con.execute(f'SELECT {counted} FROM "{table.name}"').fetchall()[0]
    repeated = _repeated_keys(con, table, key)
    where = ""
    if n_rows > WHOLE_FRAME:
        suspects = " OR ".join(f"NOT ({c.holds})" for c, n in zip(checks, failed, strict=True) if n)
        every = max(1, n_rows // SAMPLE)
        where = f"WHERE rowid % {every} = 0" + (f" OR ({suspects})" if suspects else "")
        where += f" LIMIT {WHOLE_FRAME}"
    frame = con.execute(f'SELECT {", ".join(shown)} FROM "{table.name}" {where}').df()
    asked = []
    for k, (check, n_failed) in enumerate(zip(checks, failed, strict=True)):
        if check.expectation is None:
            verdict = frame[f"check_{k}"].astype("object")
            values = verdict.where(verdict.notna(), None)
        else:
            values = frame[check.columns]
        judge.ask(check.expectation or TRUE, number + k, frame["row_key"], values)
        asked.append(
            _Asked(table.name, check.name, check.columns, check.sentence, n_rows, int(n_failed))
        )
    # a key stands once in its table, and may well stand in another
    of_table = f"{table.name}: " + frame["row_key"]
    judge.ask(ONCE, number + len(checks), frame["row_key"], of_table)
    asked.append(
        _Asked(table.name, "unique_key", ", ".join(table.key), "A key stands once.", n_rows,
               len(repeated), tuple(repeated))
    )  # fmt: skip
    return asked


def _shown_columns(table: TableDef, checks: list[Check]) -> list[str]:
    """The columns that the judge looks at; an exact amount goes over as a float."""
    wanted = {c.columns for c in checks if c.expectation is not None}
    return [
        f'"{c.name}"::DOUBLE AS "{c.name}"' if pa.types.is_decimal(c.type) else f'"{c.name}"'
        for c in table.columns
        if c.name in wanted
    ]


def _repeated_keys(con: duckdb.DuckDBPyConnection, table: TableDef, key: str) -> list[str]:
    listed = ", ".join(f'"{k}"' for k in table.key)
    suspects = con.execute(
        f'WITH often AS (SELECT hash({listed}) AS h FROM "{table.name}" GROUP BY h '
        f"HAVING count(*) > 1) "
        f'SELECT {key} AS k FROM "{table.name}" SEMI JOIN often ON hash({listed}) = often.h '
        f"GROUP BY k HAVING count(*) > 1 ORDER BY k LIMIT {SHOWN}"
    ).fetchall()
    return [k for (k,) in suspects]


def _across_tables(
    con: duckdb.DuckDBPyConnection, judge: Judge, newest: Any, min_sales: int
) -> list[dict[str, Any]]:
    """Rules that hold between tables: sql/check_across.sql gives one row a row at fault."""
    sentences = {
        "no_future_sale": ("sales", "sold_on", "No sale lies in the future."),
        "any_is_the_sum": ("price_bands", "n_sales", "The band of any condition counts the same "
                           "sales as the bands of each condition."),
        "bands_count_sales": ("price_bands", "n_own", "A category's own sales are those that the "
                              "sales table calls comparable."),
        "files_count_rows": ("refresh_files", "n_sales", "The sales counted by file are those of "
                             "the sales table."),
        "set_aside_counted": ("set_aside", "file_id", "Lines and rows set aside are counted in "
                              "refresh_files."),
        "aside_lines_exist": ("set_aside", "line_number", "A line set aside lies within its "
                              "file."),
    }  # fmt: skip
    found = run(con, "check_across", newest=newest, min_sales=min_sales).df()
    judged = {} if judge.is_empty(found) else found.groupby("rule")["row_key"].agg(list).to_dict()
    rows = []
    for name, (table, column, sentence) in sentences.items():
        n_rows = con.execute(f'SELECT count(*) FROM "{table}"').fetchall()[0][0]
        keys = [str(k) for k in judged.get(name, [])]
        rows.append(_row(_Asked(table, name, column, sentence, n_rows, 0), keys, len(keys)))
    return rows


def _row(asked: _Asked, keys: list[str], n_judged: int = 0) -> dict[str, Any]:
    """A row of `check_results` from what the sieve and the judge found."""
    keys = sorted({*asked.keys, *keys}) if asked.keys else keys
    n_failed = max(asked.n_failed, n_judged, len(keys))
    return {
        "table_name": asked.table,
        "check_name": asked.check,
        "column_name": asked.columns,
        "sentence": asked.sentence,
        "passed": n_failed == 0,
        "n_rows": asked.n_rows,
        "n_failed": n_failed,
        "failed_keys": keys[:SHOWN],
    }
