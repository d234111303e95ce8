"""Find every phrase of the lexicon in many titles at once, and settle which of them stand.

All positions walk the trie together, one word a step; few live past the first. Then the longest
phrase wins: a shorter one inside it falls away ("plate" in "silver plate"), except that a kind
of thing may be named with its material or period ("brass bed" is both).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pipeline.terms.lexicon import Lexicon
from pipeline.terms.modifiers import PHRASE_ROLES
from pipeline.terms.tokens import CLAUSE, TokenStream
from pipeline.terms.trie import Walkable

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

# kinds that may stand inside a longer name of a thing
_INSIDE_CATEGORY = ("material", "period")
_STONES = frozenset(
    ["stones", "stone", "gems", "jewels", "coins", "brilliants", "cabochons", "diamonds",
     "pearls", "paste", "turquoise", "turquoises", "garnets", "cameos"]
)  # fmt: skip
_SIEVE_SIZE = 1 << 21  # some ten times the steps of all phrases


@dataclass(frozen=True)
class Found:
    """Phrases found: where each starts, the word after its end, its number.

    `within` marks a phrase that stands inside a longer category name: only its material and
    period count. `score` is the least sure of its words, 0 to 100.
    """

    start: IntArray
    end: IntArray
    phrase: IntArray
    within: BoolArray
    score: FloatArray

    def take(self, chosen: npt.NDArray[np.intp] | BoolArray) -> Found:
        return Found(
            self.start[chosen],
            self.end[chosen],
            self.phrase[chosen],
            self.within[chosen],
            self.score[chosen],
        )

    def words_of(self, chosen: BoolArray, n_words: int) -> BoolArray:
        """For each of the stream's words whether it belongs to one of the chosen phrases."""
        start, end = self.start[chosen], self.end[chosen]
        marks = np.zeros(n_words, dtype=bool)
        for step in range(int((end - start).max(initial=0))):
            at = start + step
            marks[at[at < end]] = True
        return marks

    def __len__(self) -> int:
        return len(self.start)


def walk(
    lexicon: Walkable, word: IntArray, joined: BoolArray
) -> tuple[IntArray, IntArray, IntArray]:
    """All phrases at all positions: (start, length, phrase), longest last.

    Args:
        word: word numbers of all titles in one row.
        joined: whether a word may continue a phrase that the word before it is in.
    """
    starts, lengths, phrases = [], [], []
    position = np.flatnonzero(lexicon.root_child[word] >= 0).astype(np.int32)
    node = lexicon.root_child[word[position]]
    depth = 1
    while len(position):
        phrase = lexicon.node_phrase[node]
        ends_here = phrase >= 0
        starts.append(position[ends_here])
        lengths.append(np.full(int(ends_here.sum()), depth, dtype=np.int32))
        phrases.append(phrase[ends_here])
        going = lexicon.has_children[node] & (position + depth < len(word))
        position, node = position[going], node[going]
        following = position + depth
        going = joined[following] & (word[following] > 0)
        position, node, following = position[going], node[going], following[going]
        key = node.astype(np.int64) * lexicon.n_words + word[following]
        if len(key) > len(lexicon.keys):
            going = _may_be_among(lexicon.keys, key)
            position, node, key = position[going], node[going], key[going]
        slot = np.searchsorted(lexicon.keys, key)
        slot[slot == len(lexicon.keys)] = 0
        going = lexicon.keys[slot] == key if len(lexicon.keys) else np.zeros(len(key), dtype=bool)
        position, node = position[going], lexicon.children[slot[going]]
        depth += 1
    if not starts:
        none = np.zeros(0, dtype=np.int32)
        return none, none, none
    return np.concatenate(starts), np.concatenate(lengths), np.concatenate(phrases)


