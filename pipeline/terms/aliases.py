"""Misspellings and short forms of words that the vocabulary's hidden labels hold.

A hidden label `mantal clock` beside `mantel clock` says that `mantal` is `mantel`; so the word
is read the same way in every other label, and nobody has to write all combinations down.
"""

from __future__ import annotations

from rapidfuzz.distance import OSA

from pipeline.terms.modifiers import Modifiers
from pipeline.terms.spelling import changes_meaning
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.wordforms import plural_forms

_SHORTEST = 3
_SAFE_TRUNCATION = 5  # letters
_VOWELS = frozenset("aeiou")


def canonical(label: str, aliases: dict[str, str]) -> tuple[str, ...]:
    """A label's words with aliases put right."""
    return tuple(aliases.get(word, word) for word in normalise_label(label).split())


def find_aliases(vocabulary: Vocabulary, kinds: list[str], modifiers: Modifiers) -> dict[str, str]:
    """Alias -> word, for words that occur in hidden labels only and differ in one place."""
    proper: set[str] = set(modifiers.protect)
    for phrase in modifiers.phrases:
        proper.update(phrase.split())
    for kind in kinds:
        for concept in vocabulary.concepts(kind):
            for label in (concept.pref_label, *concept.alt_labels):
                for word in normalise_label(label).split():
                    proper.add(word)
                    proper.update(plural_forms(word))
    proposals: dict[str, dict[str, int]] = {}
    for kind in kinds:
        for concept in vocabulary.concepts(kind):
            known = [
                normalise_label(label).split()
                for label in (concept.pref_label, *concept.alt_labels)
            ]
            for hidden in concept.hidden_labels:
                words = normalise_label(hidden).split()
                for other in known:
                    pair = _one_difference(words, other)
                    if pair is not None and _is_alias(*pair, proper, modifiers):
                        counts = proposals.setdefault(pair[0], {})
                        counts[pair[1]] = counts.get(pair[1], 0) + 1
    found: dict[str, str] = {}
    for alias, counts in proposals.items():
        ranked = sorted(counts, key=lambda word: (OSA.distance(alias, word), -counts[word], word))
        nearest = OSA.distance(alias, ranked[0])
        rivals = {word.rstrip("s") for word in ranked if OSA.distance(alias, word) == nearest}
        if len(rivals) == 1:
            found[alias] = ranked[0]
    return found


def _one_difference(one: list[str], other: list[str]) -> tuple[str, str] | None:
    if len(one) != len(other):
        return None
    pairs = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
    return pairs[0] if len(pairs) == 1 else None


def _is_alias(alias: str, word: str, proper: set[str], modifiers: Modifiers) -> bool:
    if alias in proper or len(alias) < _SHORTEST or not alias.isalpha() or not word.isalpha():
        return False
    if (alias, word) in modifiers.never_merge or alias[0] != word[0]:
        return False
    if changes_meaning(alias, word):
        return False
    if OSA.distance(alias, word) <= max(1, len(word) // 4):
        return True
    if not (len(alias) < len(word) and _short_form(alias, word)):
        return False
    # "clk" and "bwl" can be nothing else; "cab" and "dec" are words of their own
    return len(alias) >= _SAFE_TRUNCATION or not _VOWELS & set(alias)


def _short_form(alias: str, word: str) -> bool:
    """Whether the letters of the alias come in this order in the word: clk, mahog, vict."""
    at = 0
    for letter in alias:
        at = word.find(letter, at) + 1
        if not at:
            return False
    return True
