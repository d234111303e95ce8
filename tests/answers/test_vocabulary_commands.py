"""The vocabulary written out, taken in, added to and proved; SKOS is held to rdflib."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from rdflib import RDF, Graph, Namespace

from pipeline.answers.lookup import vocabulary_of
from pipeline.answers.vocabulary import (
    add_label,
    check_vocabulary,
    exported,
    import_file,
    write_new,
)
from pipeline.errors import UsageError, VocabularyError
from pipeline.terms.vocabulary import Vocabulary
from pipeline.workspace import Workspace

SKOS = Namespace("http://www.w3.org/2004/02/skos/core#")
PACKAGE = Vocabulary.load()
OTHERS = """\
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix o: <https://example.org/things/> .
o:zither-box a skos:Concept ; skos:prefLabel "zither box"@en ; skos:broader o:mantel-clock .
o:chimney a skos:Concept ; skos:prefLabel "zither chimney"@en ; skos:broader o:clock-of-mantel .
o:clock-of-mantel a skos:Concept ; skos:prefLabel "Mantel Clock"@en .
o:mantel-clock a skos:Concept ; skos:prefLabel "mantelpiece thing"@en .
"""


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    (tmp_path / "ws" / "data" / "raw").mkdir(parents=True)
    return Workspace.at(tmp_path / "ws")


def own_file(workspace: Workspace) -> Path:
    return workspace.decisions / "vocabulary" / "categories.csv"


def test_skos_is_read_back_whole_by_rdflib(workspace: Workspace) -> None:
    graph = Graph().parse(data=exported(workspace, "skos"), format="turtle")
    n = sum(len(PACKAGE.concepts(kind)) for kind in PACKAGE.kinds)
    assert len(set(graph.subjects(RDF.type, SKOS.Concept))) == n
    assert len(set(graph.subjects(SKOS.prefLabel, None))) == n + len(PACKAGE.kinds)
    hidden = sum(len(c.hidden_labels) for kind in PACKAGE.kinds for c in PACKAGE.concepts(kind))
    assert len(list(graph.triples((None, SKOS.hiddenLabel, None)))) == hidden


def test_a_kind_as_csv_says_what_the_package_says(workspace: Workspace, tmp_path: Path) -> None:
    for kind, name in (("condition", "conditions.csv"), ("category", "categories.csv")):
        place = workspace.decisions / "vocabulary"
        place.mkdir(parents=True, exist_ok=True)
        (place / name).write_text(exported(workspace, "csv", kind))
    assert vocabulary_of(workspace).fingerprint == PACKAGE.fingerprint
    with pytest.raises(UsageError, match="one kind"):
        exported(workspace, "csv")
    with pytest.raises(UsageError, match="whole vocabulary"):
        exported(workspace, "skos", "category")


def test_an_export_writes_over_nothing_unasked(tmp_path: Path) -> None:
    path = write_new(tmp_path / "v.ttl", "one", over=False)
    with pytest.raises(UsageError, match="already"):
        write_new(path, "two", over=False)
    assert path.read_text() == "one"
    assert write_new(path, "two", over=True).read_text() == "two"


def test_import_adds_what_is_new_and_keeps_what_is_known(
    workspace: Workspace, tmp_path: Path
) -> None:
    file = tmp_path / "others.ttl"
    file.write_text(OTHERS)
    told = import_file(workspace, file, "category")
    assert set(told.added) == {"zither-box", "chimney"}
    assert told.kept == ("mantel-clock",)
    assert told.known == (("clock-of-mantel", "mantel-clock"),)
    after = vocabulary_of(workspace)
    assert after.concept("category", "chimney").broader == "mantel-clock"
    assert after.concept("category", "mantel-clock").pref_label == "mantel clock"
    bytes_before = own_file(workspace).read_bytes()
    again = import_file(workspace, file, "category")
    assert (again.added, again.path) == ((), None)
    assert own_file(workspace).read_bytes() == bytes_before
    over = import_file(workspace, file, "category", over=True)
    assert over.replaced == ("mantel-clock",)


def test_import_of_what_is_no_skos(workspace: Workspace, tmp_path: Path) -> None:
    file = tmp_path / "broken.ttl"
    file.write_text("o:x a skos:Concept .")
    with pytest.raises(VocabularyError, match="not readable as turtle"):
        import_file(workspace, file, "category")
    with pytest.raises(VocabularyError, match="cannot be opened"):
        import_file(workspace, tmp_path / "none.ttl", "category")
    with pytest.raises(UsageError, match="no kind of term"):
        import_file(workspace, file, "colour")
    assert not own_file(workspace).exists()


def test_a_label_is_added_beside_what_the_package_says(workspace: Workspace) -> None:
    added = add_label(workspace, "chimney  gubbin", "mantel-clock")
    assert (added.label, added.path) == ("chimney gubbin", own_file(workspace))
    add_label(workspace, "shelf gubbin", "mantel-clock")
    add_label(workspace, "floor gubbin", "longcase-clock")
    after = vocabulary_of(workspace)
    theirs = PACKAGE.concept("category", "mantel-clock")
    ours = after.concept("category", "mantel-clock")
    assert set(ours.hidden_labels) - set(theirs.hidden_labels) == {"chimney gubbin", "shelf gubbin"}
    assert ours.alt_labels == theirs.alt_labels
    assert dict(ours.extra) == dict(theirs.extra)
    rows = list(csv.DictReader(own_file(workspace).open()))
    assert [row["id"] for row in rows] == ["mantel-clock", "longcase-clock"]


def test_a_label_that_would_be_in_doubt_is_refused(workspace: Workspace) -> None:
    with pytest.raises(VocabularyError, match="label of mantel-clock already"):
        add_label(workspace, "Mantel Clock", "longcase-clock")
    with pytest.raises(VocabularyError, match="There is no category 'mantle-clock'"):
        add_label(workspace, "gubbin", "mantle-clock")
    with pytest.raises(UsageError, match="no letter or digit"):
        add_label(workspace, " - ", "mantel-clock")
    assert not own_file(workspace).exists()


def test_check_counts_and_warns(workspace: Workspace) -> None:
    add_label(workspace, "chimney gubbin", "mantel-clock")
    path = own_file(workspace)
    path.write_text(
        path.read_text().replace("chimney gubbin", "").replace("mantle clock", "mantlo")
    )
    checked = check_vocabulary(workspace)
    assert next(row for row in checked.counts if row[0] == "category")[2:] == (0, 1)
    assert any("mantel-clock lacks labels" in one for one in checked.warnings)


BROKEN = {
    "column": ("id,prefLabel\nx,y\n", "column altLabels is missing"),
    "cells": ("{h}\nx,y\n", "2 cells"),
    "id": ("{h}\nX Y,y,,,,\n", "no concept id"),
    "label": ("{h}\nx,,,,,\n", "no preferred label"),
    "twice": ("{h}\nx,y,,,,\nx,z,,,,\n", "there twice"),
    "broader": ("{h}\nx,y,,,nowhere,\n", "does not exist"),
    "circle": ("{h}\nx,y,,,z,\nz,w,,,x,\n", "broader than itself"),
    "s13": ("{h}\nx,y,y,,,\n", "SKOS S13"),
    "s14": ("{h}\nx,mantel clock,,,,\n", "SKOS S14"),
    "quote": ('{h}\nx,"y,,,,\n', "not readable as CSV"),
}


@pytest.mark.parametrize("text, told", BROKEN.values(), ids=list(BROKEN))
def test_a_broken_file_is_told_with_its_place(workspace: Workspace, text: str, told: str) -> None:
    own_file(workspace).parent.mkdir(parents=True)
    own_file(workspace).write_text(
        text.format(h="id,prefLabel,altLabels,hiddenLabels,broader,scopeNote")
    )
    with pytest.raises(VocabularyError, match=told) as error:
        check_vocabulary(workspace)
    assert f"{own_file(workspace)}, line" in str(error.value)
