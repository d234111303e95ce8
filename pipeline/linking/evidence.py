"""Evidence that two rows tell of one thing, in bits.

Fellegi and Sunter (1969), "A Theory for Record Linkage", Journal of the American Statistical
Association 64: what two rows have in common weighs as the logarithm of how much likelier it is
when they tell of one thing than when they do not. What is rare weighs more, as in Winkler's
frequency-based matching: a shared maker's name says much, a shared "antique" nothing. With base 2
the unit is the bit; bits of different columns add up, and with the odds before anything was
compared they give the chance that the pair is one.

Everything here works on whole columns: n pairs in, n numbers out. Zero bits say nothing either
way; an empty cell always says nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
from rapidfuzz import fuzz, process, utils
from rapidfuzz.distance import OSA, JaroWinkler

from pipeline.linking.counts import EVERYTHING, Frequencies
from pipeline.linking.words import Words, Words64, mixed, read_words
from pipeline.terms.size_forms import CM_PER_INCH

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

MOST_BITS = 12.0  # of one word or value: nothing alone may decide
WORTH_SPELLING = 3.0  # bits that two texts must share before their spelling is looked at
SHARED = 0.8  # chance that a word of one telling stands in the other, of the same piece


@dataclass(frozen=True)
class Pairs:
    """n pairs of rows, side by side.

    left, right: tables of n rows with the same columns. group: the group whose frequencies count
    for the pair, 0 for all rows.
    """

    left: pa.Table
    right: pa.Table
    group: Ints

    def __len__(self) -> int:
        return self.left.num_rows

    def texts(self, name: str) -> tuple[pa.Array, pa.Array]:
        return _array(self.left[name]), _array(self.right[name])

    def numbers(self, name: str) -> tuple[Floats, Floats]:
        """Both columns as floats; NaN for null."""
        return _floats(self.left[name]), _floats(self.right[name])


Evidence = Callable[[Pairs], Floats | dict[str, Floats]]
"""From n pairs to n bits, or to several columns of them by name."""


@dataclass(frozen=True)
class Plan:
    """What is compared: a piece of evidence by its name."""

    evidence: dict[str, Evidence]

    def weigh(self, pairs: Pairs) -> dict[str, Floats]:
        """Bits of each piece of evidence, n each."""
        bits: dict[str, Floats] = {}
        for name, found in self.evidence.items():
            weighed = found(pairs)
            bits |= weighed if isinstance(weighed, dict) else {name: weighed}
        return bits


def score_of(bits: Floats) -> Floats:
    """The chance in a hundred that belongs to the sum of all bits, the odds before included."""
    return 100.0 / (1.0 + np.exp2(-np.clip(bits, -60.0, 60.0)))


def _array(column: pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def _floats(column: pa.ChunkedArray) -> Floats:
    filled = pc.fill_null(_array(column).cast(pa.float64()), float("nan"))
    return np.asarray(filled.to_numpy(zero_copy_only=False), dtype=np.float64)


def _known(left: pa.Array, right: pa.Array) -> Bools:
    return np.asarray(
        pc.and_(pc.is_valid(left), pc.is_valid(right)).to_numpy(zero_copy_only=False), dtype=bool
    )


def _equal(left: pa.Array, right: pa.Array) -> Bools:
    found = pc.fill_null(pc.equal(left, right), False)
    return np.asarray(found.to_numpy(zero_copy_only=False), dtype=bool)


# ---------------------------------------------------------------------------------------------
# Codes: equal, or not


def value_codes(values: pa.Array) -> Words64:
    """One 64-bit number a value, from its letters and digits."""
    words = read_words(values)
    with np.errstate(over="ignore"):
        place = np.arange(len(words.code)) - np.repeat(words.first[:-1], words.counts)
        ordered = mixed(words.code + place.astype(np.uint64))
        sums = np.concatenate(([np.uint64(0)], np.cumsum(ordered, dtype=np.uint64)))
        return sums[words.first[1:]] - sums[words.first[:-1]]


def same_code(name: str, *, agree: float, differ: float) -> Evidence:
    """Fixed bits for equal values and for different ones."""

    def weigh(pairs: Pairs) -> Floats:
        left, right = pairs.texts(name)
        equal = _equal(left, right)
        return np.where(_known(left, right), np.where(equal, agree, differ), 0.0)

    return weigh


def spelling(
    name: str, counts: Frequencies, *, agree: float, digits: bool = False, near: float = 0.85
) -> Evidence:
    """Words or numbers with slips of the keyboard: equal, near, or different.

    Equal values weigh as they are rare. Near ones weigh up to half of that: by Jaro and Winkler's
    likeness for words, by restricted Damerau-Levenshtein (OSA) likeness for digits.

    Args:
        agree: chance that the values are equal or near when the pair is one.
        near: likeness from which a value is near, 0 to 1.
    """
    scorer = OSA.normalized_similarity if digits else JaroWinkler.normalized_similarity

    def weigh(pairs: Pairs) -> Floats:
        left, right = pairs.texts(name)
        known = _known(left, right)
        one = np.minimum(
            counts.chance(value_codes(left), pairs.group),
            1.0,
        )
        other = counts.chance(value_codes(right), pairs.group)
        rarity = np.minimum(-np.log2(np.maximum(one, other)), MOST_BITS)
        like = np.zeros(len(known))
        at = np.flatnonzero(known)
        if len(at):
            like[at] = process.cpdist(
                left.take(pa.array(at)).to_pylist(), right.take(pa.array(at)).to_pylist(),
                scorer=scorer, dtype=np.float64,
            )  # fmt: skip
        equal = known & (like >= 1.0)
        is_near = known & (like >= near) & ~equal
        part = np.clip((like - near) / (1.0 - near), 0.0, 1.0)
        bits = np.where(equal, rarity + np.log2(agree), 0.0)
        bits = np.where(is_near, (0.25 + 0.5 * part) * rarity, bits)
        return np.where(known & ~equal & ~is_near, np.log2(1.0 - agree), bits)

    return weigh


# ---------------------------------------------------------------------------------------------
# Words of a title


@dataclass(frozen=True)
class WordCounts:
    """Frequencies of single words and of words with the word before them."""

    single: Frequencies
    paired: Frequencies

    def add(self, words: Words, group_of_text: Ints) -> None:
        group = group_of_text[words.text]
        self.single.add(words.code, group)
        pairs = words.pairs_with_before()
        has = pairs > 0
        self.paired.add(pairs[has], group[has])


@dataclass(frozen=True)
class Overlap:
    """What n pairs of texts share. bits: of the shared words; the others: words that the texts
    do not share, on either side; n_numbers_apart: numbers among those."""

    bits: Floats
    n_shared: Floats
    n_left_alone: Floats
    n_right_alone: Floats
    n_numbers_apart: Floats


def overlap(left: Words, right: Words, group: Ints, counts: WordCounts) -> Overlap:
    """Weigh the words that two texts share.

    A shared word weighs -log2 of its chance in the group. Where the word beside it is shared as
    well, and beside it in both, it weighs -log2 of its chance after that word: "on bracket feet"
    is one coincidence, not two.
    """
    n = left.n_texts
    joined, other_joined = left.pairs_with_before(), right.pairs_with_before()
    found = _meetings(left, right, joined, other_joined)
    shared, back = found.left, found.right
    # a word that stands twice in one text counts once
    part_here, part_there = 1.0 / found.left_times, 1.0 / found.right_times
    told = group[left.text]
    weight = np.zeros(len(shared))
    at = np.flatnonzero(shared)
    plain = counts.single.chance(left.code[at], told[at])
    both = at[found.joined[at] & (at > 0) & shared[np.maximum(at - 1, 0)]]
    seen = np.maximum(counts.paired.count(joined[both], told[both]) - 2.0, 0.0)
    of = np.maximum(counts.single.count(left.code[both - 1], told[both]) - 2.0, 0.0)
    chance = np.zeros(len(shared))
    chance[at] = plain
    chance[both] = np.maximum(np.minimum((seen + 1.0) / (of + 2.0), 1.0), chance[both])
    weight[at] = np.clip(np.log2(SHARED) - np.log2(chance[at]), 0.0, MOST_BITS) * part_here[at]
    numbers = _sums(left.text, left.is_number * ~shared * part_here, n)
    numbers += _sums(right.text, right.is_number * ~back * part_there, n)
    return Overlap(
        bits=_sums(left.text, weight, n),
        n_shared=_sums(left.text, shared * part_here, n),
        n_left_alone=_sums(left.text, ~shared * part_here, n),
        n_right_alone=_sums(right.text, ~back * part_there, n),
        n_numbers_apart=numbers,
    )


def _sums(row: Ints, value: Floats, n: int) -> Floats:
    """The sum of the values of each of n rows."""
    return np.bincount(row, value, n).astype(np.float64)


@dataclass(frozen=True)
class _Meetings:
    """Of every word of n pairs of texts: left, right: whether the other text of the pair has it;
    left_times, right_times: how often its own text has it; joined: whether a word of the left and
    the one before it stand together in the right as well."""

    left: Bools
    right: Bools
    left_times: Ints
    right_times: Ints
    joined: Bools


# Texts of up to so many words are compared side by side, word by word; longer ones are rare.
_LENGTHS = (6, 9, 12, 15, 20, 28, 40)
# What stands where a text has no word, on either side: no word's number but by a wild chance.
_NOBODY, _NOTHING = np.uint64(0), np.uint64(1)


def _meetings(left: Words, right: Words, joined: Words64, other_joined: Words64) -> _Meetings:
    """Hold the words of each pair's texts against each other, all with all.

    Texts are short: comparing the first word of many texts with the second of many others, and so
    on, takes a fraction of the time of sorting and looking up.
    """
    out = _Meetings(
        np.zeros(len(left.code), dtype=bool), np.zeros(len(right.code), dtype=bool),
        np.ones(len(left.code), dtype=np.int64), np.ones(len(right.code), dtype=np.int64),
        np.zeros(len(left.code), dtype=bool),
    )  # fmt: skip
    longest = np.maximum(left.counts, right.counts)
    shorter = 0
    for most in _LENGTHS:
        pairs = np.flatnonzero((longest > shorter) & (longest <= most))
        shorter = most
        if len(pairs):
            _meet_side_by_side(out, left, right, joined, other_joined, pairs)
    for pair in np.flatnonzero(longest > shorter):
        here = slice(left.first[pair], left.first[pair + 1])
        there = slice(right.first[pair], right.first[pair + 1])
        out.left[here] = np.isin(left.code[here], right.code[there])
        out.right[there] = np.isin(right.code[there], left.code[here])
        out.joined[here] = (joined[here] > 0) & np.isin(joined[here], other_joined[there])
        for words, place, times in ((left, here, out.left_times), (right, there, out.right_times)):
            _, inverse, counts = np.unique(
                words.code[place], return_inverse=True, return_counts=True
            )
            times[place] = counts[inverse]
    return out


def _meet_side_by_side(
    out: _Meetings,
    left: Words,
    right: Words,
    joined: Words64,
    other_joined: Words64,
    pairs: Ints,
) -> None:
    here, is_here = _grid(left, pairs)
    there, is_there = _grid(right, pairs)
    mine = np.where(is_here, left.code[here], _NOBODY)
    theirs = np.where(is_there, right.code[there], _NOTHING)
    steps = np.where(is_here, joined[here], _NOBODY)
    other_steps = np.where(is_there & (other_joined[there] > 0), other_joined[there], _NOTHING)
    met, met_back = np.zeros(here.shape, dtype=bool), np.zeros(there.shape, dtype=bool)
    met_steps = np.zeros(here.shape, dtype=bool)
    for i in range(len(mine)):
        for j in range(len(theirs)):
            equal = mine[i] == theirs[j]
            met[i] |= equal
            met_back[j] |= equal
            met_steps[i] |= steps[i] == other_steps[j]
    out.left[here[is_here]] = met[is_here]
    out.right[there[is_there]] = met_back[is_there]
    out.joined[here[is_here]] = met_steps[is_here]
    out.left_times[here[is_here]] = _times(mine)[is_here]
    out.right_times[there[is_there]] = _times(theirs)[is_there]


def _times(codes: Words64) -> Ints:
    """How often each code stands in its column."""
    out = np.ones(codes.shape, dtype=np.int64)
    for i in range(len(codes)):
        for j in range(i):
            equal = codes[i] == codes[j]
            if equal.any():
                out[i] += equal
                out[j] += equal
    return out


def _grid(words: Words, texts: Ints) -> tuple[Ints, Bools]:
    """Places of the words of some texts, words x texts, and which of them are words of theirs."""
    counts = words.counts[texts]
    steps = np.arange(max(int(counts.max(initial=0)), 1))
    last = max(len(words.code) - 1, 0)
    return np.minimum(words.first[texts] + steps[:, None], last), steps[:, None] < counts


def _of_pairs(pair: Ints, code: Words64) -> Words64:
    """A code made the pair's own."""
    with np.errstate(over="ignore"):
        return mixed(mixed(pair.astype(np.uint64) + np.uint64(1)) + code)


