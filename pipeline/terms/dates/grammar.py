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
from pipeline.terms.dates.grammar_base import SKIPPED, Found
from pipeline.terms.dates.grammar_centuries import CenturyGrammar
from pipeline.terms.dates.grammar_years import YearGrammar
from pipeline.terms.dates.lexer import Token
from pipeline.terms.dates.model import Span

_CIRCA_LETTERS = frozenset(
    {"c", "ca", "circa", "approx", "approximately", "about", "~", "±", "cca"}
)
_RANGES = frozenset({"range", "alternatives", "range_of_centuries", "range_of_periods"})

_LOOSE_PARTS = frozenset(spans.PARTS[name] for name in ("early", "mid", "late"))
_DECADES = frozenset({"decade", "part_of_decade"})
_OR_LATER = frozenset({"and later", "or later"})


class Grammar(YearGrammar, CenturyGrammar):
    """Reads date expressions from one list of tokens."""

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
                span = self.open_side(span, lx.AFTER, inclusive=True)
            return self._trailing(span, index)
        found = self._chain(index, between)
        if found is None:
            return None
        span, index = found
        if side is not None and not (side is lx.AFTER and self.closed):
            span = self.open_side(span, side)
        return self._trailing(span, index)

    def _trailing(self, span: Span, index: int) -> Found:
        kind = self.tokens[index].kind
        if self.tokens[index].text == "," and self.tokens[index + 1].text in _OR_LATER:
            index, kind = index + 1, lx.LATER  # "c. 1760, and later"
        if kind is lx.LATER:
            after = self.tokens[index + 1]
            if self.tokens[index].text != "later" or after.kind in ("end", lx.PUNCT):
                return self.open_side(span, lx.AFTER, inclusive=True), index + 1
        if kind is lx.EARLIER:
            return self.open_side(span, lx.BEFORE, inclusive=True), index + 1
        return span, index

    def open_side(self, span: Span, side: str, *, inclusive: bool = False) -> Span:
        """Open to one side. The bound itself stays in: before 1928 ends with 1928, before the
        19th century with 1800; "1890s and later" begins with 1890."""
        spans.widen(span, self.settings)
        opened = Span(None, None, "before" if side is lx.BEFORE else "after")
        opened.circa, opened.unsure = span.circa, span.unsure
        inclusive = inclusive or span.kind in _RANGES
        single = span.widened and not inclusive
        shift = 2 * self.settings.circa_years if single else 0
        near, far = ("end", "start") if inclusive else ("start", "end")
        if side is lx.BEFORE:
            opened.latest = span.latest if inclusive else span.earliest
            opened.start_edtf, opened.end_edtf = "", spans.edge(span, near, masks=False)
            if opened.latest is not None:
                opened.latest = min(opened.latest + shift, self.settings.last_year)
                if (
                    opened.latest == self.settings.last_year and not opened.circa
                ):  # "before 1400-2000s": until today
                    opened.end_edtf = f"{opened.latest:04d}"
        else:
            opened.earliest = span.earliest if inclusive else span.latest
            opened.start_edtf, opened.end_edtf = spans.edge(span, far, masks=False), ""
            if opened.earliest is not None:
                opened.earliest -= shift
        if opened.earliest is None and opened.latest is None:  # "before 1000 or after"
            span.ambiguous = True
            return span
        return opened

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
            if following is None or self._beside(after - 1, links[-1][1], following[0]):
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
        last_year = self.settings.last_year
        if any(span.latest is not None and span.latest > last_year for _, span in links):
            self.future = True  # "1990-2050" beside a date BC, where bare years may run higher
            return None
        if len(links) == 1:
            span = links[0][1]
            if span.kind == "year" and self._open_dash(index):
                return self.open_side(span, lx.AFTER), index + 1
            spans.widen(span, self.settings)
            return span, index
        combined = self._combine(links)
        return None if combined is None else (combined, index)

    def _open_dash(self, index: int) -> bool:
        """ "1890-" or "1890+" at the end of the text: a range that was left open."""
        mark = self.tokens[index]
        following = self.tokens[index + 1]
        return mark.text in ("-", "+") and mark.glued and following.kind == "end"

    def _beside(self, index: int, left: Span, right: Span) -> bool:
        """ "About 1805 - Regency": a dash between spaces, with a year at one side alone."""
        dash = self.tokens[index]
        spaced = dash.text == "-" and not dash.glued and not self.tokens[index + 1].glued
        named = (left.kind == "named_period") + (right.kind == "named_period")
        return spaced and named == 1

    def _connector(self, index: int, between: bool, left: Span) -> tuple[str, int] | None:
        token = self.tokens[index]
        if left.kind in _DECADES and self._opens_later_decade(index, left):
            return "to", index  # "1950s 1960s", "late 1960s early 1970s"
        if token.kind is lx.PUNCT:
            if token.text == "-" or token.text == "/":
                after = index + 1
                while self.tokens[after].text in ("-", "'", "."):
                    after += 1
                if self.tokens[after].kind is lx.BEFORE:  # "1650 - in or before 1675"
                    self.closed = True
                    return "to", self._skip(after + 1)
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

    def _opens_later_decade(self, index: int, left: Span) -> bool:
        if self.tokens[index].kind is lx.PART:
            index += 1
        token = self.tokens[index]
        if token.kind is not lx.DECADE or left.earliest is None:
            return False
        years, figures = token.value
        return bool(years > (left.earliest if figures > 2 else left.earliest % 100))

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
        if first.kind == "hundreds" and last.kind in ("decade", "part_of_decade", "year"):
            decade = spans.decade_span(first.number, None, self.settings)
            within = last.latest is not None and last.latest < first.number + 100
            if decade is not None and within:  # "1900s-1920s": the other end tells
                decade.circa, decade.unsure = first.circa, first.unsure
                first, links[0] = decade, (links[0][0], decade)
                last.ambiguous = False
        if last.kind == "hundreds" and first.kind in _DECADES:  # "1890s-1900s"
            decade = spans.decade_span(last.number, None, self.settings)
            if decade is not None and first.latest == last.number - 1:
                decade.circa, decade.unsure = last.circa, last.unsure
                last, links[-1] = decade, (links[-1][0], decade)
        elif first.kind == last.kind == "hundreds" and first.number < last.number:
            first.ambiguous = last.ambiguous = False  # "1700s-1800s": the decades lie too far apart
        if links[-1][0] == "present":
            return self.open_side(first, lx.AFTER, inclusive=True)
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
        if any(mark in start + end for mark in "~?%"):  # no 18XX beside a mark, as in `edge`
            start, end = start.replace("X", "0"), end.replace("X", "9")
        name = links[1][0]
        kind = "alternatives" if name == "or" else "range"
        if first.kind in ("century", "part_of_century") and kind == "range":
            kind = "range_of_centuries"
        if first.kind == last.kind == "named_period":
            kind = "range_of_periods"
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

    def point(self, index: int, previous: Span | None) -> Found | None:
        tokens = self.tokens
        circa = unsure = False
        while True:
            token = tokens[index]
            if token.kind is lx.CIRCA:
                circa = True
            elif token.kind is lx.HEDGE:
                unsure = True
            elif (token.kind is lx.NOISE and token.value is None) or (
                token.kind is lx.PUNCT
                and (token.text in SKIPPED or (token.text in ":-" and (circa or unsure)))
            ):
                pass
            else:
                break
            index += 1
        found = self._unit(index, previous, circa)
        if found is None:
            return None
        span, index = found
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
            elif (token.text == "-" and tokens[index + 1].text == "ish") or token.text == "ish":
                circa = True
                index += token.text == "-"
            elif token.kind is lx.CIRCA and self._closes(token, index + 1):
                circa = True
            elif token.text in ("+", "±") and self._tolerance(index):
                circa = True
                after = self._tolerance(index)
                margin = tokens[after - 1].value
                if isinstance(margin, int) and span.earliest is not None:
                    after += tokens[after].kind is lx.UNIT and tokens[after].value is None
                    return self._with_margin(span, margin, unsure), after
            elif (
                (token.kind is lx.PART and span.kind == "year" and self._ends(index + 1))
                or token.text == "]"
                or (token.text == "." and tokens[index + 1].kind is lx.CIRCA)
            ):
                pass
            else:
                break
            index += 1
        span.circa = span.circa or circa
        span.unsure = span.unsure or unsure
        # a half has firm ends; the ends of early, mid and late are loose
        if unsure and span.kind == "part_of_century" and span.part in _LOOSE_PARTS:
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
