"""The back-test of a workspace's own sales, by the settings of its price model."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pyarrow as pa

from pipeline.answers.query import connect
from pipeline.errors import NotEnoughSales
from pipeline.stages.model import sales_of_model, settings_of
from pipeline.workspace import Workspace


@dataclass(frozen=True)
class BacktestAnswer:
    """measures: one row a method and group, see `statistics.backtest.measure`; predictions: one
    row a foretold sale and method, with its sale_id."""

    measures: pa.Table
    predictions: pa.Table
    refresh_id: str
    method_version: str
    as_of: dt.date
    n_sales: int
    folds: int


def run_backtest(
    workspace: Workspace, *, folds: int = 4, first_share: float = 0.5
) -> BacktestAnswer:
    """Foretell the later comparable sales of the published database from earlier ones only.

    Args:
        folds: steps in time; first_share: share of the sales, oldest first, that the first step
            learns from.

    Raises:
        WorkspaceError: nothing has been published.
        NotEnoughSales: fewer than the model's least_sales, or all of one day.
    """
    from threadpoolctl import threadpool_limits

    from pipeline.statistics.backtest import Folds, backtest

    settings = workspace.settings().model
    con = connect(workspace)
    sales = sales_of_model(con)
    if sales.num_rows < settings.least_sales:
        raise NotEnoughSales(
            f"Not enough sales for a back-test: {sales.num_rows} feed bands, and "
            f"{settings.least_sales} are needed.",
            where=workspace.database,
            todo="Add sales; or lower least_sales under [model] in data/settings.toml.",
        )
    refresh_id, method, as_of = con.execute(
        "SELECT refresh_id, method_version, as_of FROM refreshes ORDER BY refreshed_at DESC LIMIT 1"
    ).fetchall()[0]
    with threadpool_limits(1):
        result = backtest(sales, settings_of(settings), Folds(folds, first_share))
    keys = sales["sale_id"].take(result.predictions["row"])
    return BacktestAnswer(
        result.measures, result.predictions.append_column("sale_id", keys), refresh_id, method,
        as_of, sales.num_rows, folds,
    )  # fmt: skip
