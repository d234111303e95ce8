"""What the commands of the vocabulary tell."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table

from pipeline.answers.show import console_of, plain_text
from pipeline.answers.vocabulary import Added, Checked, Imported
from pipeline.workspace import Workspace

SHOWN = 20


def show_import(workspace: Workspace, imported: Imported) -> None:
    """What an import added, and what it left as it was."""
    say = console_of().print
    known = [f"{theirs} (here: {ours})" for theirs, ours in imported.known]
    untied = [f"{one} (under {broader})" for one, broader in imported.untied]
    for what, names in (
        ("Added", imported.added),
        ("Written over", imported.replaced),
        ("Left as they are, known by their id", imported.kept),
        ("Left as they are, known by their preferred label", known),
        ("Without their broader concept, which is not known", untied),
    ):
        if names:
            say(plain_text(f"{what}: {len(names)}: {_some(names)}"))
    for warning in imported.warnings:
        say(plain_text(f"Note: {warning}"))
    if imported.path is None:
        say("Nothing was written.")
    else:
        say(f"Written: {workspace.relative(imported.path)}. It counts from the next refresh.")


def show_added(workspace: Workspace, added: Added) -> None:
    """Which words name which concept now."""
    say = console_of().print
    say(plain_text(f"'{added.label}' names {added.concept} ({added.concept_id}) now."))
    say(f"Written: {workspace.relative(added.path)}. It counts from the next refresh.")


def show_check(workspace: Workspace, checked: Checked) -> None:
    """Counts by kind, the rules for shared labels, and what deserves a look."""
    console = console_of()
    table = Table("kind", "concepts", "added here", "replaced here")
    for row in checked.counts:
        table.add_row(*(f"{cell:,}" if isinstance(cell, int) else cell for cell in row))
    console.print(table)
    files = [workspace.relative(path) for path in checked.files]
    console.print(plain_text(f"Files of this workspace: {', '.join(files) or 'none'}."))
    console.print(
        f"Labels that concepts share, each with a rule: {checked.n_rules:,}, "
        f"{len(checked.rules)} of them of this workspace."
    )
    for rule in checked.rules:
        chosen = rule.prefer or ", ".join(f"{mark}: {one}" for mark, one in rule.choices)
        meant = f" {chosen}" if chosen else ""
        console.print(plain_text(f"  {rule.kind} '{rule.label}': {rule.rule}{meant}"))
    for warning in checked.warnings:
        console.print(plain_text(f"Note: {warning}"))
    console.print("The vocabulary holds together.")


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    return ", ".join(names[:SHOWN]) + more
