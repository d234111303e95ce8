"""Arithmetic of years: centuries and their parts, BC, ranges, and their EDTF.

Parts of a century, in years after its first year (century "hundreds", 1800..1899; "trade" counts
1801..1900 and so begins each part a year later):

========================  =========  =================================================
early, beginning of       0..25      UCSD practice on CDWA: early 19th c. is 1800/1825
mid, middle of            35..65     the same: mid 13th c. is 1235/1265
late, end of              75..99     the last quarter
first ... last quarter    0..25, 25..50, 50..75, 75..99 (a boundary year belongs to both)
halves                    0..50, 50..99
thirds                    0..33, 33..66, 66..99
nth decade                0..9, 10..19 ...
turn of the Nth century   ten years to either side of its beginning
========================  =========  =================================================

A hedged part ("probably late 12th century") opens by 25 years before and 20 after: CCO 2006 gives
1150/1220. Of a decade early is 0..3, mid 4..6, late 7..9 (common practice, no source). Of a reign
or named period early, mid and late are its thirds.
"""

from __future__ import annotations

from pipeline.terms.dates.model import DateSettings, Span

PARTS: dict[str, tuple[int, int]] = {"early": (0, 25), "mid": (35, 65), "late": (75, 100)}
_DECADE_PARTS: dict[tuple[int, int], tuple[int, int]] = {
    (0, 25): (0, 3),
    (35, 65): (4, 6),
    (75, 100): (7, 9),
    (0, 50): (0, 4),
    (50, 100): (5, 9),
    (0, 65): (0, 6),
    (35, 100): (4, 9),
    (0, 100): (0, 9),
}


def astronomical(year: int) -> int:
    """The year as EDTF counts it: 1 BC (here -1) is 0."""
    return year + 1 if year < 0 else year


def edtf_year(year: int) -> str:
    """Four digits, a minus for years before 1 BC, Y beyond four digits."""
    counted = astronomical(year)
    if abs(counted) > 9999:
        return f"Y{counted}"
    return f"-{-counted:04d}" if counted < 0 else f"{counted:04d}"


def year_span(year: int, *, era: str | None = None) -> Span:
    """One year; `era` "bc" makes it negative."""
    value = -year if era == "bc" else year
    return Span(value, value, "year", edtf_year(value), era=era, number=year)


def fraction(position: int, denominator: int) -> tuple[int, int] | None:
    """Hundredths of a century of its nth half, quarter, third or decade; -1 is the last."""
    if position == -1:
        position = denominator
    if not 1 <= position <= denominator:
        return None
    step = 100 / denominator
    low, high = int((position - 1) * step), int(position * step)
    if denominator == 10:
        high -= 1
    return low, 100 if position == denominator else high


def century_span(
    number: int, part: tuple[int, int] | None, era: str | None, settings: DateSettings
) -> Span:
    """A century or a part of one, by the settings' reckoning."""
    span = Span(None, None, "century", era=era, number=number, part=part)
    if era == "bc":
        base = -100 * number
        low, high = part or (0, 100)
        span.earliest = base + low
        span.latest = base + (99 if high == 100 else high)
        if part is None and number > 1:  # 1 BC is EDTF's year 0: no mask covers that century
            hundreds = -astronomical(span.latest) // 100
            span.core = f"-{hundreds:02d}XX"
    else:
        base = 100 * (number - 1)
        low, high = part or (0, 100)
        if settings.trade:
            span.earliest = base + low + 1
            span.latest = base + high
        else:
            span.earliest = max(base + low, 1)
            span.latest = base + (99 if high == 100 else high)
            if part is None:
                span.core = f"{number - 1:02d}XX"
        if span.latest > settings.last_year >= span.earliest:
            span.latest = settings.last_year
    if part is not None:
        span.kind = "part_of_century"
    return span


def decade_span(first: int, part: tuple[int, int] | None, settings: DateSettings) -> Span | None:
    """A decade or a part of one; None for a part that decades do not have."""
    low, high = (0, 9) if part is None else _DECADE_PARTS.get(part, (-1, -1))
    if low < 0:
        return None
    core = f"{first // 10:03d}X" if part is None else None
    span = Span(first + low, first + high, "decade", core, number=first)
    if part is not None:
        span.kind = "part_of_decade"
    if span.latest is not None and span.latest > settings.last_year >= first + low:
        span.latest = settings.last_year
    return span