def words(
    name: str,
    counts: WordCounts,
    *,
    weight: float = 0.75,
    alone: float = -0.7,
    numbers_apart: float = -0.7,
    as_told: float = 0.0,
    cut_short: bool = False,
    ungrouped: float = 1.0,
) -> Evidence:
    """Shared words by their rarity, and what each text has to itself.

    Words of one kind of goods come together more often than each by itself, so that their bits
    are not fully added up. What is left over counts less where the whole texts are spelt nearly
    alike (token sort ratio from 80 on, at 100 a fifth): then the rest are slips of the keyboard.

    Args:
        weight: share of the bits of shared words that counts, 0 to 1.
        alone: bits for each word that only one of the texts has.
        numbers_apart: further bits where that word is a number.
        as_told: bits where six words or more are shared and nothing is left over.
        cut_short: one text may be the other cut off or spun out; then the words that only the
            fuller one has say nothing, and those of the other count twice.
        ungrouped: factor on the bits of shared words where the pair has no group of its own: among
            all goods, the words of one kind look rarer than they are.

    Returns:
        Evidence of two columns, `name` and `name apart`.
    """

    def weigh(pairs: Pairs) -> dict[str, Floats]:
        left, right = pairs.texts(name)
        known = _known(left, right)
        shared = overlap(read_words(left), read_words(right), pairs.group, counts)
        if cut_short:
            apart = 2.0 * np.minimum(shared.n_left_alone, shared.n_right_alone)
        else:
            apart = shared.n_left_alone + shared.n_right_alone
        loss = alone * apart + numbers_apart * shared.n_numbers_apart
        slips = np.zeros(len(known))
        # slips can save only a pair that shares something, and not where most words differ
        worth = (shared.bits * weight > WORTH_SPELLING) & (apart <= 2.0 * shared.n_shared)
        at = np.flatnonzero(known & (apart > 0.5) & worth)
        if len(at):
            slips[at] = process.cpdist(
                left.take(pa.array(at)).to_pylist(), right.take(pa.array(at)).to_pylist(),
                scorer=fuzz.token_sort_ratio, processor=utils.default_process, dtype=np.float64,
            )  # fmt: skip
        forgiven = 1.0 - 0.8 * np.clip((slips - 80.0) / 20.0, 0.0, 1.0)
        forgiven = np.where(shared.n_numbers_apart > 0.5, 1.0, forgiven)
        whole = known & (apart < 0.5) & (shared.n_shared > 5.5)
        return {
            name: np.where(known, weight * shared.bits, 0.0)
            * np.where(pairs.group == EVERYTHING, ungrouped, 1.0),
            f"{name} apart": np.where(known, loss * forgiven, 0.0) + np.where(whole, as_told, 0.0),
        }

    return weigh


