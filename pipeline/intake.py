"""Intake: from export files to prepared rows on disk, each file once.

What has been read of a file is kept under data/curated/stages, under a name made of the digests of
the file, its source.toml, the code and the libraries that read it; and once more, with terms and
prices, under a name that adds vocabulary, decisions and settings. Only what has no such file yet
is worked on, one process a file.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import json
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import asdict, dataclass, field
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from multiprocessing import get_context
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from pipeline.columns import LANDED, SALES
from pipeline.corrections import changes_for_file, correct
from pipeline.errors import ComparablesError, ExportError, SettingsError
from pipeline.exports.reader import Balance, ExportReader
from pipeline.exports.source import Source, load_source
from pipeline.money.rates import rates_with
from pipeline.money.real_money import OWN_INDEX, real_money
from pipeline.progress import Progress
from pipeline.settings import Settings, bytes_of
from pipeline.stages.distinct import one_array, union_lists
from pipeline.stages.ingest import land, rows_that_are_none
from pipeline.stages.measures import read_measures
from pipeline.stages.normalise import TermReader, lists_of_reasons, normalise
from pipeline.stages.price import PriceReader, price
from pipeline.terms.decisions import read_term_decisions
from pipeline.terms.kept_lexicon import use_kept
from pipeline.terms.vocabulary import Vocabulary
from pipeline.workspace import Export, Workspace

READS = ("exports", "columns.py", "stages/ingest.py", "stages/distinct.py", "intake.py")
PREPARES = (
    *READS, "corrections.py", "reasons.py", "terms", "money", "vocabulary",
    "stages/lots.py", "stages/measures.py", "stages/normalise.py", "stages/price.py",
)  # fmt: skip
LIBRARIES = ("pyarrow", "numpy", "rapidfuzz", "currencyconverter", "cpi")
POOL_FROM_BYTES = 4_000_000
SLICE = 200_000

LANDED_TEXTS = [f.name for f in LANDED if f.name in SALES.names]
PREPARED_EXTRA = ("price_flags", "term_flags", "aside_reason", "aside_column", "markers",
                  "corrected", "kept_digest")  # fmt: skip


@dataclass
class FileRecord:
    """One export: what is known of it, as `refresh_files` tells it, and where its rows are."""

    source_id: str
    path: str
    file_id: str = ""
    sha256: str = ""
    n_bytes: int = 0
    status: str = "refused"
    problem: str | None = None
    balance: Balance = field(default_factory=Balance)
    landed: str | None = None
    prepared: str | None = None

    @property
    def is_in(self) -> bool:
        return self.status in ("read", "unchanged")


@cache
def code_digest(parts: tuple[str, ...]) -> str:
    """Digest of the package's own files that do a part of the work, and of the libraries."""
    digest = hashlib.sha256()
    root = Path(str(files("pipeline")))
    for part in parts:
        place = root / part
        found = sorted(place.rglob("*")) if place.is_dir() else [place]
        for path in found:
            if path.suffix in (".py", ".csv", ".sql"):
                digest.update(path.relative_to(root).as_posix().encode() + b"\0")
                digest.update(path.read_bytes())
    for library in LIBRARIES:
        digest.update(f"{library}={_version(library)};".encode())
    return digest.hexdigest()


def _version(library: str) -> str:
    """Version of a library; empty where it is not installed, since cpi may be left out."""
    try:
        return version(library)
    except PackageNotFoundError:
        return ""


def digest_of(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]


# ---------------------------------------------------------------------------------------------
# What lies in data/raw


class _KnownFiles:
    """Digests of files by size and times, so that an unchanged file is not even hashed again."""

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._known: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            self._known = {}
        self._seen: dict[str, Any] = {}

    def sha256(self, path: Path, name: str) -> tuple[str, int]:
        stat = path.stat()
        stamp = [stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino]
        known = self._known.get(name)
        if known and known["stamp"] == stamp:
            self._seen[name] = known
            return known["sha256"], stat.st_size
        with path.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
        self._seen[name] = {"stamp": stamp, "sha256": digest}
        return digest, stat.st_size

    def save(self) -> None:
        part = self._path.with_suffix(".part")
        part.write_text(json.dumps(self._seen, sort_keys=True), encoding="utf-8")
        os.replace(part, self._path)


