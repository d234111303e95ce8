"""The vocabulary as SKOS Turtle, and the concepts of other people's SKOS files.

SKOS Simple Knowledge Organization System Reference, W3C Recommendation, 18 August 2009; Turtle:
RDF 1.1 Turtle, W3C Recommendation, 25 February 2014. Writing needs no library; reading uses
rdflib, which is asked for only then.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

from pipeline.errors import UsageError, VocabularyError
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.vocabulary_file import (
    COMMON_COLUMNS,
    FIELD_ONLY,
    KINDS,
    SEPARATOR,
    Concept,
    exact_form,
)

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

BASE_URI = "urn:resale-comparables:"
LANGUAGE = "en"
FORMATS = {"turtle": "turtle", "ttl": "turtle", "xml": "xml", "rdf": "xml", "rdf-xml": "xml"}

_SKOS = "http://www.w3.org/2004/02/skos/core#"
_SKOS_XL = "http://www.w3.org/2008/05/skos-xl#"
_INTEGER_COLUMNS = frozenset({"earliest", "latest", "rank"})
_CONCEPT_COLUMNS = {
    "caution_ids": "caution",
    "families": "category",
    "category_ids": "category",
    "material_ids": "material",
    "not_material_ids": "material",
    "fault_ids": "fault",
}
_LIST_COLUMNS = frozenset({*_CONCEPT_COLUMNS, FIELD_ONLY, "head_words", "phrases", "not_phrases"})

# What a concept of another vocabulary is until a person says otherwise: columns in which the
# loader takes no empty cell.
_IMPORT_DEFAULTS = {
    "material": {"aspect": "material"},
    "fault": {"kind": "fault", "direction": "neutral"},
    "attribution": {"class": "unknown"},
    "marker": {"kind": "quantity_word"},
}
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}
_TO_ESCAPE = re.compile(r'[\\"\x00-\x1f\x7f\u2028\u2029]')
_NOT_SLUG = re.compile(r"[^a-z0-9]+")


def export_skos(vocabulary: Vocabulary, base_uri: str = BASE_URI) -> str:
    """The whole vocabulary as Turtle.

    One ConceptScheme a kind; of each concept its notation (the id), prefLabel, altLabel,
    hiddenLabel, broader and scopeNote in English, and its further columns as properties under
    `base_uri`property: (years and ranks as xsd:integer, ids as links to the concepts named).

    Args:
        base_uri: what the names of all concepts start with; the default is a name of no registry.
    """
    blocks = [
        f"@prefix skos: <{_SKOS}> .\n"
        "@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .\n"
        f"@prefix property: <{_iri(base_uri)}property:> .\n"
    ]
    for kind in vocabulary.kinds:
        concepts = vocabulary.concepts(kind)
        scheme = f"<{_iri(base_uri)}{kind}>"
        tops = [_name(base_uri, kind, one.id) for one in concepts if one.broader is None]
        lines = ["a skos:ConceptScheme", f"skos:prefLabel {_text(kind, LANGUAGE)}"]
        if tops:
            lines.append("skos:hasTopConcept " + " ,\n        ".join(tops))
        blocks.append(_block(scheme, lines))
        blocks.extend(
            _block(_name(base_uri, kind, one.id), list(_statements(one, scheme, base_uri)))
            for one in concepts
        )
    return "\n".join(blocks)


def import_skos(
    source: str | Path, kind: str, fmt: str = "turtle", *, language: str = LANGUAGE
) -> list[Concept]:
    """The concepts of a SKOS file, as concepts of one kind, in the order of their ids.

    Labels in `language` and those without a language are taken; where a concept has no preferred
    label in it, another language's stands in. Of several preferred labels (against S14) the first
    in the alphabet stays and the rest become alternatives; a label repeated among the three
    types (against S13) stays in the first. Of several broader concepts the first by id stays and
    the others are kept in the column other_broader. Columns that the kind closes and the file
    does not give get a neutral value, for a person to look at.

    Args:
        source: Turtle or RDF/XML as a text, or the path of a file.
        fmt: turtle (or ttl), xml (or rdf, rdf-xml).

    Raises:
        UsageError: rdflib is missing, or an unknown format or kind.
        VocabularyError: the file is not readable in that format, or holds no concept.
    """
    if kind not in KINDS:
        raise UsageError(f"'{kind}' is no kind of term.", todo=f"Use one of: {', '.join(KINDS)}.")
    graph = _parse(source, fmt)
    where = source if isinstance(source, Path) else None
    uris = _concepts_in(graph, kind)
    if not uris:
        raise VocabularyError(
            "The file holds no SKOS concept.",
            where=where,
            todo="Check that it is SKOS (skos:Concept or skos:prefLabel) and the right file.",
        )
    ids = _ids_for(graph, uris, language)
    return sorted((_read(graph, uri, ids, kind, language) for uri in uris), key=lambda one: one.id)


def concepts_to_csv(concepts: Iterable[Concept], kind: str) -> str:
    """Concepts as the text of a vocabulary file of their kind, header first."""
    chosen = list(concepts)
    further = dict.fromkeys(KINDS[kind].columns)
    for one in chosen:
        further.update(dict.fromkeys(one.extra))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*COMMON_COLUMNS, *further])
    for one in chosen:
        cells = (
            one.id, one.pref_label, SEPARATOR.join(one.alt_labels),
            SEPARATOR.join(one.hidden_labels), one.broader or "", one.scope_note,
        )  # fmt: skip
        writer.writerow([*cells, *(one.extra.get(name, "") for name in further)])
    return out.getvalue()


# --- writing -------------------------------------------------------------------------------


def _statements(concept: Concept, scheme: str, base_uri: str) -> Iterator[str]:
    yield "a skos:Concept"
    yield f"skos:inScheme {scheme}"
    if concept.broader is None:
        yield f"skos:topConceptOf {scheme}"
    else:
        yield f"skos:broader {_name(base_uri, concept.kind, concept.broader)}"
    yield f"skos:notation {_text(concept.id)}"
    yield f"skos:prefLabel {_text(concept.pref_label, LANGUAGE)}"
    for name, labels in (("altLabel", concept.alt_labels), ("hiddenLabel", concept.hidden_labels)):
        if labels:
            values = " , ".join(_text(label, LANGUAGE) for label in labels)
            yield f"skos:{name} {values}"
    if concept.scope_note:
        yield f"skos:scopeNote {_text(concept.scope_note, LANGUAGE)}"
    for column, cell in concept.extra.items():
        if cell:
            values = " , ".join(_values(concept, column, cell, base_uri))
            yield f"<{_iri(base_uri)}property:{quote(column, safe='')}> {values}"


def _values(concept: Concept, column: str, cell: str, base_uri: str) -> list[str]:
    if column in _INTEGER_COLUMNS:
        return [f'"{int(cell)}"^^xsd:integer']
    if column in _CONCEPT_COLUMNS:
        return [_name(base_uri, _CONCEPT_COLUMNS[column], one) for one in concept.many(column)]
    if column in _LIST_COLUMNS:
        return [_text(one) for one in concept.many(column)]
    return [_text(cell)]


def _block(subject: str, lines: list[str]) -> str:
    return f"{subject}\n    " + " ;\n    ".join(lines) + " .\n"


def _name(base_uri: str, kind: str, concept_id: str) -> str:
    return f"<{_iri(base_uri)}{kind}:{concept_id}>"


def _iri(uri: str) -> str:
    # Characters that an IRIREF may not hold (Turtle, production 18).
    return re.sub(r'[\x00-\x20<>"{}|^`\\]', lambda found: quote(found.group(0), safe=""), uri)


def _text(value: str, language: str | None = None) -> str:
    escaped = _TO_ESCAPE.sub(
        lambda found: _ESCAPES.get(found.group(0)) or f"\\u{ord(found.group(0)):04X}", value
    )
    return f'"{escaped}"@{language}' if language else f'"{escaped}"'


# --- reading -------------------------------------------------------------------------------


def _parse(source: str | Path, fmt: str) -> Graph:
    if fmt not in FORMATS:
        raise UsageError(f"'{fmt}' is no known format.", todo=f"Use one of: {', '.join(FORMATS)}.")
    try:
        from rdflib import Graph
    except ImportError:
        raise UsageError(
            "Reading SKOS needs the library rdflib, which is not installed.",
            todo="Install it: pip install rdflib",
        ) from None
    where = source if isinstance(source, Path) else None
    if isinstance(source, Path):
        try:
            data: bytes | str = source.read_bytes()
        except OSError as failure:
            raise VocabularyError(
                f"The file cannot be opened: {failure.strerror}.", where=source
            ) from None
    else:
        data = source
    graph = Graph()
    try:
        graph.parse(data=data, format=FORMATS[fmt], publicID="urn:import:")
    except Exception as broken:  # noqa: BLE001 - each of rdflib's parsers has errors of its own
        reason = " ".join(str(broken).split())[:200]
        raise VocabularyError(
            f"The text is not readable as {FORMATS[fmt]}: {reason}",
            where=where,
            todo="Check the format: turtle or xml.",
        ) from None
    return graph


def _concepts_in(graph: Graph, kind: str) -> list[Node]:
    from rdflib import RDF, URIRef

    found = set(graph.subjects(RDF.type, URIRef(_SKOS + "Concept")))
    schemes = set(graph.subjects(RDF.type, URIRef(_SKOS + "ConceptScheme")))
    labelled = set(graph.subjects(URIRef(_SKOS + "prefLabel"))) - schemes
    found |= labelled - set(graph.subjects(RDF.type, URIRef(_SKOS + "Collection")))
    ours = {uri for uri in found if str(uri).startswith(f"{BASE_URI}{kind}:")}
    return sorted(ours or found, key=str)


def _ids_for(graph: Graph, uris: list[Node], language: str) -> dict[Node, str]:
    ids: dict[Node, str] = {}
    taken: set[str] = set()
    for uri in uris:
        wanted = _wanted_id(graph, uri, language)
        unique, number = wanted, 2
        while unique in taken:
            unique, number = f"{wanted}-{number}", number + 1
        taken.add(unique)
        ids[uri] = unique
    return ids


def _wanted_id(graph: Graph, uri: Node, language: str) -> str:
    if str(uri).startswith(BASE_URI):
        return str(uri).rsplit(":", 1)[-1]
    label = _pref_label(graph, uri, language)
    tail = re.split(r"[/#:]", str(uri).rstrip("/#:"))[-1]
    # A running number says nothing to the person who reads the file; the label does.
    candidates = (label, unquote(tail)) if tail[-1:].isdigit() else (unquote(tail), label)
    return next((slug for text in candidates if (slug := _slug(text))), "concept")


def _slug(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(one for one in plain if not unicodedata.combining(one))
    return _NOT_SLUG.sub("-", plain).strip("-")


def _read(graph: Graph, uri: Node, ids: dict[Node, str], kind: str, language: str) -> Concept:
    preferred = _labels(graph, uri, "prefLabel", language)
    pref = _pref_label(graph, uri, language)
    seen = {exact_form(pref)}
    alts = _unseen((*preferred, *_labels(graph, uri, "altLabel", language)), seen)
    hidden = _unseen(_labels(graph, uri, "hiddenLabel", language), seen)
    notes = _labels(graph, uri, "scopeNote", language) or _labels(
        graph, uri, "definition", language
    )
    broader = _broader_ids(graph, uri, ids)
    extra = dict.fromkeys(KINDS[kind].columns, "") | _own_columns(graph, uri)
    for name, value in _IMPORT_DEFAULTS.get(kind, {}).items():
        extra[name] = extra[name] or value
    if len(broader) > 1:
        extra["other_broader"] = SEPARATOR.join(broader[1:])
    return Concept(
        kind=kind,
        id=ids[uri],
        pref_label=pref,
        alt_labels=alts,
        hidden_labels=hidden,
        broader=broader[0] if broader else None,
        scope_note=notes[0] if notes else "",
        extra=extra,
    )


def _unseen(labels: Iterable[str], seen: set[str]) -> tuple[str, ...]:
    kept: list[str] = []
    for label in labels:
        form = exact_form(label)
        if form not in seen:
            seen.add(form)
            kept.append(label)
    return tuple(kept)


def _pref_label(graph: Graph, uri: Node, language: str) -> str:
    found = _labels(graph, uri, "prefLabel", language)
    if not found:
        found = _labels(graph, uri, "prefLabel", None)
    if not found:
        found = [unquote(re.split(r"[/#:]", str(uri).rstrip("/#:"))[-1])]
    return found[0]


def _labels(graph: Graph, uri: Node, name: str, language: str | None) -> list[str]:
    """The texts of a label or note, sorted; with `language`, those in it or without one."""
    from rdflib import Literal, URIRef

    found: list[Any] = list(graph.objects(uri, URIRef(_SKOS + name)))
    for reified in graph.objects(uri, URIRef(_SKOS_XL + name)):
        found.extend(graph.objects(reified, URIRef(_SKOS_XL + "literalForm")))
    texts = {
        " ".join(str(one).replace(SEPARATOR, " / ").split())
        for one in found
        if isinstance(one, Literal) and _is_in(one.language, language)
    }
    return sorted(text for text in texts if any(char.isalnum() for char in text))


def _is_in(tag: str | None, language: str | None) -> bool:
    if tag is None or language is None:
        return True
    return tag.lower().split("-")[0] == language.lower()


def _broader_ids(graph: Graph, uri: Node, ids: dict[Node, str]) -> list[str]:
    from rdflib import URIRef

    above = set(graph.objects(uri, URIRef(_SKOS + "broader")))
    above |= set(graph.subjects(URIRef(_SKOS + "narrower"), uri))
    return sorted(ids[one] for one in above if one in ids and one != uri)


def _own_columns(graph: Graph, uri: Node) -> dict[str, str]:
    start = f"{BASE_URI}property:"
    found: dict[str, list[str]] = {}
    for predicate, value in graph.predicate_objects(uri):
        if str(predicate).startswith(start):
            column = unquote(str(predicate)[len(start) :])
            text = str(value).rsplit(":", 1)[-1] if column in _CONCEPT_COLUMNS else str(value)
            found.setdefault(column, []).append(text)
    return {column: SEPARATOR.join(sorted(values)) for column, values in sorted(found.items())}
