"""Model: what every term, word and month is worth, from one model of all comparable sales.

Read: `sales` and `price_bands` of the database being built. Work: one fit of the price model.
Write: `price_adjustments`, `price_words`, `price_index`, `pooled_bands` and the model itself, for
estimates; all are there and empty where the model is switched off or the sales are too few, since
no figure is better than a guess.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import duckdb
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import (
    MODEL_ARRAYS,
    MODEL_CALIBRATION,
    MODEL_OUTLINE,
    MODEL_POOL,
    POOLED_BANDS,
    PRICE_ADJUSTMENTS,
    PRICE_INDEX,
    PRICE_WORDS,
)
from pipeline.errors import NotEnoughSales
from pipeline.settings import FitSettings
from pipeline.sql import table_of
from pipeline.table_def import TableDef
from pipeline.terms.sizes import CARATS, LARGEST, WEIGHT

if TYPE_CHECKING:
    from pipeline.statistics.model import PriceModel
    from pipeline.statistics.model_settings import ModelSettings

TABLES = (
    PRICE_ADJUSTMENTS, PRICE_WORDS, PRICE_INDEX, POOLED_BANDS, MODEL_CALIBRATION,
    MODEL_OUTLINE, MODEL_ARRAYS, MODEL_POOL,
)  # fmt: skip
ANY = "any"
WITHOUT = "without it"
# Read from texts: of every kind of goods, so that only the size for its kind tells.
RELATIVE = (LARGEST, WEIGHT, CARATS)
DECIMALS = 6  # kept of every figure, so that the last bits of a sum cannot change a table


def summarise_by_model(con: duckdb.DuckDBPyConnection, settings: FitSettings, method: str) -> None:
    """Make the tables of the price model.

    Args:
        con: holds `sales` and `price_bands`.
        method: version of the method, for every row.
    """
    for table in TABLES:
        con.execute(table.ddl())
    if not settings.enabled:
        return
    sales = sales_of_model(con)
    if sales.num_rows < settings.least_sales:
        return
    from threadpoolctl import threadpool_limits

    from pipeline.statistics.model_file import to_tables

    with threadpool_limits(1):  # see `fit_model`
        try:
            model = fitted(sales, settings)
            found = [*effect_tables(model), *calibration_of(model)]
            cells = table_of(con, "model_cells")
            if cells.num_rows:
                found.append((POOLED_BANDS, bands_of(sales, cells, settings)))
        except NotEnoughSales:
            return
    for table, rows in found:
        _fill(con, table, _as_declared(table, rows, method))
    kept = to_tables(model)
    for table in (MODEL_OUTLINE, MODEL_ARRAYS, MODEL_POOL):
        _fill(con, table, kept[table.name].select(table.names).cast(table.schema()))


def kept_model(con: duckdb.DuckDBPyConnection) -> PriceModel | None:
    """The price model of a published database; None where it holds none.

    It reads its sales through the connection, when a prediction first needs them.

    Raises:
        WorkspaceError: it was kept by another version of the pipeline.
    """
    from pipeline.statistics.model_file import read_model

    def pool_rows(by: str | None, numbers: Sequence[int]) -> pa.Table:
        some = "" if by is None else f'WHERE "{by}" IN ({", ".join(map(str, numbers))})'
        return con.sql(f'FROM "{MODEL_POOL.name}" {some}').to_arrow_table()

    names = (MODEL_OUTLINE.name, MODEL_ARRAYS.name)
    tables = {name: con.sql(f'FROM "{name}"').to_arrow_table() for name in names}
    if tables[MODEL_OUTLINE.name].num_rows == 0:
        return None
    return read_model(tables, pool_rows)


def sales_of_model(con: duckdb.DuckDBPyConnection) -> pa.Table:
    """The comparable sales in the columns of the price model, by date and key."""
    return table_of(con, "model_sales")


def settings_of(settings: FitSettings) -> ModelSettings:
    """A workspace's settings as those of the price model."""
    from pipeline.statistics.model_settings import ModelSettings

    return ModelSettings(
        **settings.model_dump(exclude={"enabled", "least_sales"}), relative_measures=RELATIVE
    )