def survey(workspace: Workspace) -> tuple[list[FileRecord], dict[str, Source]]:
    """Every export with its digest, or the problem that keeps it out; and the sources.

    Raises:
        SettingsError: every source.toml that does not hold, told at once.
    """
    sources: dict[str, Source] = {}
    problems: list[SettingsError] = []
    found = list(workspace.exports())
    for source_id in sorted({export.source_id for export, _ in found}):
        try:
            sources[source_id] = load_source(workspace.raw / source_id / "source.toml")
        except SettingsError as error:
            problems.append(error)
    if problems:
        if len(problems) == 1:
            raise problems[0]
        raise SettingsError("\n\n".join(str(p) for p in problems))
    workspace.stages.mkdir(parents=True, exist_ok=True)
    known = _KnownFiles(workspace.stages / "files.json")
    records: list[FileRecord] = []
    first_with: dict[str, str] = {}
    for export, problem in found:
        record = FileRecord(export.source_id, workspace.relative(export.path))
        if problem is None:
            problem = _identify(record, export, known)
        if problem is not None:
            record.problem = problem.what
        elif record.sha256 in first_with:
            record.status = "same_as_other"
            record.problem = f"The same bytes as {first_with[record.sha256]}."
        else:
            first_with[record.sha256] = record.path
            record.status = "read"
        records.append(record)
    known.save()
    return records, sources


def _identify(record: FileRecord, export: Export, known: _KnownFiles) -> ExportError | None:
    try:
        record.sha256, record.n_bytes = known.sha256(export.path, record.path)
    except OSError as error:
        return ExportError(f"The file cannot be read: {error.strerror}.", where=record.path)
    record.file_id = record.sha256[:16]
    return None


# ---------------------------------------------------------------------------------------------
# Landing: text


@dataclass(frozen=True)
class LandJob:
    path: str
    name: str
    file_id: str
    source: Source
    target: str
    largest: int
    undecodable_share: float


def land_files(
    workspace: Workspace,
    records: Sequence[FileRecord],
    sources: dict[str, Source],
    settings: Settings,
    progress: Progress,
) -> None:
    """Land every export that has no landed file yet; fills status, balance and place."""
    folder = workspace.stages / "landed"
    folder.mkdir(parents=True, exist_ok=True)
    jobs: list[LandJob] = []
    todo: list[FileRecord] = []
    for record in records:
        if record.status != "read":
            continue
        source = sources[record.source_id]
        name = digest_of(record.sha256, source.fingerprint, code_digest(READS))
        target = folder / f"{name}.parquet"
        record.landed = str(target)
        if target.exists():
            record.status = "unchanged"
            _recall(record, target)
            continue
        todo.append(record)
        jobs.append(
            LandJob(
                str(workspace.root / record.path), record.path, record.file_id, source,
                str(target), bytes_of(settings.refresh.largest_file),
                settings.refresh.refuse_undecodable_share,
            )
        )  # fmt: skip
    progress.stage("reading exports", len(jobs))
    total = sum(r.n_bytes for r in todo)
    for record, outcome in zip(
        todo, _in_processes(land_file, jobs, total, settings.refresh.workers), strict=True
    ):
        if isinstance(outcome, ComparablesError):
            record.status, record.problem, record.landed = "refused", outcome.what, None
            record.balance = Balance()
        else:
            record.balance = outcome
        progress.step()


def _recall(record: FileRecord, target: Path) -> None:
    metadata = pq.read_metadata(target).metadata or {}
    record.balance = Balance(**json.loads(metadata[b"balance"]))


def land_file(job: LandJob) -> Balance | ComparablesError:
    """Read one export and write its landed rows and what was set aside; or say why not."""
    part = Path(job.target).with_suffix(".part")
    try:
        return _land_file(job, part)
    except ComparablesError as error:
        part.unlink(missing_ok=True)
        return error
    except OSError as error:
        part.unlink(missing_ok=True)
        return ExportError(f"The file cannot be read: {error}.", where=job.name)


def _land_file(job: LandJob, part: Path) -> Balance:
    reader = ExportReader(Path(job.path), job.source, job.name, job.largest)
    for records_of_pass in reader.passes():
        with pq.ParquetWriter(part, LANDED, compression="lz4") as writer:
            for records in records_of_pass:
                rows, reasons = rows_that_are_none(records.cells, job.source)
                cells, lines = records.cells, records.line_number
                if rows:
                    gone = np.array(rows, dtype=np.int64)
                    reader.set_rows_aside(records, gone, reasons)
                    keep = np.setdiff1d(np.arange(cells.num_rows), gone)
                    cells, lines = cells.take(pa.array(keep)), lines[keep]
                if cells.num_rows:
                    writer.write_table(land(cells, lines, job.source, job.file_id))
            aside = pa.table(
                {
                    "line_number": pa.array(reader.aside.line_number, pa.int64()),
                    "n_lines": pa.array(reader.aside.n_lines, pa.int64()),
                    "reason": pa.array(reader.aside.reason, pa.string()),
                    "cells": pa.array(reader.aside.cells, pa.list_(pa.string())),
                }
            )
            writer.add_key_value_metadata({"balance": json.dumps(asdict(reader.balance))})
    balance = reader.balance
    if not balance.holds:
        raise ExportError(
            f"The lines of the file do not balance: {balance.n_lines} lines, but "
            f"{balance.n_header_lines} of header, {balance.n_rows} rows, "
            f"{balance.n_lines_set_aside} set aside and {balance.n_cell_line_breaks} line breaks "
            "inside cells.",
            where=job.name,
            todo="Export it again; if it stays so, look for stray quotation marks.",
        )
    if balance.n_rows == 0 and len(reader.aside) == 0:
        raise ExportError("The file has a header and no rows.", where=job.name)
    undecodable = reader.aside.reason.count("undecodable")
    if undecodable > job.undecodable_share * max(balance.n_lines, 20):
        raise ExportError(
            f"{undecodable} of {balance.n_lines} lines are no text in the encoding "
            f"{balance.encoding}.",
            where=job.name,
            todo="State the right encoding in source.toml; `comparables describe` proposes one.",
        )
    pq.write_table(aside, aside_path(job.target), compression="lz4")
    os.replace(part, job.target)
    return balance


