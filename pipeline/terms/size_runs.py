"""What a run of sizes means: "h 30 cm x w 20 d 15" -> height 30, width 20, depth 15.

A run is a piece of folded text that `size_forms.RUN` finds. It is read into groups: the sides that
belong together ("30 x 40 cm"), or one side by itself ("30 cm high"). What cannot be told for sure
(a number without a unit, "12 in" before a word) is no group, and a range makes the run doubtful.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from math import gcd

from pipeline.terms.size_forms import (
    ALWAYS_AFTER,
    AXIS_OF,
    CARAT,
    CM_PER_FOOT,
    CM_PER_INCH,
    GLUE,
    GRAMS_PER_TROY_OUNCE,
    ITEM,
    LENGTHS,
    UNIT_OF,
    WEIGHTS,
)

# Larger than a seed bead and smaller than a room; common practice, no source.
LEAST_CM, MOST_CM = 0.1, 1000.0
LEAST_GRAMS, MOST_GRAMS = 0.05, 2_000_000.0
LEAST_CARATS, MOST_CARATS = 0.01, 200.0
# Fineness of gold in parts of 24, as articles are marked; common practice, no source.
_FINENESS = (8, 9, 10, 12, 14, 15, 18, 19, 20, 21, 22, 23, 24)

_ITEM = re.compile(ITEM)
_AXIS_WORD = re.compile(r"[a-zø⌀]+")
_FRACTION = re.compile(r"^(?:([0-9]+)[ -]{1,2})?([0-9]+)/([0-9]+)$")
# Of rules and of centimetres; "5/6" and "10/12" are ranges.
_DENOMINATORS = (2, 3, 4, 8, 16, 32, 64)
_LEAST_METRIC_STEP = 0.25
_TIMES = re.compile(r"[x*]|by|mal|sur|per")
_RANGE = re.compile(r"-|\bto\b|\bbis\b")
_KEPT = 10_000  # readings of short texts that come again and again
_METRIC = ("mm", "cm", "m")
_COMPOUND = re.compile(rf"[ ,-]{{0,2}}(?:and )?|{GLUE}")
_COMPOUND_UNITS = ("ft", "m", "lb", "oz", "ozt")
_JOINT = re.compile(r"[ ,;:()|=]")
_UNSURE_UNITS = frozenset(("in", "'", '"', "''", "feet", "foot", "m", "mm", "g"))
_FILM_MM = 35.0  # "35mm" by itself is a film
_LEAST_FEET = 2.0  # "1 foot missing"


@dataclass(frozen=True, slots=True)
class Side:
    """A length in cm, the half of its last figure, and its axis ("" where that is not told)."""

    cm: float
    error: float
    axis: str


@dataclass(frozen=True, slots=True)
class Run:
    """groups: sides that belong together; grams, carats: weights as told; is_total: the carats are
    of all stones together; is_doubtful: a length is told with two ends ("10-12 cm")."""

    groups: tuple[tuple[Side, ...], ...] = ()
    grams: tuple[float, ...] = ()
    carats: tuple[float, ...] = ()
    is_total: bool = False
    is_doubtful: bool = False


@dataclass(slots=True)
class _Found:
    """A run in the making."""

    groups: list[tuple[Side, ...]] = field(default_factory=list)
    grams: list[float] = field(default_factory=list)
    carats: list[float] = field(default_factory=list)
    is_total: bool = False
    is_doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """What the text around a run says of it.

    before_word: a word follows at once, so that a closing "in" may mean no inches. quoted: a
    quotation mark has opened, and one behind a number closes it. numbered: "no.", "size" or the
    like stands before, so that the first number is a name. precious: the text names silver or gold,
    whose ounces are troy ounces. stones: it names a stone that is sold by the carat. small: it is
    of lenses, films, guns or gauges, whose millimetres are no sizes. weighing: it is of scales,
    weights or what holds a weight of goods, which is not the thing's own.
    """

    before_word: bool = False
    quoted: bool = False
    numbered: bool = False
    precious: bool = False
    stones: bool = False
    small: bool = False
    weighing: bool = False


@dataclass(slots=True)
class _Term:
    """One number of a run, with the text between it and the one before."""

    value: float
    step: float  # of the last figure told
    unit: str | None
    marks: str  # the unit as written
    attached: bool
    before: list[str]  # words of axes
    after: list[str]
    between: str
    has_groups: bool = False  # "1,200": thousands or a decimal comma
    is_total: bool = False
    is_fraction: bool = False
    cm: float | None = None  # of a compound such as 5 ft 6 in
    error: float = 0.0
    axes: list[str] = field(default_factory=list)


def read_run(text: str, setting: Setting) -> Run:
    """The groups, weights and carats of one run of folded text."""
    terms = _terms_of(text)
    if not terms:
        return Run()
    if setting.numbered:
        terms[0].unit = None
    _refuse_units(terms, setting)
    if len(terms) > 1 and any(term.unit in _COMPOUND_UNITS for term in terms):
        terms = _compounds(terms)
    if any(term.before or term.after for term in terms):
        _give_axes(terms)
    found = _Found()
    chunks = _chunks(terms)
    carried = _carried_unit(chunks)
    for chunk in chunks:
        _add_chunk(found, chunk, carried, setting)
    return Run(
        tuple(found.groups), tuple(found.grams), tuple(found.carats), found.is_total,
        found.is_doubtful,
    )  # fmt: skip


def _terms_of(text: str) -> list[_Term]:
    terms: list[_Term] = []
    end = 0
    for item in _ITEM.finditer(text):
        before, told, unit, troy, total, after, late_unit = item.groups()
        number = _number(told)
        between, end = text[end : item.start()], item.end()
        if number is None:
            continue
        name, marks, attached = _unit(unit or late_unit or "", bool(troy))
        terms.append(
            _Term(
                value=number[0],
                step=number[1],
                unit=name,
                marks=marks,
                attached=attached,
                before=list(_axis_words(before)),
                after=list(_axis_words(after or "")),
                between=between if terms else "",
                has_groups="," in told and len(told.rpartition(",")[2]) == 3,
                is_total=bool(total),
                is_fraction="/" in told,
            )
        )
    return terms


@lru_cache(maxsize=_KEPT)
def _unit(written: str, troy: bool) -> tuple[str | None, str, bool]:
    """The unit, how it is written, and whether nothing stands between it and its number."""
    marks = written.strip(" -.")
    unit = UNIT_OF.get(marks)
    if troy and unit == "oz":
        unit = "ozt"
    return unit, marks + "." * written.endswith("."), not written.startswith(" ")


@lru_cache(maxsize=_KEPT)
def _axis_words(text: str) -> tuple[str, ...]:
    """The words of axes: "h x w", "hxw" and "in height" without what joins them."""
    words = _AXIS_WORD.findall(text)
    apart = [w for word in words for w in ([word] if word in AXIS_OF else word.split("x"))]
    return tuple(word for word in apart if word in AXIS_OF)


@lru_cache(maxsize=_KEPT)
def _number(text: str) -> tuple[float, float] | None:
    """A number and the step of its last figure; None where it is no number."""
    if "/" in text:
        fraction = _FRACTION.match(text)
        if fraction is None:
            return None
        whole, upper, lower = (int(part or 0) for part in fraction.groups())
        if lower not in _DENOMINATORS or gcd(upper, lower) != 1 or not 0 < upper < lower:
            return None
        return whole + upper / lower, 1.0 / lower
    plain = text.replace(",", ".")
    places = len(plain.partition(".")[2])
    return float(plain), 10.0**-places


def _refuse_units(terms: list[_Term], setting: Setting) -> None:
    """Take away the units that may be something else."""
    last = terms[-1]
    for term in terms:
        word = term.marks
        if word not in _UNSURE_UNITS or term.before or term.after:
            if setting.small and term.unit in ("mm", "g"):
                term.unit = "refused"
            continue
        if term is not terms[0] and _TIMES.search(term.between):
            refused = setting.small and word in ("mm", "g")
        elif word == "in":
            no_inches = setting.before_word if term is last else _goes_on(term, terms)
            refused = no_inches and not term.attached
        elif word in ("'", '"', "''"):
            refused = setting.quoted and term is terms[0]
        elif word == "feet":
            refused = term is last  # "on 4 feet"
        elif word == "foot":
            refused = term.value < _LEAST_FEET
        elif word == "m":
            refused = not term.attached and term.step == 1.0  # "12 M"
        else:
            refused = setting.small or (word == "mm" and term.value == _FILM_MM)
        if refused:
            term.unit = "refused"


def _goes_on(term: _Term, terms: list[_Term]) -> bool:
    """Whether a bare number follows the "in", as in "3 in 1"."""
    ahead = (
        next(after for one, after in pairwise(terms) if one is term)
        if term is not terms[-1]
        else None
    )
    return ahead is not None and ahead.between == " " and not (ahead.unit or ahead.before)


def _settled(term: _Term, unit: str) -> tuple[float, float] | None:
    """The number and the step of its last figure. Three figures behind a comma are thousands of
    small units and decimals of large ones; of others nobody knows."""
    if not term.has_groups or unit in ("m", "kg", CARAT):
        return term.value, term.step
    return (term.value * 1000, 1.0) if unit in ("mm", "g") else None


def _compounds(terms: list[_Term]) -> list[_Term]:
    """Feet and inches, pounds and ounces, ounces and pennyweights as one number."""
    out: list[_Term] = []
    for term in terms:
        mate = out[-1] if out else None
        apart = term.before or not _COMPOUND.fullmatch(term.between)
        if mate is None or mate.after or apart:
            out.append(term)
            continue
        bare = term.unit is None and mate.marks == "'" and term.between == GLUE and term.value < 12
        if mate.unit == "ft" and mate.cm is None and (term.unit == "in" or bare):
            cm = mate.value * CM_PER_FOOT + term.value * CM_PER_INCH
            out[-1] = replace(
                mate, cm=cm, error=term.step * CM_PER_INCH / 2, after=term.after, unit="ft"
            )
        elif (mate.unit, term.unit) == ("m", "cm") and mate.step == 1.0 and term.value < 100:
            cm = mate.value * 100 + term.value
            out[-1] = replace(mate, cm=cm, error=term.step / 2, after=term.after)
        elif (mate.unit, term.unit) in (("lb", "oz"), ("oz", "dwt"), ("ozt", "dwt")):
            large = "ozt" if term.unit == "dwt" else "lb"
            value = mate.value + term.value * WEIGHTS[term.unit or ""] / WEIGHTS[large]
            out[-1] = replace(mate, value=value, unit=large)
        else:
            out.append(term)
    return out


def _give_axes(terms: list[_Term]) -> None:
    """Which axis each number has: "h 30 cm w 20" names it before, "30 cm h 20 cm w" after."""
    names_before = bool(terms[0].before)
    for k, term in enumerate(terms[:-1]):
        ahead = terms[k + 1]
        moves = names_before and len(term.after) == 1 and term.after[0] not in ALWAYS_AFTER
        if moves and not ahead.before and re.fullmatch(r"[ .:=]*", ahead.between):
            ahead.before, term.after = term.after, []
    for k, term in enumerate(terms):
        words = term.before or term.after
        if len(words) > 1:
            first = k if term.before else k + 1 - len(words)
            row = terms[max(first, 0) : max(first, 0) + len(words)]
            if first >= 0 and len(row) == len(words):
                for one, word in zip(row, words, strict=True):
                    one.axes = [word]
            continue
        if words:
            term.axes = words
    told = [term.axes[0] for term in terms if term.axes]
    for term in terms:
        if not term.axes:
            continue
        word = term.axes[0]
        # l. is length or largeur, d. depth or diameter, where nothing tells which
        unsure = (word == "l" and told.count("l") > 1) or (
            word == "d" and not {"height", "width"} & {AXIS_OF[w] for w in told}
        )
        term.axes = ["" if unsure else AXIS_OF[word]]


def _chunks(terms: list[_Term]) -> list[list[_Term]]:
    """Numbers joined by "x" or "by", by a stroke, or as a range."""
    chunks: list[list[_Term]] = []
    for term in terms:
        joined = _JOINT.sub("", term.between)
        is_range = _RANGE.fullmatch(joined) and not (term.before and term.unit)
        if chunks and (joined == "/" or _TIMES.fullmatch(joined) or is_range):
            chunks[-1].append(term)
        else:
            chunks.append([term])
    return chunks


def _carried_unit(chunks: list[list[_Term]]) -> str | None:
    """The unit of "h 30 cm w 20 d 15", where every number has its axis."""
    if not all(term.axes for chunk in chunks for term in chunk):
        return None
    units = {term.unit for chunk in chunks for term in chunk if term.unit}
    only = units.pop() if len(units) == 1 else None
    return only if only in LENGTHS else None


def _add_chunk(found: _Found, chunk: list[_Term], carried: str | None, setting: Setting) -> None:
    is_length = carried is not None or any(term.unit in LENGTHS for term in chunk)
    for term in chunk[1:]:
        joint = _JOINT.sub("", term.between)
        if _RANGE.fullmatch(joint) or (joint == "/" and not all(t.axes for t in chunk)):
            found.is_doubtful |= is_length
            return
    term = chunk[0]
    if is_length:
        sides = _sides(chunk, carried)
        if sides:
            found.groups.append(sides)
    elif len(chunk) > 1:
        return
    elif term.unit in WEIGHTS:
        found.grams += (
            () if setting.weighing and not setting.precious else _grams(term, setting.precious)
        )
    elif term.unit == CARAT and _is_of_stones(term, setting.stones):
        found.carats.append(term.value)
        found.is_total |= term.is_total


def _sides(chunk: list[_Term], carried: str | None) -> tuple[Side, ...]:
    """The sides of a chunk in cm; none where one of them has no unit or cannot be."""
    sides: list[Side] = []
    unit: str | None = None
    for term in reversed(chunk):
        unit = term.unit or unit
        chosen = unit or carried or next((t.unit for t in chunk if t.unit), None)
        if chosen not in LENGTHS:
            return ()
        cm, error = term.cm, term.error
        if cm is None:
            number = _settled(term, chosen)
            is_odd = term.is_fraction and chosen in _METRIC and term.step < _LEAST_METRIC_STEP
            if number is None or is_odd:
                return ()
            cm, error = number[0] * LENGTHS[chosen], number[1] * LENGTHS[chosen] / 2
        if not LEAST_CM <= cm <= MOST_CM:
            return ()
        sides.append(Side(cm, error, term.axes[0] if term.axes else ""))
    return tuple(reversed(sides))


def _grams(term: _Term, precious: bool) -> tuple[float, ...]:
    """A weight; none where nothing tells which ounce, or the weight cannot be."""
    unit = term.unit or ""
    number = _settled(term, unit)
    if number is None or (unit == "oz" and not precious):
        return ()
    grams = number[0] * (GRAMS_PER_TROY_OUNCE if unit == "oz" else WEIGHTS[unit])
    return (grams,) if LEAST_GRAMS <= grams <= MOST_GRAMS else ()


def _is_of_stones(term: _Term, stones: bool) -> bool:
    """Whether carats are of a stone: "9ct" is a fineness, and "50 ct" a count."""
    if not LEAST_CARATS <= term.value <= MOST_CARATS:
        return False
    if term.is_total or term.marks in ("tcw", "ctw"):
        return True
    if term.step == 1.0:
        return stones and term.value not in _FINENESS
    return True
