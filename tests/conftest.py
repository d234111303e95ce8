"""What several tests share: small workspaces, made of text."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock

os.environ.setdefault("GX_ANALYTICS_ENABLED", "false")

SHOP = """\
name = "A shop"
market = "online"
date_order = "ymd"
currency = "GBP"
decimal_mark = "."
[price]
price_type = "fixed"
[columns]
"Id" = "listing_id"
"Title" = "title"
"Kind" = "category"
"State" = "condition"
"Sold" = "sold"
"Price" = "price"
"""
HEADER = "Id,Title,Kind,State,Sold,Price\n"

WorkspaceMaker = Callable[..., Path]


@pytest.fixture
def make_workspace(tmp_path: Path) -> WorkspaceMaker:
    """A workspace from {source: {file name: text or bytes}}; `source.toml` may be among them."""

    def make(
        files: dict[str, dict[str, str | bytes]], settings: str = "", name: str = "ws"
    ) -> Path:
        root = tmp_path / name
        (root / "data" / "raw").mkdir(parents=True, exist_ok=True)
        (root / "data" / "settings.toml").write_text(settings, encoding="utf-8")
        for source, content in files.items():
            place = root / "data" / "raw" / source
            place.mkdir(exist_ok=True)
            (place / "source.toml").write_text(SHOP, encoding="utf-8")
            for file_name, text in content.items():
                data = text.encode() if isinstance(text, str) else text
                (place / file_name).write_bytes(data)
        return root

    return make


ROOT = Path(__file__).parent.parent


def run_command(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """A README line, with the package of this checkout in place of the installed command."""
    words = shlex.split(line, comments=True)
    assert words[0] in ("comparables", ".venv/bin/comparables")
    return subprocess.run(
        [sys.executable, "-m", "pipeline", *words[1:]],
        cwd=folder, capture_output=True, text=True, encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip


@pytest.fixture(scope="session")
def readme_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder where the README's first block set up the demo: once for all tests that read it.

    Processes that share the tests share the folder: the first to ask makes it.
    """
    base = tmp_path_factory.getbasetemp()
    place = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "readme"
    with FileLock(f"{place}.lock"):
        if not (place / "made").exists():
            place.mkdir(exist_ok=True)
            readme = (ROOT / "README.md").read_text(encoding="utf-8")
            block = next(b for b in re.findall(r"```sh\n(.*?)```", readme, re.S) if "--demo" in b)
            for line in block.splitlines():
                if line.startswith(".venv/bin/comparables"):
                    done = run_command(line, place)
                    assert done.returncode == 0, done.stderr
            (place / "made").touch()
    return place


@pytest.fixture(scope="session")
def demo_workspace(readme_folder: Path) -> Path:
    """The demo, refreshed; tests only read it, and write elsewhere."""
    return readme_folder / "demo"


def shop_rows(
    n: int, *, start: int = 0, kind: str = "mantel clock", price: float = 100.0, state: str = "good"
) -> str:
    """n sales of one kind whose prices rise by 1 each, without a header."""
    return "".join(
        f"{start + k},Oak {kind} number {start + k},{kind},{state},2024-03-{1 + k % 28:02},"
        f"{price + k:.2f}\n"
        for k in range(n)
    )


def pytest_configure(config: pytest.Config) -> None:
    """`needs_program` names the system program that a test cannot do without."""
    config.addinivalue_line("markers", "needs_program(name): a system program")


def pytest_runtest_setup(item: pytest.Item) -> None:
    for mark in item.iter_markers("needs_program"):
        if not shutil.which(mark.args[0]):
            pytest.skip(f"needs the program {mark.args[0]}, which is not installed")
