"""SKOS out and in again. rdflib is the outside reader; it shares no code with the writer."""

from __future__ import annotations

import builtins
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import UsageError, VocabularyError
from pipeline.terms.skos import BASE_URI, concepts_to_csv, export_skos, import_skos
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.vocabulary_file import Concept, label_forms
from tests.terms.test_vocabulary import COMMON, GOOD

rdflib = pytest.importorskip("rdflib", reason="the outside reader of SKOS")
from rdflib import RDF, XSD, Graph, Literal, URIRef  # noqa: E402
from rdflib.namespace import SKOS  # noqa: E402

LISTS = {
    "caution_ids": "caution",
    "families": "category",
    "category_ids": "category",
    "material_ids": "material",
    "not_material_ids": "material",
    "fault_ids": "fault",
}
TEXT_LISTS = {"field_only", "head_words", "phrases", "not_phrases"}
YEARS = {"earliest", "latest", "rank"}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Vocabulary:
    folder = tmp_path_factory.mktemp("package")
    for name, text in GOOD.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "makers.csv").write_text(
        f"{COMMON},style of mark\n"
        'odd,"Back\\slash ""& Co""",Tab\there|Ω é 🏺,,,"Two\nlines",a <mark>\n',
        encoding="utf-8",
    )
    return Vocabulary.load(package_dir=folder)


@pytest.fixture(scope="module")
def whole() -> Vocabulary:
    return Vocabulary.load()


def expected(vocabulary: Vocabulary) -> set[tuple[Any, Any, Any]]:
    """Every triple that the vocabulary says, built by rdflib's own terms."""
    triples: set[tuple[Any, Any, Any]] = set()
    for kind in vocabulary.kinds:
        scheme = URIRef(f"{BASE_URI}{kind}")
        triples |= {
            (scheme, RDF.type, SKOS.ConceptScheme),
            (scheme, SKOS.prefLabel, Literal(kind, lang="en")),
        }
        for concept in vocabulary.concepts(kind):
            uri = _uri(kind, concept.id)
            triples |= {
                (uri, RDF.type, SKOS.Concept),
                (uri, SKOS.inScheme, scheme),
                (uri, SKOS.notation, Literal(concept.id)),
                (uri, SKOS.prefLabel, Literal(concept.pref_label, lang="en")),
            }
            for predicate, labels in (
                (SKOS.altLabel, concept.alt_labels),
                (SKOS.hiddenLabel, concept.hidden_labels),
            ):
                triples |= {(uri, predicate, Literal(label, lang="en")) for label in labels}
            if concept.broader is None:
                triples |= {(uri, SKOS.topConceptOf, scheme), (scheme, SKOS.hasTopConcept, uri)}
            else:
                triples.add((uri, SKOS.broader, _uri(kind, concept.broader)))
            if concept.scope_note:
                triples.add((uri, SKOS.scopeNote, Literal(concept.scope_note, lang="en")))
            triples |= _further(uri, concept)
    return triples


def _further(uri: URIRef, concept: Concept) -> set[tuple[Any, Any, Any]]:
    triples: set[tuple[Any, Any, Any]] = set()
    for column, cell in concept.extra.items():
        predicate = URIRef(f"{BASE_URI}property:{column.replace(' ', '%20')}")
        values: Sequence[Any] = []
        if cell and column in YEARS:
            values = [Literal(cell, datatype=XSD.integer)]
        elif column in LISTS:
            values = [_uri(LISTS[column], one) for one in concept.many(column)]
        elif column in TEXT_LISTS:
            values = [Literal(one) for one in concept.many(column)]
        elif cell:
            values = [Literal(cell)]
        triples |= {(uri, predicate, value) for value in values}
    return triples


def _uri(kind: str, concept_id: str) -> URIRef:
    return URIRef(f"{BASE_URI}{kind}:{concept_id}")


