"""Find every date expression in the tokens of a text, and see what each is a date of."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates import spans
from pipeline.terms.dates.grammar import Grammar
from pipeline.terms.dates.lexer import Token
from pipeline.terms.dates.model import Span

_STARTERS = frozenset(
    {
        lx.NUM, lx.ORD, lx.ROMAN, lx.ROMAN_ORD, lx.CENTURY_NUM, lx.C_NUM, lx.DECADE, lx.MASK,
        lx.FULL, lx.CENTURY, lx.FRACTION, lx.PART, lx.CIRCA, lx.HEDGE, lx.ERA, lx.MONTH,
        lx.SEASON, lx.BEFORE, lx.AFTER, lx.BETWEEN, lx.FROM, lx.NAMED, lx.TENS, lx.TEENS,
        "latter_half",
    }
)  # fmt: skip
NOT_OF_MAKING = frozenset({"life", "repair", "event", "acquired"})
# said of what follows one word on: "labelled Cremona 1721", "dug from bog 1887"
REACHES_ON = frozenset({"inscribed", "acquired", "life"})
_SPANS_OF_COPIES = frozenset({"century", "part_of_century", "decade", "part_of_decade"})
JUBILEES = frozenset({"jubilee", "centenary", "bicentenary"})
_YEARS_OF_JUBILEES = (25, 50, 60, 70, 75, 100, 150, 200)
_YEARLY = frozenset({"catalogue", "catalog"})
_QUIET = frozenset({lx.NOISE, lx.AND, lx.OR, lx.TO, lx.PRESENT, lx.FROM, lx.BETWEEN})
_NUMERIC = frozenset({lx.NUM, lx.FULL, lx.C_NUM, lx.ORD, lx.CENTURY_NUM, lx.MASK})
_MODELS = frozenset({"original", "originals", "model", "models", "pattern", "design", "example"})
_CONCEDING = frozenset({"but", "though", "although", "albeit"})
_AFTER_A_MODEL = frozenset({"after", "nach", "apres", "dopo", "na"})
_OF_PERIODS = frozenset({"period", "dynasty", "era", "reign"})
# letters and short words that are initials, a class or a quarter of the sky as often: "34 NE"
_SHORT_OF_LIFE = frozenset({"b", "d", "ne"})
# copies made to be sold, whatever they bear
_REPRODUCTIONS = frozenset({"reproduction", "reproductions", "repro", "replica", "replicas"})
_DENYING = frozenset({"not", "no", "non"})
# before "style": no look that has a name, but an age that is imitated
_VAGUE_LOOKS = frozenset(
    {
        "vintage", "retro", "old", "period", "original", "antique", "the", "in", "this", "a",
        "modern", "contemporary", "recent", "same", "similar", "of", "and", "early", "mid", "late",
    }
)  # fmt: skip
_PAGES = frozenset({"p", "pp", "fig", "figs"})
_SINCE = frozenset({"since", "depuis", "seit", "desde"})
_KEPT_IN = frozenset({"in", "original", "orig", "with"})
_BOXED_FROM, _BOXED_TO = 1800, 2010  # years behind "in box"
_LIFE_LEAST, _LIFE_MOST = 24, 105
_WORDS_TO_A_MARK = {"year": 1}  # "1862 mark"
_FAR_MARK = 4
_SHORT_FOR = 4  # letters at most, where a full stop shortens the word
_TITLE_FIRST_YEAR = 1500
_TITLE_LONGEST_RANGE = 60


@dataclass(slots=True)
class Item:
    """A date that the text names, with what it is a date of (None: nothing says)."""

    span: Span
    role: str | None
    style: bool
    life: bool
    word: str  # of the role, folded
    copied: bool = False  # "20th century copy": when the copy was made


@dataclass(slots=True)
class Scan:
    """All that a text says of dates: the items in order, counts of other tokens, and signs."""

    items: list[Item]
    unknown: int = 0
    numbers: int = 0
    unexplained: int = 0  # numbers that are neither a date nor a size, a price, a reference
    nodate: bool = False
    repro: bool = False
    reproduced: bool = False  # a reproduction, not a copy that may be old itself
    later_print: bool = False
    doubt: bool = False
    future: bool = False
    styled: bool = False


def scan_dates(grammar: Grammar, tokens: list[Token], title: bool) -> Scan:
    """Every date expression of a text and what each is said of; `title` reads more warily."""
    scan = Scan([])
    padded = grammar.tokens
    count = len(tokens)
    index = depth = 0
    role: str | None = None
    role_word = ""
    style_ahead = False
    words_before = False
    carried = False  # what is inscribed has gone past one word that is no date
    while index < count:
        token = padded[index]
        kind = token.kind
        if kind is lx.REF:
            after = _reference_end(padded, index)
            if after:
                scan.numbers += 1
                index = after
                continue
        if kind is lx.STYLE_OF or (
            kind is lx.AFTER
            and token.text in _AFTER_A_MODEL
            and padded[index + 1].kind in (lx.NAMED, lx.STYLE_OF)
        ):
            style_ahead = True
            scan.styled = True
            if token.value == "the":
                found = grammar.expression(index + 1)
                if found is not None and found[0].kind != "named_period":
                    following = padded[found[1]]
                    if following.kind is not lx.WORD and following.text not in _MODELS:
                        opened = grammar.open_side(found[0], lx.AFTER)
                        scan.items.append(Item(opened, role, False, False, role_word))
                        index, style_ahead = found[1], False
                        continue
            index += 1
            continue
        if kind in _STARTERS or token.text == "s":
            found = grammar.expression(index)
            if found is not None and not (title and _unsafe_in_title(padded, index, found)):
                span, after = found
                named = span.kind == "named_period"
                within = _FAR_MARK if named else _WORDS_TO_A_MARK.get(span.kind, 0)
                style, after = _style_behind(padded, after, marked=within, named=named)
                if named:
                    negated = index > 0 and padded[index - 1].text in ("not", "non", "nor")
                    style = style or negated or padded[after].text in lx.LOOK_NOUNS
                elif title and not style:
                    after, style = _in_the_taste(padded, index, after)
                    style = style or _of_a_model(padded, index)
                role, after = _role_behind(
                    padded,
                    after,
                    role,
                    further=bool(scan.items) or (index > 0 and padded[index - 1].text == "with"),
                    circa=span.circa,
                )
                before = padded[index - 2] if index > 1 else token  # the word before the bracket
                life = _is_life(
                    span, depth, words_before, index, scan, token, padded[after], before
                )
                if title and _of_literature(padded, span, after):
                    role = "event"
                if title and token.text in _SINCE:
                    role = "founded"
                item = Item(span, role, style or style_ahead, life, role_word)
                item.copied = padded[after].kind is lx.REPRO and span.kind in _SPANS_OF_COPIES
                scan.items.append(item)
                scan.styled = scan.styled or style or style_ahead
                style_ahead = False
                role = None
                index = after
                continue
        if len(token.text) == 1 and padded[index + 1].text == "'" and padded[index + 1].glued:
            index += 2  # d'epoque
            continue
        if kind is lx.ROLE:
            if _says_another_thing(padded, index, role):
                pass
            elif not (role == "inscribed" and token.value == "dated"):
                role, role_word = str(token.value), token.text
            if padded[index + 1].text == ".":
                index += 1
                if title and role == "repair" and len(token.text) > _SHORT_FOR:
                    role = None  # "oil on canvas, relined. Second half of the 17th century"
        elif kind is lx.STYLE:
            # "sugar nips, scissor type, c. 1760"
            style_ahead = not (title and words_before and _leaves_the_date(grammar, index))
        elif kind is lx.REPRO:
            scan.repro = True
            said = {one.text for one in padded[max(index - 2, 0) : index]}
            scan.reproduced |= token.text in _REPRODUCTIONS and said.isdisjoint(_DENYING)
            style_ahead = padded[index + 1].kind is not lx.PUNCT
        elif kind is lx.NODATE:
            scan.nodate = True
        elif kind is lx.LATER_PRINT:
            if title and not scan.items and _date_follows(padded, index):
                role, role_word = "printed", token.text  # "printed later, 1970s"
            elif not (title and not scan.items and padded[index + 1].text in (",", ";")):
                scan.later_print = True  # "later copy, Italian made, 1980s" tells of the copy
        elif kind is lx.LATER_WORK or (kind is lx.LATER and token.text == "later"):
            after = _past_later_work(padded, index)
            if after == index and kind is lx.LATER and role is None:
                scan.doubt = scan.doubt or bool(scan.items)  # "Georgian (later)"
                if scan.items and scan.items[-1].role in ("dated", "inscribed"):
                    scan.later_print |= _is_conceded(padded, index)  # "dated 1690 but later"
            index = after
            role, role_word = "repair", token.text
        elif kind is lx.HEDGE:
            scan.doubt = True
        elif kind is lx.PUNCT:
            if token.text in "([":
                depth += 1
            elif token.text in ")]":
                depth = max(0, depth - 1)
            elif token.text in ",;:|/":
                style_ahead = False
                ended = role == "repair" or (role in REACHES_ON and carried)
                following, beyond = padded[index + 1], padded[index + 2]
                if role == "acquired" and token.text == "," and following.kind is lx.NUM:
                    ended &= beyond.kind is not lx.PUNCT and beyond.kind != "end"
                # 'embossed "Nanny Patent", about 1925'
                ended |= role == "patent" and following.kind is lx.CIRCA
                if token.text == ";" or (title and ended):
                    role = None  # "horns restored, c. 1810", "engraved with ivy, Chester 1898"
            elif token.text == "." and role == "repair" and padded[index - 1].text == ")":
                role = None  # "on a turned base (base later). c 1790"
            elif token.text == "?":
                scan.doubt = True
        elif kind is lx.UNIT and token.value is None:
            scan.unknown += token.text != '"'
        elif kind in _NUMERIC or kind is lx.UNIT:
            scan.numbers += 1
            scan.unexplained += kind is not lx.UNIT and padded[index + 1].kind is not lx.UNIT
            index = _past_number(padded, index)
            continue
        elif kind not in _QUIET:
            scan.unknown += 1
            words_before = True
            if title:
                style_ahead = False  # "Georgian style bear 1950s"
                # "labelled Cremona 1721", "engraved with initials 1901"
                carried = role in REACHES_ON and not carried
                role = role if carried else None
        index += 1
    if title and any(token.text in JUBILEES for token in tokens):
        for item in scan.items:
            _last_year_of_a_jubilee(item)
    return scan


def _of_literature(tokens: list[Token], span: Span, after: int) -> bool:
    """ "Published in Ravel 1984, p. 32": the year of a book, whose page stands behind."""
    if span.kind != "year" or span.circa or tokens[after].text not in (",", ":"):
        return False
    page, number = tokens[after + 1], tokens[after + 2]
    number = tokens[after + 3] if number.text == "." else number
    return page.text in _PAGES and number.kind is lx.NUM


def _says_another_thing(tokens: list[Token], index: int, role: str | None) -> bool:
    """Whether a word of a life or of a gift is none here: "Class D, 1918", "gift, brass, 1914"."""
    token, following = tokens[index], tokens[index + 1]
    if token.text == "gift":
        stopped = following.kind is lx.PUNCT and following.text in ",;"
        return stopped and tokens[index + 2].kind not in (lx.NUM, lx.CIRCA, lx.FULL, "end")
    if token.text not in _SHORT_OF_LIFE:
        return False
    if following.text in (",", ";", ":"):
        return True  # "type B, 1632", "sheet 34 NE, 1888"
    if following.text == "." and tokens[index + 2].text in (",", ";"):
        return True  # "worked by M.B., 1798"
    if role in ("dated", "inscribed", "made", "printed"):
        return True  # "signed D. Smith 1888"
    before = index - 1
    while before >= 0 and tokens[before].text in (".", "&"):
        before -= 1
    if before < 0:
        return False
    initial = tokens[before].text
    # "carved J.B. 1688", "inscribed W D 1788"; in titles a place-holder stands for the first
    stuck = token.glued and tokens[index - 1].text == "."
    return initial == "by" or stuck or (len(initial) == 1 and initial.isalpha())


def _leaves_the_date(grammar: Grammar, index: int) -> bool:
    """Whether what is dated behind a word of style is the piece, not the look of it.

    "Sugar nips, scissor type, c. 1760", and "sideboard Danish style 1960s" where the clause ends
    behind the date. "Vintage style 1950s dress" is a dress of today.
    """
    tokens = grammar.tokens
    if tokens[index].text in ("type", "manner"):
        return True
    before = tokens[index - 1]
    if tokens[index].text != "style" or not index or before.text in _VAGUE_LOOKS:
        return False
    if before.kind is lx.PUNCT or before.kind in _STARTERS - {lx.NAMED}:
        return False
    place = index + 1 + (tokens[index + 1].text in ("(", ","))
    found = grammar.expression(place)
    if found is None or found[0].kind == "named_period":
        return False
    closing = tokens[found[1]]
    return closing.kind == "end" or (closing.kind is lx.PUNCT and closing.text in ",;.)")


def _last_year_of_a_jubilee(item: Item) -> None:
    """ "Jubilee mug 1837-1897": made in the year that is celebrated."""
    low, high = item.span.earliest, item.span.latest
    if item.span.kind == "range" and low and high and high - low in _YEARS_OF_JUBILEES:
        item.span = spans.year_span(high)


def _reference_end(tokens: list[Token], index: int) -> int:
    """The place after "No. 1850", "ref: 1901", "model 1950A"; 0 where no number follows."""
    word = tokens[index].text
    place = index + 1
    while tokens[place].text in (".", ":", "#", "°", "-") or tokens[place].kind is lx.REF:
        place += 1
    number = tokens[place]
    if number.kind not in _NUMERIC and number.kind is not lx.UNIT:
        return 0
    if (
        word in ("edition", "ed")
        and number.kind is lx.NUM
        and len(number.text) == 4
        and not (index and tokens[index - 1].text in ("limited", "ltd"))
    ):
        return 0
    # "seed catalogue 1898" is of that year
    if word in _YEARLY and place == index + 1 and number.kind is lx.NUM and len(number.text) == 4:
        return 0
    if word in ("set", "art", "part", "figure", "price", "box") and place == index + 2:
        return 0
    if word == "ltd" and place == index + 1 and number.kind is lx.NUM and len(number.text) == 4:
        return 0  # "Rose & Wood Ltd 1935"
    if word == "box" and index and tokens[index - 1].text in _KEPT_IN:  # "doll in box 1965"
        year = number.value if number.kind is lx.NUM and place == index + 1 else 0
        if _BOXED_FROM <= year <= _BOXED_TO and tokens[place + 1].kind in ("end", lx.PUNCT):
            return 0
    return _past_number(tokens, place)


def _past_number(tokens: list[Token], index: int) -> int:
    """Past a number and what is stuck to it: a letter, a unit, a further number."""
    place = index + 1
    while tokens[place].glued and tokens[place].text not in (",", ";", ")", "(", "]"):
        place += 1
    if tokens[place].kind is lx.UNIT:
        place += 1
    return place


def _past_later_work(tokens: list[Token], index: int) -> int:
    """ "with later alterations" and "repaired later" say nothing of the making."""
    place = index + 1
    while tokens[place].kind in (lx.WORD, lx.NOISE, lx.AND, lx.ROLE) and place - index < 5:
        place += 1
    return place - 1


def _date_follows(tokens: list[Token], index: int) -> bool:
    """Whether a year or a decade stands behind the word, with a comma between at most."""
    place = index + 1
    while tokens[place].text in (",", "c", "circa", "in", "the") and place < index + 4:
        place += 1
    return tokens[place].kind in (lx.NUM, lx.DECADE, lx.CIRCA)


def _is_conceded(tokens: list[Token], index: int) -> bool:
    """Whether "but" or "though" stands before the word, with nothing but a doubt between."""
    place = index - 1
    while place > 0 and (tokens[place].kind in (lx.HEDGE, lx.NOISE) or tokens[place].text == "of"):
        place -= 1
    after = tokens[index + 1].kind
    return tokens[place].text in _CONCEDING and after in ("end", lx.PUNCT, lx.NOISE)


def _role_behind(
    tokens: list[Token], index: int, role: str | None, *, further: bool, circa: bool
) -> tuple[str | None, int]:
    """ "1876 patent", "a 1925 design", "19th century frame": what the date is of stands behind.

    Nobody says "circa" of a patent: "apple peeler, c. 1880, pat'd" is of that time.
    """
    token = tokens[index]
    if (
        role is None
        and token.kind is lx.ROLE
        and (token.value == "design" or (token.value == "patent" and not circa))
        and tokens[index + 1].kind in ("end", lx.PUNCT)
    ):
        return str(token.value), index + 1
    if token.text == "(" and tokens[index + 1].kind is lx.ROLE and tokens[index + 2].text == ")":
        return str(tokens[index + 1].value), index + 3  # "1884 (designed)"
    place = index
    while tokens[place].text in ("and", "gilt", "brass", "wood", "later", "silver", "giltwood"):
        place += 1
    if further and tokens[place].text in lx.PART_NOUNS:
        return "repair", index
    return role, index


def _style_behind(tokens: list[Token], index: int, *, marked: int, named: bool) -> tuple[bool, int]:
    """Whether "style", "taste", "revival" or a mere mark stands behind the date or name.

    Args:
        marked: words within which a mark may be meant; "1960s water mark" tells of no mark, and
            neither does "1795 teaspoon, worn marks".
        named: a reign or a period is named; what is "marked" behind a year is another matter.
    """
    place = index
    while tokens[place].text in ("-", ".") or (tokens[place].text == "period" and place == index):
        place += 1
    token = tokens[place]
    if token.kind is lx.STYLE:
        return True, place + 1
    if token.kind is lx.STYLE_OF and str(token.text).endswith(" of") and "style" in token.text:
        return True, place + 1
    if tokens[index].kind is lx.NOISE:
        return False, index
    stopped = any(token.text == "." for token in tokens[index:place])
    for ahead in range(place, place + marked):
        if tokens[ahead].kind is lx.MARK:
            if tokens[ahead].text == "marked" and not named:
                return False, index  # "1905 marked Germany"
            if stopped and tokens[ahead + 1].value != "period":
                return False, index  # "ca. 1740. Mark of Gideon Potter"
            if tokens[ahead + 1].value == "period":
                return False, ahead + 2
            return True, ahead + 1
        if tokens[ahead].kind not in (lx.WORD, lx.NUM, lx.NOISE) and tokens[ahead].text != "-":
            break
    return False, index


def _in_the_taste(tokens: list[Token], index: int, after: int) -> tuple[int, bool]:
    """ "In 16th century Nuremberg taste": a word stands between; and the place past it."""
    before = tokens[index - 2] if tokens[index - 1].text == "the" else tokens[index - 1]
    led = index > 0 and before.text == "in" and tokens[after].kind in (lx.WORD, lx.NOISE)
    if led and tokens[after + 1].kind is lx.STYLE:
        return after + 2, True
    return after, False


def _of_a_model(tokens: list[Token], index: int) -> bool:
    """ "After a painting of 1882": the year of what was copied."""
    if index < 3 or tokens[index - 1].text != "of" or tokens[index - 2].kind is not lx.WORD:
        return False
    article = tokens[index - 3].text in ("a", "an", "the")
    if tokens[max(index - 3 - article, 0)].kind is lx.STYLE_OF:
        return True  # "facsimile of a map of 1610"
    return tokens[index - 3].text.partition(" ")[0] in _AFTER_A_MODEL


def _is_life(
    span: Span,
    depth: int,
    words_before: bool,
    index: int,
    scan: Scan,
    opening: Token,
    closing: Token,
    before: Token,
) -> bool:
    """Two full years in brackets, a life apart, behind a name or alone: when somebody lived."""
    if not depth or span.kind != "range" or span.earliest is None or span.latest is None:
        return False
    if not _LIFE_LEAST <= span.latest - span.earliest <= _LIFE_MOST or closing.text not in ")]":
        return False
    if scan.items and scan.items[-1].span.kind == "named_period":
        return False
    if opening.kind in (lx.BETWEEN, lx.FROM):
        return False  # "[between 1880 and 1900]"
    if before.text in _OF_PERIODS:
        return False  # "Ashikaga period (1336-1573)"
    return words_before or (index == 1 and not scan.items)


def _unsafe_in_title(tokens: list[Token], index: int, found: tuple[Span, int]) -> bool:
    """Expressions that running text forms by chance: "by 1900", "10c", "Empire"."""
    span, after = found
    token = tokens[index]
    if span.kind == "named_period" or (token.kind is lx.NAMED and span.label):
        period = next(t.value for t in tokens[index:after] if t.kind is lx.NAMED)
        in_period = tokens[after].kind is lx.NOISE and tokens[after].text in (
            "period", "era", "dynasty", "reign", "epoch",
        )  # fmt: skip
        return not (period.in_titles or in_period)
    if token.text == "by":
        return True
    if span.kind == "century" and span.number < 10 and tokens[after - 1].text.startswith("sec"):
        return True  # "shutter slow at 1 sec"
    if span.circa and span.kind == "year" and span.latest is not None and span.latest < 1000:
        return all(t.kind is not lx.ERA for t in tokens[index:after])  # "approx 100"
    if token.kind is lx.CENTURY_NUM and (span.ambiguous or token.text.endswith(" w")):
        return True
    if token.kind is lx.ROMAN and span.kind == "century" and span.pending:
        return True
    number = span.number or token.value  # of "C18-19th" the first
    if token.kind is lx.C_NUM and (number < 10 or tokens[after].kind in (lx.WORD, lx.UNIT)):
        return not token.text.endswith("th")
    return False


def wary_in_titles(scan: Scan) -> None:
    """In running text a bare year is a guess unless a period bears it out; two of them are none."""
    bare = [
        item
        for item in scan.items
        if item.span.kind == "year" and item.role is None and not item.span.circa and not item.style
    ]
    other = [item for item in scan.items if item not in bare]
    kept = [
        item
        for item in bare
        if item.span.era or (item.span.earliest and item.span.earliest >= _TITLE_FIRST_YEAR)
    ]
    if len({item.span.earliest for item in kept}) > 1:
        kept = []
    for item in kept:
        # "Georgian mustard pot, London 1789": a period that holds the year bears it out.
        borne_out = any(spans.overlap(item.span, o.span) for o in other if not (o.style or o.life))
        item.span.unsure = not (borne_out or item.span.era)
    scan.items = [item for item in scan.items if item in other or item in kept]
    for item in other:
        span = item.span
        long_range = span.kind == "range" and spans.length(span) > _TITLE_LONGEST_RANGE
        long_range &= span.earliest is None or span.earliest > 0  # "2649-2150 BC"
        if long_range or span.kind in ("before", "after", "full_date", "month", "season"):
            span.unsure = True
