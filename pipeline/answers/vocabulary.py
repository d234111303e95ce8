"""The workspace's vocabulary: written out, taken in, added to and proved.

Files of data/decisions/vocabulary/ have the names and columns of the package's own. A row whose id
the package knows replaces the package's row whole. Nothing is put in place that does not hold
together with the rest: every change is proved beside the files first.
"""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.answers.lookup import vocabulary_of
from pipeline.csv_rows import read_rows
from pipeline.errors import UsageError, VocabularyError
from pipeline.terms.decisions import write_in_one_step
from pipeline.terms.skos import concepts_to_csv, export_skos, import_skos
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import PACKAGE_DIR, Ambiguity, Vocabulary
from pipeline.terms.vocabulary_file import (
    AMBIGUITIES_FILE,
    COMMON_COLUMNS,
    FIELD_ONLY,
    KINDS,
    SEPARATOR,
    Concept,
    exact_form,
    split_cell,
)
from pipeline.workspace import Workspace

_BOM = b"\xef\xbb\xbf"
_OTHER_KINDS = {
    "caution_ids": "caution", "families": "category", "category_ids": "category",
    "material_ids": "material", "not_material_ids": "material", "fault_ids": "fault",
}  # fmt: skip


# --- out -----------------------------------------------------------------------------------


def exported(workspace: Workspace, form: str, kind: str | None = None) -> str:
    """The vocabulary in force as a text.

    Args:
        form: skos (the whole of it, as Turtle) or csv (one kind, as a vocabulary file).
        kind: the kind of term that csv writes.

    Raises:
        UsageError: csv without a kind, skos with one, or an unknown kind.
    """
    if form == "skos":
        if kind is not None:
            raise UsageError(
                "SKOS holds the whole vocabulary.", todo="Leave --kind out, or use --format csv."
            )
        return export_skos(vocabulary_of(workspace))
    if kind is None:
        raise UsageError(
            "A CSV file holds one kind of term.", todo=f"Add --kind: one of {', '.join(KINDS)}."
        )
    _check_kind(kind)
    return concepts_to_csv(map(_as_written, vocabulary_of(workspace).concepts(kind)), kind)


def write_new(path: Path, text: str, *, over: bool) -> Path:
    """Write an export to a file.

    Raises:
        UsageError: the file is there already and `over` is not set, or cannot be written.
    """
    if path.exists() and not over:
        raise UsageError(
            "There is such a file already.", where=path, todo="Name another, or add --force."
        )
    try:
        write_in_one_step(path, text.encode("utf-8"))
    except OSError as error:
        raise UsageError(f"The file cannot be written: {error.strerror}.", where=path) from None
    return path


# --- in ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Imported:
    """What an import did, by ids, and the file it wrote; None where there was nothing to write.

    Args:
        added: concepts that were not known.
        replaced: concepts whose rows were written over, as --replace asked.
        kept: concepts that were known by their id and stay as they were.
        known: (id in the file, id here) of concepts whose preferred label is known already.
        untied: (id, its broader id) of concepts whose broader one is not known; it was left out.
        warnings: what the vocabulary says of labels that are shared now and were not before.
    """

    path: Path | None
    added: tuple[str, ...]
    replaced: tuple[str, ...]
    kept: tuple[str, ...]
    known: tuple[tuple[str, str], ...]
    untied: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]


def import_file(
    workspace: Workspace, file: Path, kind: str, fmt: str = "turtle", *, over: bool = False
) -> Imported:
    """Take the concepts of a SKOS file into the workspace's vocabulary.

    A concept that is known by its id, or by its preferred label, stays as it is, unless `over`
    asks to write over the one of the same id. Links to concepts that are not known are left out.

    Raises:
        UsageError: an unknown kind or format.
        VocabularyError: the file is not readable, or the vocabulary with it would not hold;
            nothing is written.
    """
    _check_kind(kind)
    vocabulary = vocabulary_of(workspace)
    found = import_skos(file, kind, fmt)
    by_label = {exact_form(one.pref_label): one.id for one in vocabulary.concepts(kind)}
    here: dict[str, str] = {}
    for one in found:
        if not vocabulary.has(kind, one.id):
            same = by_label.get(exact_form(one.pref_label))
            if same is not None:
                here[one.id] = same
    coming = {one.id for one in found if one.id not in here}
    untied: list[tuple[str, str]] = []
    tied: list[Concept] = []
    kept: list[str] = []
    for one in found:
        if one.id in here:
            continue
        led = _tied(one, vocabulary, coming, here, untied)
        is_known = vocabulary.has(kind, one.id)
        if is_known and (not over or _same(led, vocabulary.concept(kind, one.id))):
            kept.append(one.id)
        else:
            tied.append(led)
    gone = set(kept)
    untied = [pair for pair in untied if pair[0] not in gone]
    added = tuple(one.id for one in tied if not vocabulary.has(kind, one.id))
    replaced = tuple(one.id for one in tied if vocabulary.has(kind, one.id))
    path: Path | None = None
    warnings: tuple[str, ...] = ()
    if tied:
        path, warnings = _put(workspace, kind, map(_row_of, tied), vocabulary)
    return Imported(
        path, added, replaced, tuple(kept), tuple(sorted(here.items())), tuple(untied), warnings
    )


