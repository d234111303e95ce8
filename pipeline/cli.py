"""The command `comparables`: one function a command, no logic.

What is heavy is imported inside the function that needs it, so that the command starts quickly.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from pipeline import __version__
from pipeline.errors import ComparablesError

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


class Shape(StrEnum):
    """How an answer of `sql` is written."""

    auto = "auto"
    table = "table"
    csv = "csv"
    json = "json"
    parquet = "parquet"


def main() -> None:
    """Run the command; an error that a person can act on is one message and an exit code."""
    try:
        app()
    except ComparablesError as error:
        _tell(error)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        print("Stopped. The published database is as it was.", file=sys.stderr)  # noqa: T201
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(141)


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
    set_size: Annotated[str, typer.Option("--set", help="single, pair or a size class.")] = "single",
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
