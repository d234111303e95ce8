"""Validate: the contract of every table, checked before anything is published.

Read: the tables of the new database. Work: the column declarations and the rules across columns
become Great Expectations suites, which judge pandas frames. A large table is sieved first: DuckDB
looks at every row for every check and hands over those at fault with a sample of the others, so
that the judge sees all that could fail without holding ten million rows in pandas. Write: rows of
`check_results`.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.columns import CHECK_RESULTS, TABLES
from pipeline.sql import run
from pipeline.table_def import Column, TableDef, sql_text

WHOLE_FRAME = 50_000
SAMPLE = 2_000
SHOWN = 20


@dataclass(frozen=True)
class Check:
    """One check of a table, told twice: to the sieve in SQL and to the judge as an expectation.

    `holds` is true for a good row and null for one that is not judged. `expectation` is the class
    and the arguments of a Great Expectations expectation on a column of the frame; None for a
    rule across columns, which the judge sees as a column of verdicts.
    """

    name: str
    columns: str
    holds: str
    sentence: str
    expectation: tuple[str, dict[str, Any]] | None = None


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
    on = {"column": column.name}
    checks = []
    if not column.null:
        checks.append(
            Check("present", column.name, f"{name} IS NOT NULL", "Every row has a value.",
                  ("ExpectColumnValuesToNotBeNull", on))
        )  # fmt: skip
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
            checks.append(
                Check(check, column.name, f"{name} {sign} {limit}",
                      f"{check.replace('_', ' ').capitalize()} {limit:g}.",
                      ("ExpectColumnValuesToBeBetween", {**on, key: limit}))
            )  # fmt: skip
    return checks


def _in_list(column: Column, check: str, values: list[str], sentence: str) -> Check:
    listed = ", ".join(sql_text(v) for v in values) or "''"
    return Check(
        check, column.name, f'"{column.name}" IN ({listed})', sentence,
        ("ExpectColumnValuesToBeInSet", {"column": column.name, "value_set": values}),
    )  # fmt: skip


def validate(con: duckdb.DuckDBPyConnection, newest: Any, min_sales: int = 1) -> pa.Table:
    """Check every table; the results, one row a check.

    Args:
        con: the new database, with every published table but `check_results`.
        newest: the date after which no sale can lie.
        min_sales: sales from which a band is published; at 1 the counts must add up exactly.

    Returns:
        Table with the schema of `check_results`; a row with passed = false breaks the contract.
    """
    judge = _Judge()
    rows: list[dict[str, Any]] = []
    for table in TABLES:
        if table.name != CHECK_RESULTS.name:
            rows += _validate_table(con, table, judge)
    rows += _across_tables(con, judge, newest, min_sales)
    rows.sort(key=lambda r: (r["table_name"], r["check_name"], r["column_name"]))
    return pa.Table.from_pylist(rows, schema=CHECK_RESULTS.schema())


def _validate_table(
    con: duckdb.DuckDBPyConnection, table: TableDef, judge: _Judge
) -> list[dict[str, Any]]:
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
    results = judge.rows_hold(frame, checks)
    rows = []
    for k, (check, n_failed) in enumerate(zip(checks, failed, strict=True)):
        keys = results[k]
        rows.append(
            _row(table.name, check.name, check.columns, check.sentence, n_rows,
                 max(int(n_failed), len(keys)), keys)
        )  # fmt: skip
    unique = judge.keys_are_unique(frame[["row_key"]], repeated)
    rows.append(
        _row(table.name, "unique_key", ", ".join(table.key), "A key stands once.", n_rows,
             len(unique), unique)
    )  # fmt: skip
    return rows


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
    con: duckdb.DuckDBPyConnection, judge: _Judge, newest: Any, min_sales: int
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
    rows = []
    for name, (table, column, sentence) in sentences.items():
        at_fault = found[found["rule"] == name]
        keys = judge.none_at_fault(at_fault)
        n_rows = con.execute(f'SELECT count(*) FROM "{table}"').fetchall()[0][0]
        rows.append(_row(table, name, column, sentence, n_rows, len(at_fault), keys))
    return rows


def _row(
    table: str, check: str, columns: str, sentence: str, n_rows: int, n_failed: int, keys: list[str]
) -> dict[str, Any]:
    return {
        "table_name": table,
        "check_name": check,
        "column_name": columns,
        "sentence": sentence,
        "passed": n_failed == 0,
        "n_rows": n_rows,
        "n_failed": n_failed,
        "failed_keys": keys[:SHOWN],
    }


class _Judge:
    """Great Expectations, with an ephemeral context that reports to nobody."""

    def __init__(self) -> None:
        os.environ["GX_ANALYTICS_ENABLED"] = "false"
        import great_expectations as gx
        from great_expectations.data_context.types.base import ProgressBarsConfig

        self._gx = gx
        self._context = gx.get_context(mode="ephemeral")
        self._context.variables.progress_bars = ProgressBarsConfig(globally=False)
        source = self._context.data_sources.add_pandas("tables")
        asset = source.add_dataframe_asset("frame")
        self._batch = asset.add_batch_definition_whole_dataframe("whole")
        self._n_suites = 0

    def _validate(self, frame: Any, expectations: list[Any]) -> Any:
        self._n_suites += 1
        suite = self._gx.ExpectationSuite(name=f"contract {self._n_suites}")
        for expectation in expectations:
            suite.add_expectation(expectation)
        batch = self._batch.get_batch(batch_parameters={"dataframe": frame})
        return batch.validate(
            suite,
            result_format={
                "result_format": "COMPLETE",
                "unexpected_index_column_names": ["row_key"],
            },
        )

    def rows_hold(self, frame: Any, checks: list[Check]) -> list[list[str]]:
        """For each check, the keys of the rows of the frame at fault."""
        at_fault: list[list[str]] = [[] for _ in checks]
        if not len(frame) or not checks:
            return at_fault
        expectations = []
        for k, check in enumerate(checks):
            kind, arguments = check.expectation or (
                "ExpectColumnValuesToBeInSet", {"column": f"check_{k}", "value_set": [True]},
            )  # fmt: skip
            if check.expectation is None:
                verdict = frame[f"check_{k}"].astype("object")
                frame[f"check_{k}"] = verdict.where(verdict.notna(), None)
            make = getattr(self._gx.expectations, kind)
            expectations.append(make(**arguments, meta={"check": k}))
        for result in self._validate(frame, expectations).results:
            if not result.success:
                listed = result.result.get("unexpected_index_list") or []
                keys = [str(item["row_key"]) for item in listed[:SHOWN]]
                raised = result.exception_info.get("exception_message")
                k = result.expectation_config.meta["check"]
                at_fault[k] = keys or [f"the check itself failed: {raised}"]
        return at_fault

    def keys_are_unique(self, frame: Any, repeated: list[str]) -> list[str]:
        """Keys that stand more than once: those found over all rows, and those of the frame."""
        if not len(frame):
            return repeated
        kind = self._gx.expectations.ExpectColumnValuesToBeUnique
        result = self._validate(frame, [kind(column="row_key")]).results[0]
        if result.success:
            return repeated
        listed = result.result.get("unexpected_list") or []
        return sorted({*repeated, *(str(k) for k in listed)})

    def none_at_fault(self, frame: Any) -> list[str]:
        """Keys of a frame that must be empty."""
        kind = self._gx.expectations.ExpectTableRowCountToEqual
        result = self._validate(frame, [kind(value=0)]).results[0]
        return [] if result.success else [str(k) for k in frame["row_key"].tolist()[:SHOWN]]
