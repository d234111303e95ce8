"""Faults in bulk: names of faults set into sentences whose right answer is known by construction.

The sentences and the words are our own; no published source lists them. A fixed seed draws them,
all are read in one batch, and each test bounds the share that is read otherwise. Common practice,
no source: what a condition report means by "no chips", "chip to rim" or "later handles".
"""

import random
from collections import Counter

import pyarrow as pa
import pytest

from pipeline.terms.fault_parts import BASES, load_fault_parts
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Concept, Vocabulary

SEED = 20261126
THINGS = [
    "Oak chest", "Brass lamp", "Staffordshire figure", "Silver teapot", "Mantel clock",
    "Persian rug", "Glass decanter", "Walnut stool", "Pine table", "Pottery jug",
]  # fmt: skip
PLACES = [
    "rim", "base", "side", "one corner", "the reverse", "front edge", "underside", "edges",
    "the interior", "shoulder",
]  # fmt: skip
OF_IT = ["base", "the underside", "front", "left side", "both sides"]

# concept -> words, the noun forms
NOUNS = {
    "chips": ["chip", "chips", "chipping", "nicks", "nibbles", "flea bites", "frits"],
    "cracked": ["crack", "cracks", "cracking", "stress cracks", "fracture"],
    "hairline": ["hairline", "hairlines", "hairline crack"],
    "crazing": ["crazing", "craquelure"],
    "losses": ["loss", "losses"],
    "worm": ["woodworm", "worm holes", "wormholes"],
    "stained": ["stain", "stains", "staining", "water stains", "damp staining"],
    "foxing": ["foxing", "fox spots"],
    "faded": ["fading", "sun fading"],
    "torn": ["tear", "tears", "rips"],
    "scratches": ["scratch", "scratches", "scuffs", "knocks", "surface scratches"],
    "dents": ["dent", "dents", "dings"],
    "corrosion": ["rust", "corrosion", "pitting", "tarnish"],
    "split": ["split", "splits", "shrinkage cracks"],
    "repair": ["repair", "repairs"],
    "restored": ["restoration", "restorations"],
    "overpainted": ["overpaint", "retouching"],
    "wear": ["wear", "rubbing", "fraying"],
    "damage": ["damage", "faults", "defects"],
    "creased": ["crease", "creases", "creasing"],
    "moth-damage": ["moth", "moth damage"],
    "warped": ["warping", "warpage"],
}
# concept -> words, the participles
PARTICIPLES = {
    "chips": ["chipped", "nicked"],
    "cracked": ["cracked"],
    "crazing": ["crazed"],
    "stained": ["stained", "soiled"],
    "foxing": ["foxed"],
    "faded": ["faded", "bleached"],
    "torn": ["torn", "ripped", "holed"],
    "scratches": ["scratched", "scuffed"],
    "dents": ["dented", "bent"],
    "corrosion": ["rusted", "corroded", "pitted", "tarnished"],
    "split": ["split"],
    "repair": ["repaired"],
    "restored": ["restored"],
    "overpainted": ["retouched"],
    "wear": ["worn", "rubbed", "frayed"],
    "broken": ["broken", "snapped"],
    "glued": ["glued", "reglued", "restuck"],
    "rivet-repair": ["riveted", "rivetted", "stapled"],
    "refinished": ["refinished", "repolished"],
    "painted-later": ["repainted"],
    "reupholstered": ["reupholstered", "re-covered"],
    "loose": ["loose", "wobbly", "detached"],
    "warped": ["warped", "bowed"],
    "creased": ["creased"],
    "laid-down": ["laid down"],
    "relined": ["relined"],
    "drilled": ["drilled"],
    "cut-down": ["shortened"],
    "converted": ["converted"],
    "re-plated": ["replated", "resilvered", "regilded"],
    "metal-repair": ["soldered", "welded"],
    "wood-reinforcement": ["reinforced"],
    "darned": ["darned", "rewoven"],
}
STATED = [
    "{t}, {n} to {p}", "{t}. Some {n} to {p}.", "{t}, minor {n}", "{t}, slight {n} at {p}",
    "{t}, old {n}", "{t}, with {n} and {m}", "{t}: {n}, {m}, otherwise sound",
    "{t}, there is {n} to {p}", "{t} has {n} on {p}", "{t}; {n}; {m}", "{t}. Tiny {n}. {M}.",
    "{t}, small area of {n} to {p}", "{t}, evidence of {n}", "{t}, apart from {n} in fine order",
    "{t}, signs of {n} throughout", "{t}, 3 cm {n} to {p}", "{t} showing {n} and some {m}",
    "{t} good cond but {n} to {p}", "{t}. {N} to {p}, {m} to {q}, h. 12 in.",
    "{t}. Good. {N}. {M}.", "{t}, sl. {n} to {p}", "{t}, visible {n}; {m} throughout",
    "{t}, {n} & {m}", "{t} vgc except for {n}", "{t} (some {n})", "{t}, possible {n}",
    "{t} in good order with minor {n}", "{t}, mostly {n} and {m}", "{t}, no reserve, {n} to {p}",
    "{t}, 30 x 20 cm, c.1880, {n}",
]  # fmt: skip
SAID_OF_IT = [
    "{t}, {s} {x}", "{t}. {S} {x}.", "{t}, slightly {x}", "{t}, {x} and {y}",
    "{t}, {s} has been {x}", "{t}, {s} is {x}", "{t}, {x}", "{t}; {x}; {y}", "{t}, badly {x}",
    "{t} {x}", "{t}, {s} a little {x}", "{t} - {x}, {y}", "{t}, {x} to {p}", "{t}, one {x}",
    "{t}, partly {x}", "{t}, possibly {x}", "{t}, {s} {x}, {r} {y}", "{t}, good but {x}",
]  # fmt: skip
DENIED = [
    "{t}, no {n}", "{t}, no {n} or {m}", "{t}. No {n}, {m} or {k}.", "{t}, free from {n}",
    "{t}, free of {n} and {m}", "{t}, without {n}", "{t}, no signs of {n}", "{t}, no visible {n}",
    "{t}, no obvious {n} or {m}", "{t} with no {n}", "{t}, no apparent {n}, {m}",
    "{t}, there are no {n}", "{t} does not have any {n}", "{t}, no evidence of {n} or {m}",
    "{t}, never any {n}", "{t}, I can see no {n}", "{t} - no {n}, no {m}", "{t} no major {n}",
    "{t}, devoid of {n}", "{t} no {n} no {m} no {k}", "{t}. There is no sign of {n}.",
    "{t} shows no {n}", "{t} no {n} {m} or {k}", "{t} hasn't any {n}", "{t}, no {n} whatsoever",
    "{t}, no small {n} or minor {m}", "{t}, no {n} to {p}",
]  # fmt: skip
NEVER = [
    "{t}, not {x}", "{t}, never {x}", "{t}, not {x} or {y}", "{t} has not been {x}",
    "{t}, neither {x} nor {y}", "{t} never been {x}", "{t}, not {x}, not {y}",
]  # fmt: skip
# the second is denied, the first stated
BUT = [
    "{t}, no {m} but {n} to {p}", "{t}. No {m}. {N} to {p}.", "{t}, no {m}, slight {n}",
    "{t}, no {m} although {n} to {p}", "{t}, no {m}, some {n} to {p}", "{t} no {m}; there is {n}",
    "{t}, no {m} however {n} to {p}", "{t} no {m} just minor {n}",
    "{t}, free from {m} apart from {n} to {p}", "{t}, no dmg. {N} to {p}.",
]  # fmt: skip
IN_FAVOUR = {"no-damage", "all-original", "original-finish"}
DRAWS = 60  # texts of each sentence


