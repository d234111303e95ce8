"""A vocabulary kept in a file says what the proved one says, and is never older than its words."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.errors import VocabularyError
from pipeline.terms import vocabulary as module
from pipeline.terms.kept_vocabulary import load_vocabulary
from pipeline.terms.vocabulary import PACKAGE_DIR, Vocabulary

COLUMNS = (PACKAGE_DIR / "makers.csv").read_text("utf-8").splitlines()[0].split(",")


@pytest.fixture(autouse=True)
def nothing_held() -> Iterator[None]:
    """Each test starts and ends as a process that has proved nothing."""
    module._CACHE.clear()
    yield
    module._CACHE.clear()


def own_maker(folder: Path, *labels: str) -> Path:
    """A workspace's own file of makers, one row a preferred label."""
    folder.mkdir(exist_ok=True)
    with (folder / "makers.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS)
        writer.writeheader()
        for number, label in enumerate(labels):
            row = dict.fromkeys(COLUMNS, "") | {"id": f"maker-{number}", "prefLabel": label}
            writer.writerow(row)
    return folder


def kept_and_proved(own: Path | None, folder: Path) -> tuple[Vocabulary, Vocabulary]:
    """What a second process takes from the file, and what a proof gives."""
    load_vocabulary(own, folder)
    module._CACHE.clear()
    kept = load_vocabulary(own, folder)
    module._CACHE.clear()
    return kept, Vocabulary.load(own)


@pytest.mark.parametrize("with_own", [False, True])
def test_nothing_is_lost_or_added(tmp_path: Path, with_own: bool) -> None:
    own = own_maker(tmp_path / "own", "J. Hallowell", "Ö. Ångström") if with_own else None
    kept, proved = kept_and_proved(own, tmp_path / "kept")
    assert kept is not proved
    assert kept.kinds == proved.kinds
    for kind in proved.kinds:
        assert kept.concepts(kind) == proved.concepts(kind)
        assert kept.labels(kind) == proved.labels(kind)
    assert kept.ambiguities() == proved.ambiguities()
    assert kept.warnings == proved.warnings
    assert kept.fingerprint == proved.fingerprint
    again = Vocabulary(
        {k: {c.id: c for c in kept.concepts(k)} for k in kept.kinds},
        kept.ambiguities(), kept.warnings, kept.forms,
    )  # fmt: skip
    assert again.fingerprint == kept.fingerprint  # reckoned of the words, not taken from the file


def test_a_changed_word_is_proved_again(tmp_path: Path) -> None:
    own, folder = own_maker(tmp_path / "own", "J. Hallowell"), tmp_path / "kept"
    load_vocabulary(own, folder)
    own_maker(own, "J. Hallowel")
    assert load_vocabulary(own, folder).concept("maker", "maker-0").pref_label == "J. Hallowel"
    assert len(list(folder.iterdir())) == 1
    own_maker(own, "J. Hallowell", "J. Hallowell")
    with pytest.raises(VocabularyError, match="one concept"):
        load_vocabulary(own, folder)


def test_a_damaged_file_is_made_anew(tmp_path: Path) -> None:
    load_vocabulary(None, tmp_path)
    (path,) = tmp_path.iterdir()
    sound = path.read_bytes()
    at = sound.index(b"mantel clock")
    for damaged in (b"", sound[:1000], sound[:at] + b"M" + sound[at + 1 :]):
        path.write_bytes(damaged)
        module._CACHE.clear()
        assert load_vocabulary(None, tmp_path).concept("category", "mantel-clock")
        assert path.read_bytes() == sound
