"""The trades of the invented market: effects on price that their kinds share. All invented."""

from __future__ import annotations

from dataclasses import dataclass, field


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
    "refinished": (0.9, -0.20),
    "replaced-hardware": (1.0, -0.12),
    "replaced-feet": (0.5, -0.18),
    "worm": (0.7, -0.22),
    "veneer-loss": (0.6, -0.18),
    "scratches": (1.5, -0.05),
    "married": (0.35, -0.55),
    "cut-down": (0.25, -0.42),
    "restored": (0.7, -0.10),
    "loose": (0.5, -0.12),
}
_POTS = {
    "chips": (1.5, -0.45),
    "hairline": (1.1, -0.42),
    "crazing": (1.2, -0.10),
    "restored": (0.8, -0.50),
    "gilding-loss": (0.7, -0.12),
    "stained": (0.6, -0.18),
}
_GLASS = {"chips": (1.6, -0.45), "scratches": (1.2, -0.12), "cracked": (0.7, -0.85)}
_METAL = {
    "dents": (1.5, -0.18),
    "plate-worn": (0.7, -0.30),
    "metal-repair": (0.6, -0.35),
    "scratches": (1.0, -0.06),
    "monogram-erased": (0.4, -0.25),
    "corrosion": (0.4, -0.22),
}
_PAPER = {
    "foxing": (1.4, -0.16),
    "toning": (1.3, -0.10),
    "torn": (1.1, -0.35),
    "trimmed": (0.7, -0.30),
    "creased": (1.1, -0.14),
    "laid-down": (0.5, -0.30),
    "stained": (0.8, -0.22),
}
_CLOTH = {
    "faded": (1.1, -0.20),
    "stained": (1.2, -0.26),
    "torn": (1.0, -0.38),
    "moth-damage": (0.9, -0.45),
    "wear": (1.3, -0.18),
    "darned": (0.5, -0.15),
}
_WORKS = {
    "not-working": (1.2, -0.50),
    "untested": (1.4, -0.22),
    "scratches": (1.2, -0.07),
    "incomplete": (0.6, -0.35),
    "corrosion": (0.6, -0.20),
    "cracked": (0.5, -0.28),
}
_CLOCK = {
    "not-working": (1.2, -0.42),
    "untested": (1.0, -0.18),
    "missing-pendulum": (0.4, -0.25),
    "replaced-movement": (0.4, -0.50),
    "married": (0.3, -0.55),
    "no-key": (0.8, -0.06),
    "scratches": (0.8, -0.05),
    "hairline": (0.5, -0.16),
}
_TOY = {
    "paint-loss": (1.3, -0.28),
    "incomplete": (0.9, -0.45),
    "corrosion": (0.7, -0.25),
    "repair": (0.6, -0.30),
    "wear": (1.2, -0.18),
    "missing-pieces": (0.5, -0.50),
}
_RUNS = {"working": (0.14, 0.20), "serviced": (0.05, 0.18)}
_SIGNED = {"signed": (0.10, 0.42), "labelled": (0.07, 0.22), "provenance": (0.03, 0.25)}

