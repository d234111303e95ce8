"""Answers as a person reads them on a terminal, or as a program reads them from a pipe."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb
from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from pipeline import reasons
from pipeline.errors import UsageError
from pipeline.reasons import NO_APPRAISAL as NO_APPRAISAL

if TYPE_CHECKING:
    from pipeline.answers.explain import Explanation
    from pipeline.answers.query import BandAnswer
    from pipeline.answers.status import Status
    from pipeline.progress import Progress
    from pipeline.refresh import RefreshResult
    from pipeline.workspace import Workspace

CELL_WIDTH = 60
PAGE_WIDTH = 120


def console_of() -> Console:
    """For answers; a pipe has no width of its own, so tables are drawn for a page."""
    if sys.stdout.isatty():
        return Console(highlight=False)
    return Console(highlight=False, soft_wrap=True, width=PAGE_WIDTH)


def plain_text(value: Any) -> Text:
    """A value as text that cannot steer the terminal."""
    shown = "" if value is None else str(value)
    return Text("".join(c if c.isprintable() or c == "\n" else "\ufffd" for c in shown))


def _money(value: Any, currency: str) -> str:
    return f"{value:,.2f} {currency}" if value < 100 else f"{value:,.0f} {currency}"


@contextmanager
def drawn_progress() -> Iterator[Progress]:
    """Progress on the terminal's error stream; a line a stage where it is no terminal."""
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    console = Console(stderr=True)
    bars = Bars(
        TextColumn("{task.description}"), BarColumn(), TextColumn("{task.fields[done]}"),
        TimeElapsedColumn(), console=console, transient=True,
    )  # fmt: skip

    class Drawn:
        task: Any = None
        total: int | None = None
        done = 0

        def _finish(self) -> None:
            if self.task is not None:
                total = self.total or 1
                bars.update(self.task, total=total, completed=total)

        def stage(self, name: str, n_steps: int | None = None) -> None:
            self._finish()
            self.total, self.done = n_steps, 0
            text = f"0 of {n_steps}" if n_steps else ""
            self.task = bars.add_task(name, total=n_steps or None, done=text)
            if not console.is_terminal:
                print(name, file=sys.stderr)  # noqa: T201

        def step(self, n: int = 1) -> None:
            self.done += n
            bars.update(self.task, advance=n, done=f"{self.done} of {self.total}")

    with bars:
        yield Drawn()


def show_init(made: list[str]) -> None:
    """What `init` made."""
    console = console_of()
    for line in made:
        console.print(plain_text(line))


def show_refresh(workspace: Workspace, result: RefreshResult, report: Path | None) -> None:
    """What came in, what was set aside and why, what waits, which bands moved."""
    console = console_of()
    read = f"{result.n_files_read} read" if result.n_files_read else "none had to be read again"
    console.print(f"Exports: {result.n_files}, {read}.")
    if not result.is_new:
        console.print("Nothing has changed since the last refresh; the database stands.")
    for path, problem in result.refused:
        console.print(Text.assemble("Refused: ", plain_text(path), ": ", plain_text(problem)))
    aside = sum(n for _, n in result.set_aside)
    rows_aside = result.n_rows - result.n_sales - result.n_duplicates
    console.print(
        f"Rows: {result.n_rows:,} = {result.n_sales:,} sales + {result.n_duplicates:,} told twice "
        f"+ {rows_aside:,} rows set aside. Sales up to {result.as_of}."
    )
    if result.set_aside:
        console.print(f"Set aside: {aside:,} lines and rows")
        for reason, n in result.set_aside:
            console.print(f"  {n:>8,}  {reasons.SET_ASIDE[reason]}")
    kept_out = result.n_sales - result.n_comparable
    console.print(
        f"Sales that feed bands: {result.n_comparable:,}; kept and left out: {kept_out:,}"
    )
    for flag, n in result.flagged:
        console.print(f"  {n:>8,}  {reasons.FLAGS[flag]}")
    if result.n_waiting:
        console.print(
            f"Waiting for a decision: {result.n_waiting:,} spellings, on "
            f"{result.n_sales_waiting:,} rows. `comparables review` asks for them."
        )
    if result.unused_decisions:
        console.print("Decisions that nothing needs any more, or that are misspelt:")
        for sentence in result.unused_decisions:
            console.print(Text.assemble("  ", plain_text(sentence)))
    console.print(f"Bands: {result.n_bands:,}.")
    for moved in result.moved:
        change = 100 * (moved.after / moved.before - 1)
        console.print(
            f"  moved {change:+.0f} %: {moved.category_id}, {moved.condition}, "
            f"{moved.attribution}: {moved.before:,.2f} to {moved.after:,.2f} "
            f"({moved.n_before} to {moved.n_after} sales)"
        )
    for line in result.warnings:
        console.print(plain_text(line))
    console.print(f"Database: {workspace.relative(workspace.database)}")
    if report:
        console.print(f"Report: {workspace.relative(report)}")