def _drawn(sentences: list[str], words: dict[str, list[str]]) -> list[tuple[str, list[str]]]:
    """(text, concepts in the order they were asked for) of words drawn into the sentences."""
    draw = random.Random(SEED)
    pairs = [(concept, word) for concept, found in words.items() for word in found]
    texts = []
    for sentence in sentences:
        for _ in range(DRAWS):
            (a, n), (b, m), (c, k) = draw.sample(pairs, 3)
            p, q = draw.sample(PLACES, 2)
            s, r = draw.sample(OF_IT, 2)
            told = {
                "t": draw.choice(THINGS), "n": n, "m": m, "k": k, "x": n, "y": m, "p": p, "q": q,
                "N": n.capitalize(), "M": m.capitalize(), "s": s, "S": s.capitalize(), "r": r,
            }  # fmt: skip
            named = [a, b, c][: 1 + any(f"{{{x}}}" in sentence for x in "mMy")]
            texts.append((sentence.format(**told), named))
    return texts


def _faults(texts: list[str]) -> list[set[str]]:
    return [set(found) for found in read_titles(pa.array(texts))["faults"].to_pylist()]


@pytest.mark.parametrize(
    ("sentences", "words", "missed", "too_many"),
    [(STATED, NOUNS, 0.01, 0.01), (SAID_OF_IT, PARTICIPLES, 0.01, 0.01)],
    ids=["nouns", "participles"],
)
def test_what_is_stated_is_found_and_nothing_else(
    sentences: list[str], words: dict[str, list[str]], missed: float, too_many: float
) -> None:
    drawn = _drawn(sentences, words)
    assert len(sentences) >= 18 and len(drawn) >= 1_000
    found = _faults([text for text, _ in drawn])
    wanted = sum(len(set(named)) for _, named in drawn)
    lost = [(t, n) for (t, n), f in zip(drawn, found, strict=True) if set(n) - f]
    more = [(t, f) for (t, n), f in zip(drawn, found, strict=True) if f - set(n)]
    assert len(lost) <= missed * wanted, lost[:20]
    assert len(more) <= too_many * len(drawn), more[:20]


