"""Names of things whose words do not stand in a row.

Catalogues turn names round at a comma (`Clock, mantel`; `Drawers, chest of`), sellers put other
words between (`mantel Victorian clock`; `nest of three teak coffee tables`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import ADDITION, Context, latest
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role, walk
from pipeline.terms.picks import first_in_group
from pipeline.terms.tokens import HYPHEN, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

TURNED = np.float32(93)  # score of a name whose words were not in a row
_MOST_TURNED = 4  # words in a turned name
_OF = frozenset({"of"})
_DRAWN_WITH = frozenset(["ink", "inks", "pencil", "chalk", "charcoal", "watercolor", "watercolour"])
_OF_A_MEDIUM = frozenset(
    ["color", "colors", "colour", "colours", "pigment", "pigments", "and", "on", "paper", "silk",
     "light", "leaf", "mineral"]
)  # fmt: skip
# plurals of stuffs that are things: "crystal glasses set of 6" is no crystal set
_THINGS_OF_STUFF = frozenset(["glasses", "brasses", "irons", "tins", "leads", "marbles", "bronzes"])
_LABELS_OF_FIELDS = frozenset(
    ["medium", "media", "material", "materials", "technique", "techniques", "subject", "subjects"]
)  # fmt: skip


class Things:
    """Findings of categories, growing by turned and interrupted names. Arrays by finding."""

    def __init__(self, lexicon: Lexicon, found: Found, *, weak: bool = False) -> None:
        concept = lexicon.concept_of["category"][found.phrase]
        # a material's word for a whole family ("ceramic", "brass") names a thing only by its place
        material = (lexicon.concept_of["material"] >= 0)[found.phrase]
        of_family = (concept >= 0) & (lexicon.depth("category") == 0)[np.maximum(concept, 0)]
        is_weak = lexicon.weak("category")[found.phrase] | (material & of_family)
        at = np.flatnonzero((concept >= 0) & ~found.within & (is_weak == weak))
        self.start = found.start[at]
        self.end = found.end[at]
        self.concept = concept[at]
        self.score = np.minimum(found.score[at], lexicon.score_of["category"][found.phrase[at]])
        self.size = self.end - self.start
        self.phrase = found.phrase[at]

    def keep(self, rows: BoolArray) -> None:
        """Leave the other findings out."""
        for name in ("start", "end", "concept", "score", "size", "phrase"):
            setattr(self, name, getattr(self, name)[rows])

    def put(self, lexicon: Lexicon, found: list[tuple[int, int, int, int]]) -> None:
        """Put names found out of their order: (first word, word past the last, phrase, words)."""
        if not found:
            return
        first, end, phrases, size = (
            np.array(column, dtype=np.int32) for column in zip(*found, strict=True)
        )
        score = np.full(len(found), TURNED, dtype=np.float32)
        self.replace(first, end, lexicon.concept_of["category"][phrases], score, size, phrases)

    def replace(
        self,
        start: IntArray,
        end: IntArray,
        concept: IntArray,
        score: FloatArray,
        size: IntArray,
        phrase: IntArray,
    ) -> None:
        """Put longer names in place of the shorter ones inside them."""
        if not len(start):
            return
        order = np.argsort(start, kind="stable")
        first, past = start[order], end[order]
        slot = np.searchsorted(first, self.start, side="right") - 1
        covered = (slot >= 0) & (self.end <= past[np.maximum(slot, 0)])
        keep = ~covered
        self.start = np.concatenate([self.start[keep], start])
        self.end = np.concatenate([self.end[keep], end])
        self.concept = np.concatenate([self.concept[keep], concept])
        self.score = np.concatenate([self.score[keep], score]).astype(np.float32)
        self.size = np.concatenate([self.size[keep], size])
        self.phrase = np.concatenate([self.phrase[keep], phrase])
        order = np.argsort(self.start, kind="stable")
        for name in ("start", "end", "concept", "score", "size", "phrase"):
            setattr(self, name, getattr(self, name)[order])


_PARTS = "parts-and-fittings"
_PARTS_OF_ARMS = ("scabbard", "sword-fittings")


def join_interrupted(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> None:
    """Names whose words stand apart: `mantel Victorian clock`, `chest pine drawers`.

    Then also over stuffs that are the name of a trade too (`tea silver caddy`); such a word ends no
    name (`wine Victorian glass`).
    """
    n = len(stream)
    if not n:
        return
    after_of = np.zeros(n, dtype=bool)
    of_word = lexicon.words_in(_OF)[stream.word]
    after_of[1:] = of_word[:-1] & ~stream.starts()[1:]
    count = lexicon.words_alone("count")[stream.word]
    said = has_role(lexicon.roles, "neutral")
    for kind in ("material", "period"):
        if kind in lexicon.concept_of:
            said = said | (lexicon.concept_of[kind] >= 0)
    thing = lexicon.concept_of["category"] >= 0
    over = said[found.phrase] & ~thing[found.phrase]
    skip = after_of & (context.is_number | count)
    skip |= found.words_of(over, n) & ~lexicon.words_in(_THINGS_OF_STUFF)[stream.word]
    _join_over(lexicon, stream, things, skip)
    trade = said[found.phrase] & thing[found.phrase] & lexicon.weak("category")[found.phrase]
    if trade.any():
        trades = found.words_of(trade, n)
        _join_over(lexicon, stream, things, skip | trades, among=trades)


def _join_over(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    skip: BoolArray,
    among: BoolArray | None = None,
) -> None:
    """Put names in place that are whole when some words are skipped.

    Args:
        among: the words of trades among those skipped; only clauses that have one are gone over.
    """
    n = len(stream)
    opens = np.zeros(n, dtype=bool)  # a gap opens: nothing is to be joined in other clauses
    opens[1:] = skip[1:] & ~skip[:-1] & (stream.clause[1:] == stream.clause[:-1])
    broken = np.zeros(int(stream.clause[-1]) + 1, dtype=bool)
    broken[stream.clause[opens]] = True
    if among is not None:
        held = np.zeros(len(broken), dtype=bool)
        held[stream.clause[among]] = True
        broken &= held
    kept = np.flatnonzero(~skip & broken[stream.clause]).astype(np.int32)
    if len(kept) < 2:
        return
    clause = stream.clause[kept]
    joined = np.zeros(len(kept), dtype=bool)
    joined[1:] = clause[1:] == clause[:-1]
    start, length, phrase = walk(lexicon, stream.word[kept], joined)
    concept = lexicon.concept_of["category"][phrase]
    first, past = kept[start], kept[start + length - 1] + 1
    wanted = (concept >= 0) & (length >= 2) & (past - first > length)
    # "violin wood case" is a violin with its case
    wanted &= ~lexicon.below("category", "instrument-case")[concept]
    # "lisle-type papier-mache tray" is no type tray
    wanted &= (stream.before[first] & HYPHEN) == 0
    # "table marble top" is a table with a marble top: the material is said of the part
    wanted &= ~(_parts(lexicon)[concept] & skip[np.maximum(past - 2, 0)])
    names = names_of_words(lexicon)
    kind_of_word = np.append(lexicon.concept_of["category"], -1)[names]
    own, last = kind_of_word[stream.word[first]], kind_of_word[stream.word[past - 1]]
    # "mirror oak frame" is a mirror in its frame
    wanted &= (own < 0) | ~lexicon.below("category", "picture-frame")[concept]
    if among is not None:
        # "desk brass lamp" is a lamp; "camera brass lens" is a camera with its lens
        above = lexicon.above("category")
        wanted &= (own < 0) | (last < 0) | above[concept, last]
    start, length, phrase, concept = (a[wanted] for a in (start, length, phrase, concept))
    first, past = first[wanted], past[wanted]
    if not len(first):
        return
    # what already stands as a longer name is left alone, but for "silver bowl" in "tea silver bowl"
    long_name = np.zeros(n, dtype=bool)
    telling = np.append(0, np.cumsum(~skip))
    plain = kind_of_word[stream.word[things.end - 1]] == things.concept
    plain &= telling[things.end] - telling[things.start] < 2
    whole = (things.size >= 2) & ~plain
    for step in range(int(things.size[whole].max(initial=0))):
        at = things.start[whole] + step
        long_name[at[at < things.end[whole]]] = True
    # ("nest of teak coffee tables" may take the end of "coffee tables")
    with_of = lexicon.phrases_where("of", lambda words: "of" in words)[phrase]
    cut = np.zeros(len(first), dtype=bool)
    for step in range(int(length.max())):
        at = np.minimum(start + step, len(kept) - 1)
        last = with_of & (step == length - 1)
        cut |= (step < length) & long_name[kept[at]] & ~last
    best = np.lexsort((first, -length))
    keep = _without_overlap(first, past, best, ~cut)
    score = np.minimum(TURNED, lexicon.score_of["category"][phrase[keep]])
    least = np.full(len(keep), 100, dtype=np.float32)
    for step in range(int(length[keep].max(initial=0))):
        at = np.minimum(start[keep] + step, len(kept) - 1)
        least = np.where(step < length[keep], np.minimum(least, stream.score[kept[at]]), least)
    things.replace(
        first[keep],
        past[keep],
        concept[keep],
        np.minimum(score, least),
        length[keep],
        phrase[keep],
    )


def names_of_words(lexicon: Lexicon, kind: str = "category") -> IntArray:
    """Word number -> the phrase of this word alone that names a concept of the kind, -1 for none.

    Shape (words of the lexicon,).
    """
    key = f"names of single words of {kind} in {lexicon.field_kind or 'titles'}"
    names: IntArray = lexicon.memo(key, lambda: _own_names(lexicon, kind))
    return names


def _own_names(lexicon: Lexicon, kind: str) -> IntArray:
    names = np.full(lexicon.n_words, -1, dtype=np.int32)
    if kind not in lexicon.concept_of:
        return names
    for phrase in np.flatnonzero(lexicon.concept_of[kind] >= 0).tolist():
        words = lexicon.phrases[phrase]
        if len(words) == 1:
            names[lexicon.words[words[0]]] = phrase
    return names


def roots(lexicon: Lexicon) -> IntArray:
    """Category number -> number of the family it belongs to."""

    def make() -> IntArray:
        above = lexicon.above("category")
        root = np.arange(len(above), dtype=np.int32)
        for top in np.flatnonzero(lexicon.depth("category") == 0).tolist():
            root[above[:, top]] = top
        return root

    table: IntArray = lexicon.memo("roots of categories", make)
    return table


def _parts(lexicon: Lexicon) -> BoolArray:
    """Categories that are parts of things; one value more, False, for none."""

    def make() -> BoolArray:
        parts = lexicon.below("category", _PARTS) & ~lexicon.is_one_of("category", _PARTS)
        # "sword leather scabbard", "dagger ivory hilt"
        return np.append(parts | lexicon.below("category", *_PARTS_OF_ARMS), False)

    table: BoolArray = lexicon.memo("parts, or none", make)
    return table


def join_material(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> None:
    """ "Wicker conservatory chair" is a wicker chair: the material names a kind of the thing."""
    if not len(things.start) or "material" not in lexicon.concept_of:
        return
    single = (lexicon.concept_of["material"][found.phrase] >= 0) & (found.end - found.start == 1)
    place = found.start[single & ~found.within]
    if not len(place):
        return
    slot = np.searchsorted(place, things.start) - 1
    rows = np.flatnonzero((slot >= 0) & (things.size == 1))
    material = place[slot[rows]]
    gap = things.start[rows] - material - 1
    near = (gap >= 1) & (gap <= 2) & (stream.clause[material] == stream.clause[things.start[rows]])
    for step in range(2):
        at = np.minimum(material + 1 + step, len(stream) - 1)
        plain = ~context.known[at] | has_role(context.starts[at], "neutral")
        near &= plain | (step >= gap)
    rows, material = rows[near], material[near]
    if not len(rows):
        return
    block = np.stack([stream.word[material], stream.word[things.start[rows]]], axis=1).ravel()
    joined = np.ones(len(block), dtype=bool)
    joined[::2] = False
    start, length, phrase = walk(lexicon, block, joined)
    concept = lexicon.concept_of["category"][phrase]
    fits = (start % 2 == 0) & (length == 2) & (concept >= 0)
    chosen, concept = rows[start[fits] // 2], concept[fits]
    narrower = lexicon.above("category")[concept, things.concept[chosen]]
    things.concept[chosen[narrower]] = concept[narrower]
    things.score[chosen[narrower]] = np.minimum(things.score[chosen[narrower]], TURNED)


def join_over_of(lexicon: Lexicon, stream: TokenStream, context: Context, things: Things) -> None:
    """ "nest of three teak coffee tables" is a nest of tables: X of ... and the last word."""
    if not len(things.start):
        return
    of_word = lexicon.words_in(_OF)[stream.word]
    before = latest(of_word, stream.clause)[things.start]
    first = np.append(True, things.start[1:] > 0) & (
        np.append(-1, before[:-1]) != before
    )  # the first thing after its "of"
    in_addition = context.zone[things.start] == ADDITION
    rows = np.flatnonzero(
        (before > 0) & first & ~in_addition & ~stream.starts()[np.maximum(before, 0)]
    )
    if not len(rows):
        return
    block = np.stack(
        [
            stream.word[before[rows] - 1],
            stream.word[before[rows]],
            stream.word[things.end[rows] - 1],
        ],
        axis=1,
    ).ravel()
    joined = np.ones(len(block), dtype=bool)
    joined[::3] = False
    start, length, phrase = walk(lexicon, block, joined)
    concept = lexicon.concept_of["category"][phrase]
    fits = (start % 3 == 0) & (length == 3) & (concept >= 0)
    chosen = rows[start[fits] // 3]
    longer = things.start[chosen] > before[chosen] + 1
    # "set of pressed glass wine glasses": the thing found says more than "set of glasses"
    longer &= ~lexicon.above("category")[things.concept[chosen], concept[fits]]
    # "pair of giltwood pier glasses" are no pair of glasses
    families = roots(lexicon)
    longer &= (things.size[chosen] == 1) | (
        families[things.concept[chosen]] == families[concept[fits]]
    )
    chosen, phrase, concept = chosen[longer], phrase[fits][longer], concept[fits][longer]
    _, keep = np.unique(before[chosen], return_index=True)
    chosen, phrase, concept = chosen[keep], phrase[keep], concept[keep]
    things.replace(
        (before[chosen] - 1).astype(np.int32),
        things.end[chosen],
        concept,
        np.minimum(things.score[chosen], TURNED),
        np.full(len(chosen), 3, dtype=np.int32),
        phrase,
    )


def turn_of(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Drawers, chest of": a clause that ends with "of" is finished by the clause before it."""
    n = len(stream)
    of_word = lexicon.words_in(_OF)[stream.word]
    last = np.append(stream.clause[1:] != stream.clause[:-1], True)
    number = stream.clause[np.flatnonzero(of_word & last)]
    clause_first = stream.clause_first()
    past = np.append(clause_first[1:], n)
    place = np.searchsorted(stream.clause[clause_first], number)
    place = place[place > 0]
    place = place[stream.title[clause_first[place]] == stream.title[clause_first[place - 1]]]
    found = []
    for at in place:
        ends, opens = range(clause_first[at], past[at]), range(clause_first[at - 1], past[at - 1])
        if len(ends) + len(opens) > _MOST_TURNED + 1:
            continue
        words = tuple(stream.spellings[stream.spelling[i]] for i in (*ends, *opens))
        phrase = lexicon.phrase_numbers.get(words)
        if phrase is not None and lexicon.concept_of["category"][phrase] >= 0:
            found.append((opens[0], ends[-1] + 1, phrase, len(words)))
    things.put(lexicon, found)


