"""What the rules on faults ask of a title: which words are parts, where a stretch ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms import fault_words
from pipeline.terms.context import SUBJECT, Context
from pipeline.terms.doubts import below
from pipeline.terms.fault_parts import load_fault_parts
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.statements import Statements
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Scene:
    """What the rules on parts ask of single words; few words are ever asked about."""

    lexicon: Lexicon
    stream: TokenStream
    context: Context
    fault_word: BoolArray  # belongs to the name of a fault
    covered: BoolArray  # belongs to a phrase of several words, or to a fault's

    def linked(self, at: IntArray) -> BoolArray:
        """Whether there is a word, without a break before it."""
        inside = (at > 0) & (at < len(self.stream))
        return inside & self.context.linked[np.where(inside, at, 0)]

    def among(self, at: IntArray, words: frozenset[str]) -> BoolArray:
        """Whether each word is one of the words."""
        found: BoolArray = self.lexicon.words_in(words)[self.stream.word[at]]
        return found

    def group(self, at: IntArray) -> IntArray:
        """Group of parts that each word belongs to, -1 for none."""
        return part_groups(self.lexicon)[self.stream.word[at]]

    def preposition(self, at: IntArray) -> BoolArray:
        return self.among(at, fault_words.PREPOSITIONS)

    def halts(self, at: IntArray) -> BoolArray:
        """Whether a word ends the stretch in which a part is looked for."""
        breaks = has_role(
            self.context.starts[at], "with", "conjunction", "subject", "purpose", "negate"
        )
        breaks &= ~self.among(at, fault_words.PREPOSITIONS | fault_words.BETWEEN)
        return breaks | self.fault_word[at]

    def closes(self, at: IntArray) -> BoolArray:
        """Whether nothing follows that belongs to the word."""
        last = len(self.stream) - 1
        following = np.minimum(at + 1, last)
        ends = ~self.context.linked[following] | self.halts(following)
        ends |= self.preposition(following) | self.among(following, fault_words.TURNS)
        return ends | (at >= last)


def scene_of(lexicon: Lexicon, stream: TokenStream, found: Found, context: Context) -> Scene:
    is_fault = (lexicon.concept_of["fault"][found.phrase] >= 0) & ~found.within
    named = np.zeros(len(found), dtype=bool)
    for of_kind in lexicon.concept_of.values():
        named |= of_kind[found.phrase] >= 0
    named |= has_role(lexicon.roles[found.phrase], "mask")
    several = (found.end - found.start > 1) & ~found.within & named
    return Scene(
        lexicon,
        stream,
        context,
        fault_word=found.words_of(is_fault, len(stream)),
        covered=found.words_of(several | is_fault, len(stream)),
    )


def part_groups(lexicon: Lexicon) -> IntArray:
    """Word number -> group of parts, -1 for none."""

    def make() -> IntArray:
        table = np.full(lexicon.n_words, -1, dtype=np.int32)
        for word, group in load_fault_parts().group_of.items():
            if word in lexicon.words:
                table[lexicon.words[word]] = group
        return table

    table: IntArray = lexicon.memo(("fault parts",), make)
    return table


def fault_number(lexicon: Lexicon, concept_id: str) -> int:
    """Number of a fault; -1 where the vocabulary has none of the name."""
    ids = lexicon.concept_ids["fault"]
    return ids.index(concept_id) if concept_id in ids else -1


def faults_below(lexicon: Lexicon, *roots: str) -> BoolArray:
    """Faults that are one of the roots or stand below one."""
    return lexicon.below("fault", *roots)


def pictured(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    start: IntArray,
    category: IntArray,
) -> BoolArray:
    """ "Print of a cracked vase"; but the handle of a cracked jug is the piece's own."""
    opener = np.maximum(context.opener[start], 0)
    before = np.maximum(opener - 1, 0)
    of_part = part_groups(lexicon)[stream.word[before]] >= 0
    of_part |= has_role(context.ends[before], "part", "count", "quantity") & (opener > 0)
    of_part |= lexicon.words_in(fault_words.PORTIONS)[stream.word[before]]
    of_part &= ~stream.starts()[opener]
    shows = lexicon.words_in(fault_words.SHOWS)[stream.word[opener]]
    kind = category[stream.title[start]]
    picture = (kind >= 0) & below(lexicon, "prints-and-paintings")[np.maximum(kind, 0)]
    of_part |= shows & ~picture
    return (context.zone[start] == SUBJECT) & ~of_part


def statements_at(stream: TokenStream, found: Iterable[tuple[IntArray, IntArray]]) -> Statements:
    """Statements of one word each, of no phrase."""
    pairs = list(found)
    at = np.concatenate([one for one, _ in pairs]).astype(np.int32)
    concept = np.concatenate([one for _, one in pairs]).astype(np.int32)
    at, concept = at[concept >= 0], concept[concept >= 0]
    sure = np.full(len(at), 100, dtype=np.float32)
    return Statements(
        stream.title[at], concept, at, at + np.int32(1), sure, np.full(len(at), -1, dtype=np.int32)
    )
