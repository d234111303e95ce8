"""The invented market behind the demo: kinds of goods, effects on price, and a sampler of pieces.

One function, `draw_pieces`, draws the pieces that the exports show and the large samples from
which the true medians of the cells are taken, so that the truth is the truth of the same market.
Every figure here is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

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

OTHER_ROOTS = {
    name: "tableware-and-vessels" for name in ("toby-jug", "vase", "salver", "tray", "kettle")
}

FIRST_DAY = np.datetime64("2022-11-01")
LAST_DAY = np.datetime64("2026-10-25")
N_DAYS = int((LAST_DAY - FIRST_DAY).astype(int)) + 1
SALES_SCALE = 0.76


@dataclass(frozen=True)
class Trade:
    """Effects on the log price that the kinds of a trade share.

    Attributes:
        style: share and effect of later pieces in the style.
        copies: share and effect of reproductions.
        sensitivity: factor on the effects of condition; small where kinds hold their price.
        trend: change of the log price a year; `swing` is a yearly wave on top.
        faults: fault -> weight, effect.
        merits: word that pays -> chance, effect.
        as_new, for_parts: shares of the two outer grades.
    """

    style: tuple[float, float]
    copies: tuple[float, float]
    sensitivity: float
    trend: float
    swing: float
    faults: dict[str, tuple[float, float]]
    merits: dict[str, tuple[float, float]] = field(default_factory=dict)
    as_new: float = 0.02
    for_parts: float = 0.0


_WOOD = {
    "refinished": (0.9, -0.20), "replaced-hardware": (1.0, -0.12), "replaced-feet": (0.5, -0.18),
    "worm": (0.7, -0.22), "veneer-loss": (0.6, -0.18), "scratches": (1.5, -0.05),
    "married": (0.35, -0.55), "cut-down": (0.25, -0.42), "restored": (0.7, -0.10),
    "loose": (0.5, -0.12),
}  # fmt: skip
_POTS = {
    "chips": (1.5, -0.45), "hairline": (1.1, -0.42), "crazing": (1.2, -0.10),
    "restored": (0.8, -0.50), "gilding-loss": (0.7, -0.12), "stained": (0.6, -0.18),
}  # fmt: skip
_GLASS = {"chips": (1.6, -0.45), "scratches": (1.2, -0.12), "cracked": (0.7, -0.85)}
_METAL = {
    "dents": (1.5, -0.18), "plate-worn": (0.7, -0.30), "metal-repair": (0.6, -0.35),
    "scratches": (1.0, -0.06), "monogram-erased": (0.4, -0.25), "corrosion": (0.4, -0.22),
}  # fmt: skip
_PAPER = {
    "foxing": (1.4, -0.16), "toning": (1.3, -0.10), "torn": (1.1, -0.35), "trimmed": (0.7, -0.30),
    "creased": (1.1, -0.14), "laid-down": (0.5, -0.30), "stained": (0.8, -0.22),
}  # fmt: skip
_CLOTH = {
    "faded": (1.1, -0.20), "stained": (1.2, -0.26), "torn": (1.0, -0.38), "moth-damage": (0.9, -0.45),
    "wear": (1.3, -0.18), "darned": (0.5, -0.15),
}  # fmt: skip
_WORKS = {
    "not-working": (1.2, -0.50), "untested": (1.4, -0.22), "scratches": (1.2, -0.07),
    "incomplete": (0.6, -0.35), "corrosion": (0.6, -0.20), "cracked": (0.5, -0.28),
}  # fmt: skip
_CLOCK = {
    "not-working": (1.2, -0.42), "untested": (1.0, -0.18), "missing-pendulum": (0.4, -0.25),
    "replaced-movement": (0.4, -0.50), "married": (0.3, -0.55), "no-key": (0.8, -0.06),
    "scratches": (0.8, -0.05), "hairline": (0.5, -0.16),
}  # fmt: skip
_TOY = {
    "paint-loss": (1.3, -0.28), "incomplete": (0.9, -0.45), "corrosion": (0.7, -0.25),
    "repair": (0.6, -0.30), "wear": (1.2, -0.18), "missing-pieces": (0.5, -0.50),
}  # fmt: skip
_RUNS = {"working": (0.14, 0.20), "serviced": (0.05, 0.18)}
_SIGNED = {"signed": (0.10, 0.42), "labelled": (0.07, 0.22), "provenance": (0.03, 0.25)}

TRADES: dict[str, Trade] = {
    "furniture": Trade((0.15, -0.75), (0.10, -1.25), 0.95, -0.025, 0.02, _WOOD,
                        {"labelled": (0.05, 0.30), "original-hardware": (0.09, 0.14),
                         "original-patina": (0.08, 0.10), "provenance": (0.03, 0.22)}),
    "lighting": Trade((0.13, -0.60), (0.12, -1.05), 0.85, 0.01, 0.03,
                       {"rewired": (1.6, 0.06), "missing-shade": (1.0, -0.30),
                        "replaced-shade": (0.8, -0.16), "dents": (1.0, -0.16),
                        "drilled": (0.5, -0.45), "untested": (0.9, -0.15)}, _SIGNED),
    "clocks-and-watches": Trade((0.07, -0.70), (0.07, -1.30), 0.80, 0.0, 0.02, _CLOCK,
                                 {**_RUNS, "signed": (0.10, 0.38), "boxed": (0.03, 0.25)},
                                 for_parts=0.03),
    "tableware-and-vessels": Trade((0.11, -0.55), (0.08, -0.95), 1.20, -0.01, 0.04,
                                    {**_POTS, "dents": (0.7, -0.18), "missing-lid": (0.5, -0.45)},
                                    {"marked": (0.14, 0.20), "no-damage": (0.10, 0.06)}),
    "ceramics": Trade((0.09, -0.65), (0.10, -1.50), 1.40, -0.015, 0.02, _POTS,
                       {"marked": (0.14, 0.22), "signed": (0.06, 0.38), "no-damage": (0.10, 0.06)}),
    "glassware": Trade((0.08, -0.65), (0.08, -1.20), 1.45, 0.015, 0.02, _GLASS,
                        {"signed": (0.12, 0.45), "labelled": (0.07, 0.24)}),
    "metalware-and-silver": Trade((0.10, -0.45), (0.06, -0.95), 0.45, 0.085, 0.01, _METAL,
                                   {"marked": (0.22, 0.16), "boxed": (0.06, 0.22)}),
    "prints-and-paintings": Trade((0.05, -0.95), (0.22, -2.00), 0.85, 0.0, 0.02,
                                   {**_PAPER, "relined": (0.5, -0.18), "unframed": (1.0, -0.10)},
                                   {"signed": (0.22, 0.55), "numbered": (0.06, 0.24),
                                    "labelled": (0.05, 0.26), "provenance": (0.04, 0.32)}),
    "maps-and-globes": Trade((0.06, -1.30), (0.20, -2.30), 0.75, 0.02, 0.01, _PAPER,
                              {"labelled": (0.05, 0.22), "signed": (0.04, 0.25),
                               "provenance": (0.03, 0.25)}),
    "books-and-paper": Trade((0.03, -0.50), (0.10, -1.60), 0.90, 0.01, 0.02,
                              {**_PAPER, "missing-pages": (0.5, -0.70), "rebound": (0.6, -0.20)},
                              {"first-edition": (0.06, 0.75), "signed": (0.07, 0.55),
                               "dust-jacket": (0.08, 0.40)}, as_new=0.03),
    "textiles-and-rugs": Trade((0.10, -0.60), (0.07, -1.00), 1.05, -0.02, 0.02, _CLOTH,
                                {"signed": (0.04, 0.30), "provenance": (0.03, 0.25)}),
    "jewellery": Trade((0.14, -0.40), (0.06, -1.10), 0.40, 0.095, 0.05,
                        {"missing-stones": (0.8, -0.30), "repair": (0.9, -0.14),
                         "metal-repair": (0.6, -0.20), "wear": (1.2, -0.06)},
                        {"marked": (0.18, 0.15), "boxed": (0.10, 0.18), "signed": (0.07, 0.35)}),
    "toys-and-games": Trade((0.03, -0.60), (0.10, -1.50), 1.30, 0.045, 0.10, _TOY,
                             {"boxed": (0.14, 0.55), "labelled": (0.07, 0.30),
                              "working": (0.07, 0.15)}, as_new=0.05),
    "video-games": Trade((0.02, -0.20), (0.04, -1.10), 1.00, 0.07, 0.08, _WORKS,
                          {"boxed": (0.18, 0.48), "working": (0.22, 0.16)}, as_new=0.06,
                          for_parts=0.06),
    "musical-instruments": Trade((0.05, -0.60), (0.06, -1.00), 0.85, 0.0, 0.02,
                                  {"cracked": (1.0, -0.40), "repair": (0.9, -0.22),
                                   "scratches": (1.2, -0.06), "restrung": (0.6, 0.02)},
                                  {"labelled": (0.18, 0.30), "signed": (0.05, 0.30)},
                                  for_parts=0.03),
    "scientific-instruments": Trade((0.05, -0.80), (0.12, -1.50), 0.65, 0.005, 0.01,
                                     {"corrosion": (0.9, -0.16), "incomplete": (0.8, -0.32),
                                      "restored": (0.6, -0.08), "cracked": (0.6, -0.22),
                                      "scratches": (0.9, -0.05)},
                                     {"signed": (0.16, 0.34), "boxed": (0.08, 0.20),
                                      "working": (0.05, 0.12)}),
    "kitchen-and-household": Trade((0.08, -0.45), (0.08, -0.90), 0.60, 0.01, 0.03,
                                    {"dents": (1.5, -0.14), "corrosion": (1.2, -0.20),
                                     "metal-repair": (0.5, -0.18), "missing-handle": (0.4, -0.4)},
                                    {"marked": (0.12, 0.18), "labelled": (0.05, 0.15)}),
    "decorative-objects": Trade((0.11, -0.60), (0.10, -1.15), 1.05, -0.01, 0.03,
                                 {**_POTS, "repair": (0.6, -0.32)},
                                 {"signed": (0.09, 0.40), "boxed": (0.06, 0.20),
                                  "labelled": (0.06, 0.16)}, as_new=0.03),
    "sculpture": Trade((0.08, -0.70), (0.18, -1.50), 0.55, 0.01, 0.02,
                        {"chips": (1.3, -0.20), "scratches": (1.0, -0.05), "repair": (0.8, -0.22)},
                        {"signed": (0.22, 0.52), "numbered": (0.06, 0.20)}),
    "tools": Trade((0.03, -0.30), (0.05, -0.80), 0.65, 0.02, 0.02,
                    {"corrosion": (1.8, -0.22), "cracked": (0.8, -0.30), "worm": (0.5, -0.25),
                     "incomplete": (0.6, -0.30)},
                    {"marked": (0.18, 0.20), "boxed": (0.06, 0.40), "labelled": (0.04, 0.25)}),
    "cameras-and-optics": Trade((0.02, -0.30), (0.05, -1.30), 0.95, 0.05, 0.03, _WORKS,
                                 {"boxed": (0.10, 0.32), "working": (0.16, 0.28),
                                  "serviced": (0.05, 0.30)}, for_parts=0.06),
    "electricals": Trade((0.09, -0.70), (0.07, -1.05), 0.90, -0.015, 0.02, _WORKS,
                          {"working": (0.22, 0.30), "serviced": (0.05, 0.22),
                           "boxed": (0.04, 0.28)}, for_parts=0.06),
    "sporting-and-travel": Trade((0.05, -0.45), (0.06, -1.10), 0.85, 0.01, 0.05,
                                  {"wear": (1.5, -0.14), "corrosion": (0.7, -0.16),
                                   "torn": (0.6, -0.26), "repair": (0.6, -0.20)},
                                  {"boxed": (0.08, 0.30), "marked": (0.14, 0.22)}),
    "militaria": Trade((0.04, -0.70), (0.15, -1.80), 0.75, 0.03, 0.01,
                        {"corrosion": (1.5, -0.28), "restored": (0.5, -0.18),
                         "incomplete": (0.6, -0.30), "wear": (1.0, -0.08)},
                        {"marked": (0.14, 0.20), "provenance": (0.06, 0.38)}),
    "garden-and-architectural": Trade((0.12, -0.50), (0.14, -1.10), 0.35, 0.015, 0.12,
                                       {"corrosion": (1.4, -0.08), "cracked": (0.9, -0.30),
                                        "repair": (0.7, -0.18), "chips": (1.0, -0.12)},
                                       {"marked": (0.08, 0.25), "provenance": (0.04, 0.25)}),
    "writing-and-desk": Trade((0.08, -0.60), (0.07, -1.10), 0.80, 0.02, 0.02,
                               {"chips": (1.2, -0.28), "dents": (0.9, -0.16),
                                "missing-lid": (0.5, -0.45), "monogram-erased": (0.3, -0.15)},
                               {"marked": (0.16, 0.20), "boxed": (0.08, 0.30)}),
    "smoking-and-tobacco": Trade((0.06, -0.40), (0.05, -0.90), 0.90, -0.03, 0.02,
                                  {"scratches": (1.3, -0.08), "chips": (0.9, -0.26),
                                   "not-working": (0.6, -0.30), "untested": (0.8, -0.12)},
                                  {"boxed": (0.12, 0.32), "marked": (0.14, 0.20)}),
    "sewing-and-needlework-tools": Trade((0.05, -0.40), (0.06, -0.95), 0.60, 0.0, 0.02,
                                          {"dents": (1.2, -0.24), "wear": (1.3, -0.10),
                                           "corrosion": (0.7, -0.18), "untested": (0.5, -0.10)},
                                          {"marked": (0.16, 0.20), "boxed": (0.10, 0.26)}),
    "coins-and-medals": Trade((0.0, 0.0), (0.10, -2.20), 1.15, 0.06, 0.01,
                               {"cleaned": (1.6, -0.28), "scratches": (1.2, -0.20),
                                "dents": (0.6, -0.18)}, {"boxed": (0.06, 0.15)}),
}  # fmt: skip

PAIRS = {
    "candlestick": 0.30, "vase": 0.14, "decanter": 0.12, "dining-chair": 0.10, "garden-urn": 0.20,
    "pottery-figure": 0.10, "engraving": 0.06, "watercolour": 0.05, "table-lamp": 0.14,
    "windsor-chair": 0.05, "spoon": 0.10, "picture-frame": 0.06, "bust": 0.04, "jug": 0.04,
    "salver": 0.03, "wine-glass": 0.08, "figurine": 0.04,
}  # fmt: skip
SETS: dict[str, dict[int, float]] = {
    "dining-chair": {4: 0.20, 6: 0.22, 8: 0.07}, "wine-glass": {4: 0.08, 6: 0.24, 8: 0.05, 12: 0.03},
    "spoon": {4: 0.05, 6: 0.24, 12: 0.06}, "cup-and-saucer": {4: 0.06, 6: 0.12},
    "tile": {4: 0.10, 6: 0.10}, "saucepan": {3: 0.08, 5: 0.10}, "windsor-chair": {4: 0.05, 6: 0.04},
}  # fmt: skip
PAIR_EFFECT = float(np.log(2.2))
SET_EXPONENT = 0.95
# pieces whose size tells in the price: exponent of size over the usual size
SIZED = {"rug": 0.8, "painting": 0.5, "watercolour": 0.5, "globe": 0.9, "garden-urn": 0.7,
         "map": 0.4, "celestial-globe": 0.8}  # fmt: skip
SIZE_SPREAD = 0.35
# copies of some kinds are worth even less than those of their trade
COPY_EFFECT = {"celestial-globe": -4.55, "painting": -3.60, "watercolour": -2.80, "globe": -2.90,
               "violin": -1.60, "longcase-clock": -1.80, "rug": -1.50}  # fmt: skip
SETTLED_SENSITIVITY = {"flat-iron": 0.4, "anvil": 0.3, "postcard": 1.5, "tin-toy": 1.15,
                       "longcase-clock": 0.7, "sword": 0.8}  # fmt: skip


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
    return Period("" if concept == "-" else concept, spoken, int(first), int(last), float(weight),
                  float(effect))  # fmt: skip


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
            Kind(parts[0], trade, float(parts[1]), float(parts[2]), int(parts[3]),
                 markets / markets.sum(), parts[5], tuple(materials),
                 words[0], words[1], words[2], words[3], words[4])  # fmt: skip
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


def draw_pieces(
    kind: Kind, n: int, rng: np.random.Generator, only: int | None = None
) -> Pieces:
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
    faults &= ~_impossible(kind, trade, material)
    merit_p = np.array([p for p, _ in trade.merits.values()])
    merits = rng.random((n, len(merit_p))) < merit_p[None, :]
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
    return Pieces(kind, source, day, grade, told_grade, made, told_class, date_told, material,
                  period, year, faults, merits, maker, n_pieces, size, free, piece_noise,
                  sale_noise, log_price)  # fmt: skip


METALS = frozenset(
    "brass bronze copper iron cast-iron wrought-iron steel silver-plate sterling-silver pewter "
    "britannia-metal sheffield-plate gilt-metal chrome-plated tinplate tole aluminium galvanised "
    "gold-9ct gold-18ct rolled-gold gold-plate nickel platinum spelter silver gold lead".split()
)
BRITTLE = frozenset(
    "porcelain bone-china earthenware stoneware creamware transferware ceramic parian delft glass "
    "cut-glass crystal cranberry-glass millefiori terracotta marble stone plaster concrete "
    "alabaster cloisonne".split()
)
NOT_ON_METAL = frozenset("chips hairline crazing gilding-loss stained cracked".split())
NOT_ON_BRITTLE = frozenset(
    "dents plate-worn metal-repair corrosion monogram-erased drilled scratches".split()
)
NOT_ON_OTHERS = frozenset("chips hairline crazing dents plate-worn metal-repair".split())
HARD_GOODS = frozenset(
    "tableware-and-vessels ceramics glassware metalware-and-silver decorative-objects sculpture "
    "writing-and-desk smoking-and-tobacco lighting garden-and-architectural".split()
)


def _impossible(kind: Kind, trade: Trade, material: Ints) -> npt.NDArray[np.bool_]:
    """Faults that a material cannot have: silver does not craze, glass is not dented."""
    table = np.zeros((len(kind.materials), len(trade.faults)), bool)
    if kind.trade in HARD_GOODS:
        for row, (name, _, _) in enumerate(kind.materials):
            never = (
                NOT_ON_METAL if name in METALS
                else NOT_ON_BRITTLE if name in BRITTLE else NOT_ON_OTHERS
            )  # fmt: skip
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
        "working": ("not-working", "untested"), "serviced": ("not-working", "untested"),
        "original-hardware": ("replaced-hardware",), "original-patina": ("refinished",),
    }.items():  # fmt: skip
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
