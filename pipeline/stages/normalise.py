"""Normalise: what a seller wrote becomes concepts of the controlled vocabulary.

Read: landed rows. Work: each mapped field by its distinct spellings, and every title; what a
field states counts before what the title says, unless the title names a narrower kind of the same
thing. Write: the term columns of `sales`, aligned with the rows; nothing is looked up twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.columns import SALES
from pipeline.settings import TermSettings
from pipeline.stages.distinct import by_distinct, is_true, one_array, union_lists
from pipeline.terms.cautions import find_cautions
from pipeline.terms.dates import read_dates
from pipeline.terms.decisions import TermDecisions
from pipeline.terms.reader import KINDS, read_terms
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary

FIELDS = KINDS
PARTS_OF_A_WHOLE = ("part", "empty_box")
UNDECIDED = ("review",)
AUTHORED = ("prints-and-paintings", "sculpture", "maps-and-globes", "books-and-paper")
OLD_FROM_YEARS = 30  # a thing of one generation ago; common practice, no source


@dataclass(frozen=True)
class TermReader:
    """The vocabulary in force, the decisions taken and the settings of reading."""

    vocabulary: Vocabulary
    decisions: TermDecisions | None
    settings: TermSettings


def read_field(
    texts: pa.Array, kind: str, reader: TermReader, currencies: pa.Array | None = None
) -> pa.Table:
    """The concepts of n spellings of one field, with the columns of `read_terms`.

    Args:
        currencies: n ISO 4217 codes, where the same spelling may mean two things.
    """
    return read_terms(
        texts,
        kind,
        vocabulary=reader.vocabulary,
        decisions=reader.decisions,
        settings=reader.settings,
        currencies=currencies,
    )


def normalise(
    landed: pa.Table, sold_on: pa.Array, currencies: pa.Array, reader: TermReader
) -> pa.Table:
    """The term columns of n landed rows.

    Args:
        landed: schema `LANDED`.
        sold_on: n dates of sale; null where none was read.
        currencies: n ISO 4217 codes; they tell what two trades mean by one word.

    Returns:
        Table of n rows: category_id, family_id, category_method, category_score, material_id,
        period_id, made_from_year, made_to_year, condition, attribution, attribution_id, maker_id,
        faults, cautions, `term_flags` (reasons that keep the row from the bands) and `markers`
        of lots and parts in the title.
    """
    titles = _titles(landed, currencies, reader)
    fields = {
        kind: by_distinct(
            landed.column(f"{kind}_text"), partial(read_field, kind=kind, reader=reader)
        )
        for kind in FIELDS
        if kind != "category"
    }
    # some words name one thing in one trade and another in the next: the currency tells
    fields["category"] = read_field(
        one_array(landed.column("category_text")), "category", reader, currencies
    )
    category, method, score, in_review = _category(fields["category"], titles, reader.vocabulary)
    maker = fields["maker"]
    material = _field_first(fields["material"], _taken(titles, "material", "material_id"))
    period = _field_first(fields["period"], _taken(titles, "period", "period_id"))
    condition = pc.fill_null(
        _field_first(fields["condition"], _taken(titles, "condition", "condition")), "unknown"
    )
    made = _made(landed, titles, reader)
    families = _families(category, reader.vocabulary)
    rung, kind_of_piece = _attribution(
        landed, fields["attribution"], titles, made, families, sold_on, reader
    )
    state = _read_beside(landed.column("condition_text"), reader)
    remarks = _read_beside(_description_beside_a_title(landed), reader)
    everything = (titles, state, remarks)
    faults = union_lists([one_array(t["faults"]) for t in everything])
    markers = one_array(titles["markers"])
    flags = _flags(category, in_review, markers, reader.vocabulary)
    cautions = find_cautions(
        _all_words(landed),
        category,
        union_lists(
            [_as_lists(material)]
            + [one_array(t[k]) for t in everything for k in ("material_ids", "part_material_ids")]
        ),
        faults,
        made["made_from_year"],
        made["made_to_year"],
        vocabulary=reader.vocabulary,
    )
    columns = {
        "category_id": category,
        "family_id": families,
        "category_method": method,
        "category_score": score,
        "material_id": material,
        "period_id": period,
        "made_from_year": made["made_from_year"],
        "made_to_year": made["made_to_year"],
        "condition": condition,
        "attribution": kind_of_piece,
        "attribution_id": rung,
        "maker_id": pc.if_else(_accepted(maker), one_array(maker["concept_id"]), None),
        "faults": faults,
        "cautions": cautions,
    }
    table = pa.table({k: one_array(v).cast(SALES.column(k).type) for k, v in columns.items()})
    return table.append_column("term_flags", flags).append_column("markers", markers)


def _titles(landed: pa.Table, currencies: pa.Array, reader: TermReader) -> pa.Table:
    """What the titles say; a row without a title is read by its description."""
    text = pc.coalesce(landed.column("title_text"), landed.column("description_text"))
    return read_titles(one_array(text), reader.vocabulary, reader.settings, currencies=currencies)


def _read_beside(texts: pa.ChunkedArray, reader: TermReader) -> pa.Table:
    """What a condition or a description says beside the title, by distinct texts."""
    return by_distinct(
        texts,
        lambda distinct: read_titles(distinct, reader.vocabulary, reader.settings).select(
            ["faults", "material_ids", "part_material_ids"]
        ),
    )


def _description_beside_a_title(landed: pa.Table) -> pa.ChunkedArray:
    """Descriptions of the rows that have a title; the others are read by their description."""
    return pc.if_else(
        pc.is_valid(landed.column("title_text")), landed.column("description_text"), None
    )


def _all_words(landed: pa.Table) -> pa.Array:
    """Title, description and condition as one text."""
    names = ("title_text", "description_text", "condition_text")
    return one_array(
        pc.binary_join_element_wise(*(landed.column(c) for c in names), " ; ", null_handling="skip")
    )


def _as_lists(column: pa.Array) -> pa.Array:
    """Each value as a list of one; null as an empty list."""
    present = pc.is_valid(column).to_numpy(zero_copy_only=False)
    offsets = np.concatenate(([0], np.cumsum(present))).astype(np.int32)
    return pa.ListArray.from_arrays(pa.array(offsets), pc.drop_null(column).cast(pa.string()))


def _accepted(field: pa.Table) -> pa.Array:
    return is_true(pc.equal(field["status"], "accepted"))


def _field_first(field: pa.Table, from_title: pa.Array) -> pa.Array:
    return pc.if_else(_accepted(field), one_array(field["concept_id"]), from_title)


def _taken(titles: pa.Table, kind: str, column: str) -> pa.Array:
    """What titles say of a kind where it is sure; what waits for a person is no figure's ground."""
    sure = is_true(pc.equal(titles[f"{kind}_status"], "accepted"))
    return pc.if_else(sure, one_array(titles[column]), None)


