"""Words that the grammar of materials looks for: what leads to a stuff, or holds it."""

from __future__ import annotations

from pipeline.terms.wordforms import plural_forms

OF_THE_WHOLE = frozenset({"in", "of", "from"})
ON = frozenset({"on"})
AND = frozenset({"and"})
IN = frozenset({"in"})
TOP, HAT, CHINA = frozenset({"top"}), frozenset({"hat", "hats"}), frozenset({"china"})
MOSTLY = frozenset(
    ["principally", "predominantly", "mainly", "mostly", "largely", "chiefly", "entirely",
     "wholly", "whole", "is", "are"]
)  # fmt: skip
ANY_CLOTH = frozenset(["cloth", "fabric", "material", "textile"])
OF_ALONE = frozenset({"of"})
MAIN_PARTS = frozenset(["blade", "blades", "head", "heads", "bowl", "body", "case", "frame"])
OPAQUE_PLASTICS = ("plastic", "bakelite", "vinyl", "formica", "melamine", "catalin", "celluloid")
WORKED_CLOTH = frozenset(
    ["embroidered", "quilted", "knitted", "crocheted", "worked", "appliqued", "printed",
     "stamped", "painted", "smocked", "cutwork", "corded", "stitched", "woven", "netted"]
)  # fmt: skip
THE, LINEN = frozenset({"the"}), frozenset({"linen"})
PORTIONS = frozenset(
    ["skins", "membranes", "sheets", "blades", "planks", "boards", "staves", "strips", "lengths",
     "slabs", "blocks", "links", "pieces", "bars"]
)  # fmt: skip
MADE = frozenset(
    ["made", "built", "constructed", "formed", "carved", "turned", "cast", "wrought", "forged",
     "fashioned", "all", "executed", "worked", "woven", "painted", "entirely"]
)  # fmt: skip
DESIGNS = frozenset(
    ["design", "designs", "pattern", "patterns", "motif", "motifs", "decoration", "scene", "scenes",
     "spray", "sprays", "branch", "branches", "wreath", "wreaths", "garland", "garlands", "sprig",
     "sprigs", "bunch", "bunches", "border", "borders", "band", "bands", "shape", "form"]
)  # fmt: skip
NEAR = 2  # words between "of" and what it leads to
PLANTS = frozenset(
    ["leaf", "leaves", "blossom", "blossoms", "tree", "trees", "branch", "branches", "grove",
     "flower", "flowers", "sprig", "sprigs", "twig", "twigs", "forest", "leafage", "berries"]
)  # fmt: skip
NAMED_FOR_MATERIAL = frozenset(
    ["brass", "brasses", "bronze", "copper", "pewter", "porcelain", "ivory"]
)
NEVER_INSIDE = frozenset({"card", "cards"})
FRAMES = frozenset(["frame", "frames", "framed", "surround"])
CARRIED = (
    "scientific-instruments", "musical-instruments", "cameras-and-optics", "taxidermy", "cutlery",
    "jewellery",
)  # fmt: skip
CASES = frozenset(["case", "cases", "cased", "casing"])
BINDINGS = frozenset(["bound", "binding", "bindings", "boards", "covers", "cover"])
WRAPS = frozenset(
    ["bag", "bags", "case", "cases", "box", "boxes", "pouch", "sleeve", "wallet", "holder", "frame",
     "frames", "stand", "tray", "wrapper", "wrappers", "slipcase", "sheath", "scabbard", "holster",
     "roll", "rolls"]
)  # fmt: skip
MOUNTED = frozenset({"mounted"})
ENAMELLED = frozenset(["enamelled", "enameled", "enamel"])
WORKED, GLAZED = frozenset(["glazed", "painted"]), frozenset({"glazed"})
CARVED = frozenset(["carved", "cast", "turned", "painted", "woven", "blown", "cut", "engraved"])
WORKED_ALL_OVER = frozenset(["painted", "decorated", "gilded"])
BANDED = frozenset(["banded", "crossbanded", "inlaid", "strung", "mounted", "bound", "lined"])
HEADS = frozenset(["head", "heads", "headed", "shoulder", "socket"])
GLASS = frozenset({"glass", "glasses"})
SHAPED = frozenset({"shaped"})  # "gourd shaped ewer"
COLOURS = frozenset(
    ["blue", "green", "red", "white", "yellow", "brown", "black", "pink", "grey", "gray", "cream",
     "orange", "purple", "tan", "buff", "beige"]
)  # fmt: skip
HOLDER_WORDS = (
    "cabinet press chest cupboard box basket winder knife clip rack bin drawer case bag tray "
    "stand holder store closet hutch maker cutter scissors shears tin roaster nip pitter "
    "stoner peeler corer"
)
HOLDERS = frozenset(form for word in HOLDER_WORDS.split() for form in (word, *plural_forms(word)))
BAGS = frozenset(["bag", "bags", "basket", "baskets"])
SOFT_CONTENTS = frozenset(["glass", "straw", "silk", "paper", "rush", "cotton", "cloth", "lace"])
CONTENTS = frozenset(
    ["linen", "china", "silver", "paper", "wool", "silk", "cotton", "lace", "cloth", "coal",
     "glass", "thread", "straw", "gold", "pearl", "diamond", "tin", "chestnut",
     "chestnuts", "rush", "cherry", "apple"]
)  # fmt: skip
# what hangs on a piece, lies in it or goes with it, and has a stuff of its own
HANG_ON = (
    "parts-and-fittings", "jewellery", "watch-chain", "cushion", "box", "key", "textiles-and-rugs",
    "cutlery", "stand", "bell", "drinking-glass",
)  # fmt: skip
BODIES = frozenset(["case", "carcase", "carcass", "frame", "body", "back", "shell"])


MOTIFS = frozenset(
    ["fringe", "buckle", "strap", "tassel", "ribbon", "button", "strapwork", "lattice", "panel"]
)
