"""What several tests share: small workspaces, made of text."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

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


@pytest.fixture(scope="session")
def demo_workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, refreshed once for all tests that only read it."""
    from pipeline.answers.init import make_workspace as init
    from pipeline.refresh import refresh

    place = tmp_path_factory.mktemp("demo") / "ws"
    init(place, demo=True)
    refresh(place)
    return place


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