def _category(
    field: pa.Table, titles: pa.Table, vocabulary: Vocabulary
) -> tuple[pa.Array, pa.Array, pa.Array, pa.Array]:
    """Category, method, score, and whether only a doubtful one was found.

    The field counts before the title, but a title that names a narrower kind of what the field
    says ("Furniture", "oak gateleg table") makes it precise.
    """
    from_field = pc.if_else(_accepted(field), one_array(field["concept_id"]), None)
    title_taken = is_true(pc.equal(titles["category_status"], "accepted"))
    from_title = pc.if_else(title_taken, one_array(titles["category_id"]), None)
    narrower = _is_below(from_title, from_field, vocabulary)
    use_title = pc.or_(pc.is_null(from_field), narrower)
    category = pc.if_else(use_title, from_title, from_field)
    method = pc.if_else(use_title, "phrase", one_array(field["method"]))
    method = pc.if_else(pc.is_null(category), "none", method)
    score = pc.if_else(use_title, one_array(titles["category_score"]), one_array(field["score"]))
    doubtful = pc.or_(
        is_true(pc.is_in(one_array(field["status"]), value_set=pa.array(UNDECIDED))),
        is_true(pc.is_in(one_array(titles["category_status"]), value_set=pa.array(UNDECIDED))),
    )
    return category, method, pc.cast(score, pa.float64()), pc.and_(pc.is_null(category), doubtful)


