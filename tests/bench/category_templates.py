"""Titles built from patterns of the trade, whose category is known because we put it there.

Each pattern is a way in which catalogues, dealers and sellers name a thing: alone, with parts, with
another thing beside it, several at once, a part of it, a picture or a small copy of it. It is filled
with the labels of the vocabulary's narrowest concepts, drawn with a fixed seed. Common practice, no
source: the patterns are ours. The labels are known to the reader, so the titles say nothing of names
it does not know; they show which patterns and which concepts fail.

`python -m tests.bench.category_templates` lists what fails.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Concept, Vocabulary
from tests.bench.template_score import judge, tell

SEED = 9260
TITLES_OF_A_PATTERN = 100

# {k} is the thing for sale, {ks} several of it, {d} another thing of another family.
WHOLE = (
    "{k}",
    "Antique {k}",
    "A Victorian {k}",
    "A fine George III {k}, circa 1780",
    "vintage {k} 1960s retro",
    "old {k} gd cond",
    "{k}, good condition, collection only",
    "{k} - early 20th century",
    "RARE {k} c1900 LARGE",
    "A 19th century French {k}, 45cm high",
    "An unusual Edwardian {k}, stamped to the underside",
    "{k}, marked, some wear commensurate with age",
    "Lot 214: {k}",
    "{k}, Provenance: by descent in the family",
    "{k}, est. 80-120",
    "{k}, English, 19th century",
    "Lovely {k} from a house clearance",
    "{k}, for restoration",
    "{k} (damaged)",
    "A {k}, with label to the reverse",
    "{k} with original label",
    "{k}, one of a pair",
    "{k} with {d}",
    "A {k}, together with a {d}",
    "{k} decorated with a {d}",
    "{k} on a {d}",
    "{k} in a {d}",
    "{k} after a {d}",
    "{k} from a {d} maker",
    "{k} in the form of a {d}",
    "{k} depicting a {d}",
    "An early {k}, with a {d} and another",
    "We are pleased to offer this {k}, ideal beside a {d}",
    "A good {k}, Exhibited: London, 1951",
    "{k} and stand",
    "{k} with stand",
    "{k} on later stand",
    "Brass {k}",
    "An oak {k} with brass mounts",
    "Large painted wood {k}",
    "{k} by John Smith of Lincoln",
    "{k}, the top with a carved border",
    "{k} with key",
    "{k}, no {d}",
    "A {k}, the sides with lion mask handles",
    "Scandinavian {k}, 1960s, designed by a {d} maker",
    "{k} suitable for a {d}",
    "{k} near a {d}",
)
SEVERAL = (
    "Pair of {ks}",
    "A pair of Victorian {ks}",
    "Set of six {ks}",
    "Three {ks}",
    "Two antique {ks}, similar",
    "A collection of {ks}",
    "Job lot of {ks}",
    "{ks}, a pair",
)
# A part, a copy or something about the thing: the thing itself may not be accepted.
NOT_IT = (
    "Spare part for a {k}",
    "Key for a {k}",
    "Handle from a {k}",
    "Replacement lid for {k}",
    "Parts for {k}",
    "Instructions for a {k}",
    "Empty box for a {k}",
    "Design for a {k}",
    "Fragment of a {k}",
    "Leg from a {k}",
    "Advertisement for a {k}",
    "Miniature model of a {k}",
)
# Unlike things of one rank: neither may be accepted for the lot.
UNLIKE = (
    "A {k} and a {d}",
    "{k} and {d}",
    "A brass {k}, an oak {d} and a pair of {es}",
    "A {k}, a {d} and two {es}",
    "{k}, {d} and {e}",
    "{ks}, {es} and a {d}",
    "Mixed lot: {k}, {d}, {e}",
    "A {k}, and a {d}",
    "{k} & {d}",
    "{k} + {d} job lot",
)
# A picture or a likeness: the concept named is what is for sale.
LIKENESSES = {
    "Photograph of a {k}": "photograph",
    "Postcard of a {k}": "postcard",
    "Engraving of a {k}": "engraving",
    "Print of a {k}": "print",
    "Watercolour of a {k}": "watercolour",
    "Oil painting of a {k}": "painting",
    "Still life with {k}, oil on canvas": "painting",
    "Book about {ks}": "book",
    "Book on {ks}, illustrated": "book",
    "Brooch in the form of a {k}": "brooch",
    "Silver charm in the shape of a {k}": "charm",
    "Teapot modelled as a {k}": "teapot",
    "Plate with a scene of a {k}": "plate",
    "Postcard, {k}": "postcard",
}


@dataclass(frozen=True)
class Case:
    """A title, its pattern, and the concept that may be accepted for it, or the one that may not."""

    title: str
    pattern: str
    concept: str
    wanted: str | None
    barred: str | None = None


@lru_cache(maxsize=1)
def cases() -> tuple[Case, ...]:
    """Every title, the same on every run."""
    rng = random.Random(SEED)
    vocabulary = Vocabulary.load()
    pool = _names(vocabulary)
    things = [
        (concept.id, concept.pref_label)
        for concept in vocabulary.concepts("category")
        if concept.id in DISTRACTIONS
    ]
    made: dict[str, Case] = {}
    for group in (WHOLE, SEVERAL, NOT_IT, UNLIKE, tuple(LIKENESSES)):
        for pattern in group:
            for one, label in rng.sample(pool, TITLES_OF_A_PATTERN):
                if group is SEVERAL and not _countable(label):
                    continue
                family = vocabulary.root("category", one)
                unlike = [d for c, d in things if vocabulary.root("category", c) != family]
                other, another = rng.sample(unlike, 2)
                title = pattern.format(
                    k=label, ks=_several(label), d=other, e=another, es=_several(another)
                )
                if group is UNLIKE:
                    made[title] = Case(title, pattern, one, None)
                elif group is NOT_IT:
                    made[title] = Case(title, pattern, one, None, barred=one)
                else:
                    made[title] = Case(title, pattern, one, LIKENESSES.get(pattern, one))
    return tuple(made.values())


# What stands beside other things in a title: well known, of many families.
DISTRACTIONS = frozenset(
    [
        "sideboard", "coffee-table", "dining-chair", "table-lamp", "chandelier", "candlestick",
        "wall-clock", "teapot", "jug", "vase", "tureen", "decanter", "tumbler", "snuff-box",
        "engraving", "photograph", "bible", "postcard", "cushion", "tablecloth", "brooch", "necklace",
        "doll", "rocking-horse", "violin", "guitar", "telescope", "barometer", "saucepan", "basket",
        "bucket", "picture-frame", "figurine", "jewellery-box", "hammer", "saw", "bust", "camera",
        "radio", "golf-club", "sword", "bird-cage", "inkwell", "ashtray", "thimble", "coin",
    ]
)  # fmt: skip


def _names(vocabulary: Vocabulary) -> list[tuple[str, str]]:
    """Concepts without a narrower one by each label of the trade that can stand alone."""
    concepts = vocabulary.concepts("category")
    above = {concept.broader for concept in concepts}
    shared = vocabulary.shared_labels("category")  # a davenport is a desk or a sofa
    return [
        (concept.id, label)
        for concept in concepts
        if concept.id not in above
        for label in (concept.pref_label, *concept.alt_labels)
        if _stands_alone(concept, label) and normalise_label(label) not in shared
    ]


def _stands_alone(concept: Concept, label: str) -> bool:
    """Not a word that names a thing in a field only, and one plain name."""
    return "(" not in label and label not in concept.extra.get("field_only", "").split("|")


_ALREADY_SEVERAL = (
    "s",
    "china",
    "wool",
    "equipment",
    "jewellery",
    "tackle",
    "memorabilia",
    "fruit",
)


def _countable(label: str) -> bool:
    return not label.endswith(_ALREADY_SEVERAL)


_LINKS = (" of ", " and ", " in ", " on ", "-on-", " with ")


def _several(label: str) -> str:
    """The plural: of a chest of drawers, chests of drawers."""
    for link in _LINKS:
        if link in label and link != " and ":
            first, rest = label.split(link, 1)
            return _several(first) + link + rest
    if label.endswith("s"):
        return label
    if label.endswith("y") and label[-2] not in "aeiou":
        return label[:-1] + "ies"
    if label.endswith(("ch", "sh", "x")):
        return label + "es"
    if label.endswith("knife"):
        return label[:-2] + "ves"
    if label.endswith(("man", "woman")):
        return label[:-2] + "en"
    return label + "s"


def judged() -> Iterator[tuple[Case, str | None, str]]:
    """Each case with the category read and "right", "wrong" (accepted in error) or "other"."""
    return judge(cases(), "category")


def main() -> None:
    tell(list(judged()), "pattern", "concept")


if __name__ == "__main__":
    main()
