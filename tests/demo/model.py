"""The invented market behind the demo: kinds of goods, effects on price, and a sampler of pieces.

One function, `draw_pieces`, draws the pieces that the exports show and the large samples from
which the true medians of the cells are taken, so that the truth is the truth of the same market.
Every figure here is invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.demo.limits import (
    BRITTLE,
    HARD_GOODS,
    METALS,
    NEVER,
    NOT_ON_BRITTLE,
    NOT_ON_METAL,
    NOT_ON_OTHERS,
)
from tests.demo.trades import TRADES, Trade

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

SOURCES = ("pellow-wrake", "clutterfold", "kontor-seidelbruck")
MARKETS = ("auction", "online", "dealer")
AUCTION, ONLINE, DEALER = range(3)
MARKET_EFFECT = np.array([0.0, -0.12, 0.42])
FREE_SHIPPING_SHARE, FREE_SHIPPING_EFFECT = 0.35, 0.05

GRADES = ("as_new", "excellent", "very_good", "good", "fair", "poor", "for_parts")
GRADE_SHARE = np.array([0.02, 0.10, 0.22, 0.36, 0.20, 0.10, 0.0])
GRADE_EFFECT = np.array([0.50, 0.32, 0.14, 0.0, -0.42, -0.95, -1.50])
# how a source tells the grade: in words, only as used, or not at all
TELLS_GRADE = np.array([0.82, 0.58, 0.78])
TELLS_USED = np.array([0.0, 0.20, 0.0])
TOLD_GRADES = (*GRADES, "used", "unknown")
USED, UNKNOWN_GRADE = 7, 8

CLASSES = ("period", "style", "reproduction", "unknown")
PERIOD, STYLE, REPRODUCTION, UNKNOWN_CLASS = range(4)
# a seller tells the class of a piece with this chance; a period piece by name, by date or both
TELLS_CLASS = np.array([0.86, 0.94, 0.86])
DATE_TOLD = ("name", "both", "date")
DATE_TOLD_SHARE = np.array([0.42, 0.28, 0.30])

FAULT_RATE = np.array([0.0, 0.02, 0.06, 0.13, 0.30, 0.42, 0.35])
PIECE_TO_SALE_NOISE = 0.15
MAKER_SHARE = 0.11

OTHER_ROOTS = dict.fromkeys(
    ("toby-jug", "vase", "salver", "tray", "kettle"), "tableware-and-vessels"
)

FIRST_DAY = np.datetime64("2022-11-01")
LAST_DAY = np.datetime64("2026-10-25")
N_DAYS = int((LAST_DAY - FIRST_DAY).astype(int)) + 1
SALES_SCALE = 0.76

PAIRS = {
    "candlestick": 0.30,
    "vase": 0.14,
    "decanter": 0.12,
    "dining-chair": 0.10,
    "garden-urn": 0.20,
    "pottery-figure": 0.10,
    "engraving": 0.06,
    "watercolour": 0.05,
    "table-lamp": 0.14,
    "windsor-chair": 0.05,
    "spoon": 0.10,
    "picture-frame": 0.06,
    "bust": 0.04,
    "jug": 0.04,
    "salver": 0.03,
    "wine-glass": 0.08,
    "figurine": 0.04,
}
SETS: dict[str, dict[int, float]] = {
    "dining-chair": {4: 0.20, 6: 0.22, 8: 0.07},
    "wine-glass": {4: 0.08, 6: 0.24, 8: 0.05, 12: 0.03},
    "spoon": {4: 0.05, 6: 0.24, 12: 0.06},
    "cup-and-saucer": {4: 0.06, 6: 0.12},
    "tile": {4: 0.10, 6: 0.10},
    "saucepan": {3: 0.08, 5: 0.10},
    "windsor-chair": {4: 0.05, 6: 0.04},
}
PAIR_EFFECT = float(np.log(2.2))
SET_EXPONENT = 0.95
# pieces whose size tells in the price: exponent of size over the usual size
SIZED = {
    "rug": 0.8,
    "painting": 0.5,
    "watercolour": 0.5,
    "globe": 0.9,
    "garden-urn": 0.7,
    "map": 0.4,
    "celestial-globe": 0.8,
}
SIZE_SPREAD = 0.35
# copies of some kinds are worth even less than those of their trade
COPY_EFFECT = {
    "celestial-globe": -4.55,
    "painting": -3.60,
    "watercolour": -2.80,
    "globe": -2.90,
    "violin": -1.60,
    "longcase-clock": -1.80,
    "rug": -1.50,
}
SETTLED_SENSITIVITY = {
    "flat-iron": 0.4,
    "anvil": 0.3,
    "postcard": 1.5,
    "tin-toy": 1.15,
    "longcase-clock": 0.7,
    "sword": 0.8,
}


@dataclass(frozen=True)
class Period:
    """A period of a group: its concept, how catalogues call it, years, weight and effect."""

    id: str
    names: tuple[str, ...]
    first: int
    last: int
    weight: float
    effect: float


def _p(line: str) -> Period:
    head, names = line.split(":")
    concept, first, last, weight, effect = head.split()
    spoken = tuple(n.strip() for n in names.split("|") if n.strip())
    return Period(
        "" if concept == "-" else concept,
        spoken,
        int(first),
        int(last),
        float(weight),
        float(effect),
    )


PERIODS: dict[str, tuple[Period, ...]] = {
    name: tuple(_p(line) for line in text.strip().splitlines())
    for name, text in {
        "old": """george-ii 1728 1759 1 .50: George II|Geo. II
                  george-iii 1762 1819 5 .18: George III|Geo III|George III
                  regency 1811 1820 3 .28: Regency
                  william-iv 1830 1837 1 .05: William IV
                  victorian 1838 1900 6 -.10: Victorian|Victorian|mid Victorian
                  edwardian 1901 1910 2 -.18: Edwardian""",
        "vict": """william-iv 1830 1837 1 .18: William IV
                   victorian 1838 1900 7 .05: Victorian|late Victorian|Victorian
                   edwardian 1901 1910 3 -.05: Edwardian
                   art-nouveau 1892 1910 1 .30: Art Nouveau
                   art-deco 1922 1939 1 -.02: Art Deco""",
        "late": """victorian 1838 1900 5 .12: Victorian|late Victorian
                   edwardian 1901 1910 3 0: Edwardian
                   arts-and-crafts 1885 1912 1 .32: Arts and Crafts|Arts & Crafts
                   art-nouveau 1892 1910 1 .30: Art Nouveau
                   art-deco 1922 1939 2 .08: Art Deco
                   - 1920 1955 2 -.20: """,
        "mod": """edwardian 1901 1910 1 .15: Edwardian
                  art-deco 1922 1939 3 .22: Art Deco
                  mid-century-modern 1950 1968 3 .12: mid-century modern|Mid Century Modern
                  - 1920 1949 2 0:
                  - 1950 1979 3 -.12: """,
        "us": """federal 1790 1815 1 .70: Federal
                 shaker 1830 1870 1 .75: Shaker
                 victorian 1838 1900 5 .05: Victorian
                 edwardian 1901 1910 1 -.05: Edwardian
                 - 1840 1899 3 .08:
                 - 1900 1949 4 -.15: """,
        "cont": """louis-xvi 1775 1790 1 .50: Louis XVI
                   biedermeier 1816 1847 3 .22: Biedermeier
                   louis-philippe 1831 1847 2 .08: Louis-Philippe
                   napoleon-iii 1853 1869 3 .05: Napoleon III
                   jugendstil 1894 1911 2 .22: Jugendstil
                   art-deco 1922 1939 2 .02: Art Deco
                   - 1850 1930 2 -.12: """,
        "prints": """- 1640 1699 1 .75:
                     - 1700 1779 3 .40:
                     - 1780 1839 4 .10:
                     victorian 1838 1900 3 -.10: Victorian
                     - 1901 1945 3 -.30:
                     - 1946 1969 1 -.45: """,
        "new": """- 1983 1989 3 .15:
                  - 1990 1999 4 0: """,
    }.items()
}
CONTINENTAL = ("furniture", "lighting", "clocks-and-watches")


@dataclass(frozen=True)
class Kind:
    """One category of the demo; its trade says which effects it shares with others."""

    id: str
    trade: str
    base: float
    sigma: float
    n_sales: int
    markets: Floats
    periods: str
    materials: tuple[tuple[str, float, float], ...]
    nouns: tuple[str, ...]
    online_nouns: tuple[str, ...]
    dealer_nouns: tuple[str, ...]
    features: tuple[str, ...]
    online_features: tuple[str, ...]

    @property
    def family(self) -> str:
        """The root that the vocabulary puts it under."""
        return OTHER_ROOTS.get(self.id, self.trade)

    @property
    def sensitivity(self) -> float:
        return TRADES[self.trade].sensitivity * SETTLED_SENSITIVITY.get(self.id, 1.0)

    @property
    def copy_effect(self) -> float:
        """Effect of being a reproduction."""
        return COPY_EFFECT.get(self.id, TRADES[self.trade].copies[1])

    def period_group(self, source: int) -> tuple[Period, ...]:
        """The dealer's furniture, lamps and clocks are continental."""
        if source == DEALER and self.trade in CONTINENTAL and self.periods != "mod":
            return PERIODS["cont"]
        return PERIODS[self.periods]

    def set_sizes(self) -> tuple[Ints, Floats]:
        """Pieces in the lot and their chances."""
        chances = {2: PAIRS.get(self.id, 0.0), **SETS.get(self.id, {})}
        chances = {n: p for n, p in chances.items() if p}
        return (
            np.array([1, *chances], np.int64),
            np.array([1 - sum(chances.values()), *chances.values()]),
        )


