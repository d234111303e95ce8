"""Units counted in years and days: years, full dates, months and seasons, and the numbers that
their neighbours make something else."""

from __future__ import annotations

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates import spans
from pipeline.terms.dates.grammar_base import CONNECTORS, END, Found, GrammarBase
from pipeline.terms.dates.lexer import Token
from pipeline.terms.dates.model import Span

# Letters stuck to a number make a code of it, save these before it.
_STUCK = frozenset({lx.WORD, lx.REF, lx.ROMAN, lx.NOISE, lx.HEDGE, lx.TO, lx.OR, lx.AND})
_MAY_TOUCH = frozenset({lx.CIRCA, lx.ERA, lx.MONTH, lx.SEASON, lx.ROLE, lx.BEFORE, lx.AFTER})
_MODEL_NOUNS = frozenset({"pattern", "patt"})
_STREETS = frozenset({"street", "road", "avenue", "lane", "ave"})

_SIZE_WORDS = frozenset({"in", "day", "piece"})  # "1900 12in high": the second number is a size


class YearGrammar(GrammarBase):
    """Rules for whatever names a single year."""

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
            low, high = token.value
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
            if token.value == "ad" and number.kind in (lx.ORD, lx.ROMAN, lx.PART):
                return self._unit(index + 1, previous, circa)  # "AD 15th century"
            return None
        if kind is lx.FRACTION and token.value in (2, 4):
            return self._part(index, previous)
        if kind is lx.WORD and token.text == "s":
            return self._century(index, None, previous)
        return None

    def _full(self, token: Token, index: int) -> Found | None:
        year, core = token.value
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
            # "Anna Schreiner 1789" in quotation marks: nothing is so many inches long
            opened = index and tokens[index - 1].text == '"'
            return not (after.text == '"' and (opened or len(token.text) == 4))
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
                if digits > 2 or after.text == ",":
                    return digits != 1
                short, year = int(further.text), int(token.text)
                return short <= year % 10**digits and not (digits == 2 and 0 <= short <= 12)
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
        if previous is None and self._counted(index, circa):
            self.rejected = True
            return None
        return self._year(index, circa)

    def _counted(self, index: int, circa: bool) -> bool:
        """ "12 of 1850", "1796 pattern": one of several, a model, or a group of digits."""
        tokens = self.tokens
        before = tokens[index - 1] if index else END
        if tokens[index + 1].text in _MODEL_NOUNS and len(tokens[index].text) == 4:
            return True  # "1796 pattern": the year of the model
        if before.text == "of" and index > 1:
            return tokens[index - 2].kind is lx.NUM
        if before.kind is lx.NUM and tokens[index - 2].text == "aged":
            return False  # "Hannah Potter aged 9 1823"
        if before.kind is lx.NUM:
            return tokens[index - 2].text != "/"  # "12/75 1983": an edition, then a year
        if tokens[index + 1].kind is not lx.NUM or (circa and len(tokens[index].text) == 4):
            return False  # "c1850 8 day"
        further = tokens[index + 2]
        if further.text == "/" and len(tokens[index].text) == 4:
            return False  # "1948 12/75": an edition behind the year
        return further.kind is not lx.UNIT and further.text not in _SIZE_WORDS

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
        if kind is lx.CENTURY or (
            tokens[place].text == "c" and tokens[place + 1].kind is not lx.NUM
        ):
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
        if tokens[place].kind in CONNECTORS and dotted:
            return self._century(index, None, previous)
        if previous is not None and previous.kind == "century" and not previous.pending:
            return self._century(index, None, previous)
        return None

    def _short_end(self, index: int, value: int, previous: Span) -> Found | None:
        """ "1851-52", "1890-1", "1860s-70"; "1863-03" is a month of that year."""
        digits = len(self.tokens[index].text)
        after = self.tokens[index + 1]
        if digits > 2 or after.kind in (lx.CENTURY, lx.MONTH, lx.UNIT, lx.ORD):
            return None
        if after.kind is lx.ERA and after.value != "ad":
            return None
        era = after.kind is lx.ERA  # "1657-8 AD"
        least = 100 if era or previous.era == "ad" else 1000  # "AD 150-75"
        if previous.kind == "year" and previous.era in (None, "ad") and previous.number >= least:
            scale = 10**digits
            end = previous.number // scale * scale + value
            if end > previous.number and end <= self.settings.last_year:
                return spans.year_span(end), index + 1 + era
            if era:
                return None
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
        if month.kind is not lx.MONTH or (
            month.text in ("may", "mars", "march") and place > index + 1
        ):
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
                until = tokens[place + 1]
                if tokens[place].text == "-" and until.kind is lx.NUM and len(until.text) <= 2:
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
