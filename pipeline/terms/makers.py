"""Read the distinct values of a column that names makers.

Makers are the user's own vocabulary: names of people and firms, which follow no grammar. A value
stops at the first rung that holds: the maker's own name, a label, the same words in another order
("Hallowell, J." for "J. Hallowell"), and last the likeness of spelling. Likeness alone is taken
only for one letter's difference inside a long word: one initial more is another person.
"""

from __future__ import annotations

import numpy as np
from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from pipeline.settings import TermSettings
from pipeline.terms.picks import ACCEPTED, REVIEW
from pipeline.terms.readings import EXACT, FUZZY, LABEL, NOTHING, WORD_ORDER, FieldReading
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary

KIND = "maker"
_LONG_WORD = 6  # letters; a shorter word that differs by one letter is mostly another name
_WORST_SHOWN = 60.0  # score of a label that is still shown as a candidate
_MOST_OTHERS = 4


class MakerReader:
    """Reads values as makers. Holds what depends on the vocabulary alone."""

    def __init__(self, vocabulary: Vocabulary, settings: TermSettings) -> None:
        self._settings = settings
        self._names: dict[str, str] = {}
        for concept in vocabulary.concepts(KIND):
            self._names.setdefault(normalise_label(concept.id), concept.id)
        for concept in vocabulary.concepts(KIND):
            self._names[normalise_label(concept.pref_label)] = concept.id
        self._labels: dict[str, tuple[str, ...]] = {
            label: tuple(dict.fromkeys(entry.concept_id for entry in entries))
            for label, entries in vocabulary.labels(KIND).items()
        }
        self._written = sorted(self._labels)
        self._turned: dict[tuple[str, ...], set[str]] = {}
        for label, concepts in self._labels.items():
            self._turned.setdefault(tuple(sorted(label.split())), set()).update(concepts)

    def read(self, texts: list[str]) -> list[FieldReading]:
        """Read distinct texts; the answer for one does not depend on the others."""
        return [self._read_one(normalise_label(text)) for text in texts]

    def candidates(self, text: str, n: int) -> list[tuple[str, float, str]]:
        """At most n makers for a text with score and label, the likest first."""
        best: dict[str, tuple[float, str]] = {}
        for label, score in self._nearest(normalise_label(text)):
            for concept_id in self._labels[label]:
                best.setdefault(concept_id, (round(score, 1), label))
        ranked = sorted(best.items(), key=lambda item: (-item[1][0], item[0]))
        return [(concept_id, score, label) for concept_id, (score, label) in ranked[:n]]

    def _read_one(self, name: str) -> FieldReading:
        own, carriers = self._names.get(name), self._labels.get(name, ())
        if own is not None:
            return FieldReading(own, (), 100.0, 100.0, EXACT, ACCEPTED)
        if len(carriers) == 1:
            return FieldReading(carriers[0], (), 100.0, 100.0, LABEL, ACCEPTED)
        if carriers:
            return FieldReading(carriers[0], carriers[1:], 100.0, 0.0, LABEL, REVIEW)
        words = name.split()
        turned = self._turned.get(tuple(sorted(words)), set()) if len(words) > 1 else set()
        if len(turned) == 1:
            return FieldReading(min(turned), (), WORD_ORDER, WORD_ORDER, LABEL, ACCEPTED)
        return self._like(name)

    def _like(self, name: str) -> FieldReading:
        ranked: dict[str, tuple[float, str]] = {}
        for label, score in self._nearest(name):
            for concept_id in self._labels[label]:
                ranked.setdefault(concept_id, (score, label))
        order = sorted(ranked.items(), key=lambda item: (-item[1][0], item[0]))
        if not order or order[0][1][0] < self._settings.review_score:
            return NOTHING
        (concept_id, (score, label)), rest = order[0], order[1:]
        margin = score - (rest[0][1][0] if rest else 0.0)
        sure = (
            score >= self._settings.accept_score
            and margin >= self._settings.accept_margin
            and _one_slip(name.split(), label.split())
        )
        return FieldReading(
            concept_id,
            tuple(other for other, _ in rest[:_MOST_OTHERS]),
            round(score, 1),
            round(margin, 1),
            FUZZY,
            ACCEPTED if sure else REVIEW,
        )

    def _nearest(self, name: str) -> list[tuple[str, float]]:
        """Labels like a name with their likeness, the likest first."""
        if not self._written or not name:
            return []
        scores = process.cdist(
            [name], self._written, scorer=fuzz.ratio, score_cutoff=_WORST_SHOWN, dtype=np.float32
        )[0]
        near = np.flatnonzero(scores >= _WORST_SHOWN)
        near = near[np.lexsort((near, -scores[near]))]
        return [(self._written[i], float(scores[i])) for i in near]


def _one_slip(ours: list[str], theirs: list[str]) -> bool:
    """Whether two names differ by one slip of the pen inside one long word."""
    if len(ours) != len(theirs):
        return False
    unlike = [(a, b) for a, b in zip(ours, theirs, strict=True) if a != b]
    if len(unlike) != 1:
        return False
    one, other = unlike[0]
    if min(len(one), len(other)) < _LONG_WORD or one[0] != other[0]:
        return False
    return OSA.distance(one, other) == 1
