"""Prove that the files of a vocabulary hold together, and say where they do not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from pipeline.csv_rows import read_rows
from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary_file import (
    AMBIGUITIES_FILE,
    AMBIGUITY_COLUMNS,
    KINDS,
    Concept,
    Place,
    check_label_forms,
    exact_form,
    label_forms,
    labels_of,
    read_concepts,
    split_cell,
)

Labels = dict[str, tuple["LabelEntry", ...]]
# The rules for a label that concepts share, and the column each needs: one concept is taken; the
# sale's currency chooses, or the words of the title do; a person looks.
RULES = {"prefer": "prefer", "by_currency": "choices", "by_words": "choices", "review": ""}
_LABEL_TYPES = ("pref", "alt", "hidden")


class LabelEntry(NamedTuple):
    """A label as written, the concept that carries it, and its type: pref, alt or hidden."""

    concept_id: str
    label: str
    label_type: str


class Ambiguity(NamedTuple):
    """A label that more than one concept of a kind carries, and the rule that settles it.

    `prefer` is the concept that the rule falls back on, None where a person has to say.
    `choices` are (mark, concept id) pairs of a rule that looks at something beside the label: the
    currency, ("GBP", "bureau"), or a word of the title, in small letters: ("fall", "bureau").
    """

    label: str
    kind: str
    rule: str
    prefer: str | None
    reason: str
    choices: tuple[tuple[str, str], ...] = ()


class Proved(NamedTuple):
    """A vocabulary that holds: kind -> id -> concept, the rules, the warnings, label -> form."""

    concepts: dict[str, dict[str, Concept]]
    ambiguities: tuple[Ambiguity, ...]
    warnings: tuple[str, ...]
    forms: dict[str, str]


FoundFile = tuple[
    Path, str, bool
]  # path, kind (or the ambiguities file's name), is the workspace's
_Places = dict[tuple[str, str], tuple[Place, bool]]


def find_files(package_dir: Path, extra_dir: Path | None) -> list[FoundFile]:
    """The files of the package's vocabulary and, after them, those of a workspace."""
    names = {rules.file_name: kind for kind, rules in KINDS.items()}
    names[AMBIGUITIES_FILE] = AMBIGUITIES_FILE
    found: list[FoundFile] = []
    for name, kind in names.items():
        path = package_dir / name
        if path.is_file():
            found.append((path, kind, False))
        else:
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


def prove(files: list[FoundFile]) -> Proved:
    """Read all files and prove them together.

    Raises:
        VocabularyError: with file, line and column, for whatever does not hold.
    """
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
    warnings = _check_shared_labels(concepts, forms, rules, places)
    return Proved(concepts, tuple(rule for rule, _ in rules.values()), warnings, forms)


def shared_labels(concepts: Iterable[Concept], forms: Mapping[str, str]) -> frozenset[str]:
    """Normalised labels that more than one of the concepts carries."""
    owners: dict[str, str] = {}
    shared: set[str] = set()
    for concept in concepts:
        for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
            form = forms[label]
            if owners.setdefault(form, concept.id) != concept.id:
                shared.add(form)
    return frozenset(shared)


def collect_labels(concepts: Iterable[Concept], forms: Mapping[str, str]) -> Labels:
    """Normalised label -> the entries of the concepts that carry it, the preferred type first."""
    found: defaultdict[str, list[LabelEntry]] = defaultdict(list)
    for concept in concepts:
        for label, label_type, _ in labels_of(concept):
            entries = found[forms[label]]
            # Two spellings of one concept may normalise to one word: the better type stays.
            if not entries or entries[-1].concept_id != concept.id:
                entries.append(LabelEntry(concept.id, label, label_type))
    return {name: _in_order(entries) for name, entries in found.items()}


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
    columns = (
        ("caution_ids", concepts["caution"], "caution"),
        ("families", concepts["category"], "category"),
        ("category_ids", concepts["category"], "category"),
        ("material_ids", concepts["material"], "material"),
        ("not_material_ids", concepts["material"], "material"),
        ("fault_ids", concepts["fault"], "fault"),
    )
    for kind, of_kind in concepts.items():
        for concept in of_kind.values():
            for column, targets, what in columns:
                for target in concept.many(column):
                    if target not in targets:
                        raise VocabularyError(
                            f"The {what} '{target}' of {concept.id} does not exist.",
                            where=places[kind, concept.id][0].cell(column),
                            todo=f"Name ids of {KINDS[what].file_name}, parted by '|'. "
                            + _nearest_ids(target, targets),
                        )


_RulesByLabel = dict[tuple[str, str], tuple[Ambiguity, Place]]


def _read_ambiguities(
    files: list[FoundFile], concepts: dict[str, dict[str, Concept]]
) -> _RulesByLabel:
    rules: _RulesByLabel = {}
    for path, name, _ in files:
        if name != AMBIGUITIES_FILE:
            continue
        first_lines: dict[tuple[str, str], int] = {}
        for line, row in read_rows(path, AMBIGUITY_COLUMNS, VocabularyError):
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
            _check_rule(rule, place)
            rules[key] = (rule, place)
    return rules


def _check_rule(rule: Ambiguity, place: Place) -> None:
    needs = RULES.get(rule.rule)
    if needs is None:
        raise VocabularyError(
            f"'{rule.rule}' is no rule for a shared label.",
            where=place.cell("rule"),
            todo=f"Use one of: {', '.join(RULES)}.",
        )
    given = {"prefer": rule.prefer is not None, "choices": bool(rule.choices)}
    if needs and not given[needs]:
        raise VocabularyError(
            f"The rule {rule.rule} for '{rule.label}' names nothing in {needs}.",
            where=place.cell(needs),
            todo="Name the concept that is meant, or use the rule review.",
        )


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
    concepts: dict[str, dict[str, Concept]],
    forms: Mapping[str, str],
    rules: _RulesByLabel,
    places: _Places,
) -> tuple[str, ...]:
    warnings: list[str] = []
    for (kind, name), (rule, place) in rules.items():
        # a workspace may take a label from a concept that a rule of the package prefers
        if rule.prefer is not None and not places[kind, rule.prefer][1]:
            one = concepts[kind][rule.prefer]
            if name not in {forms[label] for label, _, _ in labels_of(one)}:
                raise VocabularyError(
                    f"'{rule.label}' is no label of {rule.prefer}, which its rule prefers.",
                    where=place.cell("prefer"),
                    todo="Prefer a concept that carries the label, or give it the label.",
                )
    for kind, of_kind in concepts.items():
        unsettled = {
            name for name in shared_labels(of_kind.values(), forms) if (kind, name) not in rules
        }
        labels = collect_labels(of_kind.values(), forms) if unsettled else {}
        for name in sorted(unsettled):
            entries = labels[name]
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


def _in_order(entries: list[LabelEntry]) -> tuple[LabelEntry, ...]:
    if len(entries) > 1:
        entries.sort(key=lambda one: (_LABEL_TYPES.index(one.label_type), one.concept_id))
    return tuple(entries)
