"""Publish: one new database takes the place of the old in one step.

Read: a finished database, built beside the published one. Work: comments, a checkpoint and a look
at it read-only. Write: data/curated/comparables.duckdb by one rename, the tables as Parquet, and
the database before as a generation.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import re
import shutil
from pathlib import Path

import duckdb

from pipeline.columns import TABLES
from pipeline.database import open_to_read, quoted
from pipeline.errors import WorkspaceError
from pipeline.reasons import NO_APPRAISAL
from pipeline.workspace import Workspace

GENERATION = re.compile(r"^\d{8}T\d{6}Z?(-\d+)?\.duckdb$")


def time_stamp() -> str:
    """The present moment as the name of a generation."""
    return dt.datetime.now(dt.UTC).strftime("%Y%m%dT%H%M%S")


def comment(con: duckdb.DuckDBPyConnection) -> None:
    """Give every published table and column its sentence."""
    for table in TABLES:
        for statement in table.comments():
            con.execute(statement)


def look_at(path: Path) -> None:
    """Open a finished database read-only and count a table: a last look before it is published.

    Raises:
        WorkspaceError: it cannot be opened, or a write-ahead log lies beside it.
    """
    if path.with_name(path.name + ".wal").exists():
        raise WorkspaceError("The new database was not closed whole.", where=path)
    try:
        with open_to_read(path) as con:
            for table in TABLES:
                con.execute(f'SELECT count(*) FROM "{table.name}"').fetchall()
    except duckdb.Error as error:
        raise WorkspaceError(f"The new database cannot be read: {error}.", where=path) from None


def put_in_place(workspace: Workspace, built: Path, stamp: str, generations: int) -> None:
    """Make `built` the published database, and the one before a generation named `stamp`."""
    _to_disk(built)
    if workspace.database.exists():
        _keep(workspace, stamp)
    os.replace(built, workspace.database)
    _to_disk(workspace.curated)
    for old in generation_files(workspace)[generations:]:
        with contextlib.suppress(OSError):
            old.unlink()


def _keep(workspace: Workspace, stamp: str) -> None:
    workspace.generations.mkdir(parents=True, exist_ok=True)
    target = workspace.generations / f"{stamp}.duckdb"
    number = 2
    while target.exists():
        target = workspace.generations / f"{stamp}-{number}.duckdb"
        number += 1
    try:
        os.link(workspace.database, target)
    except OSError:  # a file system without links
        part = target.with_suffix(".part")
        shutil.copy2(workspace.database, part)
        os.replace(part, target)


def generation_files(workspace: Workspace) -> list[Path]:
    """Earlier databases, newest first."""
    if not workspace.generations.is_dir():
        return []
    found = [p for p in workspace.generations.iterdir() if GENERATION.match(p.name)]
    return sorted(found, key=lambda p: p.name, reverse=True)


def write_tables(database: Path, folder: Path) -> None:
    """Write every published table as Parquet, and the bands as CSV too, in place of the last.

    That the figures are no appraisal is said in a last column of the CSV and, in Parquet, in the
    file's metadata under `note`. The new folder takes the old one's name when all of it is written.
    """
    fresh = folder.with_name(folder.name + ".new")
    shutil.rmtree(fresh, ignore_errors=True)
    fresh.mkdir(parents=True)
    note = quoted(NO_APPRAISAL)
    with open_to_read(database) as con:
        con.execute("SET preserve_insertion_order = true")
        for table in TABLES:
            target = quoted(fresh / f"{table.name}.parquet")
            con.execute(
                f'COPY (FROM "{table.name}") TO {target} '
                f"(FORMAT parquet, COMPRESSION zstd, KV_METADATA {{note: {note}}})"
            )
        target = quoted(fresh / "price_bands.csv")
        con.execute(
            f"COPY (SELECT *, {note} AS note FROM price_bands) TO {target} (FORMAT csv, HEADER)"
        )
    gone = folder.with_name(folder.name + ".old")
    shutil.rmtree(gone, ignore_errors=True)
    if folder.exists():
        os.replace(folder, gone)
    os.replace(fresh, folder)
    shutil.rmtree(gone, ignore_errors=True)


def restore(workspace: Workspace, name: str | None = None) -> Path:
    """Bring an earlier database back; the present one becomes a generation in its turn.

    Args:
        name: of the generation; None takes the newest.

    Returns:
        The generation that was brought back.

    Raises:
        WorkspaceError: there is no such generation.
    """
    found = generation_files(workspace)
    wanted = [p for p in found if name is None or p.stem == name.removesuffix(".duckdb")]
    if not wanted:
        kept = ", ".join(p.stem for p in found) or "none"
        raise WorkspaceError(
            f"There is no earlier database{f' named {name}' if name else ''}; kept: {kept}.",
            where=workspace.generations,
        )
    chosen = wanted[0]
    coming = workspace.curated / ".restoring.duckdb"
    shutil.copy2(chosen, coming)
    look_at(coming)
    chosen.unlink()
    if workspace.database.exists():
        _keep(workspace, time_stamp())
    os.replace(coming, workspace.database)
    write_tables(workspace.database, workspace.tables)
    return chosen


def _to_disk(path: Path) -> None:
    """Ask the system to write a file or folder out before a rename makes it count."""
    flags = os.O_RDONLY
    with contextlib.suppress(OSError):
        handle = os.open(path, flags)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