TRADES: dict[str, Trade] = {
    "furniture": Trade(
        (0.15, -0.75),
        (0.10, -1.25),
        0.95,
        -0.025,
        0.02,
        _WOOD,
        {
            "labelled": (0.05, 0.30),
            "original-hardware": (0.09, 0.14),
            "original-patina": (0.08, 0.10),
            "provenance": (0.03, 0.22),
        },
    ),
    "lighting": Trade(
        (0.13, -0.60),
        (0.12, -1.05),
        0.85,
        0.01,
        0.03,
        {
            "rewired": (1.6, 0.06),
            "missing-shade": (1.0, -0.30),
            "replaced-shade": (0.8, -0.16),
            "dents": (1.0, -0.16),
            "drilled": (0.5, -0.45),
            "untested": (0.9, -0.15),
        },
        _SIGNED,
    ),
    "clocks-and-watches": Trade(
        (0.07, -0.70),
        (0.07, -1.30),
        0.80,
        0.0,
        0.02,
        _CLOCK,
        {**_RUNS, "signed": (0.10, 0.38), "boxed": (0.03, 0.25)},
        for_parts=0.03,
    ),
    "tableware-and-vessels": Trade(
        (0.11, -0.55),
        (0.08, -0.95),
        1.20,
        -0.01,
        0.04,
        {**_POTS, "dents": (0.7, -0.18), "missing-lid": (0.5, -0.45)},
        {"marked": (0.14, 0.20), "no-damage": (0.10, 0.06)},
    ),
    "ceramics": Trade(
        (0.09, -0.65),
        (0.10, -1.50),
        1.40,
        -0.015,
        0.02,
        _POTS,
        {"marked": (0.14, 0.22), "signed": (0.06, 0.38), "no-damage": (0.10, 0.06)},
    ),
    "glassware": Trade(
        (0.08, -0.65),
        (0.08, -1.20),
        1.45,
        0.015,
        0.02,
        _GLASS,
        {"signed": (0.12, 0.45), "labelled": (0.07, 0.24)},
    ),
    "metalware-and-silver": Trade(
        (0.10, -0.45),
        (0.06, -0.95),
        0.45,
        0.085,
        0.01,
        _METAL,
        {"marked": (0.22, 0.16), "boxed": (0.06, 0.22)},
    ),
    "prints-and-paintings": Trade(
        (0.05, -0.95),
        (0.22, -2.00),
        0.85,
        0.0,
        0.02,
        {**_PAPER, "relined": (0.5, -0.18), "unframed": (1.0, -0.10)},
        {
            "signed": (0.22, 0.55),
            "numbered": (0.06, 0.24),
            "labelled": (0.05, 0.26),
            "provenance": (0.04, 0.32),
        },
    ),
    "maps-and-globes": Trade(
        (0.06, -1.30),
        (0.20, -2.30),
        0.75,
        0.02,
        0.01,
        _PAPER,
        {"labelled": (0.05, 0.22), "signed": (0.04, 0.25), "provenance": (0.03, 0.25)},
    ),
    "books-and-paper": Trade(
        (0.03, -0.50),
        (0.10, -1.60),
        0.90,
        0.01,
        0.02,
        {**_PAPER, "missing-pages": (0.5, -0.70), "rebound": (0.6, -0.20)},
        {"first-edition": (0.06, 0.75), "signed": (0.07, 0.55), "dust-jacket": (0.08, 0.40)},
        as_new=0.03,
    ),
    "textiles-and-rugs": Trade(
        (0.10, -0.60),
        (0.07, -1.00),
        1.05,
        -0.02,
        0.02,
        _CLOTH,
        {"signed": (0.04, 0.30), "provenance": (0.03, 0.25)},
    ),
    "jewellery": Trade(
        (0.14, -0.40),
        (0.06, -1.10),
        0.40,
        0.095,
        0.05,
        {
            "missing-stones": (0.8, -0.30),
            "repair": (0.9, -0.14),
            "metal-repair": (0.6, -0.20),
            "wear": (1.2, -0.06),
        },
        {"marked": (0.18, 0.15), "boxed": (0.10, 0.18), "signed": (0.07, 0.35)},
    ),
    "toys-and-games": Trade(
        (0.03, -0.60),
        (0.10, -1.50),
        1.30,
        0.045,
        0.10,
        _TOY,
        {"boxed": (0.14, 0.55), "labelled": (0.07, 0.30), "working": (0.07, 0.15)},
        as_new=0.05,
    ),
    "video-games": Trade(
        (0.02, -0.20),
        (0.04, -1.10),
        1.00,
        0.07,
        0.08,
        _WORKS,
        {"boxed": (0.18, 0.48), "working": (0.22, 0.16)},
        as_new=0.06,
        for_parts=0.06,
    ),
    "musical-instruments": Trade(
        (0.05, -0.60),
        (0.06, -1.00),
        0.85,
        0.0,
        0.02,
        {
            "cracked": (1.0, -0.40),
            "repair": (0.9, -0.22),
            "scratches": (1.2, -0.06),
            "restrung": (0.6, 0.02),
        },
        {"labelled": (0.18, 0.30), "signed": (0.05, 0.30)},
        for_parts=0.03,
    ),
    "scientific-instruments": Trade(
        (0.05, -0.80),
        (0.12, -1.50),
        0.65,
        0.005,
        0.01,
        {
            "corrosion": (0.9, -0.16),
            "incomplete": (0.8, -0.32),
            "restored": (0.6, -0.08),
            "cracked": (0.6, -0.22),
            "scratches": (0.9, -0.05),
        },
        {"signed": (0.16, 0.34), "boxed": (0.08, 0.20), "working": (0.05, 0.12)},
    ),
    "kitchen-and-household": Trade(
        (0.08, -0.45),
        (0.08, -0.90),
        0.60,
        0.01,
        0.03,
        {
            "dents": (1.5, -0.14),
            "corrosion": (1.2, -0.20),
            "metal-repair": (0.5, -0.18),
            "missing-handle": (0.4, -0.4),
        },
        {"marked": (0.12, 0.18), "labelled": (0.05, 0.15)},
    ),
    "decorative-objects": Trade(
        (0.11, -0.60),
        (0.10, -1.15),
        1.05,
        -0.01,
        0.03,
        {**_POTS, "repair": (0.6, -0.32)},
        {"signed": (0.09, 0.40), "boxed": (0.06, 0.20), "labelled": (0.06, 0.16)},
        as_new=0.03,
    ),
    "sculpture": Trade(
        (0.08, -0.70),
        (0.18, -1.50),
        0.55,
        0.01,
        0.02,
        {"chips": (1.3, -0.20), "scratches": (1.0, -0.05), "repair": (0.8, -0.22)},
        {"signed": (0.22, 0.52), "numbered": (0.06, 0.20)},
    ),
    "tools": Trade(
        (0.03, -0.30),
        (0.05, -0.80),
        0.65,
        0.02,
        0.02,
        {
            "corrosion": (1.8, -0.22),
            "cracked": (0.8, -0.30),
            "worm": (0.5, -0.25),
            "incomplete": (0.6, -0.30),
        },
        {"marked": (0.18, 0.20), "boxed": (0.06, 0.40), "labelled": (0.04, 0.25)},
    ),
    "cameras-and-optics": Trade(
        (0.02, -0.30),
        (0.05, -1.30),
        0.95,
        0.05,
        0.03,
        _WORKS,
        {"boxed": (0.10, 0.32), "working": (0.16, 0.28), "serviced": (0.05, 0.30)},
        for_parts=0.06,
    ),
    "electricals": Trade(
        (0.09, -0.70),
        (0.07, -1.05),
        0.90,
        -0.015,
        0.02,
        _WORKS,
        {"working": (0.22, 0.30), "serviced": (0.05, 0.22), "boxed": (0.04, 0.28)},
        for_parts=0.06,
    ),
    "sporting-and-travel": Trade(
        (0.05, -0.45),
        (0.06, -1.10),
        0.85,
        0.01,
        0.05,
        {
            "wear": (1.5, -0.14),
            "corrosion": (0.7, -0.16),
            "torn": (0.6, -0.26),
            "repair": (0.6, -0.20),
        },
        {"boxed": (0.08, 0.30), "marked": (0.14, 0.22)},
    ),
    "militaria": Trade(
        (0.04, -0.70),
        (0.15, -1.80),
        0.75,
        0.03,
        0.01,
        {
            "corrosion": (1.5, -0.28),
            "restored": (0.5, -0.18),
            "incomplete": (0.6, -0.30),
            "wear": (1.0, -0.08),
        },
        {"marked": (0.14, 0.20), "provenance": (0.06, 0.38)},
    ),
    "garden-and-architectural": Trade(
        (0.12, -0.50),
        (0.14, -1.10),
        0.35,
        0.015,
        0.12,
        {
            "corrosion": (1.4, -0.08),
            "cracked": (0.9, -0.30),
            "repair": (0.7, -0.18),
            "chips": (1.0, -0.12),
        },
        {"marked": (0.08, 0.25), "provenance": (0.04, 0.25)},
    ),
    "writing-and-desk": Trade(
        (0.08, -0.60),
        (0.07, -1.10),
        0.80,
        0.02,
        0.02,
        {
            "chips": (1.2, -0.28),
            "dents": (0.9, -0.16),
            "missing-lid": (0.5, -0.45),
            "monogram-erased": (0.3, -0.15),
        },
        {"marked": (0.16, 0.20), "boxed": (0.08, 0.30)},
    ),
    "smoking-and-tobacco": Trade(
        (0.06, -0.40),
        (0.05, -0.90),
        0.90,
        -0.03,
        0.02,
        {
            "scratches": (1.3, -0.08),
            "chips": (0.9, -0.26),
            "not-working": (0.6, -0.30),
            "untested": (0.8, -0.12),
        },
        {"boxed": (0.12, 0.32), "marked": (0.14, 0.20)},
    ),
    "sewing-and-needlework-tools": Trade(
        (0.05, -0.40),
        (0.06, -0.95),
        0.60,
        0.0,
        0.02,
        {
            "dents": (1.2, -0.24),
            "wear": (1.3, -0.10),
            "corrosion": (0.7, -0.18),
            "untested": (0.5, -0.10),
        },
        {"marked": (0.16, 0.20), "boxed": (0.10, 0.26)},
    ),
    "coins-and-medals": Trade(
        (0.0, 0.0),
        (0.10, -2.20),
        1.15,
        0.06,
        0.01,
        {"cleaned": (1.6, -0.28), "scratches": (1.2, -0.20), "dents": (0.6, -0.18)},
        {"boxed": (0.06, 0.15)},
    ),
}
