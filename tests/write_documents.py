"""Write into the documents what the code prints.

    python -m tests.write_documents
"""

from __future__ import annotations

from pathlib import Path

from pipeline.columns import data_dictionary
from pipeline.money.forms import money_forms_table

ROOT = Path(__file__).parent.parent


def put_between(path: Path, start: str, end: str, content: str) -> None:
    text = path.read_text(encoding="utf-8")
    head, rest = text.split(start, 1)
    tail = rest.split(end, 1)[1]
    path.write_text(f"{head}{start}\n{content.strip()}\n{end}{tail}", encoding="utf-8")


def main() -> None:
    developers = ROOT / "DEVELOPERS.md"
    put_between(developers, "<!-- dictionary -->", "<!-- end dictionary -->", data_dictionary())
    put_between(developers, "<!-- money forms -->", "<!-- end -->", money_forms_table())


if __name__ == "__main__":
    main()