def show_status(status: Status) -> None:
    """The last refresh, the sources, what waits."""
    console = console_of()
    last = status.last
    console.print(
        f"Refreshed {last['refreshed_at']:%Y-%m-%d %H:%M} UTC. {last['n_sales']:,} sales up to "
        f"{last['as_of']}, {last['n_comparable']:,} feed {last['n_bands']:,} bands. "
        f"Basis: {last['basis']}, {last['currency']}. Method {last['method_version']}."
    )
    table = Table("source", "sales", "feed bands", "first", "last")
    for row in status.sources:
        table.add_row(*(plain_text(f"{v:,}" if isinstance(v, int) else v) for v in row))
    console.print(table)
    for line in status.calibration.sentences():
        console.print(plain_text(line))
    for path, problem in status.refused:
        console.print(Text.assemble("Refused: ", plain_text(path), ": ", plain_text(problem)))
    for path in status.new_files:
        console.print(Text.assemble("New, not refreshed yet: ", plain_text(path)))
    if status.waiting:
        console.print(f"Waiting for a decision, most rows first ({last['n_waiting']:,} in all):")
        for kind, text, n, concept in status.waiting:
            console.print(
                Text.assemble(f"  {n:>7,}  {kind}: ", plain_text(text), f"  perhaps {concept}")
            )
    if status.generations:
        console.print(f"Earlier databases: {', '.join(status.generations)}")


def show_band(answer: BandAnswer, *, as_json: bool) -> None:
    """A band, with what was understood, its count and its dates."""
    if as_json:
        print(json.dumps(answer.__dict__, default=str, indent=2))  # noqa: T201
        return
    console = console_of()
    console.print(
        Text.assemble(
            "Understood: '", plain_text(answer.question), f"' as {answer.category} "
            f"({answer.category_id}), by {answer.understood_by}; condition {answer.condition}; "
            f"attribution {answer.attribution}; {answer.set_size}.",
        )
    )  # fmt: skip
    if answer.others:
        console.print(f"Bands of their own: attribution {', '.join(answer.others)}.")
    if not answer.all_conditions:
        return
    money = answer.all_conditions[0]["currency"]
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("condition", no_wrap=True)
    for name in ("sales", "P10", "P25", "median", "P75", "P90"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("95 % of the median", no_wrap=True)
    table.add_column("sold", no_wrap=True)
    for row in answer.all_conditions:
        low, high = row["median_low"], row["median_high"]
        interval = "under 6 sales" if low is None else f"{low:,.2f} to {high:,.2f}"
        p90 = f"{row['p90']:,.2f}" + ("" if row["p90_is_bounded"] else " *")
        mark = "> " if row["condition"] == answer.condition else "  "
        table.add_row(
            mark + row["condition"], f"{row['n_sales']:,}",
            *(f"{row[k]:,.2f}" for k in ("p10", "p25", "median", "p75")), p90, interval,
            f"{row['first_sold_on']:%Y-%m} to {row['last_sold_on']:%Y-%m}",
        )  # fmt: skip
    console.print(table)
    first = answer.all_conditions[0]
    console.print(
        f"{money}, {first['basis']}'s price before tax and shipping"
        if first["basis"] == "buyer"
        else f"{money}, seller's net",
        end=". ",
    )
    if any(not row["p90_is_bounded"] for row in answer.all_conditions):
        console.print("* too few sales to bound the 90th percentile (29 are needed).", end=" ")
    console.print(f"Method {first['method_version']}. {NO_APPRAISAL}")


def show_explanation(e: Explanation) -> None:
    """The way of one sale, from the band back to the file and line."""
    console = console_of()
    sale = e.sale
    console.print(Text.assemble("Sale ", plain_text(sale["sale_id"]), f", sold {sale['sold_on']}"))
    console.print(
        Text.assemble(
            "From ", plain_text(e.file.get("path", sale["file_id"])),
            f", line {sale['line_number']} ",
            f"(SHA-256 {e.file.get('sha256', sale['file_id'])[:16]}...)",
        )
    )  # fmt: skip
    console.print("\nThe cells as they are read:")
    for header, cell in e.cells:
        console.print(Text.assemble("  ", plain_text(header), ": ", plain_text(cell[:400])))
    for mended in e.corrections:
        console.print(
            Text.assemble(
                f"  corrected {mended['column_name']}: the export has '",
                plain_text((mended["expected_text"] or "")[:200]), "', by ",
                plain_text(mended["who"]), f" on {mended['decided_on']}: ",
                plain_text(mended["why"]),
            )
        )  # fmt: skip
    console.print("\nRead as:")
    for name in ("category_id", "material_id", "period_id", "made_from_year", "made_to_year",
                 "condition", "attribution", "faults", "cautions"):  # fmt: skip
        value = sale[name]
        if value not in (None, []):
            told = ", ".join(value) if isinstance(value, list) else value
            console.print(f"  {name}: {told}")
    for term in e.terms:
        console.print(
            Text.assemble(
                f"  {term['kind']} field '", plain_text(term["text"]), f"': {term['status']}, "
                f"{term['concept_id'] or 'nothing'}, by {term['method']}, "
                f"score {_number(term['score'])}, lead {_number(term['margin'])}",
            )
        )  # fmt: skip
    console.print("\nThe price:")
    for name, value in e.price_steps:
        console.print(Text.assemble(f"  {name}: ", plain_text(value)))
    if e.group and e.group["level"] == "terms":
        for line in _against_terms(e.group, sale):
            console.print(line)
    elif e.group:
        g = e.group
        console.print(
            f"\nHeld against {g['n_sales']} sales of {g['group_id']}: median log price "
            f"{g['median_log']:.4f}, MAD {g['mad_log']:.4f}; modified z-score "
            f"{sale['z_score']:.2f}, out of line from {g['threshold']}."
        )
    for flag, sentence in e.flags:
        console.print(f"Flag {flag}: {sentence}")
    if sale["person_flag"]:
        console.print(f"A person decided: {sale['person_flag']}.")
    for link in e.duplicates:
        console.print(
            f"Also told by file {link['file_id']}, line {link['line_number']}: "
            f"{reasons.LINKS[link['reason']]}"
            + (f" Differs in {', '.join(link['differs'])}." if link["differs"] else "")
            + (f" Its key is {link['other_sale_id']}." if link["reason"] == "repeated_row" else "")
        )
    for row in e.bands:
        console.print(
            f"\nIt feeds the band {row['category_id']}, {row['condition']}, {row['attribution']}, "
            f"{row['set_size']}: {row['n_sales']} sales, median {row['median']:,.2f} "
            f"{row['currency']}."
        )
    if not sale["is_comparable"]:
        console.print("\nIt feeds no band.")


def _against_terms(g: dict[str, Any], sale: dict[str, Any]) -> list[str]:
    """What a sale's terms led one to expect, from the kept statistics and its score."""
    beyond = g["median_log"] + sale["z_score"] * g["mad_log"] / 0.6745
    expected = float(sale["compared_amount"]) / math.exp(beyond)
    return [
        f"\nIts kind, attribution, condition, set, material, period, market and faults together "
        f"led one to expect about {expected:,.2f}; it brought {math.exp(beyond):,.3g} times that.",
        f"Held against {g['n_sales']} sales of {g['group_id'].removeprefix('terms|')}, each less "
        f"what its terms lead one to expect: median {g['median_log']:+.4f}, MAD "
        f"{g['mad_log']:.4f} (logs); modified z-score {sale['z_score']:.2f}, out of line from "
        f"{g['threshold']}.",
    ]


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f}"