# ---------------------------------------------------------------------------------------------
# Amounts and years


def amounts(name: str, *, ratio: float, spread: float, among_others: float) -> Evidence:
    """How far two natural logs of a price lie apart, against how far they would by chance.

    Both distances are taken as normal: around `ratio` with `spread` when the pair is one, around
    nought with `among_others` when it is not.
    """

    def weigh(pairs: Pairs) -> Floats:
        left, right = pairs.numbers(name)
        apart = right - left
        as_one = -0.5 * ((apart - ratio) / spread) ** 2 - np.log(spread)
        by_chance = -0.5 * (apart / among_others) ** 2 - np.log(among_others)
        bits = np.clip((as_one - by_chance) / np.log(2.0), -MOST_BITS, MOST_BITS)
        return np.where(np.isfinite(apart), bits, 0.0)

    return weigh


def spans(first: str, last: str, *, meet: float, part: float, far_part: float) -> Evidence:
    """Two spans of years: whether they meet, part by a little, or by over thirty years."""

    def weigh(pairs: Pairs) -> Floats:
        left_from, right_from = pairs.numbers(first)
        left_to, right_to = pairs.numbers(last)
        gap = np.maximum(left_from, right_from) - np.minimum(left_to, right_to)
        bits = np.where(gap <= 0, meet, np.where(gap <= 30, part, far_part))
        return np.where(np.isfinite(gap), bits, 0.0)

    return weigh


