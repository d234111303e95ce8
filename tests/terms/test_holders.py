"""Holders and what is in them, glasses that nobody called drinking glasses.

The readings are those of a careful cataloguer: common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.terms.reading import title


def kind(text: str) -> tuple[str | None, str]:
    read = title(text)
    return read["category_id"], read["category_status"]


@pytest.mark.parametrize(
    "text",
    [
        "Box costume jewellery",
        "Box lead soldiers",
        "Jar marbles",
        "Crate vintage glass bottles",
        "Suitcase full of old clothes",
        "Two boxes of ceramics and glass",
        "Four trays of assorted ceramics and glass",
        "Box containing various prints",
        "A tin box containing coins",
        "A leather case containing opera glasses",
        "A box of silver and plate",
        "Assorted ceramics and glassware",
    ],
)
def test_what_a_holder_is_sold_for_is_for_a_person(text: str) -> None:
    assert kind(text)[1] == "review"


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Box brass inlay", "box"),
        ("Box camera", "camera"),
        ("Hat box feathers", "hat-box"),
        ("A walnut box containing chessmen", "box"),
        ("A silver mounted box containing a compass", "box"),
        ("Oak box, silver and brass", "box"),
        ("Tobacco box, brass and copper", "tobacco-box"),
        ("Brass tray inlaid with silver and copper", "tray"),
        ("Silver and glass claret jug", "jug"),
        ("A crate of old tools", "tools"),
    ],
)
def test_a_holder_with_a_name_or_a_stuff_of_its_own_is_sold(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    "text",
    [
        "Set of 6 glasses",
        "Retro glasses x 6",
        "Etched glasses set of four",
        "Crystal glasses set of 6",
        "Tea glasses set of 6",
        "6 x glasses gold rim",
    ],
)
def test_many_glasses_are_to_drink_from(text: str) -> None:
    assert kind(text) == ("drinking-glass", "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Tortoiseshell glasses", None),
        ("Vintage glasses in case", None),
        ("Reading glasses x 3", "spectacles"),
        ("6 opera glasses", "opera-glasses"),
        ("Decanter and 6 glasses", "decanter"),
        ("Crystal set", "radio"),
        ("Wall brass clock", "wall-clock"),
    ],
)
def test_glasses_of_another_sort(text: str, category: str | None) -> None:
    assert kind(text)[0] == category
