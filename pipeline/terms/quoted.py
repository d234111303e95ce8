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
_JOINS = frozenset(["and", "the", "of", "a", "in"])


def without_quoted(lexicon: Lexicon, stream: TokenStream, found: Found) -> Found:
    """The phrases less those in quotations that are names, where the thing is named outside."""
    if not len(found):
        return found
    quotation = _quotations(stream)
    if not len(quotation):
        return found
    inside = np.full(len(stream), -1, dtype=np.int32)
    named = np.zeros(len(quotation), dtype=bool)
    leads = lexicon.words_in(_LEADS_TO_A_NAME)
    joins = lexicon.words_in(_JOINS)
    covered = found.words_of(np.ones(len(found), dtype=bool), len(stream))
    whole = set(zip(found.start.tolist(), found.end.tolist(), strict=True))
    for number, (begin, end) in enumerate(quotation.tolist()):
        inside[begin:end] = number
        unknown = (
            ~covered[begin:end] & ~stream.is_number[begin:end] & ~joins[stream.word[begin:end]]
        )
        several = end - begin > 1
        led = not stream.starts()[begin] and bool(leads[stream.word[begin - 1]])
        named[number] = several and (led or bool(unknown.any()) or (begin, end) not in whole)
    quoted = (inside[found.start] >= 0) & (inside[found.start] == inside[found.end - 1])
    outside = np.zeros(stream.n_titles, dtype=bool)
    things = lexicon.concept_of["category"][found.phrase] >= 0
    outside[stream.title[found.start[things & ~quoted]]] = True
    # 'Neon sign "Bowl"': a quotation right behind the name of the thing
    ends = np.zeros(len(stream) + 1, dtype=bool)
    ends[found.end[things & ~quoted]] = True
    for number, (begin, end) in enumerate(quotation.tolist()):
        named[number] |= bool(ends[begin]) and end - begin == 1
    # "A Jizhou 'tortoiseshell' bowl": a glaze or a pattern that is called so
    likened = lexicon.below("material", "organic", "stone")[
        lexicon.concept_of["material"][found.phrase]
    ]
    likened &= (lexicon.concept_of["material"][found.phrase] >= 0) & quoted
    likened &= found.end - found.start == 1
    dropped = quoted & (named[inside[found.start]] | likened)
    dropped &= outside[stream.title[found.start]]
    return found.take(~dropped) if dropped.any() else found


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
