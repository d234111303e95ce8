"""What is no thing of its name: of a doll's house, a toy, a model, a child's.

`doll's house chair`, `toy piano`, `tinplate motor car`: the word before makes it another kind.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.doubts import below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.name_words import CREATURES, MANY_CREATURES, PEOPLE, SHOWN
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]


def of_scale(
    lexicon: Lexicon, things: Things, context: Context, follows: BoolArray
) -> tuple[IntArray, BoolArray]:
    """ "doll's house chair", "toy piano", "model ship": the small thing is no thing of its kind."""
    concept = things.concept.copy()
    stays = np.zeros(len(concept), dtype=bool)
    ids = lexicon.concept_ids["category"]
    for role in ("scale_dolls", "scale_toy", "scale_model"):
        meant = lexicon.modifiers.targets.get(role, "")
        target = ids.index(meant) if meant in ids else -1
        playing = has_role(context.starts[things.start], role) & follows
        if target >= 0:
            concept[playing] = target
        if role == "scale_toy":
            _of_dolls(lexicon, things, playing, concept)
        stays |= playing
        # a prefix that is no thing itself ("model", "play") turns what follows it
        prefixed = context.previous_has(things.start, role) & ~np.roll(playing, 1)
        prefixed &= things.size == 1
        if target >= 0:
            concept[prefixed] = target
        else:
            things.score[prefixed] = np.minimum(things.score[prefixed], 70)
    return concept, stays


_DOLLS = frozenset(["dolls", "doll"])
_OF_DOLLS = {
    "dolls-clothes": ("clothing", "shoes", "hat", "handbag", "parasol", "gloves"),
    "doll-furniture": ("furniture",),
    "toy-tea-set": ("tea-set", "teapot", "cup-and-saucer", "cream-jug", "coffee-pot"),
}


def _of_dolls(lexicon: Lexicon, things: Things, playing: BoolArray, concept: IntArray) -> None:
    """ "Doll's hat", "doll's chest of drawers": what a doll wears, sits on or pours from."""
    ids = lexicon.concept_ids["category"]
    first = lexicon.phrases_where("of dolls", lambda words: words[0] in _DOLLS)
    rows = np.flatnonzero(playing)
    rows = rows[first[things.phrase[rows]] & (rows + 1 < len(concept))]
    for kind, families in _OF_DOLLS.items():
        if kind in ids:
            hit = below(lexicon, *families)[things.concept[rows + 1]]
            concept[rows[hit]] = ids.index(kind)


_CHILDS = frozenset(["childs", "childrens", "child"])
_WORDS_TO_CHAIR = 3  # "child's elm Windsor chair"


def of_children(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, concept: IntArray
) -> IntArray:
    """ "Child's elm Windsor chair" is a child's chair before it is a Windsor one."""
    ids = lexicon.concept_ids["category"]
    if "childs-chair" not in ids:
        return concept
    child = lexicon.words_in(_CHILDS)[stream.word]
    said = np.zeros(len(concept), dtype=bool)
    linked = np.ones(len(concept), dtype=bool)
    for step in range(_WORDS_TO_CHAIR):
        at = np.maximum(things.start - step, 0)
        linked &= (things.start - step > 0) & context.linked[at]
        said |= linked & child[np.maximum(at - 1, 0)]
    chairs = below(lexicon, "chair", "armchair", "windsor-chair", "rocking-chair")
    changed = concept.copy()
    changed[said & chairs[concept]] = ids.index("childs-chair")
    return changed


_TOYS_ARE = frozenset(
    ["clockwork", "tinplate", "diecast", "windup", "friction", "lithographed", "litho", "penny",
     "boxed", "playworn", "battery"]
)  # fmt: skip
_PRESSED, _STEEL = frozenset({"pressed"}), frozenset({"steel"})
_DRIVEN = ("motor-car", "motorcycle")
_RIDDEN = ("motor-car", "motorcycle", "carriage", "cart", "boat")


