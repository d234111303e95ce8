"""The command `comparables`: one function a command, no logic.

What is heavy is imported inside the function that needs it, so that the command starts quickly.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from pipeline.answers.hunt_order import HuntOrder
from pipeline.errors import ComparablesError, NotEnoughSales, WorkspaceError
from pipeline.versions import __version__

app = typer.Typer(
    name="comparables",
    help="What like pieces sold for: exports of sold listings in, bands of prices out.\n\n"
    "Exit codes: 0 done; 1 and 3 to 10 an error that is told (3 settings, 4 export, "
    "5 vocabulary, 6 decision, 7 contract, 8 workspace, 9 sheet, 10 not enough sales); "
    "2 the command was not understood.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode="markdown",
    add_completion=False,
)

WorkspaceOption = Annotated[
    Path,
    typer.Option("--workspace", "-w", help="Folder of the workspace.", envvar="COMPARABLES_HOME"),
]
HERE = Path()
_program = False  # whether this process is the command and ends with its answer


class Shape(StrEnum):
    """How an answer of `sql` is written."""

    auto = "auto"
    table = "table"
    csv = "csv"
    json = "json"
    parquet = "parquet"


def main() -> None:
    """Run the command; an error that a person can act on is one message and an exit code."""
    global _program
    _program = True
    try:
        app()
    except KeyboardInterrupt:
        print("Stopped. The published database is as it was.", file=sys.stderr)  # noqa: T201
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(141)
    except Exception as error:
        told = as_told(error)
        if told is None:
            raise
        _tell(told)
        sys.exit(told.exit_code)


def as_told(error: BaseException) -> ComparablesError | None:
    """The error as a person is told it; None for a fault of the program itself.

    A database that is cut short may open and fail only where the missing part is read.
    """
    if isinstance(error, ComparablesError):
        return error
    duckdb = sys.modules.get("duckdb")  # loaded, if the error is one of its own
    if duckdb is not None and isinstance(error, duckdb.Error):
        return WorkspaceError(
            f"The database cannot be read: {str(error).strip().splitlines()[0]}",
            todo="Run `comparables restore`, or `comparables refresh --force`.",
        )
    return None


def _tell(error: ComparablesError) -> None:
    print(f"comparables: {error}", file=sys.stderr)  # noqa: T201


def _workspace(folder: Path) -> Any:
    from pipeline.workspace import Workspace

    return Workspace.at(folder)


@app.callback(invoke_without_command=True)
def _common(
    version: Annotated[bool, typer.Option("--version", help="Say the version and stop.")] = False,
) -> None:
    if version:
        typer.echo(f"comparables {__version__}")
        raise typer.Exit


@app.command()
def init(
    folder: Annotated[Path, typer.Argument(help="Folder to make the workspace in.")],
    demo: Annotated[bool, typer.Option(help="Put the demo's exports in it.")] = False,
) -> None:
    """Make a workspace.

    Example: `comparables init my-sales --demo`
    """
    from pipeline.answers.init import make_workspace
    from pipeline.answers.show import show_init

    show_init(make_workspace(folder, demo=demo))


@app.command()
def describe(
    file: Annotated[Path, typer.Argument(help="An export you know nothing about.")],
    save: Annotated[
        bool, typer.Option("--save", help="Save the proposal as source.toml beside the file.")
    ] = False,
) -> None:
    """Propose a source.toml for an unknown export.

    Example: `comparables describe data/raw/my-source/july.csv`
    """
    from pipeline.answers.describe import describe_file, save_proposal
    from pipeline.answers.show import show_description

    description = describe_file(file)
    show_description(description)
    if save:
        typer.echo(f"Saved: {save_proposal(description, file)}")


@app.command()
def refresh(
    workspace: WorkspaceOption = HERE,
    force: Annotated[
        bool, typer.Option("--force", help="Rebuild although nothing has changed.")
    ] = False,
    report: Annotated[bool, typer.Option(help="Write reports/latest.html too.")] = True,
) -> None:
    """Read what is new, rebuild the tables and publish them.

    Example: `comparables refresh --workspace my-sales`
    """
    from pipeline.answers.show import drawn_progress, show_refresh
    from pipeline.refresh import refresh as run_refresh

    place = _workspace(workspace)
    with drawn_progress() as progress:
        result = run_refresh(place, force=force, progress=progress)
        written = None
        if report and (result.is_new or not (place.reports / "latest.html").exists()):
            from pipeline.reports.weekly import write_report

            progress.stage("writing the report")
            written = write_report(place, result)
    show_refresh(place, result, written)
    if result.refused:
        raise typer.Exit(4)


@app.command()
def status(workspace: WorkspaceOption = HERE) -> None:
    """Say what is published and what waits.

    Example: `comparables status`
    """
    from pipeline.answers.show import show_status
    from pipeline.answers.status import status_of

    show_status(status_of(_workspace(workspace)))


@app.command()
def band(
    category: Annotated[str, typer.Argument(help="A kind of thing, in any known wording.")],
    condition: Annotated[str | None, typer.Option("--condition", "-c", help="Grade.")] = None,
    attribution: Annotated[
        str | None,
        typer.Option("--attribution", "-a", help="period, style, reproduction or unknown."),
    ] = None,
    set_size: Annotated[
        str, typer.Option("--set", help="single, pair or a size class.")
    ] = "single",
    workspace: WorkspaceOption = HERE,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
) -> None:
    """What a kind of thing in a condition sells for.

    Example: `comparables band "mantel clock" --condition good`
    """
    from pipeline.answers.query import band as ask_band
    from pipeline.answers.query import need_enough
    from pipeline.answers.show import show_band

    place = _workspace(workspace)
    answer = ask_band(
        place, category, condition=condition, attribution=attribution, set_size=set_size
    )
    show_band(answer, as_json=as_json)
    need_enough(answer, place.settings().bands.answer_sales)


@app.command()
def estimate(
    description: Annotated[
        str, typer.Argument(help="The piece in your own words: kind, material, date, state.")
    ],
    asking: Annotated[float | None, typer.Option("--asking", "-a", help="Price on the tag.")] = (
        None
    ),
    market: Annotated[
        str | None, typer.Option("--market", "-m", help="Where you mean to sell it.")
    ] = None,
    cleaning: Annotated[float, typer.Option(help="What cleaning will cost.")] = 0.0,
    repair: Annotated[float, typer.Option(help="What repair will cost.")] = 0.0,
    workspace: WorkspaceOption = HERE,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
) -> None:
    """What a described piece may bring, what may be paid for it, and the sales behind that.

    Example: `comparables estimate "oak mantel clock, about 1900, good" --asking 45`
    """
    if _program:
        from pipeline.light_start import spare_collection, spare_fortran, spare_pandas

        spare_collection()
        spare_pandas()
        spare_fortran()
    from pipeline.answers.estimate import Estimator
    from pipeline.answers.offer import offer_of
    from pipeline.answers.show_estimate import show_offer

    offer = offer_of(
        Estimator(_workspace(workspace)), description, asking=asking, market=market,
        cleaning=cleaning, repair=repair,
    )  # fmt: skip
    show_offer(offer, as_json=as_json)
    if offer.piece["value_amount"] is None:
        raise typer.Exit(NotEnoughSales.exit_code)


@app.command()
def sheet(
    file: Annotated[
        Path, typer.Argument(help="Your sheet: .xlsx, .ods, .csv or .tsv; a new name makes one.")
    ],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="The filled copy; left out: NAME-priced beside it."),
    ] = None,
    sheet_name: Annotated[
        str | None, typer.Option("--sheet", "-s", help="Which sheet of the workbook.")
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what is understood.")
    ] = False,
    replace: Annotated[bool, typer.Option("--replace", help="Write over an earlier copy.")] = False,
    workspace: WorkspaceOption = HERE,
) -> None:
    """Price every piece of your sheet in a copy of it; yours is never touched.

    A file that does not exist is made, empty, with pick-lists of the vocabulary.

    Example: `comparables sheet round.csv`
    """
    if _program:
        from pipeline.light_start import spare_fortran, spare_pandas

        spare_pandas()
        spare_fortran()
    from pipeline.answers.pricing import empty_sheet, price_sheet
    from pipeline.answers.show import drawn_progress
    from pipeline.answers.show_pricing import show_priced, show_understood

    place = _workspace(workspace)
    if not file.exists() and out is None:
        typer.echo(f"Made an empty sheet: {empty_sheet(place, file)}")
        return
    with drawn_progress() as progress:
        priced = price_sheet(
            place, file, out, sheet_name=sheet_name, dry_run=dry_run, replace=replace,
            told=show_understood, progress=progress,
        )  # fmt: skip
    show_priced(priced)


@app.command()
def hunt(
    order: Annotated[
        HuntOrder,
        typer.Option(
            "--order",
            "-o",
            help="median; evidence: most sales; spread: the least; holds: loses least by a fair "
            "condition; sensitive: loses most; trend: the family's last year.",
        ),
    ] = HuntOrder.median,
    family: Annotated[
        str | None, typer.Option("--family", "-f", help="Only this kind and narrower ones.")
    ] = None,
    min_sales: Annotated[
        int, typer.Option("--min-sales", "-m", min=6, help="Single sales that a kind needs.")
    ] = 12,
    limit: Annotated[int, typer.Option("--limit", "-n", min=1, help="Kinds at most.")] = 20,
    workspace: WorkspaceOption = HERE,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
) -> None:
    """Which kinds are worth stopping for, and which hold their price whatever the condition.

    Example: `comparables hunt --order holds --family furniture`
    """
    from pipeline.answers.hunt import hunt as rank
    from pipeline.answers.show_hunt import show_hunt

    place = _workspace(workspace)
    found = rank(place, order=order, within=family, min_sales=min_sales, limit=limit)
    show_hunt(place, found, as_json=as_json)


@app.command()
def sql(
    statement: Annotated[str, typer.Argument(help="One statement that reads.")],
    workspace: WorkspaceOption = HERE,
    shape: Annotated[
        Shape, typer.Option("--as", help="auto: a table on a terminal, else CSV.")
    ] = Shape.auto,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="File to write; needed for Parquet.")
    ] = None,
) -> None:
    """Ask the tables in SQL; nothing can be changed.

    Example: `comparables sql "FROM price_bands WHERE n_sales >= 6"`
    """
    from pipeline.answers.query import ask
    from pipeline.answers.show import write_answer

    write_answer(ask(_workspace(workspace), statement), shape.value, out)


@app.command()
def explain(
    sale_id: Annotated[str, typer.Argument(help="Key of a sale, as in sales.sale_id.")],
    workspace: WorkspaceOption = HERE,
) -> None:
    """Show the whole way of one sale, from its file and line to its band.

    Example: `comparables explain "rostrum:1042"`
    """
    from pipeline.answers.explain import explain as ask_explain
    from pipeline.answers.show import show_explanation

    show_explanation(ask_explain(_workspace(workspace), sale_id))


@app.command()
def review(
    workspace: WorkspaceOption = HERE,
    kind: Annotated[
        str | None,
        typer.Option("--kind", "-k", help="category, material, period, condition or attribution."),
    ] = None,
    limit: Annotated[int, typer.Option("--limit", "-n", min=1, help="Questions at most.")] = 20,
    who: Annotated[
        str | None, typer.Option("--who", help="Who answers; left out: the name git knows.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, asking nothing.")] = False,
) -> None:
    """Answer what the texts of sellers left open, the questions that hold up most sales first.

    On a terminal each question is asked; on a pipe they are listed as CSV. Answers are saved at
    once in data/decisions and count from the next refresh.

    Example: `comparables review --kind category --limit 10`
    """
    from pipeline.answers.review import review as what_waits
    from pipeline.answers.review import who_decides
    from pipeline.answers.show_review import Dialogue, review_as_csv, review_as_json

    place = _workspace(workspace)
    found = what_waits(place, kind=kind, limit=limit)
    if as_json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        typer.echo(review_as_json(found) if as_json else review_as_csv(found), nl=False)
        return
    Dialogue(place, who_decides(place, who), input).run(found)


class Format(StrEnum):
    """How a vocabulary is written out."""

    skos = "skos"
    csv = "csv"


class RdfFormat(StrEnum):
    """How a SKOS file is written."""

    turtle = "turtle"
    xml = "xml"


vocabulary_app = typer.Typer(
    no_args_is_help=True, help="Write out, take in, add to and prove the vocabulary."
)
app.add_typer(vocabulary_app, name="vocabulary")
KindOption = Annotated[
    str,
    typer.Option(
        "--kind", "-k",
        help="category, material, period, condition, fault, attribution, marker, caution or maker.",
    ),
]  # fmt: skip


@vocabulary_app.command("export")
def vocabulary_export(
    workspace: WorkspaceOption = HERE,
    form: Annotated[
        Format, typer.Option("--format", "-f", help="skos: all of it as Turtle; csv: one kind.")
    ] = Format.skos,
    kind: Annotated[str | None, typer.Option("--kind", "-k", help="The kind, for csv.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="File to write; left out: the terminal.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file.")] = False,
) -> None:
    """Write out the vocabulary in force: the package's and the workspace's.

    Example: `comparables vocabulary export --format skos --out vocabulary.ttl`
    """
    from pipeline.answers.vocabulary import exported, write_new

    text = exported(_workspace(workspace), form.value, kind)
    if out is None:
        sys.stdout.write(text)
    else:
        typer.echo(f"Written: {write_new(out, text, over=force)}")


@vocabulary_app.command("import")
def vocabulary_import(
    file: Annotated[Path, typer.Argument(help="A SKOS file.")],
    kind: KindOption,
    form: Annotated[RdfFormat, typer.Option("--format", "-f", help="Of the file.")] = (
        RdfFormat.turtle
    ),
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over concepts of the same id.")
    ] = False,
    workspace: WorkspaceOption = HERE,
) -> None:
    """Take the concepts of a SKOS file into data/decisions/vocabulary.

    What is known by its id or its preferred label stays as it is, and is told.

    Example: `comparables vocabulary import makers.ttl --kind maker`
    """
    from pipeline.answers.show_vocabulary import show_import
    from pipeline.answers.vocabulary import import_file

    place = _workspace(workspace)
    show_import(place, import_file(place, file, kind, form.value, over=replace))


@vocabulary_app.command("add")
def vocabulary_add(
    label: Annotated[str, typer.Argument(help="Words by which sellers name it.")],
    concept: Annotated[str, typer.Argument(help="Id of the concept, as in concepts.concept_id.")],
    kind: KindOption = "category",
    workspace: WorkspaceOption = HERE,
) -> None:
    """Teach the vocabulary that these words name a concept; titles are read by it too.

    Example: `comparables vocabulary add "chimney clock" mantel-clock --kind category`
    """
    from pipeline.answers.show_vocabulary import show_added
    from pipeline.answers.vocabulary import add_label

    place = _workspace(workspace)
    show_added(place, add_label(place, label, concept, kind))


@vocabulary_app.command("check")
def vocabulary_check(workspace: WorkspaceOption = HERE) -> None:
    """Prove the workspace's vocabulary; list shared labels, their rules and what is missing.

    Example: `comparables vocabulary check`
    """
    from pipeline.answers.show_vocabulary import show_check
    from pipeline.answers.vocabulary import check_vocabulary

    place = _workspace(workspace)
    show_check(place, check_vocabulary(place))


@app.command()
def backtest(
    folds: Annotated[
        int, typer.Option("--folds", min=1, max=20, help="Steps in time; each is a fit.")
    ] = 4,
    first_share: Annotated[
        float,
        typer.Option("--first-share", min=0.1, max=0.9, help="Share of sales the first fit has."),
    ] = 0.5,
    workspace: WorkspaceOption = HERE,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
) -> None:
    """Foretell later sales from earlier ones, and say how far off that was.

    Walks forward in time beside plainer methods on the same sales; tables and a picture are
    written to reports/backtest. Takes a minute for some thousand sales.

    Example: `comparables backtest --folds 4`
    """
    from pipeline.answers.backtest import run_backtest
    from pipeline.reports.backtest import write_backtest
    from pipeline.reports.show_backtest import show_backtest

    place = _workspace(workspace)
    found = run_backtest(place, folds=folds, first_share=first_share)
    show_backtest(found, write_backtest(place, found), as_json=as_json)


@app.command()
def restore(
    generation: Annotated[
        str | None, typer.Argument(help="Which one; left out: the newest.")
    ] = None,
    workspace: WorkspaceOption = HERE,
) -> None:
    """Bring an earlier database back; the present one is kept in its turn.

    Example: `comparables restore`
    """
    from pipeline.stages.publish import restore as bring_back

    chosen = bring_back(_workspace(workspace), generation)
    typer.echo(f"The database of {chosen.stem} is back in place.")


if __name__ == "__main__":
    main()
