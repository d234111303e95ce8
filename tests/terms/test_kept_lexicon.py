"""A lexicon kept in a file reads as one that was just built, or is not used at all."""

from __future__ import annotations

import ast
import csv
import os
import random
from collections.abc import Iterator
from pathlib import Path

import pyarrow as pa
import pytest

from pipeline.terms import kept_lexicon, lexicon
from pipeline.terms.kept_lexicon import use_kept
from pipeline.terms.reader import KINDS, read_terms
from pipeline.terms.titles import read_titles, unread_words
from pipeline.terms.vocabulary import PACKAGE_DIR, Vocabulary

HERE = Path(__file__).parent


@pytest.fixture(autouse=True)
def nothing_held() -> Iterator[None]:
    """Each test starts and ends as a process that has built nothing."""
    lexicon._CACHE.clear()
    yield
    lexicon._CACHE.clear()


N_TEXTS = 5_000


def labelled_texts() -> list[str]:
    """Titles and fields of the labelled files: as many as one test should read, any of them."""
    texts: set[str] = set()
    for path in HERE.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                texts.update(row[name] for name in ("title", "text") if row.get(name))
    return random.Random(8).sample(sorted(texts), N_TEXTS)


def readings(texts: list[str], vocabulary: Vocabulary) -> dict[str, object]:
    column = pa.array(texts, pa.string())
    out: dict[str, object] = {
        kind: read_terms(column, kind, vocabulary=vocabulary).to_pylist() for kind in KINDS
    }
    out["titles"] = read_titles(column, vocabulary).to_pylist()
    out["unread"] = unread_words(column, vocabulary)
    return out


def only_file(folder: Path) -> Path:
    (found,) = folder.iterdir()
    return found


def test_labelled_texts_are_read_alike(tmp_path: Path) -> None:
    texts = labelled_texts()
    vocabulary = Vocabulary.load()
    fresh = readings(texts, vocabulary)
    lexicon._CACHE.clear()
    assert use_kept(vocabulary, tmp_path) is False
    lexicon._CACHE.clear()
    assert use_kept(vocabulary, tmp_path) is True
    assert readings(texts, vocabulary) == fresh


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, bytes]:
    """Name and bytes of a sound file."""
    folder = tmp_path_factory.mktemp("sound")
    use_kept(Vocabulary.load(), folder)
    path = only_file(folder)
    return path.name, path.read_bytes()


def damages(whole: bytes) -> dict[str, bytes]:
    """A sound file with one bit turned, or cut short."""
    out = {f"cut at {n}": whole[:n] for n in (0, 10, 32, 1000, len(whole) - 1)}
    for at in (0, 31, 32, 200, len(whole) // 2, len(whole) - 1):
        turned = bytearray(whole)
        turned[at] ^= 0x01
        out[f"turned at {at}"] = bytes(turned)
    return out


def test_a_damaged_file_is_never_read(tmp_path: Path, sound: tuple[str, bytes]) -> None:
    vocabulary = Vocabulary.load()
    path = tmp_path / sound[0]
    path.write_bytes(sound[1])
    assert kept_lexicon._read(path, vocabulary) is not None
    for what, damaged in damages(sound[1]).items():
        path.write_bytes(damaged)
        assert kept_lexicon._read(path, vocabulary) is None, what


def test_a_damaged_file_is_made_anew(tmp_path: Path, sound: tuple[str, bytes]) -> None:
    path = tmp_path / sound[0]
    path.write_bytes(sound[1][:5000])
    assert use_kept(Vocabulary.load(), tmp_path) is False
    assert path.read_bytes() == sound[1]


def test_a_workspaces_own_word_makes_another_file_and_sweeps_the_old(tmp_path: Path) -> None:
    folder, own = tmp_path / "kept", tmp_path / "own"
    use_kept(Vocabulary.load(), folder)
    before = only_file(folder)
    own.mkdir()
    columns = (PACKAGE_DIR / "makers.csv").read_text("utf-8").splitlines()[0].split(",")
    row = dict.fromkeys(columns, "") | {"id": "j-hallowell", "prefLabel": "J. Hallowell"}
    with (own / "makers.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        writer.writerow(row)
    theirs = Vocabulary.load(own)
    assert use_kept(theirs, folder) is False
    assert only_file(folder) != before
    read = read_terms(pa.array(["Hallowell, J."]), "maker", vocabulary=theirs).to_pylist()[0]
    assert read["concept_id"] == "j-hallowell"


def test_other_code_or_another_order_of_concepts_is_another_file(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    vocabulary = Vocabulary.load()
    name = kept_lexicon._name_for(vocabulary)
    turned = Vocabulary(
        {k: {c.id: c for c in reversed(vocabulary.concepts(k))} for k in vocabulary.kinds},
        vocabulary.ambiguities(), vocabulary.warnings, vocabulary.forms,
    )  # fmt: skip
    assert turned.fingerprint == vocabulary.fingerprint
    assert kept_lexicon._name_for(turned) != name
    monkeypatch.setattr(kept_lexicon, "code_digest", lambda: b"other code")
    assert kept_lexicon._name_for(vocabulary) != name


def test_a_folder_that_cannot_be_written_to_is_no_error(tmp_path: Path) -> None:
    in_the_way = tmp_path / "kept"
    in_the_way.write_text("a file where the folder should be")
    vocabulary = Vocabulary.load()
    assert use_kept(vocabulary, in_the_way) is False
    read = read_titles(pa.array(["oak chest of drawers"]), vocabulary).to_pylist()[0]
    assert read["category_id"] == "chest-of-drawers"


def test_a_write_that_fails_leaves_no_half_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert use_kept(Vocabulary.load(), tmp_path) is False
    assert list(tmp_path.iterdir()) == []


def test_a_name_of_a_table_of_phrases_stands_for_one_test() -> None:
    """Two tests under one name would share the answer of whichever is asked first."""
    tests: dict[str, set[str]] = {}
    for path in Path(lexicon.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
            if called and node.func.attr == "phrases_where" and len(node.args) == 2:
                name, test = node.args
                tests.setdefault(ast.unparse(name), set()).add(ast.unparse(test))
    assert len(tests) > 10
    assert {name: found for name, found in tests.items() if len(found) > 1} == {}
