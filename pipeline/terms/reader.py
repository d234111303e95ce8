"""The batch form: a column of texts in, a table of terms out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import UsageError
from pipeline.settings import TermSettings
from pipeline.terms.aliases import canonical
from pipeline.terms.attributions import CLASS_ORDER
from pipeline.terms.decisions import TermDecisions
from pipeline.terms.fields import FieldReader, decided, field_reader
from pipeline.terms.lexicon import Lexicon, lexicon_for
from pipeline.terms.makers import MakerReader
from pipeline.terms.picks import ACCEPTED, NONE, REVIEW
from pipeline.terms.readings import FUZZY, NOTHING, FieldReading
from pipeline.terms.shared_labels import currency_codes
from pipeline.terms.text_columns import Texts, text_column
from pipeline.terms.titles import (
    CHUNK_TITLES,
    TITLE_ACCEPT_SCORE,
    TitleReading,
    how_sure,
    read_chunk,
)
from pipeline.terms.vocabulary import Vocabulary

READ_IN_TITLES = ("category", "material", "period", "condition", "attribution")
KINDS = (*READ_IN_TITLES, "maker")
RULES = ("field", "title", "title_narrower", "title_lower", "title_later", "agree", "none")
_NEXT_BEST = 3  # candidates looked at beyond those that a person refused
# what sellers put where they have nothing to say
_BLANK_TEXTS = frozenset(
    {
        "n/a", "na", "none", "null", "unknown", "unspecified", "-", "--", ".", "?", "tbc", "tbd",
        "other", "misc", "various", "see description", "see title", "see photos",
        "does not apply", "not specified", "not stated", "not applicable", "not known",
    }
)  # fmt: skip

SCHEMA = pa.schema(
    [
        ("text", pa.string()),
        ("concept_id", pa.string()),
        ("label", pa.string()),
        ("also", pa.list_(pa.string())),
        ("score", pa.float32()),
        ("margin", pa.float32()),
        ("method", pa.string()),
        ("status", pa.string()),
        ("disagrees", pa.bool_()),
        ("rule", pa.string()),
    ]
)


@dataclass(frozen=True)
class Candidate:
    """A concept that a text may mean: `score` is 0 to 100, `label` what it was matched by."""

    concept_id: str
    score: float
    label: str


def read_terms(
    texts: Texts | None,
    kind: str,
    titles: Texts | None = None,
    vocabulary: Vocabulary | None = None,
    decisions: TermDecisions | None = None,
    settings: TermSettings | None = None,
    currencies: pa.Array | pa.ChunkedArray | None = None,
) -> pa.Table:
    """Read a column of texts as terms of one kind.

    Args:
        texts: what the column of an export states; null or empty where it states nothing. An
            Arrow array, a pandas or NumPy column, or a list; what is no text is read as it prints.
            None where there are titles alone. A value that reads like a whole title is read as one.
        kind: category, material, period, condition, attribution or maker.
        titles: as long as `texts`, in any of these forms; read where the text states nothing, and
            compared where it does.
        vocabulary: the package's own where None.
        decisions: a `TermDecisions`; a decision beats every other reading of its text.
        settings: thresholds (0 to 100).
        currencies: ISO 4217 codes, one a row; they tell a British bureau from an American one.
            Without them such a word waits for a person.

    Returns:
        one row an input, in order: text, concept_id, label (preferred), also (other concepts
        found), score and margin (0 to 100; margin over the best other concept; the score of a
        title is no more than the chance in 100 that the reading is right), method (exact,
        label, phrase, fuzzy, decision, none), status (accepted, review, ignored, none),
        disagrees (text and title both state a concept, and not the same line of one tree), rule:
        who won. The text wins, because somebody chose it, except that the title wins where the
        text is empty or unread; where the title's concept lies below the text's (it says more);
        for condition where the title's grade is lower; for attribution where the title's class is
        the more cautious (a copy is never pooled with what it copies).

    Raises:
        UsageError: an unknown kind, one text where a column was asked for, or columns of different
            length.
    """
    if kind not in KINDS:
        raise UsageError(
            f"There is no kind of term '{kind}'.", todo=f"Use one of: {', '.join(KINDS)}."
        )
    settings = settings or TermSettings()
    lexicon = lexicon_for(vocabulary)
    heads = None if titles is None else text_column(titles, "titles")
    if texts is None and heads is not None:
        texts = pa.nulls(len(heads), pa.large_string())
    values = text_column(texts, "texts")
    fields, field_row = _read_fields(lexicon, kind, values, decisions, settings)
    builder = _Table(lexicon, kind, values)
    codes = None if currencies is None else currency_codes(currencies)
    choice = _field_choices(lexicon, kind, values)
    if heads is None:
        table = builder.build(fields, field_row)
        return table if codes is None else builder.by_currency(table, choice, codes)
    if kind not in READ_IN_TITLES:
        raise UsageError(
            f"No {kind} is read from titles.", todo="Leave the titles out, or read another kind."
        )
    if len(heads) != len(values):
        raise UsageError(
            f"{len(values)} texts came with {len(heads)} titles.",
            todo="Give a title, or null, for every text.",
        )
    said, title_row = _read_titles(lexicon, kind, heads, settings)
    table = builder.join(fields, field_row, said, title_row)
    if codes is None:
        return table
    from_title = np.array(table["rule"].to_pylist()) == "title"
    return builder.by_currency(table, np.where(from_title, said.choice[title_row], choice), codes)


def candidates(
    text: str,
    kind: str,
    n: int = 5,
    vocabulary: Vocabulary | None = None,
    settings: TermSettings | None = None,
) -> list[Candidate]:
    """At most n concepts that a text may mean, the likeliest first: for the review list."""
    if kind not in KINDS:
        raise UsageError(
            f"There is no kind of term '{kind}'.", todo=f"Use one of: {', '.join(KINDS)}."
        )
    reader = field_reader(lexicon_for(vocabulary), kind, settings or TermSettings())
    return [Candidate(*found) for found in reader.candidates(text, n)]


def says_nothing(text: str) -> bool:
    """Whether a field's text is empty or one of the words put where there is nothing to say."""
    return not text.strip() or " ".join(text.lower().split()) in _BLANK_TEXTS


