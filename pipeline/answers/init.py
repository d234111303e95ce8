"""A new workspace, empty or with the demo's exports."""

from __future__ import annotations

import csv
import shutil
from importlib.resources import as_file, files
from pathlib import Path

from pipeline.answers.selling import sheet_toml
from pipeline.errors import WorkspaceError
from pipeline.settings import load_settings, settings_toml

FOLDERS = ("data/raw", "data/curated", "data/decisions", "reports")


def make_workspace(folder: Path, *, demo: bool) -> list[str]:
    """Make the folders and the settings; nothing that is there is written over.

    Returns:
        Lines that say what was made and what comes next.

    Raises:
        WorkspaceError: the folder holds exports or settings already, or cannot be written.
    """
    root = folder.expanduser()
    if root.exists() and not root.is_dir():
        raise WorkspaceError("This is a file, not a folder.", where=root)
    if (root / "data" / "settings.toml").exists() or _holds_exports(root / "data" / "raw"):
        raise WorkspaceError(
            "There is a workspace here already.", where=root, todo="Choose another folder."
        )
    try:
        for name in FOLDERS:
            (root / name).mkdir(parents=True, exist_ok=True)
        if demo:
            with as_file(files("pipeline") / "demo") as place:
                for name in ("raw", "decisions"):
                    if (place / name).is_dir():
                        shutil.copytree(place / name, root / "data" / name, dirs_exist_ok=True)
                shutil.copyfile(place / "settings.toml", root / "data" / "settings.toml")
                shutil.copyfile(place / "round.csv", root / "round.csv")
                _as_workbook(place / "round.csv", root / "round.xlsx")
        else:
            (root / "data" / "settings.toml").write_text(settings_toml(), encoding="utf-8")
        terms = root / "data" / "decisions" / "sheet.toml"
        if not terms.exists():
            currency = load_settings(root / "data" / "settings.toml").basis.currency
            terms.write_text(sheet_toml(currency), encoding="utf-8")
    except OSError as error:
        raise WorkspaceError(
            f"The workspace cannot be written: {error.strerror}.", where=error.filename or root
        ) from None
    lines = [f"Made a workspace in {root}."]
    if demo:
        lines.append("It holds the demo: invented firms, places and sales, and a round of pieces.")
    else:
        lines.append("Put exports under data/raw/<source>/ and describe one of them.")
    where = f" --workspace {root}" if root.resolve() != Path.cwd() else ""
    lines.append(f"Next: comparables {'refresh' if demo else 'describe FILE'}{where}")
    return lines


def _as_workbook(rows: Path, target: Path) -> None:
    """The demo's round as a workbook, numbers as numbers."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    if sheet is None:  # a new workbook has one
        return
    sheet.title = "round"
    with rows.open(encoding="utf-8", newline="") as file:
        for row in csv.reader(file):
            sheet.append([float(c) if c.replace(".", "", 1).isdigit() else c for c in row])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for letter, width in (("A", 6), ("B", 60), ("C", 26), ("D", 10), ("E", 40)):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "C2"
    book.save(target)


def _holds_exports(raw: Path) -> bool:
    return raw.is_dir() and any(p for p in raw.iterdir() if not p.name.startswith("."))
