"""Titles that name several unlike things of one rank: no one of them is the lot.

"A kettle and a pair of bellows", "barometer, walking stick and print", "mixed lot: owl, cups".
What goes with a thing ("with", "on", "and cover") and what is a part of it make it no lot.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import MAIN, SUBJECT, Context, latest
from pipeline.terms.describing import belongs_to, contents_of, fellow_of
from pipeline.terms.doubts import below
from pipeline.terms.doubts import unlike as unlike_family
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import FULL_STOP, TokenStream
from pipeline.terms.turned import Things
from pipeline.terms.wordforms import plural_forms

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

AND = frozenset(["and"])
ONE_MORE = frozenset(
    ["a", "an", "another", "one", "two", "three", "four", "five", "six", "pair", "pr", "set",
     "several", "some", "various", "other", "quantity", "collection", "group"]
)  # fmt: skip
ARTICLES = frozenset(["a", "an", "another"])
# what a thing has or stands on, and what says again what it is
_PART_WORDS = (
    "cover stand lid base tray liner stopper saucer frame mount case box key shade glass plinth "
    "dish underdish underplate bracket drawer cupboard shelf mirror panel matching bead "
    "hygrometer thermometer pediment finial ojime netsuke bridle saddle chart ink pedestal column "
    "cheekpiece seal tap spigot"
)
PARTS = frozenset(form for word in _PART_WORDS.split() for form in (word, *plural_forms(word))) | {
    "similar"
}
# what a single word after "and" may be to a piece of another family: "watch and chain"
GOES_WITH = frozenset(
    ["chain", "chains", "fob", "strap", "bow", "holster", "scabbard", "sheath", "ladle", "stool",
     "slides", "lens", "manual", "book", "books", "letter", "letters", "certificate", "brush",
     "pin", "pendant", "table", "chairs", "chair", "desk", "hood", "hanger", "poker", "shovel",
     "ribbon", "ribbons", "tap", "spigot", "keys", "pedestal", "column"]
)  # fmt: skip
# what holds other things, is worn with them, or shows them
_HOLD_OR_SHOW = (
    "etui", "chatelaine", "travelling-companion", "tool-chest", "sewing-box", "dressing-case",
    "manicure-set", "bracelet", "dolls-house", "dolls-house-furniture", "suit", "music-box",
    "prints-and-paintings", "scroll-painting", "medal", "advertising-sign", "trade-catalogue",
    "photograph", "tapestry", "relief", "screen", "paper-doll", "toby-jug", "sheet-music",
)  # fmt: skip
_SIMILAR = frozenset({"similar"})
_OF_A_SALE = frozenset(["job", "clearance", "clearout", "clearing"])
_CLEAR, _OUT = frozenset({"clear"}), frozenset({"out"})
_SETS = frozenset(["set", "service", "suite", "garniture", "canteen"])
_NEAR = frozenset(
    ["in", "at", "on", "under", "over", "by", "beside", "behind", "before", "to", "across"]
)
_OF_A_FIGURE = frozenset(
    ["his", "her", "its", "their", "one", "each", "both", "either", "him", "them"]
)
_BY_WORK = frozenset(["with", "by", "in"])
_CLAUSES_OF_A_LIST = 2  # besides that of the thing chosen
MIXED = ("job-lot", "assorted", "bundle", "quantity")


def of_one_rank(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    concept: IntArray,
    best: IntArray,
    lost: BoolArray,
) -> BoolArray:
    """Of each title whether it names, beside the thing chosen, another one of the same rank.

    Args:
        concept: of each finding, as it was settled.
        best: of each title the index of the finding chosen, -1 for none.
        lost: findings that a word behind them makes another thing ("cane seats").
    """
    flags = np.zeros(stream.n_titles, dtype=bool)
    _weak_after_and(lexicon, stream, found, context, concept, best, flags)
    start, end = things.start, things.end
    title = stream.title[start]
    held = best[title]
    unlike = _unlike(lexicon, stream, context, things, concept, held) & ~lost
    after = unlike & (start > things.start[np.maximum(held, 0)])
    rows = np.flatnonzero(after)
    told = _clauses_that_tell_on(lexicon, stream, context, things)
    opened = _opened_by_and(lexicon, stream, context, start[rows])
    opened &= ~told[stream.clause[start[rows]]]
    opened &= ~_shown_in_a_sentence(lexicon, stream, things, concept, rows, held[rows])
    # "vase and picture frame": known whole, so no frame of the vase; "inkwell and saw"
    before = np.maximum(start[rows] - 1, 0)
    whole = things.size[rows] > 1
    whole |= (
        unlike_family(lexicon, concept[rows], concept[held[rows]])
        & ~lexicon.words_in(GOES_WITH)[stream.word[end[rows] - 1]]
    )
    opened |= (
        lexicon.words_in(AND)[stream.word[before]]
        & whole
        & (end[held[rows]] == before)
        & (context.zone[start[rows]] == MAIN)
    )
    flags[title[rows[opened]]] = True
    # a later clause of an etui or a picture tells what is in it
    owner = held[rows]
    bare = stream.opens_clause(start[owner]) & stream.closes_clause(end[owner])
    clause = stream.clause[start[rows]]
    bare &= clause == stream.clause[start[owner]] + 1
    bare &= np.isin(clause, clause[stream.opens_clause(start[rows])])
    plain = ~below(lexicon, *_HOLD_OR_SHOW)[concept[owner]]
    free, named = rows[plain | bare], rows[plain]
    listed = _own_clause(lexicon, stream, context, named, held[named], things)
    flags[title[named[listed]]] = True
    free_lists = free[~told[stream.clause[start[free]]]]
    _bare_list(lexicon, stream, context, things, free_lists, held, flags)
    _mixed(lexicon, stream, found, context, things, np.flatnonzero(unlike), flags)
    _clauses_of_one_name(stream, context, things, free, held, flags)
    # a set is made up of what comes after its name
    of_set = lexicon.words_in(_SETS)[stream.word]
    chosen = np.flatnonzero(best >= 0)
    owners = best[chosen]
    flags[chosen[of_set[things.end[owners] - 1] | of_set[things.start[owners]]]] = False
    return flags


def _unlike(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    concept: IntArray,
    held: IntArray,
) -> BoolArray:
    """Findings that are another kind than the one chosen and no part of it."""
    above = lexicon.above("category")
    chosen = concept[np.maximum(held, 0)]
    unlike = (held >= 0) & (concept != chosen)
    unlike &= ~above[chosen, concept] & ~above[concept, chosen]
    part = below(lexicon, "parts-and-fittings")[concept]
    part |= lexicon.words_in(PARTS)[stream.word[things.end - 1]] & (things.size == 1)
    part |= has_role(context.starts[things.start], "part") & (things.size == 1)
    part |= belongs_to(lexicon, stream, things, chosen)
    part |= contents_of(lexicon, stream, context, things, held)
    part |= fellow_of(lexicon, stream, things, held)
    # "Granny's linen cupboard clear out", "writing desk job lot"
    sold = lexicon.words_in(_OF_A_SALE)[stream.word]
    sold[:-1] |= (lexicon.words_in(_CLEAR)[stream.word] & context.linked)[:-1] & (
        lexicon.words_in(_OUT)[stream.word][1:]
    )
    sale = context.next_is(things.end, sold)
    before = np.maximum(things.start - 1, 0)
    part |= sale & ~lexicon.words_in(AND)[stream.word[before]]
    # the first of two names in a row only says of which sort the second is
    runs_on = np.zeros(len(concept), dtype=bool)
    runs_on[:-1] = (things.end[:-1] == things.start[1:]) & context.linked[things.start[1:]]
    return unlike & ~part & ~runs_on & ~context.denied[things.start]


def _clauses_that_tell_on(
    lexicon: Lexicon, stream: TokenStream, context: Context, things: Things
) -> BoolArray:
    """ "Painted with birds, flowers and a boat": clauses that go on with what is on the piece.

    The clause before was opened by a participle and "with", by what tells a subject, or by a
    "with" behind which no thing is named; and the clause itself opens with no article.

    Returns:
        one value a clause.
    """
    n_clauses = int(stream.clause[-1]) + 1 if len(stream) else 1
    tells = np.zeros(n_clauses, dtype=bool)
    if not len(stream):
        return tells
    first = stream.clause_first()
    last = np.append(first[1:], len(stream)) - 1
    opener = context.opener[last]
    at = np.maximum(opener, 0)
    one_back = np.maximum(at - 1, 0)
    led = lexicon.words_in(_BY_WORK)[stream.word[at]] & context.linked[at]
    worked = stream.participles()[stream.spelling]
    by_work = worked[at] | (led & worked[one_back])
    named = np.zeros(len(stream) + 1, dtype=np.int32)
    named[things.start + 1] = 1
    named[1:] |= lexicon.words_in(PARTS)[stream.word]  # "kettle with lid, trivet and ..."
    count = np.cumsum(named)
    nothing = has_role(context.starts[at], "with") & (count[last + 1] == count[at])
    opens = (opener >= 0) & ((context.zone[last] == SUBJECT) | by_work | nothing)
    same_title = stream.title[first[1:]] == stream.title[last[:-1]]
    plain = ~lexicon.words_in(ARTICLES)[stream.word[first[1:]]] & same_title
    plain &= (stream.before[first[1:]] & FULL_STOP) == 0
    goes_on = np.append(False, opens[:-1] & plain)
    for _ in range(2):  # a list of four
        further = np.append(False, goes_on[:-1] & plain) & (context.zone[last] == MAIN)
        goes_on |= further
    tells[stream.clause[first]] = goes_on
    return tells


def _opened_by_and(
    lexicon: Lexicon, stream: TokenStream, context: Context, start: IntArray
) -> BoolArray:
    """ "... and a brass trivet": "and" with one more, in nothing that belongs to the piece."""
    joins = lexicon.words_in(AND)[stream.word]
    more = lexicon.words_in(ONE_MORE)[stream.word] | context.is_number
    joins[:-1] &= more[1:] & (stream.title[1:] == stream.title[:-1])
    joins[-1:] = False
    place = latest(joins, stream.clause)[start]
    own = (context.zone[start] == MAIN) | (context.opener[start] == place)
    before = np.maximum(place - 1, 0)
    main = (context.zone[before] == MAIN) & (stream.title[before] == stream.title[start])
    return (place > 0) & own & main


def _shown_in_a_sentence(
    lexicon: Lexicon,
    stream: TokenStream,
    things: Things,
    concept: IntArray,
    rows: npt.NDArray[np.intp],
    held: IntArray,
) -> BoolArray:
    """ "Hanging scroll. Two Carp and a Broken Bucket.": behind a picture's name, what it shows."""
    opening = stream.first_of_clause(things.start[rows])
    sentence = (stream.before[opening] & FULL_STOP) > 0
    picture = below(lexicon, "prints-and-paintings")
    return sentence & picture[concept[held]] & ~picture[concept[rows]]