def of_toys(lexicon: Lexicon, stream: TokenStream, things: Things, concept: IntArray) -> IntArray:
    """ "A tinplate clockwork motor car": nobody drives it."""
    ids = lexicon.concept_ids["category"]
    if "toy-vehicle" not in ids or not len(stream):
        return concept
    told = lexicon.words_in(_TOYS_ARE)[stream.word]
    pressed = lexicon.words_in(_PRESSED)[stream.word[:-1]] & ~stream.starts()[1:]
    told[1:] |= pressed & lexicon.words_in(_STEEL)[stream.word[1:]]
    of_clause = np.bincount(stream.clause[told], minlength=int(stream.clause[-1]) + 1) > 0
    of_title = np.bincount(stream.title[told], minlength=stream.n_titles) > 0
    changed = concept.copy()
    ridden = below(lexicon, *_RIDDEN)[concept] & of_clause[stream.clause[things.start]]
    # "a 'flying saucer' car, clockwork": the quotation marks and the comma part nothing
    ridden |= below(lexicon, *_DRIVEN)[concept] & of_title[stream.title[things.start]]
    changed[ridden] = ids.index("toy-vehicle")
    return changed


_FABLED = frozenset(
    ["shishi", "karashishi", "qilin", "kylin", "kirin", "bijin", "pixie", "gnome", "imp", "elf",
     "goblin", "mermaid", "griffin", "phoenix"]
)  # fmt: skip
_ALIVE = CREATURES.union(PEOPLE, MANY_CREATURES, _FABLED, *SHOWN.values())
_POTTED = frozenset(["crested", "jade", "soapstone"])
_MODELS, _OF = frozenset(["model", "models"]), frozenset({"of"})
_WHAT_IT_DOES = frozenset(["with", "on", "in", "and", "by", "standing", "seated", "its", "his"])
_WORDS_TO_THE_CREATURE = 3  # "model of a recumbent stag"


def of_creatures(
    lexicon: Lexicon, stream: TokenStream, found: Found, things: Things, concept: IntArray
) -> IntArray:
    """ "A silver model of a pheasant" is a figure; of a ship, a house, a cart it is a model.

    In a ceramic ware it is a figure whatever it shows: "a crested model of a lighthouse".
    """
    ids = lexicon.concept_ids["category"]
    if "scale-model" not in ids or "figurine" not in ids or not len(stream):
        return concept
    last = len(stream) - 1
    at = np.minimum(things.end, last)
    said = lexicon.is_one_of("category", "scale-model", "architectural-model")[concept]
    said &= things.end <= last
    said &= lexicon.words_in(_MODELS)[stream.word[things.end - 1]]
    said &= lexicon.words_in(_OF)[stream.word[at]] & ~stream.starts()[at]
    alive = lexicon.words_in(_ALIVE)[stream.word]
    tells = lexicon.words_in(_WHAT_IT_DOES)
    hit = np.zeros(len(concept), dtype=bool)
    alike = said.copy()
    for step in range(1, 2 + _WORDS_TO_THE_CREATURE):
        near = np.minimum(at + step, last)
        alike &= stream.clause[near] == stream.clause[things.start]
        # "model of a horse drawn cart": the name of what is drawn ends the phrase
        ends = stream.closes_clause(near + 1) | tells[stream.word[np.minimum(near + 1, last)]]
        hit |= alike & alive[near] & ends
    hit |= said & _of_ware(lexicon, stream, found)[stream.clause[things.start]]
    changed = concept.copy()
    changed[hit] = ids.index("figurine")
    return changed


def _of_ware(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Clauses that tell a ceramic ware or a stone of small carvings, (n clauses,)."""
    stuff = lexicon.concept_of["material"][found.phrase]
    ware = (stuff >= 0) & lexicon.below("material", "ceramic")[stuff]
    flags = np.bincount(stream.clause[found.start[ware]], minlength=int(stream.clause[-1]) + 1) > 0
    flags[stream.clause[lexicon.words_in(_POTTED)[stream.word]]] = True
    return flags