# ---------------------------------------------------------------------------------------------
# Measurements


def measurements(
    name: str, *, agree: float, near: float, differ: float, summary: str = ""
) -> Evidence:
    """Numbers by name, such as height and width: each name that both rows have weighs.

    Args:
        agree: bits where they are equal but for rounding (1 % or half a unit; half an inch more
            where one is a length of whole inches, and the other none).
        near: where they lie within 5 %. differ: beyond that.
        summary: a name made of the others, which weighs only where no other is in both. One of two
            tellings may be of the frame, or of one side alone, so that it parts half as much.
    """

    def weigh(pairs: Pairs) -> Floats:
        n = len(pairs)
        left, right = _map_entries(pairs.left[name]), _map_entries(pairs.right[name])
        _, here, there = np.intersect1d(left.code, right.code, return_indices=True)
        row, one, other = left.row[here], left.value[here], right.value[there]
        is_summary = left.is_named(summary)[here]
        others = _sums(row, (~is_summary).astype(np.float64), n)
        gap = np.abs(one - other)
        size = np.maximum(np.abs(one), np.abs(other))
        other_unit = _is_of_inches(one) != _is_of_inches(other)
        rounding = np.where(other_unit, 0.5 + CM_PER_INCH / 2, 0.5)
        equal = gap <= np.maximum(0.01 * size, rounding)
        apart = np.where(is_summary, differ / 2, differ)
        bits = np.where(equal, agree, np.where(gap <= 0.05 * size, near, apart))
        counts = np.isfinite(gap) & ~(is_summary & (others[row] > 0))
        return _sums(row, np.where(counts, bits, 0.0), n)

    return weigh


