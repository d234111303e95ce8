"""Named errors. Each says what happened, where, and what to do about it.

The command turns a `ComparablesError` into one readable message and its exit code; nothing else
in the package prints or exits.
"""

from __future__ import annotations

from pathlib import Path


class ComparablesError(Exception):
    """Base of every error that a person can act on.

    Args:
        what: what happened, one sentence.
        where: the file, line, column, sheet or cell concerned; None where there is no place.
        todo: what to do next, one sentence; None where `what` already says it.
    """

    exit_code = 1

    def __init__(
        self, what: str, *, where: str | Path | None = None, todo: str | None = None
    ) -> None:
        self.what = what
        self.where = str(where) if where is not None else None
        self.todo = todo
        parts = [what]
        if self.where:
            parts.append(f"Where: {self.where}")
        if todo:
            parts.append(f"What to do: {todo}")
        super().__init__("\n".join(parts))

    def __reduce__(self) -> tuple[object, ...]:
        # Keyword-only arguments do not survive the default pickling, and errors cross processes.
        return (_rebuild, (type(self), self.what, self.where, self.todo))


def _rebuild(
    kind: type[ComparablesError], what: str, where: str | None, todo: str | None
) -> ComparablesError:
    return kind(what, where=where, todo=todo)


class UsageError(ComparablesError):
    """The command was asked something it cannot take."""

    exit_code = 2


class SettingsError(ComparablesError):
    """data/settings.toml, a source.toml or another file of settings does not hold."""

    exit_code = 3


class ExportError(ComparablesError):
    """A file of exported sales cannot be read as one."""

    exit_code = 4


class VocabularyError(ComparablesError):
    """The controlled vocabulary, or a workspace's addition to it, contradicts itself."""

    exit_code = 5


class DecisionError(ComparablesError):
    """A person's decision or correction no longer fits what it was made for."""

    exit_code = 6


class ContractError(ComparablesError):
    """A table that was to be published breaks its contract; nothing was published."""

    exit_code = 7


class WorkspaceError(ComparablesError):
    """The workspace is missing something, or another refresh holds it."""

    exit_code = 8


class SheetError(ComparablesError):
    """A spreadsheet cannot be read or filled."""

    exit_code = 9


class NotEnoughSales(ComparablesError):  # noqa: N818 - an answer, not a failure of the program
    """There is too little evidence for a figure."""

    exit_code = 10