def _is_below(narrow: pa.Array, wide: pa.Array, vocabulary: Vocabulary) -> pa.Array:
    """Whether `narrow` lies under `wide` in the tree, row by row, by distinct pairs."""
    pairs = pc.binary_join_element_wise(pc.fill_null(narrow, ""), pc.fill_null(wide, ""), " under ")

    def judge(texts: pa.Array) -> pa.Table:
        below = []
        for pair in texts.to_pylist():
            lower, _, upper = pair.partition(" under ")
            known = lower and upper
            below.append(bool(known) and upper in vocabulary.ancestors("category", lower))
        return pa.table({"below": pa.array(below, pa.bool_())})

    return is_true(by_distinct(pairs, judge)["below"])


def _families(category: pa.Array, vocabulary: Vocabulary) -> pa.Array:
    def root(texts: pa.Array) -> pa.Table:
        return pa.table({"f": pa.array([vocabulary.family(c) for c in texts.to_pylist()],
                                       pa.string())})  # fmt: skip

    return one_array(by_distinct(category, root)["f"])


def _made(landed: pa.Table, titles: pa.Table, reader: TermReader) -> dict[str, pa.Array]:
    """Years of making: of the period field where it holds a date, else of the title."""

    def years(texts: pa.Array) -> pa.Table:
        read = read_dates(
            texts, circa_years=reader.settings.circa_years, century=reader.settings.century
        )
        return read.select(["earliest_year", "latest_year"])

    field = by_distinct(landed.column("period_text"), years)
    low, high = (one_array(field[k]) for k in ("earliest_year", "latest_year"))
    stated = pc.or_(pc.is_valid(low), pc.is_valid(high))
    return {
        "made_from_year": pc.if_else(stated, low, one_array(titles["made_earliest"])),
        "made_to_year": pc.if_else(stated, high, one_array(titles["made_latest"])),
    }


def _attribution(
    landed: pa.Table,
    field: pa.Table,
    titles: pa.Table,
    made: dict[str, pa.Array],
    family: pa.Array,
    sold_on: pa.Array,
    reader: TermReader,
) -> tuple[pa.Array, pa.Array]:
    """Rung of the ladder, and class: the attribution field, else the period field, else the title.

    "Victorian style" in the period field is a later piece; "Victorian", or a date long past, is
    one of its time.
    """
    classes = {
        c.id: c.extra.get("class", "unknown") for c in reader.vocabulary.concepts("attribution")
    }
    rung_of_field = pc.if_else(_accepted(field), one_array(field["concept_id"]), None)
    class_of_field = _mapped(rung_of_field, classes)
    said = by_distinct(
        landed.column("period_text"),
        lambda texts: read_titles(texts, reader.vocabulary, reader.settings),
    )
    class_of_period = pc.fill_null(one_array(said["attribution"]), "unknown")
    class_of_title = pc.fill_null(one_array(titles["attribution"]), "unknown")
    by_date = pc.if_else(_is_old(sold_on, made), "period", "unknown")
    silent = _says_nothing_of_its_time(titles, family)
    class_of_title = pc.if_else(silent, pa.scalar("unknown"), class_of_title)
    known = [_unless_unknown(a) for a in (class_of_field, class_of_period, class_of_title)]
    # a later copy named in the title outweighs a bare period in a field
    later = is_true(pc.is_in(class_of_title, value_set=pa.array(["style", "reproduction"])))
    first = pc.coalesce(known[0], pc.if_else(later, known[2], None), known[1], known[2], by_date)
    rung = pc.coalesce(rung_of_field, pc.if_else(silent, None, one_array(titles["attribution_id"])))
    return rung, first


