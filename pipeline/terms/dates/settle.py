"""Settle on the date of making among the dates that a text names.

What wins, in this order:

1. A date of making over a date of design, of a patent, of an inscription, of the maker's firm.
2. A date in figures over a named period; where the two overlap by a tenth or more, their overlap
   ("Edo period (1615-1868), 19th century" is 1800..1868).
3. Of two dates that overlap, the narrower. Of two that do not, the first, and the reading is
   uncertain; so too for "1863, printed 1870", where python-edtf publishes 1863.
4. When a copy was made ("dated 1679 but 20th century copy") over what it bears.
5. A style, a model, a copy, a mark without "and period", the years of a person's life are never a
   date of making: certainty "style", no years, unless another date stands in the text.
"""

from __future__ import annotations

from pipeline.terms.dates import spans
from pipeline.terms.dates.model import Span
from pipeline.terms.dates.scan import NOT_OF_MAKING, Item, Scan

_MAKING = frozenset({None, "made", "cast", "printed", "dated"})
_THIS_PIECE = frozenset(
    {
        "this example", "this print", "this impression", "this cast", "this version", "made",
        "made in", "manufactured", "produced", "executed", "built", "constructed", "printing",
    }
)  # fmt: skip
_OVERLAP = 0.1
_AS_THE_TABLE = 20  # years; ends of a period on which books differ
_REPRODUCED_SINCE = 1880  # what bears an earlier date and is called a reproduction copies it
_GENERATION = 30  # years; what a cataloguer's "early" may be out by


def settle(scan: Scan) -> tuple[Span, str, str] | None:
    """The date of making, its certainty and the rule that read it; None where there is none."""
    if len(scan.items) == 1 and not (scan.repro or scan.later_print):  # most texts
        only = scan.items[0]
        if only.role in _MAKING and not (only.style or only.life):
            return only.span, "stated", only.span.kind
    usable = [
        item
        for item in scan.items
        if not item.style and not item.life and item.role not in NOT_OF_MAKING
    ]
    named = [item for item in usable if item.span.kind == "named_period"]
    explicit = [item for item in usable if item.span.kind != "named_period"]
    if scan.repro:
        # "Bible 1611 facsimile": a bare year beside a copy is as often the original's.
        named = []
        explicit = [i for i in explicit if not (i.span.kind == "year" and i.span.unsure)]
        if scan.reproduced:  # "fireback dated 1649, reproduction"
            explicit = [
                i for i in explicit if i.role != "dated" or spans.high(i.span) >= _REPRODUCED_SINCE
            ]
        for item in explicit:
            item.span.unsure = True
    copied = [i for i in explicit if i.copied]
    if copied:  # "dated 1679 but 20th century copy"
        return copied[0].span, "uncertain", copied[0].span.kind
    making = [i for i in explicit if i.role in _MAKING]
    if making:
        return _settle_named(_settle_making(making, explicit, scan), named)
    for role, settle in (
        ("design", _design),
        ("patent", _not_before),
        ("introduced", _not_before),
    ):
        chosen = [item for item in explicit if item.role == role]
        if chosen and (role == "design" or chosen[0].span.earliest is not None):
            return settle(chosen[0].span, scan)
    for role, rule in (("inscribed", "inscribed_date"), ("active", "active_dates")):
        chosen = [item for item in explicit if item.role == role]
        # "Victorian tankard engraved Regatta 1872": the period bears the year out
        borne_out = role == "inscribed" and any(
            spans.overlap(chosen[0].span, name.span) for name in named if chosen
        )
        if chosen and (borne_out or not named):
            if scan.later_print and chosen[0].span.latest is not None:
                return _opened_after(chosen[0].span), "uncertain", "printed_later"
            return chosen[0].span, "uncertain", rule
    if named:
        return _narrowest(named), "stated", "named_period"
    founded = [item for item in explicit if item.role == "founded"]
    if founded and founded[0].word == "est" and founded[0].span.earliest is not None:
        # "est. 1820": a firm's founding, or an estimate; no later bound holds for both.
        span, _, _ = _not_before(founded[0].span, scan)
        return span, "ambiguous", "founded_or_estimated"
    return None


