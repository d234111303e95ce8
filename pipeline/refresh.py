"""Refresh: the stages as one plain list, the ledger of rows, and what came of it."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import duckdb
import pyarrow as pa
from filelock import FileLock, Timeout

from pipeline.build import as_of, build, open_build
from pipeline.columns import CHECK_RESULTS, REFRESHES
from pipeline.corrections import read_corrections, unused_corrections
from pipeline.database import open_to_read, quoted
from pipeline.decisions_on_sales import read_sale_decisions
from pipeline.errors import ContractError, WorkspaceError
from pipeline.intake import (
    FileRecord,
    Knowledge,
    code_digest,
    digest_of,
    land_files,
    load_knowledge,
    prepare_files,
    survey,
    sweep,
)
from pipeline.linking.decisions import read_link_decisions
from pipeline.money.real_money import real_money, settings_in_force
from pipeline.progress import Progress, Silent
from pipeline.settings import Settings
from pipeline.sql import run
from pipeline.stages import validate as contract
from pipeline.stages.calibration import calibration_of
from pipeline.stages.normalise import TermReader
from pipeline.stages.publish import comment, look_at, put_in_place, time_stamp, write_tables
from pipeline.terms.decisions import read_term_decisions
from pipeline.versions import METHOD_VERSION, __version__
from pipeline.workspace import Workspace

WHOLE_PACKAGE = ("",)


@dataclass
class Moved:
    """A band whose median moved since the last refresh."""

    category_id: str
    condition: str
    attribution: str
    before: float
    after: float
    n_before: int
    n_after: int


@dataclass
class RefreshResult:
    """What a refresh did. Counts are of the published database."""

    refresh_id: str
    is_new: bool
    n_files: int = 0
    n_files_read: int = 0
    refused: list[tuple[str, str]] = field(default_factory=list)
    n_rows: int = 0
    n_sales: int = 0
    n_comparable: int = 0
    n_duplicates: int = 0
    set_aside: list[tuple[str, int]] = field(default_factory=list)
    flagged: list[tuple[str, int]] = field(default_factory=list)
    n_waiting: int = 0
    n_sales_waiting: int = 0
    n_bands: int = 0
    n_pairs_waiting: int = 0
    unused_decisions: list[str] = field(default_factory=list)
    moved: list[Moved] = field(default_factory=list)
    as_of: dt.date | None = None
    warnings: list[str] = field(default_factory=list)


def refresh(
    workspace: Workspace | str | Path,
    *,
    force: bool = False,
    progress: Progress | None = None,
) -> RefreshResult:
    """Read what is new in data/raw, rebuild the tables and publish them in one step.

    Args:
        workspace: the workspace, or its folder.
        force: rebuild although nothing has changed. Files are still not read again.
        progress: told of stages and steps.

    Returns:
        What came in, what was set aside, what waits, and which bands moved.

    Raises:
        SettingsError, VocabularyError, DecisionError: what people wrote does not hold.
        ContractError: a table broke its contract; the last database stays in place.
        WorkspaceError: another refresh is running.
    """
    place = workspace if isinstance(workspace, Workspace) else Workspace.at(workspace)
    listener = progress or Silent()
    with _only_one(place), _disk_trouble(place):
        return _refresh(place, force, listener)


def _refresh(workspace: Workspace, force: bool, progress: Progress) -> RefreshResult:
    # read
    settings = workspace.settings()
    knowledge = load_knowledge(workspace)
    newest = settings.refresh.newest_sale or dt.date.today()
    sale_decisions = read_sale_decisions(workspace.decisions / "sales.csv")
    link_decisions = read_link_decisions(workspace.decisions / "links.csv")
    corrections = read_corrections(workspace.decisions / "corrections.csv")
    records, sources = survey(workspace)
    land_files(workspace, records, sources, settings, progress)
    said = (sale_decisions, link_decisions, corrections)
    refresh_id = _refresh_id(records, settings, knowledge, said, newest)
    if not force and _is_published(workspace, refresh_id):
        result = _told(workspace, refresh_id, records, is_new=False)
        result.unused_decisions = _unused(workspace, knowledge, sale_decisions)
        result.unused_decisions += _unused_links(workspace, link_decisions)
        result.unused_decisions += unused_corrections(workspace.database, corrections)
        return result
    prepare_files(workspace, records, sources, settings, knowledge, corrections, newest, progress)
    # only now is it known whether a sale lies in the future, and so whether the day matters
    refresh_id = _refresh_id(records, settings, knowledge, said, newest)
    # work
    loading = threading.Thread(target=contract.start_loading, daemon=True)
    loading.start()
    decisions = read_term_decisions(workspace.decisions / "terms.csv", knowledge.vocabulary)
    reader = TermReader(knowledge.vocabulary, decisions, settings.terms)
    built = workspace.curated / ".building.duckdb"
    scratch = workspace.curated / ".scratch"
    con = open_build(built, settings)
    try:
        con.execute(f"SET temp_directory = {quoted(scratch)}")
        build(
            con, records, reader, settings, sale_decisions, link_decisions, corrections,
            METHOD_VERSION, progress,
        )  # fmt: skip
        _add_refresh(con, workspace, refresh_id, records, settings)
        progress.stage("checking the contract")
        loading.join()
        _check(con, workspace, newest, settings.bands.min_sales)
        run(con, "published_macros")
        comment(con)
        con.execute("CHECKPOINT")
    except BaseException:
        con.close()
        built.unlink(missing_ok=True)
        built.with_name(built.name + ".wal").unlink(missing_ok=True)
        raise
    finally:
        con.close()
        shutil.rmtree(scratch, ignore_errors=True)
    # write
    progress.stage("publishing")
    look_at(built)
    moved = _moved(workspace, built, settings.bands.answer_sales)
    put_in_place(workspace, built, time_stamp(), settings.refresh.generations)
    write_tables(workspace.database, workspace.tables)
    sweep(workspace, records)
    result = _told(workspace, refresh_id, records, is_new=True)
    result.moved = moved
    result.unused_decisions = _unused(workspace, knowledge, sale_decisions)
    result.unused_decisions += _unused_links(workspace, link_decisions)
    result.unused_decisions += unused_corrections(workspace.database, corrections)
    return result


@contextmanager
def _only_one(workspace: Workspace) -> Iterator[None]:
    workspace.curated.mkdir(parents=True, exist_ok=True)
    try:
        with FileLock(workspace.lock_file, timeout=0):
            yield
    except Timeout:
        raise WorkspaceError(
            "Another refresh of this workspace is running.",
            where=workspace.lock_file,
            todo="Wait until it has ended.",
        ) from None


@contextmanager
def _disk_trouble(workspace: Workspace) -> Iterator[None]:
    """Say what a full disk or a read-only folder is, in place of a traceback."""
    try:
        yield
    except OSError as error:
        raise WorkspaceError(
            f"The system refused: {error.strerror or error}. The published database is as it was.",
            where=error.filename or workspace.curated,
            todo="Make room on the disk, or mend the permissions, and refresh again.",
        ) from None


def _refresh_id(
    records: list[FileRecord],
    settings: Settings,
    knowledge: Knowledge,
    said: Sequence[pa.Table],
    newest: dt.date,
) -> str:
    """Digest of everything that the tables depend on."""
    files = sorted(
        f"{r.path}|{r.sha256}|{r.is_in}|{Path(r.landed).stem if r.landed else r.problem}"
        for r in records
    )
    future = any(r.landed and Path(r.landed).with_suffix(".future").exists() for r in records)
    return digest_of(
        *files,
        settings.as_json(),
        knowledge.fingerprint,
        *(str(decisions.to_pylist()) for decisions in said),
        code_digest(WHOLE_PACKAGE),
        newest.isoformat() if future else "",
    )


def _is_published(workspace: Workspace, refresh_id: str) -> bool:
    if not workspace.database.exists():
        return False
    try:
        with open_to_read(workspace.database) as con:
            last = con.execute(
                "SELECT refresh_id FROM refreshes ORDER BY refreshed_at DESC LIMIT 1"
            ).fetchall()
    except duckdb.Error:
        return False
    return bool(last) and last[0][0] == refresh_id


def _add_refresh(
    con: duckdb.DuckDBPyConnection,
    workspace: Workspace,
    refresh_id: str,
    records: list[FileRecord],
    settings: Settings,
) -> None:
    """The log of refreshes: those of the published database, and this one."""
    con.execute(REFRESHES.ddl())
    if workspace.database.exists():
        _copy_log(con, workspace.database)
    con.execute("DELETE FROM refreshes WHERE refresh_id = ?", [refresh_id])
    run(
        con,
        "refresh_row",
        refresh_id=refresh_id,
        refreshed_at=dt.datetime.now(dt.UTC).replace(tzinfo=None),
        package_version=__version__,
        method_version=METHOD_VERSION,
        basis=settings.basis.kind,
        currency=settings.basis.currency,
        as_of=as_of(con),
        n_files=len(records),
        n_files_read=sum(r.status == "read" for r in records),
        n_files_refused=sum(r.status == "refused" for r in records),
        settings=settings_in_force(settings, real_money(settings.basis, workspace.decisions)),
    )


def _copy_log(con: duckdb.DuckDBPyConnection, database: Path) -> None:
    try:
        with open_to_read(database) as old:
            rows = old.sql("FROM refreshes").to_arrow_table()
        con.register("old_log", rows.select(REFRESHES.names))
        con.execute("INSERT INTO refreshes FROM old_log")
        con.unregister("old_log")
    except (duckdb.Error, KeyError):
        # a database of an earlier layout: its log is not carried over, the file stays as a
        # generation
        con.execute("DELETE FROM refreshes")


def _check(
    con: duckdb.DuckDBPyConnection, workspace: Workspace, newest: dt.date, min_sales: int
) -> None:
    results = contract.validate(con, newest, min_sales)
    con.execute(CHECK_RESULTS.ddl())
    con.register("results", results)
    con.execute(f"INSERT INTO {CHECK_RESULTS.name} FROM results")
    con.unregister("results")
    failed = [r for r in results.to_pylist() if not r["passed"]]
    kept = workspace.curated / "failed_checks.csv"
    if not failed:
        kept.unlink(missing_ok=True)
        return
    con.execute(
        f"COPY (FROM {CHECK_RESULTS.name} WHERE NOT passed) TO {quoted(kept)} (FORMAT csv, HEADER)"
    )
    shown = "\n".join(
        f"  {r['table_name']}.{r['column_name']}: {r['sentence']} {r['n_failed']} rows at fault, "
        f"such as {'; '.join(r['failed_keys'][:3]) or 'unknown'}"
        for r in failed[:12]
    )
    raise ContractError(
        f"{len(failed)} checks of the contract failed; nothing was published.\n{shown}",
        where=kept,
        todo="Look at the rows named; `comparables explain` shows where each came from.",
    )


def _moved(workspace: Workspace, built: Path, least: int) -> list[Moved]:
    """Bands with enough sales before and after whose median moved most."""
    if not workspace.database.exists():
        return []
    with duckdb.connect() as con:
        try:
            con.execute(f"ATTACH {quoted(workspace.database)} AS before (READ_ONLY)")
            con.execute(f"ATTACH {quoted(built)} AS after (READ_ONLY)")
            rows = run(con, "bands_moved", least=least).fetchall()
        except duckdb.Error:
            return []
    return [Moved(*row) for row in rows]


def _unused(workspace: Workspace, knowledge: Knowledge, sale_decisions: pa.Table) -> list[str]:
    """A sentence for every decision that nothing in the published tables answers to."""
    decided = read_term_decisions(workspace.decisions / "terms.csv", knowledge.vocabulary)
    if not len(decided) and not sale_decisions.num_rows:
        return []
    with open_to_read(workspace.database) as con:
        seen = con.execute("SELECT kind, text FROM term_matches").fetchall()
        con.register("decided_sales", sale_decisions)
        no_sale = con.execute(
            "SELECT sale_id, action FROM decided_sales ANTI JOIN sales USING (sale_id) ORDER BY 1"
        ).fetchall()
    told = [
        f"terms.csv, line {one.line}: no export holds the {one.kind} '{one.text}'."
        for one in decided.unused(seen)
    ]
    return told + [
        f"sales.csv: there is no sale '{sale_id}' to {action.replace('_', ' ')}."
        for sale_id, action in no_sale
    ]


def _unused_links(workspace: Workspace, link_decisions: pa.Table) -> list[str]:
    """A sentence for every decision on a pair of which a row is not there."""
    if not link_decisions.num_rows:
        return []
    with open_to_read(workspace.database) as con:
        known = {
            name
            for (name,) in con.execute(
                "SELECT sale_id FROM sales UNION SELECT other_sale_id FROM duplicates"
            ).fetchall()
        }
    return [
        f"links.csv, line {said['line']}: there is no sale '{name}'."
        for said in link_decisions.to_pylist()
        for name in (said["sale_id"], said["other_sale_id"])
        if name not in known
    ]


def _told(
    workspace: Workspace, refresh_id: str, records: list[FileRecord], *, is_new: bool
) -> RefreshResult:
    """What the published database says of itself."""
    with open_to_read(workspace.database) as con:
        row = con.execute(
            "SELECT n_rows, n_sales, n_comparable, n_duplicates, n_waiting, n_bands, as_of "
            "FROM refreshes ORDER BY refreshed_at DESC LIMIT 1"
        ).fetchall()[0]
        aside = con.execute(
            "SELECT reason, count(*) AS n FROM set_aside GROUP BY 1 ORDER BY n DESC, 1"
        ).fetchall()
        flagged = con.execute(
            "SELECT flags[1] AS flag, count(*) AS n FROM sales WHERE len(flags) > 0 "
            "GROUP BY 1 ORDER BY n DESC, 1"
        ).fetchall()
        waiting = con.execute(
            "SELECT coalesce(sum(n_rows), 0)::BIGINT FROM term_matches WHERE status = 'review'"
        ).fetchall()[0][0]
        pairs = con.execute("SELECT count(*) FROM link_review").fetchall()[0][0]
        warnings = calibration_of(con).warnings()
    return RefreshResult(
        refresh_id=refresh_id,
        is_new=is_new,
        n_files=len(records),
        n_files_read=sum(r.status == "read" for r in records),
        refused=[(r.path, r.problem or "") for r in records if r.status == "refused"],
        n_rows=row[0],
        n_sales=row[1],
        n_comparable=row[2],
        n_duplicates=row[3],
        n_waiting=row[4],
        n_sales_waiting=waiting,
        n_pairs_waiting=pairs,
        n_bands=row[5],
        as_of=row[6],
        set_aside=aside,
        flagged=flagged,
        warnings=warnings,
    )


__all__ = ["Moved", "RefreshResult", "refresh"]


class _Callable(ModuleType):
    """Python puts this module in the place of the package's function `refresh` once anything has
    imported it: `pipeline.refresh(...)` has to work all the same."""

    def __call__(self, *args: Any, **kwargs: Any) -> RefreshResult:
        return refresh(*args, **kwargs)


sys.modules[__name__].__class__ = _Callable
