"""The words of titles as numbers, by whole columns.

A title is cut on its bytes: runs of letters and runs of digits are words, everything else parts
them. A word is a 64-bit polynomial hash of its folded letters, so that nothing but numbers is
carried from here on. The order of rows plays no part.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

Words64 = npt.NDArray[np.uint64]
Ints = npt.NDArray[np.int64]

# Words that say nothing of a piece: articles, joints and the like in the languages that exports
# mix (common practice, no source).
STOP_WORDS: tuple[str, ...] = tuple(
    word
    for line in (
        "a an the of with and in on by to for from at as or is it its this w s",
        "de du des la le les et en au aux un une",
        "der die das und mit von ein eine im am zu den dem",
        "van het een met",
    )
    for word in line.split()
)

_MULTIPLIER = 0x9E3779B97F4A7C15  # odd, so that it has an inverse modulo 2^64
_INVERSE = pow(_MULTIPLIER, -1, 1 << 64)
_LETTER, _DIGIT = 1, 2


def _tables() -> tuple[npt.NDArray[np.uint8], Words64]:
    """Class and hash value of each byte; capitals share the value of their small letters."""
    kind = np.zeros(256, dtype=np.uint8)
    kind[ord("0") : ord("9") + 1] = _DIGIT
    kind[ord("a") : ord("z") + 1] = _LETTER
    kind[ord("A") : ord("Z") + 1] = _LETTER
    kind[0x80:] = _LETTER
    folded = np.arange(256)
    folded[ord("A") : ord("Z") + 1] += 32
    return kind, mixed(folded.astype(np.uint64) + np.uint64(1))


def mixed(numbers: Words64) -> Words64:
    """A one-to-one scattering of 64-bit numbers (the finaliser of splitmix64, public domain)."""
    with np.errstate(over="ignore"):
        x = numbers.astype(np.uint64, copy=True)
        x ^= x >> np.uint64(30)
        x *= np.uint64(0xBF58476D1CE4E5B9)
        x ^= x >> np.uint64(27)
        x *= np.uint64(0x94D049BB133111EB)
        x ^= x >> np.uint64(31)
    return x


_KIND, _VALUE = _tables()
_POWERS: dict[str, Words64] = {
    "up": np.ones(1, dtype=np.uint64),
    "down": np.ones(1, dtype=np.uint64),
}


@dataclass(frozen=True)
class Words:
    """The words of n texts, one after the other.

    first: n + 1 offsets into the others; code: hash of each word; text: the text that each word
    belongs to; is_number: a run of digits.
    """

    first: Ints
    code: Words64
    text: Ints
    is_number: npt.NDArray[np.bool_]

    @property
    def n_texts(self) -> int:
        return len(self.first) - 1

    @property
    def counts(self) -> Ints:
        return np.diff(self.first)

    def pairs_with_before(self) -> Words64:
        """For each word a hash of it and the word before it, in whichever order the two stand;
        0 where it is the first of its text."""
        out = np.zeros(len(self.code), dtype=np.uint64)
        if len(out) > 1:
            same = self.text[1:] == self.text[:-1]
            scattered = mixed(self.code)
            with np.errstate(over="ignore"):
                out[1:][same] = (scattered[:-1] + scattered[1:])[same]
        return out

    def fingerprints(self) -> Words64:
        """One number a text, the same for the same words in any order; 0 without words."""
        with np.errstate(over="ignore"):
            sums = np.concatenate(([np.uint64(0)], np.cumsum(mixed(self.code), dtype=np.uint64)))
            return sums[self.first[1:]] - sums[self.first[:-1]]

    def signatures(self) -> Words64:
        """One number a text in which each word sets one of 64 bits: a quick look at what two
        texts share."""
        bit = np.left_shift(np.uint64(1), mixed(self.code) >> np.uint64(58))
        out = np.zeros(self.n_texts, dtype=np.uint64)
        filled = self.counts > 0
        if filled.any():
            out[filled] = np.bitwise_or.reduceat(bit, self.first[:-1][filled])
        return out


def read_words(texts: pa.Array | pa.ChunkedArray) -> Words:
    """Cut n texts into words; nulls have none.

    Args:
        texts: strings. Case and accents are folded; letters of other scripts stay as they are.
    """
    array = texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
    array = _folded(pc.fill_null(array, "").cast(pa.large_string()))
    n = len(array)
    offsets = np.frombuffer(array.buffers()[1], dtype=np.int64)[array.offset : array.offset + n + 1]
    data = array.buffers()[2]
    low, high = (int(offsets[0]), int(offsets[-1])) if n else (0, 0)
    if data is None or high == low:
        return _no_words(n)
    letters = np.frombuffer(data, dtype=np.uint8)[low:high]
    starts, ends = _runs(letters, offsets - low)
    if not len(starts):
        return _no_words(n)
    code = _hashes(letters, starts, ends)
    told = _is_told(code)
    starts, code = starts[told], code[told]
    first = np.searchsorted(starts, offsets - low).astype(np.int64)
    text = np.repeat(np.arange(n, dtype=np.int64), np.diff(first))
    return Words(first, code, text, _KIND[letters[starts]] == _DIGIT)


def _is_told(code: Words64) -> npt.NDArray[np.bool_]:
    """Which words are no stop words: a small table first, then the few that it holds exactly."""
    told = np.ones(len(code), dtype=bool)
    maybe = np.flatnonzero(_STOP_TABLE[(code >> np.uint64(48)).astype(np.int64)])
    place = np.minimum(np.searchsorted(_STOPS, code[maybe]), len(_STOPS) - 1)
    told[maybe] = _STOPS[place] != code[maybe]
    return told


def _no_words(n: int) -> Words:
    none = np.zeros(0, dtype=np.int64)
    return Words(
        np.zeros(n + 1, dtype=np.int64), np.zeros(0, dtype=np.uint64), none,
        np.zeros(0, dtype=bool),
    )  # fmt: skip


def _folded(texts: pa.Array) -> pa.Array:
    """Accents off, signs of other scripts to blanks; plain ASCII is left alone."""
    special = pc.invert(pc.string_is_ascii(texts))
    if not pc.any(special).as_py():
        return texts
    odd = pc.utf8_normalize(pc.filter(texts, special), "NFKD")
    odd = pc.replace_substring_regex(odd, r"\p{M}+", "")
    odd = pc.replace_substring_regex(odd, r"[^\p{L}\p{N}]+", " ")
    return pc.replace_with_mask(texts, special, pc.utf8_lower(odd))


def _runs(letters: npt.NDArray[np.uint8], offsets: Ints) -> tuple[Ints, Ints]:
    """Where runs of one class begin and end; no run reaches over the end of a text."""
    kind = _KIND[letters]
    begins = np.ones(len(kind), dtype=bool)
    begins[1:] = kind[1:] != kind[:-1]
    inner = offsets[:-1]
    begins[inner[inner < len(kind)]] = True
    at = np.flatnonzero(begins)
    ends = np.append(at[1:], len(kind))
    is_word = kind[at] > 0
    return at[is_word], ends[is_word]


def _hashes(letters: npt.NDArray[np.uint8], starts: Ints, ends: Ints) -> Words64:
    """Sum of value * multiplier^place over each run, by differences of one running sum."""
    up, down = _powers("up", len(letters)), _powers("down", len(letters))
    with np.errstate(over="ignore"):
        running = _VALUE[letters] * up[: len(letters)]
        np.cumsum(running, out=running)
        before = np.where(starts > 0, running[starts - 1], np.uint64(0))
        return (running[ends - 1] - before) * down[starts]


def _powers(which: str, n: int) -> Words64:
    """multiplier^k modulo 2^64 for k = 0 to n - 1; kept, since every batch needs it."""
    known = _POWERS[which]
    if len(known) < n:
        step = np.uint64(_MULTIPLIER if which == "up" else _INVERSE)
        factors = np.full(n, step, dtype=np.uint64)
        factors[0] = 1
        with np.errstate(over="ignore"):
            known = np.cumprod(factors, dtype=np.uint64)
        _POWERS[which] = known
    return known


def _stop_codes() -> Words64:
    text = " ".join(STOP_WORDS).encode()
    letters = np.frombuffer(text, dtype=np.uint8)
    starts, ends = _runs(letters, np.array([0, len(letters)]))
    return np.unique(_hashes(letters, starts, ends))


_STOPS = _stop_codes()
_STOP_TABLE = np.zeros(1 << 16, dtype=bool)
_STOP_TABLE[(_STOPS >> np.uint64(48)).astype(np.int64)] = True
