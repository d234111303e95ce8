"""What a piece is made of, told apart from what its parts are made of.

`oak case, brass dial`: the dial is a part, the case stands for the clock. `faux ivory`,
`ivory silk` and `brass effect` name no material of the piece at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import ADDITION, MAIN, PURPOSE, SUBJECT, Context
from pipeline.terms.heads import Things
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.tokens import TokenStream

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

WHOLE, BODY, SOFT, PART, NOTHING = 0, 1, 2, 3, 9
_OF_THE_WHOLE = frozenset({"in", "of", "from"})
_ASPECTS = {"material": 0, "technique": 1, "finish": 2}


@dataclass(frozen=True)
class Materials:
    """Findings of materials that say something of the piece, in order of place."""

    title: IntArray
    concept: IntArray
    place: npt.NDArray[np.int8]  # WHOLE, BODY, SOFT or PART
    reading: KindReading


def read_materials(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    head: IntArray,
) -> Materials:
    """The materials of each title.

    Args:
        things: findings of categories.
        head: for each title the index of its category among them, -1 for none.
    """
    concept = lexicon.concept_of["material"][found.phrase]
    rows = np.flatnonzero(concept >= 0)
    start, end, concept = found.start[rows], found.end[rows], concept[rows]
    score = np.minimum(found.score[rows], lexicon.score_of["material"][found.phrase[rows]])
    title = stream.title[start] if len(rows) else start
    place = _places(lexicon, stream, found, context, things, head, rows)
    keep = place != NOTHING
    start, concept, title, score, place = (
        a[keep] for a in (start, concept, title, score, place)
    )
    reading = KindReading.nothing(stream.n_titles)
    if not len(start):
        return Materials(title, concept, place, reading)
    aspect = _aspects(lexicon)[concept]
    rank = place.astype(np.int32) * 10 + aspect
    rank[place == PART] = 99
    pictures = _pictures(lexicon, things, head, stream.n_titles)
    swap = pictures[title] & (place < PART) & (aspect == 1)
    rank[swap] = place[swap] * 10 - 1
    eligible = np.flatnonzero(place < PART)
    pick = eligible[first_in_group(title[eligible], rank[eligible], start[eligible])]
    best = np.full(stream.n_titles, -1, dtype=np.int32)
    best[title[pick]] = pick
    above = lexicon.above("material")
    for row in eligible[above[concept[eligible], concept[best[title[eligible]]]]]:
        if above[concept[row], concept[best[title[row]]]]:
            best[title[row]] = row
    has = best >= 0
    chosen = best[has]
    reading.concept[has] = concept[chosen]
    reading.score[has] = score[chosen]
    reading.margin[has] = score[chosen]
    others = np.flatnonzero(concept != reading.concept[title])
    others = others[distinct_pairs(title[others], concept[others])]
    reading.also_title, reading.also_concept = title[others], concept[others]
    return Materials(title, concept, place, reading)


def _places(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    head: IntArray,
    rows: npt.NDArray[np.intp],
) -> npt.NDArray[np.int8]:
    start, end = found.start[rows], found.end[rows]
    n_words = len(stream)
    place = np.full(len(rows), WHOLE, dtype=np.int8)
    if not len(rows):
        return place
    title = stream.title[start]
    roles = lexicon.roles[found.phrase[rows]]
    bits = context.starts
    at = np.minimum(end, n_words - 1)
    linked = (end < n_words) & context.linked[at]

    thing_start = np.full(n_words, -1, dtype=np.int32)
    thing_start[things.start] = np.arange(len(things.start), dtype=np.int32)
    head_start = np.full(stream.n_titles, -1, dtype=np.int32)
    head_end = np.full(stream.n_titles, -1, dtype=np.int32)
    known = head >= 0
    head_start[known] = things.start[head[known]]
    head_end[known] = things.end[head[known]]

    next_thing = np.where(linked, thing_start[at], -1)
    zone = context.zone[start]

    # additions and purposes
    opener = context.opener[start]
    opening_word = np.array([one in _OF_THE_WHOLE for one in stream.spellings], dtype=bool)
    by_whole = (opener >= 0) & opening_word[stream.spelling[np.maximum(opener, 0)]]
    between = start - opener - 1
    object_of = by_whole & (between <= 2) & (next_thing < 0)
    place[(zone == ADDITION) & ~object_of] = PART
    place[(zone == SUBJECT) & ~object_of] = NOTHING
    place[zone == PURPOSE] = np.where(object_of[zone == PURPOSE], WHOLE, NOTHING)

    # the word after it names a part
    part_next = linked & has_role(bits[at], "part", "fitted", "body")
    body_next = linked & has_role(bits[at], "body")
    soft_next = linked & has_role(bits[at], "fitted") & _woods(lexicon)[
        lexicon.concept_of["material"][found.phrase[rows]]
    ]
    # a part with one word before it ("brass bun feet"), if no thing comes next
    second = np.minimum(end + 1, n_words - 1)
    second_linked = linked & (end + 1 < n_words) & context.linked[second]
    third = np.minimum(end + 2, n_words - 1)
    thing_third = (end + 2 < n_words) & context.linked[third] & (thing_start[third] >= 0)
    far_part = (
        second_linked
        & ~part_next
        & (next_thing < 0)
        & has_role(bits[second], "part")
        & ~thing_third
        & ~has_role(bits[at], "with", "subject", "purpose", "conjunction")
    )
    far_body = far_part & has_role(bits[second], "body")
    is_thing_next = next_thing >= 0
    part_next &= ~is_thing_next | has_role(bits[at], "part") & (
        next_thing != head[title]
    )
    place[part_next | far_part] = PART
    place[(body_next & part_next) | far_body] = BODY
    place[soft_next & part_next & (place == PART)] = SOFT
    # a thing that is not the piece: "oak box, brass key"
    not_head = is_thing_next & (next_thing != head[title]) & ~_leads_to_head(things, next_thing)
    not_head &= (head_start[title] >= 0) & (start > head_start[title])
    place[not_head & (place == WHOLE)] = PART
    inside = found.within[rows]
    in_head = (start >= head_start[title]) & (end <= head_end[title])
    place[inside & in_head] = WHOLE
    place[inside & ~in_head & (head_start[title] >= 0)] = PART
    place[inside & _is_content(lexicon, things, thing_start, stream, start)] = NOTHING

    # joined materials share the fate of the last: "brass and steel handles"
    follower = np.full(len(rows), -1, dtype=np.int64)
    row_at = np.full(n_words + 1, -1, dtype=np.int64)
    row_at[start] = np.arange(len(rows))
    conj = linked & has_role(bits[at], "conjunction")
    after_conj = np.where(conj & (end + 1 < n_words), row_at[np.minimum(end + 1, n_words)], -1)
    follower = np.where(after_conj >= 0, after_conj, follower)
    shares = (follower >= 0) & (place == WHOLE) & ~inside
    target = follower[shares]
    inherits = np.isin(place[target], (PART, BODY, SOFT)) & (zone[shares] == MAIN)
    changed = np.flatnonzero(shares)[inherits]
    place[changed] = place[follower[changed]]

    # appearances only
    colour = has_role(roles, "colour_word") & linked & has_role(bits[at], "colour_follow")
    colour &= ~(part_next & has_role(bits[at], "part"))
    copied_after = linked & has_role(bits[at], "imitate_after") & ~is_thing_next
    copied_before = context.previous_has(start, "imitate_before")
    one_back = np.maximum(start - 1, 0)
    neutral_before = context.linked[start] & has_role(context.ends[one_back], "neutral")
    copied_before |= neutral_before & context.previous_has(one_back, "imitate_before")
    place[colour | ((copied_after | copied_before) & ~inside)] = NOTHING
    place[context.denied[start]] = NOTHING
    return place


def _leads_to_head(things: Things, thing: IntArray) -> BoolArray:
    """Whether a finding runs straight into the next one ("oak lamp table")."""
    if not len(things.start):
        return np.zeros(len(thing), dtype=bool)
    runs_on = np.zeros(len(things.start), dtype=bool)
    runs_on[:-1] = things.end[:-1] == things.start[1:]
    return np.where(thing >= 0, runs_on[np.maximum(thing, 0)], False)


_HOLDERS = frozenset(
    "cabinet press chest cupboard box basket winder knife clip rack bin drawer case bag tray "
    "stand holder store closet hutch maker cutter scissors shears tin".split()
)
_CONTENTS = frozenset(
    "linen china silver paper wool silk cotton lace cloth coal glass leather thread straw gold "
    "pearl diamond tin".split()
)


def _is_content(
    lexicon: Lexicon,
    things: Things,
    thing_start: IntArray,
    stream: TokenStream,
    start: IntArray,
) -> BoolArray:
    """A material inside a name that says what the thing holds or works: `linen press`."""
    held = np.array([one in _CONTENTS for one in stream.spellings], dtype=bool)
    holder = np.array(
        [one in _HOLDERS or one.rstrip("s") in _HOLDERS for one in stream.spellings], dtype=bool
    )
    following = np.minimum(start + 1, len(stream) - 1)
    return held[stream.spelling[start]] & holder[stream.spelling[following]]


def _aspects(lexicon: Lexicon) -> IntArray:
    return np.array(
        [
            _ASPECTS.get(concept.extra.get("aspect", ""), 0)
            for concept in lexicon.vocabulary.concepts("material")
        ]
        or [0],
        dtype=np.int32,
    )


def _woods(lexicon: Lexicon) -> BoolArray:
    vocabulary = lexicon.vocabulary
    return np.array(
        [
            concept_id == "wood" or "wood" in vocabulary.ancestors("material", concept_id)
            for concept_id in lexicon.concept_ids["material"]
        ]
        or [False],
        dtype=bool,
    )


def _pictures(lexicon: Lexicon, things: Things, head: IntArray, n_titles: int) -> BoolArray:
    """Titles whose piece is a picture or a print: there the technique comes before the support."""
    vocabulary = lexicon.vocabulary
    of_family = np.array(
        [
            "prints-and-paintings" in (concept_id, *vocabulary.ancestors("category", concept_id))
            for concept_id in lexicon.concept_ids["category"]
        ]
        or [False],
        dtype=bool,
    )
    pictures = np.zeros(n_titles, dtype=bool)
    known = head >= 0
    pictures[known] = of_family[things.concept[head[known]]]
    return pictures
