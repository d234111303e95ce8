"""Which of the things a title names is the thing for sale.

An English name ends with its head: `oak mantel clock key` is a key. What follows `with`, `for`
or a picture's `of` is not the piece. Catalogues turn names round at a comma (`Clock, mantel`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, PURPOSE, Context, latest
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role, walk
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.tokens import CLAUSE, TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

TURNED = np.float32(93)  # a name whose words were not in a row
WEAK_NAME = np.float32(90)  # a word that names a thing only by its place
_MOST_TURNED = 4  # words in a turned name


class Things:
    """Findings of categories, growing by turned and interrupted names. Arrays by finding."""

    def __init__(self, lexicon: Lexicon, found: Found, *, weak: bool = False) -> None:
        concept = lexicon.concept_of["category"][found.phrase]
        at = np.flatnonzero(
            (concept >= 0) & ~found.within & (lexicon.weak("category")[found.phrase] == weak)
        )
        self.start = found.start[at]
        self.end = found.end[at]
        self.concept = concept[at]
        self.score = np.minimum(found.score[at], lexicon.score_of["category"][found.phrase[at]])
        self.size = self.end - self.start
        self.phrase = found.phrase[at]

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


def read_things(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context
) -> tuple[KindReading, Things, IntArray]:
    """The category of each title.

    Returns:
        the reading; all findings; for each title the index of its finding, -1 for none.
    """
    things = Things(lexicon, found)
    _join_interrupted(lexicon, stream, found, context, things)
    _join_over_of(lexicon, stream, things)
    if len(stream):
        _turn_of(lexicon, stream, things)
    _turn_inverted(lexicon, stream, things)
    n = stream.n_titles
    if not len(things.start):
        reading = KindReading.nothing(n)
        _read_weak(lexicon, stream, found, context, reading)
        return reading, things, np.full(n, -1, dtype=np.int32)
    start, end, concept = things.start, things.end, things.concept
    title = stream.title[start]

    follows = np.zeros(len(start), dtype=bool)  # the next finding starts where this one ends
    follows[:-1] = (start[1:] == end[:-1]) & context.linked[np.minimum(start[1:], len(stream) - 1)]
    concept, by_scale = _scale(lexicon, things, context, follows)
    # "wing back armchair": the word before says which armchair, so it is the finding
    above = lexicon.above("category")
    says_which = np.zeros(len(start), dtype=bool)
    says_which[:-1] = follows[:-1] & above[concept[:-1], concept[1:]]
    modifier = follows & ~by_scale & ~says_which
    replaced = np.zeros(len(start), dtype=bool)
    replaced[1:] = ((by_scale | says_which) & follows)[:-1]
    changed = _head_changed(lexicon, things, context, stream) & ~follows
    likeness = context.next_has(end, "shape_after")
    denied = _denied_things(lexicon, stream, found, context, things)
    copied = context.previous_has(start, "imitate_before")
    zone = context.zone[start]

    usable = ~denied & ~replaced & ~modifier
    lost = changed | copied | likeness
    rank = zone.astype(np.int32) * 4 + lost * 2
    rows = np.flatnonzero(usable)
    if not len(rows):
        reading = KindReading.nothing(n)
        _read_weak(lexicon, stream, found, context, reading)
        return reading, things, np.full(n, -1, dtype=np.int32)
    pick = rows[first_in_group(title[rows], rank[rows], start[rows])]
    best = np.full(n, -1, dtype=np.int32)
    best[title[pick]] = pick
    best = _pictures_first(lexicon, stream, things, title, zone, rows, best)
    best = _narrower_nearby(lexicon, concept, title, rank, rows, best)
    chosen = best[best >= 0]
    aside = lost | _only_mentioned(lexicon, stream, context, things, best[title])
    conflict = _rivals(lexicon, stream, concept, start, zone, rows, title, best, aside)

    reading = KindReading.nothing(n)
    has = best >= 0
    reading.concept[has] = concept[chosen]
    score = things.score[chosen].copy()
    clash = conflict[title[chosen]]
    unsure = context.hedged[end[chosen] - 1] | context.hedged[start[chosen]]
    unsure |= _only_a_part(lexicon, stream, found)[title[chosen]]
    doubtful = (zone[chosen] != MAIN) | lost[chosen] | clash | unsure
    for flag, highest in (
        (zone[chosen] != MAIN, 70),
        (zone[chosen] == PURPOSE, 60),
        (lost[chosen], 60),
        (clash | unsure, 80),
    ):
        score[flag] = np.minimum(score[flag], highest)
    reading.score[has] = score
    reading.doubtful[has] = doubtful
    others = np.flatnonzero(~denied & ~replaced & (best[title] != np.arange(len(start))))
    others = others[concept[others] != reading.concept[title[others]]]
    others = others[distinct_pairs(title[others], concept[others])]
    reading.also_title, reading.also_concept = title[others], concept[others]
    reading.margin[has] = np.where(clash, 0, np.where(doubtful, 5, score))
    _read_weak(lexicon, stream, found, context, reading)
    return reading, things, best


def _read_weak(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, reading: KindReading
) -> None:
    """Titles that name no thing otherwise: words such as `furniture`, `frame` or `scales`.

    They are the thing where they open the title before a comma or close its first clause. A word
    that is a material too (`silver`, `glass`) stays for a person.
    """
    things = Things(lexicon, found, weak=True)
    if not len(things.start):
        return
    n = len(stream)
    start, end = things.start, things.end
    title = stream.title[start]
    first_clause = stream.clause[np.minimum(stream.first[:-1], n - 1)][title]
    inside = end < n
    at = np.where(inside, end, 0)
    closes = ~inside | (stream.clause[at] != stream.clause[end - 1])
    closes |= inside & has_role(context.starts[at], "with")
    in_first = (stream.clause[start] == first_clause) & (context.zone[start] == MAIN)
    open_title = (reading.concept[title] < 0) & ~context.denied[start]
    rows = np.flatnonzero(open_title & closes & in_first)
    if not len(rows):
        return
    pick = rows[first_in_group(title[rows], -start[rows])]
    to = title[pick]
    reading.concept[to] = things.concept[pick]
    material = lexicon.concept_of["material"][things.phrase[pick]] >= 0
    reading.score[to] = np.where(material, 70, np.minimum(things.score[pick], WEAK_NAME))
    reading.margin[to] = np.where(material, 0, WEAK_NAME)
    reading.doubtful[to] = material


def _only_a_part(lexicon: Lexicon, stream: TokenStream, found: Found) -> BoolArray:
    """Titles that say "case only" or "empty box": what is sold is not the thing named."""
    marks = np.zeros(stream.n_titles, dtype=bool)
    if "marker" not in lexicon.concept_of:
        return marks
    kinds = [c.extra.get("kind", "") for c in lexicon.vocabulary.concepts("marker")]
    part = np.array([kind in ("part", "empty_box") for kind in kinds] or [False], dtype=bool)
    says = lexicon.phrases_where("only", lambda words: "only" in words or "empty" in words)
    concept = lexicon.concept_of["marker"][found.phrase]
    rows = np.flatnonzero((concept >= 0) & says[found.phrase])
    rows = rows[part[concept[rows]]]
    marks[stream.title[found.start[rows]]] = True
    return marks


def _denied_things(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> BoolArray:
    """Findings under a denial that is theirs: in "not crystal vase" the vase is not denied."""
    denied = context.denied[things.start]
    if not denied.any() or "material" not in lexicon.concept_of:
        return denied
    materials = found.start[lexicon.concept_of["material"][found.phrase] >= 0]
    count = np.zeros(len(stream) + 1, dtype=np.int32)
    np.add.at(count, materials + 1, 1)
    before = np.cumsum(count)
    denier = context.denier[things.start]
    between = before[things.start] - before[np.maximum(denier, 0)]
    return denied & ~((denier >= 0) & (between > 0))


_PICTURES = "prints-and-paintings"


def _pictures_first(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    title: IntArray,
    zone: npt.NDArray[np.uint8],
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> IntArray:
    """ "Madonna and Child, oil on canvas": the technique names the thing, the rest its subject."""
    ids = lexicon.concept_ids["category"]
    if _PICTURES not in ids:
        return best
    family = lexicon.above("category")[:, ids.index(_PICTURES)]
    names_technique = lexicon.phrases_where("on", lambda words: "on" in words)
    candidates = rows[family[things.concept[rows]] & (zone[rows] == MAIN)]
    candidates = candidates[names_technique[things.phrase[candidates]]]
    opens = (stream.before[things.start[candidates]] & CLAUSE) > 0
    candidates = candidates[opens]
    held = best[title[candidates]]
    better = (things.start[candidates] > things.start[held]) & ~family[things.concept[held]]
    best = best.copy()
    best[title[candidates[better]]] = candidates[better]
    return best


def _only_mentioned(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, held: IntArray
) -> BoolArray:
    """Findings that are no second thing beside the one held: parts, counts, material words."""
    after = (held >= 0) & (things.start > things.start[np.maximum(held, 0)])
    bits = context.starts[things.start]
    part = has_role(bits, "part", "body", "bare_material") & (things.size == 1)
    before = np.maximum(things.start - 1, 0)
    counted = context.linked[things.start] & context.is_number[before]
    material = np.zeros(len(things.start), dtype=bool)
    known = things.phrase >= 0
    material[known] = lexicon.concept_of["material"][things.phrase[known]] >= 0
    return after & (part | counted | material)


def _scale(
    lexicon: Lexicon, things: Things, context: Context, follows: BoolArray
) -> tuple[IntArray, BoolArray]:
    """ "doll's house chair", "toy piano", "model ship": the small thing is no thing of its kind."""
    concept = things.concept.copy()
    stays = np.zeros(len(concept), dtype=bool)
    index = {concept_id: i for i, concept_id in enumerate(lexicon.concept_ids["category"])}
    for role in ("scale_dolls", "scale_toy", "scale_model"):
        target = index.get(lexicon.modifiers.targets.get(role, ""), -1)
        playing = has_role(context.starts[things.start], role) & follows
        if target >= 0:
            concept[playing] = target
        stays |= playing
        # a prefix that is no thing itself ("model", "play") turns what follows it
        prefixed = context.previous_has(things.start, role) & ~np.roll(playing, 1)
        prefixed &= things.size == 1
        if target >= 0:
            concept[prefixed] = target
        else:
            things.score[prefixed] = np.minimum(things.score[prefixed], 70)
    return concept, stays


_OF = frozenset({"of"})
_FUNCTION_WORDS = frozenset(
    ["for", "to", "and", "with", "as", "from", "in", "on", "at", "by", "of", "the", "a", "or"]
)


def _head_changed(
    lexicon: Lexicon, things: Things, context: Context, stream: TokenStream
) -> BoolArray:
    """Whether the word after a finding makes it another thing: `clock key`, `lamp base`."""
    end = things.end
    inside = end < len(stream)
    at = np.where(inside, end, 0)
    joined = inside & context.linked[at]
    changed = joined & has_role(context.starts[at], "head_after")
    part = joined & has_role(context.starts[at], "part")
    beyond = np.minimum(end + 1, len(stream) - 1)
    last = (end + 1 >= len(stream)) | (stream.clause[beyond] != stream.clause[at])
    amounts = frozenset(p[0] for p in lexicon.phrases_of("quantity") if len(p) == 1)
    quantity = lexicon.words_in(amounts)[stream.word[beyond]]
    quantity |= has_role(context.starts[beyond], "with")
    quantity &= ~last
    changed |= part & (last | quantity | context.is_number[beyond])
    table = lexicon.head_words
    flags = lexicon.memo("head words", lambda: _head_flags(lexicon))
    pairs = np.flatnonzero(joined & ~changed)
    pairs = pairs[flags[stream.word[at[pairs]]]]
    for i in pairs:
        word = stream.spellings[stream.spelling[at[i]]]
        for form in (word, word[:-1] if word.endswith("s") else word):
            if int(things.concept[i]) in table.get(form, ()):
                changed[i] = True
    return changed


def _head_flags(lexicon: Lexicon) -> BoolArray:
    """Word number -> whether it may change what the thing before it is."""
    table = lexicon.head_words
    return np.array(
        [False]
        + [
            one not in _FUNCTION_WORDS
            and (one in table or (one.endswith("s") and one[:-1] in table))
            for one in sorted(lexicon.words)
        ],
        dtype=bool,
    )


def _narrower_nearby(
    lexicon: Lexicon,
    concept: IntArray,
    title: IntArray,
    rank: IntArray,
    rows: npt.NDArray[np.intp],
    best: IntArray,
) -> IntArray:
    """Where the same title also names a narrower kind of the thing, take that."""
    above = lexicon.above("category")
    improved = best.copy()
    candidates = rows[rank[rows] == rank[best[title[rows]]]]
    for _ in range(2):
        current = improved[title[candidates]]
        narrower = above[concept[candidates], concept[current]]
        for row in candidates[narrower]:
            held = improved[title[row]]
            if above[concept[row], concept[held]]:
                improved[title[row]] = row
    return improved


def _rivals(
    lexicon: Lexicon,
    stream: TokenStream,
    concept: IntArray,
    start: IntArray,
    zone: npt.NDArray[np.uint8],
    rows: npt.NDArray[np.intp],
    title: IntArray,
    best: IntArray,
    aside: BoolArray,
) -> BoolArray:
    """Titles whose first clause names a second, unlike thing without a word that ranks them."""
    above = lexicon.above("category")
    held = best[title[rows]]
    other = rows != held
    same = stream.clause[start[rows]] == stream.clause[start[held]]
    unlike = (
        (concept[rows] != concept[held])
        & ~above[concept[held], concept[rows]]
        & ~above[concept[rows], concept[held]]
    )
    rival = other & same & unlike & (zone[rows] == zone[held]) & ~aside[rows]
    flags = np.zeros(stream.n_titles, dtype=bool)
    flags[title[rows[rival]]] = True
    return flags


def _join_interrupted(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> None:
    """Names whose words stand apart: `mantel Victorian clock`, `chest pine drawers`."""
    n = len(stream)
    if not n:
        return
    after_of = np.zeros(n, dtype=bool)
    of_word = lexicon.words_in(_OF)[stream.word]
    after_of[1:] = of_word[:-1] & ~stream.starts()[1:]
    counts = frozenset(p[0] for p in lexicon.phrases_of("count") if len(p) == 1)
    count = lexicon.words_in(counts)[stream.word]
    skip = after_of & (context.is_number | count)
    for kind in ("material", "period"):
        if kind in lexicon.concept_of:
            of_kind = (lexicon.concept_of[kind][found.phrase] >= 0) & ~found.within
            of_kind &= lexicon.concept_of["category"][found.phrase] < 0
            for step in range(int((found.end - found.start)[of_kind].max(initial=0))):
                at = found.start[of_kind] + step
                skip[at[at < found.end[of_kind]]] = True
    neutral = has_role(lexicon.roles[found.phrase], "neutral")
    neutral &= lexicon.concept_of["category"][found.phrase] < 0
    for step in range(int((found.end - found.start)[neutral].max(initial=0))):
        at = found.start[neutral] + step
        skip[at[at < found.end[neutral]]] = True
    kept = np.flatnonzero(~skip).astype(np.int32)
    if len(kept) < 2:
        return
    gap = np.zeros(len(kept), dtype=bool)
    gap[1:] = np.diff(kept) > 1
    if not gap.any():
        return
    clause = stream.clause[kept]
    joined = np.zeros(len(kept), dtype=bool)
    joined[1:] = clause[1:] == clause[:-1]
    start, length, phrase = walk(lexicon, stream.word[kept], joined)
    concept = lexicon.concept_of["category"][phrase]
    first, past = kept[start], kept[start + length - 1] + 1
    wanted = (concept >= 0) & (length >= 2) & (past - first > length)
    start, length, phrase, concept = (a[wanted] for a in (start, length, phrase, concept))
    first, past = first[wanted], past[wanted]
    if not len(first):
        return
    # what already stands as a longer name is left alone
    long_name = np.zeros(n, dtype=bool)
    whole = things.size >= 2
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


def _join_over_of(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "nest of three teak coffee tables" is a nest of tables: X of ... and the last word."""
    if not len(things.start):
        return
    of_word = lexicon.words_in(_OF)[stream.word]
    before = latest(of_word, stream.clause)[things.start]
    rows = np.flatnonzero((before > 0) & ~stream.starts()[np.maximum(before, 0)])
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