@pytest.mark.parametrize("which", ["small", "whole"])
def test_rdflib_reads_every_triple_back_and_no_other(
    which: str, request: pytest.FixtureRequest
) -> None:
    vocabulary: Vocabulary = request.getfixturevalue(which)
    graph = Graph().parse(data=export_skos(vocabulary), format="turtle")
    found, wanted = set(graph), expected(vocabulary)
    assert found - wanted == set()
    assert wanted - found == set()


def test_the_whole_vocabulary_keeps_s13_and_s14(whole: Vocabulary) -> None:
    """SKOS Reference (W3C 2009): S13 labels pairwise disjoint, S14 one prefLabel a language."""
    graph = Graph().parse(data=export_skos(whole), format="turtle")
    for uri in graph.subjects(RDF.type, SKOS.Concept):
        pref = set(graph.objects(uri, SKOS.prefLabel))
        alt = set(graph.objects(uri, SKOS.altLabel))
        hidden = set(graph.objects(uri, SKOS.hiddenLabel))
        assert len(pref) == 1, uri
        assert not (pref & alt or pref & hidden or alt & hidden), uri
        # S27: broader and related are disjoint (nothing here is related); no concept is its own
        assert (uri, SKOS.broader, uri) not in graph


def _comparable(concept: Concept) -> tuple[Any, ...]:
    return (
        concept.id,
        concept.pref_label,
        sorted(concept.alt_labels),
        sorted(concept.hidden_labels),
        concept.broader,
        concept.scope_note,
        {name: set(cell.split("|")) for name, cell in concept.extra.items() if cell},
    )


@pytest.mark.parametrize("kind", ["period", "material", "attribution", "fault", "condition"])
def test_a_kind_comes_back_whole(whole: Vocabulary, kind: str) -> None:
    # one kind at a time: rdflib needs seconds for the whole
    alone = _alone(whole.concepts(kind), kind)
    back = import_skos(export_skos(alone), kind)
    wanted = sorted(map(_comparable, whole.concepts(kind)), key=lambda one: one[0])
    assert [_comparable(one) for one in back] == wanted


def test_what_is_imported_loads_as_a_workspace_file(
    whole: Vocabulary, small: Vocabulary, tmp_path: Path
) -> None:
    back = import_skos(export_skos(_alone(whole.concepts("period"), "period")), "period")
    (tmp_path / "periods.csv").write_text(concepts_to_csv(back, "period"), encoding="utf-8")
    loaded = Vocabulary.load(tmp_path)
    assert loaded.fingerprint == whole.fingerprint or {
        _comparable(one)[0] for one in loaded.concepts("period")
    } == {one.id for one in whole.concepts("period")}
    for concept in whole.concepts("period"):
        assert _comparable(loaded.concept("period", concept.id)) == _comparable(concept)


# --- other people's files ------------------------------------------------------------------

FOREIGN = """
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix xl: <http://www.w3.org/2008/05/skos-xl#> .
@prefix : <https://example.org/woods/> .
:scheme a skos:ConceptScheme ; skos:prefLabel "Woods"@en .
:100 a skos:Concept ; skos:prefLabel "Woods"@en , "Hölzer"@de ; skos:narrower :101 , :102 .
:101 a skos:Concept ; skos:prefLabel "Olive ash"@en-GB ; skos:altLabel "ash, olive"@en ,
    "olive ash"@en , "Frêne"@fr ; skos:hiddenLabel "oliv ash" ; skos:definition "A figure."@en .
:102 a skos:Concept ; skos:prefLabel "Nussbaum"@de ; skos:broader :100 , :sawn .
:sawn skos:prefLabel "sawn | wood"@en , "planks"@en .
:twin a skos:Concept ; skos:prefLabel "Woods (kinds)"@en ; skos:exactMatch :100 .
:103 a skos:Concept ; xl:prefLabel [ xl:literalForm "Box"@en ] ; skos:broader :elsewhere .
"""


def _foreign() -> Mapping[str, Concept]:
    return {one.id: one for one in import_skos(FOREIGN, "material")}


