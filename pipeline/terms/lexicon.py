"""The vocabulary made ready for reading: every label as a path through a trie of word numbers.

Built once per vocabulary. Labels get the forms a cataloguer takes for granted (plural and
singular, `chests of drawers`, `book case` for `bookcase`); a derived form never takes the place
of a label that somebody wrote down for another concept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from pipeline.terms.aliases import canonical, find_aliases
from pipeline.terms.context_words import CONTEXT_WORDS
from pipeline.terms.fault_parts import load_fault_parts
from pipeline.terms.fault_words import FAULT_WORDS
from pipeline.terms.modifiers import PHRASE_ROLES, Modifiers, load_modifiers
from pipeline.terms.name_words import NAME_WORDS
from pipeline.terms.phrase_tables import PhraseNumbers, Phrases, Reading, Readings
from pipeline.terms.spelling import Speller, singular_forms
from pipeline.terms.text import normalise_label
from pipeline.terms.trie import build_trie
from pipeline.terms.vocabulary import Vocabulary
from pipeline.terms.wordforms import LINKS, label_forms, plural_forms

READ_KINDS = ("category", "material", "period", "condition", "attribution", "fault", "marker")
_COATS = ("finish", "technique")
_CONTEXT_ROLES = {
    "material": "bare_material",
    "condition": "grade_word",
    "attribution": "copy_word",
}
# kinds whose reader judges every such label by its place
_ALL_IN_CONTEXT = ("category", "fault", "period")
_NAMING_KINDS = ("category", "material", "period")
_SPELT_KINDS = ("category", "material", "period", "attribution")
MAX_WORDS = 8
_HARDLY_ANY = 2  # names: a word and its plural
EXACT, DERIVED = np.float32(100), np.float32(98)
AMBIGUOUS = np.float32(75)

IntArray = npt.NDArray[np.int32]
FloatArray = npt.NDArray[np.float32]
_NONE = np.zeros(0, dtype=np.int32)


@dataclass
class Lexicon:
    """Words, phrases and concepts as numbers. Built by `build_lexicon`.

    Attributes:
        concept_ids: kind -> ids, in the order of the numbers used here.
        words: word -> number, from 1; 0 is "not in the lexicon".
        phrases: phrase number -> its words.
        field_only: kind -> phrases that count only where they are a field's whole business.
        aliases: misspellings and short forms that the vocabulary itself gives -> the word.
        readings: kind -> phrase number -> Reading.
        roles: phrase number -> bits of PHRASE_ROLES.
        _tables: of `memo`; one for all views. _kept: how to take some of them from a file.
    """

    vocabulary: Vocabulary
    modifiers: Modifiers
    concept_ids: dict[str, tuple[str, ...]]
    words: dict[str, int]
    phrases: Phrases
    phrase_numbers: PhraseNumbers
    readings: dict[str, Readings]
    roles: npt.NDArray[np.uint64]
    root_child: IntArray
    keys: npt.NDArray[np.int64]
    children: IntArray
    node_phrase: IntArray
    has_children: npt.NDArray[np.bool_]
    field_only: dict[str, IntArray]
    aliases: dict[str, str]
    field_kind: str | None = None
    _known: dict[str, tuple[int, float]] = field(default_factory=dict)
    _above: dict[str, npt.NDArray[np.bool_]] = field(default_factory=dict)
    _views: dict[str | None, Lexicon] = field(default_factory=dict)
    _weak: dict[str, npt.NDArray[np.bool_]] = field(default_factory=dict)
    _tables: dict[object, Any] = field(default_factory=dict)
    _kept: dict[object, Callable[[], Any]] = field(default_factory=dict)
    _shared: dict[str, Speller] = field(default_factory=dict)

    @cached_property
    def n_words(self) -> int:
        return len(self.words) + 1

    @cached_property
    def concept_of(self) -> dict[str, IntArray]:
        """Kind -> phrase number -> concept number, -1 where the phrase says nothing of it."""
        tables = {}
        for kind, readings in self.readings.items():
            table = np.full(len(self.phrases), -1, dtype=np.int32)
            table[readings.phrase] = readings.concept
            tables[kind] = table
        return tables

    @cached_property
    def score_of(self) -> dict[str, FloatArray]:
        """Kind -> phrase number -> score of the reading as such (before misspellings)."""
        tables = {}
        for kind, readings in self.readings.items():
            table = np.zeros(len(self.phrases), dtype=np.float32)
            table[readings.phrase] = readings.score
            tables[kind] = table
        return tables

    def memo(self, key: object, make: Callable[[], Any]) -> Any:
        """A table made at its first use.

        All views share it, so it may depend on what they share: words, phrases, roles and the
        vocabulary, but not on the readings of a view. One under a text is kept with the lexicon.
        """
        if key not in self._tables:
            self._tables[key] = self._kept.get(key, make)()
        return self._tables[key]

    def text_tables(self) -> dict[str, Any]:
        """The tables of `memo` that were made under a text."""
        return {key: table for key, table in self._tables.items() if isinstance(key, str)}

    def is_one_of(self, kind: str, *concepts: str) -> npt.NDArray[np.bool_]:
        """Concept number -> whether it is one of the concepts; one value where the kind has none.

        Not to be written to: it is made once.
        """

        def make() -> npt.NDArray[np.bool_]:
            return np.array([one in concepts for one in self.concept_ids[kind]] or [False])

        return self.memo(("one of", kind, concepts), make)

    def words_in(self, words: frozenset[str]) -> npt.NDArray[np.bool_]:
        """Word number -> whether it is one of the words."""

        def make() -> npt.NDArray[np.bool_]:
            table = np.zeros(self.n_words, dtype=bool)
            table[[self.words[word] for word in words if word in self.words]] = True
            return table

        return self.memo(words, make)

    def words_alone(self, role: str) -> npt.NDArray[np.bool_]:
        """Word number -> whether the word by itself plays a role."""
        singles = (phrase[0] for phrase in self.phrases_of(role) if len(phrase) == 1)
        return self.memo(("words alone", role), lambda: self.words_in(frozenset(singles)))

    def phrases_where(
        self, key: str, test: Callable[[tuple[str, ...]], bool]
    ) -> npt.NDArray[np.bool_]:
        """Phrase number -> whether its words pass a test; `key` names the test."""
        return self.memo(key, lambda: np.array([test(words) for words in self.phrases], dtype=bool))

    def choices(self, kind: str) -> dict[int, dict[str, int]]:
        """Phrase -> currency, or word beside it -> concept, for labels of unlike things."""

        def make() -> dict[int, dict[str, int]]:
            table: dict[int, dict[str, int]] = {}
            ids = self.concept_ids.get(kind, ())
            for rule in self.vocabulary.ambiguities():
                if rule.kind != kind or not rule.choices:
                    continue
                words = canonical(rule.label, self.aliases)
                mapping = {
                    mark: ids.index(concept)
                    for mark, concept in rule.choices
                    if mark not in words  # a word of the label tells nothing more
                }
                for form in label_forms(words, kind, set()):
                    if form in self.phrase_numbers:
                        table[self.phrase_numbers[form]] = mapping
            return table

        table: dict[int, dict[str, int]] = self.memo(("choices", kind), make)
        return table

    def phrases_of(self, role: str) -> tuple[tuple[str, ...], ...]:
        """The phrases that play a role."""

        def make() -> tuple[tuple[str, ...], ...]:
            mask = np.uint64(1 << PHRASE_ROLES.index(role))
            numbers = np.flatnonzero(self.roles & mask).tolist()
            return tuple(self.phrases[number] for number in numbers)

        return self.memo(("phrases of", role), make)

    def weak(self, kind: str) -> npt.NDArray[np.bool_]:
        """Phrases that are labels of the kind for fields only, in running text to be judged."""
        if kind not in self._weak:
            table = np.zeros(len(self.phrases), dtype=bool)
            if kind != self.field_kind:
                table[self.field_only.get(kind, _NONE)] = True
            self._weak[kind] = table
        return self._weak[kind]

    @cached_property
    def is_coat(self) -> npt.NDArray[np.bool_]:
        """Phrases that name a finish or a technique, which may hold the material's own name.

        Not those of an imitation: "faux bamboo" holds no bamboo.
        """
        imitations = {phrase[0] for phrase in self.phrases_of("imitate_before")}
        table = np.zeros(len(self.phrases), dtype=bool)
        if "material" not in self.readings:
            return table
        said = self.readings["material"]
        coats = np.array(
            [
                concept.extra.get("aspect") in _COATS
                for concept in self.vocabulary.concepts("material")
            ],
            dtype=bool,
        )
        for phrase in said.phrase[coats[said.concept]].tolist():
            table[phrase] = self.phrases[phrase][0] not in imitations
        return table

    @cached_property
    def head_words(self) -> dict[str, frozenset[int]]:
        """Word -> categories that another thing is meant of when the word follows them."""
        table: dict[str, set[int]] = {}
        for number, concept in enumerate(self.vocabulary.concepts("category")):
            for phrase in concept.many("head_words"):
                words = normalise_label(phrase).split()
                if words:
                    table.setdefault(words[0], set()).add(number)
        return {word: frozenset(numbers) for word, numbers in table.items()}

    def view(self, field_kind: str | None = None) -> Lexicon:
        """The lexicon as running text is read with: without the labels meant for fields alone.

        Args:
            field_kind: the kind that the texts are a field of; its own labels then all count.
        """
        if field_kind not in self._views:
            readings = {
                kind: of_kind if kind == field_kind else of_kind.only(self._free(kind, of_kind))
                for kind, of_kind in self.readings.items()
            }
            live = self.roles > 0
            for of_kind in readings.values():
                live[of_kind.phrase] = True
            node_phrase = np.where(
                (self.node_phrase >= 0) & live[np.maximum(self.node_phrase, 0)],
                self.node_phrase,
                -1,
            ).astype(np.int32)
            self._views[field_kind] = replace(
                self,
                readings=readings,
                node_phrase=node_phrase,
                field_kind=field_kind,
                _weak={},
            )
        return self._views[field_kind]

    def _free(self, kind: str, readings: Readings) -> npt.NDArray[np.bool_]:
        """Of the phrases of a kind, those that running text may use for it.

        Labels for fields count too where their reader judges them by the words beside them.
        """
        if kind in _ALL_IN_CONTEXT:
            return np.ones(len(readings), dtype=bool)
        free = ~np.isin(readings.phrase, self.field_only.get(kind, _NONE))
        role = _CONTEXT_ROLES.get(kind)
        if role is not None:
            mask = np.uint64(1 << PHRASE_ROLES.index(role))
            free |= (self.roles[readings.phrase] & mask) > 0
        return free

    def above(self, kind: str) -> npt.NDArray[np.bool_]:
        """[a, b] is true where concept b stands above concept a in the tree of the kind."""
        if kind not in self._above:
            ids = self.concept_ids[kind]
            index = {concept_id: number for number, concept_id in enumerate(ids)}
            table = np.zeros((len(ids), len(ids)), dtype=bool)
            for number, concept_id in enumerate(ids):
                for broader in self.vocabulary.ancestors(kind, concept_id):
                    table[number, index[broader]] = True
            self._above[kind] = table
        return self._above[kind]

    def depth(self, kind: str) -> IntArray:
        """Concept number -> how many concepts stand above it, 0 for the top of a tree."""
        return self.memo(f"depth of {kind}", lambda: self.above(kind).sum(axis=1, dtype=np.int32))

    def below(self, kind: str, *roots: str) -> npt.NDArray[np.bool_]:
        """Concept number -> whether it is one of the roots, or stands below one, in the tree.

        A fresh array, which the caller may change; a root that the vocabulary lacks adds nothing.
        """

        def make() -> npt.NDArray[np.bool_]:
            ids = self.concept_ids[kind]
            table = np.zeros(len(ids), dtype=bool)
            for root in roots:
                if root in ids:
                    table |= self.above(kind)[:, ids.index(root)]
                    table[ids.index(root)] = True
            return table

        table: npt.NDArray[np.bool_] = self.memo(("below", kind, roots), make)
        return table.copy()

    @property
    def speller(self) -> Speller:
        """The corrector of words; one for all views."""
        if "speller" not in self._shared:
            words = list(self.words)

            def make() -> IntArray:
                numbers = sorted(self.words[word] for word in self._spelling_targets())
                return np.array(numbers, dtype=np.int32)

            targets: IntArray = self.memo("spelling targets", make)
            self._shared["speller"] = Speller(
                [words[number - 1] for number in targets.tolist()], self.modifiers
            )
        return self._shared["speller"]

    def _spelling_targets(self) -> set[str]:
        """Words worth correcting to: those of preferred and alternative names, and plurals.

        Not a word that hardly any name holds, and that is in no preferred label and no everyday
        English ("pacchas"): an unknown word is more often itself than a slip of that.
        """
        names = Counter(word for text in self.phrases.texts for word in {*text.split(" ")})
        targets: set[str] = set()
        preferred: set[str] = set()
        for kind in _SPELT_KINDS:
            if kind not in self.concept_ids:
                continue
            for concept in self.vocabulary.concepts(kind):
                preferred.update(normalise_label(concept.pref_label).split())
                for label in (concept.pref_label, *concept.alt_labels):
                    targets.update(normalise_label(label).split())
        plurals = {form for word in targets for form in plural_forms(word)}
        always = self.modifiers.plain | preferred
        return {
            word
            for word in targets | plurals
            if word in self.words and (names[word] > _HARDLY_ANY or word in always)
        }

    def look_up(self, spellings: list[str]) -> tuple[IntArray, FloatArray]:
        """Word numbers and scores of spellings; unknown ones are corrected where that is safe.

        The answer for a spelling depends on the lexicon alone, so it is remembered.
        """
        new = [one for one in spellings if one not in self._known]
        if new:
            if len(self._known) > 2_000_000:
                self._known.clear()
                new = spellings
            self._known.update(self._read_words(new))
        found = [self._known[one] for one in spellings]
        if not found:
            return np.zeros(0, dtype=np.int32), np.zeros(0, dtype=np.float32)
        numbers, scores = zip(*found, strict=True)
        return np.array(numbers, dtype=np.int32), np.array(scores, dtype=np.float32)

    def _read_words(self, spellings: list[str]) -> Iterator[tuple[str, tuple[int, float]]]:
        unsure: list[str] = []
        for one in spellings:
            number = self.words.get(one)
            if number is not None:
                yield one, (number, 100.0)
                continue
            other = self.modifiers.same.get(one) or self.aliases.get(one, "")
            if other in self.words:
                yield one, (self.words[other], 98.0)
                continue
            form = next((self.words[f] for f in singular_forms(one) if f in self.words), None)
            if form is not None and one not in self.modifiers.protect:
                yield one, (form, 97.0)
            elif one.isalpha() and one.isascii():
                unsure.append(one)
            else:
                yield one, (0, 100.0)
        for one, (word, score) in zip(unsure, self.speller.correct(unsure), strict=True):
            yield one, (self.words.get(word, 0), score)


_CACHE: dict[tuple[str, int], Lexicon] = {}


def lexicon_for(vocabulary: Vocabulary | None = None) -> Lexicon:
    """The lexicon of a vocabulary (of the package's own where None), built once."""
    vocabulary = vocabulary if vocabulary is not None else Vocabulary.load()
    held = held_lexicon(vocabulary)
    return held if held is not None else hold(build_lexicon(vocabulary, load_modifiers()))


def held_lexicon(vocabulary: Vocabulary) -> Lexicon | None:
    """The lexicon of a vocabulary where this process has one."""
    return _CACHE.get((vocabulary.fingerprint, id(load_modifiers())))


def hold(lexicon: Lexicon) -> Lexicon:
    """Use this lexicon for its vocabulary from now on; one at a time is held."""
    _CACHE.clear()
    _CACHE[lexicon.vocabulary.fingerprint, id(lexicon.modifiers)] = lexicon
    return lexicon


def build_lexicon(vocabulary: Vocabulary, modifiers: Modifiers) -> Lexicon:
    """Number words, phrases and concepts, and lay the trie."""
    kinds = [kind for kind in READ_KINDS if kind in vocabulary.kinds]
    aliases = find_aliases(vocabulary, kinds, modifiers)
    concept_ids = {kind: tuple(c.id for c in vocabulary.concepts(kind)) for kind in kinds}
    said = {kind: _phrases_of_kind(vocabulary, kind, concept_ids[kind], aliases) for kind in kinds}
    numbers: dict[tuple[str, ...], int] = {}
    for phrase in sorted({*modifiers_phrases(modifiers)}.union(*said.values())):
        numbers[phrase] = len(numbers)
    phrases = list(numbers)
    texts = Phrases([" ".join(phrase) for phrase in phrases])
    # a word corrected or abbreviated to must itself be a word of the lexicon
    known = {word for phrase in phrases for word in phrase} | set(modifiers.same.values())
    known |= CONTEXT_WORDS | NAME_WORDS | set(load_fault_parts().group_of) | FAULT_WORDS
    for concept in vocabulary.concepts("category"):
        for changing in concept.many("head_words"):
            known.update(normalise_label(changing).split()[:1])
    known.update(
        mark for rule in vocabulary.ambiguities() for mark, _ in rule.choices if mark.islower()
    )
    trie = build_trie(phrases, known)
    words = trie.words
    roles = np.zeros(len(phrases), dtype=np.uint64)
    for text, played in modifiers.phrases.items():
        for role in played:
            roles[numbers[tuple(text.split())]] |= np.uint64(1 << PHRASE_ROLES.index(role))
    return Lexicon(
        vocabulary=vocabulary,
        modifiers=modifiers,
        concept_ids=concept_ids,
        words=words,
        phrases=texts,
        phrase_numbers=PhraseNumbers(texts),
        readings={
            kind: Readings.of({numbers[phrase]: reading for phrase, reading in of_kind.items()})
            for kind, of_kind in said.items()
        },
        roles=roles,
        aliases=aliases,
        field_only={
            kind: np.array(
                sorted(
                    numbers[phrase]
                    for phrase in _field_only_phrases(vocabulary, kind, aliases, said[kind])
                    if phrase in numbers
                ),
                dtype=np.int32,
            )
            for kind in kinds
        },
        root_child=trie.root_child,
        keys=trie.keys,
        children=trie.children,
        node_phrase=trie.node_phrase,
        has_children=trie.has_children,
    )


def modifiers_phrases(modifiers: Modifiers) -> Iterator[tuple[str, ...]]:
    """The phrases that play a role, as words."""
    for phrase in modifiers.phrases:
        yield tuple(phrase.split())


def _phrases_of_kind(
    vocabulary: Vocabulary, kind: str, ids: tuple[str, ...], aliases: dict[str, str]
) -> dict[tuple[str, ...], Reading]:
    index = {concept_id: number for number, concept_id in enumerate(ids)}
    written: dict[tuple[str, ...], list[int]] = {}
    for concept in vocabulary.concepts(kind):
        for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
            phrase = canonical(label, aliases)
            if 0 < len(phrase) <= MAX_WORDS:
                carriers = written.setdefault(phrase, [])
                if index[concept.id] not in carriers:
                    carriers.append(index[concept.id])
    readings = {
        phrase: _reading(vocabulary, kind, ids, phrase, carriers, float(EXACT))
        for phrase, carriers in written.items()
    }
    parts = {word for phrase in written for word in phrase if len(word) >= 3} - LINKS
    elsewhere = _names_of_other_kinds(vocabulary, kind)
    derived: dict[tuple[str, ...], list[int]] = {}
    for phrase in sorted(written):
        for form in label_forms(phrase, kind, parts):
            if form not in written and form not in elsewhere and len(form) <= MAX_WORDS:
                carriers = derived.setdefault(form, [])
                number = readings[phrase].concept
                if number not in carriers:
                    carriers.append(number)
    for phrase, carriers in derived.items():
        readings[phrase] = _reading(vocabulary, kind, ids, phrase, carriers, float(DERIVED))
    return readings


def _field_only_phrases(
    vocabulary: Vocabulary,
    kind: str,
    aliases: dict[str, str],
    said: dict[tuple[str, ...], Reading],
) -> set[tuple[str, ...]]:
    """Labels meant for fields alone, with the forms derived from them and from nothing else."""
    own = {canonical(label, aliases) for label in vocabulary.field_only_labels(kind)}
    free = {
        canonical(label, aliases)
        for concept in vocabulary.concepts(kind)
        for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels)
    } - own
    parts = {word for phrase in own | free for word in phrase if len(word) >= 3} - LINKS
    of_own = {form for phrase in own for form in label_forms(phrase, kind, parts)}
    of_free = {form for phrase in free for form in label_forms(phrase, kind, parts)}
    return (own | (of_own - of_free)) & set(said)


