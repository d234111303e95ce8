"""A back-test as a person reads it on a terminal, or as a program reads it from a pipe."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from rich import box
from rich.table import Table

from pipeline.answers.backtest import BacktestAnswer
from pipeline.answers.show import NO_APPRAISAL, console_of, plain_text
from pipeline.statistics.backtest import MODEL

_COLUMNS = (
    ("n", "sales", "{:,.0f}"), ("median_ratio", "ratio", "{:.3f}"), ("cod", "COD", "{:.1f}"),
    ("prd", "PRD", "{:.2f}"), ("prb", "PRB", "{:+.2f}"), ("male", "MALE", "{:.3f}"),
    ("mdape", "MdAPE", "{:.1f}"), ("pinball", "loss", "{:.3f}"),
    ("coverage_50", "50 %", "{:.0%}"), ("coverage_80", "80 %", "{:.0%}"),
    ("coverage_90", "90 %", "{:.0%}"), ("width_80", "width", "{:,.0f}"),
)  # fmt: skip


def show_backtest(answer: BacktestAnswer, files: list[Path], *, as_json: bool) -> None:
    """Measures of all methods, and of the price model by evidence and family."""
    rows = answer.measures.to_pylist()
    if as_json:
        print(json.dumps(_as_told(answer, rows, files), indent=1))  # noqa: T201
        return
    console = console_of()
    foretold = next(r["n"] for r in rows if r["method"] == MODEL and r["kind"] == "all")
    console.print(
        f"{foretold:,} sales foretold in {answer.folds} steps, each from earlier sales only; "
        f"{answer.n_sales:,} sales up to {answer.as_of}. Method {answer.method_version}."
    )
    console.print(_drawn("method", [r for r in rows if r["kind"] == "all"], "method"))
    for kind, heading in (("evidence", "price model by evidence"), ("family", "by family")):
        mine = [r for r in rows if r["method"] == MODEL and r["kind"] == kind]
        console.print(_drawn(heading, mine, "group"))
    console.print(
        "Ratio: median of estimate over price. COD: spread of the ratios, per cent of their "
        "median. PRD above 1 or PRB below 0: dear pieces are estimated too low. MALE: mean "
        "absolute error of the natural logarithm. MdAPE: median absolute error, per cent. Loss: "
        "pinball loss of the quantiles, log units. 50, 80, 90 %: prices inside that range. Width: "
        "upper over lower end of the 80 % range, less one, per cent."
    )
    for file in files:
        console.print(plain_text(f"Written: {file}"))
    console.print(NO_APPRAISAL)


def _drawn(heading: str, rows: list[dict[str, Any]], name: str) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column(heading, no_wrap=True)
    for _, title, _ in _COLUMNS:
        table.add_column(title, justify="right", no_wrap=True)
    for row in rows:
        figures = [
            "-" if _missing(row[key]) else form.format(row[key]) for key, _, form in _COLUMNS
        ]
        table.add_row(plain_text(row[name]), *figures)
    return table


def _missing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and not math.isfinite(value))


def _as_told(
    answer: BacktestAnswer, rows: list[dict[str, Any]], files: list[Path]
) -> dict[str, Any]:
    return {
        "refresh_id": answer.refresh_id,
        "method_version": answer.method_version,
        "as_of": answer.as_of.isoformat(),
        "n_sales": answer.n_sales,
        "folds": answer.folds,
        "measures": [{k: None if _missing(v) else v for k, v in r.items()} for r in rows],
        "files": [str(file) for file in files],
        "note": NO_APPRAISAL,
    }