def test_a_foreign_file_gives_its_concepts() -> None:
    found = _foreign()
    assert set(found) == {"woods", "olive-ash", "nussbaum", "sawn", "twin", "box"}
    olive = found["olive-ash"]
    assert olive.pref_label == "Olive ash"
    # the repetition of the preferred label and the French one are left out
    assert olive.alt_labels == ("ash, olive",)
    assert olive.hidden_labels == ("oliv ash",)
    assert olive.scope_note == "A figure."
    assert olive.broader == "woods"  # said by skos:narrower of the other
    assert olive.extra["aspect"] == "material"


def test_another_language_stands_in_and_the_second_parent_is_kept() -> None:
    walnut = _foreign()["nussbaum"]
    assert walnut.pref_label == "Nussbaum"
    assert (walnut.broader, walnut.extra["other_broader"]) == ("sawn", "woods")
    german = {one.pref_label for one in import_skos(FOREIGN, "material", language="de")}
    assert "Hölzer" in german


def test_of_two_preferred_labels_the_second_becomes_an_alternative() -> None:
    sawn = _foreign()["sawn"]
    assert (sawn.pref_label, sawn.alt_labels) == ("planks", ("sawn / wood",))


def test_skos_xl_labels_and_a_parent_outside_the_file() -> None:
    box = _foreign()["box"]
    assert (box.pref_label, box.broader) == ("Box", None)


def test_rdf_xml_reads_as_turtle_does(tmp_path: Path) -> None:
    path = tmp_path / "woods.rdf"
    Graph().parse(data=FOREIGN, format="turtle").serialize(path, format="xml")
    assert import_skos(path, "material", "xml") == import_skos(FOREIGN, "material")


def test_foreign_concepts_load(small: Vocabulary, tmp_path: Path) -> None:
    text = concepts_to_csv(import_skos(FOREIGN, "material"), "material")
    (tmp_path / "materials.csv").write_text(text, encoding="utf-8")
    loaded = Vocabulary.load(tmp_path)
    assert loaded.concept("material", "olive-ash").broader == "woods"


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(VocabularyError, match="not readable as turtle"):
        import_skos("@prefix skos: <unfinished", "material")
    with pytest.raises(VocabularyError, match="not readable as xml"):
        import_skos(FOREIGN, "material", "xml")
    with pytest.raises(VocabularyError, match="holds no SKOS concept"):
        import_skos("<urn:a> <urn:b> <urn:c> .", "material")
    with pytest.raises(VocabularyError, match="cannot be opened"):
        import_skos(tmp_path / "nowhere.ttl", "material")
    with pytest.raises(UsageError, match="no known format"):
        import_skos(FOREIGN, "material", "spreadsheet")
    with pytest.raises(UsageError, match="no kind of term"):
        import_skos(FOREIGN, "colour")


def test_without_rdflib_the_reader_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def no_rdflib(name: str, *rest: Any, **named: Any) -> Any:
        if name.split(".")[0] == "rdflib":
            raise ImportError(name)
        return real(name, *rest, **named)

    monkeypatch.setattr(builtins, "__import__", no_rdflib)
    with pytest.raises(UsageError, match="pip install rdflib"):
        import_skos(FOREIGN, "material")


# --- properties ----------------------------------------------------------------------------

any_text = st.text(st.characters(exclude_categories=("Cs",)), min_size=1).filter(str.strip)


@given(label=any_text, note=any_text)
def test_any_text_survives_the_serialiser(label: str, note: str) -> None:
    concept = Concept("maker", "one", f"x{label}", (), (), None, note, {"where": note})
    graph = Graph().parse(data=export_skos(_alone([concept], "maker")), format="turtle")
    uri = _uri("maker", "one")
    assert str(graph.value(uri, SKOS.prefLabel)) == f"x{label}"
    assert str(graph.value(uri, SKOS.scopeNote)) == note
    assert str(graph.value(uri, URIRef(f"{BASE_URI}property:where"))) == note


def _alone(concepts: Sequence[Concept], kind: str) -> Vocabulary:
    return Vocabulary({kind: {one.id: one for one in concepts}}, (), (), label_forms(concepts))
