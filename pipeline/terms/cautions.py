"""Which cautions a piece raises: by what it is, by what its text says, by when it was made.

A caution is a hint to check, never a finding. It rests on the concepts that were read, on phrases
of the text, and on the years of making; a phrase such as "ivory coloured" takes the hint back.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.phrases import joins, walk
from pipeline.terms.picks import lists
from pipeline.terms.text import fold_texts, normalise_label
from pipeline.terms.tokens import TokenStream, prepare, tokenise
from pipeline.terms.trie import Trie, build_trie
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.vocabulary_file import Concept

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_STOP_WORDS = frozenset(
    [
        "a",
        "an",
        "and",
        "the",
        "of",
        "for",
        "with",
        "no",
        "not",
        "non",
        "free",
        "in",
        "on",
        "or",
        "to",
    ]
)
_DENIALS = frozenset(
    [
        "no",
        "not",
        "non",
        "without",
        "faux",
        "fake",
        "imitation",
        "mock",
        "simulated",
        "artificial",
        "never",
        "isnt",
        "free",
    ]
)
_Raises = Callable[[str, str], Sequence[str]]  # kind and concept -> cautions
_CHUNK = 200_000  # texts searched at once: bounds the memory, changes no result


@dataclass(frozen=True)
class _Rules:
    """Cautions as tables.

    Attributes:
        ids: caution ids.
        trie: all phrases, those that raise a caution and those that take it back.
        raised, taken_back: phrase -> numbers of the cautions it raises, takes back.
        keys: caution -> words that its phrases and materials go by.
        made_before, made_after: year or None; pieces surely made outside raise nothing.
        if_undated: whether a piece of unknown date raises it.
    """

    ids: tuple[str, ...]
    trie: Trie
    raised: dict[int, tuple[int, ...]]
    taken_back: dict[int, tuple[int, ...]]
    keys: tuple[frozenset[str], ...]
    made_before: tuple[int | None, ...]
    made_after: tuple[int | None, ...]
    if_undated: tuple[bool, ...]


def find_cautions(
    texts: pa.Array | pa.ChunkedArray,
    category_ids: pa.Array | None = None,
    material_ids: pa.Array | None = None,
    fault_ids: pa.Array | None = None,
    earliest: pa.Array | None = None,
    latest: pa.Array | None = None,
    vocabulary: Vocabulary | None = None,
) -> pa.Array:
    """The cautions of each piece.

    Args:
        texts: title and description, n strings, nulls allowed.
        category_ids: n strings, null where unknown.
        material_ids, fault_ids: n lists of strings; materials of parts count too.
        earliest, latest: n years of making (int), null where open or unknown.
        vocabulary: the package's own where None.

    Returns:
        n lists of caution ids, in the order of the vocabulary; empty where none applies.
    """
    vocabulary = vocabulary if vocabulary is not None else Vocabulary.load()
    rules = _rules(vocabulary)
    array = fold_texts(texts, tidy=False)
    n = len(array)
    n_cautions = len(rules.ids)

    def keys_of(kind: str, column: pa.Array | None, raises: _Raises) -> npt.NDArray[np.int64]:
        rows, numbers = _by_concept(kind, _one(column), raises, rules.ids)
        return rows.astype(np.int64) * n_cautions + numbers

    def of_concept(kind: str, concept_id: str) -> Sequence[str]:
        return vocabulary.cautions_of(kind, concept_id) if vocabulary.has(kind, concept_id) else ()

    def outside(_: str, concept_id: str) -> Sequence[str]:
        return _materials_outside(vocabulary, concept_id)

    # a material or a fault says less than the kind of thing, and another material may outweigh it
    loose = [keys_of("material", material_ids, of_concept), keys_of("fault", fault_ids, of_concept)]
    told = np.setdiff1d(np.concatenate(loose), keys_of("material", material_ids, outside))
    by_concept = np.union1d(keys_of("category", category_ids, of_concept), told)
    found = []
    for begin in range(0, max(n, 1), _CHUNK):
        part = array.slice(begin, _CHUNK)
        low, high = begin * n_cautions, (begin + len(part)) * n_cautions
        inside = by_concept[(by_concept >= low) & (by_concept < high)]
        found.append(_in_texts(rules, part, inside - low) + low)
    keys = np.unique(np.concatenate(found)) if found else by_concept
    rows, cautions = keys // n_cautions, (keys % n_cautions).astype(np.int32)
    keep = _in_years(rules, rows, cautions, _years(earliest, n), _years(latest, n))
    return lists(n, rows[keep].astype(np.int32), rules.ids, cautions[keep])


def _materials_outside(vocabulary: Vocabulary, material_id: str) -> list[str]:
    """Cautions that a piece of this material does not raise by its other materials or faults."""
    if not vocabulary.has("material", material_id):
        return []
    lines = {material_id, *vocabulary.ancestors("material", material_id)}
    return [
        caution.id
        for caution in vocabulary.concepts("caution")
        if lines.intersection(caution.many("not_material_ids"))
    ]


def _by_concept(
    kind: str, column: pa.Array | None, raises: _Raises, ids: Sequence[str]
) -> tuple[IntArray, IntArray]:
    """Rows and numbers of cautions: of every concept in the column, those that it `raises`."""
    none = np.zeros(0, dtype=np.int32)
    if column is None or not len(column):
        return none, none
    if pa.types.is_list(column.type) or pa.types.is_large_list(column.type):
        parents = column.value_parent_indices() if hasattr(column, "value_parent_indices") else None
        values = column.flatten()
        row = (
            parents.to_numpy(zero_copy_only=False)
            if parents is not None
            else np.repeat(np.arange(len(column)), _lengths(column))
        )
    else:
        values, row = column, np.arange(len(column))
    encoded = values.cast(pa.string()).dictionary_encode()
    number = {caution: i for i, caution in enumerate(ids)}
    raised = [
        [number[one] for one in raises(kind, concept_id) if one in number]
        for concept_id in encoded.dictionary.to_pylist()
    ]
    codes = pc.fill_null(encoded.indices, -1).to_numpy(zero_copy_only=False).astype(np.int64)
    rows: list[npt.NDArray[np.int64]] = [none.astype(np.int64)]
    cautions: list[npt.NDArray[np.int64]] = [none.astype(np.int64)]
    for code, numbers in enumerate(raised):
        if numbers:
            at = row[codes == code]
            rows.append(np.repeat(at, len(numbers)))
            cautions.append(np.tile(numbers, len(at)))
    return np.concatenate(rows).astype(np.int32), np.concatenate(cautions).astype(np.int32)


def _lengths(column: pa.Array) -> npt.NDArray[np.int64]:
    return pc.fill_null(pc.list_value_length(column), 0).to_numpy(zero_copy_only=False)


def _in_texts(
    rules: _Rules, texts: pa.Array, by_concept: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """Keys (row times number of cautions plus caution) that hold after the texts were read."""
    n_cautions = len(rules.ids)
    stream = tokenise(prepare(texts), rules.trie.look_up)
    start, length, phrase = walk(rules.trie, stream.word, joins(stream))
    raising = np.array([p in rules.raised for p in range(rules.trie.n_phrases)], dtype=bool)
    backing = np.array([p in rules.taken_back for p in range(rules.trie.n_phrases)], dtype=bool)
    spans: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for at in np.flatnonzero(raising[phrase]):
        first = int(start[at])
        if _denied_before(stream, first):
            continue
        title = int(stream.title[first])
        for caution in rules.raised[int(phrase[at])]:
            spans[title * n_cautions + caution].append((first, first + int(length[at])))
    backs: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for at in np.flatnonzero(backing[phrase]):
        first = int(start[at])
        title = int(stream.title[first])
        for caution in rules.taken_back[int(phrase[at])]:
            backs[title * n_cautions + caution].append((first, first + int(length[at])))
    concept = set(by_concept.tolist())
    keys = concept | set(spans)
    for key in [key for key in keys if key in backs]:
        caution = key % n_cautions
        if not _stands(rules, stream, caution, spans.get(key, []), backs[key], key in concept):
            keys.discard(key)
    return np.array(sorted(keys), dtype=np.int64)


def _stands(
    rules: _Rules,
    stream: TokenStream,
    caution: int,
    spans: list[tuple[int, int]],
    backs: list[tuple[int, int]],
    by_concept: bool,
) -> bool:
    """Whether a caution holds although phrases of its text take it back.

    A phrase about the caution's own words ("ivory coloured") takes back only what it covers, and
    the concept where the text names the word nowhere else. Any other ("apprentice piece", "no
    contents") speaks of the whole piece and takes the caution back altogether.
    """
    words = rules.keys[caution]
    covering: list[tuple[int, int]] = []
    own: set[str] = set()
    for first, past in backs:
        shared = words & {stream.spellings[stream.spelling[i]] for i in range(first, past)}
        if not shared:
            return False
        covering.append((first, past))
        own |= shared
    left = [
        (first, past)
        for first, past in spans
        if not any(first < other_past and other < past for other, other_past in covering)
    ]
    if left:
        return True
    if not by_concept:
        return False
    title = stream.title[covering[0][0]]
    begin, end = int(stream.first[title]), int(stream.first[title + 1])
    return any(
        stream.spellings[stream.spelling[i]] in own
        and not any(first <= i < past for first, past in covering)
        for i in range(begin, end)
    )


def _denied_before(stream: TokenStream, first: int) -> bool:
    if first == 0 or stream.title[first - 1] != stream.title[first]:
        return False
    return stream.spellings[stream.spelling[first - 1]] in _DENIALS


def _in_years(
    rules: _Rules,
    rows: npt.NDArray[np.int64],
    cautions: IntArray,
    earliest: npt.NDArray[np.float64],
    latest: npt.NDArray[np.float64],
) -> BoolArray:
    """Whether the years of making leave room for the caution's."""
    before = np.array([np.nan if y is None else y for y in rules.made_before], dtype=float)
    after = np.array([np.nan if y is None else y for y in rules.made_after], dtype=float)
    undated = np.array(rules.if_undated, dtype=bool)
    first, last = earliest[rows], latest[rows]
    bound = ~np.isnan(before[cautions]) | ~np.isnan(after[cautions])
    unknown = np.isnan(first) & np.isnan(last)
    with np.errstate(invalid="ignore"):
        too_late = first >= before[cautions]
        too_early = last < after[cautions]
    return np.where(unknown & bound, undated[cautions], ~(too_late | too_early))


def _years(column: pa.Array | None, n: int) -> npt.NDArray[np.float64]:
    if column is None:
        return np.full(n, np.nan)
    whole = pa.chunked_array([column]) if isinstance(column, pa.Array) else column
    years: npt.NDArray[np.float64] = whole.cast(pa.float64()).to_numpy()
    return years


def _one(column: pa.Array | pa.ChunkedArray | None) -> pa.Array | None:
    if isinstance(column, pa.ChunkedArray):
        return pa.concat_arrays(column.chunks) if column.num_chunks else pa.array([], column.type)
    return column


_CACHE: dict[str, _Rules] = {}


def _rules(vocabulary: Vocabulary) -> _Rules:
    key = vocabulary.fingerprint
    if key not in _CACHE:
        _CACHE.clear()
        _CACHE[key] = _build(vocabulary)
    return _CACHE[key]


def _build(vocabulary: Vocabulary) -> _Rules:
    concepts = vocabulary.concepts("caution")
    raised: dict[tuple[str, ...], list[int]] = defaultdict(list)
    taken_back: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for number, concept in enumerate(concepts):
        for table, column in ((raised, "phrases"), (taken_back, "not_phrases")):
            for phrase in concept.many(column):
                words = tuple(normalise_label(phrase).split())
                if words and number not in table[words]:
                    table[words].append(number)
    phrases = sorted({*raised, *taken_back})
    index = {words: number for number, words in enumerate(phrases)}
    return _Rules(
        ids=tuple(concept.id for concept in concepts),
        trie=build_trie(phrases),
        raised={index[words]: tuple(numbers) for words, numbers in raised.items()},
        taken_back={index[words]: tuple(numbers) for words, numbers in taken_back.items()},
        keys=tuple(_key_words(vocabulary, concept) for concept in concepts),
        made_before=tuple(_year(concept.extra.get("made_before", "")) for concept in concepts),
        made_after=tuple(_year(concept.extra.get("made_after", "")) for concept in concepts),
        if_undated=tuple(
            concept.extra.get("unknown_date_counts", "") == "yes" for concept in concepts
        ),
    )


def _key_words(vocabulary: Vocabulary, concept: Concept) -> frozenset[str]:
    words: set[str] = set()
    for phrase in concept.many("phrases"):
        words.update(normalise_label(phrase).split())
    for material in concept.many("material_ids"):
        if vocabulary.has("material", material):
            label = vocabulary.concept("material", material).pref_label
            words.update(normalise_label(label).split())
    return frozenset(words - _STOP_WORDS)


def _year(text: str) -> int | None:
    return int(text) if text else None