def _read_fields(
    lexicon: Lexicon,
    kind: str,
    values: pa.Array,
    decisions: TermDecisions | None,
    settings: TermSettings,
) -> tuple[list[FieldReading], npt.NDArray[np.int32]]:
    """Readings of the distinct texts (the last one for "nothing"), and each row's number."""
    encoded = values.dictionary_encode()
    distinct: list[str] = encoded.dictionary.to_pylist()
    readings: list[FieldReading] = [NOTHING] * len(distinct)
    waiting: list[int] = []
    for index, text in enumerate(distinct):
        found = _decision(decisions, kind, text)
        if found is not None:
            readings[index] = found
        elif not says_nothing(text):
            waiting.append(index)
    if not waiting:
        return [*readings, NOTHING], _rows_of(encoded)
    reader = field_reader(lexicon, kind, settings)
    for index, reading in zip(waiting, reader.read([distinct[i] for i in waiting]), strict=True):
        barred = decisions.rejected(kind, distinct[index]) if decisions is not None else ()
        readings[index] = _without(
            reading, frozenset(barred), distinct[index], reader, settings.review_score
        )
    return [*readings, NOTHING], _rows_of(encoded)


def _rows_of(encoded: pa.DictionaryArray) -> npt.NDArray[np.int32]:
    """The number of each row's distinct text; of a null the one after the last."""
    row = pc.fill_null(encoded.indices, len(encoded.dictionary)).to_numpy(zero_copy_only=False)
    return row.astype(np.int32)


def _field_choices(lexicon: Lexicon, kind: str, values: pa.Array) -> npt.NDArray[np.int32]:
    """For each row the phrase whose meaning hangs on the currency, if that is all the text says."""
    open_words = lexicon.choices(kind)
    if not open_words:
        return np.full(len(values), -1, dtype=np.int32)
    encoded = values.dictionary_encode()
    phrases = [
        lexicon.phrase_numbers.get(canonical(text, lexicon.aliases), -1)
        for text in encoded.dictionary.to_pylist()
    ]
    phrases = [phrase if phrase in open_words else -1 for phrase in phrases]
    row = pc.fill_null(encoded.indices, len(phrases)).to_numpy(zero_copy_only=False)
    return np.array([*phrases, -1], dtype=np.int32)[row]


def _decision(decisions: TermDecisions | None, kind: str, text: str) -> FieldReading | None:
    found = None if decisions is None else decisions.find(kind, text)
    return None if found is None else decided(found.concept_id)


def _without(
    reading: FieldReading,
    barred: frozenset[str],
    text: str,
    reader: FieldReader | MakerReader,
    least: float,
) -> FieldReading:
    """A reading less the concepts that a person said the text does not mean.

    The next best, from what else the text names or else by its likeness (`least` and up, 0 to
    100), was never measured against the others: a person has to say.
    """
    if not barred or reading.concept_id is None:
        return reading
    left = [one for one in (reading.concept_id, *reading.also) if one not in barred]
    if left and left[0] == reading.concept_id:
        return replace(reading, also=tuple(left[1:]))
    score, method = reading.score, reading.method
    if not left:
        found = [
            one for one in reader.candidates(text, len(barred) + _NEXT_BEST)
            if one[0] not in barred and one[1] >= least
        ]  # fmt: skip
        if not found:
            return NOTHING
        left = [concept_id for concept_id, _, _ in found]
        score, method = found[0][1], FUZZY
    return FieldReading(left[0], tuple(left[1:]), score, 0.0, method, REVIEW)


