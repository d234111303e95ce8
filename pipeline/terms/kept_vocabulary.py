"""A proved vocabulary in a file, so that a command need not prove it again."""

from __future__ import annotations

import contextlib
import hashlib
import json
from pathlib import Path

from pipeline.terms.kept_file import code_digest, read_sound, sweep, write_whole
from pipeline.terms.vocabulary import PACKAGE_DIR, Vocabulary, held, hold
from pipeline.terms.vocabulary_file import Concept
from pipeline.terms.vocabulary_proof import Ambiguity, FoundFile, find_files

ENDING = ".vocabulary"


def load_vocabulary(extra_dir: Path | None, folder: Path) -> Vocabulary:
    """The vocabulary of the package and a workspace, from the file kept in a folder if it holds.

    The file's name is made of the bytes of every vocabulary file and of the code that proves, and
    it is written only after the proof: whoever changes a word has it proved again.

    Raises:
        VocabularyError: see `Vocabulary.load`.
    """
    files = find_files(PACKAGE_DIR, extra_dir)
    known = held(files)
    if known is not None:
        return known
    path = folder / (_name_for(files) + ENDING)
    body = read_sound(path)
    if body is not None:
        return hold(files, _from_json(str(body, "utf-8")))
    vocabulary = Vocabulary.load(extra_dir)
    with contextlib.suppress(OSError):
        write_whole(path, _as_json(vocabulary).encode())
        sweep(path)
    return vocabulary


def _as_json(vocabulary: Vocabulary) -> str:
    concepts = {
        kind: [
            [c.id, c.pref_label, c.alt_labels, c.hidden_labels, c.broader, c.scope_note,
             dict(c.extra)]
            for c in vocabulary.concepts(kind)
        ]
        for kind in vocabulary.kinds
    }  # fmt: skip
    told = {
        "concepts": concepts, "ambiguities": vocabulary.ambiguities(),
        "warnings": vocabulary.warnings, "forms": vocabulary.forms,
        "fingerprint": vocabulary.fingerprint,
    }  # fmt: skip
    return json.dumps(told, ensure_ascii=False)


def _from_json(text: str) -> Vocabulary:
    told = json.loads(text)
    concepts = {
        kind: {
            name: Concept(kind, name, label, tuple(alt), tuple(hidden), broader, note, extra)
            for name, label, alt, hidden, broader, note, extra in rows
        }
        for kind, rows in told["concepts"].items()
    }
    rules = [
        Ambiguity(label, kind, rule, prefer, reason, tuple((mark, one) for mark, one in choices))
        for label, kind, rule, prefer, reason, choices in told["ambiguities"]
    ]
    vocabulary = Vocabulary(concepts, rules, told["warnings"], told["forms"])
    vocabulary.fingerprint = told["fingerprint"]
    return vocabulary


def _name_for(files: list[FoundFile]) -> str:
    digest = hashlib.sha256(code_digest())
    for path, kind, is_extra in files:
        data = path.read_bytes()
        digest.update(f"{path if is_extra else path.name}|{kind}|{len(data)}|".encode())
        digest.update(data)
    return digest.hexdigest()[:24]
