"""How a column and a table are declared: name, type, sentence, limits, and what follows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pyarrow as pa

TEXT = pa.string()
COUNT = pa.int64()
SMALL = pa.int32()
REAL = pa.float64()
YES_NO = pa.bool_()
DAY = pa.date32()
MOMENT = pa.timestamp("us")
MONEY = pa.decimal128(18, 4)
TEXTS = pa.list_(pa.string())
COUNTS = pa.list_(pa.int64())
REALS = pa.list_(pa.float64())
SHORT_REALS = pa.list_(pa.float32())
BYTES = pa.large_binary()
CELLS = pa.map_(pa.string(), pa.string())
NUMBERS = pa.map_(pa.string(), pa.float64())


@dataclass(frozen=True)
class Column:
    """One column: its name, Arrow type, sentence, unit and limits.

    `allowed` closes the list of values; `minimum` and `maximum` are inclusive; `concept` names
    the kind of concept whose id the column must hold.
    """

    name: str
    type: pa.DataType
    meaning: str
    unit: str | None = None
    null: bool = True
    allowed: frozenset[str] | None = None
    minimum: float | None = None
    maximum: float | None = None
    concept: str | None = None

    @property
    def comment(self) -> str:
        """The sentence that stands in the database, with the unit."""
        return f"{self.meaning} Unit: {self.unit}." if self.unit else self.meaning


@dataclass(frozen=True)
class Rule:
    """A rule across the columns of one row: `holds` is SQL that is true for a good row.

    `needs` are the columns it reads; a row in which one of them is null is not judged.
    """

    name: str
    holds: str
    needs: tuple[str, ...]
    sentence: str


@dataclass(frozen=True)
class TableDef:
    """One published table."""

    name: str
    meaning: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    sort: tuple[str, ...] = ()
    rules: tuple[Rule, ...] = ()

    @property
    def names(self) -> list[str]:
        return [c.name for c in self.columns]

    def column(self, name: str) -> Column:
        return next(c for c in self.columns if c.name == name)

    def schema(self, names: Iterable[str] | None = None) -> pa.Schema:
        """The Arrow schema, whole or of the named columns in their declared order."""
        wanted = None if names is None else set(names)
        return pa.schema(
            [
                pa.field(c.name, c.type, nullable=c.null)
                for c in self.columns
                if wanted is None or c.name in wanted
            ]
        )

    def ddl(self, table: str | None = None) -> str:
        """`CREATE TABLE` for DuckDB."""
        body = ",\n  ".join(
            f'"{c.name}" {sql_type(c.type)}{"" if c.null else " NOT NULL"}' for c in self.columns
        )
        return f'CREATE TABLE "{table or self.name}" (\n  {body}\n)'

    def comments(self) -> list[str]:
        """`COMMENT ON` statements; they come last, since replacing a table drops them."""
        said = [f'COMMENT ON TABLE "{self.name}" IS {sql_text(self.meaning)}']
        said += [
            f'COMMENT ON COLUMN "{self.name}"."{c.name}" IS {sql_text(c.comment)}'
            for c in self.columns
        ]
        return said


def sql_type(kind: pa.DataType) -> str:
    """DuckDB's name of an Arrow type."""
    if pa.types.is_list(kind):
        return f"{sql_type(kind.value_type)}[]"
    if pa.types.is_map(kind):
        return f"MAP({sql_type(kind.key_type)}, {sql_type(kind.item_type)})"
    if pa.types.is_decimal(kind):
        return f"DECIMAL({kind.precision},{kind.scale})"
    return {
        TEXT: "VARCHAR",
        COUNT: "BIGINT",
        SMALL: "INTEGER",
        REAL: "DOUBLE",
        SHORT_REALS.value_type: "FLOAT",
        YES_NO: "BOOLEAN",
        DAY: "DATE",
        MOMENT: "TIMESTAMP",
        BYTES: "BLOB",
    }[kind]


def sql_text(text: str) -> str:
    """A SQL literal."""
    return "'" + text.replace("'", "''") + "'"


# ---------------------------------------------------------------------------------------------
# The meanings that a source may give to its columns: each is landed as text, under this name.
