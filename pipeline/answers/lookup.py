"""One word of a person to one concept, or to the nearest labels."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.errors import UsageError
from pipeline.terms.decisions import TermDecisions, read_term_decisions
from pipeline.terms.kept_vocabulary import load_vocabulary
from pipeline.terms.text import normalise_label
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
    return load_vocabulary(extra if extra.is_dir() else None, workspace.lexicon)


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
    found = _by_name(vocabulary, decisions, text, kind)
    found = found or _by_reading(workspace, vocabulary, decisions, text, kind)
    if found is not None:
        return found
    nearest = vocabulary.nearest_labels(kind, text, 4)
    listed = ", ".join(f"'{n.label}'" for n in nearest)
    raise UsageError(
        f"'{text}' is no {kind} that is known.",
        todo=f"Nearest: {listed}." if listed else None,
    )


def _by_name(
    vocabulary: Vocabulary, decisions: TermDecisions, text: str, kind: str
) -> FoundConcept | None:
    """By a decision, or by a label that one concept alone carries: asks for no reading of text."""
    decision = decisions.find(kind, text)
    if decision is not None:
        if decision.concept_id is None:
            return None
        concept = vocabulary.concept(kind, decision.concept_id)
        return FoundConcept(concept.id, concept.pref_label, "a decision")
    entries = vocabulary.labels(kind).get(normalise_label(text), ())
    if len({entry.concept_id for entry in entries} - decisions.rejected(kind, text)) != 1:
        return None
    entry = next(e for e in entries if e.concept_id not in decisions.rejected(kind, text))
    concept = vocabulary.concept(kind, entry.concept_id)
    own = entry.label_type == "pref"
    return FoundConcept(concept.id, concept.pref_label, "its own label" if own else "a known label")


def _by_reading(
    workspace: Workspace,
    vocabulary: Vocabulary,
    decisions: TermDecisions,
    text: str,
    kind: str,
) -> FoundConcept | None:
    """By the whole reading of a field: other word orders, phrases, near spellings."""
    import pyarrow as pa

    from pipeline.terms.kept_lexicon import use_kept
    from pipeline.terms.reader import read_terms

    use_kept(vocabulary, workspace.lexicon)
    row = read_terms(
        pa.array([text], pa.string()), kind, vocabulary=vocabulary, decisions=decisions,
        settings=workspace.settings().terms,
    ).to_pylist()[0]  # fmt: skip
    if row["status"] != "accepted" or not row["concept_id"]:
        return None
    concept = vocabulary.concept(kind, row["concept_id"])
    ways = {
        "exact": "its own label", "label": "a known label", "phrase": "a phrase in it",
        "fuzzy": f"a near spelling, {row['score']:.0f} of 100",
    }  # fmt: skip
    return FoundConcept(concept.id, concept.pref_label, ways.get(row["method"], row["method"]))
