"""One word of a person to one concept, or to the nearest labels."""

from __future__ import annotations

from dataclasses import dataclass

import pyarrow as pa

from pipeline.errors import UsageError
from pipeline.terms.decisions import read_term_decisions
from pipeline.terms.reader import read_terms
from pipeline.terms.vocabulary import Vocabulary
from pipeline.workspace import Workspace


@dataclass(frozen=True)
class FoundConcept:
    """A concept, its preferred label and how the text was understood."""

    id: str
    label: str
    how: str


def vocabulary_of(workspace: Workspace) -> Vocabulary:
    """The vocabulary in force in a workspace."""
    extra = workspace.decisions / "vocabulary"
    return Vocabulary.load(extra if extra.is_dir() else None)


def concept_of(workspace: Workspace, text: str, kind: str) -> FoundConcept:
    """The concept that a person's word names.

    Raises:
        UsageError: no concept is clear enough; the message names the nearest labels.
    """
    vocabulary = vocabulary_of(workspace)
    if vocabulary.has(kind, text.strip()):
        concept = vocabulary.concept(kind, text.strip())
        return FoundConcept(concept.id, concept.pref_label, "its own name")
    decisions = read_term_decisions(workspace.decisions / "terms.csv", vocabulary)
    row = read_terms(
        pa.array([text], pa.string()), kind, vocabulary=vocabulary, decisions=decisions,
        settings=workspace.settings().terms,
    ).to_pylist()[0]  # fmt: skip
    if row["status"] == "accepted" and row["concept_id"]:
        concept = vocabulary.concept(kind, row["concept_id"])
        ways = {
            "exact": "its own label", "label": "a known label", "phrase": "a phrase in it",
            "fuzzy": f"a near spelling, {row['score']:.0f} of 100", "decision": "a decision",
        }  # fmt: skip
        return FoundConcept(concept.id, concept.pref_label, ways.get(row["method"], row["method"]))
    nearest = vocabulary.nearest_labels(kind, text, 4)
    listed = ", ".join(f"'{n.label}'" for n in nearest)
    raise UsageError(
        f"'{text}' is no {kind} that is known.",
        todo=f"Nearest: {listed}." if listed else None,
    )