def _own_clause(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    rows: npt.NDArray[np.intp],
    held: IntArray,
    things: Things,
) -> BoolArray:
    """ "A barometer, a walking stick": a later clause that opens with an article and names a thing.

    One whole clause before it has to end with the piece: "a box, a gift" tells of the box.
    """
    start = things.start[rows]
    opening = stream.first_of_clause(start)
    other = stream.clause[start] != stream.clause[things.start[held]]
    article = lexicon.words_in(ARTICLES)[stream.word[opening]]
    # "A similar table was sold in 2009"
    second = np.minimum(opening + 1, len(stream) - 1)
    article &= ~lexicon.words_in(_SIMILAR)[stream.word[second]]
    # "Oak settle, lift seat. A characterful bench": a sentence says again what it is
    again = ((stream.before[opening] & FULL_STOP) > 0) & ~unlike_family(
        lexicon, things.concept[rows], things.concept[held]
    )
    # "a heart locket hung from the jaws" goes on to tell of the piece
    past = things.end[rows]
    ends = stream.closes_clause(past) | context.next_has(past, "with", "subject", "purpose")
    at = np.minimum(past, len(stream) - 1)
    # "a shield at his feet", "a jug in each hand": what a figure has by it
    beyond = np.minimum(past + 1, len(stream) - 1)
    held_by = lexicon.words_in(_NEAR)[stream.word[at]] & context.linked[at]
    held_by &= lexicon.words_in(_OF_A_FIGURE)[stream.word[beyond]] & context.linked[beyond]
    ends &= ~held_by
    ends |= context.is_number[at] | context.dated[at]
    return other & article & ~again & ends & (context.zone[start] == MAIN)


