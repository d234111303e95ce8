"""What the demo's sellers write: titles and condition texts of one piece, in three manners."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from tests.demo import words
from tests.demo.model import (
    AUCTION,
    DATE_TOLD,
    ONLINE,
    PERIOD,
    REPRODUCTION,
    SIZED,
    STYLE,
    TOLD_GRADES,
    UNKNOWN_CLASS,
    Kind,
    Period,
    Pieces,
)
from tests.demo.trades import TRADES

T = TypeVar("T")
PICTURES = ("painting", "watercolour", "engraving", "etching", "lithograph", "poster", "map")
USUAL_SIZE = {
    "rug": (190, 125),
    "painting": (50, 65),
    "watercolour": (28, 40),
    "globe": (45, 30),
    "garden-urn": (70, 55),
    "map": (40, 50),
    "celestial-globe": (60, 35),
}


# usual range of sizes by kind or trade, in cm
SIZES = {
    "thimble": (2, 3),
    "pocket-watch": (4, 6),
    "medal": (3, 4),
    "vinaigrette": (3, 5),
    "snuff-box": (4, 9),
    "spoon": (12, 32),
    "fountain-pen": (11, 14),
    "compass": (4, 12),
    "furniture": (60, 160),
    "lighting": (20, 75),
    "clocks-and-watches": (12, 60),
    "tableware-and-vessels": (10, 32),
    "ceramics": (10, 36),
    "glassware": (7, 26),
    "metalware-and-silver": (4, 35),
    "jewellery": (2, 6),
    "sewing-and-needlework-tools": (2, 32),
    "smoking-and-tobacco": (5, 18),
    "coins-and-medals": (2, 4),
    "writing-and-desk": (6, 18),
    "books-and-paper": (14, 38),
    "decorative-objects": (10, 38),
    "toys-and-games": (14, 60),
    "tools": (15, 60),
    "cameras-and-optics": (9, 22),
    "militaria": (12, 95),
}


class Choice:
    """Draws for text: a thin layer over numpy's generator."""

    def __init__(self, rng: np.random.Generator) -> None:
        self._rng = rng

    def chance(self, p: float) -> bool:
        return float(self._rng.random()) < p

    def one(self, options: tuple[T, ...] | list[T]) -> T:
        return options[int(self._rng.random() * len(options))]

    def some(self, options: tuple[T, ...] | list[T], n: int) -> list[T]:
        left = list(options)
        return [left.pop(int(self._rng.random() * len(left))) for _ in range(min(n, len(left)))]

    def whole(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        return low + int(self._rng.random() * (high - low + 1))

    def shuffled(self, options: list[T]) -> list[T]:
        return self.some(options, len(options))


@dataclass
class Item:
    """One sale of one piece, with all that its seller knows of it."""

    kind: Kind
    source: int
    day: int
    grade: int
    told_grade: str
    made: int
    told_class: int
    date_told: str
    material: str
    period: Period
    year: int
    faults: list[str]
    merits: list[str]
    maker: str
    rung: str
    n_pieces: int
    size: float
    free_shipping: bool
    log_price: float
    piece: int
    height: int = 0
    width: int = 0
    features: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    false_alarm: str = ""
    faults_told_in: str = "report"
    n_slips: int = 0
    # what the last title told
    material_told: bool = False
    period_told: bool = False


def items_of(pieces: Pieces, draw: Choice, first_piece: int) -> list[Item]:
    """The rows of a sample as items with their details."""
    kind = pieces.kind
    trade = TRADES[kind.trade]
    faults, merits = list(trade.faults), list(trade.merits)
    found = []
    for k in range(len(pieces.day)):
        source = int(pieces.source[k])
        makers = words.MAKERS[kind.trade]
        has_maker = bool(pieces.maker[k]) and bool(makers)
        item = Item(
            kind=kind,
            source=source,
            day=int(pieces.day[k]),
            grade=int(pieces.grade[k]),
            told_grade=TOLD_GRADES[int(pieces.told_grade[k])],
            made=int(pieces.made[k]),
            told_class=int(pieces.told_class[k]),
            date_told=DATE_TOLD[int(pieces.date_told[k])],
            material=kind.materials[int(pieces.material[k])][0],
            period=kind.period_group(source)[int(pieces.period[k])],
            year=int(pieces.year[k]),
            faults=[f for f, has in zip(faults, pieces.faults[k], strict=True) if has],
            merits=[m for m, has in zip(merits, pieces.merits[k], strict=True) if has],
            maker=draw.one(makers) if has_maker else "",
            rung="",
            n_pieces=int(pieces.n_pieces[k]),
            size=float(pieces.size[k]),
            free_shipping=bool(pieces.free_shipping[k]),
            log_price=float(pieces.log_price[k]),
            piece=first_piece + k,
        )
        _details(item, draw)
        found.append(item)
    return found


def _details(item: Item, draw: Choice) -> None:
    kind = item.kind
    pool = kind.online_features if item.source == ONLINE else kind.features
    one_subject = kind.id in PICTURES and item.source != ONLINE and kind.id != "map"
    item.features = draw.some(pool, 1 if one_subject else draw.one((1, 1, 2, 2, 3)))
    low, high = SIZES.get(kind.id) or SIZES.get(kind.trade, (12, 50))
    usual = USUAL_SIZE.get(kind.id, (draw.whole(low, high), draw.whole(low, high)))
    grow = float(np.exp(item.size)) if kind.id in SIZED else 1.0
    item.height, item.width = max(5, round(usual[0] * grow)), max(5, round(usual[1] * grow))
    special = words.CAUTIONS.get(kind.id, ())
    if special and item.source != ONLINE and draw.chance(0.07):
        text, caution = draw.one(special)
        item.features[-1] = text
        item.cautions.append(caution)
    elif special and draw.chance(0.05):
        text, caution = draw.one(special)
        item.features.append(text.upper() if item.source == ONLINE else text)
        item.cautions.append(caution)
    elif draw.chance(0.10) and kind.id in words.FALSE_ALARMS:
        item.false_alarm = draw.one(words.FALSE_ALARMS[kind.id])
        item.features.append(item.false_alarm)
    if kind.id in words.KIND_CAUTIONS:
        item.cautions.append(words.KIND_CAUTIONS[kind.id])
    if item.material in words.MATERIAL_CAUTIONS:
        item.cautions.append(words.MATERIAL_CAUTIONS[item.material])
    for told in item.features:
        if "ivory" in told.lower() and "ivory" not in item.cautions and not item.false_alarm:
            item.cautions.append("ivory")
    if item.maker and kind.trade in ("prints-and-paintings", "sculpture", "maps-and-globes"):
        item.rung = draw.one(("by", "by", "by", "attributed-to", "circle-of"))
    item.faults_told_in = "title" if draw.chance((0.25, 0.75, 0.20)[item.source]) else "report"


# ---------------------------------------------------------------------------------------------
# dates


def century(year: int) -> int:
    return year // 100 + 1


def _ordinal(n: int) -> str:
    return f"{n}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(n % 10, 'th') if n // 10 != 1 else 'th' }"


def _part_of_century(year: int) -> str:
    share = year % 100
    return "early" if share < 34 else "mid" if share < 67 else "late"


def date_text(year: int, source: int, draw: Choice) -> str:
    """A date of making as the source's sellers write it."""
    near = round(year / 5) * 5
    decade = year // 10 * 10
    old = year < 1890
    if source == AUCTION:
        forms = [
            f"circa {near}",
            f"circa {near}",
            f"c.{near}",
            f"c. {near}",
            f"{_part_of_century(year)} {_ordinal(century(year))} century",
            f"{_part_of_century(year)} {_ordinal(century(year))} century",
        ]
        if old:
            forms += [f"{_ordinal(century(year))} century"]
        if not old:
            forms += [f"{decade}s"]
        if draw.chance(0.05):
            return f"dated {year}"
    elif source == ONLINE:
        forms = [
            f"{decade}'s",
            f"{decade}s",
            f"{decade}S",
            f"C{near}",
            f"CIRCA {near}",
            f"C. {near}",
        ]
        if old:
            forms += [
                f"{_ordinal(century(year)).upper()} C",
                f"{_ordinal(century(year)).upper()} CENTURY",
                f"{_part_of_century(year).upper()} {_ordinal(century(year)).upper()} C",
            ]
    else:
        forms = [
            f"um {near}",
            f"um {near}",
            f"vers {near}",
            f"ca. {near}",
            f"circa {near}",
            f"{century(year)}. Jh." if old else f"{decade}er Jahre",
            f"{decade}s",
        ]
    return draw.one(forms)


# ---------------------------------------------------------------------------------------------
# titles


def material_words(item: Item, draw: Choice) -> str:
    known = words.MATERIALS.get(item.material)
    if known:
        return draw.one(known[item.source])
    plain = item.material.replace("-", " ")
    return plain.upper() if item.source == ONLINE else plain


def told(
    found: Mapping[str, tuple[tuple[str, ...], ...]], name: str, item: Item, draw: Choice
) -> str:
    return draw.one(found[name][item.source])


def _plural(noun: str) -> str:
    head, of, rest = noun.partition(" of ")
    if head in ("oil", "set") or head.lower().endswith(("scales", "binoculars", "glasses")):
        return noun
    if head.lower().endswith(("s", "x", "sh", "ch")):
        ending = "es" if head[-1].islower() else "ES"
    else:
        ending = "s" if head[-1].islower() else "S"
    return head + ending + of + rest


_NUMBERS = {3: "three", 4: "four", 5: "five", 6: "six", 8: "eight", 12: "twelve"}


def _counted(noun: str, item: Item, draw: Choice) -> tuple[str, str]:
    """What goes before the description of a lot of several, and the noun in its number."""
    n = item.n_pieces
    if n == 1:
        return "", noun
    many = _plural(noun)
    if item.source == AUCTION:
        if n == 2:
            return draw.one(("A pair of", "A pair of", "Pair of")), many
        return draw.one((f"A set of {_NUMBERS[n]}", f"Set of {_NUMBERS[n]}", f"A set of {n}")), many
    if item.source == ONLINE:
        if n == 2:
            return draw.one(("PAIR OF", "PAIR", "PR", "MATCHING PAIR OF")), many
        return draw.one((f"SET OF {n}", f"SET/{n}", f"SET OF {_NUMBERS[n].upper()}")), many
    if n == 2:
        return draw.one(("Paar, pair of", "pair of", "Pair of")), many
    return draw.one((f"Satz, set of {n}", f"set of {n}", f"Set of {_NUMBERS[n]}")), many


def _fits(name: str, item: Item) -> bool:
    """Whether a name such as "late Victorian" fits the year; a copy may be called anything."""
    if item.made != PERIOD:
        return True
    if name.startswith("late "):
        return item.year >= 1872
    return not name.startswith("mid Vict") or 1852 <= item.year <= 1874


def _period_words(item: Item, draw: Choice) -> tuple[str, str]:
    """Words for the class and period before the noun, and a date after it."""
    item.period_told = False
    fitting = [n for n in item.period.names if _fits(n, item)]
    name = draw.one(fitting) if fitting else ""
    online = item.source == ONLINE
    if item.told_class == UNKNOWN_CLASS:
        return (draw.one(words.OLD_WORDS) if draw.chance(0.45 if online else 0.15) else ""), ""
    if item.told_class == PERIOD:
        how = item.date_told if name else "date"
        date = date_text(item.year, item.source, draw) if how != "name" else ""
        item.period_told = how != "date"
        if online and how == "date" and draw.chance(0.35):
            name = draw.one(("antique", "vintage"))
            return name, date
        return (name if how != "date" else ""), date
    item.period_told = bool(name)
    if item.told_class == STYLE:
        style = name or draw.one(("antique", "period"))
        date = ""
        if draw.chance(0.35):
            date = draw.one(("20th century", f"circa {round(item.year / 5) * 5}", "modern"))
            date = date.upper() if online else date
        return draw.one((f"{style} style", f"{style} style", f"{style}-style")), date
    copy = draw.one(
        ("reproduction", "reproduction", "modern reproduction", "repro")
        if not online
        else ("reproduction", "repro", "replica", "reproduction")
    )
    return f"{copy} {name}".strip(), ""


def _with_article(text: str, draw: Choice) -> str:
    first = text.split()[0].lower()
    article = "An" if first[0] in "aeiou" and not first.startswith("uni") else "A"
    if re.match(r"8|18|11", first):
        article = "An"
    return f"{article} {text}" if draw.chance(0.75) else text[:1].upper() + text[1:]


def _size_words(item: Item, draw: Choice) -> str:
    if item.source == ONLINE:
        inches = (round(item.height / 2.54), round(item.width / 2.54))
        return draw.one(
            (
                f'{inches[0]}"',
                f"{inches[0]} INCH",
                f'{inches[0]}" X {inches[1]}"',
                f"{inches[0]}IN TALL"
                if item.kind.id not in PICTURES
                else f"{inches[0]}X{inches[1]}",
            )
        )
    if item.kind.id in PICTURES or item.kind.id == "rug":
        return f"{item.height} x {item.width} cm"
    return draw.one(
        (
            f"{item.height} cm high",
            f"{item.width} cm wide",
            f"H {item.height} cm",
            f"{item.height}cm",
        )
    )


def _maker_words(item: Item, draw: Choice) -> str:
    if not item.maker:
        return ""
    if item.rung == "attributed-to":
        return f"attributed to {item.maker}"
    if item.rung == "circle-of":
        return f"circle of {item.maker}"
    return draw.one((f"by {item.maker}", item.maker, f"by {item.maker}, {draw.one(words.TOWNS)}"))


def title(item: Item, draw: Choice) -> str:
    """One wording of the piece; another call gives another wording of the same facts."""
    made = (_catalogue, _shouted, _ledger)[item.source](item, draw)
    made = re.sub(r"\s+", " ", made).replace(" ,", ",").strip(" ,")
    return _slips(made, item, draw)


def _catalogue(item: Item, draw: Choice) -> str:
    kind = item.kind
    noun = draw.one(kind.nouns)
    lead, noun = _counted(noun, item, draw)
    period, date = _period_words(item, draw)
    material = material_words(item, draw) if draw.chance(0.93) else ""
    material = "" if material and material.split()[0].rstrip(",") in noun else material
    item.material_told = bool(material)
    praise = draw.one(words.PRAISE) if draw.chance(0.22) else ""
    place = draw.one(words.PLACES_OF_MAKING) if draw.chance(0.10) and item.made == PERIOD else ""
    if period and period[0].islower() is False and draw.chance(0.1):
        praise = ""
    order = [praise, period, place, material, noun]
    if (
        item.told_class == REPRODUCTION
        and kind.id in ("painting", "watercolour", "etching", "engraving", "lithograph")
        and draw.chance(0.6)
    ):
        order = [noun, f"after {draw.one(words.MAKERS['prints-and-paintings'])}"]
    core = " ".join(w for w in order if w)
    if lead:
        core = f"{lead} {core}"
    elif date and draw.chance(0.25) and date[0].isalpha() and "century" in date:
        core, date = _with_article(f"{date} {core}", draw), ""
    else:
        core = _with_article(core, draw)
    tail = [date, _maker_words(item, draw), *item.features]
    tail += [told(words.MERITS, m, item, draw) for m in item.merits]
    if item.faults_told_in == "title":
        tail += [told(words.FAULTS, f, item, draw) for f in item.faults]
    if (kind.id in SIZED and draw.chance(0.75)) or draw.chance(0.25):
        tail.append(_size_words(item, draw))
    return ", ".join([core, *(t for t in tail if t)])


def _shouted(item: Item, draw: Choice) -> str:
    kind = item.kind
    lead, noun = _counted(draw.one(kind.online_nouns), item, draw)
    period, date = _period_words(item, draw)
    material = material_words(item, draw) if draw.chance(0.85) else ""
    if material.split()[-1:] and material.split()[-1] in noun:
        material = ""
    item.material_told = bool(material)
    head = [w for w in (period, date) if w]
    if draw.chance(0.3):
        head.reverse()
    core = [*head, lead, material, noun] if draw.chance(0.7) else [lead, noun, material, *head]
    if lead:
        core = [lead, *head, material, noun] if draw.chance(0.6) else [*head, lead, material, noun]
    tail = list(item.features)
    if item.maker:
        tail.append(_maker_words(item, draw) if item.rung else item.maker)
    tail += [told(words.MERITS, m, item, draw) for m in item.merits]
    if item.faults_told_in == "title":
        tail += [told(words.FAULTS, f, item, draw) for f in item.faults]
    if (kind.id in SIZED and draw.chance(0.7)) or draw.chance(0.22):
        tail.append(_size_words(item, draw))
    parts = [p for p in core if p] + draw.shuffled(tail)
    if item.told_class == REPRODUCTION and draw.chance(0.2):
        parts.append("NEW MADE COPY" if draw.chance(0.3) else "(REPRO)")
    if draw.chance(0.38):
        parts.insert(draw.one((0, len(parts))), draw.one(words.FLUFF))
    text = " ".join(parts)
    manner = draw.whole(0, 9)
    if manner < 5:
        text = text.upper()
        for long, short in words.SHORTENINGS.items():
            if draw.chance(0.16):
                text = re.sub(rf"\b{long}\b", short, text)
        return text
    if manner < 8:
        return _title_case(text)
    return text.lower()


def _title_case(text: str) -> str:
    small = {"of", "and", "with", "in", "by", "the", "to"}
    done = []
    for k, word in enumerate(text.split(" ")):
        lower = word.lower()
        keep = (
            word in ("GEO", "III", "IV", "II", "W/", "AM", "FM", "RPPC", "NO") or not word.isalpha()
        )
        done.append(
            lower
            if lower in small and k
            else word
            if keep and not word.isupper()
            else word
            if keep
            else lower[:1].upper() + lower[1:]
        )
    return " ".join(done)


def _ledger(item: Item, draw: Choice) -> str:
    kind = item.kind
    lead, noun = _counted(draw.one(kind.dealer_nouns), item, draw)
    period, date = _period_words(item, draw)
    material = material_words(item, draw) if draw.chance(0.9) else ""
    item.material_told = bool(material)
    tail = [date, _maker_words(item, draw), *item.features[:2]]
    tail += [told(words.MERITS, m, item, draw) for m in item.merits]
    if item.faults_told_in == "title":
        tail += [told(words.FAULTS, f, item, draw) for f in item.faults]
    if (kind.id in SIZED and draw.chance(0.75)) or draw.chance(0.2):
        tail.append(_size_words(item, draw))
    head = f"{lead} {noun}".strip() if lead else noun
    order = (
        [f"{period} {head}".strip(), material] if draw.chance(0.55) else [head, period, material]
    )
    text = ", ".join(p for p in (*order, *tail) if p)
    return text[:1].upper() + text[1:]


# ---------------------------------------------------------------------------------------------
# slips of the hand


SLIP_CHANCE = (0.03, 0.13, 0.05)


def _slips(text: str, item: Item, draw: Choice) -> str:
    if not draw.chance(SLIP_CHANCE[item.source]):
        return text
    known = [w for w in words.COMMON_SLIPS if w in text.lower()]
    if known and draw.chance(0.6):
        word = draw.one(known)
        wrong = words.COMMON_SLIPS[word]
        found = re.search(re.escape(word), text, re.IGNORECASE)
        if found is not None:
            wrong = wrong.upper() if found[0].isupper() else wrong
            wrong = wrong[:1].upper() + wrong[1:] if found[0][:1].isupper() else wrong
            item.n_slips += 1
            return text[: found.start()] + wrong + text[found.end() :]
    spots = list(re.finditer(r"[A-Za-z]{7,}", text))
    if not spots:
        return text
    spot = draw.one(spots)
    item.n_slips += 1
    return text[: spot.start()] + _slip(spot[0], draw) + text[spot.end() :]


def _slip(word: str, draw: Choice) -> str:
    at = draw.whole(2, len(word) - 3)
    how = draw.whole(0, 2)
    if how == 0:
        return word[:at] + word[at + 1 :]
    if how == 1:
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    return word[: at + 1] + word[at] + word[at + 1 :]


# ---------------------------------------------------------------------------------------------
# condition texts


def condition_text(item: Item, draw: Choice) -> str:
    """The cell of the condition column."""
    faults = item.faults if item.faults_told_in == "report" else []
    if item.source == AUCTION:
        text = draw.one(words.REPORT[item.told_grade])
        said = [told(words.FAULTS, f, item, draw) for f in faults]
        if said:
            sentence = ", ".join(said[:-1]) + (" and " if len(said) > 1 else "") + said[-1]
            text = f"{text} {sentence[:1].upper()}{sentence[1:]}."
        elif draw.chance(0.12) and text:
            text += draw.one(
                (" Ready to place.", " Sound.", " Minor age-related marks.", " No obvious faults.")
            )
        return text.strip()
    grades = words.ONLINE_CONDITION if item.source == ONLINE else words.LEDGER_CONDITION
    text = draw.one(grades[item.told_grade])
    said = [told(words.FAULTS, f, item, draw) for f in faults]
    if item.source == ONLINE:
        return ", ".join(p for p in (text, *(s.lower() for s in said)) if p)
    return text


def remark(item: Item, draw: Choice) -> str:
    """The remark column of the ledger, which tells the faults that its title leaves out."""
    if item.faults_told_in == "title":
        return ""
    return ", ".join(told(words.FAULTS, f, item, draw) for f in item.faults)
