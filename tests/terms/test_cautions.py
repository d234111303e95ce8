"""Cautions: raised by concepts, phrases and years; taken back by what speaks against them."""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.terms.cautions import find_cautions
from pipeline.terms.titles import read_titles


def cautions(title: str) -> set[str]:
    titles = pa.array([title])
    read = read_titles(titles)
    row = read.to_pylist()[0]
    materials = pa.array([row["material_ids"] + row["part_material_ids"]], pa.list_(pa.string()))
    found = find_cautions(
        titles,
        read["category_id"],
        materials,
        read["faults"],
        read["made_earliest"],
        read["made_latest"],
    )
    return set(found.to_pylist()[0])


@pytest.mark.parametrize(
    ("title", "caution"),
    [
        ("Ivory handled butter knife", "ivory"),
        ("Carved ivory netsuke in ivory coloured box", "ivory"),
        ("Oak chest of drawers", "tip-over"),
        ("Brass table lamp c1930", "old-electrical-wiring"),
        ("Crib, drop side, 1960s", "crib-standard"),
        ("Crib", "crib-standard"),
        ("Painted pine chest 1850", "lead-paint"),
        ("Wristwatch, radium dial", "radium"),
        ("Vaseline glass bowl", "uranium"),
        ("Flintlock pistol", "firearm"),
        # 16 CFR 1303 is about paint on toys and furniture
        ("Painted longcase clock, the case in old blue paint, painted dial", "lead-paint"),
        ("Painted pine chest with painted dial in the lid", "lead-paint"),
        ("Painted wooden rocking horse", "lead-paint"),
        ("Painted iron doorstop", "lead-paint"),
        ("Earthenware jug, flaking paint", "lead-paint"),
        ("Porcelain tile with lead paint in a painted oak frame", "lead-paint"),
    ],
)
def test_raised(title: str, caution: str) -> None:
    assert caution in cautions(title)


@pytest.mark.parametrize(
    ("title", "caution"),
    [
        ("Ivory coloured silk dress", "ivory"),
        ("ivory-coloured jug", "ivory"),
        ("Ivory colour paint tin", "ivory"),
        ("Vase, ivory ground", "ivory"),
        ("Ivory wool rug", "ivory"),
        ("Faux ivory box", "ivory"),
        ("Knife, not ivory", "ivory"),
        ("Crib 2015", "crib-standard"),
        ("Feather pattern plate", "feathers"),
        # a dial is neither; a glaze and what is fired are outside 16 CFR 1303.2 (from memory)
        ("Longcase clock, oak case, painted dial, c.1810", "lead-paint"),
        ("Wall clock, the painted dial with Roman numerals", "lead-paint"),
        ("Mahogany longcase clock with painted arched dial", "lead-paint"),
        ("Staffordshire pottery figure, painted in coloured enamels", "lead-paint"),
        ("Earthenware teapot, hand painted", "lead-paint"),
        ("Silk hand fan, hand painted", "lead-paint"),
        ("Miniature oak chest of drawers, apprentice piece", "tip-over"),
    ],
)
def test_no_false_alarm(title: str, caution: str) -> None:
    assert caution not in cautions(title)


def test_a_colour_in_the_material_field_is_no_ivory() -> None:
    materials = pa.array([["ivory"], ["ivory"]], pa.list_(pa.string()))
    titles = pa.array(["Ivory coloured cushion", "Letter opener"])
    found = find_cautions(titles, material_ids=materials).to_pylist()
    assert "ivory" not in found[0]
    assert "ivory" in found[1]


def test_broader_concepts_raise_for_narrower_ones() -> None:
    found = find_cautions(pa.array(["x", None]), pa.array(["bachelors-chest", None], pa.string()))
    assert found.to_pylist()[1] == []


def test_columns_of_any_length() -> None:
    assert find_cautions(pa.array([], pa.string())).to_pylist() == []
    titles = pa.array(["Ivory handled knife", None, "Plain vase"] * 40)
    found = find_cautions(titles).to_pylist()
    assert found == find_cautions(titles.slice(0, 3)).to_pylist() * 40
