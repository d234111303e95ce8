"""The table of money text forms in the documentation is what the reader does."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.money.forms import FORMS, money_forms_table

ROOT = Path(__file__).resolve().parents[2]
SECTION = re.compile(r"<!-- money forms -->\n(.*?)\n*<!-- end -->", re.DOTALL)


def test_the_command_prints_the_table() -> None:
    printed = subprocess.run(
        [sys.executable, "-m", "pipeline.money.forms"], capture_output=True, check=True, cwd=ROOT
    )
    assert printed.stdout.decode("utf-8").splitlines() == money_forms_table().splitlines()
    assert len(money_forms_table().splitlines()) == len(FORMS) + 2


def test_the_documentation_holds_the_table() -> None:
    documents = [ROOT / name for name in ("DEVELOPERS.md", "README.md")]
    texts = [d.read_text(encoding="utf-8") for d in documents if d.exists()]
    if not any(d.name == "DEVELOPERS.md" for d in documents if d.exists()):
        pytest.skip("DEVELOPERS.md is not here")
    found = [match[1].strip() for text in texts for match in SECTION.finditer(text)]
    assert found == [money_forms_table().strip()], "run `python -m pipeline.money.forms`"