def part_of_range(span: Span, part: tuple[int, int]) -> Span:
    """Early, mid and late of a named period are its thirds; other parts go by hundredths."""
    if span.earliest is None or span.latest is None:
        return span
    length = span.latest - span.earliest
    low, high = {
        PARTS["early"]: (0.0, 1 / 3),
        PARTS["mid"]: (1 / 3, 2 / 3),
        PARTS["late"]: (2 / 3, 1.0),
    }.get(part, (part[0] / 100, part[1] / 100))
    return Span(
        span.earliest + round(low * length),
        span.earliest + round(high * length),
        span.kind,
        label=span.label,
    )


def to_bc(span: Span, settings: DateSettings) -> Span:
    """The same span before Christ: for "300-250 BC", where only the end says so."""
    if span.kind == "year":
        moved = year_span(span.number, era="bc")
    elif span.number and span.kind in ("century", "part_of_century"):
        moved = century_span(span.number, span.part, "bc", settings)
    else:
        return span
    moved.circa, moved.unsure, moved.pending = span.circa, span.unsure, span.pending
    return moved


_BROAD = frozenset({"century", "part_of_century", "hundreds", "named_period", "turn", "millennium"})


def widen(span: Span, settings: DateSettings) -> None:
    """Circa opens years, decades and dates, once; centuries and periods are broad already."""
    if not span.circa or span.widened or span.kind in _BROAD:
        return
    span.widened = True
    if span.earliest is not None:
        span.earliest = _shift(span.earliest, -settings.circa_years)
    if span.latest is not None:
        moved = _shift(span.latest, settings.circa_years)
        span.latest = max(span.latest, min(moved, settings.last_year))


def _shift(year: int, by: int) -> int:
    """There is no year 0: stepping over it skips it."""
    moved = year + by
    if year < 0 <= moved:
        return moved + 1
    if year > 0 >= moved:
        return moved - 1
    return moved


def qualifier(span: Span) -> str:
    """The EDTF mark of about, of doubt, or of both."""
    if span.circa:
        return "%" if span.unsure else "~"
    return "?" if span.unsure else ""


def edge(span: Span, side: str, *, masks: bool = True) -> str:
    """One end of a span as EDTF, with its mark; "" where it is open.

    Unspecified digits (18XX) stand only in a plain, closed interval after Christ: beside a mark
    or an open end python-edtf's own parser refuses them, and the year says the same.
    """
    mark = qualifier(span)
    core = span.core
    if core is not None and "/" not in core and "[" not in core:
        if "X" not in core:
            return core + mark
        if masks and not mark and core[0] != "-":
            return core
    stored = span.start_edtf if side == "start" else span.end_edtf
    if stored is not None:
        return stored if masks else stored.replace("X", "0" if side == "start" else "9")
    if core is not None and "X" in core and core[0] != "-" and span.circa:
        filled = int(core.replace("X", "0" if side == "start" else "9"))
        if side == "end" and span.latest is not None:
            filled = min(filled, span.latest)  # no later than today
        return edtf_year(filled) + mark
    year = span.earliest if side == "start" else span.latest
    return "" if year is None else edtf_year(year) + mark


def edtf_of(span: Span) -> str | None:
    """The whole span as EDTF."""
    if span.core is not None and "[" not in span.core:
        return span.core + qualifier(span)
    if span.core is not None:
        return span.core
    start, end = edge(span, "start"), edge(span, "end")
    if not start and not end:
        return None
    if start == end:
        return start
    return f"{start}/{end}"


def overlap(one: Span, other: Span) -> bool:
    """Whether two spans share a year."""
    return max(low(one), low(other)) <= min(high(one), high(other))


def length(span: Span) -> float:
    """Years between the ends of a span; infinite where one is open."""
    return high(span) - low(span)


def low(span: Span) -> float:
    """The earliest year, minus infinity where it is open."""
    return float("-inf") if span.earliest is None else span.earliest


def high(span: Span) -> float:
    """The latest year, infinity where it is open."""
    return float("inf") if span.latest is None else span.latest