def _is_of_inches(cm: Floats) -> Bools:
    """Whether lengths are of whole inches, as a text in inches has been read."""
    inches = cm / CM_PER_INCH
    return (np.abs(inches - np.round(inches)) < 1e-3) & (inches > 0.5)


@dataclass(frozen=True)
class _Entries:
    """Of every entry of a column of maps: row, code of row and name, name, number."""

    row: Ints
    code: Words64
    names: pa.Array
    value: Floats

    def is_named(self, name: str) -> Bools:
        return np.asarray(pc.equal(self.names, name).to_numpy(zero_copy_only=False), dtype=bool)


def _map_entries(column: pa.ChunkedArray) -> _Entries:
    array = _array(column)
    lists = pc.list_value_length(array.cast(pa.list_(array.type.field(0).type)))
    n_each = np.asarray(pc.fill_null(lists, 0).to_numpy(zero_copy_only=False), dtype=np.int64)
    row = np.repeat(np.arange(len(array)), n_each)
    filled = array.filter(pc.is_valid(array))
    start, end = (filled.offsets[0].as_py(), filled.offsets[-1].as_py()) if len(filled) else (0, 0)
    keys, items = filled.keys.slice(start, end - start), filled.items.slice(start, end - start)
    values = np.asarray(pc.fill_null(items, float("nan")).to_numpy(zero_copy_only=False))
    return _Entries(row, _of_pairs(row, value_codes(keys)), keys, values)