def _bare_list(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    things: Things,
    rows: npt.NDArray[np.intp],
    held: IntArray,
    flags: BoolArray,
) -> None:
    """ "Kettle, trivet and bellows": a later clause of two things and an "and"."""
    if len(rows) < 2:
        return
    first, second = rows[:-1], rows[1:]
    begin, past = things.start[first], things.end[first]
    n = len(stream)
    at = np.minimum(past, n - 1)
    joined = lexicon.words_in(AND)[stream.word[at]] & (past < n)
    joined &= stream.clause[at] == stream.clause[begin]
    same = stream.clause[begin] == stream.clause[things.start[second]]
    same &= held[first] == held[second]
    chosen = things.start[held[first]]
    later = stream.clause[begin] != stream.clause[chosen]
    main = (context.zone[begin] == MAIN) & (context.zone[things.start[second]] == MAIN)
    # "ram's mask and urn backplates" goes on: no list
    main &= stream.closes_clause(things.end[second])
    # "bearded mask and armorial medallion": told of the piece in words that no list has
    strange = np.append(0, np.cumsum(~context.known & ~context.is_number))
    opening = stream.first_of_clause(begin)
    main &= strange[things.end[second]] == strange[opening]
    hit = first[joined & same & later & main]
    flags[stream.title[things.start[hit]]] = True