@dataclass(frozen=True)
class _Said:
    """What distinct titles state in a kind, as numbers."""

    concept: npt.NDArray[np.int32]
    score: npt.NDArray[np.float32]
    margin: npt.NDArray[np.float32]
    accepted: npt.NDArray[np.bool_]
    choice: npt.NDArray[np.int32]
    also: list[list[int]]


def _read_titles(
    lexicon: Lexicon, kind: str, titles: pa.Array, settings: TermSettings
) -> tuple[_Said, npt.NDArray[np.int32]]:
    encoded = titles.dictionary_encode()
    distinct = pa.concat_arrays([encoded.dictionary, pa.array([""], encoded.dictionary.type)])
    parts: list[_Said] = []
    for begin in range(0, len(distinct), CHUNK_TITLES):
        chunk = read_chunk(
            lexicon,
            distinct.slice(begin, CHUNK_TITLES),
            settings,
            with_dates=kind == "attribution",
        )
        parts.append(_said(chunk, kind))
    said = _Said(
        concept=np.concatenate([part.concept for part in parts]),
        score=np.concatenate([part.score for part in parts]),
        margin=np.concatenate([part.margin for part in parts]),
        accepted=np.concatenate([part.accepted for part in parts]),
        choice=np.concatenate([part.choice for part in parts]),
        also=[also for part in parts for also in part.also],
    )
    row = pc.fill_null(encoded.indices, len(distinct) - 1).to_numpy(zero_copy_only=False)
    return said, row.astype(np.int32)


def _said(chunk: TitleReading, kind: str) -> _Said:
    reading = chunk.kinds[kind]
    also: list[list[int]] = [[] for _ in range(chunk.stream.n_titles)]
    for title, concept in zip(
        reading.also_title.tolist(), reading.also_concept.tolist(), strict=True
    ):
        also[title].append(concept)
    accepted = (reading.concept >= 0) & (reading.score >= TITLE_ACCEPT_SCORE) & ~reading.doubtful
    score = how_sure(reading)
    return _Said(reading.concept, score, reading.margin, accepted, reading.choice, also)


