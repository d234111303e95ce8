"""Words in quotation marks: names, inscriptions, the titles of pictures.

In `Syphon, etched "Bell & Stone Mineral Waters"` neither the bell nor the stone is for sale. A
quotation of several words counts as a name where no term covers it whole, or where a word such as
`inscribed` leads to it; `"sterling" spoon` and `Jug, 'Toby jug'` say what the piece is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found
from pipeline.terms.tokens import CLOSES_QUOTATION, OPENS_QUOTATION, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_LONGEST = 12  # words between the marks; more is a mark that was never closed
_LEADS_TO_A_NAME = frozenset(
    ["inscribed", "engraved", "etched", "lettered", "titled", "entitled", "called", "named", "name",
     "reads", "reading", "advertising", "motto", "verse", "text", "legend", "motif", "scene",
     "depicting", "after", "play"]
)  # fmt: skip


def without_quoted(lexicon: Lexicon, stream: TokenStream, found: Found) -> Found:
    """The phrases less those in quotations that are names, where the thing is named outside."""
    if not len(found):
        return found
    quotation = _quotations(stream)
    if not len(quotation):
        return found
    begin = quotation[:, 0]
    opens = stream.starts()[begin]
    inside = np.full(len(stream), -1, dtype=np.int32)
    for number, (first, end) in enumerate(quotation.tolist()):
        inside[first:end] = number
    quoted = (inside[found.start] >= 0) & (inside[found.start] == inside[found.end - 1])
    things = lexicon.concept_of["category"][found.phrase] >= 0
    several = quotation[:, 1] - begin > 1
    terms = set(zip(found.start.tolist(), found.end.tolist(), strict=True))
    whole = np.array([(first, end) in terms for first, end in quotation.tolist()])
    led = ~opens & lexicon.words_in(_LEADS_TO_A_NAME)[stream.word[np.maximum(begin - 1, 0)]]
    # 'Neon sign "Bowl"': one word right behind the name of the thing
    ends = np.zeros(len(stream) + 1, dtype=bool)
    ends[found.end[things & ~quoted]] = True
    named = (several & (led | ~whole)) | (~several & ~opens & ends[begin])
    # "A Jizhou 'tortoiseshell' bowl": a glaze or a pattern that is called so
    stuff = lexicon.concept_of["material"][found.phrase]
    likened = (stuff >= 0) & lexicon.below("material", "organic", "stone")[stuff]
    likened |= _models(lexicon, stream, found, stuff)
    likened &= found.end - found.start == 1
    outside = np.zeros(stream.n_titles, dtype=bool)
    outside[stream.title[found.start[things & ~quoted]]] = True
    dropped = quoted & (named[inside[found.start]] | likened)
    dropped &= outside[stream.title[found.start]]
    return found.take(~dropped) if dropped.any() else found


def _models(lexicon: Lexicon, stream: TokenStream, found: Found, stuff: IntArray) -> BoolArray:
    """ "'Pine' carpet", "'China' chair", though not "'rosewood' table": names of models."""
    category = lexicon.concept_of["category"][found.phrase]
    furniture = np.zeros(len(stream) + 1, dtype=bool)
    wooden = (category >= 0) & lexicon.below("category", "furniture")[np.maximum(category, 0)]
    furniture[found.start[wooden]] = True
    wood = lexicon.below("material", "wood")[stuff] & ~furniture[found.end]
    models: BoolArray = (stuff >= 0) & (wood | lexicon.below("material", "china")[stuff])
    return models


def _quotations(stream: TokenStream) -> IntArray:
    """First word and end of each quotation, in order."""
    open_at = np.flatnonzero(stream.quotes & OPENS_QUOTATION)
    if not len(open_at):
        return np.zeros((0, 2), dtype=np.int32)
    close_at = np.flatnonzero(((stream.quotes & CLOSES_QUOTATION) > 0) & ~stream.starts())
    following = np.searchsorted(close_at, open_at, side="right")
    title_end = stream.first[stream.title[open_at] + 1]
    shut = np.append(close_at, len(stream))[following]
    end = np.minimum(shut, title_end)
    keep = end - open_at <= _LONGEST
    return np.stack([open_at[keep], end[keep]], axis=1).astype(np.int32)
