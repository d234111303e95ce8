"""Described pieces in the terms of the sales: read by the same stage that reads the exports."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import LANDED
from pipeline.errors import UsageError
from pipeline.stages.distinct import one_array
from pipeline.stages.lots import read_lots
from pipeline.stages.measures import read_measures
from pipeline.stages.normalise import TermReader, normalise
from pipeline.terms.size_words import SIZE_WORDS, sizes_in_words
from pipeline.terms.text import normalise_label
from pipeline.terms.titles import read_titles, unread_words

TEXT_FIELDS = (
    "description", "category", "material", "period", "condition", "attribution", "maker", "size",
    "faults", "market",
)  # fmt: skip
NUMBER_FIELDS = ("quantity", "asking_price", "cleaning_cost", "repair_cost")


@dataclass(frozen=True)
class Pieces:
    """Pieces as they were read.

    terms: the columns of `normalise`, with set_size and the title in `title_text`; understood: in
    words, one text a piece; unread: words that told nothing; candidates: labels of categories
    that are only likely, one list a piece.
    """

    terms: pa.Table
    understood: list[str]
    unread: list[list[str]]
    candidates: list[list[str]]


def as_items(items: pa.Table | list[dict[str, object]] | list[str]) -> pa.Table:
    """Descriptions, or rows of fields, as a table with every field; what is not given is null.

    Raises:
        UsageError: a field is none of `TEXT_FIELDS` and `NUMBER_FIELDS`, or no piece is described.
    """
    if not isinstance(items, pa.Table):
        rows = [{"description": i} if isinstance(i, str) else i for i in items]
        names = list(dict.fromkeys(name for row in rows for name in row))
        items = pa.table({name: pa.array([row.get(name) for row in rows]) for name in names})
    known = (*TEXT_FIELDS, *NUMBER_FIELDS)
    unknown = [name for name in items.column_names if name not in known]
    if unknown:
        raise UsageError(
            f"A piece has no field '{unknown[0]}'.", todo=f"The fields are {', '.join(known)}."
        )
    if not items.num_rows or not any(n in items.column_names for n in ("description", "category")):
        raise UsageError(
            "No piece is described.", todo="Give each a description, or at least a category."
        )
    columns = {}
    for name in known:
        kind = pa.string() if name in TEXT_FIELDS else pa.float64()
        if name not in items.column_names:
            columns[name] = pa.nulls(items.num_rows, kind)
            continue
        try:
            columns[name] = one_array(items[name].cast(kind))
        except pa.ArrowInvalid as error:
            raise UsageError(f"The field '{name}' does not hold: {error}.") from None
    return pa.table(columns)


def read_pieces(
    items: pa.Table,
    reader: TermReader,
    day: dt.date,
    currency: str,
    label_of: Callable[[str, str], str],
) -> Pieces:
    """Read pieces as the exports are read.

    Args:
        items: from `as_items`.
        day: the day they stand for sale; tells what is old.
        currency: of the workspace; it tells what two trades mean by one word.
        label_of: (kind, concept id) -> preferred label.
    """
    n = items.num_rows
    landed = _as_landed(items)
    terms = normalise(
        landed, pa.array([day] * n, pa.date32()), pa.array([currency] * n, pa.string()), reader
    )
    lots = read_lots(landed)
    terms = terms.append_column("set_size", lots["set_size"])
    terms = terms.append_column("title_text", landed.column("title_text"))
    terms = terms.append_column("measures", read_measures(landed)["measures"])
    texts = one_array(landed.column("title_text"))
    return Pieces(
        terms,
        [_in_words(row, label_of) for row in terms.to_pylist()],
        _unread(texts, terms["measures"], reader),
        _candidates(terms, texts, reader, label_of),
    )


def _as_landed(items: pa.Table) -> pa.Table:
    """The fields in the places where an export would have them; faults beside the title."""
    n = items.num_rows
    told = {
        "title_text": items["description"],
        "description_text": items["faults"],
        "category_text": items["category"],
        "material_text": items["material"],
        "period_text": items["period"],
        "condition_text": items["condition"],
        "attribution_text": items["attribution"],
        "maker_text": items["maker"],
        "size_text": items["size"],
        "quantity_text": _whole_numbers(one_array(items["quantity"])),
    }
    columns = {}
    for field in LANDED:
        given = told.get(field.name)
        columns[field.name] = (
            pa.nulls(n, field.type) if given is None else one_array(given).cast(field.type)
        )
    columns["line_number"] = pa.array(range(n), pa.int64())
    title = columns["title_text"]
    # a piece that is told by its fields alone is read by them as a title
    fields = [columns[f"{k}_text"].to_pylist() for k in ("category", "material", "period")]
    told_by_fields = pa.array(
        [", ".join(filter(None, of_one)) for of_one in zip(*fields, strict=True)], pa.string()
    )
    blank = pc.equal(pc.utf8_trim_whitespace(pc.fill_null(title, "")), "")
    columns["title_text"] = pc.if_else(blank, told_by_fields, title)
    return pa.table(columns, schema=LANDED)


def _unread(texts: pa.Array, measures: pa.ChunkedArray, reader: TermReader) -> list[list[str]]:
    """Words that told nothing: neither a term nor, where a size was read, its unit or axis."""
    unread = unread_words(pc.fill_null(texts, ""), reader.vocabulary, reader.settings)
    sized = pc.is_valid(measures).to_pylist()
    return [
        [word for word in words if not (told and word in SIZE_WORDS)]
        for words, told in zip(unread, sized, strict=True)
    ]


def _whole_numbers(numbers: pa.Array) -> pa.Array:
    return pa.array(
        [None if v is None or v != v else f"{v:g}" for v in numbers.to_pylist()], pa.string()
    )


def _in_words(row: dict[str, Any], label_of: Callable[[str, str], str]) -> str:
    """What was understood of a piece, as one line."""
    parts = []
    for kind, name in (("category", "category_id"), ("material", "material_id"),
                       ("period", "period_id"), ("maker", "maker_id")):  # fmt: skip
        if row[name]:
            parts.append(label_of(kind, str(row[name])))
    made = _years(row["made_from_year"], row["made_to_year"])
    if made:
        parts.append(f"made {made}")
    if row["condition"] != "unknown":
        parts.append(f"condition {label_of('condition', str(row['condition']))}")
    if row["attribution"] != "unknown":
        parts.append({"period": "of its period", "style": "a later piece in the style",
                      "reproduction": "a reproduction"}[str(row["attribution"])])  # fmt: skip
    faults = row["faults"]
    if isinstance(faults, list):
        parts += [label_of("fault", fault) for fault in faults]
    parts += sizes_in_words(row["measures"])
    if row["set_size"] != "single":
        size = str(row["set_size"])
        known = {"pair": "a pair", "bulk": "a lot", "untold": "a set, of how many not told"}
        parts.append(known.get(size, f"set of {size}"))
    return "; ".join(parts)


def _years(earliest: object, latest: object) -> str:
    if earliest is None and latest is None:
        return ""
    if earliest is None:
        return f"by {latest}"
    if latest is None:
        return f"from {earliest}"
    return f"{earliest}" if earliest == latest else f"{earliest} to {latest}"


def _candidates(
    terms: pa.Table, texts: pa.Array, reader: TermReader, label_of: Callable[[str, str], str]
) -> list[list[str]]:
    """Categories that were found but are not clear, where none is."""
    out: list[list[str]] = [[] for _ in range(len(texts))]
    open_ones = np.flatnonzero(pc.is_null(terms["category_id"]).to_numpy())
    if not len(open_ones):
        return out
    titles = read_titles(texts.take(pa.array(open_ones)), reader.vocabulary, reader.settings)
    labels = reader.vocabulary.labels("category")
    for row, likely in zip(open_ones.tolist(), titles["category_id"].to_pylist(), strict=True):
        carriers = labels.get(normalise_label(texts[row].as_py() or ""), ())
        found = dict.fromkeys([likely, *(entry.concept_id for entry in carriers)])
        out[row] = [label_of("category", one) for one in found if one]
    return out
