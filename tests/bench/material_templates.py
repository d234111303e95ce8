"""Titles built from patterns of the trade, whose material is known because we put it there.

Each pattern is a way in which catalogues and sellers name materials: of the whole, of a part, of a
case, denied, imitated, plated. It is filled with concepts of the vocabulary, drawn with a fixed seed,
and with things that are made of them. Common practice, no source: the patterns are ours.

The bounds lie near what is reached; `python -m tests.bench.material_templates` lists what fails.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from pipeline.terms.vocabulary import Vocabulary
from tests.bench.template_score import judge, tell

SEED = 20260
TITLES_OF_A_PATTERN = 60

# What things are made of which family of materials; all are singular and name no material.
THINGS = {
    "wood": ("table", "chest of drawers", "bookcase", "stool", "tea caddy", "bowl", "side table"),
    "metal": ("candlestick", "tray", "kettle", "vase", "bowl", "snuff box", "inkstand", "jug"),
    "ceramic": ("vase", "bowl", "jug", "plate", "teapot", "tankard", "tureen"),
    "glass": ("vase", "bowl", "decanter", "jug", "scent bottle", "dish"),
    "stone": ("tazza", "vase", "bowl", "box", "paperweight", "inkwell"),
    "textile": ("shawl", "curtain", "cushion", "waistcoat", "handbag", "table cover"),
    "organic": ("box", "snuff box", "card case", "fan", "comb", "needle case"),
    "plastic": ("box", "tray", "cigarette case", "dressing table set", "lamp"),
    "leather": ("suitcase", "hat box", "handbag", "wallet", "trunk"),
}
PART_MATERIALS = (
    "brass",
    "silver",
    "ivory",
    "copper",
    "ebony",
    "walnut",
    "marble",
    "pewter",
    "steel",
)
PART_METALS = ("brass", "silver", "copper", "pewter", "steel", "zinc", "lead", "iron")
PARTS = ("handle", "foot", "rim", "lid", "finial", "hinge", "mounts", "stem")
PLATED = ("silver", "gold", "brass", "copper", "nickel")

# Patterns in which {m} is the material of the whole; {p} is of a part, {t} the thing, {part} a part.
WHOLE = (
    "{m} {t}",
    "A Victorian {m} {t}",
    "A fine early 19th century {m} {t}",
    "{t}, {m}",
    "{t} in {m}",
    "{t} made of {m}",
    "{t} of {m}",
    "antique {m} {t} c1880 good condition",
    "ANTIQUE {m} {t} LARGE",
    "lovely old {m} {t}, some wear",
    "{t}, {m}, circa 1900",
    "{t} - {m} - Edwardian",
    "{m} {t} with {p} {part}",
    "{m} {t} having a {p} {part}",
    "{m} {t}, {p} {part}",
    "{t}, {m} with {p} {part}",
    "{t} in {m} with {p} {part}",
    "{p}-mounted {m} {t}",
    "A {p} mounted {m} {t}",
    "{m} {t} mounted in {p}",
    "{m} {t} with {p} mounts",
    "{p} bound {m} {t}",
    "{p} handled {m} {t}",
    "{p} lined {m} {t}",
    "{p} rimmed {m} {t}",
    "{p} inlaid {m} {t}",
    "{m} {t} inlaid with {p}",
    "{m} {t} with {p} inlay",
    "{m} {t} on {p} stand",
    "{m} {t} on a {p} base",
    "{m} {t} raised on {p} feet",
    "{m} {t} in {p} case",
    "{m} {t} in a fitted {p} box",
    "{m} {t}, the {part} of {p}",
    "{m} {t} applied with {p} flowers",
    "{m} {t} with {p} coloured {part}",
    "{m} {t}, not {p}",
    "{m} {t} decorated in {p} and black",
    "Pair of {m} {t}s",
    "A mid 18th century {m} {t}",
)
# Patterns in which no material of the whole is stated, or none for sure.
NONE = (
    "{t} with {p} {part}",
    "{t}, {p} {part}",
    "{t} on {p} stand",
    "{t} in {p} case",
    "{p} mounted {t}",
    "{p}-handled {t}",
    "{p} lined {t}",
    "{p} inlaid {t}",
    "{p} bound {t}",
    "{t} with {p} mounts",
    "{t} inlaid with {p}",
    "{t}, not {m}",
    "{t}, possibly {m}",
    "{t}, {m}?",
    "{t} for {m}",
    "{t} with {m} pattern",
)
# Patterns in which {m} only seems to be there: the reading may be a finish, never {m}.
SEEMING = (
    "{m} effect {t}",
    "faux {m} {t}",
    "imitation {m} {t}",
    "simulated {m} {t}",
    "{m} look {t}",
    "{m} style {t}",
    "{m} coloured {t}",
    "{t} painted to resemble {m}",
)


@dataclass(frozen=True)
class Case:
    """A title, its pattern, and the concepts that may be accepted for it; none for "nothing"."""

    title: str
    pattern: str
    material: str
    wanted: str | None
    barred: str | None


@lru_cache(maxsize=1)
def cases() -> tuple[Case, ...]:
    """Every title, the same on every run."""
    rng = random.Random(SEED)
    by_family = _materials()
    pool = [(family, one, label) for family, found in by_family.items() for one, label in found]
    made: dict[str, Case] = {}
    for group in (WHOLE, NONE, SEEMING):
        for pattern in group:
            for _ in range(TITLES_OF_A_PATTERN):
                family, one, label = rng.choice(pool)
                metal = any(word in pattern for word in ("lined", "bound", "} inlaid {t}"))
                parts = PART_METALS if metal else PART_MATERIALS
                part = rng.choice([p for p in parts if not _alike(p, label)])
                title = pattern.format(
                    m=label, p=part, t=rng.choice(THINGS[family]), part=rng.choice(PARTS)
                )
                made[title] = Case(
                    title,
                    pattern,
                    one,
                    wanted=one if group is WHOLE else None,
                    barred=one if group is SEEMING else None,
                )
    return tuple(made.values())


def _materials() -> dict[str, list[tuple[str, str]]]:
    """Substances of each family by their preferred label, where the label is one plain name."""
    vocabulary = Vocabulary.load()
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for concept in vocabulary.concepts("material"):
        family = vocabulary.root("material", concept.id)
        family = "leather" if concept.id in ("leather", "shagreen") else family
        plain = "(" not in concept.pref_label and concept.extra.get("aspect") == "material"
        if plain and family in THINGS and concept.id not in UNFIT:
            found[family].append((concept.id, concept.pref_label))
    return found


# Concepts that are no substance of a piece by themselves, or are set into one.
UNFIT = frozenset(
    [
        "wood", "hardwood", "softwood", "solid-wood", "metal", "glass-beads", "paste-stone",
        "mirror-glass", "human-remains-material", "hair", "animal-specimen", "asbestos", "film-base",
        "mineral-specimen", "sheet-metal", "metal-thread", "silver-mounted", "feather-down",
        "straw-filled", "quillwork",
    ]
)  # fmt: skip


def _alike(part: str, label: str) -> bool:
    words = label.lower().replace("-", " ").split()
    return part in words


def judged() -> Iterator[tuple[Case, str | None, str]]:
    """Each case with the material read and "right", "wrong" (accepted in error) or "other"."""
    return judge(cases(), "material")


def main() -> None:
    tell(list(judged()), "pattern", "material")


if __name__ == "__main__":
    main()
