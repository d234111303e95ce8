"""What stands around the materials that titles name: the ground of the rules on materials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import Context
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import MATERIAL, aspects_of
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import SLASH, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int8]

# "an incomplete cast copper alloy buckle"
_PLAIN_BEFORE = frozenset(
    ["of", "and", "a", "an", "incomplete", "complete", "worn", "broken", "cast", "chased",
     "moulded", "fragmentary", "sheet", "near", "engraved", "fragment"]
)  # fmt: skip

# the order in which findings may stand for the whole; a PART never does
WHOLE, BODY, SOFT, WEAK, PART, NOTHING = 0, 1, 2, 3, 4, 9


@dataclass(frozen=True)
class Findings:
    """Findings of materials with their neighbours, one value a finding."""

    start: IntArray
    end: IntArray
    phrase: IntArray
    concept: IntArray
    title: IntArray
    within: BoolArray


class Neighbourhood:
    """The findings of one chunk of titles, and questions about the words beside each."""

    def __init__(
        self,
        lexicon: Lexicon,
        stream: TokenStream,
        found: Found,
        context: Context,
        things: Things,
        head: IntArray,
        rows: npt.NDArray[np.intp],
    ) -> None:
        self._lexicon, self._stream, self._context = lexicon, stream, context
        self._things, self._head = things, head
        phrase = found.phrase[rows]
        start, end = found.start[rows], found.end[rows]
        self.rows = Findings(
            start,
            end,
            phrase,
            lexicon.concept_of["material"][phrase],
            stream.title[start],
            found.within[rows],
        )
        last = len(stream) - 1
        self._at = np.minimum(end, last)
        self._word_at = stream.word[self._at]
        self._linked = (end <= last) & context.linked[self._at]
        self._second = np.minimum(end + 1, last)
        self._second_linked = self._linked & (end < last) & context.linked[self._second]
        self._before = np.maximum(start - 1, 0)
        self._after_word = context.linked[start]
        self._zone = context.zone[start]
        self._opener = context.opener[start]
        mine = head[self.rows.title]
        self._category = np.where(mine >= 0, np.append(things.concept, -1)[mine], -1)
        self._found = found
        masks = has_role(lexicon.roles[found.phrase], "mask")
        self._masked = found.words_of(masks, len(stream))
        self._families: dict[tuple[str, ...], BoolArray] = {}

    def _after_plain_words(self, rows: npt.NDArray[np.intp]) -> BoolArray:
        """Whether the title holds but numbers, counts, stuffs, ages and plain words before it."""
        stream, found = self._stream, self._found
        wanted = np.zeros(stream.n_titles, dtype=bool)
        wanted[self.rows.title[rows]] = True
        roles = has_role(self._lexicon.roles[found.phrase], "neutral", "quantity", "count")
        roles |= self._lexicon.concept_of["material"][found.phrase] >= 0
        if "period" in self._lexicon.concept_of:
            roles |= self._lexicon.concept_of["period"][found.phrase] >= 0
        plain = found.words_of(roles & wanted[stream.title[found.start]], len(stream))
        plain |= self._context.is_number | self._words(_PLAIN_BEFORE)[stream.word]
        telling = np.append(0, np.cumsum(~plain))
        before = telling[stream.first[self.rows.title[rows]]]
        return telling[self.rows.start[rows]] == before

    def _next_ends_clause(self) -> BoolArray:
        """Whether a part follows that nothing follows in its clause but an addition."""
        part = self._roles_next("part")
        last = len(self._stream) - 1
        ends = (self._at == last) | ~self._context.linked[np.minimum(self._at + 1, last)]
        goes_on = has_role(self._context.starts[np.minimum(self._at + 1, last)], "with", "subject")
        return part & (ends | goes_on)

    def _words(self, words: frozenset[str]) -> BoolArray:
        return self._lexicon.words_in(words)

    def _next(self, words: frozenset[str], *, far: bool = False) -> BoolArray:
        """Whether one of the words follows; far: or stands one word further on."""
        flags = self._words(words)
        hit = self._linked & flags[self._word_at]
        if far:
            hit |= self._second_linked & flags[self._stream.word[self._second]]
        return hit

    def _starts(self, findings: BoolArray) -> BoolArray:
        """Words that one of the findings starts with."""
        words = np.zeros(len(self._stream), dtype=bool)
        words[self.rows.start[findings]] = True
        return words

    def _roles_next(self, *roles: str) -> BoolArray:
        return self._linked & has_role(self._context.starts[self._at], *roles)

    def _colon(self, at: IntArray) -> BoolArray:
        """Whether a colon stands before each of the words, in its title."""
        gap = self._stream.gap[at]
        colon = self._stream.spellings_that("a colon", _is_colon)
        return colon[gap] & (gap >= 0)

    def _over_stroke(self) -> IntArray:
        """The finding behind a stroke that follows each finding, -1 for none."""
        row_at = np.full(len(self._stream), -1, dtype=np.int32)
        row_at[self.rows.start] = np.arange(len(self.rows.start), dtype=np.int32)
        stroke = (self._stream.before[self._at] & SLASH) > 0
        stroke &= (self.rows.end <= self._at) & ~self._stream.starts()[self._at]
        return np.where(stroke, row_at[self._at], -1).astype(np.int32)

    def _follows_material(self) -> BoolArray:
        ends = np.zeros(len(self._stream) + 1, dtype=bool)
        substance = aspects_of(self._lexicon)[self.rows.concept] == MATERIAL
        ends[self.rows.end[substance]] = True
        return ends[self.rows.start] & self._after_word

    def family(self, *families: str) -> BoolArray:
        """Findings in titles whose thing is of one of the families."""
        if families not in self._families:

            def make() -> BoolArray:  # one value more for no category
                return np.append(self._lexicon.below("category", *families), False)

            wanted = self._lexicon.memo(("family or none", families), make)
            self._families[families] = wanted[self._category]
        return self._families[families]

    def _pictures(self) -> BoolArray:
        maps = self.family("prints-and-paintings", "books-and-paper", "maps-and-globes")
        return maps | (self._head[self.rows.title] < 0)

    def _is(self, *concepts: str) -> BoolArray:
        return self._lexicon.is_one_of("material", *concepts)[self.rows.concept]


def _is_colon(gap: str) -> bool:
    return gap.strip() == ":"
