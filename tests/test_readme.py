"""The README's commands do what it says."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from tests.conftest import ROOT, run_command
from tests.write_documents import CUT

README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def folder(readme_folder: Path) -> Path:
    """An empty folder in which the demo was set up by the README's first block."""
    return readme_folder


def test_the_second_block_runs_the_tests() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.S)
    assert len(blocks) == 2
    assert ".venv/bin/python -m pytest" in blocks[1]


def asked() -> list[str]:
    """The questions of the README."""
    return [line[2:] for line in README.splitlines() if line.startswith("$ comparables")]


@pytest.mark.parametrize("line", [q for q in asked() if "SALE_ID" not in q])
def test_questions_are_answered(folder: Path, line: str) -> None:
    done = run_command(line, folder)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def shown_answers() -> list[str]:
    """The blocks that show a question and its answer."""
    blocks = re.findall(r"^```\n(\$ .*?)^```", README, re.S | re.M)
    return [b for b in blocks if b.split("\n", 2)[1].strip(" $") and b.count("$ comp") == 1]


@pytest.mark.parametrize("block", shown_answers(), ids=lambda b: b.split()[2])
def test_the_answer_shown_is_the_one_that_comes_out(folder: Path, block: str) -> None:
    question, shown = block.split("\n", 1)
    lines, printed = trimmed(shown), trimmed(run_command(question[2:], folder).stdout)
    if lines[-1] == CUT:
        lines = lines[:-1]
        printed = printed[: len(lines)]
    assert lines == printed, "run: python -m tests.write_documents"


def test_the_round_is_priced(folder: Path) -> None:
    (line,) = re.findall(r"^\$ (comparables sheet .*)$", README, re.M)
    done = run_command(line, folder)
    assert done.returncode == 0, done.stderr
    assert (folder / "demo" / "round-priced.xlsx").exists()


def trimmed(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip().splitlines() if line.strip()]


def test_a_second_refresh_reads_nothing_again(folder: Path) -> None:
    done = run_command("comparables refresh --workspace demo", folder)
    assert "none had to be read again" in done.stdout
    assert "Nothing has changed" in done.stdout


def test_the_report_needs_nothing_else(folder: Path) -> None:
    page = (folder / "demo/reports/latest.html").read_text(encoding="utf-8")
    assert "<svg" in page
    assert not re.search(r"(src|href)\s*=\s*[\"']?https?:", page)


def test_a_sale_can_be_explained_from_the_tables(folder: Path) -> None:
    told = run_command(
        'comparables sql "SELECT sale_id FROM sales WHERE is_comparable LIMIT 1" -w demo', folder
    ).stdout.split()
    done = run_command(f"comparables explain {shlex.quote(told[1])} -w demo", folder)
    assert done.returncode == 0
    assert "From data/raw/" in done.stdout
    assert "It feeds the band" in done.stdout