def _without_overlap(
    first: IntArray, past: IntArray, order: npt.NDArray[np.intp], allowed: BoolArray
) -> npt.NDArray[np.intp]:
    taken: dict[int, None] = {}
    kept = []
    for row in order:
        if not allowed[row]:
            continue
        span = range(int(first[row]), int(past[row]))
        if any(cell in taken for cell in span):
            continue
        taken.update(dict.fromkeys(span))
        kept.append(row)
    return np.array(sorted(kept), dtype=np.intp)


def turn_inverted(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """Catalogue headings: `Clock, mantel`, `drawers, chest of`, `Chair - dining`."""
    n = len(stream)
    if not n or not len(things.start):
        return
    first_word = stream.first[:-1][stream.first[:-1] < stream.first[1:]]
    first_thing = first_in_group(stream.title[things.start], things.start)
    at_front = np.isin(things.start[first_thing], first_word)
    head = first_thing[things.size[first_thing] <= _MOST_TURNED]
    at_front = at_front[things.size[first_thing] <= _MOST_TURNED]
    clause_first = stream.clause_first()
    clause_past = np.append(clause_first[1:], n)
    number = np.searchsorted(clause_first, things.start[head], side="right")
    # a whole heading is turned where it opens the title and ends at the comma
    full = at_front & (things.end[head] == clause_past[number - 1])
    pool = _Turned(lexicon, stream, things)
    # "clock. Case: mahogany; dial: brass" tells of a dial and is no heading
    parts = lexicon.words_alone("part")
    labels = lexicon.words_in(_LABELS_OF_FIELDS)
    commas = stream.spellings_that("a comma", _is_comma)
    of_title = stream.title[clause_first]
    stuff = (names_of_words(lexicon, "material") >= 0)[stream.word]
    # "screen; ink, color, and gold on paper"
    stuff |= lexicon.words_in(_OF_A_MEDIUM)[stream.word]
    stuffs = np.logical_and.reduceat(stuff, clause_first)
    # "old tools, hammers, saws, pliers": the last of a list of plurals turns no heading
    ends_in_s = stream.in_s()
    plural = (clause_past - clause_first == 1) & ends_in_s[stream.spelling[clause_first]]
    for later in range(3):
        slot = number + later
        valid = slot < len(clause_first)
        slot = np.where(valid, slot, 0)
        begin, past = clause_first[slot], clause_past[slot]
        valid &= stream.title[np.minimum(begin, n - 1)] == stream.title[things.start[head]]
        if later:
            valid &= ~parts[stream.word[np.minimum(begin, n - 1)]]
        valid &= ~labels[stream.word[np.minimum(begin, n - 1)]]
        # "coat; wool, fur", "chest; wood, linen": one of a list of stuffs turns no heading
        following = np.minimum(slot + 1, len(clause_first) - 1)
        beside = stuffs[following] & (of_title[following] == of_title[slot]) & (following > slot)
        beside |= (later > 0) & stuffs[np.maximum(slot - 1, 0)]
        gap = stream.gap[np.minimum(begin, n - 1)]
        listed = stuffs[slot] & beside & (~commas[gap] | (gap < 0) | (later > 0))
        valid &= ~listed
        valid &= ~((later > 0) & plural[slot] & plural[np.maximum(slot - 1, 0)])
        for size in range(1, _MOST_TURNED):
            rows = np.flatnonzero(valid & (past - begin == size) & ~pool.done[head])
            whole = rows[full[rows]]
            pool.try_size(head[whole], begin[whole].astype(np.int32), size)
            rows = rows[~pool.done[head[rows]]]
            pool.try_size(head[rows], begin[rows].astype(np.int32), size, last_word_only=True)
    pool.finish()


def _is_comma(gap: str) -> bool:
    return gap.strip() == ","


def turn_unnamed(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Rack, magazine", "Pin, hat": a heading of one word that names nothing by itself.

    With the short clause behind it, put before it, it has to be a whole name.
    """
    n = len(stream)
    if not n:
        return
    clause_first = stream.clause_first()
    clause_past = np.append(clause_first[1:], n).astype(np.int32)
    opens = stream.starts()[clause_first]
    second = np.append(~opens[1:], False)  # the clause behind belongs to the title
    named = np.zeros(n, dtype=bool)
    named[things.start] = True
    single = opens & second & (clause_past - clause_first == 1) & ~named[clause_first]
    # "screen; ink, color, and gold on paper": a list of stuffs, and no comma before it
    stuff = (names_of_words(lexicon, "material") >= 0)[stream.word]
    stuff |= lexicon.words_in(_OF_A_MEDIUM)[stream.word]
    stuffs = np.logical_and.reduceat(stuff, clause_first)
    commas = stream.spellings_that("a comma", _is_comma)
    two = np.zeros(len(clause_first), dtype=bool)
    gap = stream.gap[clause_first]
    two[:-2] = stuffs[1:-1] & stuffs[2:] & ~opens[2:] & (gap[1:-1] >= 0) & ~commas[gap[1:-1]]
    two[:-1] &= lexicon.words_in(_DRAWN_WITH)[stream.word[clause_first[1:]]]
    single &= ~two
    number = np.flatnonzero(single)
    for size in range(1, _MOST_TURNED):
        at = number[clause_past[number + 1] - clause_first[number + 1] == size]
        if not len(at):
            continue
        width = size + 1
        block = np.zeros((len(at), width), dtype=np.int32)
        for step in range(size):
            block[:, step] = stream.word[clause_first[at + 1] + step]
        block[:, size] = stream.word[clause_first[at]]
        joined = np.ones(block.size, dtype=bool)
        joined[::width] = False
        start, length, phrase = walk(lexicon, block.ravel(), joined)
        fits = (start % width == 0) & (length == width)
        fits &= lexicon.concept_of["category"][phrase] >= 0
        head, phrase = clause_first[at[start[fits] // width]], phrase[fits]
        score = np.minimum(TURNED, lexicon.score_of["category"][phrase])
        things.replace(
            head,
            head + 1,
            lexicon.concept_of["category"][phrase],
            np.minimum(score, stream.score[head]),
            np.ones(len(head), dtype=np.int32),
            phrase,
        )


class _Turned:
    """Candidates for turned names, tried against the lexicon's phrases."""

    def __init__(self, lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
        self._lexicon, self._stream, self._things = lexicon, stream, things
        self.done = np.zeros(len(things.start), dtype=bool)
        self._found: list[tuple[IntArray, IntArray]] = []

    def try_size(
        self,
        head: npt.NDArray[np.intp],
        begin: IntArray,
        size: int,
        *,
        last_word_only: bool = False,
    ) -> None:
        """Put `size` words from `begin` before the head's words and look the row up.

        With the head's last word only ("wall mirror, convex") the name found has to be a
        narrower kind of the head.
        """
        if not len(head):
            return
        stream, things, lexicon = self._stream, self._things, self._lexicon
        used = np.ones(len(head), dtype=np.int32) if last_word_only else things.size[head]
        for length in np.unique(used):
            rows = np.flatnonzero(used == length)
            if size + length > _MOST_TURNED + 1:
                continue
            width = size + int(length)
            block = np.zeros((len(rows), width), dtype=np.int32)
            for step in range(size):
                block[:, step] = stream.word[begin[rows] + step]
            first = things.end[head[rows]] - int(length)
            for step in range(int(length)):
                block[:, size + step] = stream.word[first + step]
            flat = block.ravel()
            joined = np.ones(len(flat), dtype=bool)
            joined[::width] = False
            start, found_length, phrase = walk(lexicon, flat, joined)
            concept = lexicon.concept_of["category"][phrase]
            fits = (start % width == 0) & (found_length == width) & (concept >= 0)
            chosen, concept = head[rows[start[fits] // width]], concept[fits]
            if last_word_only:
                narrower = lexicon.above("category")[concept, things.concept[chosen]]
                chosen, concept = chosen[narrower], concept[narrower]
            self.done[chosen] = True
            self._found.append((chosen.astype(np.int32), concept))

    def finish(self) -> None:
        if not self._found:
            return
        rows = np.concatenate([rows for rows, _ in self._found])
        concepts = np.concatenate([concepts for _, concepts in self._found])
        self._things.concept[rows] = concepts
        self._things.score[rows] = np.minimum(self._things.score[rows], TURNED)