@pytest.mark.parametrize(
    ("sentences", "words"), [(DENIED, NOUNS), (NEVER, PARTICIPLES)], ids=["nouns", "participles"]
)
def test_what_is_denied_is_told_in_the_sellers_favour(
    sentences: list[str], words: dict[str, list[str]]
) -> None:
    drawn = [text for text, _ in _drawn(sentences, words)]
    found = _faults(drawn)
    stated = [(t, f) for t, f in zip(drawn, found, strict=True) if f - IN_FAVOUR]
    silent = [t for t, f in zip(drawn, found, strict=True) if not f & IN_FAVOUR]
    assert len(stated) <= 0.01 * len(drawn), stated[:20]
    assert len(silent) <= 0.01 * len(drawn), silent[:20]


def test_a_denial_ends_where_the_seller_turns() -> None:
    drawn = _drawn(BUT, NOUNS)
    found = _faults([text for text, _ in drawn])
    wrong = [
        (text, f)
        for (text, named), f in zip(drawn, found, strict=True)
        if (len(set(named)) == len(named) and named[1:] and named[1] in f) or named[0] not in f
    ]
    assert len(wrong) <= 0.02 * len(drawn), wrong[:20]


def _says(concept: Concept, label: str) -> bool:
    """Whether a label tells the fault in any sentence: not for fields alone, and no denial."""
    return label not in concept.many("field_only")


def test_every_name_of_every_fault_is_found_in_every_setting() -> None:
    settings = [
        "{t}, {l}", "{t}. {L}.", "{t} - {l}", "{t} ({l})", "{t}; {l}", "{t}, {l}, otherwise good",
        "{t}, 30 cm high, {l}", "{t}, c.1880, {l}", "{t}, good condition but {l}",
        "{t}. Condition: {l}.", "{t}, h. 12 in., {l}", "{t}, {l}; priced to sell",
    ]  # fmt: skip
    draw = random.Random(SEED)
    texts, wanted = [], []
    for concept in Vocabulary.load().concepts("fault"):
        if concept.extra["direction"] == "raises":
            continue
        for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
            if _says(concept, label):
                for setting in draw.sample(settings, 2):
                    told = {"t": draw.choice(THINGS), "l": label, "L": label.capitalize()}
                    texts.append(setting.format(**told))
                    wanted.append(concept.id)
    found = _faults(texts)
    lost = [(t, w, f) for t, w, f in zip(texts, wanted, found, strict=True) if w not in f]
    # discoloured pottery is stained
    lost = [one for one in lost if not (one[1] == "toning" and "stained" in one[2])]
    names = Counter(w for _, w, _ in lost)
    assert len(texts) > 8_000
    assert len(lost) <= 0.005 * len(texts), (names, lost[:20])


WITHIN = {
    "replaced-part": ["{w} replaced", "later {w}", "replaced {w}", "replacement {w}",
                      "{w} later", "{w} has been replaced", "{w} not original"],
    "incomplete": ["{w} missing", "missing {w}", "lacking {w}", "{w} lacking", "{w} gone",
                   "lacks {w}", "{w} is missing"],
    "losses": ["losses to {w}", "losses to the {w}", "some loss to {w}", "minor losses to {w}"],
    "chips": ["chips to {w}", "{w} chipped", "chipping to the {w}"],
    "wear": ["{w} worn", "wear to {w}", "wear to the {w}", "{w} a little worn", "{w} rubbed"],
}  # fmt: skip
# goods that may have each part, so that what is missing keeps its name
OWNERS = {
    "hardware": "Oak chest", "feet": "Oak chest", "shade": "Brass lamp", "drops": "Brass lamp",
    "clock": "Mantel clock", "fastening": "Pearl necklace", "stones": "Diamond ring",
    "leaves": "Leather bible", "counters": "Board game", "dressing": "Bisque doll",
    "limbs": "Porcelain figure", "binding": "Leather bible", "cover": "Pottery jug",
}  # fmt: skip


def test_the_part_makes_the_fault_narrower() -> None:
    parts = load_fault_parts()
    texts, wanted = [], []
    for base, phrases in WITHIN.items():
        for group, narrower in zip(parts.groups, parts.narrower, strict=True):
            if base not in narrower:
                continue
            words = [w for w, g in parts.group_of.items() if parts.groups[g] == group]
            for word in words:
                for phrase in phrases:
                    texts.append(f"{OWNERS.get(group, 'Walnut cabinet')}, {phrase.format(w=word)}")
                    wanted.append(narrower[base])
    found = _faults(texts)
    lost = [(t, w, f) for t, w, f in zip(texts, wanted, found, strict=True) if w not in f]
    assert len(texts) > 1_200
    assert len(lost) <= 0.015 * len(texts), (len(lost), lost[:40])


def test_the_parts_lead_to_faults_of_the_vocabulary() -> None:
    ids = {concept.id for concept in Vocabulary.load().concepts("fault")}
    parts = load_fault_parts()
    assert set(BASES) <= ids
    assert {one for row in parts.narrower for one in row.values()} <= ids
