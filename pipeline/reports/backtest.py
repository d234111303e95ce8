"""The back-test on disk: reports/backtest with its tables and a picture."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from pipeline.answers.backtest import BacktestAnswer
from pipeline.reports.charts import INK, MEDIAN, POINT
from pipeline.statistics.backtest import MODEL, SHARES
from pipeline.statistics.ranges import LEVELS
from pipeline.workspace import Workspace

# A group with fewer predictions is in the table and not in the picture: its share is chance.
LEAST_DRAWN = 30
_SHOWN_LEVELS = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)


def write_backtest(workspace: Workspace, answer: BacktestAnswer) -> list[Path]:
    """Write measures.csv, predictions.csv and backtest.svg; those of an earlier run are replaced.

    Returns:
        The files written.
    """
    import pyarrow.csv as pc_csv

    from pipeline.reports.weekly import replaced

    folder = workspace.reports / "backtest"
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for name, table in (
        ("measures.csv", answer.measures),
        ("predictions.csv", _flat(answer.predictions)),
    ):
        out = io.BytesIO()
        pc_csv.write_csv(table, out)
        files.append(replaced(folder / name, out.getvalue()))
    picture = draw_backtest(answer.measures.to_pylist(), answer.as_of.isoformat())
    files.append(replaced(folder / "backtest.svg", picture.encode()))
    return files


def _flat(predictions: pa.Table) -> pa.Table:
    """Predictions with the shown quantiles in columns of their own, in money of the basis."""
    found = np.concatenate(
        [np.asarray(chunk.flatten()) for chunk in predictions["quantiles"].chunks]
    ).reshape(-1, len(LEVELS))
    columns: dict[str, Any] = {
        name: predictions[name] for name in ("sale_id", "method", "fold", "family_id", "evidence")
    }
    columns["price_amount"] = pa.array(np.round(np.exp(predictions["log_price"].to_numpy()), 2))
    for level in _SHOWN_LEVELS:
        at = np.exp(found[:, LEVELS.index(level)])
        columns[f"p{round(100 * level):02d}_amount"] = pa.array(np.round(at, 2), from_pandas=True)
    return pa.table(columns)


def draw_backtest(measures: list[dict[str, Any]], as_of: str) -> str:
    """An SVG picture: errors of the methods, and how often the model's ranges held."""
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot as plt

    with plt.rc_context({"svg.fonttype": "none", "font.size": 10, "font.family": "sans-serif",
                         "svg.hashsalt": "backtest"}):  # fmt: skip
        own = [m for m in measures if m["method"] == MODEL and m["n"] >= LEAST_DRAWN]
        figure, (left, right) = plt.subplots(
            1, 2, figsize=(12, max(4.2, 1.4 + 0.22 * len(own))),
            gridspec_kw={"width_ratios": (1, 1.3), "wspace": 0.75},
        )  # fmt: skip
        _draw_errors(left, [m for m in measures if m["kind"] == "all"])
        _draw_ranges(right, own)
        figure.suptitle(f"Sales foretold from earlier ones only, up to {as_of}", x=0.12, ha="left")
        out = io.StringIO()
        figure.savefig(out, format="svg", bbox_inches="tight", metadata={"Date": None})
        plt.close(figure)
    svg = out.getvalue()
    return svg[svg.index("<svg") :]


def _draw_errors(axes: Any, measures: list[dict[str, Any]]) -> None:
    ordered = sorted(measures, key=lambda m: -m["mdape"])
    names = [m["method"] for m in ordered]
    errors = [m["mdape"] for m in ordered]
    colours = [MEDIAN if name == MODEL else POINT for name in names]
    axes.barh(range(len(names)), errors, color=colours, height=0.6)
    for row, error in enumerate(errors):
        axes.annotate(f" {error:.0f} %", (error, row), va="center", color=INK)
    axes.set_yticks(range(len(names)), names)
    axes.set_xlabel("median error, % of the price")
    axes.set_xlim(0, 1.2 * max(errors))
    _plain(axes)


def _draw_ranges(axes: Any, measures: list[dict[str, Any]]) -> None:
    rows = list(reversed(measures))
    for share, mark in zip(SHARES, ("o", "D", "s"), strict=True):
        held = [100 * m[f"coverage_{round(100 * share)}"] for m in rows]
        axes.axvline(100 * share, color="#d8dee3", zorder=0)
        axes.scatter(held, range(len(rows)), marker=mark, s=26, color=MEDIAN if share == 0.8
                     else POINT, label=f"{share:.0%} range")  # fmt: skip
    axes.set_yticks(range(len(rows)), [_group_name(m) for m in rows], fontsize=8.5)
    axes.set_xlabel("prices inside the range, %")
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, 1.06), ncols=3, frameon=False, fontsize=8.5
    )
    _plain(axes)


def _group_name(m: dict[str, Any]) -> str:
    name = {"all": "all", "evidence": f"{m['group']} evidence"}.get(m["kind"], m["group"])
    return f"{name}  n = {m['n']:,}"


def _plain(axes: Any) -> None:
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.tick_params(axis="y", length=0)