def _is_old(sold_on: pa.Array, made: dict[str, pa.Array]) -> pa.Array:
    """Whether a stated date lies long enough before the sale to tell the piece from later ones.

    A recent thing with its year ("2008") is not set apart from the same thing without it.
    """
    latest = pc.coalesce(made["made_to_year"], made["made_from_year"])
    sold = pc.cast(pc.year(sold_on), pa.int32())
    return is_true(pc.less_equal(latest, pc.subtract(sold, OLD_FROM_YEARS)))


def _says_nothing_of_its_time(titles: pa.Table, family: pa.Array) -> pa.Array:
    """Titles without a period that name a maker ("by ..."), or no more than a date.

    A date is judged by its age. "By" is a claim of authorship for pictures, maps and books; for
    other goods it says nothing of original or copy.
    """
    rung = one_array(titles["attribution_id"])
    authored = is_true(pc.is_in(family, value_set=pa.array(AUTHORED)))
    only_maker = pc.and_(is_true(pc.equal(rung, "by")), pc.invert(authored))
    no_period = pc.is_null(one_array(titles["period_id"]))
    as_of_its_time = is_true(pc.equal(titles["attribution"], "period"))
    only_date = pc.or_(pc.is_null(rung), is_true(pc.equal(rung, "of-the-period")))
    return pc.and_(pc.and_(as_of_its_time, no_period), pc.or_(only_maker, only_date))


def _unless_unknown(classes: pa.Array) -> pa.Array:
    return pc.if_else(pc.equal(classes, "unknown"), None, classes)


def _mapped(column: pa.Array, values: dict[str, str]) -> pa.Array:
    def look_up(texts: pa.Array) -> pa.Table:
        return pa.table({"v": pa.array([values.get(t) for t in texts.to_pylist()], pa.string())})

    return one_array(by_distinct(column, look_up)["v"])


def _flags(
    category: pa.Array, in_review: pa.Array, markers: pa.Array, vocabulary: Vocabulary
) -> pa.Array:
    """Reasons of the terms that keep a row from the bands, as lists."""
    n = len(category)
    kinds = {c.id: c.extra.get("kind", "") for c in vocabulary.concepts("marker")}
    only_part = _any_in_list(markers, {k for k, v in kinds.items() if v in PARTS_OF_A_WHOLE})
    not_sold = _any_in_list(markers, {k for k, v in kinds.items() if v == "not_a_sale"})
    told = {
        "not_sold": not_sold,
        "no_category": pc.and_(pc.is_null(category), pc.invert(in_review)),
        "category_in_review": in_review,
        "part_only": only_part,
    }
    return lists_of_reasons(told, n)


def _any_in_list(lists: pa.Array, wanted: set[str]) -> pa.Array:
    """Whether a row's list holds any of the wanted values."""
    n = len(lists)
    found = np.zeros(n, dtype=bool)
    if wanted:
        values = pc.list_flatten(lists)
        rows = pc.list_parent_indices(lists)
        hit = is_true(pc.is_in(values, value_set=pa.array(sorted(wanted), pa.string())))
        found[rows.to_numpy(zero_copy_only=False)[hit.to_numpy(zero_copy_only=False)]] = True
    return pa.array(found)


def lists_of_reasons(told: dict[str, pa.Array], n: int) -> pa.Array:
    """Masks by reason -> one list of reasons a row, in the order of the masks."""
    if not told or not n:
        return pa.array([[]] * n, pa.list_(pa.string()))
    names = list(told)
    masks = np.array([is_true(m).to_numpy(zero_copy_only=False) for m in told.values()])
    at = np.argwhere(masks.T)
    offsets = np.concatenate(([0], np.cumsum(masks.sum(axis=0)))).astype(np.int32)
    values = pa.array(names, pa.string()).take(pa.array(at[:, 1]))
    return pa.ListArray.from_arrays(pa.array(offsets), values)