def _may_be_among(
    keys: npt.NDArray[np.int64], asked: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    """A quick no for most numbers that are not among the keys; the others have to be looked up."""
    sieve = np.zeros(_SIEVE_SIZE, dtype=bool)
    sieve[keys % _SIEVE_SIZE] = True
    return sieve[asked % _SIEVE_SIZE]


def joins(stream: TokenStream) -> BoolArray:
    """Whether each word may belong to one phrase with the word before it."""
    joined = (stream.before & CLAUSE) == 0
    return joined & ~stream.starts()


def find_phrases(lexicon: Lexicon, stream: TokenStream) -> Found:
    """The phrases that stand, in order of their place."""
    start, length, phrase = walk(lexicon, stream.word, joins(stream))
    return settle(lexicon, stream, start, length, phrase)


def settle(
    lexicon: Lexicon,
    stream: TokenStream,
    start: IntArray,
    length: IntArray,
    phrase: IntArray,
) -> Found:
    """Longest first, no word twice; of two equally long the later, whose head is nearer.

    A material stands where the later would leave a word that means nothing by itself: `famille
    rose` and a bowl, no `famille` and a rose bowl. A thing or a period stands before a word on the
    lot or the attribution: `cigar box`, lot; `Gothic Revival`, style.
    """
    kinds = _kinds_of_phrases(lexicon)
    thing, bare = kinds.thing, kinds.bare
    kept_whole = ~_faults_of_the_piece(lexicon, stream, start, length, phrase, thing)
    kept_whole &= ~_said_of_sets(lexicon, stream, start, length, phrase, thing)
    start, length, phrase = start[kept_whole], length[kept_whole], phrase[kept_whole]
    n = len(stream)
    closed = np.zeros(n, dtype=bool)  # no shorter phrase may use this word
    stuff = np.zeros(n, dtype=bool)  # the word is part of a longer name of a material
    stuff_end = np.zeros(n, dtype=bool)
    named = np.zeros(n, dtype=bool)  # the word is part of a longer name of a thing
    coated = np.zeros(n, dtype=bool)  # the word is part of the name of a finish
    work_start = np.zeros(n, dtype=bool)
    coat_end = np.zeros(n, dtype=bool)  # and its last: "painted pine" is pine, "oak effect" no oak
    alone = np.zeros(n + 1, dtype=bool)  # the word is known by itself too
    alone[start[length == 1]] = True
    kept: list[npt.NDArray[np.intp]] = []
    kept_within: list[BoolArray] = []
    for size in range(int(length.max(initial=0)), 0, -1):
        chosen = np.flatnonzero(length == size)
        if not len(chosen):
            continue
        cells = start[chosen, None] + np.arange(size, dtype=np.int32)
        free = ~closed[cells].any(axis=1)
        ends = cells[:, -1]
        inner_coat = bare[phrase[chosen]] & coat_end[ends]
        inner_work = thing[phrase[chosen]] & work_start[cells[:, 0]]
        free &= ~coated[cells].any(axis=1) | inner_coat | inner_work
        # "spelter figure" names the material and the thing
        inner_thing = kinds.plain_thing[phrase[chosen]] & stuff_end[ends] & stuff[cells].all(axis=1)
        free |= inner_thing & ~named[cells].any(axis=1)
        inner = named[cells].any(axis=1)
        free &= ~inner | (named[cells].all(axis=1) & kinds.inside[phrase[chosen]])
        chosen, inner = chosen[free], inner[free]
        if size > 1:
            of_name, of_word = kinds.naming[phrase[chosen]], kinds.telling[phrase[chosen]]
            stuffs, named_thing = bare[phrase[chosen]], kinds.plain_thing[phrase[chosen]]
            keep = _later_first(start[chosen], size, alone, stuffs, of_name, of_word, named_thing)
            chosen, inner = chosen[keep], inner[keep]
        kept.append(chosen)
        kept_within.append(inner)
        cells = start[chosen, None] + np.arange(size, dtype=np.int32)
        is_thing = thing[phrase[chosen]]
        is_work = kinds.work[phrase[chosen]] & ~is_thing
        is_coat = (lexicon.is_coat[phrase[chosen]] | is_work) & ~is_thing & (size > 1)
        work_start[cells[is_work][:, 0]] = True
        named[cells[is_thing].ravel()] = True
        coated[cells[is_coat].ravel()] = True
        is_stuff = bare[phrase[chosen]] & ~is_thing & (size > 1)
        is_stuff &= ~has_role(lexicon.roles[phrase[chosen]], "mask")  # "lloyd loom" is no loom
        stuff[cells[is_stuff].ravel()] = True
        stuff_end[cells[is_stuff][:, -1]] = True
        holds = is_coat & kinds.with_inlay[phrase[chosen]]
        coat_end[cells[is_coat & ~holds][:, -1]] = True
        closed[cells[(~is_thing & ~is_coat) | holds].ravel()] = True
    if not kept:
        none = np.zeros(0, dtype=np.int32)
        return Found(none, none, none, np.zeros(0, dtype=bool), np.zeros(0, dtype=np.float32))
    chosen = np.concatenate(kept)
    within = np.concatenate(kept_within)
    chosen, within = _with_cut_short(start, length, phrase, chosen, within, thing, bare, n)
    order = np.lexsort((-length[chosen], start[chosen]))
    chosen, within = chosen[order], within[order]
    end = start[chosen] + length[chosen]
    return Found(
        start=start[chosen],
        end=end.astype(np.int32),
        phrase=phrase[chosen],
        within=within,
        score=_least(stream.score, start[chosen], length[chosen]),
    )


@dataclass(frozen=True)
class _PhraseKinds:
    """What phrases are to `settle`, (n phrases,) each."""

    thing: BoolArray  # a name that is a material's too ("silver plate") holds no material inside
    bare: BoolArray  # names a material
    inside: BoolArray  # may stand inside the name of a thing
    naming: BoolArray
    telling: BoolArray
    plain_thing: BoolArray
    with_inlay: BoolArray
    work: BoolArray


def _kinds_of_phrases(lexicon: Lexicon) -> _PhraseKinds:
    def make() -> _PhraseKinds:
        bare = lexicon.concept_of["material"] >= 0
        thing = (lexicon.concept_of["category"] >= 0) & ~bare & ~lexicon.weak("category")
        inside = np.zeros(len(lexicon.phrases), dtype=bool)
        for kind in _INSIDE_CATEGORY:
            if kind in lexicon.concept_of:
                inside |= lexicon.concept_of[kind] >= 0
        naming, telling = thing.copy(), np.zeros(len(lexicon.phrases), dtype=bool)
        for kind, of_kind in lexicon.concept_of.items():
            naming |= (of_kind >= 0) & (kind == "period")
            telling |= (of_kind >= 0) & (kind in ("marker", "attribution"))
        # what is "only" or "empty" tells of more than the lot: "clock case only"
        telling &= ~naming & ~lexicon.phrases_where(
            "only", lambda words: "only" in words or "empty" in words
        )
        # ("inlaid with bone" names no bone that the piece is made of)
        inlay = lexicon.phrases_where(
            "inlaid with",
            lambda words: "with" in words and words[0] in ("inlaid", "inset", "strung"),
        )
        # "blush ivory" is a colour and names no ivory
        shade = lexicon.phrases_where(
            "shades of ivory",
            lambda words: words in (("blush", "ivory"), ("off", "white", "ivory")),
        )
        fitting = has_role(lexicon.roles, "imitate_after", "part", "fitted", "body")
        return _PhraseKinds(
            thing=thing,
            bare=bare,
            inside=inside,
            naming=naming,
            telling=telling,
            plain_thing=thing & ~fitting,
            with_inlay=inlay | shade,
            # "oil painting on board" is a technique and opens with the thing
            work=bare & lexicon.phrases_where("on", lambda words: "on" in words),
        )

    kinds: _PhraseKinds = lexicon.memo(("kinds of phrases", lexicon.field_kind), make)
    return kinds


def _faults_of_the_piece(
    lexicon: Lexicon,
    stream: TokenStream,
    start: IntArray,
    length: IntArray,
    phrase: IntArray,
    thing: BoolArray,
) -> BoolArray:
    """ "Box worn" in "snuff box worn" and "oak box worn": no box of a piece but the piece."""
    if "fault" not in lexicon.concept_of:
        return np.zeros(len(phrase), dtype=bool)
    of_box = lexicon.phrases_where("of a box", lambda words: words[0] == "box" and len(words) > 1)
    fault = (of_box & (lexicon.concept_of["fault"] >= 0))[phrase]
    if not fault.any():
        return fault
    n = len(stream)
    named = _ends(start, length, thing[phrase] & (length > 1), n)
    stuff = _ends(start, length, lexicon.concept_of["material"][phrase] >= 0, n)
    joined = joins(stream)[start]
    return fault & joined & (named[start + 1] | stuff[start])


def _ends(start: IntArray, length: IntArray, wanted: BoolArray, n: int) -> BoolArray:
    """For each of n words and the end whether a wanted phrase ends right before it, (n + 1,)."""
    ends = np.zeros(n + 1, dtype=bool)
    ends[(start + length)[wanted]] = True
    return ends


def _said_of_sets(
    lexicon: Lexicon,
    stream: TokenStream,
    start: IntArray,
    length: IntArray,
    phrase: IntArray,
    thing: BoolArray,
) -> BoolArray:
    """ "Set with" in "tea set with gilt rims": the noun of a name, where no stones come behind."""
    set_with = lexicon.phrases_where("set with", lambda words: words == ("set", "with"))[phrase]
    mounted = lexicon.phrases_where("mounted first", lambda words: words[0] == "mounted")
    mounted = (mounted & thing)[phrase]
    if not (set_with | mounted).any():
        return set_with
    n = len(stream)
    named = _ends(start, length, thing[phrase] & (length > 1), n)
    stones = np.zeros(n + 3, dtype=bool)
    gems = has_role(lexicon.roles, "gem_word") & (lexicon.concept_of["material"] >= 0)
    stones[start[gems[phrase]]] = True
    stones[:n] |= lexicon.words_in(_STONES)[stream.word]
    ahead = stones[start + 2] | stones[np.minimum(start + 3, n)]
    # "silver mounted horn card case" is no mounted horn
    stuff = _ends(start, length, lexicon.concept_of["material"][phrase] >= 0, n)
    joined = joins(stream)[start]
    return joined & ((set_with & named[start + 1] & ~ahead) | (mounted & stuff[start]))


def _with_cut_short(
    start: IntArray,
    length: IntArray,
    phrase: IntArray,
    chosen: npt.NDArray[np.intp],
    within: BoolArray,
    thing: BoolArray,
    bare: BoolArray,
    n_words: int,
) -> tuple[npt.NDArray[np.intp], BoolArray]:
    """Longer names of materials whose last word opens the name of a thing: "cast iron stand".

    The thing keeps its name ("iron stand"); what it is made of is told by the longer one ("cast
    iron"), which takes the place of the shorter ones inside it.
    """
    is_thing = thing[phrase[chosen]] & ~within & (length[chosen] > 1)
    past = np.zeros(n_words, dtype=np.int32)  # where the thing that starts here ends
    past[start[chosen[is_thing]]] = (start + length)[chosen[is_thing]]
    rows = np.flatnonzero((length > 1) & (bare & ~thing)[phrase])
    last = start[rows] + length[rows] - 1
    rows = rows[past[last] > last + 1]
    rows = rows[~np.isin(rows, chosen)] if len(rows) else rows
    if not len(rows):
        return chosen, within
    # nothing but shorter materials may stand on the words before the thing
    needed = np.zeros(n_words, dtype=bool)
    for step in range(int(length[rows].max()) - 1):
        at = start[rows] + step
        needed[at[step < length[rows] - 1]] = True
    near = chosen[needed[start[chosen]] | needed[(start + length - 1)[chosen]]]
    near = near[~bare[phrase[near]] | (length[near] > 1)]
    taken = np.zeros(n_words, dtype=bool)
    for step in range(int(length[near].max(initial=0))):
        at = start[near] + step
        taken[at[step < length[near]]] = True
    for step in range(int(length[rows].max()) - 1):
        rows = rows[~(taken[start[rows] + step] & (step < length[rows] - 1))]
    if not len(rows):
        return chosen, within
    order = np.lexsort((-length[rows], start[rows] + length[rows]))
    rows = rows[order]
    ends = (start + length)[rows]
    rows = rows[np.append(True, ends[1:] != ends[:-1])]
    inner = np.zeros(n_words, dtype=bool)
    for step in range(int(length[rows].max())):
        at = start[rows] + step
        inner[at[step < length[rows]]] = True
    shorter = bare[phrase[chosen]] & (length[chosen] == 1) & inner[start[chosen]]
    shorter &= ~thing[phrase[chosen]]
    chosen = np.concatenate([chosen[~shorter], rows])
    return chosen, np.concatenate([within[~shorter], np.zeros(len(rows), dtype=bool)])


def role_bits(
    lexicon: Lexicon, found: Found, n_words: int
) -> tuple[npt.NDArray[np.uint64], npt.NDArray[np.uint64]]:
    """For each word the roles of a phrase that starts with it, and of one that ends with it."""
    starts = np.zeros(n_words, dtype=np.uint64)
    ends = np.zeros(n_words, dtype=np.uint64)
    bits = lexicon.roles[found.phrase]
    playing = (bits > 0) & ~found.within
    starts[found.start[playing]] |= bits[playing]
    opening = _parts_that_open(lexicon)[found.phrase]
    opening[found.within] = 0
    starts[found.start] |= opening
    ends[found.end[playing] - 1] |= bits[playing]
    return starts, ends


def _parts_that_open(lexicon: Lexicon) -> npt.NDArray[np.uint64]:
    """Phrase -> the role of its first word where that is a part and the phrase tells a fault.

    In "enamel dial signed" the enamel is the dial's, though "dial signed" is one phrase.
    """

    def make() -> npt.NDArray[np.uint64]:
        table = np.zeros(len(lexicon.phrases), dtype=np.uint64)
        part = _mask(("part",))
        faults = lexicon.concept_of.get("fault")
        if faults is None:
            return table
        for phrase in np.flatnonzero(faults >= 0).tolist():
            words = lexicon.phrases[phrase]
            first = lexicon.phrase_numbers.get(words[:1], -1) if len(words) > 1 else -1
            if first >= 0:
                table[phrase] = lexicon.roles[first] & part
        return table

    table: npt.NDArray[np.uint64] = lexicon.memo(("parts that open",), make)
    return table


def has_role(bits: npt.NDArray[np.uint64], *roles: str) -> BoolArray:
    """Whether any of the roles is among the bits."""
    return (bits & _mask(roles)) != 0


@lru_cache(maxsize=256)
def _mask(roles: tuple[str, ...]) -> np.uint64:
    return np.uint64(sum(1 << PHRASE_ROLES.index(role) for role in roles))


def _later_first(
    start: IntArray,
    size: int,
    alone: BoolArray,
    stuff: BoolArray,
    naming: BoolArray,
    telling: BoolArray,
    named: BoolArray,
) -> BoolArray:
    """Which of equally long phrases stand when overlapping ones give way to the last.

    Args:
        alone: of each word, whether it is a phrase by itself.
        stuff: of each phrase, whether it names a material.
        naming: whether it names a kind of thing or a period.
        telling: whether it tells of the lot or of the attribution.
        named: whether it names a kind of thing and no material.
    """
    order = np.argsort(start, kind="stable")
    ordered = start[order]
    gaps = np.diff(ordered)
    keep = np.ones(len(start), dtype=bool)
    if not (gaps < size).any():
        return keep
    kept_ordered = np.ones(len(start), dtype=bool)
    crowded = np.flatnonzero(gaps < size)
    # runs of overlapping phrases are short: settle each from its end
    last_kept = -1
    for index in crowded[::-1]:
        right = index + 1
        if not kept_ordered[right]:
            right = last_kept
        if right >= 0 and ordered[right] - ordered[index] < size and kept_ordered[right]:
            left_over = alone[ordered[index] : ordered[right]]
            beyond = alone[ordered[index] + size : ordered[right] + size]
            material = bool(stuff[order[index]]) and not stuff[order[right]]
            stands = material and not left_over.all()
            stands |= bool(naming[order[index]]) and bool(telling[order[right]])
            # "music box wood", "tobacco pipe clay": the name, and what it is made of
            stands |= bool(named[order[index]]) and bool(stuff[order[right]])
            if stands and right == index + 1 and beyond.all():
                kept_ordered[right] = False
                last_kept = int(index)
                continue
            kept_ordered[index] = False
            last_kept = right
        else:
            last_kept = int(index)
    keep[order] = kept_ordered
    return keep


def _least(values: FloatArray, start: IntArray, length: IntArray) -> FloatArray:
    least = np.full(len(start), 100, dtype=np.float32)
    for step in range(int(length.max(initial=0))):
        within = length > step
        least[within] = np.minimum(least[within], values[start[within] + step])
    return least
