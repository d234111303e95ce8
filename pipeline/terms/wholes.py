"""What a piece is made of, told apart from what its parts are made of.

`oak case, brass dial`: the dial is a part, the case stands for the clock. `faux ivory`,
`ivory silk` and `brass effect` name no material of the piece at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.terms.context import ADDITION, MAIN, PURPOSE, SUBJECT, Context
from pipeline.terms.doubts import below as categories_below
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import (
    FINISH,
    MATERIAL,
    TECHNIQUE,
    aspects_of,
    below,
    in_family,
)
from pipeline.terms.material_rules import (
    BODY,
    CASED_FOR_GOOD,
    NOTHING,
    PART,
    SOFT,
    WEAK,
    WHOLE,
    Trade,
)
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.picks import KindReading, distinct_pairs, first_in_group
from pipeline.terms.tokens import CLAUSE, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]

_OF_THE_WHOLE = frozenset({"in", "of", "from"})
_JEWELS = (
    "jewellery", "clocks-and-watches", "coins-and-medals", "snuff-box", "vinaigrette", "etui",
    "cigarette-case", "card-case", "vesta-case", "seal", "fountain-pen", "medal",
)  # fmt: skip
_DECORATED = (
    "tableware-and-vessels", "ceramics", "glassware", "jewellery",
    "prints-and-paintings", "textiles-and-rugs", "books-and-paper", "musical-instruments",
)  # fmt: skip
_COVERS = ("textile", "leather", "rattan", "rush")  # what a seat is covered with


@dataclass(frozen=True)
class Materials:
    """Findings of materials that say something of the piece, in order of place."""

    title: IntArray
    concept: IntArray
    place: npt.NDArray[np.int8]  # WHOLE, BODY, SOFT, WEAK or PART
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
    trade = Trade(lexicon, stream, found, context, things, head, rows) if len(rows) else None
    place = _places(lexicon, stream, found, context, things, head, rows, trade)
    waits = np.zeros(len(rows), dtype=bool) if trade is None else trade.doubtful(place)
    content = np.zeros(len(rows), dtype=bool) if trade is None else trade.content()
    keep = place != NOTHING
    phrase = found.phrase[rows]
    start, end, concept, title, score, place, phrase, waits, content = (
        a[keep] for a in (start, end, concept, title, score, place, phrase, waits, content)
    )
    reading = KindReading.nothing(stream.n_titles)
    if not len(start):
        return Materials(title, concept, place, reading)
    eligible = np.flatnonzero(place < PART)
    rank = _ranks(lexicon, things, head, stream.n_titles, title, concept, place, phrase)
    rank[content] = 65
    # "whale tooth, resin reproduction": the copy is what is sold
    past = np.minimum(end, len(stream) - 1)
    copy = lexicon.words_in(_COPIES)[stream.word[past]] & context.linked[past] & (end <= past)
    rank[copy & (place < PART)] = -3
    denying = lexicon.phrases_where("not this", lambda words: words[0] == "not")
    if lexicon.field_kind == "material":
        # "enamel, gold", "lace; silk": what a museum's text names first, where it stands alone
        arts = below(lexicon, "enamel", "lace", "damask", "brocade")
        opens = np.append(True, title[1:] != title[:-1])
        past = np.minimum(end, len(stream) - 1)
        ends = (end >= len(stream)) | (stream.clause[past] != stream.clause[end - 1])
        ends |= context.next_has(end, "conjunction")
        rank[opens & ends & arts[concept]] = 0
    # "enamelled and gilded glass", "earthenware, enamelled": painted on, and no piece of enamel
    fired = np.zeros(stream.n_titles, dtype=bool)
    fired[title[below(lexicon, "glass", "ceramic")[concept] & (place < PART)]] = True
    worn = in_family(lexicon, things, head, stream.n_titles, "jewellery")
    rank[_only(lexicon, "enamel")[concept] & (fired & ~worn)[title]] = 63
    rank[denying[phrase] | _only(lexicon, "veneer")[concept]] = 61  # "veneered with walnut"
    rank[below(lexicon, "hand-coloured-print")[concept]] = 62  # after what was coloured
    works = _works(lexicon)[concept] & (place < PART)
    drawn = np.zeros(stream.n_titles, dtype=bool)
    drawn[title[works & _on_a_support(lexicon, stream, context, phrase, end)]] = True
    rank[works & drawn[title]] = -2
    pick = eligible[first_in_group(title[eligible], rank[eligible], start[eligible])]
    best = np.full(stream.n_titles, -1, dtype=np.int32)
    best[title[pick]] = pick
    above = lexicon.above("material")
    # "pottery vase, lava glaze", "printed cotton": what lies upon it is no finer substance
    surface = _surfaces(lexicon)[concept]
    finer = eligible[~surface[eligible] | surface[best[title[eligible]]]]
    for row in finer[above[concept[finer], concept[best[title[finer]]]]]:
        if above[concept[row], concept[best[title[row]]]]:
            best[title[row]] = row
    has = best >= 0
    chosen = best[has]
    reading.concept[has] = concept[chosen]
    reading.score[has] = score[chosen]
    unsure = context.hedged[start] | context.hedged[end - 1]
    reading.doubtful[title[(place < PART) & unsure]] = True
    reading.doubtful[title[chosen[waits[chosen]]]] = True
    # gold and gem words before anything but jewellery mostly name a colour
    shines = has_role(lexicon.roles[phrase], "gem_word") & (place < PART)
    jewels = in_family(lexicon, things, head, stream.n_titles, *_JEWELS)
    shines &= ~jewels[title] & (head[title] >= 0)
    shining = shines[chosen]
    reading.doubtful[title[chosen[shining]]] = True
    # paint on pots and glass is decoration: it says nothing of what they are made of
    decorated = in_family(lexicon, things, head, stream.n_titles, *_DECORATED)
    coat = below(lexicon, "painted-finish")[concept[chosen]]
    # so are hand painted flowers on the shade of a lamp
    lamps = in_family(lexicon, things, head, stream.n_titles, "lighting")
    by_hand = lexicon.phrases_where("by hand", lambda words: words[0] in _BY_HAND)[phrase[chosen]]
    hand = lexicon.words_in(_BY_HAND)[stream.word[np.maximum(start[chosen] - 1, 0)]]
    by_hand |= hand & ~stream.starts()[start[chosen]]
    coat &= decorated[title[chosen]] | (lamps[title[chosen]] & by_hand)
    reading.doubtful[title[chosen[coat]]] = True
    reading.margin[has] = np.where(reading.doubtful[has], 0, score[chosen])
    others = np.flatnonzero(concept != reading.concept[title])
    others = others[distinct_pairs(title[others], concept[others])]
    reading.also_title, reading.also_concept = title[others], concept[others]
    return Materials(title, concept, place, reading)


def _ranks(
    lexicon: Lexicon,
    things: Things,
    head: IntArray,
    n_titles: int,
    title: IntArray,
    concept: IntArray,
    place: npt.NDArray[np.int8],
    phrase: IntArray,
) -> IntArray:
    """Which finding stands for the piece: lowest first, then the order of place."""
    aspect = aspects_of(lexicon)[concept]
    rank = place.astype(np.int32) * 10 + aspect * 2
    rank[aspect == FINISH] = 60
    # "giltwood and marble": a wood, named by its coat
    coated = lexicon.phrases_where("coated wood", lambda words: bool(_COATED_WOODS & {*words}))
    rank[(aspect == FINISH) & coated[phrase]] = place[(aspect == FINISH) & coated[phrase]] * 10
    rank[has_role(lexicon.roles[phrase], "fitted")] = 60  # "crossbanded" after its wood
    rank[below(lexicon, "straw-filled", "feather-down")[concept]] = 60  # what is inside
    pictures = in_family(lexicon, things, head, n_titles, "prints-and-paintings")
    swap = pictures[title] & (place < PART) & (aspect == TECHNIQUE)
    if lexicon.field_kind == "material" and len(title):
        # "ivory, paper, gouache" lists what a fan is made of
        first = np.append(True, title[1:] != title[:-1])
        swap &= first
        rank[first & below(lexicon, "lacquer")[concept]] = 0  # "lacquer, gold"
    rank[swap] = place[swap] * 10 - 1
    seats = in_family(lexicon, things, head, n_titles, "seat-furniture")
    covers = np.zeros(len(lexicon.concept_ids["material"]), dtype=bool)
    for root in _COVERS:
        covers |= below(lexicon, root)
    covering = seats[title] & covers[concept]
    rank[covering] += 35  # the wood of a seat is named before its cover
    # "marcasite and silver brooch", "pearl ring, 9ct gold": the stones are set in the metal
    jewels = in_family(lexicon, things, head, n_titles, "jewellery")
    set_in = below(lexicon, "stone") | below(lexicon, "pearl")
    stones = jewels[title] & set_in[concept] & (place < PART)
    rank[stones] += 1
    return rank


def _on_a_support(
    lexicon: Lexicon,
    stream: TokenStream,
    context: Context,
    phrase: IntArray,
    end: IntArray,
) -> BoolArray:
    """Findings like "brown ink on wove paper": what was drawn or printed, with its support named.

    The support is not the material of a drawing or a print. Ivory is left alone: a miniature on
    ivory is a piece of ivory to the law.
    """
    at = np.minimum(end, len(stream) - 1)
    beyond = np.minimum(end + 1, len(stream) - 1)
    on = (end + 1 < len(stream)) & (context.linked[at]) & lexicon.words_in(_ON)[stream.word[at]]
    on &= ~(lexicon.words_in(_IVORY)[stream.word[beyond]] & ~stream.starts()[beyond])
    named = lexicon.phrases_where("on", lambda words: "on" in words)[phrase]
    if lexicon.field_kind == "material" and len(end):
        # "ink, colours and gold on paper": what is named first was drawn with
        title = stream.title[end - 1]
        paper = below(lexicon, "paper", "canvas", "vellum", "parchment")[
            lexicon.concept_of["material"][phrase]
        ]
        supported = np.zeros(stream.n_titles, dtype=bool)
        after_on = context.zone[end - 1] != MAIN
        supported[title[paper & after_on]] = True
        on |= supported[title] & np.append(True, title[1:] != title[:-1])
    return on | named


def _only(lexicon: Lexicon, concept_id: str) -> BoolArray:
    return np.array([one == concept_id for one in lexicon.concept_ids["material"]] or [False])


def _works(lexicon: Lexicon) -> BoolArray:
    """What pictures are drawn, painted and printed in."""
    return below(lexicon, "painting-medium") | below(lexicon, "print-technique")


def _places(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    head: IntArray,
    rows: npt.NDArray[np.intp],
    trade: Trade | None,
) -> npt.NDArray[np.int8]:
    start, end = found.start[rows], found.end[rows]
    n_words = len(stream)
    place = np.full(len(rows), WHOLE, dtype=np.int8)
    if trade is None:
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

    covering = np.full(n_words, -1, dtype=np.int32)
    for step in range(int((things.end - things.start).max(initial=0))):
        cell = things.start + step
        covering[cell[cell < things.end]] = np.flatnonzero(cell < things.end)
    next_thing = np.where(linked, thing_start[at], -1)
    # "cast iron stand", "silver plate stand": the thing begins inside the name of the material
    held = covering[end - 1]
    if len(things.start):
        runs_in = (held >= 0) & ~found.within[rows]
        runs_in &= (things.start[held] > start) & (things.end[held] > end)
        next_thing = np.where(runs_in, held, next_thing)
    likeness = np.zeros(len(things.start) + 1, dtype=bool)
    likeness[:-1] = context.next_has(things.end, "shape_after")
    next_thing = np.where(likeness[next_thing], -1, next_thing)
    # "mohair glass eyes": such a part names its own stuff
    eyes = np.append(categories_below(lexicon, "glass-eye")[things.concept], False)
    next_thing = np.where(eyes[next_thing], -1, next_thing)
    zone = context.zone[start]

    # additions and purposes
    opener = context.opener[start]
    opening = stream.word[np.maximum(opener, 0)]
    by_whole = (opener >= 0) & lexicon.words_in(_OF_THE_WHOLE)[opening]
    # "painted on plaster": the ground of a technique is what the piece is made of
    worked = np.zeros(n_words + 1, dtype=bool)
    of_work = aspects_of(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]] != MATERIAL
    worked[end[of_work]] = True
    on_it = (opener >= 0) & lexicon.words_in(_ON)[opening] & worked[np.maximum(opener, 0)]
    by_whole |= on_it & context.linked[np.maximum(opener, 0)]
    between = start - opener - 1
    # "in canvas bag", "in leather case": the word after it says what else is of it
    held_by = linked & lexicon.words_in(_WRAPS)[stream.word[at]]
    object_of = by_whole & (between <= 2) & (next_thing < 0) & ~held_by
    place[(zone == ADDITION) & ~object_of] = PART
    place[(zone == SUBJECT) & ~object_of] = NOTHING
    place[zone == PURPOSE] = np.where(object_of[zone == PURPOSE], WHOLE, NOTHING)

    # the word after it names a part
    part_next = linked & has_role(bits[at], "part", "fitted", "body")
    # "porcelain painted in blue", "oak bound with iron": what was worked is the whole
    beyond = np.minimum(end + 1, n_words - 1)
    goes_on = (end + 1 < n_words) & context.linked[beyond] & has_role(bits[beyond], "with")
    part_next &= ~(goes_on & has_role(bits[at], "fitted") & ~has_role(bits[at], "part", "body"))
    body_next = linked & has_role(bits[at], "body")
    soft_next = (
        linked
        & has_role(bits[at], "fitted")
        & below(lexicon, "wood")[lexicon.concept_of["material"][found.phrase[rows]]]
    )
    # a part with one word before it ("brass bun feet"), if no thing comes next
    opens_material = np.zeros(n_words, dtype=bool)
    opens_material[start] = True
    second = np.minimum(end + 1, n_words - 1)
    second_linked = linked & (end + 1 < n_words) & context.linked[second]
    third = np.minimum(end + 2, n_words - 1)
    names = thing_start >= 0
    names[Things(lexicon, found, weak=True).start] = True  # "silk four panel screen"
    thing_third = (end + 2 < n_words) & context.linked[third] & names[third]
    far_part = (
        second_linked
        & ~part_next
        & (next_thing < 0)
        & has_role(bits[second], "part")
        & ~thing_third
        & ~opens_material[at]  # "malacca cane, silver top"
        & ~has_role(bits[at], "with", "subject", "purpose", "conjunction")
    )
    far_body = far_part & has_role(bits[second], "body")
    # "oak spindle back chair", "silver bracket footed salver": two words of form before the name
    woods = below(lexicon, "wood")[lexicon.concept_of["material"][found.phrase[rows]]]
    furniture = in_family(lexicon, things, head, stream.n_titles, "furniture")[title]
    of_form = part_next & second_linked & has_role(bits[second], "part", "fitted") & thing_third
    of_form &= (head_start[title] == end + 2) & (woods | ~furniture)
    part_next &= ~of_form
    own_part = _ends_with_part(lexicon)[found.phrase[rows]]
    after_head = (
        (head_start[title] >= 0)
        & (start > head_start[title])
        & (stream.clause[start] == stream.clause[np.maximum(head_start[title], 0)])
    )
    is_thing_next = next_thing >= 0
    part_next &= ~is_thing_next | has_role(bits[at], "part") & (next_thing != head[title])
    in_main = zone == MAIN
    place[part_next | far_part | own_part] = PART
    place[far_part & after_head & in_main] = WEAK
    place[((body_next & part_next) | far_body) & in_main] = BODY
    place[soft_next & part_next & (place == PART) & in_main] = SOFT
    # a thing that is not the piece: "oak box, brass key"; the table of "gate leg oak table" is
    not_head = (
        is_thing_next & (next_thing != head[title]) & ~_leads_to_head(context, things, next_thing)
    )
    not_head &= (head_start[title] >= 0) & (start > head_start[title])
    not_head &= ~_of_one_line(lexicon, things, next_thing, head[title])
    place[not_head & (place == WHOLE)] = PART
    # "pewter lidded stoneware tankard": the pewter is the lid's
    plain = np.flatnonzero(~found.within[rows] & (covering[start] >= 0))
    of_stuff = np.zeros(len(things.start) + 1, dtype=bool)
    of_stuff[covering[start[plain]]] = True
    lids = linked & has_role(bits[at], "fitted") & is_thing_next & of_stuff[next_thing]
    place[lids & (place == WHOLE)] = PART
    inside = found.within[rows]
    in_head = (start >= head_start[title]) & (end <= head_end[title])
    place[inside & in_head] = WHOLE
    # "brass and copper" is the name of a trade and runs into the name of the piece
    covered = np.flatnonzero(covering[start] >= 0)
    past = things.end[covering[start[covered]]]
    into = np.zeros(len(rows), dtype=bool)
    into[covered] = (past == head_start[title[covered]]) & context.linked[
        np.minimum(past, n_words - 1)
    ]
    place[inside & ~in_head & ~into & (head_start[title] >= 0)] = PART
    # "marble top washstand" is a name with the material of a part in it
    parts = frozenset(p[0] for p in lexicon.phrases_of("part") if len(p) == 1)
    of_part = lexicon.words_in(parts)[stream.word[at]] & (end + 1 < head_end[title])
    of_part |= has_role(bits[at], "fitted") & (end < head_end[title])
    place[inside & in_head & (of_part | own_part)] = PART
    place[inside & _is_content(lexicon, stream, start)] = NOTHING
    glassware = in_family(lexicon, things, head, stream.n_titles, "glassware")
    # "looking glass", "table linen": the last word is the thing, whatever it is made of
    last_word = stream.word[end - 1]
    told = lexicon.words_in(_NAMED_FOR_MATERIAL)[last_word]
    told |= lexicon.words_in(_GLASS)[last_word] & glassware[title]
    aspects = aspects_of(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]]
    told |= aspects == TECHNIQUE
    place[inside & (end == head_end[title]) & ~told] = NOTHING
    weak = lexicon.weak("material")[found.phrase[rows]]
    of_glass = lexicon.words_in(_GLASS)[last_word] & glassware[title]
    place[inside & weak & ~of_glass & ~has_role(roles, "bare_material")] = NOTHING
    place[inside & lexicon.words_in(_NEVER_INSIDE)[stream.word[start]]] = NOTHING
    # the frame of a picture is no part of it; the binding of a book is its body
    pictures = in_family(lexicon, things, head, stream.n_titles, "prints-and-paintings")
    substance = aspects_of(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]] == MATERIAL
    place[inside & pictures[title] & ~substance & in_main] = WHOLE
    place[inside & pictures[title] & substance] = NOTHING  # "wood block print" is no wood
    depicting = below(lexicon, "print-technique") | below(lexicon, "painting-medium")
    depicting |= below(lexicon, "photograph")
    depicting = depicting[lexicon.concept_of["material"][found.phrase[rows]]]
    # "photograph frame", "photograph silver frame"
    place[(inside | in_head) & ~pictures[title] & depicting] = NOTHING
    framed = lexicon.words_in(_FRAMES)[stream.word[at]]
    place[pictures[title] & (place == BODY) & framed] = PART
    # an instrument lies in its case and a stuffed bird stands in one; a barometer's is its body
    carried = in_family(lexicon, things, head, stream.n_titles, *_CARRIED)
    carried &= ~in_family(lexicon, things, head, stream.n_titles, *CASED_FOR_GOOD)
    cased = lexicon.words_in(_CASES)
    in_case = cased[stream.word[at]] | (far_body & cased[stream.word[second]])
    place[carried[title] & (place == BODY) & in_case] = PART
    books = in_family(lexicon, things, head, stream.n_titles, "books-and-paper")
    bound = lexicon.words_in(_BINDINGS)
    binding = bound[last_word] | (part_next & bound[stream.word[at]])
    place[books[title] & binding & in_main] = BODY

    # a doll is named for its head, whatever its body is made of
    dolls = in_family(lexicon, things, head, stream.n_titles, "doll")
    if dolls.any():
        heads = lexicon.words_in(_HEADS)
        of_head = ((linked & heads[stream.word[at]]) | heads[last_word]) & dolls[title]
        place[dolls[title] & ((place == BODY) | (part_next & in_main))] = PART
        place[of_head] = WHOLE

    # what is let into a piece is no more than a part of it
    place[_inlays(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]]] = PART

    trade.settle(place)

    # joined materials share the fate of the last: "brass and steel handles"
    follower = np.full(len(rows), -1, dtype=np.int64)
    row_at = np.full(n_words + 1, -1, dtype=np.int64)
    row_at[start] = np.arange(len(rows))
    conj = linked & has_role(bits[at], "conjunction")
    joined = (end + 1 < n_words) & context.linked[beyond]
    after_conj = np.where(conj & joined, row_at[beyond], -1)
    follower = np.where(after_conj >= 0, after_conj, follower)
    shares = (follower >= 0) & (place == WHOLE) & ~inside
    target = follower[shares]
    root = _roots(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]]
    inherits = np.isin(place[target], (PART, BODY, SOFT)) & (zone[shares] == MAIN)
    substance_of = aspects_of(lexicon)[lexicon.concept_of["material"][found.phrase[rows]]]
    # "ormolu and porcelain mounted": a metal that is named with the other mounts
    metals = below(lexicon, "metal")[lexicon.concept_of["material"][found.phrase[rows]]]
    mounted = lexicon.words_in(_MOUNTED)[stream.word[at]] & linked
    alike = (root[shares] == root[target]) | (metals[shares] & mounted[target])
    inherits &= alike & (substance_of[target] == MATERIAL)
    changed = np.flatnonzero(shares)[inherits]
    place[changed] = place[follower[changed]]
    # "mahogany and satinwood banded cabinet" is of mahogany, where nothing else is named
    wooden = below(lexicon, "wood")[lexicon.concept_of["material"][found.phrase[rows[changed]]]]
    banded = linked & lexicon.words_in(_BANDED)[stream.word[at]]
    place[changed[wooden & banded[follower[changed]] & (place[changed] == PART)]] = SOFT

    # appearances only
    colour = has_role(roles, "colour_word") & linked & has_role(bits[at], "colour_follow")
    colour &= ~(part_next & has_role(bits[at], "part"))
    # "bronze glass topped table" is of bronze and of no bronze glass
    colour &= ~(opens_material[at] & second_linked & has_role(bits[second], "fitted", "part"))
    # "oak glazed cupboard", "pine painted chest": of furniture these are woods and no shades
    cased = (
        furniture | in_family(lexicon, things, head, stream.n_titles, "clocks-and-watches")[title]
    )
    worked_wood = woods & cased & lexicon.words_in(_WORKED)[stream.word[at]]
    colour &= ~worked_wood
    # "silver enamelled snuff box", "gold enamelled brooch" are of the metal
    jewels = in_family(lexicon, things, head, stream.n_titles, *_JEWELS)[title]
    colour &= ~(metals & jewels & lexicon.words_in(_ENAMELLED)[stream.word[at]])
    copied_after = linked & has_role(bits[at], "imitate_after") & ~is_thing_next & ~worked_wood
    copied_before = context.previous_has(start, "imitate_before")
    one_back = np.maximum(start - 1, 0)
    neutral_before = context.linked[start] & has_role(context.ends[one_back], "neutral")
    copied_before |= neutral_before & context.previous_has(one_back, "imitate_before")
    place[colour | ((copied_after | copied_before) & ~inside)] = NOTHING
    opens_name = inside & in_head & (start == head_start[title])
    place[copied_before & opens_name] = NOTHING  # "faux leather suitcase"
    place[context.denied[start]] = NOTHING
    place[~_bare_allowed(lexicon, stream, found, context, things, head, rows)] = NOTHING
    return place


def _bare_allowed(
    lexicon: Lexicon,
    stream: TokenStream,
    found: Found,
    context: Context,
    things: Things,
    head: IntArray,
    rows: npt.NDArray[np.intp],
) -> BoolArray:
    """Words that mostly mean other things (tin, horn, china): only where their place is clear.

    Clear is right before a thing, a part or another material, beside "and" a material, or alone
    between commas. Stones are materials of jewellery and colours of all else.
    """
    start, end = found.start[rows], found.end[rows]
    n = len(stream)
    base = np.zeros(len(lexicon.phrases), dtype=bool)
    base[lexicon.field_only.get("material", [])] = True
    bare = base[found.phrase[rows]] & has_role(lexicon.roles[found.phrase[rows]], "bare_material")
    if lexicon.field_kind == "material" or not bare.any():
        return np.ones(len(rows), dtype=bool)
    title = stream.title[start]
    starts_thing = np.zeros(n + 1, dtype=bool)
    starts_thing[things.start] = True
    ends_thing = np.zeros(n + 1, dtype=bool)  # "overmantel mirror gilt"
    ends_thing[things.end] = True
    starts_material = np.zeros(n + 1, dtype=bool)
    starts_material[start] = True
    ends_material = np.zeros(n + 1, dtype=bool)
    ends_material[end] = True
    at = np.minimum(end, n - 1)
    linked = (end < n) & context.linked[at]
    opens = stream.starts()[start] | ((stream.before[start] & CLAUSE) > 0)
    closes = (end >= n) | (stream.clause[at] != stream.clause[end - 1])
    conj_next = linked & has_role(context.starts[at], "conjunction")
    beyond = np.minimum(end + 1, n - 1)
    conj_next &= starts_material[beyond] & (end + 1 < n) & context.linked[beyond]
    before = np.maximum(start - 1, 0)
    conj_before = context.linked[start] & has_role(context.ends[before], "conjunction")
    conj_before &= ends_material[before] & context.linked[before]
    clear = (
        (linked & (starts_thing[at] | starts_material[at]))
        | (linked & has_role(context.starts[at], "part", "fitted", "body"))
        | conj_next
        | conj_before
        | (opens & closes & ~stream.starts()[start])
        | (closes & context.linked[start] & ends_thing[start])
    )
    gem = has_role(lexicon.roles[found.phrase[rows]], "gem_word")
    jewels = in_family(lexicon, things, head, stream.n_titles, *_JEWELS)
    return ~bare | (clear & (~gem | jewels[title]))


def _ends_with_part(lexicon: Lexicon) -> BoolArray:
    """Material names that say whose they are: `cane seat`, `bone handled`, `marble top`."""
    return lexicon.memo("ends with part", lambda: _part_endings(lexicon))


def _part_endings(lexicon: Lexicon) -> BoolArray:
    plays = has_role(lexicon.roles, "part", "fitted").tolist()
    parts = {
        words[0]
        for words, playing in zip(lexicon.phrases, plays, strict=True)
        if playing and len(words) == 1
    }
    parts -= _WHOLE_COATS
    return np.array(
        [len(words) > 1 and words[-1] in parts and "on" not in words for words in lexicon.phrases],
        dtype=bool,
    )


def _inlays(lexicon: Lexicon) -> BoolArray:
    return lexicon.memo(
        "inlays", lambda: np.array([one in _INLAYS for one in lexicon.concept_ids["material"]])
    )


def _surfaces(lexicon: Lexicon) -> BoolArray:
    """Glazes, enamels over them and printing on cloth: what lies upon a substance."""
    return lexicon.memo(
        "surfaces", lambda: np.array([one in _SURFACES for one in lexicon.concept_ids["material"]])
    )


def _roots(lexicon: Lexicon) -> IntArray:
    ids = lexicon.concept_ids["material"]

    def make() -> IntArray:
        index = {concept_id: number for number, concept_id in enumerate(ids)}
        roots = [index[lexicon.vocabulary.root("material", one)] for one in ids]
        return np.array(roots or [0], dtype=np.int32)

    return lexicon.memo("material roots", make)


def _leads_to_head(context: Context, things: Things, thing: IntArray) -> BoolArray:
    """Whether a finding runs straight into the next one ("oak lamp table")."""
    if not len(things.start):
        return np.zeros(len(thing), dtype=bool)
    runs_on = np.zeros(len(things.start), dtype=bool)
    runs_on[:-1] = (things.end[:-1] == things.start[1:]) & context.linked[things.start[1:]]
    return np.where(thing >= 0, runs_on[np.maximum(thing, 0)], False)


def _of_one_line(lexicon: Lexicon, things: Things, one: IntArray, other: IntArray) -> BoolArray:
    """Whether one of two findings names a narrower kind of what the other names, or the same."""
    if not len(things.start):
        return np.zeros(len(one), dtype=bool)
    above = lexicon.above("category")
    a, b = things.concept[np.maximum(one, 0)], things.concept[np.maximum(other, 0)]
    return (one >= 0) & (other >= 0) & ((a == b) | above[a, b] | above[b, a])


_NAMED_FOR_MATERIAL = frozenset(
    ["brass", "brasses", "bronze", "copper", "pewter", "porcelain", "ivory"]
)
_NEVER_INSIDE = frozenset({"card", "cards"})
_FRAMES = frozenset(["frame", "frames", "framed", "surround"])
_CARRIED = (
    "scientific-instruments", "musical-instruments", "cameras-and-optics", "taxidermy", "cutlery",
    "jewellery",
)  # fmt: skip
_CASES = frozenset(["case", "cases", "cased", "casing"])
_BINDINGS = frozenset(["bound", "binding", "bindings", "boards"])
_ON = frozenset({"on"})
_IVORY = frozenset({"ivory"})
_WRAPS = frozenset(
    ["bag", "bags", "case", "cases", "box", "boxes", "pouch", "sleeve", "wallet", "holder", "frame",
     "frames", "stand", "tray", "wrapper", "wrappers", "slipcase", "sheath", "scabbard", "holster"]
)  # fmt: skip
_INLAYS = frozenset({"brass-inlay", "mop-inlay", "bone-inlay", "stringing", "crossbanding"})
_SURFACES = frozenset(
    {"glaze", "lustre-glaze", "overglaze-enamel", "moriage", "printed-textile", "print-technique"}
)
_MOUNTED = frozenset({"mounted"})
_ENAMELLED = frozenset(["enamelled", "enameled", "enamel"])
_WORKED = frozenset(["glazed", "painted"])
_COPIES = frozenset(["reproduction", "repro", "replica", "copy"])
_COATED_WOODS = frozenset(["wood", "giltwood", "giltwd"])
_WHOLE_COATS = frozenset(["painted", "decorated", "overlay", "overlaid"])  # "grain painted chest"
_BANDED = frozenset(["banded", "crossbanded", "inlaid", "strung", "mounted", "bound", "lined"])
_BY_HAND = frozenset(["hand", "handpainted", "h", "hp"])
_HEADS = frozenset(["head", "heads", "headed", "shoulder", "socket"])
_GLASS = frozenset({"glass", "glasses"})
_HOLDER_WORDS = (
    "cabinet press chest cupboard box basket winder knife clip rack bin drawer case bag tray "
    "stand holder store closet hutch maker cutter scissors shears tin roaster nip pitter "
    "stoner peeler corer"
)
_HOLDERS = frozenset(
    form for word in _HOLDER_WORDS.split() for form in (word, word + "s", word + "es")
)
_CONTENTS = frozenset(
    [
        "linen",
        "china",
        "silver",
        "paper",
        "wool",
        "silk",
        "cotton",
        "lace",
        "cloth",
        "coal",
        "glass",
        "leather",
        "thread",
        "straw",
        "gold",
        "pearl",
        "diamond",
        "tin",
        "chestnut",
        "chestnuts",
        "rush",
        "cherry",
        "apple",
    ]
)


def _is_content(lexicon: Lexicon, stream: TokenStream, start: IntArray) -> BoolArray:
    """A material inside a name that says what the thing holds or works: `linen press`."""
    following = np.minimum(start + 1, len(stream) - 1)
    held = lexicon.words_in(_CONTENTS)[stream.word[start]]
    held &= ~stream.starts()[following]
    return held & lexicon.words_in(_HOLDERS)[stream.word[following]]
