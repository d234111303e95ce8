"""What sellers never say of a material or a kind: silver does not craze, a bear does not rust."""

from __future__ import annotations

METALS = frozenset(
    [
        "brass",
        "bronze",
        "copper",
        "iron",
        "cast-iron",
        "wrought-iron",
        "steel",
        "silver-plate",
        "sterling-silver",
        "pewter",
        "britannia-metal",
        "sheffield-plate",
        "gilt-metal",
        "chrome-plated",
        "tinplate",
        "tole",
        "aluminium",
        "galvanised",
        "gold-9ct",
        "gold-18ct",
        "rolled-gold",
        "gold-plate",
        "nickel",
        "platinum",
        "spelter",
        "silver",
        "gold",
        "lead",
    ]
)
BRITTLE = frozenset(
    [
        "porcelain",
        "bone-china",
        "earthenware",
        "stoneware",
        "creamware",
        "transferware",
        "ceramic",
        "parian",
        "delft",
        "glass",
        "cut-glass",
        "crystal",
        "cranberry-glass",
        "millefiori",
        "terracotta",
        "marble",
        "stone",
        "plaster",
        "concrete",
        "alabaster",
        "cloisonne",
    ]
)
NOT_ON_METAL = frozenset(["chips", "hairline", "crazing", "gilding-loss", "stained", "cracked"])
NOT_ON_BRITTLE = frozenset(
    ["dents", "plate-worn", "metal-repair", "corrosion", "monogram-erased", "drilled", "scratches"]
)
NOT_ON_OTHERS = frozenset(["chips", "hairline", "crazing", "dents", "plate-worn", "metal-repair"])
HARD_GOODS = frozenset(
    [
        "tableware-and-vessels",
        "ceramics",
        "glassware",
        "metalware-and-silver",
        "decorative-objects",
        "sculpture",
        "writing-and-desk",
        "smoking-and-tobacco",
        "lighting",
        "garden-and-architectural",
    ]
)


_NOT_OF_FABRIC = frozenset(("paint-loss", "corrosion", "missing-pieces", "working"))
_NOT_OF_CARD = frozenset(("paint-loss", "corrosion", "working", "repair"))
_ONLY_OF_BOOKS = frozenset(("rebound", "missing-pages", "dust-jacket", "first-edition"))
_ONLY_OF_SHEETS = frozenset(("trimmed", "laid-down", "creased", "unframed", "relined"))
_ONLY_OF_DRAWERS = frozenset(("original-hardware", "replaced-hardware", "veneer-loss"))
NEVER: dict[str, frozenset[str]] = {
    "soft-toy": _NOT_OF_FABRIC,
    "doll": frozenset(("corrosion", "missing-pieces", "working")),
    "rocking-horse": frozenset(("corrosion", "missing-pieces", "working", "boxed")),
    "jigsaw-puzzle": _NOT_OF_CARD,
    "board-game": _NOT_OF_CARD,
    "postcard": _ONLY_OF_BOOKS,
    "advertising-sign": _ONLY_OF_BOOKS | _ONLY_OF_SHEETS | {"foxing", "toning", "torn"},
    "globe": _ONLY_OF_SHEETS,
    "celestial-globe": _ONLY_OF_SHEETS,
    "atlas": _ONLY_OF_SHEETS - {"trimmed"},
    "painting": frozenset(("foxing", "toning", "creased", "trimmed", "numbered")),
    "watercolour": frozenset(("relined", "numbered")),
    "engraving": frozenset(("relined",)),
    "etching": frozenset(("relined",)),
    "lithograph": frozenset(("relined",)),
    "poster": frozenset(("relined",)),
    "hand-fan": frozenset(("darned", "moth-damage")),
    "ashtray": frozenset(("not-working", "untested", "scratches")),
    "pipe": frozenset(("not-working", "untested")),
    "thimble": frozenset(("untested", "corrosion")),
    "dining-chair": _ONLY_OF_DRAWERS,
    "windsor-chair": _ONLY_OF_DRAWERS,
    "rocking-chair": _ONLY_OF_DRAWERS,
    "high-chair": _ONLY_OF_DRAWERS,
    "cradle": _ONLY_OF_DRAWERS,
    "gateleg-table": _ONLY_OF_DRAWERS,
    "cheval-mirror": _ONLY_OF_DRAWERS,
    "candlestick": frozenset(("missing-shade", "replaced-shade", "untested", "rewired")),
    "oil-lamp": frozenset(("rewired", "drilled")),
    "pocket-watch": frozenset(("missing-pendulum", "married")),
    "carriage-clock": frozenset(("missing-pendulum",)),
}
"""What sellers never say of a kind."""
