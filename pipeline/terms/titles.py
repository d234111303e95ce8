"""Read titles: what the piece is, of what, when made, in what state, and how surely.

Pure functions on Arrow arrays. Titles are read in chunks of array operations; the only Python
loops run over distinct words and over the rare titles that need a closer look.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.settings import TermSettings
from pipeline.terms.attributions import read_attributions
from pipeline.terms.books import name_books
from pipeline.terms.catalogue_notes import without_notes
from pipeline.terms.cloths import name_cloths
from pipeline.terms.conditions import read_conditions
from pipeline.terms.context import build_context
from pipeline.terms.faults import read_faults
from pipeline.terms.figures import name_ornaments
from pipeline.terms.heads import read_things
from pipeline.terms.impossible import doubt_impossible
from pipeline.terms.lexicon import Lexicon, lexicon_for
from pipeline.terms.material_kinds import in_family
from pipeline.terms.people import without_surnames
from pipeline.terms.period_dates import doubt_before_invention, names_borne_out, settle_by_years
from pipeline.terms.periods import read_periods
from pipeline.terms.phrases import find_phrases
from pipeline.terms.picks import ACCEPTED, NONE, REVIEW, KindReading, lists, names_of
from pipeline.terms.pictures import PRINTED_FROM_PLATES, name_pictures
from pipeline.terms.proper_names import leave_names_alone
from pipeline.terms.quoted import without_quoted
from pipeline.terms.shared_labels import currency_codes, settle_by_currency, settle_by_words
from pipeline.terms.statements import Statements, read_list
from pipeline.terms.subjects import (
    name_by_last_clause,
    name_plans,
    name_portraits,
    name_schools,
    name_shown,
    name_tribal,
    shown_not_sold,
)
from pipeline.terms.text import fold_texts, one_array
from pipeline.terms.title_dates import TitleDates, title_dates
from pipeline.terms.tokens import TokenStream, prepare, tokenise
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.wholes import PART, Materials, read_materials
from pipeline.terms.work_dates import dated_by_work

CHUNK_TITLES = 50_000  # titles read at once: bounds the memory, changes no result
TITLE_ACCEPT_SCORE = 86.0  # 0 to 100; one slip in seven letters passes, a title is other evidence

_JOINING = frozenset(
    ["a", "an", "and", "as", "at", "by", "for", "from", "in", "is", "it", "of", "on", "or",
     "that", "the", "this", "to", "was", "with", "circa", "ca", "about", "approx",
     "approximately", "around",
     "dated"]
)  # fmt: skip

SCHEMA = pa.schema(
    [
        ("category_id", pa.string()),
        ("category_score", pa.float32()),
        ("category_status", pa.string()),
        ("material_id", pa.string()),
        ("material_status", pa.string()),
        ("material_ids", pa.list_(pa.string())),
        ("part_material_ids", pa.list_(pa.string())),
        ("period_id", pa.string()),
        ("period_status", pa.string()),
        ("period_is_style", pa.bool_()),
        ("condition", pa.string()),
        ("condition_status", pa.string()),
        ("attribution_id", pa.string()),
        ("attribution", pa.string()),
        ("attribution_status", pa.string()),
        ("faults", pa.list_(pa.string())),
        ("markers", pa.list_(pa.string())),
        ("made_earliest", pa.int32()),
        ("made_latest", pa.int32()),
        ("n_words", pa.int32()),
        ("n_words_known", pa.int32()),
    ]
)


@dataclass(frozen=True)
class TitleReading:
    """Everything read from a chunk of titles, as numbers; see `read_titles` for the table."""

    stream: TokenStream
    kinds: dict[str, KindReading]
    materials: Materials
    period_is_style: npt.NDArray[np.bool_]
    classes: list[str]
    attribution_class: npt.NDArray[np.int32]
    faults: Statements
    markers: Statements
    dates: TitleDates
    n_words_known: npt.NDArray[np.int32]
    known: npt.NDArray[np.bool_]  # of each word: whether it is part of a phrase found


def read_titles(
    titles: pa.Array | pa.ChunkedArray,
    vocabulary: Vocabulary | None = None,
    settings: TermSettings | None = None,
    currencies: pa.Array | pa.ChunkedArray | None = None,
) -> pa.Table:
    """What each title says.

    Args:
        titles: strings; null reads as nothing.
        vocabulary: the package's own where None.
        settings: `circa_years` (years) and `century` shape the dates; categories and materials less
            sure than `least_sure` wait for a person.
        currencies: ISO 4217 codes, one a title; they tell a British bureau from an American one.
            Without them such a word waits for a person.

    Returns:
        one row a title, columns as in `SCHEMA`: an id is null where nothing was found; a status is
        accepted, review (found, but a person should see it) or none. `material_ids` are the
        materials of the whole piece, `part_material_ids` those of parts and additions;
        category_score is the likeness to a label, and no more than the chance in 100 that the
        reading is right;
        `attribution` is the class of the rung (period, style, reproduction, unknown); made_earliest
        and made_latest are years, negative for BC.
    """
    lexicon = lexicon_for(vocabulary)
    settings = settings or TermSettings()
    column = titles if isinstance(titles, pa.ChunkedArray) else pa.chunked_array([titles])
    codes = None if currencies is None else currency_codes(currencies)
    tables = []
    for begin in range(0, len(column), CHUNK_TITLES):
        reading = read_chunk(lexicon, one_array(column.slice(begin, CHUNK_TITLES)), settings)
        if codes is not None:
            settle_by_currency(
                lexicon, reading.kinds["category"], codes[begin : begin + CHUNK_TITLES]
            )
        tables.append(_table(lexicon, reading))
    return pa.concat_tables(tables) if tables else SCHEMA.empty_table()


def read_chunk(
    lexicon: Lexicon,
    titles: pa.Array,
    settings: TermSettings,
    *,
    with_dates: bool = True,
    as_field: str | None = None,
) -> TitleReading:
    """Read one chunk into numbers.

    Args:
        as_field: the kind that the texts are a field of; in a field of conditions a bare grade
            word is a grade.
    """
    lexicon = lexicon.view(as_field)
    stream = tokenise(prepare(fold_texts(titles, tidy=False)), lexicon.look_up)
    if as_field is None:
        leave_names_alone(titles, stream)
    found = without_surnames(lexicon, stream, find_phrases(lexicon, stream))
    found = without_quoted(lexicon, stream, found)
    found = without_notes(lexicon, stream, found)
    context = build_context(lexicon, stream, found)
    category, things, head = read_things(lexicon, stream, found, context)
    settle_by_words(lexicon, stream, category, things, head)
    materials = read_materials(lexicon, stream, found, context, things, head)
    shown = shown_not_sold(lexicon, stream, things, head, category)
    name_portraits(lexicon, stream, category, materials)
    name_pictures(lexicon, stream, category, materials)
    name_shown(lexicon, stream, category, materials, shown)
    name_by_last_clause(lexicon, stream, things, head, category, materials)
    name_tribal(lexicon, stream, category, materials)
    name_plans(lexicon, stream, category)
    name_schools(lexicon, stream, things, head, category, materials)
    name_ornaments(lexicon, stream, category, materials)
    name_books(lexicon, stream, category)
    name_cloths(lexicon, stream, category, materials)
    doubt_impossible(lexicon, category, materials)
    dates = title_dates(stream, settings) if with_dates else TitleDates.nothing(stream.n_titles)
    borne_out = names_borne_out(lexicon, stream, found, context, dates, category.concept)
    period, period_is_style = read_periods(lexicon, stream, found, context, borne_out)
    if as_field == "period":
        period.doubtful |= context.hedged_title
    doubt_before_invention(lexicon, period, period_is_style, category)
    condition = read_conditions(
        lexicon, stream, found, context, category.concept, bare_grades=as_field == "condition"
    )
    # the years of a period's name hold only where the name is said of the piece
    unsaid = dates.by_name & ((period.concept < 0) | period_is_style | period.doubtful)
    faults = read_faults(lexicon, stream, found, context, category.concept)
    unsaid[dated_by_work(lexicon, stream, faults)] = True
    as_named = period.concept.copy()
    settle_by_years(lexicon, stream, period, period_is_style, dates, context.hedged_title)
    unsaid |= dates.by_name & (period.concept != as_named)  # the years of Queen Anne's reign
    for present in (dates.has_earliest, dates.has_latest, dates.is_dated):
        present[unsaid] = False
    attribution, classes, class_number = read_attributions(
        lexicon,
        stream,
        found,
        context,
        period,
        period_is_style,
        dates.is_dated,
        in_family(lexicon, things, head, stream.n_titles, "prints-and-paintings"),
        in_family(lexicon, things, head, stream.n_titles, *PRINTED_FROM_PLATES),
        own_field=as_field == "attribution",
    )
    for reading in (category, materials.reading):
        reading.doubtful |= (reading.concept >= 0) & (reading.sureness < settings.least_sure)
    known = np.zeros(stream.n_titles, dtype=np.int32)
    if len(stream):
        known += np.bincount(stream.title, weights=context.known, minlength=stream.n_titles).astype(
            np.int32
        )
    return TitleReading(
        stream=stream,
        kinds={
            "category": category,
            "material": materials.reading,
            "period": period,
            "condition": condition,
            "attribution": attribution,
        },
        materials=materials,
        period_is_style=period_is_style,
        classes=classes,
        attribution_class=class_number,
        faults=faults,
        markers=read_list(lexicon, stream, found, context, "marker"),
        dates=dates,
        n_words_known=known,
        known=context.known,
    )


def unread_words(
    titles: pa.Array, vocabulary: Vocabulary | None = None, settings: TermSettings | None = None
) -> list[list[str]]:
    """The words of each title that belong to nothing that was found, in their order, each once.

    Numbers and words that only join others are left out.
    """
    reading = read_chunk(lexicon_for(vocabulary), one_array(titles), settings or TermSettings())
    stream = reading.stream
    out: list[list[str]] = [[] for _ in range(stream.n_titles)]
    telling = ~reading.known & ~stream.is_number
    for at in np.flatnonzero(telling):
        word = stream.spellings[stream.spelling[at]]
        mine = out[stream.title[at]]
        told = word in _JOINING or any(c.isdigit() for c in word)
        if not told and word not in mine and len(word) > 1:
            mine.append(word)
    return out


def how_sure(reading: KindReading) -> npt.NDArray[np.float32]:
    """0 to 100 for each title: the likeness to a label, or the chance to be right if that is less.

    What waits for a person has a lower score already.
    """
    return np.where(reading.doubtful, reading.score, np.minimum(reading.score, reading.sureness))


def status_of(reading: KindReading) -> pa.Array:
    """accepted, review or none for each title."""
    taken = (reading.concept >= 0) & (reading.score >= TITLE_ACCEPT_SCORE) & ~reading.doubtful
    number = np.where(reading.concept < 0, 2, np.where(taken, 0, 1)).astype(np.int32)
    return names_of((ACCEPTED, REVIEW, NONE), number)


def _table(lexicon: Lexicon, reading: TitleReading) -> pa.Table:
    n = reading.stream.n_titles
    ids = lexicon.concept_ids
    kinds = reading.kinds
    columns: dict[str, pa.Array] = {}
    for kind in ("category", "material", "period", "condition", "attribution"):
        name = "condition" if kind == "condition" else f"{kind}_id"
        columns[name] = names_of(ids.get(kind, ()), kinds[kind].concept)
        columns[f"{kind}_status"] = status_of(kinds[kind])
    columns["category_score"] = pa.array(
        how_sure(kinds["category"]), pa.float32(), mask=kinds["category"].concept < 0
    )
    whole, parts = _material_lists(lexicon, reading.materials, n)
    columns["material_ids"], columns["part_material_ids"] = whole, parts
    columns["period_is_style"] = pa.array(reading.period_is_style)
    columns["attribution"] = names_of(tuple(reading.classes), reading.attribution_class)
    for name, said, kind in (
        ("faults", reading.faults, "fault"),
        ("markers", reading.markers, "marker"),
    ):
        columns[name] = lists(n, said.title, ids.get(kind, ()), said.concept)
    dates = reading.dates
    columns["made_earliest"] = pa.array(dates.earliest, pa.int32(), mask=~dates.has_earliest)
    columns["made_latest"] = pa.array(dates.latest, pa.int32(), mask=~dates.has_latest)
    columns["n_words"] = pa.array(np.diff(reading.stream.first).astype(np.int32))
    columns["n_words_known"] = pa.array(reading.n_words_known)
    return pa.table([columns[name] for name in SCHEMA.names], schema=SCHEMA)


def _material_lists(
    lexicon: Lexicon, materials: Materials, n_titles: int
) -> tuple[pa.Array, pa.Array]:
    """Materials of the whole (the chosen one first) and of parts, distinct, in order of place."""
    names = lexicon.concept_ids["material"]
    chosen = materials.reading.concept
    title, concept = materials.title, materials.concept
    main = concept == chosen[title] if len(title) else np.zeros(0, dtype=bool)
    whole = (materials.place != PART) | main
    built = []
    for rows in (np.flatnonzero(whole), np.flatnonzero(~whole)):
        key = title[rows].astype(np.int64) * (len(names) + 1) + concept[rows]
        _, first = np.unique(key, return_index=True)
        rows = rows[np.sort(first)]
        order = np.lexsort((np.arange(len(rows)), ~main[rows], title[rows]))
        rows = rows[order]
        built.append(lists(n_titles, title[rows], names, concept[rows]))
    return built[0], built[1]