def _clauses_of_one_name(
    stream: TokenStream,
    context: Context,
    things: Things,
    rows: npt.NDArray[np.intp],
    held: IntArray,
    flags: BoolArray,
) -> None:
    """ "Chisels, oil cans, vice": several clauses that are names and nothing else."""
    start, end = things.start, things.end
    whole = stream.opens_clause(start) & stream.closes_clause(end)
    whole &= context.zone[start] == MAIN
    later = rows[whole[rows] & whole[held[rows]]]
    count = np.bincount(stream.title[start[later]], minlength=len(flags))
    flags[count >= _CLAUSES_OF_A_LIST] = True


def _weak_after_and(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    concept: IntArray,
    best: IntArray,
    flags: BoolArray,
) -> None:
    """ "Kettle and saw", "vase and a hammer": after "and" such a word is a name too."""
    weak = Things(lexicon, found, weak=True)
    if not len(weak.start):
        return
    start, end = weak.start, weak.end
    held = best[stream.title[start]]
    joins = lexicon.words_in(AND)[stream.word]
    before, two_before = np.maximum(start - 1, 0), np.maximum(start - 2, 0)
    opened = context.linked[start] & joins[before]
    opened |= (
        context.linked[start]
        & lexicon.words_in(ARTICLES)[stream.word[before]]
        & context.linked[before]
        & joins[two_before]
    )
    closes = stream.closes_clause(end)
    other = lexicon.words_in(PARTS | GOES_WITH)[stream.word[start]]
    other |= lexicon.concept_of["material"][weak.phrase] >= 0
    other |= below(lexicon, "parts-and-fittings")[weak.concept]  # "clocks and spares"
    own = (context.zone[start] == MAIN) | (context.opener[start] == two_before)
    rows = np.flatnonzero(opened & closes & ~other & (held >= 0) & own)
    rows = rows[unlike_family(lexicon, weak.concept[rows], concept[held[rows]])]
    flags[stream.title[start[rows]]] = True


def _mixed(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    rows: npt.NDArray[np.intp],
    flags: BoolArray,
) -> None:
    """ "Mixed lot: owl, bell, cups": a lot by its own words, and more than one kind in it."""
    if "marker" not in lexicon.concept_of:
        return
    mixed = lexicon.is_one_of("marker", *MIXED)
    marker = lexicon.concept_of["marker"][found.phrase]
    says = np.zeros(stream.n_titles, dtype=bool)
    said = found.start[(marker >= 0) & mixed[np.maximum(marker, 0)]]
    says[stream.title[said]] = True
    main = rows[context.zone[things.start[rows]] == MAIN]
    flags[stream.title[things.start[main]]] |= says[stream.title[things.start[main]]]
