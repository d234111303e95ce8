"""Words that the rules on faults look for; the lexicon gives each a number."""

PREPOSITIONS = frozenset(["to", "of", "on", "in", "at"])
# may stand between a part and what is said of it: "handles have all been replaced"
BETWEEN = frozenset(
    [
        "is", "are", "was", "were", "has", "have", "had", "been", "being", "be", "all", "both",
        "each", "some", "slightly", "somewhat", "a", "an", "little", "bit", "trifle", "rather",
        "very", "badly", "heavily", "lightly", "partly", "largely", "now", "also", "quite", "much",
        "well", "mostly", "later", "since", "the", "its", "generally", "appears", "appear",
        "looks", "look", "seems", "seem", "possibly", "probably", "perhaps", "likely",
        "apparently", "not", "non", "part", "half", "completely", "entirely", "certainly",
        "clearly", "locally",
    ]
)  # fmt: skip
# say how much and of what age, and not of what
SMALL = frozenset(
    ["slight", "slightly", "faint", "moderate", "considerable", "extensive", "visible", "odd",
     "minor", "light", "small", "tiny", "old", "heavy", "one", "few", "two", "usual", "general",
     "with", "not", "surface", "areas", "area", "of", "in", "places", "partially", "later"]
)  # fmt: skip
LATER = frozenset(["later", "replacement", "unoriginal"])
NEW = frozenset(["new", "newer", "modern"])
# "requires a new mainspring": it has none yet
ASKED_FOR = frozenset(["needs", "need", "needing", "requires", "requiring", "wants", "wanting"])
ORIGINAL = frozenset(["original"])
NOT_THERE = frozenset(["no", "without", "minus", "sans", "wants", "wanting"])
GONE = frozenset(["gone", "lost", "absent", "wanting", "deficient", "off"])
# tell of a part alone
OF_PARTS = LATER | NEW | ORIGINAL | NOT_THERE | GONE
IN = frozenset(["in"])
# work that a year behind it is of
WORK = frozenset(["treated", "conserved", "overhauled", "rewired", "restored", "exhibited"])
TURNS = frozenset(["but", "though", "although", "however"])
TO_A_YEAR = frozenset(["in", "about", "the", "during", "by", "around", "early", "late", "mid"])
# of these "gone" and "lost" tell; of others they may be a title ("Paradise Lost")
GONE_FROM = frozenset(
    [
        "seat", "seats", "spring", "springs", "pediment", "cornice", "strap", "zip", "button",
        "buttons", "lining", "rung", "rungs", "slat", "slats", "spindle", "spindles", "rail",
        "stretcher", "stretchers", "trim", "fringe", "panel", "panels", "back", "front", "corner",
        "top", "bottom", "spine", "board", "boards", "bellows", "lens", "cushion", "cushions",
        "gallery", "hair", "nib", "tip", "sword", "tray", "burner", "rack", "parts", "part",
        "hood", "cresting", "moulding", "label", "liner", "chain", "buckle", "rod", "shelf",
    ]
)  # fmt: skip
AND_OR = frozenset(["and", "or"])
DENIED_BUT_THERE = frozenset(["rather", "instead"])
HOLDERS = frozenset(["case", "box", "packaging", "carton", "pouch"])
OWN_CASE = frozenset(
    [
        "fitted", "original", "travelling", "traveling", "carrying", "leather", "presentation",
        "retailers", "makers", "transit", "plush", "velvet",
    ]
)  # fmt: skip
CARVED = frozenset(["carved", "carving", "carver", "carvings"])
LAYERED = frozenset(["glass", "shade", "shades", "crystal"])  # may be cased: of two layers
SHOW_CASE = frozenset(["glazed", "glass", "display", "perspex", "show", "shadow", "book"])

# what may follow a fault that is told at the end of its clause
CLOSERS = PREPOSITIONS | frozenset(
    [
        "verso", "reverse", "underneath", "throughout", "evident", "present", "inside", "overall",
        "visible", "here", "through", "across", "along", "around", "near", "where", "from", "by",
        "off", "but",
    ]
)  # fmt: skip
# "showing some wear" tells of the piece, unless it is a picture
SHOWS = frozenset(["showing", "shows", "exhibiting"])
# words that lead to a weak fault word: "visible tear", "left side stained", "strap rubbed"
LEADS = frozenset(
    [
        "visible", "few", "odd", "sl", "slight", "minor", "small", "tiny", "large", "big", "long",
        "short", "deep", "heavy", "light", "old", "historic", "past", "commensurate", "usual",
        "general", "overall", "various", "numerous", "several", "couple", "multiple", "extensive",
        "considerable", "noticeable", "obvious", "surface", "cm", "mm", "inch", "inches", "area",
        "areas", "side", "sides", "front", "back", "right", "left", "upper", "lower", "top",
        "bottom", "edge", "edges", "rim", "rims", "base", "corner", "corners", "underside",
        "inside", "outside", "interior", "exterior", "body", "neck", "shoulder", "spout",
        "reverse", "joint", "joints", "seam", "seams", "cover", "covers", "spine", "board",
        "boards", "page", "pages", "margin", "margins", "fabric", "lining", "seat", "seats",
        "arm", "arms", "cushion", "pile", "border", "borders", "field", "lens", "tube", "panel",
        "panels", "plank", "planks", "carcase", "cornice", "plinth", "frieze", "stretcher",
        "spindle", "rung", "rail", "slat", "pediment", "hood", "trunk", "strap", "zip", "button",
        "spring", "springs", "wheel", "tyres", "bellows", "shank", "mount", "sheet", "paper",
        "canvas", "case", "frame", "foot", "feet", "leg", "legs", "lid", "stem", "bowl", "ear",
        "monogram", "crest", "armorial", "engraving", "extremities", "nose", "stretchers", "hinges",
        "patination", "features", "detail", "details", "lettering", "print", "text", "nap",
        "carpet", "shade", "dial", "marks", "glass", "knob", "cord", "flex", "gallery", "finial",
        "head", "face", "body", "wood", "timber", "metal", "cloth", "cloths", "velvet", "slightly",
        "lightly", "heavily", "badly", "evenly", "somewhat", "very", "well", "bit", "little",
        "otherwise", "still", "being", "looks", "appears", "seems", "several", "many", "more",
        "further", "two", "three", "four", "one", "both", "all", "some", "each", "with", "but",
    ]
)  # fmt: skip
# tell of whatever thing stands before them
PREDICATES = frozenset(["broken", "brk", "brkn", "busted", "jammed", "seized"])
# "a couple of rungs missing": what follows "of" is the piece's own
PORTIONS = frozenset(
    [
        "couple", "few", "several", "some", "most", "half", "all", "none", "rest", "inside",
        "outside", "front", "end", "part", "section", "area", "areas", "loss", "losses", "lack",
        "bits", "sign", "signs", "evidence", "trace", "traces", "spot", "spots", "touch", "patch",
        "patches", "degree", "hint", "amount", "network", "line", "edge", "edges", "side", "centre",
        "center", "interior", "exterior", "underside", "surface", "middle", "suggestion", "bit",
    ]
)  # fmt: skip

FAULT_WORDS = (
    PREPOSITIONS | BETWEEN | LATER | NEW | ORIGINAL | NOT_THERE | GONE | AND_OR
    | CLOSERS | SHOWS | LEADS | PREDICATES | PORTIONS | DENIED_BUT_THERE | HOLDERS | OWN_CASE
    | SHOW_CASE | LAYERED | CARVED | WORK | TO_A_YEAR | TURNS | GONE_FROM | ASKED_FOR
)  # fmt: skip
