"""The proposal of a source.toml, from what an export seems to be."""

from __future__ import annotations

import json
import os
from pathlib import Path

from pipeline.columns import MEANINGS
from pipeline.errors import ExportError, UsageError
from pipeline.exports.describe import Description, describe


def describe_file(path: Path) -> Description:
    """Describe an export.

    Raises:
        ExportError: there is no such file, or it cannot be one.
    """
    if path.is_dir():
        raise ExportError("This is a folder.", where=path, todo="Name one of the files in it.")
    if not path.is_file():
        raise ExportError("There is no such file.", where=path)
    return describe(path)


def proposal(d: Description) -> str:
    """The text of a source.toml for a person to check: what is sure stands, the rest is asked."""
    mapped = [c for c in d.columns if c.meaning]
    lines = [
        "# Proposed from " + json.dumps(d.path.name) + ": check every line, then keep it as",
        "# data/raw/<source>/source.toml",
        "",
        f"name = {json.dumps(d.path.stem)}  # CHECK: how you call this source",
        'market = "online"  # CHECK: auction, online, dealer, private or charity',
        f'date_order = "{d.date_order}"  # {d.date_reason}',
        f'encoding = "{d.encoding}"',
        f"delimiter = {json.dumps(d.delimiter)}",
        f"header_line = {d.header_line}",
        f'currency = "{d.currency}"'
        + (
            "  # CHECK: as the signs of the prices say"
            if d.currency
            else "  # CHECK: no sign was found; state the ISO 4217 code"
        ),
        f'decimal_mark = "{d.decimal_mark}"',
        "",
        "[price]",
        'price_type = "unknown"  # CHECK: hammer, with_premium, fixed, asking, estimate,',
        "                        # net_to_seller; while it is unknown no sale feeds a band",
        "",
        "[columns]",
    ]
    for column in d.columns:
        shown = "; ".join(e[:40] for e in column.examples) or "always empty"
        if column.meaning:
            lines.append(
                f'{json.dumps(column.header, ensure_ascii=False)} = "{column.meaning}"  '
                f"# {column.reason}; such as {_one_line(shown)}"
            )
        else:
            lines.append(
                f'# {json.dumps(column.header, ensure_ascii=False)} = ""  # {column.reason}; '
                f"such as {_one_line(shown)}"
            )
    missing = [m for m in ("sold", "category") if m not in {c.meaning for c in mapped}]
    if missing:
        lines += ["", "[constants]  # what the export never states"]
        lines += [f'# {m} = ""  # {MEANINGS[m]}' for m in missing]
    lines += ["", *[f"# NOTE: {note}" for note in d.notes]]
    return "\n".join(lines).rstrip() + "\n"


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def save_proposal(d: Description, path: Path) -> Path:
    """Save the proposal beside the export, never over another source.toml.

    Raises:
        UsageError: there is one already.
    """
    target = path.parent / "source.toml"
    if target.exists():
        raise UsageError(
            "There is a source.toml already.", where=target, todo="Move it away first."
        )
    part = target.with_suffix(".part")
    part.write_text(proposal(d), encoding="utf-8")
    os.replace(part, target)
    return target
