"""Phrases and what they say, in arrays: quick to keep in a file and to take from one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import overload

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int32]
FloatArray = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]
Words = tuple[str, ...]


@dataclass(frozen=True)
class Reading:
    """What a phrase says in one kind: its best concept, the others that share it, how surely."""

    concept: int
    others: tuple[int, ...]
    score: float


@dataclass(frozen=True)
class Readings(Mapping[int, Reading]):
    """What the phrases of one kind say, by phrase number.

    Attributes:
        phrase: numbers of the n phrases, rising.
        concept, score: n of each.
        first: n + 1 places; the others that share phrase i are others[first[i]:first[i + 1]].
    """

    phrase: IntArray
    concept: IntArray
    score: FloatArray
    first: IntArray
    others: IntArray

    @classmethod
    def of(cls, readings: Mapping[int, Reading]) -> Readings:
        """Lay readings by phrase number into arrays."""
        ordered = sorted(readings.items())
        others = [reading.others for _, reading in ordered]
        return cls(
            np.array([phrase for phrase, _ in ordered], dtype=np.int32),
            np.array([reading.concept for _, reading in ordered], dtype=np.int32),
            np.array([reading.score for _, reading in ordered], dtype=np.float32),
            np.concatenate([[0], np.cumsum([len(one) for one in others])]).astype(np.int32),
            np.array([number for one in others for number in one], dtype=np.int32),
        )

    def __getitem__(self, phrase: int) -> Reading:
        at = int(np.searchsorted(self.phrase, phrase))
        if at == len(self.phrase) or int(self.phrase[at]) != phrase:
            raise KeyError(phrase)
        return self._at(at)

    def __iter__(self) -> Iterator[int]:
        return iter(self.phrase.tolist())

    def __len__(self) -> int:
        return len(self.phrase)

    def _at(self, at: int) -> Reading:
        others = tuple(self.others[self.first[at] : self.first[at + 1]].tolist())
        return Reading(int(self.concept[at]), others, float(self.score[at]))

    def only(self, keep: BoolArray) -> Readings:
        """Those of the phrases where `keep`, one a phrase of this kind, is true."""
        sizes = np.diff(self.first)
        return Readings(
            self.phrase[keep],
            self.concept[keep],
            self.score[keep],
            np.concatenate([[0], np.cumsum(sizes[keep])]).astype(np.int32),
            self.others[np.repeat(keep, sizes)],
        )


class Phrases(Sequence[Words]):
    """Phrases by number, each as its words; kept as texts and taken apart when asked for."""

    def __init__(self, texts: list[str]) -> None:
        self.texts = texts

    @cached_property
    def _words(self) -> list[Words]:
        return [tuple(text.split(" ")) for text in self.texts]

    @overload
    def __getitem__(self, at: int) -> Words: ...
    @overload
    def __getitem__(self, at: slice) -> list[Words]: ...
    def __getitem__(self, at: int | slice) -> Words | list[Words]:
        if isinstance(at, slice):
            return self._words[at]
        return tuple(self.texts[at].split(" "))

    def __iter__(self) -> Iterator[Words]:
        return iter(self._words)

    def __len__(self) -> int:
        return len(self.texts)


class PhraseNumbers(Mapping[Words, int]):
    """Words of a phrase -> its number."""

    def __init__(self, phrases: Phrases) -> None:
        self._phrases = phrases

    @cached_property
    def _number(self) -> dict[str, int]:
        return dict(zip(self._phrases.texts, range(len(self._phrases)), strict=True))

    def __getitem__(self, words: Words) -> int:
        return self._number[" ".join(words)]

    def __iter__(self) -> Iterator[Words]:
        return iter(self._phrases)

    def __len__(self) -> int:
        return len(self._phrases)
