"""Boxes and cases that belong to a piece, and the box that is the piece."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms import fault_words
from pipeline.terms.doubts import below
from pipeline.terms.fault_scene import Scene, fault_number, pictured, statements_at
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import has_role
from pipeline.terms.statements import Statements, subset
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_WORDS_TO_HOLDER = 5
# goods whose case is their body
_BUILT_IN = (
    "clocks-and-watches", "furniture", "lighting", "barometer", "radio", "gramophone", "telephone",
    "music-box", "canteen", "piano", "harmonium", "organ",
)  # fmt: skip


def boxed_pieces(lexicon: Lexicon, scene: Scene, category: IntArray) -> Statements:
    """ "In a fitted mahogany case" tells a box of its own; a clock's case is the clock."""
    stream, context = scene.stream, scene.context
    opens = lexicon.words_in(fault_words.IN)[stream.word] & ~scene.covered
    at = np.flatnonzero(opens).astype(np.int32)
    at = at[~pictured(lexicon, stream, context, at, category)]
    alive = np.ones(len(at), dtype=bool)
    hit, of_own = np.zeros(len(at), dtype=bool), np.zeros(len(at), dtype=bool)
    for step in range(1, _WORDS_TO_HOLDER + 1):
        alive &= scene.linked(at + step)
        place = np.where(alive, at + step, 0)
        alive &= ~scene.among(place, fault_words.SHOW_CASE) & ~scene.halts(place)
        of_own |= alive & scene.among(place, fault_words.OWN_CASE)
        here = alive & scene.among(place, fault_words.HOLDERS)
        following = np.minimum(place + 1, len(stream) - 1)
        ends = ~context.linked[following] | (place + 1 >= len(stream))
        ends |= has_role(context.starts[following], "with", "conjunction")
        hit |= here & ends
        alive &= ~here
        if not alive.any():
            break
    kind = category[stream.title[at]]
    built_in = below(lexicon, *_BUILT_IN)[np.maximum(kind, 0)]
    hit &= of_own | ((kind >= 0) & ~built_in)
    return statements_at(
        stream, [(at[hit], np.full(int(hit.sum()), fault_number(lexicon, "boxed")))]
    )


def faults_of_boxes(lexicon: Lexicon, said: Statements) -> Statements:
    """ "Box torn" is a name of the vocabulary for a box, and its last words are a fault's."""

    def make() -> IntArray:
        table = np.full(len(lexicon.phrases), -1, dtype=np.int32)
        boxed = fault_number(lexicon, "boxed")
        concepts = lexicon.concept_of["fault"]
        for phrase in np.flatnonzero(concepts == boxed).tolist():
            words = lexicon.phrases[phrase]
            rest = lexicon.phrase_numbers.get(words[1:], -1) if words[0] == "box" else -1
            if rest >= 0:
                table[phrase] = concepts[rest]
        return table

    concept = lexicon.memo(("faults of boxes",), make)[said.phrase]
    of_box = subset(said, np.flatnonzero(concept >= 0))
    return Statements(
        of_box.title, concept[concept >= 0], of_box.start, of_box.end, of_box.score, of_box.phrase
    )


def piece_is_the_box(lexicon: Lexicon, stream: TokenStream, said: Statements) -> BoolArray:
    """ "Walnut box torn": the piece is a box and has none of its own."""
    boxed = said.concept == fault_number(lexicon, "boxed")
    first = lexicon.words_in(frozenset({"box"}))[stream.word[said.start]]
    opens = ((stream.before[said.start] & CLAUSE) > 0) & ~stream.starts()[said.start]
    return boxed & first & (said.end - said.start > 1) & ~opens
