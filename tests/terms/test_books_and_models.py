"""Books by what is counted in them, leaves and plates, models, toys and trinkets.

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
        ("Theatrum, 101 double-page maps, folio, 1606", "atlas"),
        ("Botany, 25 hand-coloured plates, folio", "book"),
        ("The Birds of the Fens, 40 hand coloured lithographs, 4to, 1860", "book"),
        ("Novelle, 12 etchings, red morocco", "book"),
        ("Travels, with 12 engraved plates and 2 maps, 2 vols., calf", "book"),
        ("Views of Bath, 12 aquatints, framed", "aquatint"),
        ("Set of six hunting prints, aquatints", "aquatint"),
        ("Two maps, folding, on linen", "map"),
        ("12 plates, coloured transfer", "plate"),
        ("Jewel box, red morocco", "jewellery-box"),
    ],
)
def test_a_book_by_its_counted_plates(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    "text",
    [
        "Plate 12, butterflies",
        "Plate XII botanical",
        "Plate III from a herbal",
        "Page from a sketchbook, pencil",
        "Page from a newspaper",
        "Leaf from an album of miniatures",
        "A silver miniature coffee pot",
        "A Dutch silver miniature sedan chair",
        "A gold miniature violin",
    ],
)
def test_a_leaf_or_a_trinket_is_not_the_whole(text: str) -> None:
    assert kind(text)[1] == "review"


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("A plate, no. 6", "plate"),
        ("Plate 25cm", "plate"),
        ('Plate 10" blue and white', "plate"),
        ("Plates x 6", "plate"),
        ("A miniature carriage clock", "carriage-clock"),
        ("A miniature book", "book"),
        ("A silver miniature photograph frame", "picture-frame"),
        ("A miniature bottle", "bottle"),
        ("Album of leaves", "album"),
    ],
)
def test_a_plate_with_a_size_and_what_is_made_small_are_themselves(
    text: str, category: str
) -> None:
    assert kind(text) == (category, "accepted")


@pytest.mark.parametrize(
    ("text", "category"),
    [
        ("A crested model of a lighthouse", "figurine"),
        ("An Imari model of a bijin", "figurine"),
        ("A jade model of a qilin", "figurine"),
        ("A wooden model of a lighthouse", "scale-model"),
        ("A bone model of a guillotine", "scale-model"),
        ("A silver model of a galleon", "ship-model"),
        ("A model of a church", "scale-model"),
        ("A 'Whizz Bang' car, clockwork", "toy-vehicle"),
        ("A child's pressed steel motor car", "toy-vehicle"),
        ("A 1935 motor car", "motor-car"),
        ("A vintage car", "motor-car"),
    ],
)
def test_models_and_toys(text: str, category: str) -> None:
    assert kind(text) == (category, "accepted")
