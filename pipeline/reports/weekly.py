"""The weekly report: reports/latest.html, one file that needs nothing else."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from pipeline import reasons
from pipeline.answers.query import connect
from pipeline.answers.show import NO_APPRAISAL
from pipeline.reports.charts import BandPicture, draw_bands
from pipeline.sql import run
from pipeline.stages.calibration import calibration_of
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    import duckdb

    from pipeline.refresh import RefreshResult

SHOWN_BANDS = 14
SHOWN_WAITING = 25


def write_report(workspace: Workspace, result: RefreshResult | None = None) -> Path:
    """Write the report of the published database; the last one is replaced in one step.

    Args:
        result: of the refresh just done, for the bands that moved; None writes it without them.

    Returns:
        The file written.
    """
    con = connect(workspace)
    page = _environment().get_template("weekly.html").render(_content(con, result))
    workspace.reports.mkdir(parents=True, exist_ok=True)
    target = workspace.reports / "latest.html"
    return replaced(target, page.encode())


def replaced(target: Path, content: bytes) -> Path:
    """Write a file so that a reader sees the old one or the new one, never half of one."""
    part = target.with_name(target.name + ".part")
    part.write_bytes(content)
    os.replace(part, target)
    return target


def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("pipeline.reports"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["money"] = lambda v: "" if v is None else f"{v:,.2f}"
    environment.filters["count"] = lambda v: f"{v:,}"
    return environment


def _content(con: duckdb.DuckDBPyConnection, result: RefreshResult | None) -> dict[str, Any]:
    last = _rows(con.execute("FROM refreshes ORDER BY refreshed_at DESC LIMIT 1"))[0]
    bands = _rows(run(con, "report_bands", n=SHOWN_BANDS))
    return {
        "last": last,
        "sources": _rows(run(con, "report_sources")),
        "files": _rows(con.execute("FROM refresh_files ORDER BY source_id, path")),
        "set_aside": [
            (n, reasons.SET_ASIDE[r])
            for r, n in con.execute(
                "SELECT reason, count(*) AS n FROM set_aside GROUP BY 1 ORDER BY n DESC, 1"
            ).fetchall()
        ],
        "flagged": [
            (n, reasons.FLAGS[f])
            for f, n in con.execute(
                "SELECT flags[1], count(*) AS n FROM sales WHERE len(flags) > 0 GROUP BY 1 "
                "ORDER BY n DESC, 1"
            ).fetchall()
        ],
        "told_twice": [
            (n, reasons.LINKS[r])
            for r, n in con.execute(
                "SELECT reason, count(*) AS n FROM duplicates GROUP BY 1 ORDER BY n DESC, 1"
            ).fetchall()
        ],
        "waiting": _rows(
            con.execute(
                "SELECT kind, text, n_rows, concept_id, score FROM term_matches "
                "WHERE status = 'review' ORDER BY n_rows DESC, kind, text LIMIT ?",
                [SHOWN_WAITING],
            )
        ),
        "bands": bands,
        "picture": Markup(_picture(con, bands, last["currency"])) if bands else None,
        "checks": con.execute(
            "SELECT count(*), count(*) FILTER (WHERE passed) FROM check_results"
        ).fetchall()[0],
        "calibration": calibration_of(con),
        "moved": result.moved if result else [],
        "unused": result.unused_decisions if result else [],
        "no_appraisal": NO_APPRAISAL,
    }


def _picture(con: duckdb.DuckDBPyConnection, bands: list[dict[str, Any]], currency: str) -> str:
    pictures = []
    for band in bands:
        prices = run(
            con, "report_prices", category_id=band["category_id"], condition=band["condition"],
            attribution=band["attribution"], set_size=band["set_size"],
        ).fetchnumpy()["amount"]  # fmt: skip
        label = f"{band['label']}, {band['condition'].replace('_', ' ')} ({band['attribution']})"
        pictures.append(
            BandPicture(
                f"{label}  n = {band['n_sales']:,}", np.asarray(prices, dtype=np.float64),
                band["p25"], band["median"], band["p75"], band["n_sales"],
            )
        )  # fmt: skip
    return draw_bands(pictures, currency)


def _rows(result: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    names = [d[0] for d in result.description or []]
    return [dict(zip(names, row, strict=True)) for row in result.fetchall()]
