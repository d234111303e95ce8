"""Which of the things a title names is the thing for sale.

An English name ends with its head: `oak mantel clock key` is a key. What follows `with`, `for`
or a picture's `of` is not the piece. Catalogues turn names round at a comma (`Clock, mantel`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.closed_names import (
    give_up_missing_part,
    give_up_set,
    name_suites,
    plain_box_for,
    turn_for,
)
from pipeline.terms.compounds import shown_behind
from pipeline.terms.context import MAIN, PURPOSE, Context
from pipeline.terms.deities import of_deities
from pipeline.terms.describing import (
    PICTURES,
    adjectives,
    before_a_part_of,
    before_a_shape,
    before_style,
    beside_a_part,
    contents_of,
    described_by_part,
    fellow_of,
    in_a_style,
    of_the_listing,
    only_mentioned,
)
from pipeline.terms.doubts import (
    after_a_weak_name,
    after_name_of_part,
    after_unknown_name,
    below,
    by_a_detail,
    glossed_by_or,
    holds_another,
    leaf_of_a_book,
    made_into_another,
    made_small,
    of_a_kind_unknown,
    of_a_list_begun,
    of_another_family,
    only_a_part,
    plate_of_a_book,
    whole_or_part,
)
from pipeline.terms.glasses import name_glasses
from pipeline.terms.holders import in_holders
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.misleading import leave_misleading
from pipeline.terms.narrower import narrower_nearby, plurals
from pipeline.terms.other_names import named_in_brackets, other_name, put_to_use
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.pictures import pictures_first
from pipeline.terms.playthings import of_children, of_creatures, of_scale, of_toys
from pipeline.terms.several import of_one_rank
from pipeline.terms.sureness import category_signs, settle_sureness
from pipeline.terms.tokens import TokenStream
from pipeline.terms.turned import (
    Things,
    join_interrupted,
    join_material,
    join_over_of,
    names_of_words,
    turn_inverted,
    turn_of,
    turn_unnamed,
)
from pipeline.terms.uncut import turn_uncut
from pipeline.terms.vessels import shaped_condiments, vessels_of_stuff

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float32]

WEAK_NAME = np.float32(90)  # a word that names a thing only by its place


def read_things(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context
) -> tuple[KindReading, Things, IntArray]:
    """The category of each title.

    Returns:
        the reading; all findings; for each title the index of its finding, -1 for none.
    """
    things = Things(lexicon, found)
    leave_misleading(lexicon, stream, context, things)
    if len(things.start):
        give_up_set(lexicon, stream, things)
    give_up_missing_part(lexicon, stream, things)
    join_interrupted(lexicon, stream, found, context, things)
    join_material(lexicon, stream, found, context, things)
    join_over_of(lexicon, stream, context, things)
    if len(stream):
        turn_of(lexicon, stream, things)
    vessels_of_stuff(lexicon, stream, found, context, things)
    turn_inverted(lexicon, stream, things)
    turn_unnamed(lexicon, stream, things)
    turn_uncut(lexicon, stream, context, things)
    turn_for(lexicon, stream, context, things)
    name_glasses(lexicon, stream, context, things)
    name_suites(lexicon, stream, things)
    plain_box_for(lexicon, stream, found, context, things)
    put_to_use(lexicon, stream, things)
    shaped_condiments(lexicon, stream, context, things)
    n = stream.n_titles
    if not len(things.start):
        reading = KindReading.nothing(n)
        _read_weak(lexicon, stream, found, context, reading)
        return reading, things, np.full(n, -1, dtype=np.int32)
    start, end, concept = things.start, things.end, things.concept
    title = stream.title[start]

    follows = np.zeros(len(start), dtype=bool)  # the next finding starts where this one ends
    follows[:-1] = (start[1:] == end[:-1]) & context.linked[np.minimum(start[1:], len(stream) - 1)]
    concept, by_scale = of_scale(lexicon, things, context, follows)
    concept = of_children(lexicon, stream, context, things, concept)
    concept = of_toys(lexicon, stream, things, concept)
    concept = of_creatures(lexicon, stream, found, things, concept)
    # "wing back armchair": the word before says which armchair, so it is the finding
    above = lexicon.above("category")
    says_which = np.zeros(len(start), dtype=bool)
    says_which[:-1] = follows[:-1] & above[concept[:-1], concept[1:]]
    styled = in_a_style(lexicon, stream, context, things)
    says_which[:-1] &= ~styled[1:]
    described = follows & ~by_scale & ~says_which
    described &= described_by_part(lexicon, stream, context, things, concept) | before_a_part_of(
        lexicon, context, things
    )
    described[:-1] |= follows[:-1] & styled[1:]
    described |= follows & ~by_scale & ~says_which & shown_behind(lexicon, stream, things, concept)
    # "ashtray ceramic cat": a stuff and what it is shaped as
    described |= follows & ~by_scale & ~says_which & before_a_shape(lexicon, stream, things)
    modifier = follows & ~by_scale & ~says_which & ~described
    unsold = of_the_listing(lexicon, stream, things)
    modifier[:-1] &= ~unsold[1:]
    replaced = np.zeros(len(start), dtype=bool)
    replaced[1:] = (((by_scale | says_which) & follows) | described)[:-1]
    changed = _head_changed(lexicon, things, context, stream) & ~follows
    likeness = context.next_has(end, "shape_after") | before_style(lexicon, stream, context, things)
    denied = unsold | _denied_things(lexicon, stream, found, context, things)
    copied = context.previous_has(start, "imitate_before")
    # "faux leather suitcase": the stuff is no leather, and the suitcase is one
    copied &= (
        ~((names_of_words(lexicon, "material")[stream.word[start]] >= 0) & (things.size > 1))
        | below(lexicon, *_CALLED_AFTER_A_STUFF)[concept]
    )
    zone = context.zone[start]

    # "brooches necklaces": in a name only the last word is a plural, so these are two things
    plural = plurals(lexicon)[stream.word[end - 1]]
    listed = follows & plural & ~by_scale & ~says_which
    listed[:-1] &= concept[:-1] != concept[1:]  # "oil on canvas painting" is one
    # "chest of drawers brass handles"
    listed[:-1] &= ~below(lexicon, "parts-and-fittings")[concept[1:]]
    listed[:-1] &= ~changed[1:]  # "chairs cane seats"
    usable = ~denied & ~replaced & ~modifier
    usable &= ~adjectives(lexicon, stream, context, things, zone, usable)
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
    best = pictures_first(lexicon, stream, found, things, title, zone, rows, best)
    best = narrower_nearby(lexicon, stream, things, concept, title, rank, rows, best)
    best = named_in_brackets(lexicon, stream, things, zone, usable & ~lost, best)
    concept = of_deities(lexicon, stream, things, context, concept)
    bare_chest = _chests_with_drawers(lexicon, stream, things, concept, best)
    chosen = best[best >= 0]
    aside = lost | only_mentioned(lexicon, stream, context, things, best[title])
    aside |= _told_later(lexicon, stream, context, things, best[title])
    aside |= context.next_is(end, lexicon.words_in(_WOVEN)[stream.word])
    aside |= other_name(lexicon, stream, things, concept, best[title])
    aside |= beside_a_part(lexicon, stream, context, things)
    aside |= contents_of(lexicon, stream, context, things, best[title])
    aside |= fellow_of(lexicon, stream, things, best[title])
    conflict = _rivals(lexicon, stream, concept, start, zone, rows, title, best, aside)

    reading = KindReading.nothing(n)
    has = best >= 0
    reading.concept[has] = concept[chosen]
    score = things.score[chosen].copy()
    # "Kompass, compass": misspelt once and spelt right once
    again = rows[concept[rows] == concept[best[title[rows]]]]
    surest = np.zeros(n, dtype=np.float32)
    np.maximum.at(surest, title[again], things.score[again])
    score = np.maximum(score, surest[title[chosen]])
    clash = conflict[title[chosen]]
    unsure = context.hedged[end[chosen] - 1] | context.hedged[start[chosen]]
    unsure &= ~glossed_by_or(lexicon, stream, context, things, chosen)
    # "clock dial only" is a dial, "clock, case only" no clock
    fitting = below(lexicon, *_FITTINGS)[concept[chosen]]
    only = lexicon.words_in(_ONLY)[stream.word]
    fitting &= context.next_is(end[chosen], only) | only[end[chosen] - 1]
    unsure |= only_a_part(lexicon, stream, found)[title[chosen]] & ~fitting
    unsure |= made_into_another(lexicon, stream, found, things, chosen)
    # "writing slope with inkwells key" is no list
    unsure |= listed[chosen] | ((chosen > 0) & listed[np.maximum(chosen - 1, 0)])
    # "casaque" is no casque: one word, and not spelt so
    slipped = stream.score[start[chosen]] < _SURELY_SPELT
    unsure |= (things.size[chosen] == 1) & slipped & (surest[title[chosen]] < _SURELY_SPELT)
    unsure |= of_a_kind_unknown(lexicon, stream, context, things, chosen)
    unsure |= bare_chest[title[chosen]]
    unsure |= whole_or_part(lexicon, stream, context, things, chosen)
    unsure |= after_name_of_part(lexicon, stream, context, things, chosen)
    several = of_one_rank(lexicon, stream, found, context, things, concept, best, lost)
    unsure |= several[title[chosen]]
    # the first name became another thing: what a later clause names is hardly the piece
    first_lost = np.full(n, len(stream), dtype=np.int32)
    np.minimum.at(first_lost, title[changed & ~denied], start[changed & ~denied])
    earlier = first_lost[title[chosen]]
    other_clause = (
        stream.clause[np.minimum(earlier, len(stream) - 1)] != stream.clause[start[chosen]]
    )
    unsure |= (earlier < start[chosen]) & other_clause
    unsure |= after_unknown_name(lexicon, stream, found, context, things, chosen)
    unsure |= after_a_weak_name(lexicon, stream, found, things, chosen)
    unsure |= by_a_detail(lexicon, stream, context, things, chosen)
    unsure |= in_holders(lexicon, stream, found, context, things, chosen)
    unsure |= plate_of_a_book(lexicon, stream, things, chosen)
    unsure |= leaf_of_a_book(lexicon, stream, things, chosen)
    unsure |= of_a_list_begun(lexicon, stream, context, things, chosen)
    unsure |= of_another_family(lexicon, stream, context, things, follows, chosen)
    unsure |= made_small(lexicon, stream, context, things, chosen)
    unsure |= holds_another(lexicon, stream, context, things, title, chosen)
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
    reading.choice[has] = np.where(doubtful, -1, _open_words(lexicon, things.phrase[chosen]))
    others = np.flatnonzero(~denied & ~replaced & (best[title] != np.arange(len(start))))
    others = others[concept[others] != reading.concept[title[others]]]
    others = others[distinct_pairs(title[others], concept[others])]
    reading.also_title, reading.also_concept = title[others], concept[others]
    reading.margin[has] = np.where(clash, 0, np.where(doubtful, 5, score))
    elsewhere = np.zeros(n, dtype=bool)
    elsewhere[title[chosen]] = zone[chosen] != MAIN
    _read_weak(lexicon, stream, found, context, reading, elsewhere)
    signs = category_signs(lexicon, stream, context, things, best)
    settle_sureness("category", reading, signs)
    return reading, things, best


def _read_weak(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    reading: KindReading,
    elsewhere: BoolArray | None = None,
) -> None:
    """Titles that name no thing otherwise: words such as `furniture`, `frame` or `scales`.

    They are the thing where they open the title before a comma or close its first clause. A word
    that is a material too (`silver`, `glass`) stays for a person.

    Args:
        elsewhere: titles whose thing stands in an addition, a subject or a purpose alone ("design
            for a candelabrum"): there such a word of the first clause goes first.
    """
    things = Things(lexicon, found, weak=True)
    if not len(things.start):
        return
    n = len(stream)
    things.concept = of_creatures(lexicon, stream, found, things, things.concept)
    things.concept = of_toys(lexicon, stream, things, things.concept)
    start, end = things.start, things.end
    title = stream.title[start]
    first_clause = stream.clause[np.minimum(stream.first[:-1], n - 1)][title]
    at = np.minimum(end, n - 1)
    inside = (end < n) & (stream.title[at] == title)
    closes = stream.closes_clause(end)
    closes |= inside & has_role(context.starts[at], "with", "subject", "purpose")
    in_first = stream.clause[start] == first_clause
    # "Waage, scales, brass": behind a word of another language
    unknown = np.ones(int(stream.clause[-1]) + 1, dtype=bool)
    unknown[stream.clause[context.known]] = False
    in_first |= (
        unknown[first_clause]
        & stream.opens_clause(start)
        & (stream.clause[start] == first_clause + 1)
    )
    in_first &= context.zone[start] == MAIN
    material = lexicon.concept_of["material"][things.phrase] >= 0
    free = reading.concept < 0
    open_title = free[title]
    if elsewhere is not None:
        open_title |= elsewhere[title] & ~material
    rows = np.flatnonzero(open_title & ~context.denied[start] & closes & in_first)
    if not len(rows):
        return
    pick = rows[first_in_group(title[rows], -start[rows])]
    to = title[pick]
    reading.concept[to] = things.concept[pick]
    # a "handle of a sword" is a part of what nobody would look for under handles
    # "pastel portrait of a girl" is one; silver with nothing more said may be anything
    unsure = material[pick] & ~(
        below(lexicon, PICTURES)[things.concept[pick]]
        & inside[pick]
        & has_role(context.starts[at[pick]], "subject")
    )
    unsure |= (
        below(lexicon, "parts-and-fittings")[things.concept[pick]]
        & inside[pick]
        & has_role(context.starts[at[pick]], "subject", "purpose")
    )
    reading.score[to] = np.where(unsure, 70, np.minimum(things.score[pick], WEAK_NAME))
    reading.margin[to] = np.where(unsure, 0, WEAK_NAME)
    reading.doubtful[to] = unsure
    reading.choice[to] = np.where(unsure, -1, _open_words(lexicon, things.phrase[pick]))


def _open_words(lexicon: Lexicon, phrase: IntArray) -> IntArray:
    """The phrases whose meaning hangs on the currency or on other words; -1 for the rest."""
    open_words = np.array(sorted(lexicon.choices("category")) or [-1], dtype=np.int32)
    return np.where(np.isin(phrase, open_words), phrase, -1).astype(np.int32)


_SURELY_SPELT = 91.0  # score of a lone word
_DRAWERS = frozenset(["drawer", "drawers"])
_CHEST = frozenset(["chest", "chests"])
_LIDDED = frozenset(["lid", "lidded", "hinged", "lift", "rising", "panelled", "coffer", "rope"])
_FRONTS = frozenset(["serpentine", "bow", "swell", "bowfront", "block", "graduated"])


def _chests_with_drawers(
    lexicon: Lexicon, stream: TokenStream, things: Things, concept: IntArray, best: IntArray
) -> BoolArray:
    """ "A mahogany chest, fitted with four long drawers" is a chest of drawers.

    Changes `concept` where the title speaks of drawers or of a shaped front and of no lid.

    Returns:
        titles of which the bare word chest is all there is: it may be either kind.
    """
    open_titles = np.zeros(stream.n_titles, dtype=bool)
    ids = lexicon.concept_ids["category"]
    if "chest" not in ids or "chest-of-drawers" not in ids:
        return open_titles
    held = np.flatnonzero(best >= 0)
    rows = best[held]
    bare = (concept[rows] == ids.index("chest")) & (things.size[rows] == 1)
    bare &= lexicon.words_in(_CHEST)[stream.word[things.start[rows]]]
    titles = held[bare]
    if not len(titles):
        return open_titles
    said = {
        key: np.bincount(
            stream.title[lexicon.words_in(words)[stream.word]], minlength=stream.n_titles
        )
        > 0
        for key, words in (("drawers", _DRAWERS), ("lid", _LIDDED), ("front", _FRONTS))
    }
    lidded = said["lid"][titles]
    drawers = (said["drawers"] | said["front"])[titles] & ~lidded
    concept[best[titles[drawers]]] = ids.index("chest-of-drawers")
    open_titles[titles[~drawers & ~lidded]] = True
    return open_titles


def _denied_things(
    lexicon: Lexicon, stream: TokenStream, found: Found, context: Context, things: Things
) -> BoolArray:
    """Findings under a denial that is theirs: in "not crystal vase" the vase is not denied."""
    denied = context.denied[things.start] | _peoples(lexicon, stream, things)
    if not denied.any() or "material" not in lexicon.concept_of:
        return denied
    materials = found.start[lexicon.concept_of["material"][found.phrase] >= 0]
    count = np.zeros(len(stream) + 1, dtype=np.int32)
    np.add.at(count, materials + 1, 1)
    before = np.cumsum(count)
    denier = context.denier[things.start]
    between = before[things.start] - before[np.maximum(denier, 0)]
    return denied & ~((denier >= 0) & (between > 0))


_PEOPLES = frozenset({"ottoman"})


def _peoples(lexicon: Lexicon, stream: TokenStream, things: Things) -> BoolArray:
    """ "Yaglik, linen, Ottoman": by itself in a clause behind the first it tells whose work."""
    said = lexicon.words_in(_PEOPLES)[stream.word[things.start]] & (things.size == 1)
    first = stream.clause[stream.first[:-1][stream.title[things.start]]]
    alone = stream.opens_clause(things.start) & stream.closes_clause(things.end)
    return said & alone & (stream.clause[things.start] != first)


_ONLY = frozenset({"only"})
_WOVEN = frozenset({"woven"})  # "carpet, tapestry woven wool"
_FITTINGS = ("parts-and-fittings", "lamp-shade")
_JOINERS = frozenset(["or", "and"])
_SPARES = frozenset(["spare", "spares", "parts", "repair", "repairs"])
_FUNCTION_WORDS = frozenset(
    ["for", "to", "and", "with", "as", "from", "in", "on", "at", "by", "of", "the", "a", "or"]
)


_COVERED = frozenset(["covered", "lined", "wrapped", "clad", "upholstered", "seated"])
_MADE_BEFORE = frozenset(["model", "models", "prototype", "prototypes", "mold", "mould"])


def _head_changed(
    lexicon: Lexicon, things: Things, context: Context, stream: TokenStream
) -> BoolArray:
    """Whether the word after a finding makes it another thing: `clock key`, `lamp base`."""
    end = things.end
    inside = end < len(stream)
    at = np.where(inside, end, 0)
    joined = inside & context.linked[at]
    # "clock, spares or repair" tells of its state
    later = np.minimum(at + 1, len(stream) - 1)
    state = lexicon.words_in(_SPARES)[stream.word[at]]
    state &= context.linked[later] & lexicon.words_in(_JOINERS)[stream.word[later]]
    # "radio works"; "bottle works" and "clock works" are no bottle and no clock
    runs = lexicon.words_in(_WORKS)[stream.word[at]]
    state |= runs & ~below(lexicon, *_MADE_IN_WORKS)[things.concept]
    # "leather armchair furniture": the name of the field, behind a piece of it
    field = (
        lexicon.words_in(_FURNITURE)[stream.word[at]] & below(lexicon, "furniture")[things.concept]
    )
    joined &= ~state & ~field
    # "clock dial only": a dial it stays
    only = lexicon.words_in(_ONLY)[stream.word[at]]
    fitting = below(lexicon, *_FITTINGS)[things.concept]
    changed = joined & has_role(context.starts[at], "head_after") & ~(only & fitting)
    part = joined & has_role(context.starts[at], "part")
    beyond = np.minimum(end + 1, len(stream) - 1)
    last = stream.closes_clause(np.minimum(end + 1, len(stream)))
    quantity = lexicon.words_alone("quantity")[stream.word[beyond]]
    quantity |= has_role(context.starts[beyond], "with")
    quantity &= ~last
    changed |= part & (last | quantity | context.is_number[beyond])
    # "comb back armchair", "spoon back chair": it tells of which form the next thing is
    names = np.zeros(len(stream) + 1, dtype=bool)
    names[things.start] = True
    changed |= part & ~last & context.linked[beyond] & names[beyond]
    # "wallpaper covered hat box"
    third = np.minimum(end + 2, len(stream) - 1)
    named = np.zeros(len(stream) + 1, dtype=bool)
    named[things.start] = True
    later_name = context.linked[beyond] & (named[beyond] | (context.linked[third] & named[third]))
    changed |= joined & lexicon.words_in(_COVERED)[stream.word[at]] & later_name
    # "salad fork model", "chair prototype"; "desk model" says which radio
    changed |= joined & last & lexicon.words_in(_MADE_BEFORE)[stream.word[at]]
    table = lexicon.head_words
    flags = lexicon.memo("head words", lambda: _head_flags(lexicon))
    # "windsor chair spindle back": the word tells of a part that follows
    goes_on = context.linked[beyond] & (end + 1 < len(stream))
    goes_on &= has_role(context.starts[beyond], "part", "fitted", "body")
    # "carriage clock key wind": the word is part of a phrase that tells something else
    told = has_role(context.starts[at], "mask")
    pairs = np.flatnonzero(joined & ~changed & ~goes_on & ~told)
    pairs = pairs[flags[stream.word[at[pairs]]]]
    for i in pairs:
        word = stream.spellings[stream.spelling[at[i]]]
        for form in (word, word[:-1] if word.endswith("s") else word):
            if int(things.concept[i]) in table.get(form, ()):
                changed[i] = True
    return changed


_CALLED_AFTER_A_STUFF = ("fur-coat", "fur-stole", "pearl-necklace", "glassware", "coin")
_FURNITURE = frozenset({"furniture"})
_WORKS = frozenset({"works"})
_MADE_IN_WORKS = ("clocks-and-watches", "ceramics", "glassware", "bottle", "piano", "organ")


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


_WORDS_BACK = 3
_GENERAL = frozenset(["box", "case", "set", "lot", "tin", "tub", "tray", "part", "group", "stand"])
_MADE_OVER = ("decorative-objects", "sculpture", "ceramics", "glassware", "tableware-and-vessels")
_MADE_INTO = ("lighting", "clocks-and-watches")


def _told_later(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things, held: IntArray
) -> BoolArray:
    """Findings that the name of the piece goes before, with other words between.

    "Rocking horse dapple grey wooden bow rocker": who writes without commas names the piece first
    and then describes it. Beside "and", or with nothing between, it may be a second piece. A
    figure with a lamp named after it may be the lamp's foot, and "box brownie camera" is no box.
    """
    owner = np.maximum(held, 0)
    gap = things.start - things.end[owner]
    joined = context.previous_has(things.start, "conjunction", "alternative")
    for back in range(1, _WORDS_BACK):
        at = np.maximum(things.start - back, 0)
        joined |= (at > things.end[owner]) & context.previous_has(at, "conjunction", "alternative")
    joined |= ~context.linked[things.start]  # "lamp / vase"
    general = lexicon.words_in(_GENERAL)[stream.word[things.start[owner]]]
    general &= things.size[owner] == 1
    into = below(lexicon, *_MADE_INTO)[things.concept]
    into &= below(lexicon, *_MADE_OVER)[things.concept[owner]]
    return (held >= 0) & (gap > 0) & ~joined & ~general & ~into


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
