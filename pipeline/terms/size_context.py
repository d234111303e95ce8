"""What the words about a size say of it: of the whole or of a part, a scale, a number of a lot.

Patterns are RE2 for folded text. What stands before a run is matched at the end of the text that
leads to it, what stands after at the start of the text that follows.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

# Parts and damages that are told with a size of their own, in whatever phrase they stand.
_PARTS = (
    "dial|face|blade|barrel|seat|drop|strap|lug|lugs|opening|aperture|mark|movement|margin|margins|"
    "chip|chips|crack|hairline|scratch|repair|tear|hole|split|loss|dent|stain|missing|lacking|"
    "skirting|inside|interior|internal|internally|inner|bezel|screen|wheel|wheels|tyres?|heels?|brim|"
    "band|sleeves?|collar|hem|waist|fringe|pile|beads?|pearls?|links?|cabochon"
)
# These are things of their own too, or what a thing is made of: a part only alone in their phrase.
_PARTS_ALONE = (
    "base|lid|cover|stand|plinth|foot|rim|shade|handle|handles|drawer|drawers|leaf|leaves|glass|"
    "stone|stones|arm|arms|finial|label|spout|text|top|mouth|neck|bowl"
)
_MORE = "extends|extended|extending|extendable|opens|opening|open|unfolded|folded|closed|up"
_OUTER = "frame|frames|mount|mounts|mat|sheet|border"
_OF_A_FRAME = "gilt|gold|gilded|oak|wood|wooden|wide|carved|ornate|deep|maple|black|ebonised|pine"
_IMAGE = "image|sight|picture|canvas|panel|plate size|painting|print|unframed"
_SAID = (
    r"(?: (?:sizes?|measures|measuring|measurements?|dimensions|to|of|only|is|at|from))?"
    r"[ :=(]*$"
)
_ALONE = r"(?:^|[,;:.(/-]) ?(?:the )?"

WHOLE, IMAGE, OUTER, FRAMED, PART = "w", "i", "o", "f", "p"
NUMBERED, QUOTED, SCALE, WORD = "n", "q", "s", "a"

BEFORE = {
    PART: rf"(?:^|[^a-z])(?:{_PARTS}|{_MORE}){_SAID}|{_ALONE}(?:{_PARTS_ALONE}){_SAID}",
    OUTER: rf"{_ALONE}(?:{_OUTER}){_SAID}"
           rf"|(?:^|[^a-z])(?:{_OUTER}) (?:sizes?|measures|measuring)[ :=(]*$",
    FRAMED: r"(?:^|[^a-z])frame[ds]?[ :=(]*$",
    IMAGE: rf"(?:^|[^a-z])(?:{_IMAGE}){_SAID}",
    WHOLE: r"(?:^|[^a-z])(?:overall|in all|total|over all|gesamt)(?: [a-z]{4,9})?[ :=(]*$",
    NUMBERED: r"(?:^|[^a-z])(?:nos?|number|model|ref|lot|mod|type|nr|cat|set of|box of|x)[ .:#]*$",
    QUOTED: r"(?:^|[# (\[,;:])[\"'][^\"']*$",
}  # fmt: skip
AFTER = {
    SCALE: r"^[ -]{0,2}\(?(?:to (?:the |a |one |1 )?mile|scale|gau?ge|bore|cal\b|calib|lens|film|"
           r"f/|f ?[0-9]|floppy|disk|s\b|sq|refract|reflect|objective|telescope)",
    PART: rf"^ ?[-(]{{0,2}}(?:[a-z]+ ){{0,2}}(?:{_PARTS})\b"
          r"|^ ?[,(]{0,2} ?(?:when |fully )?(?:extended|opened|unfolded)\b"
          rf"|^ ?[-(]{{0,2}}(?:to|at|of|across) (?:the )?(?:{_PARTS}|{_PARTS_ALONE})\b",
    OUTER: rf"^ ?[-,(]{{0,2}} ?(?:(?:including|incl|inc|with|{_OF_A_FRAME})\.? )?(?:the )?"
           rf"(?:{_OUTER})\b",
    FRAMED: r"^ ?[,(]{0,2} ?(?:framed|in frame)\b",
    IMAGE: rf"^ ?[,(]{{0,2}} ?(?:{_IMAGE})\b",
    WHOLE: r"^ ?[,(]{0,2} ?(?:overall|in all|total|over all|gesamt)\b",
    WORD: r"^ ?-?[a-z0-9]",
}  # fmt: skip

PRECIOUS, STONES, SMALL, WEIGHING = "p", "j", "c", "w"
# Of the whole text, for the runs that hold the unit: letter -> (unit, words).
OF_TEXT = {
    PRECIOUS: (
        r"oz|ounce",
        r"\b(?:silver|sterling|gold|platinum|hallmarked|silber|argent|argento|plata|zilver|925)\b",
    ),
    STONES: (
        r"ct|carat",
        r"\b(?:diamond|brilliant|brillant|sapphire|rub(?:y|ies)|emerald|opal|topaz|amethyst|"
        r"aquamarine|garnet|tanzanite|peridot|citrine|tourmaline|spinel|zircon|gem|gemstone|stone|"
        r"solitaire)",
    ),
    WEIGHING: (
        r"oz|ounce|lb|g",
        r"\b(?:scales?|steelyard|weighing|weights?|balances?|waage|capacity|tins?|jars?|bottles?|"
        r"moulds?)\b",
    ),
    SMALL: (
        r"mm|milli|[0-9] ?g",
        r"\b(?:lens|lenses|objektiv|objectif|film|cine|cameras?|kamera|slr|tlr|rangefinder|projector|"
        r"slides?|calib(?:er|re)|kaliber|cartridges?|shells?|pistol|rifle|revolver|gun|shotgun|"
        r"ammunition|bore|gau?ge|railway|locomotive)\b|f ?/ ?[0-9]|\bf[0-9]",
    ),
}


def letters(texts: pa.Array, patterns: dict[str, str]) -> pa.Array:
    """The letters of the patterns that each of n texts matches, in their order."""
    codes = np.zeros(len(texts), np.int64)
    for k, pattern in enumerate(patterns.values()):
        codes |= _hits(texts, pattern).astype(np.int64) << k
    return _spelt(codes, list(patterns))


def letters_of_text(texts: pa.Array, runs: pa.Array) -> pa.Array:
    """The letters of `OF_TEXT` of n texts, where their runs (n texts) hold the unit."""
    codes = np.zeros(len(texts), np.int64)
    for k, (unit, words) in enumerate(OF_TEXT.values()):
        needs = np.flatnonzero(_hits(runs, unit))
        if needs.size:
            codes[needs] |= _hits(texts.take(pa.array(needs)), words).astype(np.int64) << k
    return _spelt(codes, list(OF_TEXT))


def _hits(texts: pa.Array, pattern: str) -> npt.NDArray[np.bool_]:
    found = pc.match_substring_regex(texts, pattern)
    return np.asarray(found.to_numpy(zero_copy_only=False), dtype=np.bool_)


def _spelt(codes: npt.NDArray[np.int64], names: list[str]) -> pa.Array:
    """Sets of letters, one a bit, as texts."""
    spelt = ["".join(n for k, n in enumerate(names) if i >> k & 1) for i in range(1 << len(names))]
    return pa.array(spelt, pa.string()).take(pa.array(codes))
