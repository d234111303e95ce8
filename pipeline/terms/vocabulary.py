"""The controlled vocabulary: concepts, their labels, and the proof that they hold together.

The package's own files lie in pipeline/vocabulary/; a workspace adds concepts, or overrides them
by id, with files of the same names. Labels follow SKOS (W3C Recommendation, 18 August 2009).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary_file import FIELD_ONLY, KINDS, Concept, labels_of
from pipeline.terms.vocabulary_proof import (
    Ambiguity,
    FoundFile,
    LabelEntry,
    Labels,
    collect_labels,
    find_files,
    prove,
    shared_labels,
)

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["PACKAGE_DIR", "Ambiguity", "Concept", "LabelEntry", "NearLabel", "Vocabulary"]

PACKAGE_DIR = Path(__file__).resolve().parent.parent / "vocabulary"


class NearLabel(NamedTuple):
    """A label like the one asked for; `score` is 0 to 100, a spelling likeness."""

    label: str
    concept_id: str
    score: float


class Vocabulary:
    """All concepts by kind. Built by `load`; never changed afterwards."""

    def __init__(
        self,
        concepts: Mapping[str, Mapping[str, Concept]],
        ambiguities: Iterable[Ambiguity],
        warnings: Iterable[str],
        forms: Mapping[str, str],
    ) -> None:
        self._concepts = {kind: dict(of_kind) for kind, of_kind in concepts.items()}
        self._ambiguities = tuple(ambiguities)
        self.warnings = tuple(warnings)
        self.forms = dict(forms)  # label -> its normalised form
        self._labels: dict[str, Labels] = {}
        self._ancestors: dict[tuple[str, str], tuple[str, ...]] = {}

    @classmethod
    def load(cls, extra_dir: Path | None = None, *, package_dir: Path = PACKAGE_DIR) -> Vocabulary:
        """Read and prove the package's vocabulary and, on top, a workspace's.

        Args:
            extra_dir: a folder of files named like the package's (categories.csv, makers.csv,
                ambiguities.csv, ...); a row whose id the package knows replaces it whole. A
                folder that does not exist adds nothing.
            package_dir: where the package's own files lie.

        Raises:
            VocabularyError: with file, line and column, for anything that does not hold. A label
                shared without a rule is an error in the package and, because people add words
                faster than rules, a line of `.warnings` where a workspace's concept shares it.
        """
        files = find_files(package_dir, extra_dir)
        return held(files) or hold(files, cls(*prove(files)))

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every kind, in the order of the files' declaration."""
        return tuple(self._concepts)

    def concepts(self, kind: str) -> tuple[Concept, ...]:
        """The concepts of a kind in the order in which they were written."""
        return tuple(self._of_kind(kind).values())

    def concept(self, kind: str, concept_id: str) -> Concept:
        """One concept.

        Raises:
            VocabularyError: no such kind or concept; names the nearest ones.
        """
        found = self._of_kind(kind).get(concept_id)
        if found is None:
            raise VocabularyError(
                f"There is no {kind} '{concept_id}'.", todo=self._suggestion(kind, concept_id)
            )
        return found

    def has(self, kind: str, concept_id: str) -> bool:
        """Whether the kind has such a concept."""
        return concept_id in self._of_kind(kind)

    def ancestors(self, kind: str, concept_id: str) -> tuple[str, ...]:
        """Ids of the broader concepts, nearest first; empty for the top of a tree."""
        key = (kind, concept_id)
        known = self._ancestors.get(key)
        if known is None:
            broader = self.concept(kind, concept_id).broader
            known = () if broader is None else (broader, *self.ancestors(kind, broader))
            self._ancestors[key] = known
        return known

    def root(self, kind: str, concept_id: str) -> str:
        """The topmost concept above this one, or itself."""
        above = self.ancestors(kind, concept_id)
        return above[-1] if above else concept_id

    def family(self, concept_id: str) -> str:
        """The family (topmost concept) of a category."""
        return self.root("category", concept_id)

    def descendants(self, kind: str, concept_id: str) -> tuple[str, ...]:
        """Ids of all narrower concepts, each before those under it; without the concept itself."""
        self.concept(kind, concept_id)
        children = self._children[kind]
        found: list[str] = []
        waiting = list(reversed(children.get(concept_id, ())))
        while waiting:
            child = waiting.pop()
            found.append(child)
            waiting.extend(reversed(children.get(child, ())))
        return tuple(found)

    def cautions_of(self, kind: str, concept_id: str) -> tuple[str, ...]:
        """Ids of the cautions that a concept raises, by itself or by a broader concept.

        A caution is tied to a concept from either side: by the concept's `caution_ids`, or by
        the caution's `category_ids`, `material_ids` or `fault_ids`.
        """
        found: dict[str, None] = {}
        for one in (concept_id, *self.ancestors(kind, concept_id)):
            found.update(dict.fromkeys(self.concept(kind, one).many("caution_ids")))
            found.update(dict.fromkeys(self._cautions_naming.get((kind, one), ())))
        return tuple(found)

    def labels(self, kind: str) -> Labels:
        """Normalised label -> entries of the concepts that carry it, the preferred type first."""
        if kind not in self._labels:
            self._labels[kind] = collect_labels(self._of_kind(kind).values(), self.forms)
        return self._labels[kind]

    def field_only_labels(self, kind: str) -> frozenset[str]:
        """Normalised labels that count in a field of the kind's own and never in running text."""
        return frozenset(
            normalise_label(label)
            for concept in self._of_kind(kind).values()
            for label in concept.many(FIELD_ONLY)
        )

    def ambiguities(self) -> tuple[Ambiguity, ...]:
        """The rules for labels that several concepts share."""
        return self._ambiguities

    def shared_labels(self, kind: str) -> frozenset[str]:
        """Normalised labels that more than one concept of the kind carries."""
        return shared_labels(self._of_kind(kind).values(), self.forms)

    def ambiguity(self, kind: str, text: str) -> Ambiguity | None:
        """The rule for a text in a kind, if it is a label that concepts share."""
        return self._rules.get((kind, normalise_label(text)))

    def nearest_labels(self, kind: str, text: str, n: int = 3) -> tuple[NearLabel, ...]:
        """At most `n` labels most like `text`, one a concept: for messages, not for matching."""
        from rapidfuzz import fuzz, process

        labels = self.labels(kind)
        wanted = normalise_label(text)
        best: dict[str, NearLabel] = {}
        for name, score, _ in process.extract(
            wanted, labels.keys(), scorer=fuzz.ratio, limit=max(4 * n, 8)
        ):
            for entry in labels[name]:
                best.setdefault(entry.concept_id, NearLabel(entry.label, entry.concept_id, score))
        ranked = sorted(best.values(), key=lambda near: (-near.score, near.concept_id))
        return tuple(ranked[:n])

    @cached_property
    def fingerprint(self) -> str:
        """sha256 (hex) of everything the vocabulary says, whatever the order of its lines."""
        said = {
            "concepts": {
                kind: [
                    [
                        c.id, c.pref_label, sorted(c.alt_labels), sorted(c.hidden_labels),
                        c.broader, c.scope_note, sorted(c.extra.items()),
                    ]
                    for _, c in sorted(of_kind.items())
                ]
                for kind, of_kind in sorted(self._concepts.items())
            },
            "ambiguities": sorted(
                [*rule[:3], rule.prefer or "", rule.reason, sorted(rule.choices)]
                for rule in self._ambiguities
            ),
        }  # fmt: skip
        text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode("utf-8")).hexdigest()

    def to_tables(self) -> tuple[pa.Table, pa.Table]:
        """The tables `concepts` and `labels`.

        Returns:
            concepts: kind, concept_id, pref_label, broader_id, family_id (topmost concept of its
                tree), scope_note, earliest_year, latest_year (int32, negative for BC), rank
                (int32), class, direction; null where a kind has no such thing.
            labels: kind, concept_id, label (as written), label_type (pref, alt, hidden),
                is_ambiguous (another concept of the kind carries the label too).
        """
        import pyarrow as pa

        concepts_schema = pa.schema(
            [(name, pa.string()) for name in _CONCEPT_TEXT_COLUMNS]
            + [("earliest_year", pa.int32()), ("latest_year", pa.int32()), ("rank", pa.int32())]
            + [("class", pa.string()), ("direction", pa.string())]
        )
        labels_schema = pa.schema(
            [(name, pa.string()) for name in ("kind", "concept_id", "label", "label_type")]
            + [("is_ambiguous", pa.bool_())]
        )
        concept_rows: list[dict[str, object]] = []
        label_rows: list[dict[str, object]] = []
        for kind, of_kind in self._concepts.items():
            shared = self.shared_labels(kind)
            for concept in of_kind.values():
                concept_rows.append(self._concept_row(concept))
                for label, label_type, _ in labels_of(concept):
                    label_rows.append(
                        {
                            "kind": kind, "concept_id": concept.id, "label": label,
                            "label_type": label_type,
                            "is_ambiguous": self.forms[label] in shared,
                        }
                    )  # fmt: skip
        return (
            pa.Table.from_pylist(concept_rows, schema=concepts_schema),
            pa.Table.from_pylist(label_rows, schema=labels_schema),
        )

    def _concept_row(self, concept: Concept) -> dict[str, object]:
        return {
            "kind": concept.kind,
            "concept_id": concept.id,
            "pref_label": concept.pref_label,
            "broader_id": concept.broader,
            "family_id": self.root(concept.kind, concept.id),
            "scope_note": concept.scope_note or None,
            "earliest_year": concept.earliest_year,
            "latest_year": concept.latest_year,
            "rank": concept.rank,
            "class": concept.extra.get("class") or None,
            "direction": concept.extra.get("direction") or None,
        }

    @cached_property
    def _cautions_naming(self) -> dict[tuple[str, str], list[str]]:
        naming: dict[tuple[str, str], list[str]] = {}
        for caution in self._concepts.get("caution", {}).values():
            for kind in ("category", "material", "fault"):
                for concept_id in caution.many(f"{kind}_ids"):
                    naming.setdefault((kind, concept_id), []).append(caution.id)
        return naming

    @cached_property
    def _children(self) -> dict[str, dict[str, list[str]]]:
        children: dict[str, dict[str, list[str]]] = {kind: {} for kind in self._concepts}
        for kind, of_kind in self._concepts.items():
            for concept in of_kind.values():
                if concept.broader is not None:
                    children[kind].setdefault(concept.broader, []).append(concept.id)
        return children

    @cached_property
    def _rules(self) -> dict[tuple[str, str], Ambiguity]:
        return {(rule.kind, normalise_label(rule.label)): rule for rule in self._ambiguities}

    def _of_kind(self, kind: str) -> dict[str, Concept]:
        of_kind = self._concepts.get(kind)
        if of_kind is None:
            raise VocabularyError(
                f"There is no kind of term '{kind}'.", todo=f"Use one of: {', '.join(KINDS)}."
            )
        return of_kind

    def _suggestion(self, kind: str, text: str) -> str:
        near = self.nearest_labels(kind, text)
        if not near:
            return f"The vocabulary holds no {kind} yet; add it to {KINDS[kind].file_name}."
        names = ", ".join(f"{one.concept_id} ({one.label})" for one in near)
        return f"Nearest: {names}."


_CONCEPT_TEXT_COLUMNS = (
    "kind", "concept_id", "pref_label", "broader_id", "family_id", "scope_note",
)  # fmt: skip
_CACHE: dict[tuple[tuple[str, bytes], ...], Vocabulary] = {}


def held(files: list[FoundFile]) -> Vocabulary | None:
    """The vocabulary of these files as they are now, where this process has it."""
    return _CACHE.get(_key(files))


def hold(files: list[FoundFile], vocabulary: Vocabulary) -> Vocabulary:
    """Take this vocabulary for these files from now on, or the one that is held for them."""
    key = _key(files)
    if key not in _CACHE:
        _CACHE.clear()  # one vocabulary at a time is in use; old ones need no room
        _CACHE[key] = vocabulary
    return _CACHE[key]


def _key(files: list[FoundFile]) -> tuple[tuple[str, bytes], ...]:
    return tuple((str(path), _digest(path)) for path, _, _ in files)


def _digest(path: Path) -> bytes:
    # The content and not the time: two writes within one tick of the clock look alike by time.
    try:
        return hashlib.blake2b(path.read_bytes()).digest()
    except OSError:
        return b""  # reading it again tells what is wrong with it