def fitted(sales: pa.Table, settings: FitSettings) -> PriceModel:
    """The price model of sales under a workspace's settings.

    Raises:
        NotEnoughSales: fewer than ten can be used.
    """
    from pipeline.statistics.model import fit_model

    return fit_model(sales, settings_of(settings))


def effect_tables(model: PriceModel) -> list[tuple[TableDef, pa.Table]]:
    """Adjustments, words and index of a model, in the columns that are published."""
    from pipeline.statistics import effects

    adjustments = effects.price_adjustments(model)
    reference = pc.if_else(
        pc.equal(adjustments["kind"], "fault"), WITHOUT, adjustments["reference"]
    )
    adjustments = adjustments.drop_columns("reference").append_column("reference", reference)
    words = effects.price_words(model)
    words = words.append_column("is_clear", words["clear"])
    index = effects.price_index(model)
    index = index.append_column("price_level", index["index"])
    return [(PRICE_ADJUSTMENTS, adjustments), (PRICE_WORDS, words), (PRICE_INDEX, index)]


def calibration_of(model: PriceModel) -> list[tuple[TableDef, pa.Table]]:
    """How the model's ranges held on the newest sales; nothing where too few were held back."""
    from pipeline.statistics.calibration import quick_backtest

    if model.held is None:
        return []
    found = quick_backtest(model.held, model.settings.drift_share)
    if not found.num_rows:
        return []
    return [(MODEL_CALIBRATION, found.append_column("part", found["group"]))]


def bands_of(sales: pa.Table, cells: pa.Table, settings: FitSettings) -> pa.Table:
    """Pooled bands of cells, of a model that knows no more of a sale than what parts the bands.

    Titles, materials and sizes often name the category itself; a model that weighs them has
    moved part of the category's level to them, and a cell has none to give it back.

    Args:
        cells: category_id, family_id, attribution, condition, set_class, one row a cell.

    Raises:
        NotEnoughSales: as `fitted`.
    """
    from pipeline.statistics import effects

    known = ["sale_id", "log_price", "sold_on", *cells.column_names]
    # A band is of no one piece, and has no nearest sales of its own.
    alone = settings.model_copy(update={"n_neighbours": 0, "interactions": False})
    bands = effects.pooled_bands(fitted(sales.select(known), alone), cells)
    for name in ("category_id", "attribution", "condition"):
        bands = bands.append_column(name, cells[name])
    return bands.append_column("set_size", cells["set_class"])


def _as_declared(table: TableDef, rows: pa.Table, method: str) -> pa.Table:
    """Rows in the columns of their declaration: no scope of its own is `any`, figures rounded."""
    columns = {}
    for column in table.columns:
        if column.name == "method_version":
            values = pa.chunked_array([pa.repeat(pa.scalar(method), rows.num_rows)])
        else:
            values = rows[column.name].cast(column.type)
        if column.name in ("family_id", "category_id"):
            values = pc.if_else(pc.equal(values, ""), ANY, values)
        if pa.types.is_floating(column.type):
            values = pc.round(values, DECIMALS)
        columns[column.name] = values
    return pa.table(columns, schema=table.schema())


def _fill(con: duckdb.DuckDBPyConnection, table: TableDef, rows: pa.Table) -> None:
    con.register("model_rows", rows)
    con.execute("SET preserve_insertion_order = true")
    order = ", ".join(f'"{k}"' for k in dict.fromkeys((*table.sort, *table.key)))
    con.execute(f'INSERT INTO "{table.name}" FROM model_rows ORDER BY {order}')
    con.execute("SET preserve_insertion_order = false")
    con.unregister("model_rows")