def _tied(
    concept: Concept,
    vocabulary: Vocabulary,
    coming: set[str],
    here: dict[str, str],
    untied: list[tuple[str, str]],
) -> Concept:
    """The concept with its links led to what is known, and without the others."""
    broader = concept.broader
    if broader is not None:
        broader = here.get(broader, broader)
        if broader not in coming and not vocabulary.has(concept.kind, broader):
            untied.append((concept.id, broader))
            broader = None
    extra = dict(concept.extra)
    for column, other in _OTHER_KINDS.items():
        if extra.get(column):
            ids = [one for one in split_cell(extra[column]) if vocabulary.has(other, one)]
            extra[column] = SEPARATOR.join(ids)
    return replace(concept, broader=broader, extra=extra)


# --- a label -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Added:
    """A label that a concept was given, and the file of the workspace that says so."""

    label: str
    concept_id: str
    concept: str
    path: Path


def add_label(workspace: Workspace, label: str, concept_id: str, kind: str = "category") -> Added:
    """Give a concept another label to be found by (SKOS: a hidden label).

    The concept's row in the workspace's vocabulary gets the label; where the workspace has no row
    for it, the package's row is copied there first.

    Raises:
        UsageError: an unknown kind, or a label without letter or digit.
        VocabularyError: there is no such concept, or a concept carries the label already;
            nothing is written.
    """
    _check_kind(kind)
    words = " ".join(label.replace(SEPARATOR, " ").split())
    form = normalise_label(words)
    if not form:
        raise UsageError(f"'{label}' holds no letter or digit.", todo="Name a word or some.")
    vocabulary = vocabulary_of(workspace)
    concept = vocabulary.concept(kind, concept_id)
    carriers = [entry.concept_id for entry in vocabulary.labels(kind).get(form, ())]
    if concept_id in carriers:
        raise VocabularyError(f"'{words}' is a label of {concept_id} already.")
    if carriers:
        raise VocabularyError(
            f"'{words}' is a label of {', '.join(carriers)} already; shared, it would be in doubt "
            "wherever it stands.",
            todo="Give more of the words, or share it and write a rule for it in "
            f"{_folder(workspace) / AMBIGUITIES_FILE}.",
        )
    row = _row_in_force(workspace, kind, concept_id)
    row["hiddenLabels"] = SEPARATOR.join([*split_cell(row["hiddenLabels"]), words])
    path, _ = _put(workspace, kind, [row], vocabulary)
    return Added(words, concept_id, concept.pref_label, path)


# --- proof ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Checked:
    """A vocabulary that holds, and what of it deserves a look.

    Args:
        counts: (kind, concepts in all, added by the workspace, replaced by the workspace).
        files: the workspace's files.
        rules: rules for shared labels that the workspace wrote.
        n_rules: rules in all.
        warnings: labels shared without a rule; labels of the package that a replacing row lost.
    """

    counts: tuple[tuple[str, int, int, int], ...]
    files: tuple[Path, ...]
    rules: tuple[Ambiguity, ...]
    n_rules: int
    warnings: tuple[str, ...]


def check_vocabulary(workspace: Workspace) -> Checked:
    """Prove the workspace's vocabulary together with the package's.

    Raises:
        VocabularyError: with file, line and column, for the first thing that does not hold.
    """
    vocabulary = vocabulary_of(workspace)
    package = Vocabulary.load()
    folder = _folder(workspace)
    files = tuple(sorted(folder.glob("*.csv"))) if folder.is_dir() else ()
    own: dict[str, set[str]] = {}
    for kind, rules in KINDS.items():
        path = folder / rules.file_name
        if path.is_file():
            own[kind] = {
                row["id"]
                for _, row in read_rows(path, COMMON_COLUMNS + rules.columns, VocabularyError)
            }
    counts = []
    warnings = list(vocabulary.warnings)
    for kind in vocabulary.kinds:
        mine = own.get(kind, set())
        replaced = {one for one in mine if package.has(kind, one)}
        counts.append((kind, len(vocabulary.concepts(kind)), len(mine - replaced), len(replaced)))
        warnings += [
            sentence
            for one in sorted(replaced)
            if (sentence := _lost(vocabulary.concept(kind, one), package.concept(kind, one)))
        ]
    known = set(package.ambiguities())
    written = tuple(rule for rule in vocabulary.ambiguities() if rule not in known)
    return Checked(tuple(counts), files, written, len(vocabulary.ambiguities()), tuple(warnings))


