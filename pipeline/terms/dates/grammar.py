"""The grammar of one date expression: points, their parts and marks, and chains of points.

``expression`` is the only entrance. It reads as much as it can from one place and answers the
span with the place after it, or None where no date begins there.

    expression := [before | after | between | from] chain [and later | or earlier]
    chain      := point { (- | / | to | or | and) point }
    point      := { circa | hedge } unit { era | circa | ? }
    unit       := [part | nth fraction of] (century | decade | hundreds | named period)
                | full date | month year | season year | year
"""

from __future__ import annotations

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates import spans
from pipeline.terms.dates.lexer import Token, named_label
from pipeline.terms.dates.model import DateSettings, Span

_END = Token("end", None, "", False)
_CONNECTORS = frozenset({lx.TO, lx.OR, lx.AND})
_SKIPPED = frozenset({".", "'", "[", "]"})
_CIRCA_LETTERS = frozenset({"c", "ca", "circa", "approx", "approximately", "about", "~", "±", "cca"})
# Letters stuck to a number make a code of it, save these before it.
_STUCK = frozenset({lx.WORD, lx.REF, lx.ROMAN, lx.NOISE, lx.HEDGE, lx.TO, lx.OR, lx.AND})
_MAY_TOUCH = frozenset({lx.CIRCA, lx.ERA, lx.MONTH, lx.SEASON, lx.ROLE, lx.BEFORE, lx.AFTER})
_RANGES = frozenset({"range", "alternatives", "range_of_centuries"})
_STREETS = frozenset({"street", "road", "avenue", "lane", "ave"})
Found = tuple[Span, int]


