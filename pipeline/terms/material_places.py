"""Where each material of a title stands: of the whole piece, of its body, of a part or of nothing.

`oak case, brass dial`: the dial is a part, the case stands for the clock. `linen press`, `ivory
silk` and `brass effect` name no material of the piece. The rules go from the general to the
special, and a later one overrules an earlier: grammar first, then what single trades mean
(`material_rules.py`), then what only looks like a material.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from pipeline.terms import material_words as mw
from pipeline.terms.context import ADDITION, MAIN, PURPOSE, SUBJECT, Context
from pipeline.terms.doubts import below as categories_below
from pipeline.terms.doubts import unlike
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.material_kinds import (
    JEWELS,
    MATERIAL,
    TECHNIQUE,
    aspects_of,
    below,
    ends_with_part,
    inlays,
    roots,
    stuff_ends_a_name,
)
from pipeline.terms.material_near import BODY, NOTHING, PART, SOFT, WEAK, WHOLE
from pipeline.terms.material_rules import CASED_FOR_GOOD, Trade
from pipeline.terms.phrases import Found, has_role
from pipeline.terms.tokens import FULL_STOP, TokenStream
from pipeline.terms.turned import Things

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]
PlaceArray = npt.NDArray[np.int8]


class MaterialPlaces:
    """The places of the materials found in one chunk of titles."""

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
        """Look at what stands around each finding.

        Args:
            things: findings of categories.
            head: for each title the index of its category among them, -1 for none.
            rows: the findings of materials among `found`, at least one.
        """
        self._lexicon, self._stream, self._found = lexicon, stream, found
        self._context, self._things, self._head = context, things, head
        self.trade = Trade(lexicon, stream, found, context, things, head, rows)
        phrase = found.phrase[rows]
        start, end = found.start[rows], found.end[rows]
        self._phrase, self._start, self._end = phrase, start, end
        self._concept = lexicon.concept_of["material"][phrase]
        self._inside = found.within[rows]
        self._title = stream.title[start]
        self._zone = context.zone[start]
        self._in_main = self._zone == MAIN
        self._last_word = stream.word[end - 1]
        n = len(stream)
        self._at = np.minimum(end, n - 1)
        self._linked = (end < n) & context.linked[self._at]
        self._second = np.minimum(end + 1, n - 1)
        self._goes_on = (end + 1 < n) & context.linked[self._second]
        self._opens_material = np.zeros(n, dtype=bool)
        self._opens_material[start] = True
        self._substance = aspects_of(lexicon)[self._concept] == MATERIAL
        self._woods = below(lexicon, "wood")[self._concept]
        self._metals = below(lexicon, "metal")[self._concept]
        # one value more: the head of a title without one
        ends = np.append(things.end, -1)[head].astype(np.int32)
        self._head_start = np.append(things.start, -1)[head].astype(np.int32)[self._title]
        self._head_end = ends[self._title]
        self._in_head = (start >= self._head_start) & (end <= self._head_end)
        self._covering = self._things_over_words()
        self._next_thing = self._things_after()

    def read(self) -> PlaceArray:
        """The place of each finding: WHOLE, BODY, SOFT, WEAK, PART or NOTHING."""
        place = np.full(len(self._start), WHOLE, dtype=np.int8)
        self._additions(place)
        part_next, far_body = self._before_parts(place)
        self._before_other_things(place)
        self._inside_names(place)
        self._pictures_and_books(place)
        self._carried_in_cases(place, part_next, far_body)
        self._dolls(place, part_next)
        # what is let into a piece is no more than a part of it
        place[inlays(self._lexicon)[self._concept]] = PART
        self.trade.settle(place)
        self._joined(place)
        self._looks(place, part_next)
        place[~self.trade.bare_allowed()] = NOTHING
        self.trade.most_of_it(place)
        self.trade.tested(place)
        if self._lexicon.field_kind == "material":
            self._first_of_a_field(place)
        return place

    def _first_of_a_field(self, place: PlaceArray) -> None:
        """ "Rosewood case; steel comb", "glass overlaid white; brass": the first is the piece's."""
        first = np.append(True, self._title[1:] != self._title[:-1])
        opens = first & self._stream.starts()[self._start]
        body = self._linked & self._next(mw.BODIES)
        opens &= body | (self._roles_next("fitted") & ~self._role_at("part"))
        place[opens & (place <= PART)] = WHOLE

    # -- what stands around -----------------------------------------------------------------

    def _things_over_words(self) -> IntArray:
        """Word of the stream -> the finding of a category that covers it, -1 for none."""
        things = self._things
        covering = np.full(len(self._stream), -1, dtype=np.int32)
        for step in range(int((things.end - things.start).max(initial=0))):
            cell = things.start + step
            covering[cell[cell < things.end]] = np.flatnonzero(cell < things.end)
        return covering

    def _things_after(self) -> IntArray:
        """The finding of a category that follows each material, -1 for none."""
        things = self._things
        thing_start = np.full(len(self._stream), -1, dtype=np.int32)
        thing_start[things.start] = np.arange(len(things.start), dtype=np.int32)
        next_thing = np.where(self._linked, thing_start[self._at], -1).astype(np.int32)
        # "cast iron stand", "silver plate stand": the thing begins inside the name of the material
        held = self._covering[self._end - 1]
        if len(things.start):
            runs_in = (held >= 0) & ~self._inside
            runs_in &= (things.start[held] > self._start) & (things.end[held] > self._end)
            next_thing = np.where(runs_in, held, next_thing)
        likeness = np.append(self._context.next_has(things.end, "shape_after"), False)
        next_thing = np.where(likeness[next_thing], -1, next_thing)
        # "mohair glass eyes": such a part names its own stuff
        eyes = np.append(categories_below(self._lexicon, "glass-eye")[things.concept], False)
        return np.where(eyes[next_thing], -1, next_thing).astype(np.int32)

    def _family(self, *families: str) -> BoolArray:
        return self.trade.family(*families)

    def _next(self, words: frozenset[str]) -> BoolArray:
        """Findings with one of the words after them, in whatever clause."""
        return self._lexicon.words_in(words)[self._stream.word[self._at]]

    def _roles_next(self, *roles: str) -> BoolArray:
        return self._linked & has_role(self._context.starts[self._at], *roles)

    def _role_at(self, *roles: str) -> BoolArray:
        return has_role(self._context.starts[self._at], *roles)

    # -- grammar ----------------------------------------------------------------------------

    def _additions(self, place: PlaceArray) -> None:
        """What stands behind "with", "for" or a picture's "of", but for "in oak", "of brass"."""
        words = self._lexicon.words_in
        opener = self._context.opener[self._start]
        opening = self._stream.word[np.maximum(opener, 0)]
        by_whole = (opener >= 0) & words(mw.OF_THE_WHOLE)[opening]
        # "painted on plaster": the ground of a technique is what the piece is made of
        worked = np.zeros(len(self._stream) + 1, dtype=bool)
        worked[self._end[~self._substance]] = True
        on_it = (opener >= 0) & words(mw.ON)[opening] & worked[np.maximum(opener, 0)]
        by_whole |= on_it & self._context.linked[np.maximum(opener, 0)]
        # "stencilled in blue on grey stoneware": the ground of what is drawn in a colour
        coloured = words(mw.COLOURS)[self._stream.word[np.maximum(opener - 1, 0)]]
        grounds = (opener > 0) & words(mw.ON)[opening] & coloured & self._substance
        by_whole |= grounds & self._context.linked[np.maximum(opener, 0)]
        between = self._start - opener - 1
        # "in red and white cotton": colours are not counted
        coloured = words(mw.COLOURS | mw.AND)[self._stream.word]
        colours = np.append(0, np.cumsum(coloured))
        between -= np.where(opener >= 0, colours[self._start] - colours[np.maximum(opener, 0)], 0)
        # "in canvas bag", "in leather case": the word after it says what else is of it
        held_by = self._linked & self._next(mw.WRAPS)
        object_of = by_whole & (between <= 2) & (self._next_thing < 0) & ~held_by
        # "sword with hilt of ivory", "box with a lid of silver": said of the part
        one_back = np.maximum(opener - 1, 0)
        of_part = (opener > 0) & ~words(mw.MADE)[self._stream.word[one_back]]
        of_part &= ~words(mw.MAIN_PARTS)[self._stream.word[one_back]]
        of_part &= self._context.linked[np.maximum(opener, 0)] & words(mw.OF_ALONE)[opening]
        led_with = (self._context.zone[one_back] == ADDITION) & self._context.linked[one_back]
        object_of &= ~(of_part & led_with)
        place[(self._zone == ADDITION) & ~object_of] = PART
        place[(self._zone == SUBJECT) & ~object_of] = NOTHING
        serves = self._zone == PURPOSE
        place[serves] = np.where(object_of[serves], WHOLE, NOTHING)
        place[of_part & led_with & (place >= PART)] = PART
        self._of_what_is_shown(place, by_whole, between)
        self._told_of_details(place, opener, by_whole.copy())

    def _of_what_is_shown(self, place: PlaceArray, by_whole: BoolArray, between: IntArray) -> None:
        """ "Doorstop of a lion in cast iron" is of iron, "design of maple leaves" of no maple."""
        words, stream = self._lexicon.words_in, self._stream
        before = np.maximum(self._start - 1, 0)
        led_in = words(mw.IN)[stream.word[before]] & self._context.linked[self._start]
        # "in oiled oak"
        two_before = np.maximum(self._start - 2, 0)
        neutral = has_role(self._context.ends[before], "neutral") | ~self._context.known[before]
        led_in |= (
            words(mw.IN)[stream.word[two_before]]
            & neutral
            & self._context.linked[before]
            & self._context.linked[self._start]
        )
        pictures = self._family("prints-and-paintings", "books-and-paper")
        shown = (self._zone == SUBJECT) & led_in & ~pictures & (self._next_thing < 0)
        place[shown & (place == NOTHING)] = WHOLE
        opener = self._context.opener[self._start]
        designed = words(mw.DESIGNS)[stream.word[np.maximum(opener - 1, 0)]] & (opener > 0)
        designed &= self._context.linked[np.maximum(opener, 0)]
        place[designed & by_whole & (between <= mw.NEAR)] = NOTHING

    def _told_of_details(self, place: PlaceArray, opener: IntArray, by_whole: BoolArray) -> None:
        """ "Hairlines to the enamel", "new tail of horsehair": said of a detail further on."""
        stream, context = self._stream, self._context
        before = np.maximum(self._start - 1, 0)
        the = self._lexicon.words_in(mw.THE)[stream.word[before]] & context.linked[self._start]
        # "a chip to the top glass"
        two_before = np.maximum(self._start - 2, 0)
        part = has_role(context.ends[before], "part") & context.linked[self._start]
        # "institution of the port. Bronze"
        part &= (stream.before[self._start] & FULL_STOP) == 0
        the |= part & self._lexicon.words_in(mw.THE)[stream.word[two_before]]
        the &= context.linked[before] & (self._next_thing < 0) & (self._head_start >= 0)
        the &= ~self._roles_next("body")
        place[the & (place == WHOLE) & (self._start > self._head_start)] = PART
        clause = stream.clause
        later = clause[self._start] != clause[np.maximum(self._head_start, 0)]
        later &= (self._head_start >= 0) & (self._start > self._head_start)
        by_whole &= self._lexicon.words_in(mw.OF_THE_WHOLE)[stream.word[np.maximum(opener, 0)]]
        follows = context.linked[np.maximum(opener, 0)] & (opener > 0)
        # "Sundial. Carved of slate": a word that the piece is worked with leads on
        ends = context.ends[np.maximum(opener - 1, 0)]
        worked = has_role(ends, "fitted", "neutral") | self._worked_before(opener)
        # "Blackjack: jug of waxed leather" names the piece again
        stuff = self._substance | below(self._lexicon, "enamel")[self._concept]
        worked |= self._named_again_before(opener) & stuff
        follows &= clause[np.maximum(opener, 0)] == clause[self._start]
        # "institution of the port. Bronze": a stop that may shorten the word before it
        follows &= (stream.before[self._start] & FULL_STOP) == 0
        # "twenty-one blades of pierced ivory", "three skins of vellum": pieces of the whole
        worked |= self._lexicon.words_in(mw.PORTIONS)[stream.word[np.maximum(opener - 1, 0)]]
        # "principally of walnut", "the whole of porcelain", "this example is of brass"
        worked |= self._lexicon.words_in(mw.MOSTLY)[stream.word[np.maximum(opener - 1, 0)]]
        place[later & by_whole & follows & ~worked & (place == WHOLE)] = PART

    def _named_again_before(self, opener: IntArray) -> BoolArray:
        """Openers behind a thing of the same family as the piece, which is no part of it."""
        things = self._things
        ending = np.full(len(self._stream) + 1, -1, dtype=np.int32)
        ending[things.end] = np.arange(len(things.end), dtype=np.int32)
        thing = ending[np.maximum(opener, 0)]
        mine = self._head[self._title]
        both = (thing >= 0) & (mine >= 0) & (opener > 0)
        concept = np.append(things.concept, 0)
        again = both & ~unlike(self._lexicon, concept[thing], concept[mine])
        return again & ~categories_below(self._lexicon, "parts-and-fittings")[concept[thing]]

    def _worked_before(self, opener: IntArray) -> BoolArray:
        """Openers with "made", "built" or the like before them."""
        return self._lexicon.words_in(mw.MADE)[self._stream.word[np.maximum(opener - 1, 0)]]

    def _before_parts(self, place: PlaceArray) -> tuple[BoolArray, BoolArray]:
        """Materials before the name of a part: "brass dial", "brass bun feet".

        Returns:
            findings with a part right after them; with the body one word further on.
        """
        bits, context = self._context.starts, self._context
        n = len(self._stream)
        is_thing_next = self._next_thing >= 0
        part_next = self._roles_next("part", "fitted", "body")
        # "porcelain painted in blue", "oak bound with iron": what was worked is the whole
        led_on = self._goes_on & has_role(bits[self._second], "with")
        worked_on = self._stream.participles()[self._stream.spelling[self._at]]
        worked_on |= ~self._role_at("part", "body")
        part_next &= ~(led_on & has_role(bits[self._at], "fitted") & worked_on)
        soft_next = self._roles_next("fitted") & self._woods
        # "concrete painted", "brass gilded": worked all over, if no part follows
        worked = self._linked & self._next(mw.WORKED_ALL_OVER) & self._substance
        worked &= ~(self._goes_on & has_role(bits[self._second], "part", "fitted", "body"))
        part_next &= ~(worked & ~self._woods)
        # a part with one word before it ("brass bun feet"), if no thing comes next
        second_linked = self._linked & self._goes_on
        third = np.minimum(self._end + 2, n - 1)
        names = np.zeros(n, dtype=bool)
        names[self._things.start] = True
        names[Things(self._lexicon, self._found, weak=True).start] = (
            True  # "silk four panel screen"
        )
        thing_third = (self._end + 2 < n) & context.linked[third] & names[third]
        far_part = (
            second_linked
            & ~part_next
            & ~is_thing_next
            & has_role(bits[self._second], "part")
            & ~thing_third
            & ~self._opens_material[self._at]  # "malacca cane, silver top"
            & (self._head_start != self._second)  # "bronze leopard plaque"
            & ~self._role_at("with", "subject", "purpose", "conjunction")
        )
        far_body = far_part & has_role(bits[self._second], "body")
        # "oak spindle back chair", "silver bracket footed salver": two words of form and the name
        of_form = part_next & second_linked & thing_third
        of_form &= has_role(bits[self._second], "part", "fitted")
        of_form &= self._head_start == self._end + 2
        part_next &= ~(of_form & (self._woods | ~self._family("furniture")))
        after_head = (self._head_start >= 0) & (self._start > self._head_start)
        clause = self._stream.clause
        after_head &= clause[self._start] == clause[np.maximum(self._head_start, 0)]
        other = self._next_thing != self._head[self._title]
        part_next &= ~is_thing_next | (self._role_at("part") & other)
        # "gold buckle ring", "wrought iron strapwork bench": a motif of the piece named next
        motif = self._next(mw.MOTIFS) & (self._head_start == self._end + 1)
        part_next &= ~(motif & self._family("jewellery", "gate", "railing", "bench"))
        # "basalt teapot" is the name of a stuff, and what follows is of the teapot
        holds_head = (self._head_start >= self._start) & (self._head_end == self._end)
        part_next &= ~holds_head
        far_part &= ~holds_head
        place[part_next | far_part | ends_with_part(self._lexicon)[self._phrase]] = PART
        place[far_part & after_head & self._in_main] = WEAK
        place[((self._roles_next("body") & part_next) | far_body) & self._in_main] = BODY
        place[soft_next & part_next & (place == PART) & self._in_main] = SOFT
        return part_next, far_body

    def _before_other_things(self, place: PlaceArray) -> None:
        """ "Oak box, brass key": a thing that is not the piece; "gate leg oak table" is one."""
        head, things = self._head[self._title], self._things
        is_thing_next = self._next_thing >= 0
        other = is_thing_next & (self._next_thing != head)
        other &= ~_leads_to_head(self._context, things, self._next_thing)
        other &= (self._head_start >= 0) & (self._start > self._head_start)
        other &= ~_of_one_line(self._lexicon, things, self._next_thing, head)
        place[other & (place == WHOLE)] = PART
        place[other & self._alone_behind_head()] = WEAK
        # "pewter lidded stoneware tankard": the pewter is the lid's
        plain = np.flatnonzero(~self._inside & (self._covering[self._start] >= 0))
        of_stuff = np.zeros(len(things.start) + 1, dtype=bool)
        of_stuff[self._covering[self._start[plain]]] = True
        lids = self._roles_next("fitted") & is_thing_next & of_stuff[self._next_thing]
        place[lids & (place == WHOLE)] = PART

    def _alone_behind_head(self) -> BoolArray:
        """ "Coal scuttle brass helmet": the one stuff of a run of words, right behind the piece.

        Not where what follows it is a part, or hangs from a piece as a chain does.
        """
        things, title = self._things, self._title
        count = np.bincount(title, minlength=self._stream.n_titles)
        alone = (count[title] == 1) & (self._start == self._head_end) & self._in_main
        alone &= self._context.linked[self._start] & ~self._role_at("part", "fitted", "body")
        kept = categories_below(self._lexicon, *mw.HANG_ON)
        return alone & ~np.append(kept[things.concept], False)[self._next_thing]

    def _inside_names(self, place: PlaceArray) -> None:
        """Materials that are words of the name of a thing: "marble top washstand"."""
        words, context = self._lexicon.words_in, self._context
        inside = self._inside
        in_head = self._in_head
        place[inside & in_head] = WHOLE
        # "brass and copper" is the name of a trade and runs into the name of the piece
        covered = np.flatnonzero(self._covering[self._start] >= 0)
        past = self._things.end[self._covering[self._start[covered]]]
        into = np.zeros(len(place), dtype=bool)
        runs_on = context.linked[np.minimum(past, len(self._stream) - 1)]
        into[covered] = (past == self._head_start[covered]) & runs_on
        # "suzani, silk embroidery on cotton": the same thing by another name
        into |= _of_one_line(
            self._lexicon, self._things, self._covering[self._start], self._head[self._title]
        )
        # "gargoyle, carved limestone": a stuff and how it was worked
        held = np.append(self._things.end, -1)[self._covering[self._start]]
        opens = np.append(self._things.start, -1)[self._covering[self._start]]
        carved = words(mw.CARVED)[self._stream.word[opens]] & (opens < self._start)
        into |= carved & (self._end == held) & self._substance & self._in_main
        place[inside & ~in_head & ~into & (self._head_start >= 0)] = PART
        top_hat = self._next(mw.TOP) & words(mw.HAT)[self._stream.word[self._second]]
        parts = self._lexicon.words_alone("part")
        of_part = parts[self._stream.word[self._at]]
        of_part &= (self._end + 1 < self._head_end) & ~top_hat
        of_part |= self._role_at("fitted") & (self._end < self._head_end)
        place[inside & in_head & (of_part | ends_with_part(self._lexicon)[self._phrase])] = PART
        names = np.append(self._things.phrase, -1)[self._covering[self._start]]
        named_for = has_role(np.append(self._lexicon.roles, np.uint64(0))[names], "holds")
        place[inside & (self._is_content() | named_for)] = NOTHING
        # "looking glass", "table linen": the last word is the thing, whatever it is made of
        of_glass = words(mw.GLASS)[self._last_word] & self._family("glassware")
        of_china = words(mw.CHINA)[self._last_word] & self._family("ceramics")
        told = words(mw.NAMED_FOR_MATERIAL)[self._last_word] | of_glass | of_china
        told |= aspects_of(self._lexicon)[self._concept] == TECHNIQUE
        # "a length of dress silk"
        cloth = below(self._lexicon, "textile")[self._concept] & self._family("fabric")
        told |= cloth & ~words(mw.ANY_CLOTH)[self._last_word]
        # "hair comb silver", "panel of silk": the name is whole without it
        named = np.append(stuff_ends_a_name(self._lexicon), False)
        told |= (
            named[np.append(self._things.phrase, -1)[self._head[self._title]]]
            & ~words(mw.ANY_CLOTH)[self._last_word]
        )
        place[inside & (self._end == self._head_end) & ~told] = NOTHING
        weak = self._lexicon.weak("material")[self._phrase]
        bare = has_role(self._lexicon.roles[self._phrase], "bare_material")
        place[inside & weak & ~of_glass & ~bare] = NOTHING
        place[inside & words(mw.NEVER_INSIDE)[self._stream.word[self._start]]] = NOTHING
        # "string of cultured pearls"
        pearls = below(self._lexicon, "pearl")[self._concept]
        place[inside & pearls & self._family("pearl-necklace")] = WHOLE

    def _is_content(self) -> BoolArray:
        """A material inside a name that says what the thing holds or works: `linen press`."""
        stream, words = self._stream, self._lexicon.words_in
        following = np.minimum(self._start + 1, len(stream) - 1)
        held = words(mw.CONTENTS)[stream.word[self._start]] & ~stream.starts()[following]
        held &= following > self._start
        # "silk bag", "glass basket", "leather case" are of it
        of_it = words(mw.SOFT_CONTENTS)[stream.word[self._start]]
        of_it &= words(mw.BAGS)[stream.word[following]]
        return held & words(mw.HOLDERS)[stream.word[following]] & ~of_it

    def _pictures_and_books(self, place: PlaceArray) -> None:
        """The frame of a picture is no part of it."""
        lexicon, inside = self._lexicon, self._inside
        pictures = self._family("prints-and-paintings")
        place[inside & pictures & ~self._substance & self._in_main] = WHOLE
        # "wood block print" is no wood, but "bronze icon" and "feather picture" are of it
        of_it = self._family("icon", "craft-picture", "lantern-slide")
        place[inside & pictures & self._substance & ~of_it] = NOTHING
        depicting = below(lexicon, "print-technique", "painting-medium", "photograph")
        # "photograph frame", "photograph silver frame"
        shown = (inside | self._in_head) & ~pictures & depicting[self._concept]
        if lexicon.field_kind != "material":  # there "pencil" is what was drawn with
            place[shown] = NOTHING
        place[pictures & (place == BODY) & self._next(mw.FRAMES)] = PART

    def _carried_in_cases(
        self, place: PlaceArray, part_next: BoolArray, far_body: BoolArray
    ) -> None:
        """An instrument lies in its case, a stuffed bird stands in one; a barometer's is its body.

        The binding of a book is its body.
        """
        words, stream = self._lexicon.words_in, self._stream
        carried = self._family(*mw.CARRIED) & ~self._family(*CASED_FOR_GOOD)
        cased = words(mw.CASES)[stream.word]
        in_case = cased[self._at] | (far_body & cased[self._second])
        place[carried & (place == BODY) & in_case] = PART
        binding = words(mw.BINDINGS)[self._last_word] | (part_next & self._next(mw.BINDINGS))
        place[self._family("books-and-paper") & binding & self._in_main] = BODY

    def _dolls(self, place: PlaceArray, part_next: BoolArray) -> None:
        """A doll is named for its head, whatever its body is made of."""
        dolls = self._family("doll")
        if not dolls.any():
            return
        heads = self._lexicon.words_in(mw.HEADS)
        of_head = (self._linked & self._next(mw.HEADS)) | heads[self._last_word]
        place[dolls & ((place == BODY) | (part_next & self._in_main))] = PART
        place[of_head & dolls] = WHOLE

    def _joined(self, place: PlaceArray) -> None:
        """Joined materials share the fate of the last: "brass and steel handles"."""
        row_at = np.full(len(self._stream) + 1, -1, dtype=np.int64)
        row_at[self._start] = np.arange(len(place))
        joins = self._roles_next("conjunction") & self._goes_on
        follower = np.where(joins, row_at[self._second], -1)
        shares = (follower >= 0) & (place == WHOLE) & ~self._inside
        target = follower[shares]
        root = roots(self._lexicon)[self._concept]
        inherits = np.isin(place[target], (PART, BODY, SOFT)) & self._in_main[shares]
        # "ormolu and porcelain mounted": a metal that is named with the other mounts
        mounted = self._next(mw.MOUNTED) & self._linked
        alike = (root[shares] == root[target]) | (self._metals[shares] & mounted[target])
        # "ivory and ebony keys"
        horny = below(self._lexicon, "organic")[self._concept]
        alike |= horny[shares] & (place[target] == PART) & self._roles_next("part")[target]
        inherits &= alike & self._substance[target]
        changed = np.flatnonzero(shares)[inherits]
        place[changed] = place[follower[changed]]
        # "mahogany and satinwood banded cabinet" is of mahogany, where nothing else is named
        banded = self._linked & self._next(mw.BANDED)
        soft = self._woods[changed] & banded[follower[changed]] & (place[changed] == PART)
        place[changed[soft]] = SOFT

    # -- looks ------------------------------------------------------------------------------

    def _looks(self, place: PlaceArray, part_next: BoolArray) -> None:
        """ "Brass effect", "ivory coloured", "faux leather": an appearance and no material."""
        context, bits = self._context, self._context.starts
        colour_word = has_role(self._lexicon.roles[self._phrase], "colour_word")
        colour = colour_word & self._roles_next("colour_follow")
        colour &= ~(part_next & self._role_at("part"))
        # "ivory silk satin"
        cloth = np.zeros(len(self._stream), dtype=bool)
        cloth[self._start[below(self._lexicon, "textile")[self._concept]]] = True
        colour |= colour_word & self._linked & cloth[self._at]
        # "silver leather shoes", "bronze kid boots", "silver fox stole"
        skins = np.zeros(len(self._stream), dtype=bool)
        of_skin = below(self._lexicon, "leather", "fur", "reptile-skin", "straw", "beadwork")
        skins[self._start[of_skin[self._concept]]] = True
        worn = self._family("clothing", "bag", "handbag")
        colour |= colour_word & self._linked & skins[self._at] & worn
        # "silver vinyl dress", "walnut bakelite radio": how it looks
        plastics = np.zeros(len(self._stream), dtype=bool)
        opaque = self._lexicon.is_one_of("material", *mw.OPAQUE_PLASTICS)
        plastics[self._start[opaque[self._concept]]] = True
        colour |= (colour_word | self._woods) & self._linked & plastics[self._at]
        # "linen jacket": a shade of paint and paper, and a cloth of what is worn
        linen = self._lexicon.words_in(mw.LINEN)[self._stream.word[self._start]]
        colour &= ~(linen & (self._next_thing >= 0) & self._family("clothing", "tablecloth"))
        # "linen embroidered with silk", "linen quilted and corded"
        colour &= ~(linen & self._linked & self._next(mw.WORKED_CLOTH))
        colour |= colour_word & self._before_another_colour()
        colour |= self._linked & self._next(mw.SHAPED) & self._substance
        # "bronze glass topped table" is of bronze and of no bronze glass
        second_linked = self._linked & self._goes_on
        fitted = second_linked & has_role(bits[self._second], "fitted", "part")
        colour &= ~(self._opens_material[self._at] & fitted)
        # "oak glazed cupboard", "pine painted chest": of furniture these are woods and no shades
        worked_wood = self._woods & self._family("furniture", "clocks-and-watches")
        worked_wood &= self._next(mw.WORKED)
        colour &= ~worked_wood
        # "silver enamelled snuff box", "gold enamelled brooch" are of the metal
        colour &= ~(self._metals & self._family(*JEWELS) & self._next(mw.ENAMELLED))
        copied_after = self._roles_next("imitate_after") & (self._next_thing < 0) & ~worked_wood
        # "ceramic glazed white"; "ruby glass lustres"
        fired = below(self._lexicon, "ceramic")[self._concept] & self._next(mw.GLAZED)
        copied_after &= ~fired & ~self._family("mantel-lustre")
        copied_before = context.previous_has(self._start, "imitate_before")
        one_back = np.maximum(self._start - 1, 0)
        neutral = context.linked[self._start] & has_role(context.ends[one_back], "neutral")
        copied_before |= neutral & context.previous_has(one_back, "imitate_before")
        place[colour | ((copied_after | copied_before) & ~self._inside)] = NOTHING
        leaf = self._woods & self._linked & self._next(mw.PLANTS) & ~self._family("table")
        place[leaf] = NOTHING  # "maple leaves", "cherry blossom"
        opens_name = self._inside & self._in_head & (self._start == self._head_start)
        place[copied_before & opens_name] = NOTHING  # "faux leather suitcase"
        place[context.denied[self._start]] = NOTHING

    def _before_another_colour(self) -> BoolArray:
        """ "Ivory and tan jade": one of two colours of what is named behind them."""
        stream, context = self._stream, self._context
        third = np.minimum(self._end + 2, len(stream) - 1)
        joins = self._roles_next("conjunction") & self._goes_on
        named = self._lexicon.words_in(mw.COLOURS)[stream.word[self._second]]
        follows = context.linked[third] & (self._end + 2 < len(stream))
        # "ivory and black lacquer" may hold ivory
        dyed = np.zeros(len(stream), dtype=bool)
        dyed[self._start[below(self._lexicon, "stone", "textile", "paper")[self._concept]]] = True
        return joins & named & follows & dyed[third]


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
