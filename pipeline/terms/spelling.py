"""Misspelt words: which word of the lexicon an unknown spelling stands for, and how surely.

Done once per distinct word. No cut-off on likeness tells `bronzed` from `bronze` and `mahogony`
from `mahogany` (the first pair is the more alike by Jaro and Winkler's measure), so the guards
come first: same first letter, length, pairs that are never merged, protected words, and a clear
margin over the runner-up. What stays doubtful gets a low score and so ends in review.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from rapidfuzz import process
from rapidfuzz.distance import OSA, Levenshtein

from pipeline.terms.modifiers import Modifiers
from pipeline.terms.wordforms import singular_forms

__all__ = ["Speller", "singular_forms", "sound_key"]

MIN_LENGTH = 5  # shorter words have too many neighbours that are words themselves
MARGIN = 3.0  # points of score between the best word and the next
MAX_LENGTH = 20
FAR = 3
WORST = 84.0  # score; below it a likeness is chance more often than a slip
_SHORT = 6  # letters; up to here one changed letter makes another word more often than a slip
_VOWELS = frozenset("aeiouy")
_LETTER = 1.1  # a consonant too many or too few
_OPPOSING = ("un", "non", "de", "dis", "re", "pre")
_CHANGING_ENDS = ("ed", "ing", "ine", "oid", "ette", "ware", "er", "or", "ish", "ly", "y", "al")
# letters that start the same sound, beside the letter itself
_LIKE_STARTS = {"k": "c", "c": "ks", "s": "c", "f": "p", "p": "f", "j": "g", "g": "j"}


class Speller:
    """Corrects words against the words of a lexicon."""

    def __init__(self, words: Iterable[str], modifiers: Modifiers) -> None:
        self._modifiers = modifiers
        self._by_start: dict[str, list[str]] = defaultdict(list)
        for word in sorted(words):
            if len(word) >= MIN_LENGTH and word.isalpha() and word.isascii():
                self._by_start[word[0]].append(word)

    def correct(self, unknown: list[str]) -> list[tuple[str, float]]:
        """For each spelling the word it stands for and a score; ("", 100) where none does.

        Args:
            unknown: distinct spellings of ASCII letters that the lexicon does not hold.
        """
        found = dict.fromkeys(unknown, ("", 100.0))
        groups: dict[str, list[str]] = defaultdict(list)
        for one in unknown:
            if (
                MIN_LENGTH <= len(one) <= MAX_LENGTH
                and one not in self._modifiers.protect
                and one not in self._modifiers.plain
            ):
                groups[one[0]].append(one)
        for start, spellings in sorted(groups.items()):
            for letters in (start, *_LIKE_STARTS.get(start, "")):
                targets = self._by_start.get(letters, [])
                if targets:
                    self._match(spellings, targets, found, same_start=letters == start)
        return [found[one] for one in unknown]

    def _match(
        self,
        spellings: list[str],
        targets: list[str],
        found: dict[str, tuple[str, float]],
        *,
        same_start: bool,
    ) -> None:
        for begin in range(0, len(spellings), 20_000):
            part = spellings[begin : begin + 20_000]
            distances = process.cdist(
                part, targets, scorer=OSA.distance, score_cutoff=FAR, dtype=np.uint8
            )
            longest = np.maximum(
                np.array([len(one) for one in part], dtype=np.uint8)[:, None],
                np.array([len(one) for one in targets], dtype=np.uint8)[None, :],
            )
            # a slip more is let through where the two may sound alike
            near = distances <= np.where(longest <= _SHORT, 1, np.where(longest <= 9, 2, FAR))
            for row in np.flatnonzero(near.any(axis=1)):
                spelling = part[row]
                columns = np.flatnonzero(near[row])
                near_by = [(targets[c], int(distances[row, c])) for c in columns]
                best = self._choose(spelling, near_by, same_start)
                if best is not None and (not found[spelling][0] or best[1] > found[spelling][1]):
                    found[spelling] = best

    def _choose(
        self, spelling: str, targets: list[tuple[str, int]], same_start: bool
    ) -> tuple[str, float] | None:
        """The best of some words and its score.

        Args:
            targets: words, each with the slips to it.
        """
        sound = sound_key(spelling)
        scored = sorted(
            (
                (
                    _score(spelling, target, distance, sound == _known_sound(target))
                    - (0 if same_start else 4),
                    target,
                )
                for target, distance in targets
                if not self._forbidden(spelling, target)
            ),
            key=lambda pair: (-pair[0], pair[1]),
        )
        if not scored or scored[0][0] < WORST:
            return None
        score, word = scored[0]
        close = [other for near, other in scored[1:2] if score - near < MARGIN]
        if close and close[0] not in (word + "s", word[:-1]):  # its own plural is no rival
            return None
        return word, round(score, 1)

    def _forbidden(self, spelling: str, target: str) -> bool:
        if (spelling, target) in self._modifiers.never_merge:
            return True
        if abs(len(spelling) - len(target)) > 2:
            return True
        return changes_meaning(spelling, target)


def _score(spelling: str, target: str, distance: int, sounds_alike: bool) -> float:
    """100 less the weighed slips per letter; slips of sound and of the fingers weigh less."""
    length = max(len(spelling), len(target))
    allowed = 1 if length <= 7 else 2 if length <= 9 else 3
    if distance > (allowed + 1 if sounds_alike else allowed):
        return 0.0
    weight = _slips(spelling, target, distance)
    if sounds_alike and length > _SHORT:
        weight *= 0.8
    return 100.0 - 100.0 * weight / length


def changes_meaning(one: str, other: str) -> bool:
    """Whether two words differ by what makes another word: unrestored, bronzed, ivorine."""
    shorter, longer = sorted((one, other), key=len)
    if any(longer == prefix + shorter for prefix in _OPPOSING):
        return True
    return any(
        longer == shorter + end or (shorter.endswith("e") and longer == shorter[:-1] + end)
        for end in _CHANGING_ENDS
    )


def _slips(spelling: str, target: str, distance: int) -> float:
    if (
        len(spelling) == len(target)
        and distance == 1
        and Levenshtein.distance(spelling, target) == 2
    ):
        return 0.6  # two neighbouring letters changed places
    weight = 0.0
    for operation in Levenshtein.editops(spelling, target):
        source = spelling[operation.src_pos] if operation.src_pos < len(spelling) else ""
        wanted = target[operation.dest_pos] if operation.dest_pos < len(target) else ""
        if operation.tag == "replace":
            vowels = source in _VOWELS and wanted in _VOWELS
            weight += 0.6 if vowels and len(target) > _SHORT else 1.0
        elif operation.tag == "delete":
            doubled = source in (
                spelling[operation.src_pos - 1 : operation.src_pos],
                spelling[operation.src_pos + 1 : operation.src_pos + 2],
            )
            weight += 0.5 if doubled else _LETTER
        else:
            doubled = wanted in (
                target[operation.dest_pos - 1 : operation.dest_pos],
                target[operation.dest_pos + 1 : operation.dest_pos + 2],
            )
            weight += 0.5 if doubled else 0.8 if wanted in _VOWELS else _LETTER
    return weight


@lru_cache(maxsize=100_000)
def _known_sound(word: str) -> str:
    """`sound_key` of a word of the lexicon, which many spellings are compared with."""
    return sound_key(word)


def sound_key(word: str) -> str:
    """A rough key of how an English word sounds: consonants, one letter a sound.

    Our own rule, made for this use: soft c as s, hard c and q as k, ph as f, silent letters and
    vowels dropped after the first letter, doubles joined.
    """
    out: list[str] = []
    text = word.replace("ph", "f").replace("ck", "k").replace("sch", "sk").replace("gh", "g")
    for index, letter in enumerate(text):
        following = text[index + 1 : index + 2]
        if letter == "c":
            letter = "s" if following in ("e", "i", "y") else "k"
        elif letter == "q":
            letter = "k"
        elif letter == "z":
            letter = "s"
        elif letter == "x":
            letter = "k"
        if letter in "aeiouyhw":
            if index == 0:
                out.append("a")
            continue
        if not out or out[-1] != letter:
            out.append(letter)
    return "".join(out)
