"""Names of objects and texts for the medium as museums publish them.

Names: the list of object types of Cooper Hewitt, Smithsonian Design Museum (github.com/
cooperhewitt/collection, meta/types.csv, CC0). Mediums and dates: open records of the Metropolitan
Museum of Art, the Walters Art Museum, the Minneapolis Institute of Art, the Cleveland Museum of
Art and Carnegie Museum of Art (CC0). The readings are ours: a careful cataloguer's, no source.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pyarrow as pa
import pytest

from pipeline.terms.cautions import find_cautions
from pipeline.terms.dates import read_date
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles


def field(text: str, kind: str) -> tuple[str | None, str]:
    read = read_terms(pa.array([text]), kind).to_pylist()[0]
    return read["concept_id"], read["status"]


def title(text: str) -> dict[str, Any]:
    return read_titles(pa.array([text])).to_pylist()[0]


@pytest.mark.parametrize(
    ("name", "category"),
    [
        # what goes with a piece, in a row of two or three
        ("Clock and case", "clock"),
        ("Mustard pot and stand", "mustard-pot"),
        ("Sugar bowl, cover, and tray", "sugar-bowl"),
        ("Snuff bottle, stopper, and stand", "snuff-bottle"),
        ("Lamp Shade and Base", "lamp-shade"),
        ("Knife and sheath", "knife"),
        # names of their own, by other words than the trade's
        ("Bobbin lace", "lace"),
        ("Oil cloth", "oilcloth"),
        ("Domino paper", "decorated-paper"),
        ("Ice cream server", "serving-piece"),
        ("Stereoscope slides", "stereoview"),
        ("hotel label", "luggage-label"),
        ("Neckring", "necklace"),
        ("Panel", "panel"),
        ("hilt", "sword-fittings"),
        ("Curtain tieback", "curtain-tie-back"),
        # a letter behind a preposition is not the head
        ("Clarinet in F", "clarinet"),
        ("Figure of a dog", "figurine"),
    ],
)
def test_names_of_objects(name: str, category: str) -> None:
    assert field(name, "category") == (category, "accepted")


@pytest.mark.parametrize(
    "name",
    [
        "nozzle, candelabrum",
        "gaine, tankard",  # the first word is the thing, and nobody knows it
        "Brooch and pair of earrings",
        "Appetizer holder and tray",
        "Salad fork model",
        "Chair prototype",
        "Cover for vase",
        "Automobile model",
    ],
)
def test_names_that_wait_for_a_person(name: str) -> None:
    assert field(name, "category")[1] == "review"


@pytest.mark.parametrize(
    ("medium", "material"),
    [
        ("oil and gold on panel", "oil-paint"),
        ("ink and pigments on parchment", "ink-drawing"),
        ("mulberry paper, pigments", "paper"),
        ("paint on cotton", "pigment"),
        ("Graphite on ivory laid paper", "pencil"),
        ("Ivory and tan jade", "jade"),
        ("Pot metal glass, vitreous paint", "stained-glass"),
        ("gold, carnelian, obsidian (?)", "gold"),
        ("Cotton, printed", "cotton"),
        ("Glass, cut", "cut-glass"),
        ("Case: gold, enamel; Movement: brass, steel", "gold"),
        ("Synthetic, cotton", "synthetic-fabric"),
    ],
)
def test_texts_for_the_medium(medium: str, material: str) -> None:
    assert field(medium, "material") == (material, "accepted")


@pytest.mark.parametrize("medium", ["bronze, possibly spelter", "Wool (?), plastic, metal"])
def test_a_doubt_of_what_is_named_first_waits(medium: str) -> None:
    assert field(medium, "material")[1] == "review"


@pytest.mark.parametrize(
    "text", ["Drawing, graphite on ivory laid paper", "Ivory and tan jade ring"]
)
def test_a_shade_of_paper_or_stone_warns_of_no_ivory(text: str) -> None:
    read = title(text)
    materials = pa.array([read["material_ids"] + read["part_material_ids"]], pa.list_(pa.string()))
    found = find_cautions(
        pa.array([text]), pa.array([read["category_id"]], pa.string()), materials
    ).to_pylist()[0]
    assert not [one for one in found if "ivory" in one]


@pytest.mark.parametrize(
    ("text", "category", "material"),
    [
        ("Turf carts by the lake, watercolour heightened with white", "watercolour", "watercolour"),
        ("Drawing, Chalk, watercolor", "drawing", "chalk"),
        ("Fan, Ink on paper", "hand-fan", "ink-drawing"),
        ("Trade card of a hatter, etching", "trade-card", "etching"),
        ("Gourd-Shaped Ewer, Porcelaneous stoneware", "ewer", "stoneware"),
        ("Clock, Case: mahogany; dial: brass", "clock", "mahogany"),
        ("Armchair of the 1950s in oiled oak with cord seat", "armchair", "oak"),
    ],
)
def test_names_and_mediums_in_one(text: str, category: str, material: str) -> None:
    read = title(text)
    assert (read["category_id"], read["category_status"]) == (category, "accepted")
    assert (read["material_id"], read["material_status"]) == (material, "accepted")


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("700s", 700, 799),
        ("500s", 500, 599),
        ("c. late 600s–early 700s", 675, 725),
        ("early 770s", 770, 774),
        ("1200s or earlier", None, 1299),
        ("570-577", 570, 577),
        ("618-906", 618, 906),
        ("800-1521", 800, 1521),
        ("probably first half 16th century", 1500, 1550),
    ],
)
def test_years_of_the_first_thousand(text: str, earliest: int | None, latest: int) -> None:
    read = read_date(text, today=dt.date(2026, 11, 27))
    assert (read.earliest, read.latest) == (earliest, latest)


@pytest.mark.parametrize("text", ["570-577", "618-906", "600-1200"])
def test_bare_numbers_are_never_sure_years(text: str) -> None:
    assert read_date(text).certainty == "uncertain"


@pytest.mark.parametrize(
    "text", ["850", "300-2000", "620 - 580", "12/75", "24-36", "400-600", "120-150"]
)
def test_numbers_that_are_no_years(text: str) -> None:
    read = read_date(text)
    assert (read.earliest, read.latest) == (None, None)
