"""The command: examples that parse, exit codes, and plain messages where something is wrong."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from pipeline import cli
from pipeline.refresh import refresh
from tests.conftest import HEADER, SHOP, shop_rows

GROUP = typer.main.get_command(cli.app)


def commands(group: object = GROUP, path: tuple[str, ...] = ()) -> Iterator[tuple[str, object]]:
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        here = (*path, name)
        if hasattr(command, "commands"):
            yield from commands(command, here)
        else:
            yield " ".join(here), command


COMMANDS = dict(commands())


def run(*args: str | Path) -> tuple[int, str]:
    """Exit code and everything told, as `main` would give them."""
    result = CliRunner().invoke(cli.app, [str(one) for one in args])
    told = cli.as_told(result.exception) if result.exception is not None else None
    if told is not None:
        return told.exit_code, str(told)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.output


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("published")
    place = root / "data" / "raw" / "shop"
    place.mkdir(parents=True)
    (place / "source.toml").write_text(SHOP)
    text = HEADER + shop_rows(8)
    (place / "a.csv").write_text(text)
    (place / "b.csv").write_text(text + shop_rows(1, start=30))
    refresh(root)
    return root


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_an_example_that_parses(name: str) -> None:
    command = COMMANDS[name]
    code, told = run(*name.split(), "--help")
    examples = re.findall(r"Example: `(comparables [^`]+)`", command.help or "")  # type: ignore[attr-defined]
    assert (code, "Example:" in told) == (0, True)
    assert examples
    for example in examples:
        words = shlex.split(example)[1:]
        assert words[: len(name.split())] == name.split()
        command.make_context(name, words[len(name.split()) :])  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "args, code, told",
    [
        (["status", "-w", "/no/such/place"], 8, "no workspace"),
        (["band", "mantel clock", "-w", "/no/such/place"], 8, "no workspace"),
        (["describe", "/no/such/file.csv"], 4, ""),
        (["nonsense"], 2, "No such command"),
        (["band"], 2, "Missing argument"),
        (["review", "--limit", "0"], 2, ""),
    ],
)
def test_what_is_not_there(args: list[str], code: int, told: str) -> None:
    found, output = run(*args)
    assert found == code
    assert told in output


def test_questions_that_cannot_be_answered(published: Path) -> None:
    for args, code, told in [
        (["band", "xyzzy"], 2, "Nearest:"),
        (["band", "mantel clock", "-c", "xyzzy"], 2, "no condition"),
        (["band", "longcase clock"], 10, "Not enough sales"),
        (["sql", "DROP TABLE sales"], 2, "Only reading"),
        (["sql", "SELECT 1; SELECT 2"], 2, "2 statements"),
        (["sql", ""], 2, "0 statements"),
        (["sql", "SELEC 1"], 2, "not SQL"),
        (["sql", "FROM read_csv('/etc/passwd')"], 2, "cannot be answered"),
        (["sql", "FROM sales", "--as", "parquet"], 2, "needs a file"),
        (["sql", "FROM sales", "--out", "/no/such/place/a.csv"], 2, "cannot be written"),
        (["explain", "shop:999"], 2, "No sale has the key"),
        (["restore", "19990101T000000"], 8, "no earlier database"),
        (["review", "--kind", "colour"], 2, "no kind of term"),
        (["vocabulary", "export", "--format", "csv"], 2, "one kind"),
        (["vocabulary", "import", "/no/file.ttl", "--kind", "maker"], 5, "cannot be opened"),
        (["vocabulary", "add", "gubbin", "no-such"], 5, "There is no category"),
    ]:
        found, output = run(*args, "-w", published)
        assert (found, told in output) == (code, True), (args, found, output)


def test_what_is_answered(published: Path) -> None:
    for args, told in [
        (["status"], "feed"),
        (["band", "mantel clock"], "not an appraisal"),
        (["band", "mantle clock", "--json"], "mantel-clock"),
        (["sql", "SELECT count(*) AS n FROM sales"], "n"),
        (["explain", "shop:1"], "feeds the band"),
        (["review", "--json"], "questions_in_all"),
        (["review"], "stated_in"),
        (["vocabulary", "check"], "holds together"),
        (["vocabulary", "export", "--format", "csv", "--kind", "condition"], "prefLabel"),
    ]:
        found, output = run(*args, "-w", published)
        assert (found, told in output) == (0, True), (args, output)


def test_a_database_that_is_gone_or_broken(published: Path) -> None:
    database = published / "data" / "curated" / "comparables.duckdb"
    data = database.read_bytes()
    try:
        for content in (b"", b"no database at all" * 400, data[: len(data) // 3]):
            database.write_bytes(content)
            for args in (["status"], ["band", "mantel clock"], ["sql", "FROM sales"], ["review"]):
                found, output = run(*args, "-w", published)
                assert found == 8, (args, len(content), output)
        database.unlink()
        found, output = run("status", "-w", published)
        assert (found, "Nothing has been published" in output) == (8, True)
    finally:
        database.write_bytes(data)


def test_main_tells_and_exits_without_a_traceback() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pipeline", "status", "-w", "/no/such/place"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 8
    assert done.stderr.startswith("comparables: ")
    assert "Traceback" not in done.stderr


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from pipeline import cli; "
        "print([m for m in ('duckdb', 'pyarrow', 'pandas', 'numpy', 'rapidfuzz', 'pydantic', "
        "'great_expectations') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
