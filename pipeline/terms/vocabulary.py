"""The controlled vocabulary: concepts, their labels, and the proof that they hold together.

The package's own files lie in pipeline/vocabulary/; a workspace adds concepts, or overrides them
by id, with files of the same names. Labels follow SKOS (W3C Recommendation, 18 August 2009).
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary_file import (
    AMBIGUITIES_FILE,
    AMBIGUITY_COLUMNS,
    FIELD_ONLY,
    KINDS,
    Concept,
    Place,
    check_label_forms,
    exact_form,
    label_forms,
    labels_of,
    read_concepts,
    read_rows,
    split_cell,
)

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["PACKAGE_DIR", "Ambiguity", "Concept", "LabelEntry", "NearLabel", "Vocabulary"]

PACKAGE_DIR = Path(__file__).resolve().parent.parent / "vocabulary"

Labels = dict[str, tuple["LabelEntry", ...]]
_LABEL_TYPES = ("pref", "alt", "hidden")


class LabelEntry(NamedTuple):
    """A label as written, the concept that carries it, and its type: pref, alt or hidden."""

    concept_id: str
    label: str
    label_type: str


class NearLabel(NamedTuple):
    """A label like the one asked for; `score` is 0 to 100, a spelling likeness."""

    label: str
    concept_id: str
    score: float


class Ambiguity(NamedTuple):
    """A label that more than one concept of a kind carries, and the rule that settles it.

    `prefer` is the concept that the rule falls back on, None where a person has to say.
    `choices` are (mark, concept id) pairs of a rule that looks at something beside the label,
    such as the currency: ("GBP", "bureau").
    """

    label: str
    kind: str
    rule: str
    prefer: str | None
    reason: str
    choices: tuple[tuple[str, str], ...] = ()


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
        self._forms = dict(forms)
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
        files = _files(package_dir, extra_dir)
        key = tuple((str(path), _digest(path)) for path, _, _ in files)
        cached = _CACHE.get(key)
        if cached is None:
            cached = _build(cls, files)
            _CACHE.clear()  # one vocabulary at a time is in use; old ones need no room
            _CACHE[key] = cached
        return cached

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

    def labels(self, kind: str) -> Labels:
        """Normalised label -> entries of the concepts that carry it, the preferred type first."""
        if kind not in self._labels:
            self._labels[kind] = _collect_labels(self._of_kind(kind).values(), self._forms)
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
        owners: dict[str, str] = {}
        shared: set[str] = set()
        for concept in self._of_kind(kind).values():
            for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
                form = self._forms[label]
                if owners.setdefault(form, concept.id) != concept.id:
                    shared.add(form)
        return frozenset(shared)

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
                            "is_ambiguous": self._forms[label] in shared,
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
_CACHE: dict[tuple[tuple[object, ...], ...], Vocabulary] = {}

_Found = tuple[Path, str, bool]  # path, kind (or the ambiguities file's name), is the workspace's
_Places = dict[tuple[str, str], tuple[Place, bool]]


def _files(package_dir: Path, extra_dir: Path | None) -> list[_Found]:
    names = {rules.file_name: kind for kind, rules in KINDS.items()}
    names[AMBIGUITIES_FILE] = AMBIGUITIES_FILE
    found: list[_Found] = []
    for name, kind in names.items():
        path = package_dir / name
        if path.is_file():
            found.append((path, kind, False))
        elif name != "cautions.csv":
            raise VocabularyError(
                f"The package's vocabulary lacks its file {name}.",
                where=path,
                todo="Install the package again.",
            )
    if extra_dir is not None and extra_dir.is_dir():
        for path in sorted(extra_dir.glob("*.csv")):
            if path.name not in names:
                raise VocabularyError(
                    f"No kind of term has a file of the name {path.name}.",
                    where=path,
                    todo=f"Rename it to one of: {', '.join(names)}.",
                )
            found.append((path, names[path.name], True))
    return found


def _digest(path: Path) -> bytes:
    # The content and not the time: two writes within one tick of the clock look alike by time.
    try:
        return hashlib.blake2b(path.read_bytes()).digest()
    except OSError:
        return b""  # reading it again tells what is wrong with it


def _build(cls: type[Vocabulary], files: list[_Found]) -> Vocabulary:
    concepts: dict[str, dict[str, Concept]] = {kind: {} for kind in KINDS}
    places: _Places = {}
    for path, kind, is_extra in files:
        if kind != AMBIGUITIES_FILE:
            _add_file(concepts[kind], places, path, kind, is_extra)
    for kind, of_kind in concepts.items():
        _check_broader(kind, of_kind, places)
        _check_pref_labels(kind, of_kind, places)
    _check_references(concepts, places)
    rules = _read_ambiguities(files, concepts)
    forms = label_forms(one for of_kind in concepts.values() for one in of_kind.values())
    if not all(forms.values()):
        for kind, of_kind in concepts.items():
            for concept in of_kind.values():
                check_label_forms(concept, forms, places[kind, concept.id][0])
    vocabulary = cls(concepts, (rule for rule, _ in rules.values()), (), forms)
    vocabulary.warnings = _check_shared_labels(vocabulary, rules, places)
    return vocabulary


def _add_file(
    of_kind: dict[str, Concept], places: _Places, path: Path, kind: str, is_extra: bool
) -> None:
    first_lines: dict[str, int] = {}
    for concept, place in read_concepts(path, kind):
        if concept.id in first_lines:
            raise VocabularyError(
                f"The id {concept.id} is there twice, first in line {first_lines[concept.id]}.",
                where=place.cell("id"),
                todo="Give one of the two another id, or join them.",
            )
        first_lines[concept.id] = place.line
        of_kind[concept.id] = concept
        places[kind, concept.id] = (place, is_extra)


def _check_broader(kind: str, of_kind: dict[str, Concept], places: _Places) -> None:
    sound: set[str] = set()
    for concept in of_kind.values():
        path: list[str] = []
        at: Concept | None = concept
        while at is not None and at.id not in sound:
            place = places[kind, at.id][0]
            if at.id in path:
                circle = " > ".join([*path[path.index(at.id) :], at.id])
                raise VocabularyError(
                    f"The concept {at.id} is broader than itself: {circle}.",
                    where=place.cell("broader"),
                    todo="Break the circle: one of these has another broader concept, or none.",
                )
            path.append(at.id)
            if at.broader is None:
                break
            if at.broader not in of_kind:
                raise VocabularyError(
                    f"The broader concept '{at.broader}' of {at.id} does not exist.",
                    where=place.cell("broader"),
                    todo=f"Name the id of another {kind}, or leave it empty. "
                    + _nearest_ids(at.broader, of_kind),
                )
            at = of_kind[at.broader]
        sound.update(path)


def _nearest_ids(text: str, ids: Iterable[str]) -> str:
    from rapidfuzz import fuzz, process

    near = process.extract(text, list(ids), scorer=fuzz.ratio, limit=3, score_cutoff=50)
    return f"Nearest: {', '.join(name for name, _, _ in near)}." if near else ""


def _check_pref_labels(kind: str, of_kind: dict[str, Concept], places: _Places) -> None:
    carriers: dict[str, str] = {}
    for concept in of_kind.values():
        form = exact_form(concept.pref_label)
        other = carriers.setdefault(form, concept.id)
        if other != concept.id:
            # The workspace's row is the one that can be mended.
            first, second = places[kind, other], places[kind, concept.id]
            place = first[0] if first[1] and not second[1] else second[0]
            raise VocabularyError(
                f"The preferred label '{concept.pref_label}' is that of {other} and of "
                f"{concept.id}; in one kind and language it names one concept (SKOS S14).",
                where=place.cell("prefLabel"),
                todo="Make the two labels tell the concepts apart, or join the concepts.",
            )


def _check_references(concepts: dict[str, dict[str, Concept]], places: _Places) -> None:
    cautions, categories = concepts["caution"], concepts["category"]
    for kind, of_kind in concepts.items():
        for concept in of_kind.values():
            for column, targets, what in (
                ("caution_ids", cautions, "caution"),
                ("families", categories, "category"),
            ):
                for target in concept.many(column):
                    if targets and target not in targets:
                        raise VocabularyError(
                            f"The {what} '{target}' of {concept.id} does not exist.",
                            where=places[kind, concept.id][0].cell(column),
                            todo=f"Name ids of {KINDS[what].file_name}, parted by '|'. "
                            + _nearest_ids(target, targets),
                        )


_RulesByLabel = dict[tuple[str, str], tuple[Ambiguity, bool]]


def _read_ambiguities(
    files: list[_Found], concepts: dict[str, dict[str, Concept]]
) -> _RulesByLabel:
    rules: _RulesByLabel = {}
    for path, name, is_extra in files:
        if name != AMBIGUITIES_FILE:
            continue
        first_lines: dict[tuple[str, str], int] = {}
        for line, row in read_rows(path, AMBIGUITY_COLUMNS):
            place = Place(path, line)
            kind, prefer = row["kind"], row["prefer"] or None
            for column in ("label", "rule", "reason"):
                if not row[column]:
                    raise VocabularyError(
                        f"The rule for '{row['label']}' has no {column}.",
                        where=place.cell(column),
                        todo="A shared label needs the label, its rule and the reason.",
                    )
            if kind not in KINDS:
                raise VocabularyError(
                    f"'{kind}' is no kind of term.",
                    where=place.cell("kind"),
                    todo=f"Use one of: {', '.join(KINDS)}.",
                )
            if prefer is not None and prefer not in concepts[kind]:
                raise VocabularyError(
                    f"The preferred {kind} '{prefer}' of the label '{row['label']}' does not "
                    "exist.",
                    where=place.cell("prefer"),
                    todo=f"Name a {kind} that carries the label, or leave it empty. "
                    + _nearest_ids(prefer, concepts[kind]),
                )
            choices = _choices(row.get("choices", ""), kind, concepts[kind], place)
            key = (kind, normalise_label(row["label"]))
            if key in first_lines:
                raise VocabularyError(
                    f"The {kind} label '{row['label']}' has two rules, the first in line "
                    f"{first_lines[key]}.",
                    where=place.cell("label"),
                    todo="Keep one.",
                )
            first_lines[key] = line
            rule = Ambiguity(row["label"], kind, row["rule"], prefer, row["reason"], choices)
            rules[key] = (rule, is_extra)
    return rules


def _choices(
    cell: str, kind: str, of_kind: dict[str, Concept], place: Place
) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    for part in split_cell(cell):
        mark, equals, target = (piece.strip() for piece in part.partition("="))
        if not (mark and equals and target in of_kind):
            raise VocabularyError(
                f"'{part}' is no choice between concepts of the kind {kind}.",
                where=place.cell("choices"),
                todo="Write mark=concept, parted by '|', as in 'GBP=bureau|USD=dresser'. "
                + _nearest_ids(target, of_kind),
            )
        found.append((mark, target))
    return tuple(found)


def _check_shared_labels(
    vocabulary: Vocabulary, rules: _RulesByLabel, places: _Places
) -> tuple[str, ...]:
    warnings: list[str] = []
    for kind in vocabulary.kinds:
        for name in vocabulary.shared_labels(kind):
            if (kind, name) in rules:
                continue
            entries = vocabulary.labels(kind)[name]
            carriers = sorted({entry.concept_id for entry in entries})
            last = max(
                entries, key=lambda entry: (places[kind, entry.concept_id][1],
                                            places[kind, entry.concept_id][0].line)
            )  # fmt: skip
            place, is_extra = places[kind, last.concept_id]
            column = {"pref": "prefLabel", "alt": "altLabels", "hidden": "hiddenLabels"}
            what = f"The {kind} label '{last.label}' is shared by {', '.join(carriers)} and has "
            what += "no rule."
            where = place.cell(column[last.label_type])
            if is_extra:
                warnings.append(f"{what} Where: {where}")
                continue
            raise VocabularyError(
                what,
                where=where,
                todo=f"Take it from all but one, or write a rule for it in {AMBIGUITIES_FILE}.",
            )
    return tuple(warnings)


def _collect_labels(concepts: Iterable[Concept], forms: Mapping[str, str]) -> Labels:
    found: defaultdict[str, list[LabelEntry]] = defaultdict(list)
    for concept in concepts:
        for label, label_type, _ in labels_of(concept):
            entries = found[forms[label]]
            # Two spellings of one concept may normalise to one word: the better type stays.
            if not entries or entries[-1].concept_id != concept.id:
                entries.append(LabelEntry(concept.id, label, label_type))
    return {name: _in_order(entries) for name, entries in found.items()}


def _in_order(entries: list[LabelEntry]) -> tuple[LabelEntry, ...]:
    if len(entries) > 1:
        entries.sort(key=lambda one: (_LABEL_TYPES.index(one.label_type), one.concept_id))
    return tuple(entries)