def _settle_making(making: list[Item], explicit: list[Item], scan: Scan) -> tuple[Span, str, str]:
    designs = [item for item in explicit if item.role == "design"]
    if designs:
        chosen = next((i for i in making if i.role in ("made", "cast")), making[0])
        return chosen.span, "stated", _rule(chosen)
    making = [item for item in making if not _of_the_hijra(item, making)] or making
    clear = [item for item in making if not (item.span.ambiguous and item.span.kind == "century")]
    making = clear or making  # "10c 1890": ten cents, not the tenth century
    first = making[0]
    if scan.later_print and first.span.latest is not None:
        return _opened_after(first.span), "uncertain", "printed_later"
    if len(making) == 1:
        return first.span, "stated", _rule(first)
    for item in making[1:]:
        # a model may be old when it is cast, a coronation when its mug is made
        later = item.role == "cast" or item.word in _THIS_PIECE
        if later and first.role is None and not spans.overlap(first.span, item.span):
            return item.span, "stated", _rule(item)
    if first.role in (None, "made") and any(i.role == "printed" for i in making[1:]):
        return first.span, "uncertain", "image_date"
    best = first
    for item in making[1:]:
        low, high = best.span.earliest, item.span.latest
        open_both = best.span.latest is None and item.span.earliest is None
        if open_both and low is not None and high is not None and low <= high:
            return Span(low, high, "range"), "stated", "range"  # "after 1700, before 1750"
        if not spans.overlap(best.span, item.span):
            if item.role == "dated" and _near(best.span, item.span):
                return item.span, "stated", _rule(item)  # "early 18th century, dated 1729"
            return first.span, "uncertain", "first_of_several"
        if spans.length(item.span) < spans.length(best.span):
            best = item
    return best.span, "stated", _rule(best)


def _of_the_hijra(item: Item, making: list[Item]) -> bool:
    """ "Dated 1267 [1850-51]": a lunar year, with the common ones beside it."""
    year = item.span.earliest
    if item.span.kind != "year" or year is None or not 900 <= year <= 1450:
        return False
    # a lunar year of the Hijra is 0.970225 of a solar one; year 1 began in 622 (common knowledge)
    common = round(year * 0.970225 + 621.57)
    return any(
        other is not item and abs((other.span.earliest or 0) - common) <= 1 for other in making
    )


def _settle_named(settled: tuple[Span, str, str], named: list[Item]) -> tuple[Span, str, str]:
    span, certainty, rule = settled
    if not named or certainty != "stated" or span.earliest is None or span.latest is None:
        return settled
    period = _narrowest(named)
    told = abs(span.earliest - (period.earliest or 0)), abs(span.latest - (period.latest or 0))
    if span.kind == "range" and max(told) <= _AS_THE_TABLE:
        return settled  # "Edo period (1603-1868)": what the text says beats the table
    low = max(span.earliest, period.earliest if period.earliest is not None else span.earliest)
    high = min(span.latest, period.latest if period.latest is not None else span.latest)
    length = span.latest - span.earliest + 1
    if high < low:
        return span, "uncertain", rule
    if (low, high) == (span.earliest, span.latest) or span.circa or length < 20:
        return settled
    if (high - low + 1) / length < _OVERLAP:
        return span, "uncertain", rule
    narrowed = Span(low, high, span.kind, unsure=span.unsure, ambiguous=span.ambiguous)
    return narrowed, certainty, f"{rule}_in_period"


def _narrowest(named: list[Item]) -> Span:
    """The reign of "Qing dynasty, Guangxu period"; a name that lies elsewhere is passed over."""
    best = named[0].span
    for item in named[1:]:
        if spans.overlap(best, item.span) and spans.length(item.span) < spans.length(best):
            best = item.span
    return best


def _design(span: Span, scan: Scan) -> tuple[Span, str, str]:
    if scan.later_print:
        return _opened_after(span), "uncertain", "printed_later"
    return span, "uncertain", "design_date"


def _not_before(span: Span, scan: Scan) -> tuple[Span, str, str]:
    start = spans.edge(span, "start", masks=False)
    opened = Span(span.earliest, None, "after", circa=span.circa, unsure=span.unsure)
    opened.start_edtf, opened.end_edtf = start, ""
    return opened, "stated", "not_before"


def _opened_after(span: Span) -> Span:
    opened = Span(span.latest, None, "after", circa=span.circa, unsure=span.unsure)
    opened.start_edtf, opened.end_edtf = spans.edge(span, "end", masks=False), ""
    return opened


def _rule(item: Item) -> str:
    return item.span.kind


def _near(part: Span, year: Span) -> bool:
    """Whether a year lies within a generation of a part of a century."""
    return part.kind == "part_of_century" and (
        spans.low(part) - _GENERATION <= spans.low(year) <= spans.high(part) + _GENERATION
    )