def aside_path(landed: str) -> str:
    """Where the lines set aside at landing lie, beside the landed rows."""
    return landed.removesuffix(".parquet") + ".aside"


# ---------------------------------------------------------------------------------------------
# Preparing: terms and prices


@dataclass(frozen=True)
class PrepareJob:
    landed: str
    target: str
    source_id: str
    source: Source
    settings: Settings
    decisions: str
    newest: dt.date
    knowledge: str
    lexicon: str
    changes: pa.Table | None = None


@dataclass(frozen=True)
class Knowledge:
    """What preparing depends on beside the rows: vocabulary, decisions and own rates."""

    vocabulary: Vocabulary
    fingerprint: str


def load_knowledge(workspace: Workspace) -> Knowledge:
    """Load and prove the vocabulary and the decisions on terms.

    Raises:
        VocabularyError, DecisionError: naming file and line.
    """
    vocabulary = _vocabulary(str(workspace.decisions))
    parts = [vocabulary.fingerprint]
    for name in ("terms.csv", "rates.csv", OWN_INDEX):
        path = workspace.decisions / name
        parts.append(path.read_text("utf-8", errors="replace") if path.exists() else "")
    read_term_decisions(workspace.decisions / "terms.csv", vocabulary)
    use_kept(vocabulary, workspace.lexicon)
    return Knowledge(vocabulary, digest_of(*parts))


def _vocabulary(decisions: str) -> Vocabulary:
    extra = Path(decisions) / "vocabulary"
    return Vocabulary.load(extra if extra.is_dir() else None)


def prepare_files(
    workspace: Workspace,
    records: Sequence[FileRecord],
    sources: dict[str, Source],
    settings: Settings,
    knowledge: Knowledge,
    corrections: pa.Table,
    newest: dt.date,
    progress: Progress,
) -> None:
    """Give terms and prices to the rows of every file that has no prepared file yet."""
    folder = workspace.stages / "prepared"
    folder.mkdir(parents=True, exist_ok=True)
    jobs: list[PrepareJob] = []
    total = 0
    kept = {"terms", "basis", "screen"}
    said = json.dumps(settings.model_dump(mode="json", include=kept), sort_keys=True)
    real = real_money(settings.basis, workspace.decisions)
    said += real.fingerprint if real else ""
    for record in records:
        if not record.is_in or record.landed is None:
            continue
        source = sources[record.source_id]
        changes = changes_for_file(corrections, record.landed, record.source_id, source, newest)
        name = digest_of(
            Path(record.landed).stem, knowledge.fingerprint, said, code_digest(PREPARES),
            _future_key(record, newest), str(changes.to_pylist()),
        )  # fmt: skip
        target = folder / f"{name}.parquet"
        record.prepared = str(target)
        if target.exists():
            continue
        total += record.n_bytes
        jobs.append(
            PrepareJob(
                record.landed, str(target), record.source_id, source, settings,
                str(workspace.decisions), newest, knowledge.fingerprint,
                str(workspace.lexicon), changes if changes.num_rows else None,
            )
        )  # fmt: skip
    progress.stage("reading terms and prices", len(jobs))
    for outcome in _in_processes(prepare_file, jobs, total, settings.refresh.workers):
        if isinstance(outcome, ComparablesError):
            raise outcome
        progress.step()


def _future_key(record: FileRecord, newest: dt.date) -> str:
    """A file in which sales lay in the future is looked at again each day; the others are not."""
    if record.landed is None:
        return ""
    marker = Path(record.landed).with_suffix(".future")
    return newest.isoformat() if marker.exists() else ""


