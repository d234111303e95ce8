"""Write into the documents what the code prints.

python -m tests.write_documents
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from pipeline.columns import data_dictionary
from pipeline.money.forms import money_forms_table

ROOT = Path(__file__).parent.parent
CUT = "..."  # a line of an answer in the README after which the rest is left out


def put_between(path: Path, start: str, end: str, content: str) -> None:
    text = path.read_text(encoding="utf-8")
    head, rest = text.split(start, 1)
    tail = rest.split(end, 1)[1]
    path.write_text(f"{head}{start}\n{content.strip()}\n{end}{tail}", encoding="utf-8")


def answer(question: str, folder: str) -> str:
    """What the command prints, asked in a folder that holds the demo."""
    import shlex

    words = shlex.split(question)[1:]
    done = subprocess.run(
        [sys.executable, "-m", "pipeline", *words], cwd=folder, capture_output=True, text=True,
        check=True, env={"PYTHONPATH": str(ROOT), "PATH": "", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    return "\n".join(line.rstrip() for line in done.stdout.strip().splitlines() if line.strip())


def write_readme() -> None:
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        answer("comparables init demo --demo", folder)
        answer("comparables refresh --workspace demo --no-report", folder)
        for question in re.findall(r"^```\n\$ (comparables .*)\n(?!\$)(?!```)", text, re.M):
            start = text.index(f"$ {question}\n") + len(question) + 3
            end = text.index("```", start)
            shown = answer(question, folder)
            if CUT in text[start:end].splitlines():
                kept = text[start:end].splitlines().index(CUT)
                shown = "\n".join([*shown.splitlines()[:kept], CUT])
            text = text[:start] + shown + "\n" + text[end:]
    readme.write_text(text, encoding="utf-8")


def main() -> None:
    write_readme()
    developers = ROOT / "DEVELOPERS.md"
    put_between(developers, "<!-- dictionary -->", "<!-- end dictionary -->", data_dictionary())
    put_between(developers, "<!-- money forms -->", "<!-- end -->", money_forms_table())


if __name__ == "__main__":
    main()