def size_class(n: int) -> str:
    """The class of the lot's size, as bands are told."""
    if n <= 2:
        return "single" if n == 1 else "pair"
    for most, name in ((4, "3-4"), (6, "5-6"), (8, "7-8"), (12, "9-12")):
        if n <= most:
            return name
    return "13+"


@cache
def kinds() -> tuple[Kind, ...]:
    """The kinds of kinds.txt, in its order."""
    found: list[Kind] = []
    trade = ""
    for line in Path(__file__).with_name("kinds.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            trade = line[1:].strip()
            continue
        parts = [p.strip() for p in line.split(" ; ")]
        materials = []
        for entry in parts[6].split(","):
            name, weight, effect = entry.split()
            if float(weight):
                materials.append((name, float(weight), float(effect)))
        markets = np.array([float(x) for x in parts[4].split(",")])
        words = [tuple(w.strip() for w in p.split("|")) for p in parts[7:12]]
        found.append(
            Kind(
                parts[0],
                trade,
                float(parts[1]),
                float(parts[2]),
                int(parts[3]),
                markets / markets.sum(),
                parts[5],
                tuple(materials),
                words[0],
                words[1],
                words[2],
                words[3],
                words[4],
            )
        )
    return tuple(found)


def choose(rng: np.random.Generator, weights: Floats, n: int) -> Ints:
    """n indices drawn with the given weights."""
    edges = np.cumsum(weights / weights.sum())
    edges[-1] = 1.0
    return np.searchsorted(edges, rng.random(n), side="right").astype(np.int64)


def trend(trade: str, days: Ints) -> Floats:
    """Effect of the day on the log price, zero on the first day but for the yearly wave."""
    said = TRADES[trade]
    years = days / 365.25
    # the wave is highest in late November
    return said.trend * years + said.swing * np.cos(2 * np.pi * (years - 0.07))


def grade_shares(kind: Kind) -> Floats:
    shares = GRADE_SHARE.copy()
    trade = TRADES[kind.trade]
    shares[0], shares[6] = trade.as_new, trade.for_parts
    return shares / shares.sum()


@dataclass
class Pieces:
    """n pieces of one kind: arrays of length n, and faults and merits as n x k masks."""

    kind: Kind
    source: Ints
    day: Ints
    grade: Ints
    told_grade: Ints
    made: Ints
    told_class: Ints
    date_told: Ints
    material: Ints
    period: Ints
    year: Ints
    faults: npt.NDArray[np.bool_]
    merits: npt.NDArray[np.bool_]
    maker: npt.NDArray[np.bool_]
    n_pieces: Ints
    size: Floats
    free_shipping: npt.NDArray[np.bool_]
    piece_noise: Floats
    sale_noise: Floats
    log_price: Floats


MAKER_EFFECT = 0.48


def draw_pieces(kind: Kind, n: int, rng: np.random.Generator, only: int | None = None) -> Pieces:
    """Draw n sold pieces of a kind with their buyer's price before tax and shipping, in GBP.

    Args:
        only: the source that all are drawn from; None for the kind's own mixture.
    """
    trade = TRADES[kind.trade]
    source = choose(rng, kind.markets, n) if only is None else np.full(n, only, np.int64)
    day = rng.integers(0, N_DAYS, n)
    grade = choose(rng, grade_shares(kind), n)
    told = rng.random(n)
    exact = told < TELLS_GRADE[source]
    as_used = ~exact & (told < TELLS_GRADE[source] + TELLS_USED[source]) & (grade > 0) & (grade < 5)
    told_grade = np.where(exact, grade, np.where(as_used, USED, UNKNOWN_GRADE))
    shares = np.array([1 - trade.style[0] - trade.copies[0], trade.style[0], trade.copies[0]])
    made = choose(rng, shares, n)
    told_class = np.where(rng.random(n) < TELLS_CLASS[made], made, UNKNOWN_CLASS)
    date_told = choose(rng, DATE_TOLD_SHARE, n)
    material = choose(rng, np.array([m[1] for m in kind.materials]), n)
    material_effect = np.array([m[2] for m in kind.materials])[material]
    period, year, period_effect = _periods(kind, source, made, rng)
    fault_p = np.array([w for w, _ in trade.faults.values()]) * 0.55
    faults = rng.random((n, len(fault_p))) < FAULT_RATE[grade][:, None] * fault_p[None, :]
    never = NEVER.get(kind.id, frozenset())
    faults &= ~_impossible(kind, trade, material)
    faults &= np.array([fault not in never for fault in trade.faults])
    merit_p = np.array([p for p, _ in trade.merits.values()])
    merits = rng.random((n, len(merit_p))) < merit_p[None, :]
    merits &= np.array([merit not in never for merit in trade.merits])
    merits = _believable(trade, merits, faults, grade, made)
    maker = (rng.random(n) < MAKER_SHARE) & (made == PERIOD)
    sizes, chances = kind.set_sizes()
    n_pieces = sizes[choose(rng, chances, n)]
    size = rng.standard_normal(n) * SIZE_SPREAD
    free = (rng.random(n) < FREE_SHIPPING_SHARE) & (source == ONLINE)
    piece_noise = rng.standard_normal(n) * kind.sigma
    sale_noise = rng.standard_normal(n) * PIECE_TO_SALE_NOISE
    class_effect = np.array([0.0, trade.style[1], kind.copy_effect])[made]
    log_price = (
        np.log(kind.base)
        + class_effect
        + kind.sensitivity * GRADE_EFFECT[grade]
        + material_effect
        + period_effect
        + faults @ np.array([e for _, e in trade.faults.values()])
        + merits @ np.array([e for _, e in trade.merits.values()])
        + MAKER_EFFECT * maker
        + set_effect(n_pieces)
        + SIZED.get(kind.id, 0.0) * size
        + MARKET_EFFECT[source]
        + FREE_SHIPPING_EFFECT * free
        + trend(kind.trade, day)
        + piece_noise
        + sale_noise
    )
    return Pieces(
        kind,
        source,
        day,
        grade,
        told_grade,
        made,
        told_class,
        date_told,
        material,
        period,
        year,
        faults,
        merits,
        maker,
        n_pieces,
        size,
        free,
        piece_noise,
        sale_noise,
        log_price,
    )


def _impossible(kind: Kind, trade: Trade, material: Ints) -> npt.NDArray[np.bool_]:
    """Faults that a material cannot have: silver does not craze, glass is not dented."""
    table = np.zeros((len(kind.materials), len(trade.faults)), bool)
    if kind.trade in HARD_GOODS:
        for row, (name, _, _) in enumerate(kind.materials):
            never = (
                NOT_ON_METAL
                if name in METALS
                else NOT_ON_BRITTLE
                if name in BRITTLE
                else NOT_ON_OTHERS
            )
            table[row] = [fault in never for fault in trade.faults]
    return table[material]


def set_effect(n_pieces: Ints) -> Floats:
    return np.where(n_pieces == 2, PAIR_EFFECT, SET_EXPONENT * np.log(n_pieces))


def _periods(
    kind: Kind, source: Ints, made: Ints, rng: np.random.Generator
) -> tuple[Ints, Ints, Floats]:
    """Index into the source's group of periods, year of making, effect; a copy has no period's
    effect, it only names the period that it copies."""
    n = len(source)
    period = np.zeros(n, np.int64)
    year = np.zeros(n, np.int64)
    effect = np.zeros(n)
    u, v = rng.random(n), rng.random(n)
    for s in range(3):
        group = kind.period_group(s)
        at = source == s
        edges = np.cumsum([p.weight for p in group])
        picked = np.searchsorted(edges / edges[-1], u[at], side="right").clip(0, len(group) - 1)
        period[at] = picked
        first = np.array([p.first for p in group])[picked]
        last = np.array([p.last for p in group])[picked]
        year[at] = first + np.floor(v[at] * (last - first + 1)).astype(np.int64)
        effect[at] = np.array([p.effect for p in group])[picked]
    later = np.where(made == STYLE, 1905 + np.floor(v * 70), 1965 + np.floor(v * 50))
    year = np.where(made == PERIOD, year, later.astype(np.int64))
    return period, year, np.where(made == PERIOD, effect, 0.0)


def _believable(
    trade: Trade,
    merits: npt.NDArray[np.bool_],
    faults: npt.NDArray[np.bool_],
    grade: Ints,
    made: Ints,
) -> npt.NDArray[np.bool_]:
    """Nobody praises what a fault denies; a copy bears no signature and no provenance."""
    merit, fault = list(trade.merits), list(trade.faults)
    for praise, denials in {
        "working": ("not-working", "untested"),
        "serviced": ("not-working", "untested"),
        "original-hardware": ("replaced-hardware",),
        "original-patina": ("refinished",),
    }.items():
        if praise in merit:
            for denial in denials:
                if denial in fault:
                    merits[:, merit.index(praise)] &= ~faults[:, fault.index(denial)]
    if "no-damage" in merit:
        merits[:, merit.index("no-damage")] &= ~faults.any(axis=1) & (grade <= 2)
    for praise in ("working", "serviced"):
        if praise in merit:
            merits[:, merit.index(praise)] &= grade < 5
    for praise in ("signed", "provenance", "first-edition"):
        if praise in merit:
            merits[:, merit.index(praise)] &= made == PERIOD
    return merits
