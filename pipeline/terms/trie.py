"""Phrases as paths of word numbers, in arrays that whole columns of words can walk at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int32]
FloatArray = npt.NDArray[np.float32]


class Walkable(Protocol):
    """What `phrases.walk` needs to find phrases."""

    @property
    def n_words(self) -> int: ...
    @property
    def root_child(self) -> IntArray: ...
    @property
    def keys(self) -> npt.NDArray[np.int64]: ...
    @property
    def children(self) -> IntArray: ...
    @property
    def node_phrase(self) -> IntArray: ...
    @property
    def has_children(self) -> npt.NDArray[np.bool_]: ...


@dataclass(frozen=True)
class Trie:
    """Phrases that are found exactly as they are spelt.

    Attributes:
        words: word -> number, from 1; 0 is any other word.
        root_child: word number -> node after that word as a first word, -1 for none.
        keys, children: node times number of words plus word -> next node, keys sorted.
        node_phrase: node -> phrase that ends there, -1 for none.
    """

    words: dict[str, int]
    n_phrases: int
    root_child: IntArray
    keys: npt.NDArray[np.int64]
    children: IntArray
    node_phrase: IntArray
    has_children: npt.NDArray[np.bool_]

    @property
    def n_words(self) -> int:
        return len(self.words) + 1

    def look_up(self, spellings: list[str]) -> tuple[IntArray, FloatArray]:
        """Word numbers of spellings, and 100 for each: nothing is corrected here."""
        numbers = np.array([self.words.get(one, 0) for one in spellings], dtype=np.int32)
        return numbers, np.full(len(spellings), 100, dtype=np.float32)


def build_trie(phrases: Sequence[tuple[str, ...]], words: Iterable[str] | None = None) -> Trie:
    """Lay phrases into a trie.

    Args:
        phrases: in the order of their numbers.
        words: words to number besides those of the phrases.
    """
    known = {word for phrase in phrases for word in phrase} | set(words or ())
    numbers = {word: number for number, word in enumerate(sorted(known), start=1)}
    n_words = len(numbers) + 1
    child: dict[int, int] = {}
    node_phrase: list[int] = []
    root_child = np.full(n_words, -1, dtype=np.int32)
    for number, phrase in enumerate(phrases):
        word = numbers[phrase[0]]
        if root_child[word] < 0:
            root_child[word] = len(node_phrase)
            node_phrase.append(-1)
        node = int(root_child[word])
        for step in phrase[1:]:
            key = node * n_words + numbers[step]
            if key not in child:
                child[key] = len(node_phrase)
                node_phrase.append(-1)
            node = child[key]
        node_phrase[node] = number
    ordered = sorted(child)
    keys = np.array(ordered, dtype=np.int64)
    phrase_of = np.array(node_phrase or [-1], dtype=np.int32)
    has_children = np.zeros(len(phrase_of), dtype=bool)
    has_children[keys // n_words] = True
    return Trie(
        words=numbers,
        n_phrases=len(phrases),
        root_child=root_child,
        keys=keys,
        children=np.array([child[key] for key in ordered], dtype=np.int32),
        node_phrase=phrase_of,
        has_children=has_children,
    )