def write_answer(result: duckdb.DuckDBPyRelation, shape: str, out: Path | None) -> None:
    """An answer of SQL: a table on a terminal, else CSV; or JSON, or Parquet in a file."""
    try:
        table = result.to_arrow_table()
    except duckdb.IOException:
        raise  # the database's fault, not the statement's
    except duckdb.Error as error:
        raise UsageError(f"The question cannot be answered: {error}") from None
    if shape == "auto":
        shape = "table" if out is None and sys.stdout.isatty() else "csv"
    if shape == "parquet":
        if out is None:
            raise UsageError("Parquet needs a file.", todo="Name one with --out.")
        import pyarrow.parquet as pq

        with _writing(out):
            pq.write_table(table, out)
        return
    if shape == "table":
        drawn = Table(*table.column_names)
        for row in table.to_pylist():
            drawn.add_row(*(plain_text(_short(v)) for v in row.values()))
        console_of().print(drawn)
        return
    text = _as_json(table) if shape == "json" else _as_csv(table)
    if out is None:
        sys.stdout.write(text)
    else:
        with _writing(out):
            out.write_text(text, encoding="utf-8", newline="")


@contextmanager
def _writing(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise UsageError(
            f"The file cannot be written: {error.strerror or error}.", where=out
        ) from None


def _short(value: Any) -> str:
    text = "" if value is None else str(value)
    return text if len(text) <= CELL_WIDTH else text[: CELL_WIDTH - 1] + "…"


def _as_json(table: Any) -> str:
    return json.dumps(table.to_pylist(), default=str, ensure_ascii=False, indent=1) + "\n"


def _as_csv(table: Any) -> str:
    """CSV by RFC 4180; text that a spreadsheet would run as a formula begins with a quote mark."""
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(table.column_names)
    for row in table.to_pylist():
        writer.writerow([safe_cell(v) for v in row.values()])
    return out.getvalue()


def safe_cell(value: Any) -> Any:
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + value
    return value


def show_description(d: Any) -> None:
    """What an export seems to be, and the source.toml that is proposed."""
    from pipeline.answers.describe import proposal

    console = console_of()
    names = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}
    console.print(
        f"{d.path.name}: encoding {d.encoding}, parted by {names.get(d.delimiter, d.delimiter)}, "
        f"header on line {d.header_line}."
    )
    table = Table("column", "may mean", "because", "such as")
    for column in d.columns:
        shown = [_short(" ".join(e.split()))[:28] for e in column.examples]
        table.add_row(
            plain_text(column.header), column.meaning or "-", column.reason,
            plain_text(" | ".join(shown)),
        )  # fmt: skip
    console.print(table)
    for note in d.notes:
        console.print(f"Note: {note}")
    console.print("\nProposed source.toml (check it; --save writes it beside the file):\n")
    print(proposal(d))  # noqa: T201
