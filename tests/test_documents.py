"""What the documents say is what the code does."""

from __future__ import annotations

import re
from pathlib import Path

from pipeline.columns import TABLES, data_dictionary

ROOT = Path(__file__).parent.parent


def between(text: str, start: str, end: str) -> str:
    return text[text.index(start) + len(start) : text.index(end, text.index(start))].strip()


def test_the_data_dictionary_is_that_of_the_code() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    written = between(text, "<!-- dictionary -->", "<!-- end dictionary -->")
    assert written == data_dictionary().strip(), "run: python -m tests.write_documents"


def test_every_table_has_a_key_and_every_column_a_sentence() -> None:
    for table in TABLES:
        assert table.key, table.name
        assert set(table.key) | set(table.sort) <= set(table.names)
        for column in table.columns:
            assert column.meaning.endswith("."), (table.name, column.name)


def test_every_dependency_has_a_reason() -> None:
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = {re.split(r"[><=\[]", d)[0] for d in project["dependencies"]}
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = between(text, "| library | for |", "Optional:")
    told = {
        n.strip() for row in table.splitlines()[1:] for n in row.split("|")[1].split(",") if row
    }
    assert names == told
