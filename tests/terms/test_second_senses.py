"""Words with two senses: what stands beside them tells which; else the commoner, or nothing.

The senses are those of a careful cataloguer: common practice, no source. None stands for a text
that has to wait for a person.
"""

from __future__ import annotations

import pytest

from pipeline.terms.vocabulary import Vocabulary
from tests.terms.reading import accepted, title


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Persian runner, wool", "rug"),
        ("Linen runner, embroidered", "table-runner"),
        ("Teak pendant, 1960s", "ceiling-light"),
        ("Gold pendant on chain", "pendant"),
        ("Diamond solitaire, platinum", "ring"),
        ("Solitaire, glass marbles", "solitaire"),
        ("Pair of flutes, crystal", "champagne-glass"),
        ("Flute, boxwood", "flute"),
        ("Chart recorder", "measuring-instrument"),
        ("Treble recorder, pearwood", "recorder"),
        ("Cast iron letter box", "post-box"),
        ("Walnut letter box for the hall", "correspondence-box"),
        ("Mahogany tea chest", "tea-caddy"),
        ("Plywood tea chest", "tea-chest"),
        ("Black felt cloche, 1920s", "hat"),
        ("Glass cloche", "cloche"),
        ("Silver server for cheese", "serving-piece"),
        ("Oak server, two drawers", "sideboard"),
        ("Silver wine cooler", "bottle-cooler"),
        ("Mahogany wine cooler", "wine-cooler"),
        ("Canteen, army, aluminium", "water-canteen"),
        ("Canteen of cutlery", "cutlery"),
        ("Secretary, mahogany, slant front", "secretaire"),
        ("Place setting, porcelain", "dinner-service"),
        ("Victorian torchiere, giltwood", "torchere"),
        ("Floor torchiere, chrome, glass shade", "floor-lamp"),
        ("Serpent, leather covered, brass crook", "serpent-instrument"),
        ("Bronze serpent", None),
        ("Triangle with beater", "triangle-instrument"),
        ("Steel triangle", None),
        ("Fife, boxwood", "fife"),
        ("Fife, Scotland, photograph", None),
        ("Gold starfish with diamonds", "brooch"),
        ("Starfish and shells", "seashell"),
        ("Bronze stag head", "sculpture"),
        ("Stag head, mounted", "taxidermy"),
        ("Gold flower spray set with rubies", "brooch"),
        ("Fender, brass, Victorian", "fender"),
        ("Police rattle, wood", "watchmans-rattle"),
        ("Baby's rattle, silver", "rattle"),
        ("Wall hanging, brass", "wall-ornament"),
        ("Wall hanging, wool", "wall-hanging"),
        ("Brass tongs for the fire", "fire-irons"),
        ("Silver tongs", "serving-tongs"),
        ("Charger, phone, battery", "electrical-apparatus"),
        ("Pewter charger", "charger"),
        ("Trophy, kudu head", "taxidermy"),
        ("Silver trophy, golf", "trophy-cup"),
    ],
)
def test_the_words_beside_tell_the_sense(text: str, kind: str | None) -> None:
    assert accepted(text) == kind


def test_words_that_tell_two_senses_leave_it_to_a_person() -> None:
    assert title("Runner, Persian wool")["category_id"] == "rug"
    assert title("Toilet set, silver mirror, jug and bowl")["category_status"] == "review"


def test_each_word_tells_one_sense_and_none_is_a_word_of_the_label() -> None:
    vocabulary = Vocabulary.load()
    for rule in vocabulary.ambiguities():
        marks = [mark for mark, _ in rule.choices]
        assert len(marks) == len(set(marks)), rule.label
        assert not {*marks} & {*rule.label.split()}, rule.label
        assert all(mark.isupper() or " " not in mark for mark in marks), rule.label
