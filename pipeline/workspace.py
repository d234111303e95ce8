"""Where things are in a workspace."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import ExportError, WorkspaceError
from pipeline.settings import Settings, load_settings

EXPORT_ENDINGS = (".csv", ".tsv", ".txt")
PACKINGS = ("", ".gz", ".zip")


@dataclass(frozen=True)
class Export:
    """One export file of a source."""

    source_id: str
    path: Path


@dataclass(frozen=True)
class Workspace:
    """A folder with data/raw, data/curated, data/decisions, reports and data/settings.toml."""

    root: Path

    @classmethod
    def at(cls, folder: str | Path) -> Workspace:
        """The workspace at a folder.

        Raises:
            WorkspaceError: the folder holds no workspace.
        """
        root = Path(folder).expanduser().resolve()
        if not (root / "data" / "raw").is_dir():
            raise WorkspaceError(
                "This folder is no workspace: it has no data/raw.",
                where=root,
                todo="Name one with --workspace, or make one with `comparables init DIR`.",
            )
        return cls(root)

    @property
    def raw(self) -> Path:
        return self.root / "data" / "raw"

    @property
    def curated(self) -> Path:
        return self.root / "data" / "curated"

    @property
    def decisions(self) -> Path:
        return self.root / "data" / "decisions"

    @property
    def reports(self) -> Path:
        return self.root / "reports"

    @property
    def settings_file(self) -> Path:
        return self.root / "data" / "settings.toml"

    @property
    def database(self) -> Path:
        return self.curated / "comparables.duckdb"

    @property
    def tables(self) -> Path:
        return self.curated / "tables"

    @property
    def generations(self) -> Path:
        return self.curated / "generations"

    @property
    def stages(self) -> Path:
        """What has been read of each export, kept so that an unchanged file is not read again."""
        return self.curated / "stages"

    @property
    def lexicon(self) -> Path:
        """The vocabulary made ready for reading, kept so that a command need not make it again."""
        return self.curated / "lexicon"

    @property
    def lock_file(self) -> Path:
        return self.curated / ".refresh.lock"

    def settings(self) -> Settings:
        return load_settings(self.settings_file)

    def relative(self, path: Path) -> str:
        """The path as it is told to people and kept in tables."""
        return path.relative_to(self.root).as_posix()

    def sources(self) -> list[Path]:
        """Folders of data/raw that hold anything, by name."""
        return sorted(p for p in self.raw.iterdir() if p.is_dir() and not p.name.startswith("."))

    def exports(self) -> Iterator[tuple[Export, ExportError | None]]:
        """Every export, by source and name; with the error where it cannot be an export."""
        for folder in self.sources():
            for path in sorted(folder.iterdir()):
                if path.name.startswith(".") or not is_export_name(path.name):
                    continue
                yield Export(folder.name, path), self._problem(path)

    def _problem(self, path: Path) -> ExportError | None:
        where = self.relative(path)
        if not path.resolve().is_relative_to(self.root):
            return ExportError(
                "The link leads out of the workspace.", where=where,
                todo="Copy the file itself into the source's folder.",
            )  # fmt: skip
        if path.is_dir():
            return ExportError(
                "This is a folder with the name of an export.", where=where,
                todo="Move its files up into the source's folder.",
            )  # fmt: skip
        if not path.is_file():
            return ExportError("The link leads nowhere, or this is no file.", where=where)
        if not os.access(path, os.R_OK):
            return ExportError("You may not read this file.", where=where)
        return None


def is_export_name(name: str) -> bool:
    """Whether a file's name is that of an export: .csv, .tsv or .txt, as it is, .gz or .zip."""
    lower = name.lower()
    return any(
        lower.endswith(ending + packing) for ending in EXPORT_ENDINGS for packing in PACKINGS
    )
