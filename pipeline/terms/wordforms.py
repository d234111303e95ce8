"""Forms of English words and labels: plural and singular, joined and parted compounds."""

from __future__ import annotations

from collections.abc import Iterator

# Words whose other number means another thing or does not exist; never turned.
_UNTURNED = frozenset(
    [
        "glasses",
        "brasses",
        "gloss",
        "cutlass",
        "chess",
        "moss",
        "chaos",
        "iris",
        "lens",
        "atlas",
        "pancreas",
        "series",
        "species",
        "scissors",
        "spectacles",
        "clothes",
        "cloths",
        "goods",
        "works",
        "arts",
        "crafts",
        "georges",
        "louis",
        "charles",
        "james",
        "victoriana",
        "asbestos",
        "christmas",
        "dominoes",
        "news",
        "plus",
        "bus",
        "gas",
        "pus",
        "yes",
        "this",
        "as",
        "is",
        "his",
        "its",
        "was",
        "us",
        "art",
        "craft",
        "good",
        "fine",
        "fair",
        "poor",
        "new",
        "used",
        "mint",
        "damage",
        "damages",
        "af",
        "excellent",
        "irons",
        "gents",
        "mens",
        "boys",
        "girls",
    ]
)
# of these alone the plural is another thing: a brass and brasses, glass and glasses
_NOT_ALONE = frozenset(
    [
        "glass",
        "brass",
        "silver",
        "china",
        "tin",
        "lead",
        "copper",
        "iron",
        "marble",
        "linen",
        "press",
    ]
)
# what has a plural among materials: works named for their technique, stones, and feathers
_COUNTED_MATERIALS = frozenset(
    ["etching", "drypoint", "engraving", "mezzotint", "aquatint", "photogravure", "gravure",
     "heliogravure", "woodcut", "linocut", "lithograph", "photolithograph", "chromolithograph",
     "oleograph", "screenprint", "serigraph", "silkscreen", "monotype", "collotype", "halftone",
     "giclee", "print", "photograph", "daguerreotype", "ambrotype", "tintype", "cyanotype",
     "watercolour", "watercolor", "gouache", "pastel", "drawing", "tapestry", "feather", "plume",
     "diamond", "sapphire", "garnet", "ruby", "emerald", "opal", "amethyst", "topaz", "turquoise",
     "pearl", "rhinestone", "antler"]
)  # fmt: skip
LINKS = frozenset(
    [
        "and",
        "the",
        "of",
        "for",
        "with",
        "from",
        "not",
        "non",
        "all",
        "any",
        "his",
        "her",
        "its",
        "one",
        "two",
    ]
)
_IRREGULAR = {
    "knife": "knives", "shelf": "shelves", "leaf": "leaves", "half": "halves", "wolf": "wolves",
    "foot": "feet", "tooth": "teeth", "man": "men", "woman": "women", "child": "children",
    "mouse": "mice", "goose": "geese", "scarf": "scarves", "calf": "calves", "loaf": "loaves",
    "candelabrum": "candelabra", "medium": "media", "bureau": "bureaux", "plateau": "plateaux",
    "chateau": "chateaux", "tableau": "tableaux", "chaise longue": "chaises longues",
    "torchere": "torcheres", "die": "dice", "netsuke": "netsuke", "inro": "inro",
    "staff": "staves", "dwarf": "dwarves", "thief": "thieves", "hoof": "hooves",
}  # fmt: skip
_SINGULAR = {plural: one for one, plural in _IRREGULAR.items()}
# "scissors of steel" apart, the word before these is the one that takes the plural
_INNER = frozenset({"of", "on", "in", "with", "and", "a", "de"})


def plural_forms(word: str) -> Iterator[str]:
    """Usual plurals of a word, the likeliest first; none for words that have none."""
    if word in _UNTURNED or len(word) < 3 or not word.isalpha():
        return
    if word in _IRREGULAR:
        yield _IRREGULAR[word]
    if word.endswith(("s", "x", "z", "ch", "sh")):
        yield word + "es"
    elif word.endswith("y") and word[-2] not in "aeiou":
        yield word[:-1] + "ies"
    elif word.endswith("o"):
        yield word + "s"
        yield word + "es"
    else:
        yield word + "s"


def singular_forms(word: str) -> Iterator[str]:
    """Words that this one may be the plural of, the likeliest first."""
    if word in _UNTURNED or len(word) < 4 or not word.isalpha():
        return
    if word in _SINGULAR:
        yield _SINGULAR[word]
    if word.endswith("ies") and len(word) > 4:
        yield word[:-3] + "y"
        yield word[:-1]
    elif word.endswith(("sses", "xes", "ches", "shes", "zes", "oes")):
        yield word[:-2]
        yield word[:-1]
    elif word.endswith("s") and not word.endswith(("ss", "us", "is")):
        yield word[:-1]


def label_forms(phrase: tuple[str, ...], kind: str, parts: set[str]) -> Iterator[tuple[str, ...]]:
    """Other forms of a label that mean the same.

    Args:
        phrase: the label's words.
        kind: things (categories, faults, markers) have plurals; a material has none, but for works
            and stones.
        parts: words that labels of the kind are made of; a compound is parted only into these.
    """
    numbered = kind in ("category", "fault", "marker")
    forms = {phrase}
    if kind == "material" and phrase[-1] in _COUNTED_MATERIALS:
        forms |= {(*phrase[:-1], plural) for plural in plural_forms(phrase[-1])}
    if numbered:
        forms |= set(_number_forms(phrase))
    for form in sorted(forms):
        yield from _with_compounds(form, parts)


def _number_forms(phrase: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    turned = {len(phrase) - 1}
    for index in range(1, len(phrase)):
        if phrase[index] in _INNER:
            turned.add(index - 1)
    for index in sorted(turned):
        word = phrase[index]
        if len(phrase) == 1 and word in _NOT_ALONE:
            continue
        # nobody writes "pair of boot", and it would take the boot from boot racks
        others = () if phrase[0] == "pair" else singular_forms(word)
        for other in (*plural_forms(word), *others):
            yield (*phrase[:index], other, *phrase[index + 1 :])
    if len(phrase) == 2:  # "chest drawers" is also written "drawers chest", "drawer chest"
        for other in singular_forms(phrase[0]):
            yield other, phrase[1]


def _with_compounds(phrase: tuple[str, ...], parts: set[str]) -> Iterator[tuple[str, ...]]:
    yield phrase
    if len(phrase) >= 2:
        for index in range(len(phrase) - 1):
            first, second = phrase[index], phrase[index + 1]
            if len(first) >= 3 and len(second) >= 4 and first.isalpha() and second.isalpha():
                yield (*phrase[:index], first + second, *phrase[index + 2 :])
    for index, word in enumerate(phrase):
        if len(word) < 7 or not word.isalpha():
            continue
        for cut in range(3, len(word) - 2):
            if word[:cut] in parts and word[cut:] in parts:
                yield (*phrase[:index], word[:cut], word[cut:], *phrase[index + 1 :])