class Grammar:
    """Reads date expressions from one list of tokens.

    Attributes:
        future: a year after the last that may be was met.
        rejected: a number was met that its neighbours make a size, a code or a price.
    """

    def __init__(
        self, tokens: list[Token], settings: DateSettings, *, title: bool = False
    ) -> None:
        self.title = title
        self.tokens = [*tokens, _END, _END, _END, _END]
        self.count = len(tokens)
        self.settings = settings
        self.future = False
        self.rejected = False
        self.has_era = any(token.kind is lx.ERA for token in tokens)

    # -- expressions ---------------------------------------------------------------------------

    def expression(self, index: int) -> Found | None:
        tokens = self.tokens
        kind = tokens[index].kind
        side = None
        between = False
        if kind is lx.BEFORE or kind is lx.AFTER:
            side = kind
            index = self._skip(index + 1)
            if tokens[index].kind is lx.PUNCT and tokens[index].text == "-":
                index += 1
        elif kind is lx.BETWEEN:
            between = True
            index += 1
        elif kind is lx.FROM:
            found = self._chain(self._skip(index + 1), False)
            if found is None or tokens[index].text != "from":
                return found
            span, index = found
            if span.kind in ("year", "month", "full_date") and not self.title:
                span = self._open(span, lx.AFTER, inclusive=True)
            return self._trailing(span, index)
        found = self._chain(index, between)
        if found is None:
            return None
        span, index = found
        if side is not None:
            span = self._open(span, side)
        return self._trailing(span, index)

    def _trailing(self, span: Span, index: int) -> Found:
        kind = self.tokens[index].kind
        if kind is lx.LATER:
            after = self.tokens[index + 1]
            if self.tokens[index].text != "later" or after.kind in ("end", lx.PUNCT):
                return self._open(span, lx.AFTER, inclusive=True), index + 1
        if kind is lx.EARLIER:
            return self._open(span, lx.BEFORE, inclusive=True), index + 1
        return span, index

    def _open(self, span: Span, side: str, *, inclusive: bool = False) -> Span:
        """Open to one side. The bound itself stays in: before 1928 ends with 1928, before the
        19th century with 1800; "1890s and later" begins with 1890."""
        spans.widen(span, self.settings)
        opened = Span(None, None, "before" if side is lx.BEFORE else "after")
        opened.circa, opened.unsure = span.circa, span.unsure
        inclusive = inclusive or span.kind in _RANGES
        single = span.widened and not inclusive
        shift = 2 * self.settings.circa_years if single else 0
        near, far = (("end", "start") if inclusive else ("start", "end"))
        if side is lx.BEFORE:
            opened.latest = span.latest if inclusive else span.earliest
            opened.start_edtf, opened.end_edtf = "", spans.edge(span, near, masks=False)
            if opened.latest is not None:
                opened.latest = min(opened.latest + shift, self.settings.last_year)
        else:
            opened.earliest = span.earliest if inclusive else span.latest
            opened.start_edtf, opened.end_edtf = spans.edge(span, far, masks=False), ""
            if opened.earliest is not None:
                opened.earliest -= shift
        if opened.earliest is None and opened.latest is None:  # "before 1000 or after"
            span.ambiguous = True
            return span
        return opened

    # -- chains --------------------------------------------------------------------------------

    def _chain(self, index: int, between: bool) -> Found | None:
        first = self.point(index, None)
        if first is None:
            return None
        links: list[tuple[str, Span]] = [("", first[0])]
        index = first[1]
        ends = [index]
        while True:
            link = self._connector(index, between, links[-1][1])
            if link is None:
                break
            name, after = link
            if name == "to" and self.tokens[after].kind is lx.PRESENT:
                links.append(("present", links[-1][1]))
                index = after + 1
                ends.append(index)
                break
            following = self.point(after, links[-1][1])
            if following is None:
                break
            index = following[1]
            if following[0].kind == "month" and following[0].number == -1:  # "1775-06"
                links, ends = [("", following[0])], [index]
                continue
            links.append((name, following[0]))
            ends.append(index)
            if len(links) == 4:
                break
        while not self._settle_pending(links):
            links.pop()
            if not links:
                return None
            index = ends[len(links) - 1]
        self._share_era(links)
        if len(links) == 1:
            span = links[0][1]
            if span.kind == "year" and self._open_dash(index):
                return self._open(span, lx.AFTER), index + 1
            spans.widen(span, self.settings)
            return span, index
        combined = self._combine(links)
        return None if combined is None else (combined, index)

    def _open_dash(self, index: int) -> bool:
        """ "1890-" or "1890+" at the end of the text: a range that was left open."""
        mark = self.tokens[index]
        following = self.tokens[index + 1]
        return mark.text in ("-", "+") and mark.glued and following.kind == "end"

    def _connector(self, index: int, between: bool, left: Span) -> tuple[str, int] | None:
        token = self.tokens[index]
        if token.kind is lx.PUNCT:
            if token.text == "-" or token.text == "/":
                after = index + 1
                while self.tokens[after].text in ("-", "'", "."):
                    after += 1
                if self.tokens[after].kind is lx.OR or self.tokens[after].kind is lx.TO:
                    after += 1
                return ("to" if token.text == "-" else "slash"), after
            if token.text == "." and self.tokens[index + 1].text in ("-", "/"):
                return "to", index + 2
            if token.text == "," and self.tokens[index + 1].kind is lx.OR:
                return "or", index + 2
            return None
        if token.kind is lx.OR:
            return "or", index + 1
        if token.kind is lx.TO or (token.kind is lx.BEFORE and token.text in ("until", "till")):
            return "to", index + 1
        if token.kind is lx.BEFORE and token.text == "jusque":
            return "to", index + 1
        if token.kind is lx.AND and (between or left.pending or left.kind != "year"):
            return "to", index + 1
        return None

    def _settle_pending(self, links: list[tuple[str, Span]]) -> bool:
        """ "17th-19th centuries": an ordinal takes its century from a later one."""
        settled = False
        for _, span in reversed(links):
            if span.pending:
                if not settled:
                    if span.part is None or len(links) > 1:
                        return False
                    span.pending = False
            elif span.kind in ("century", "part_of_century"):
                settled = True
        return True

    def _share_era(self, links: list[tuple[str, Span]]) -> None:
        if links[-1][1].era == "bc":
            for place, (name, span) in enumerate(links):
                if span.era is None:
                    links[place] = (name, spans.to_bc(span, self.settings))

    def _combine(self, links: list[tuple[str, Span]]) -> Span | None:
        first, last = links[0][1], links[-1][1]
        if links[-1][0] == "present":
            return self._open(first, lx.AFTER, inclusive=True)
        if first.circa and not last.circa:
            last.circa = True
        if first.unsure and not last.unsure:
            last.unsure = True
        low, high = first.earliest, last.latest
        if low is None or high is None:
            return None
        if low > high or (first.latest is not None and first.latest > high):
            self.rejected = True
            return None
        exact = (first.earliest, last.latest) if first.kind == last.kind == "year" else None
        for _, span in links:
            spans.widen(span, self.settings)
        start, end = spans.edge(first, "start"), spans.edge(last, "end")
        name = links[1][0]
        kind = "alternatives" if name == "or" else "range"
        if first.kind in ("century", "part_of_century") and kind == "range":
            kind = "range_of_centuries"
        core = None
        if kind == "alternatives" and exact and not (first.circa or last.circa or last.unsure):
            core = f"[{start},{end}]" if start != end else start
        return Span(
            first.earliest,
            last.latest,
            kind,
            core,
            circa=first.circa or last.circa,
            unsure=first.unsure or last.unsure,
            ambiguous=first.ambiguous or last.ambiguous,
            start_edtf=start,
            end_edtf=end,
            widened=True,
        )

    # -- points --------------------------------------------------------------------------------

    def _skip(self, index: int) -> int:
        """Past small words and stops that say nothing."""
        tokens = self.tokens
        while tokens[index].kind is lx.NOISE or tokens[index].text in _SKIPPED:
            if tokens[index].value == "period":
                break
            index += 1
        return index

    def point(self, index: int, previous: Span | None) -> Found | None:
        tokens = self.tokens
        circa = unsure = False
        while True:
            token = tokens[index]
            if token.kind is lx.CIRCA:
                circa = True
            elif token.kind is lx.HEDGE:
                unsure = True
            elif token.kind is lx.NOISE and token.value is None:
                pass
            elif token.kind is lx.PUNCT and (
                token.text in _SKIPPED or (token.text in ":-" and (circa or unsure))
            ):
                pass
            else:
                break
            index += 1
        found = self._unit(index, previous, circa)
        if found is None:
            return None
        span, index = found
        if circa and span.kind == "century" and span.ambiguous:
            span.core = span.core or None
        while True:
            token = tokens[index]
            if token.text in ("?", "%") or (token.kind is lx.PUNCT and token.text == "*"):
                unsure = True
                circa = circa or token.text == "%"
            elif token.text in ("(", "[") and tokens[index + 1].text == "?":
                unsure = True
                index += 2 if tokens[index + 2].text in (")", "]") else 1
            elif token.text == "~" or token.kind is lx.SUFFIX_CIRCA:
                circa = True
            elif token.text == "-" and tokens[index + 1].text == "ish" or token.text == "ish":
                circa = True
                index += token.text == "-"
            elif token.kind is lx.CIRCA and self._closes(token, index + 1):
                circa = True
            elif token.text in ("+", "±") and self._tolerance(index):
                circa = True
                after = self._tolerance(index)
                margin = tokens[after - 1].value
                if isinstance(margin, int) and span.earliest is not None:
                    return self._with_margin(span, margin, unsure), after
            elif token.kind is lx.PART and span.kind == "year" and self._ends(index + 1):
                pass
            elif token.text == "]" or (token.text == "." and tokens[index + 1].kind is lx.CIRCA):
                pass
            else:
                break
            index += 1
        span.circa = span.circa or circa
        span.unsure = span.unsure or unsure
        if unsure and span.kind == "part_of_century":
            self._hedge_part(span)
        return span, index

    def _closes(self, token: Token, index: int) -> bool:
        """Whether a word of circa stands after its date: "1925 ca."."""
        if token.text not in _CIRCA_LETTERS:
            return False
        while self.tokens[index].text in (".", ")", "]"):
            index += 1
        following = self.tokens[index]
        return following.kind not in (lx.NUM, lx.DECADE, lx.ORD, lx.PART, lx.CENTURY_NUM, lx.MASK)

    def _ends(self, index: int) -> bool:
        token = self.tokens[index]
        return token.kind in ("end", lx.PUNCT) and token.text not in (".", "'")

    def _tolerance(self, index: int) -> int:
        """The place after "+/- 5" or "±5"; 0 where none stands here."""
        tokens = self.tokens
        if tokens[index].text == "±" and tokens[index + 1].kind is lx.NUM:
            return index + 2
        if tokens[index + 1].text == "/" and tokens[index + 2].text == "-":
            return index + 4 if tokens[index + 3].kind is lx.NUM else 0
        return 0

    def _with_margin(self, span: Span, margin: int, unsure: bool) -> Span:
        low, high = span.earliest, span.latest
        widened = Span(low, high, span.kind, span.core, unsure=unsure)
        if low is not None and high is not None:
            widened.earliest, widened.latest = low - margin, high + margin
        widened.kind, widened.core = "margin", None
        return widened

    def _hedge_part(self, span: Span) -> None:
        if span.earliest is not None and span.latest is not None and span.earliest > 25:
            span.earliest -= 25
            span.latest = min(-(-span.latest // 5) * 5 + 20, self.settings.last_year)

    # -- units ---------------------------------------------------------------------------------

    def _unit(self, index: int, previous: Span | None, circa: bool) -> Found | None:
        token = self.tokens[index]
        kind = token.kind
        if kind is lx.NUM:
            return self._from_number(index, previous, circa)
        if kind is lx.FULL:
            return self._full(token, index)
        if kind is lx.DECADE:
            return self._decade(index, None, previous)
        if kind is lx.PART or kind == "latter_half":
            return self._part(index, previous)
        if kind is lx.ORD or kind is lx.ROMAN or kind is lx.ROMAN_ORD:
            return self._from_ordinal(index, previous)
        if kind is lx.CENTURY_NUM or kind is lx.C_NUM or kind is lx.CENTURY:
            return self._century(index, None, previous)
        if kind is lx.MASK:
            low, high = token.value  # type: ignore[misc]
            if low > self.settings.last_year:
                self.future = True
                return None
            core = f"{low // 10}X" if high - low == 9 else f"{low // 100}XX"
            return Span(low, min(high, self.settings.last_year), "masked", core), index + 1
        if kind is lx.MONTH or kind is lx.SEASON:
            return self._month(index)
        if kind is lx.NAMED:
            return self._named(index, None)
        if kind is lx.TEENS or kind is lx.TENS:
            return self._decade(index, None, previous)
        if kind is lx.ERA:
            number = self.tokens[index + 1]
            if number.kind is lx.NUM and isinstance(number.value, int) and number.value:
                return spans.year_span(number.value, era=str(token.value)), index + 2
            return None
        if kind is lx.FRACTION and token.value in (2, 4):
            return self._part(index, previous)
        if kind is lx.WORD and token.text == "s":
            return self._century(index, None, previous)
        return None

    def _full(self, token: Token, index: int) -> Found | None:
        year, core = token.value  # type: ignore[misc]
        if year > self.settings.last_year:
            self.future = True
            return None
        if year < 1000:
            return None
        return Span(year, year, "full_date" if len(core) != 7 else "month", core), index + 1

    def _year(self, index: int, circa: bool) -> Found | None:
        """A year in digits, with its era. Numbers under four digits need an era or a circa."""
        token, after = self.tokens[index], self.tokens[index + 1]
        value = token.value
        if token.kind is not lx.NUM or not isinstance(value, int) or value == 0:
            return None
        if after.kind is lx.ERA:
            if after.value == "ad" and value > self.settings.last_year:
                self.future = True
                return None
            return spans.year_span(value, era=str(after.value)), index + 2
        digits = len(token.text)
        if digits == 4:
            if token.text[0] == "0":
                return None
        elif not (digits == 3 and (circa or self.has_era)) and not (self.has_era and digits < 6):
            return None
        if self._is_quantity(index):
            self.rejected = True
            return None
        if value > self.settings.last_year and not self.has_era:
            self.future = True
            return None
        return spans.year_span(value), index + 1

    def _is_quantity(self, index: int) -> bool:
        """Whether the neighbours make a size, a code or an address of the number."""
        tokens = self.tokens
        token, after = tokens[index], tokens[index + 1]
        if after.kind is lx.UNIT and (after.value is None or after.glued):
            return not (after.text == '"' and index and tokens[index - 1].text == '"')
        if after.text == "copies":
            return True
        if after.glued and after.text.isalpha() and after.kind in _STUCK:
            return after.text != "ish"
        if token.glued and index:
            before = tokens[index - 1]
            if before.text[-1:].isalnum() and before.kind not in _MAY_TOUCH:
                return True
            if before.text in ("#", "+") or (
                before.text == "." and index > 1 and tokens[index - 2].kind is lx.NUM
            ):
                return True
        further = tokens[index + 2]
        if after.glued and further.glued and after.kind is lx.PUNCT and not self.has_era:
            if after.text in ("-", "/", ".") and further.text.isalpha():
                if further.text == "ish":
                    return False
                return further.kind is lx.WORD or (len(further.text) == 1 and further.text != "c")
            if further.kind is lx.NUM and after.text != "." and after.text != "(":
                digits = len(further.text)
                if digits == 4:
                    return further.text[0] == "0" or int(further.text) > self.settings.last_year
                return digits != 1 and (digits != 2 or after.text == ",")
        return further.text in _STREETS

    def _from_number(self, index: int, previous: Span | None, circa: bool) -> Found | None:
        tokens = self.tokens
        token, after = tokens[index], tokens[index + 1]
        value = token.value
        if not isinstance(value, int):
            return None
        if previous is not None:
            short = self._short_end(index, value, previous)
            if short is not None:
                return short
        if value <= 31 and len(token.text) <= 2:
            found = self._small_number(index, value, previous)
            if found is not None:
                return found
        if len(token.text) == 4 and after.kind is not lx.UNIT:
            dated = self._year_first(index, value)
            if dated is not None:
                return dated
        if previous is None and self._counted(index):
            self.rejected = True
            return None
        return self._year(index, circa)

    def _counted(self, index: int) -> bool:
        """ "12 of 1850", "44 1850 123456": one of several, or a group of digits."""
        tokens = self.tokens
        before = tokens[index - 1] if index else _END
        if before.text == "of" and index > 1:
            return tokens[index - 2].kind is lx.NUM
        if before.kind is lx.NUM:
            return True
        return tokens[index + 1].kind is lx.NUM and tokens[index + 2].kind is not lx.UNIT

    def _small_number(self, index: int, value: int, previous: Span | None) -> Found | None:
        """A day before its month, "2. Halfte", "18. Jh.", "19 century"."""
        tokens = self.tokens
        place = index + 1
        dotted = tokens[place].text == "."
        if dotted:
            place += 1
        if tokens[place].text == "-" and tokens[place + 1].kind is lx.MONTH:
            place += 1
        kind = tokens[place].kind
        if kind is lx.MONTH:
            return self._month(place, day=value)
        if kind is lx.FRACTION and dotted:
            return self._part(index, previous)
        if not 1 <= value <= 21:
            return None
        if kind is lx.CENTURY or tokens[place].text == "c" and tokens[place + 1].kind is not lx.NUM:
            return self._century(index, None, previous)
        if tokens[place].text in ("-", "/") and tokens[place + 1].kind in (
            lx.NUM,
            lx.ORD,
            lx.CENTURY_NUM,
        ):
            further = tokens[place + 2]
            if further.kind is lx.MONTH:
                return self._month(place + 2, day=value)
            if tokens[place + 1].kind is not lx.NUM or dotted or further.kind is lx.CENTURY:
                return self._century(index, None, previous)
        if tokens[place].kind in _CONNECTORS and dotted:
            return self._century(index, None, previous)
        if previous is not None and previous.kind == "century" and not previous.pending:
            return self._century(index, None, previous)
        return None

    def _short_end(self, index: int, value: int, previous: Span) -> Found | None:
        """ "1851-52", "1890-1", "1860s-70"; "1863-03" is a month of that year."""
        digits = len(self.tokens[index].text)
        after = self.tokens[index + 1]
        if digits > 2 or after.kind in (lx.CENTURY, lx.MONTH, lx.ERA, lx.UNIT, lx.ORD):
            return None
        if previous.kind == "year" and previous.era is None and previous.number >= 1000:
            scale = 10**digits
            end = previous.number // scale * scale + value
            if end > previous.number and end <= self.settings.last_year:
                return spans.year_span(end), index + 1
            if digits == 2 and previous.number % 100 == 99 and value == 0:
                return spans.year_span(previous.number + 1), index + 1
            if digits == 2 and 1 <= value <= 12:
                month = Span(previous.number, previous.number, "month", number=-1)
                month.core = f"{previous.number:04d}-{value:02d}"
                return month, index + 1
        return None

    def _year_first(self, index: int, year: int) -> Found | None:
        """ "1901 Jan 5", "1863 March", "1872 Spring"."""
        if not 1000 <= year <= self.settings.last_year:
            return None
        tokens = self.tokens
        place = index + 1
        if tokens[place].text in (",", "."):
            place += 1
        month = tokens[place]
        if month.kind is lx.SEASON:
            return Span(year, year, "season", f"{year:04d}-{month.value}"), place + 1
        if month.kind is not lx.MONTH or month.text in ("may", "mars", "march") and place > index + 1:
            return None
        core = f"{year:04d}-{month.value:02d}"
        day = tokens[place + 1]
        if day.kind in (lx.NUM, lx.ORD) and isinstance(day.value, int) and 1 <= day.value <= 31:
            if tokens[place + 2].kind is lx.NUM and len(tokens[place + 2].text) == 4:
                return None
            return Span(year, year, "full_date", self._day(core, day.value)), place + 2
        return Span(year, year, "month", core), place + 1

    @staticmethod
    def _day(core: str, day: int) -> str:
        longest = {"02": 29, "04": 30, "06": 30, "09": 30, "11": 30}.get(core[5:], 31)
        return f"{core}-{day:02d}" if 1 <= day <= longest else core

    def _month(self, index: int, day: int = 0) -> Found | None:
        """Month or season, then perhaps a day, then the year."""
        tokens = self.tokens
        month = tokens[index]
        place = index + 1
        several = False
        while tokens[place].text in ("-", "/", ".") or tokens[place].kind in (lx.AND, lx.TO):
            if tokens[place].text != ".":
                if tokens[place + 1].kind is not month.kind:
                    break
                several = True
                place += 1
            place += 1
        if not day and month.kind is lx.MONTH:
            candidate = tokens[place]
            if (
                candidate.kind in (lx.NUM, lx.ORD)
                and isinstance(candidate.value, int)
                and 1 <= candidate.value <= 31
                and len(candidate.text) <= 4
            ):
                day = candidate.value
                place += 1
                if tokens[place].text == "-" and tokens[place + 1].kind is lx.NUM:
                    if len(tokens[place + 1].text) <= 2:
                        place += 2
                        several = True
        while tokens[place].text in (",", ".") or tokens[place].kind is lx.NOISE:
            place += 1
        if tokens[place].text == "-" and tokens[place].glued:
            place += 1
        found = self._year(place, False)
        if found is None:
            return None
        span, place = found
        if span.earliest is None or span.earliest < 0:
            return span, place
        kind = "season" if month.kind is lx.SEASON else "month"
        if several:
            return Span(span.earliest, span.latest, kind, span.core, number=span.number), place
        core = f"{span.core}-{month.value:02d}"
        if day:
            kind, core = "full_date", self._day(core, day)
        result = Span(span.earliest, span.latest, kind, core, number=span.number)
        if kind == "season" and month.value == 24 and tokens[place].text in ("-", "/"):
            result.kind, result.core = "year", span.core
        return result, place

    # -- centuries, decades, parts ---------------------------------------------------------------

    def _from_ordinal(self, index: int, previous: Span | None) -> Found | None:
        tokens = self.tokens
        token = tokens[index]
        place = index + 1
        while tokens[place].kind is lx.NOISE or tokens[place].text == ".":
            place += 1
        kind = tokens[place].kind
        if kind is lx.MONTH and isinstance(token.value, int) and token.kind is lx.ORD:
            return self._month(place, day=token.value)
        if previous is not None and previous.kind == "named_period" and token.kind is lx.ROMAN:
            # "Louis XV/XVI", "George I or II"
            period = named_label(f"{previous.label.rsplit(' ', 1)[0]} {token.text}")
            return None if period is None else self._named_span(period, None, index + 1)
        if token.kind is lx.ROMAN and isinstance(token.value, int) and token.value > 21:
            if len(token.text) >= 4 and 1400 <= token.value <= self.settings.last_year:
                return Span(token.value, token.value, "roman_year", str(token.value)), index + 1
            return None
        if self._fraction_at(index) is not None:
            return self._part(index, previous)
        if kind is lx.MILLENNIUM and isinstance(token.value, int) and token.value > 0:
            return self._millennium(token.value, place + 1)
        return self._century(index, None, previous)

    def _millennium(self, number: int, index: int) -> Found | None:
        if self.tokens[index].kind is lx.ERA and self.tokens[index].value == "bc":
            return Span(-1000 * number, -1000 * number + 999, "millennium", era="bc"), index + 1
        if number > 2:
            return None
        index += self.tokens[index].kind is lx.ERA
        return Span(max(1, 1000 * (number - 1)), 1000 * number - 1, "millennium"), index

    def _fraction_at(self, index: int) -> tuple[tuple[int, int], int] | None:
        """ "first half of the", "2. Halfte", "last third": hundredths, and the place after."""
        tokens = self.tokens
        first = tokens[index]
        if first.kind not in (lx.ORD, lx.NUM, lx.ROMAN) or not isinstance(first.value, int):
            return None
        place = index + 1
        while tokens[place].text == ".":
            place += 1
        if tokens[place].text == "-" and tokens[place + 1].kind is lx.FRACTION:
            place += 1
        until = first.value
        if tokens[place].text in ("-", "/") or tokens[place].kind in _CONNECTORS:
            second = tokens[place + 1]
            if second.kind in (lx.ORD, lx.NUM) and isinstance(second.value, int):
                further = place + 2 + (tokens[place + 2].text == ".")
                if tokens[further].kind is lx.FRACTION:
                    until, place = second.value, further
        head = tokens[place]
        denominator = head.value if head.kind is lx.FRACTION else None
        if head.kind is lx.ORD and head.value == 3 and first.kind is lx.ORD and head.text == "third":
            denominator = 3
        if not isinstance(denominator, int):
            return None
        low = spans.fraction(first.value, denominator)
        high = spans.fraction(until, denominator)
        if low is None or high is None or low[0] > high[0]:
            return None
        return (low[0], high[1]), self._skip(place + 1)

    def _part(self, index: int, previous: Span | None) -> Found | None:
        tokens = self.tokens
        token = tokens[index]
        if token.kind is lx.PART and str(token.value).startswith("turn"):
            return self._turn(index)
        fraction = self._fraction_at(index)
        if fraction is not None:
            part, place = self._second_part(fraction[1], fraction[0]) or fraction
        elif token.kind is lx.PART:
            part, place = spans.PARTS[str(token.value)], index + 1
            while tokens[place].text == ".":
                place += 1
            joined = self._second_part(place, part)
            if joined is not None:
                part, place = joined
            if tokens[place].text == "-":
                place += 1
            third = tokens[place].text == "third" and token.value == "mid"
            if third and tokens[place + 1].kind is not lx.CENTURY:
                part, place = (33, 66), place + 1
            place = self._skip(place)
        elif token.kind == "latter_half":
            part, place = (50, 100), self._skip(index + 1)
        elif token.text in ("meta", "mitad", "half"):
            part, place = spans.PARTS["mid"], self._skip(index + 1)
            if token.text == "half":
                return None
        else:
            return None
        return self._of_part(place, part, previous)

    def _second_part(
        self, index: int, part: tuple[int, int]
    ) -> tuple[tuple[int, int], int] | None:
        """ "mid to late", "second quarter to mid": one span from the first part to the second."""
        tokens = self.tokens
        place = index
        while tokens[place].text in ("-", "/", ".") or tokens[place].kind in _CONNECTORS:
            place += 1
        if place == index:
            return None
        further = self._fraction_at(place)
        if further is None and tokens[place].kind is lx.PART:
            known = spans.PARTS.get(str(tokens[place].value))
            further = (known, place + 1) if known else None
        if further is None or further[0][1] <= part[0]:
            return None
        return (part[0], further[0][1]), self._skip(further[1])

    def _of_part(self, index: int, part: tuple[int, int], previous: Span | None) -> Found | None:
        """What the part is a part of."""
        token = self.tokens[index]
        kind = token.kind
        if kind is lx.CIRCA:
            found = self._of_part(index + 1, part, previous) if token.text != "c" else None
            if found is not None:
                found[0].circa = True
            return found
        if kind is lx.DECADE or kind is lx.TENS or kind is lx.TEENS:
            return self._decade(index, part, previous)
        if kind is lx.NAMED:
            return self._named(index, part)
        if kind is lx.NUM and len(token.text) == 4:
            return self._year(index, False)
        if kind is lx.FULL or kind is lx.MONTH or kind is lx.SEASON:
            return self._unit(index, None, False)
        if kind is lx.ORD and self.tokens[self._skip(index + 1)].kind is lx.MILLENNIUM:
            found = self._from_ordinal(index, previous)
            return None if found is None else (spans.part_of_range(found[0], part), found[1])
        return self._century(index, part, previous)

    def _turn(self, index: int) -> Found | None:
        tokens = self.tokens
        place = self._skip(index + 1 + (tokens[index + 1].text == "-"))
        token = tokens[place]
        alone = tokens[index].value == "turn_alone"
        if token.kind is lx.CENTURY or alone:
            place = index + 1 if alone else place + 1
            return Span(1890, 1910, "turn", ambiguous=not alone), place
        if token.kind is lx.NUM and isinstance(token.value, int) and token.value % 100 == 0:
            found = self._year(place, False)
            if found is None or found[0].earliest is None:
                return None
            year = found[0].earliest
            return Span(year - 10, year + 10, "turn"), place + 1
        found = self._century(place, None, None)
        if found is None or found[0].era == "bc" or found[0].pending:
            if found is None or not found[0].pending:
                return None
            chained = self._chain(place, False)
            if chained is None or chained[0].latest is None:
                return None
            begin = (chained[0].latest + 1) // 100 * 100 - 100
            return Span(begin - 10, begin + 10, "turn"), chained[1]
        number = found[0].number
        begin = 100 * (number - 1)
        if number == 19:
            # British use counts from its beginning, much American use from its end.
            return Span(1790, 1910, "turn", ambiguous=True), found[1]
        return Span(begin - 10, begin + 10, "turn"), found[1]

    def _century(self, index: int, part: tuple[int, int] | None, previous: Span | None) -> Found | None:
        """Any way of writing a century; an ordinal without the word comes back pending."""
        tokens = self.tokens
        token = tokens[index]
        kind = token.kind
        number = token.value
        place = index + 1
        pending = circa = ambiguous = False
        if kind is lx.CENTURY or (kind is lx.WORD and token.text == "s"):
            place += tokens[place].text == "."
            while tokens[place].kind is lx.NOISE:
                place += 1
            numeral = tokens[place]
            if numeral.kind not in (lx.ROMAN, lx.ROMAN_ORD, lx.ORD, lx.NUM):
                return None
            if numeral.kind is lx.NUM and (kind is lx.WORD or len(numeral.text) > 2):
                return None
            number = numeral.value
            place += 1
        elif kind is lx.CENTURY_NUM:
            ambiguous = token.text[-1] in "c." and token.text.rstrip("c.").isdigit()
            ambiguous = ambiguous and isinstance(number, int) and number < 15
        elif kind is lx.C_NUM:
            after = tokens[place]
            if after.kind is lx.ERA and token.text[-1].isdigit():
                if isinstance(number, int) and number:
                    year = spans.year_span(number, era=str(after.value))
                    year.circa = True
                    return year, place + 1
                return None
            if after.kind is lx.MONTH and isinstance(number, int):
                found = self._month(place, day=number)
                if found is not None:
                    found[0].circa = True
                return found
            if after.kind is lx.CENTURY:
                circa = True
                place += 1
            elif after.kind in (lx.FRACTION, lx.UNIT) or (
                token.text[-1].isdigit()
                and isinstance(number, int)
                and number < 13
                and not self.has_era
            ):
                return None
        elif kind in (lx.ORD, lx.ROMAN, lx.ROMAN_ORD, lx.NUM):
            if kind is lx.NUM and len(token.text) > 2:
                return None
            if tokens[place].text == "." or (kind is lx.ROMAN and tokens[place].text == "°"):
                place += 1
            if tokens[place].text == "-" and tokens[place + 1].kind is lx.CENTURY:
                place += 1
            after = tokens[place]
            if after.kind is lx.CENTURY or (
                after.text in ("c", "s", "th") and tokens[place + 1].kind is not lx.NUM
            ):
                place += 1
                if after.text == "th":
                    if tokens[place].kind is not lx.CENTURY and tokens[place].text != "c":
                        return None
                    place += 1
            elif previous is not None and previous.kind == "century" and not previous.pending:
                if kind is lx.NUM and tokens[place].kind is lx.UNIT:
                    return None
            elif kind is lx.ROMAN_ORD and isinstance(number, int) and number >= 10:
                pass
            else:
                pending = True
                if place > index + 1 and tokens[place].text not in ("-", "/"):
                    if tokens[place].kind not in _CONNECTORS:
                        place = index + 1
        else:
            return None
        if not isinstance(number, int) or not 1 <= number <= 60:
            return None
        if tokens[place].text == "." and tokens[place + 1].kind is lx.ERA:
            place += 1
        era = None
        if tokens[place].text == "," and tokens[place + 1].kind is lx.ERA:
            place += 1
        if tokens[place].kind is lx.ERA:
            era = str(tokens[place].value)
            place += 1
        elif number > 21 and not self.has_era:
            return None
        if era != "bc" and not self.has_era and 100 * (number - 1) > self.settings.last_year:
            self.future = True
            return None
        if part is None and not pending:
            part, place = self._part_after(place)
        span = spans.century_span(number, part, era, self.settings)
        span.pending, span.circa, span.ambiguous = pending, circa, ambiguous
        return span, place

    def _part_after(self, index: int) -> tuple[tuple[int, int] | None, int]:
        """ "19th century, early", "1800-talets slut", "18th century (late)"."""
        tokens = self.tokens
        place = index
        if tokens[place].text == "s":
            place += 1
        bracket = tokens[place].text == "("
        if bracket or tokens[place].text in (",", "-"):
            place += 1
        token = tokens[place]
        if token.kind is lx.PART and str(token.value) in spans.PARTS:
            after = tokens[place + 1]
            if after.kind == "end" or after.text in (";", ",", ")", "."):
                return spans.PARTS[str(token.value)], place + 1 + (bracket and after.text == ")")
        fraction = self._fraction_at(place)
        if fraction is not None and tokens[fraction[1]].kind in ("end", lx.PUNCT):
            return fraction[0], fraction[1] + (bracket and tokens[fraction[1]].text == ")")
        return None, index

    def _decade(self, index: int, part: tuple[int, int] | None, previous: Span | None) -> Found | None:
        tokens = self.tokens
        token = tokens[index]
        ambiguous = False
        place = index + 1
        if token.kind is lx.TEENS:
            following = tokens[place]
            if following.text == "-":
                place += 1
                following = tokens[place]
            base = int(str(token.value)) * 100
            if following.kind is lx.HUNDREDS:
                return self._hundreds(base, part, place + 1)
            if following.kind is not lx.TENS:
                return None
            first = base + int(str(following.value))
            place += 1
        elif token.kind is lx.TENS:
            first, ambiguous = 1900 + int(str(token.value)), True
        else:
            first, digits = token.value  # type: ignore[misc]
            if digits == 4 and first % 100 == 0:
                return self._hundreds(first, part, place)
            if digits == 2:
                ambiguous = True
                first = first if first >= 1000 else 1900 + first
        if ambiguous and previous is not None and previous.number >= 1000 and not previous.ambiguous:
            first = previous.number // 100 * 100 + first % 100
            ambiguous = False
        if first > self.settings.last_year:
            self.future = True
            return None
        span = spans.decade_span(first, part, self.settings)
        if span is None:
            return None
        span.ambiguous = ambiguous
        return span, place

    def _hundreds(self, first: int, part: tuple[int, int] | None, index: int) -> Found | None:
        """ "1800s": a century or a decade; with a part ("late 1800s") the century."""
        if first > self.settings.last_year:
            self.future = True
            return None
        if part is None:
            part, index = self._part_after(index)
        span = spans.century_span(first // 100 + 1, part, None, self.settings)
        if part is None:
            span.ambiguous = True
            span.core = f"{first // 100:02d}XX"
            span.earliest = first
            span.kind = "hundreds"
            span.number = first
        return span, index

    def _named(self, index: int, part: tuple[int, int] | None) -> Found | None:
        return self._named_span(self.tokens[index].value, part, index + 1)

    def _named_span(self, period: object, part: tuple[int, int] | None, index: int) -> Found:
        span = Span(period.earliest, period.latest, "named_period")  # type: ignore[attr-defined]
        span.label = period.label  # type: ignore[attr-defined]
        span.ambiguous = period.kind == "ambiguous"  # type: ignore[attr-defined]
        if span.latest is not None and span.latest > self.settings.last_year:
            span.latest = self.settings.last_year
        if part is not None:
            ambiguous = span.ambiguous
            span = spans.part_of_range(span, part)
            span.ambiguous = ambiguous
        return span, index