class _Table:
    """Builds the result out of readings by distinct value."""

    def __init__(self, lexicon: Lexicon, kind: str, values: pa.Array) -> None:
        self._lexicon = lexicon
        self._kind = kind
        self._values = values
        self._ids = lexicon.concept_ids.get(kind, ())
        self._number = {concept_id: i for i, concept_id in enumerate(self._ids)}

    def build(
        self,
        readings: list[FieldReading],
        row: npt.NDArray[np.int32],
        disagrees: list[bool] | None = None,
        rules: list[str] | None = None,
    ) -> pa.Table:
        """Spread distinct readings over the rows."""
        labels = [
            None
            if one.concept_id is None
            else self._lexicon.vocabulary.concept(self._kind, one.concept_id).pref_label
            for one in readings
        ]
        disagrees = disagrees or [False] * len(readings)
        rules = rules or ["none" if one.status == NONE else "field" for one in readings]
        distinct = pa.table(
            {
                "concept_id": pa.array([one.concept_id for one in readings], pa.string()),
                "label": pa.array(labels, pa.string()),
                "also": pa.array([list(one.also) for one in readings], pa.list_(pa.string())),
                "score": pa.array([one.score for one in readings], pa.float32()),
                "margin": pa.array([one.margin for one in readings], pa.float32()),
                "method": pa.array([one.method for one in readings], pa.string()),
                "status": pa.array([one.status for one in readings], pa.string()),
                "disagrees": pa.array(disagrees, pa.bool_()),
                "rule": pa.array(rules, pa.string()),
            }
        )
        spread = distinct.take(pa.array(row))
        return pa.table([self._values.cast(pa.string()), *spread.columns], schema=SCHEMA)

    def by_currency(
        self, table: pa.Table, choice: npt.NDArray[np.int32], codes: npt.NDArray[np.str_]
    ) -> pa.Table:
        """Give open words that wait for a person the meaning that the row's currency tells."""
        if not (choice >= 0).any():
            return table
        waiting = (choice >= 0) & (np.array(table["status"].to_pylist()) == REVIEW)
        if not waiting.any():
            return table
        vocabulary = self._lexicon.vocabulary
        columns = {name: table[name] for name in table.column_names}
        for phrase, meaning in self._lexicon.choices(self._kind).items():
            for code, number in meaning.items():
                mask = pa.array(waiting & (choice == phrase) & (codes == code))
                concept = vocabulary.concept(self._kind, self._ids[number])
                for name, value in (
                    ("concept_id", concept.id),
                    ("label", concept.pref_label),
                    ("score", np.float32(100)),
                    ("margin", np.float32(100)),
                    ("status", ACCEPTED),
                ):
                    columns[name] = pc.if_else(mask, value, columns[name])
        return pa.table(list(columns.values()), schema=SCHEMA)

    def join(
        self,
        fields: list[FieldReading],
        field_row: npt.NDArray[np.int32],
        said: _Said,
        title_row: npt.NDArray[np.int32],
    ) -> pa.Table:
        """Settle text and title once per distinct pair of readings."""
        # titles with the same reading are one to the settling
        signature: dict[tuple[object, ...], int] = {}
        titles: list[FieldReading] = []
        kinds = np.zeros(len(said.concept), dtype=np.int32)
        for index in range(len(said.concept)):
            concept = int(said.concept[index])
            key = (
                concept,
                float(said.score[index]),
                float(said.margin[index]),
                bool(said.accepted[index]),
                tuple(said.also[index]),
            )
            if key not in signature:
                signature[key] = len(titles)
                titles.append(self._title_reading(*key))
            kinds[index] = signature[key]
        pair = field_row.astype(np.int64) * len(titles) + kinds[title_row]
        distinct, row = np.unique(pair, return_inverse=True)
        settled = [
            self._settle(fields[int(code) // len(titles)], titles[int(code) % len(titles)])
            for code in distinct
        ]
        return self.build(
            [reading for reading, _, _ in settled],
            row.astype(np.int32),
            [disagree for _, disagree, _ in settled],
            [rule for _, _, rule in settled],
        )

    def _title_reading(
        self, concept: int, score: float, margin: float, accepted: bool, also: tuple[int, ...]
    ) -> FieldReading:
        if concept < 0:
            return NOTHING
        return FieldReading(
            self._ids[concept],
            tuple(self._ids[one] for one in also),
            score,
            margin,
            "phrase",
            ACCEPTED if accepted else REVIEW,
        )

    def _settle(self, field: FieldReading, title: FieldReading) -> tuple[FieldReading, bool, str]:
        if title.concept_id is None:
            return field, False, "none" if field.status == NONE else "field"
        if field.status == "ignored":
            return field, False, "field"
        if field.concept_id is None:
            return title, False, "title"
        if field.concept_id == title.concept_id:
            best = field if field.status == ACCEPTED or title.status != ACCEPTED else title
            return best, False, "agree"
        if title.status != ACCEPTED:
            return _with_also(field, title), False, "field"
        if field.status != ACCEPTED:
            return _with_also(title, field), False, "title"
        if field.method == "decision":
            return _with_also(field, title), False, "field"
        vocabulary = self._lexicon.vocabulary
        if field.concept_id in vocabulary.ancestors(self._kind, title.concept_id):
            return _with_also(title, field), False, "title_narrower"
        if title.concept_id in vocabulary.ancestors(self._kind, field.concept_id):
            return _with_also(field, title), False, "field"
        if self._kind == "condition":
            ours, theirs = (self._rank(one.concept_id) for one in (field, title))
            if ours == 0 or theirs == 0:  # "used" is no grade: the grade says more
                best, rule = (title, "title_narrower") if ours == 0 else (field, "field")
                other = field if best is title else title
                return _with_also(best, other), False, rule
            if theirs > ours:
                return _with_also(title, field), True, "title_lower"
        if self._kind == "attribution":
            ours, theirs = (self._caution(one.concept_id) for one in (field, title))
            if ours == theirs:
                return _with_also(field, title), False, "field"
            if theirs < ours:
                return _with_also(title, field), True, "title_later"
        return _with_also(field, title), True, "field"

    def _rank(self, concept_id: str | None) -> int:
        return self._lexicon.vocabulary.concept(self._kind, concept_id or "").rank or 0

    def _caution(self, concept_id: str | None) -> int:
        concept = self._lexicon.vocabulary.concept(self._kind, concept_id or "")
        return CLASS_ORDER.index(concept.extra.get("class") or "unknown")


def _with_also(best: FieldReading, other: FieldReading) -> FieldReading:
    extra = [one for one in (other.concept_id, *other.also) if one and one != best.concept_id]
    also = tuple(dict.fromkeys((*best.also, *extra)))
    return FieldReading(best.concept_id, also, best.score, best.margin, best.method, best.status)