def _lost(mine: Concept, theirs: Concept) -> str | None:
    have = {exact_form(one) for one in (mine.pref_label, *mine.alt_labels, *mine.hidden_labels)}
    gone = [
        one
        for one in (theirs.pref_label, *theirs.alt_labels, *theirs.hidden_labels)
        if exact_form(one) not in have
    ]
    if not gone:
        return None
    return (
        f"The workspace's row of the {mine.kind} {mine.id} lacks labels that the package's row "
        f"has: {', '.join(gone)}."
    )


# --- rows and files ------------------------------------------------------------------------


def _folder(workspace: Workspace) -> Path:
    return workspace.decisions / "vocabulary"


def _check_kind(kind: str) -> None:
    if kind not in KINDS:
        raise UsageError(f"'{kind}' is no kind of term.", todo=f"Use one of: {', '.join(KINDS)}.")


def _as_written(concept: Concept) -> Concept:
    """The concept without the hidden labels that its column field_only stands for."""
    limited = frozenset(concept.many(FIELD_ONLY))
    kept = tuple(one for one in concept.hidden_labels if one not in limited)
    return replace(concept, hidden_labels=kept)


def _same(one: Concept, other: Concept) -> bool:
    return _filled(_row_of(one)) == _filled(_row_of(_as_written(other)))


def _filled(row: dict[str, str]) -> dict[str, object]:
    return {
        name: sorted(split_cell(cell)) if SEPARATOR in cell else cell
        for name, cell in row.items()
        if cell
    }


def _row_of(concept: Concept) -> dict[str, str]:
    plain = _as_written(concept)
    return {
        "id": plain.id,
        "prefLabel": plain.pref_label,
        "altLabels": SEPARATOR.join(plain.alt_labels),
        "hiddenLabels": SEPARATOR.join(plain.hidden_labels),
        "broader": plain.broader or "",
        "scopeNote": plain.scope_note,
        **plain.extra,
    }


def _row_in_force(workspace: Workspace, kind: str, concept_id: str) -> dict[str, str]:
    name = KINDS[kind].file_name
    for path in (_folder(workspace) / name, PACKAGE_DIR / name):
        if path.is_file():
            for _, row in read_rows(path, COMMON_COLUMNS + KINDS[kind].columns, VocabularyError):
                if row["id"] == concept_id:
                    return dict(row)
    raise VocabularyError(f"There is no {kind} '{concept_id}'.")


def _put(
    workspace: Workspace, kind: str, rows: Iterable[dict[str, str]], before: Vocabulary
) -> tuple[Path, tuple[str, ...]]:
    """Put rows into the workspace's file of a kind, proved with everything else first.

    Returns:
        the file, and the warnings that the vocabulary gives now and did not give before.
    """
    path = _folder(workspace) / KINDS[kind].file_name
    data = _file_with(path, kind, list(rows))
    try:
        after = _proved(path, data)
        write_in_one_step(path, data)
    except OSError as error:
        raise VocabularyError(
            f"The file cannot be written: {error.strerror}.", where=path
        ) from None
    return path, tuple(one for one in after if one not in before.warnings)


def _file_with(path: Path, kind: str, rows: Sequence[dict[str, str]]) -> bytes:
    """The file's bytes with these rows in it; rows of the same id stand where they stood."""
    columns = [*COMMON_COLUMNS, *KINDS[kind].columns]
    held: dict[str, dict[str, str]] = {}
    start = b""
    if path.is_file():
        start = _BOM if path.read_bytes().startswith(_BOM) else b""
        for _, row in read_rows(path, COMMON_COLUMNS + KINDS[kind].columns, VocabularyError):
            columns = list(row)
            held[row["id"]] = row
    held |= {row["id"]: row for row in rows}
    for row in rows:
        columns += [name for name in row if name not in columns]
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(held.values())
    return start + out.getvalue().encode("utf-8")


def _proved(path: Path, data: bytes) -> tuple[str, ...]:
    """The warnings of the vocabulary as it would be with `data` at `path`.

    Raises:
        VocabularyError: it would not hold; told with the file's own path.
    """
    with tempfile.TemporaryDirectory() as name:
        beside = Path(name)
        if path.parent.is_dir():
            for file in path.parent.glob("*.csv"):
                shutil.copyfile(file, beside / file.name)
        (beside / path.name).write_bytes(data)
        try:
            warnings = Vocabulary.load(beside).warnings
        except VocabularyError as error:
            where = error.where.replace(name, str(path.parent)) if error.where else path
            raise VocabularyError(
                f"Nothing was written, because the vocabulary would not hold: {error.what}",
                where=where, todo=error.todo,
            ) from None  # fmt: skip
    return tuple(one.replace(name, str(path.parent)) for one in warnings)
