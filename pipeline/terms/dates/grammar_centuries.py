"""Units counted in centuries: centuries, their parts, decades, hundreds, named periods."""

from __future__ import annotations

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates import spans
from pipeline.terms.dates.grammar_base import CONNECTORS, Found, GrammarBase
from pipeline.terms.dates.lexer import named_label
from pipeline.terms.dates.model import Span
from pipeline.terms.dates.named import NamedPeriod

_COINS = frozenset({"cent", "cents"})
_LEAST_CENTURY = 12  # of a bare number before "cent" and without an era
_ITALIAN_OF = frozenset({"del", "dell", "sec", "secolo", "anni"})

_MONEY = "$£€¥"


class CenturyGrammar(GrammarBase):
    """Rules for whatever names more than a year."""

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
        if tokens[place].text in ("-", "/") or tokens[place].kind in CONNECTORS:
            second = tokens[place + 1]
            if second.kind in (lx.ORD, lx.NUM) and isinstance(second.value, int):
                further = place + 2 + (tokens[place + 2].text == ".")
                if tokens[further].kind is lx.FRACTION:
                    until, place = second.value, further
        head = tokens[place]
        denominator = head.value if head.kind is lx.FRACTION else None
        if (
            head.kind is lx.ORD
            and head.value == 3
            and first.kind is lx.ORD
            and head.text == "third"
        ):
            denominator = 3
        if not isinstance(denominator, int):
            return None
        low = spans.fraction(first.value, denominator)
        high = spans.fraction(until, denominator)
        if low is None or high is None or low[0] > high[0]:
            return None
        place += 1
        if tokens[place].text == "," and tokens[place + 1].kind in (lx.ORD, lx.ROMAN_ORD):
            place += 1
        return (low[0], high[1]), self._skip(place)

    def _part(self, index: int, previous: Span | None) -> Found | None:
        tokens = self.tokens
        token = tokens[index]
        if token.kind is lx.PART and str(token.value).startswith("turn"):
            return self._turn(index)
        if token.text == "fine" and not self._is_italian(index + 1):
            return None  # "a fine George III barometer"
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

    def _is_italian(self, index: int) -> bool:
        """Whether what follows is a century as Italians write it: "fine XIX secolo"."""
        token = self.tokens[index]
        if token.text in _ITALIAN_OF:
            return True
        return token.kind in (lx.ROMAN, lx.ROMAN_ORD) or (
            token.kind is lx.CENTURY_NUM and token.text.endswith("cento")
        )

    def _second_part(self, index: int, part: tuple[int, int]) -> tuple[tuple[int, int], int] | None:
        """ "mid to late", "second quarter to mid": one span from the first part to the second."""
        tokens = self.tokens
        place = index
        while tokens[place].text in ("-", "/", ".") or tokens[place].kind in CONNECTORS:
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
        if kind is lx.CIRCA and token.text != "c":
            if self.tokens[index + 1].kind is lx.CIRCA:
                return None
            found = self._of_part(index + 1, part, previous)
            if found is not None:
                found[0].circa = True
            return found
        if kind is lx.DECADE or kind is lx.TENS or kind is lx.TEENS:
            return self._decade(index, part, previous)
        if kind is lx.NAMED:
            return self._named(index, part)
        if kind is lx.NUM and len(token.text) == 4:
            return self._year(index, False)
        if kind is lx.NUM and self.tokens[index + 1].kind is lx.UNIT:
            return None  # "drawer at one end, 7 ft"
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

    def _century(
        self, index: int, part: tuple[int, int] | None, previous: Span | None
    ) -> Found | None:
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
            elif (after.kind in (lx.FRACTION, lx.UNIT) and after.text[0] not in _MONEY) or (
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
            coins = kind is lx.NUM and after.text in _COINS and number < _LEAST_CENTURY
            if coins and not self.has_era:
                return None  # "slot machine, 5 cent"
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
                joined = tokens[place].text in ("-", "/") or tokens[place].kind in CONNECTORS
                if not joined:
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
        if span.earliest is not None and span.earliest > self.settings.last_year:
            self.future = True
            return None
        span.pending, span.circa, span.ambiguous = pending, circa, ambiguous
        return span, place

    def _part_after(self, index: int) -> tuple[tuple[int, int] | None, int]:
        """ "19th century, early", "1800-talets slut", "18th century (late)"."""
        tokens = self.tokens
        place = index
        if tokens[place].text == "s":
            place += 1
        if tokens[place].text == "." and tokens[place + 1].text == ",":
            place += 1  # "20 c., first half"
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

    def _decade(
        self, index: int, part: tuple[int, int] | None, previous: Span | None
    ) -> Found | None:
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
            first, digits = token.value
            if digits == 4 and first % 100 == 0:
                return self._hundreds(first, part, place)
            if digits == 2:
                ambiguous = True
                first = first if first >= 1000 else 1900 + first
        if (
            ambiguous
            and previous is not None
            and previous.number >= 1000
            and not previous.ambiguous
        ):
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
        if part is not None and first + 99 > self.settings.last_year:
            # This century's "mid-2000s" are a decade; its "early 2000s" may be either.
            decade = spans.decade_span(first, part, self.settings)
            if decade is not None and part[0] > 0:
                span = decade
            span.ambiguous = part[0] == 0
        if span.earliest is not None and span.earliest > self.settings.last_year:
            self.future = True
            return None
        if part is None:
            span.ambiguous = True
            span.core = f"{first // 100:02d}XX"
            span.earliest = first
            span.latest = min(first + 99, self.settings.last_year)
            span.kind = "hundreds"
            span.number = first
        return span, index

    def _named(self, index: int, part: tuple[int, int] | None) -> Found | None:
        return self._named_span(self.tokens[index].value, part, index + 1)

    def _named_span(self, period: NamedPeriod, part: tuple[int, int] | None, index: int) -> Found:
        span = Span(period.earliest, period.latest, "named_period")
        span.label = period.label
        span.ambiguous = period.kind == "ambiguous"
        if span.latest is not None and span.latest > self.settings.last_year:
            span.latest = self.settings.last_year
        if part is not None:
            ambiguous = span.ambiguous
            span = spans.part_of_range(span, part)
            span.ambiguous = ambiguous
        return span, index
