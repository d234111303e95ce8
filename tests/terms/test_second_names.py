"""A second name beside the first: in brackets, in a list, before "style", behind a heading.

The readings are those of a careful cataloguer: common practice, no source.
"""

from __future__ import annotations

import pytest

from tests.terms.reading import title


def kind(text: str) -> tuple[str | None, str]:
    read = title(text)
    return read["category_id"], read["category_status"]


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Mixing bowl (krater), terracotta", "antiquity"),
        ("Oil flask (lekythos), terracotta", "antiquity"),
        ("Twin figure (ere ibeji), wood, beads", "tribal-art"),
        ("Terracotta kylix (drinking cup)", "antiquity"),
        ("Vase (krater form), porcelain", "vase"),
        ("Vase (lekythos), silver", "vase"),
        ("Cup (beaker), silver", "beaker"),
        ("Covered goblet (pokal)", "goblet"),
    ],
)
def test_a_name_of_its_own_language_in_brackets(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    "text", ["Rudder, boat", "Needle, gramophone", "Brace, trousers", "Guarantee, watch"]
)
def test_a_small_thing_before_what_it_serves_waits(text: str) -> None:
    assert kind(text)[1] == "review"


@pytest.mark.parametrize(
    ("text", "category"),
    [("Buckle, belt", "buckle"), ("Locket, watch", "locket"), ("Pin, hat", "hat-pin")],
)
def test_a_heading_turned_round_is_whole(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Box of old tools, planes, chisels, hammers, house clearance", "tools"),
        ("Job lot of old tools, hammers, saws, pliers", "tools"),
        ("Box of kitchen items, whisks, tins, jelly moulds", "kitchen-and-household"),
        ("Vintage tools, chisel", "chisel"),
        ("Kitchenalia - whisk", "whisk"),
    ],
)
def test_of_a_list_of_plurals_none_is_the_lot(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Desk davenport style", "desk"),
        ("Sideboard credenza style 1960s", "sideboard"),
        ("Cabinet armoire style", "cabinet"),
        ("Pembroke style table", "pembroke-table"),
        ("Davenport style desk", "davenport-desk"),
        ("Chair windsor style", "chair"),
    ],
)
def test_the_name_of_a_style_behind_the_piece(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Sofa + 2 chairs", "seat-furniture"),
        ("Cottage suite 2 seater + 2 chairs", "seat-furniture"),
        ("Settee and two matching armchairs", "seat-furniture"),
        ("Magazine rack cane", "magazine-rack"),
        ("Carpet beater cane", "carpet-beater"),
        ("Walking stick cane", "walking-stick"),
        ("Cane silver top", "walking-stick"),
        ("HMS Basket, photograph", "photograph"),
        ("Box for sweetmeats, silver", "box"),
        ("Box for cigarettes", "cigarette-box"),
        ("Screen; ink, color, and gold on paper", "screen"),
        ("Stand; ink", "inkstand"),
        ("Box; pencil", "pencil-box"),
    ],
)
def test_what_only_sounds_like_another_piece(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


def test_a_ship_is_none_of_what_it_is_called_after() -> None:
    assert kind("HMS Compass cap tally")[0] is None


def test_behind_furniture_cane_is_a_stuff() -> None:
    assert title("Sofa cane")["material_id"] == "rattan"


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Stool piano", "piano-stool"),
        ("Lamp desk brass", "desk-lamp"),
        ("Clock mantel oak", "mantel-clock"),
        ("Dish butter", "butter-dish"),
        ("Mirror sunburst gilt 1960s", "sunburst-mirror"),
        ("Spoon caddy silver", "caddy-spoon"),
        # names as they stand, and what is no heading
        ("Table lamp", "table-lamp"),
        ("Box sofa", "sofa"),
        ("House bell", "bell"),
        ("Mirror cabinet", "cabinet"),
        ("Chair windsor style", "chair"),
        ("Lamp table", "occasional-table"),
    ],
)
def test_a_heading_turned_round_without_a_comma(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("Bed and headboard", "bed"),
        ("Carriage clock & leather case", "carriage-clock"),
        ("Salad bowl & servers teak", "salad-bowl"),
        ("Cake plate & knife", "plate"),
    ],
)
def test_what_goes_with_the_piece_makes_no_second_lot(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


def test_two_pieces_of_furniture_stay_two() -> None:
    assert kind("Bed and wardrobe")[1] == "review"