def prepare_file(job: PrepareJob) -> ComparablesError | None:
    """Normalise and price one landed file."""
    part = Path(job.target).with_suffix(".part")
    try:
        _prepare_file(job, part)
    except ComparablesError as error:
        part.unlink(missing_ok=True)
        return error
    os.replace(part, job.target)
    return None


def _prepare_file(job: PrepareJob, part: Path) -> None:
    terms, prices = _readers(job)
    writer: pq.ParquetWriter | None = None
    future = 0
    source_file = pq.ParquetFile(job.landed)
    try:
        for batch in source_file.iter_batches(batch_size=SLICE):
            landed = pa.Table.from_batches([batch])
            table = prepare(landed, job.source_id, terms, prices, job.changes)
            writer = writer or pq.ParquetWriter(part, table.schema, compression="lz4")
            future += table["aside_reason"].to_pylist().count("future_sale")
            writer.write_table(table)
        if writer is None:
            empty = prepare(LANDED.empty_table(), job.source_id, terms, prices)
            writer = pq.ParquetWriter(part, empty.schema, compression="lz4")
    finally:
        if writer is not None:
            writer.close()
    if future:
        Path(job.landed).with_suffix(".future").touch()


def prepare(
    landed: pa.Table,
    source_id: str,
    terms: TermReader,
    prices: PriceReader,
    changes: pa.Table | None = None,
) -> pa.Table:
    """Landed rows of one source, corrected, with their terms and prices, side by side."""
    n = landed.num_rows
    landed, corrected, kept_digest = correct(landed, changes)
    columns = {"source_id": pa.repeat(pa.scalar(source_id), n),
               "market": pa.repeat(pa.scalar(prices.source.market), n),
               "listing_id": landed.column("listing_id_text"),
               "file_id": landed.column("file_id"),
               "line_number": landed.column("line_number")}  # fmt: skip
    columns |= {name: landed.column(name) for name in LANDED_TEXTS if name not in columns}
    priced = price(landed, prices)
    sold_on, currency = (priced.column(c).combine_chunks() for c in ("sold_on", "currency"))
    read = normalise(landed, sold_on, currency, terms)
    for table in (read, priced):
        columns |= {name: table.column(name) for name in table.column_names}
    sized = read_measures(landed)
    columns["measures"] = sized["measures"]
    notes = lists_of_reasons({"size_disagrees": one_array(sized["disagrees"])}, n)
    columns["notes"] = union_lists([one_array(priced["notes"]), notes])
    columns |= {"corrected": corrected, "kept_digest": kept_digest}
    return pa.table(columns)


_READERS: dict[str, tuple[TermReader, PriceReader]] = {}


def _readers(job: PrepareJob) -> tuple[TermReader, PriceReader]:
    """Vocabulary and rates are loaded once a process and state of what people decided."""
    key = digest_of(job.decisions, job.knowledge, job.settings.as_json(), job.source.fingerprint)
    if key not in _READERS:
        vocabulary = _vocabulary(job.decisions)
        use_kept(vocabulary, Path(job.lexicon))
        folder = Path(job.decisions)
        decisions = read_term_decisions(folder / "terms.csv", vocabulary)
        rates = rates_with(folder / "rates.csv", job.settings.basis.max_rate_age_days)
        _READERS[key] = (
            TermReader(vocabulary, decisions, job.settings.terms),
            PriceReader(
                job.source,
                rates,
                job.settings,
                job.newest,
                real_money(job.settings.basis, folder),
            ),
        )
    return _READERS[key]


# ---------------------------------------------------------------------------------------------
# Processes and housekeeping

Job = TypeVar("Job")
Outcome = TypeVar("Outcome")


def _in_processes(
    work: Callable[[Job], Outcome], jobs: Sequence[Job], n_bytes: int, workers: int
) -> Iterator[Outcome]:
    """Outcomes of the jobs in their order; in processes of their own where it pays."""
    n = min(workers or os.cpu_count() or 1, len(jobs))
    done = 0
    if n > 1 and n_bytes >= POOL_FROM_BYTES:
        # Arrow and the database run threads, so a plain fork could hang.
        with (
            contextlib.suppress(BrokenProcessPool),
            ProcessPoolExecutor(n, mp_context=get_context("forkserver")) as pool,
        ):
            for outcome in pool.map(work, jobs):
                done += 1
                yield outcome
    # One process, or the pool broke: a script without a main guard cannot start others.
    yield from map(work, jobs[done:])


def sweep(workspace: Workspace, records: Sequence[FileRecord]) -> None:
    """Remove stage files that no export of today leads to."""
    kept = {Path(p).stem for r in records for p in (r.landed, r.prepared) if p}
    for folder in ("landed", "prepared"):
        place = workspace.stages / folder
        if place.is_dir():
            for path in place.iterdir():
                if path.stem not in kept:
                    path.unlink(missing_ok=True)