def _names_of_other_kinds(vocabulary: Vocabulary, kind: str) -> set[tuple[str, ...]]:
    """Labels that are the proper names of something of another kind: `marble` is no toy."""
    return {
        tuple(normalise_label(label).split())
        for other in _NAMING_KINDS
        if other != kind and other in vocabulary.kinds
        for concept in vocabulary.concepts(other)
        for label in (concept.pref_label, *concept.alt_labels)
    }


def _reading(
    vocabulary: Vocabulary,
    kind: str,
    ids: tuple[str, ...],
    phrase: tuple[str, ...],
    carriers: list[int],
    score: float,
) -> Reading:
    rule = vocabulary.ambiguity(kind, " ".join(phrase))
    if rule is not None and rule.choices:
        # two trades use the word for different things, whichever concept carries it
        meant = sorted({*carriers, *(ids.index(concept) for _, concept in rule.choices)})
        if rule.prefer in ids:  # so it is mostly used
            first = ids.index(rule.prefer)
            return Reading(first, tuple(m for m in meant if m != first), score)
        return Reading(carriers[0], tuple(m for m in meant if m != carriers[0]), float(AMBIGUOUS))
    if len(carriers) == 1:
        return Reading(carriers[0], (), score)
    if rule is not None and rule.prefer in ids:
        first = ids.index(rule.prefer)
        others = tuple(one for one in carriers if one != first)
        return Reading(first, others, score)
    # one broader than the other: the broader is true of both
    broad = [
        one
        for one in carriers
        if all(
            one == other or ids[one] in vocabulary.ancestors(kind, ids[other]) for other in carriers
        )
    ]
    first = broad[0] if broad else min(carriers, key=lambda one: ids[one])
    others = tuple(sorted(one for one in carriers if one != first))
    return Reading(first, others, score if broad else float(AMBIGUOUS))