def _turn_of(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """ "Drawers, chest of": a clause that ends with "of" is finished by the clause before it."""
    n = len(stream)
    of_word = lexicon.words_in(_OF)[stream.word]
    last = np.append(stream.clause[1:] != stream.clause[:-1], True)
    number = stream.clause[np.flatnonzero(of_word & last)]
    clause_first = np.flatnonzero(np.diff(stream.clause, prepend=-1))
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
    if found:
        first, end, phrases, size = (np.array(column, dtype=np.int32) for column in zip(*found))
        things.replace(
            first,
            end,
            lexicon.concept_of["category"][phrases],
            np.full(len(found), TURNED, dtype=np.float32),
            size,
            phrases,
        )


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


def _turn_inverted(lexicon: Lexicon, stream: TokenStream, things: Things) -> None:
    """Catalogue headings: `Clock, mantel`, `drawers, chest of`, `Chair - dining`."""
    n = len(stream)
    if not n or not len(things.start):
        return
    first_word = stream.first[:-1][stream.first[:-1] < stream.first[1:]]
    first_thing = first_in_group(stream.title[things.start], things.start)
    at_front = np.isin(things.start[first_thing], first_word)
    head = first_thing[things.size[first_thing] <= _MOST_TURNED]
    at_front = at_front[things.size[first_thing] <= _MOST_TURNED]
    clause_first = np.flatnonzero(np.diff(stream.clause, prepend=-1))
    clause_past = np.append(clause_first[1:], n)
    number = np.searchsorted(clause_first, things.start[head], side="right")
    # a whole heading is turned where it opens the title and ends at the comma
    full = at_front & (things.end[head] == clause_past[number - 1])
    pool = _Turned(lexicon, stream, things)
    for later in range(3):
        slot = number + later
        valid = slot < len(clause_first)
        slot = np.where(valid, slot, 0)
        begin, past = clause_first[slot], clause_past[slot]
        valid &= stream.title[np.minimum(begin, n - 1)] == stream.title[things.start[head]]
        for size in range(1, _MOST_TURNED):
            rows = np.flatnonzero(valid & (past - begin == size) & ~pool.done[head])
            whole = rows[full[rows]]
            pool.try_size(head[whole], begin[whole].astype(np.int32), size)
            rows = rows[~pool.done[head[rows]]]
            pool.try_size(head[rows], begin[rows].astype(np.int32), size, last_word_only=True)
    pool.finish()


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
