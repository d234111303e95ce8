"""What is published in a workspace, and what waits."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from pipeline.answers.query import connect
from pipeline.stages.calibration import Calibration, calibration_of
from pipeline.stages.publish import generation_files
from pipeline.workspace import Workspace


@dataclass
class Status:
    """The last refresh, the exports by source, the spellings that wait, the generations kept."""

    last: dict[str, Any]
    sources: list[tuple[str, int, int, dt.date | None, dt.date | None]]
    refused: list[tuple[str, str]]
    waiting: list[tuple[str, str, int, str | None]]
    generations: list[str]
    new_files: list[str]
    calibration: Calibration


def status_of(workspace: Workspace) -> Status:
    """Read it from the published tables; looks at the exports' names, not into them."""
    con = connect(workspace)
    result = con.execute("FROM refreshes ORDER BY refreshed_at DESC LIMIT 1")
    names = [d[0] for d in result.description or []]
    last = dict(zip(names, result.fetchall()[0], strict=True))
    sources = con.execute(
        "SELECT source_id, count(*), count(*) FILTER (WHERE is_comparable), min(sold_on), "
        "max(sold_on) FROM sales GROUP BY 1 ORDER BY 1"
    ).fetchall()
    refused = con.execute(
        "SELECT path, problem FROM refresh_files WHERE status = 'refused' ORDER BY 1"
    ).fetchall()
    waiting = con.execute(
        "SELECT kind, text, n_rows, concept_id FROM term_matches WHERE status = 'review' "
        "ORDER BY n_rows DESC, kind, text LIMIT 10"
    ).fetchall()
    known = {p for (p,) in con.execute("SELECT path FROM refresh_files").fetchall()}
    present = [workspace.relative(e.path) for e, _ in workspace.exports()]
    return Status(
        last, sources, refused, waiting, [p.stem for p in generation_files(workspace)],
        [p for p in present if p not in known], calibration_of(con),
    )  # fmt: skip
