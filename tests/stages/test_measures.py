"""Measures of a row: mapped columns before the text, and the text where no column tells."""

from __future__ import annotations

import pyarrow as pa
import pytest

from pipeline.columns import LANDED
from pipeline.stages.measures import read_measures


def measures(
    title: str | None, mapped: dict[str, float] | None = None, description: str | None = None
) -> dict[str, float]:
    row = measured(title, mapped, description)
    return dict(row["measures"] or ())


def measured(
    title: str | None, mapped: dict[str, float] | None = None, description: str | None = None
) -> dict:  # type: ignore[type-arg]
    told = {
        "title_text": title,
        "description_text": description,
        "measures": None if mapped is None else list(mapped.items()),
    }
    table = pa.Table.from_pylist([told], schema=LANDED)
    return read_measures(table).to_pylist()[0]  # type: ignore[no-any-return]


def test_the_text_fills_what_no_column_tells() -> None:
    assert measures("Oak table, 120 cm wide") == {"width_cm": 120.0, "largest_cm": 120.0}
    assert measures("Oak table, 120 cm wide", {"height_cm": 76.0}) == {
        "height_cm": 76.0, "width_cm": 120.0, "largest_cm": 120.0,
    }  # fmt: skip
    assert measures("Oak table") == {}
    assert measured(None)["measures"] is None
    assert measures("Silver tray, 12 oz", {"wheels": 3.0}) == pytest.approx(
        {"wheels": 3.0, "weight_g": 12 * 31.1034768}
    )


def test_a_mapped_column_counts_before_the_text() -> None:
    assert measures("Vase 12 in. high", {"height_cm": 31.0}) == {
        "height_cm": 31.0, "largest_cm": 31.0,
    }  # fmt: skip
    assert measured("Vase 12 in. high", {"height_cm": 31.0})["disagrees"] is False
    told = measured("Vase 12 in. high", {"height_cm": 50.0})
    assert told["disagrees"] is True
    assert dict(told["measures"]) == {"height_cm": 50.0, "largest_cm": 50.0}


def test_mapped_columns_in_other_units_stay_and_tell_the_largest() -> None:
    found = measures("Vase 12 in. high", {"height_in": 12.0, "width_in": 20.0})
    assert found == pytest.approx({"height_in": 12.0, "width_in": 20.0, "largest_cm": 50.8})
    assert measures("30 x 40 cm", {"height_mm": 300.0, "width_mm": 400.0}) == {
        "height_mm": 300.0, "width_mm": 400.0, "largest_cm": 40.0,
    }  # fmt: skip
    assert measures("Vase", {"largest_cm": 30.0}) == {"largest_cm": 30.0}
    assert measures("Vase 12 in.", {"largest_cm": 30.0}) == {"largest_cm": 30.0}


def test_no_name_stands_twice() -> None:
    told = measured("Silver tray, 12 oz, 30 cm wide", {"weight_g": 400.0, "width_cm": 0.0})
    assert [name for name, _ in told["measures"]] == ["weight_g", "width_cm", "largest_cm"]


def test_a_size_without_an_axis_is_held_against_several_columns() -> None:
    picture = {"height_cm": 30.0, "width_cm": 40.0}
    assert measured("Etching, 12 x 16 in.", picture)["disagrees"] is False
    told = measured("Etching, 50 x 70 cm", picture)
    assert told["disagrees"] is True
    assert dict(told["measures"]) == {**picture, "largest_cm": 40.0}


def test_a_description_fills_what_the_title_does_not_tell() -> None:
    assert measures("Vase", description="Height 30 cm, width 20 cm.") == {
        "height_cm": 30.0, "width_cm": 20.0, "largest_cm": 30.0,
    }  # fmt: skip
    # the same piece, told more fully
    assert measures('Vase, 12"', description="Height 30 cm, width 20 cm.") == {
        "height_cm": 30.0, "width_cm": 20.0, "largest_cm": 30.48,
    }  # fmt: skip
    assert measures("Table, 76 cm high", description="H 76 cm W 120 cm") == {
        "height_cm": 76.0, "width_cm": 120.0, "largest_cm": 120.0,
    }  # fmt: skip
    # another thing
    assert measures('Vase, 12"', description="On a stand, 50 cm high") == {"largest_cm": 30.48}


def test_a_column_of_sizes_in_words_counts_before_the_title() -> None:
    told = {"size_text": "H 30 cm W 20 cm", "title_text": "Vase, 40 cm high"}
    table = pa.Table.from_pylist([told], schema=LANDED)
    assert dict(read_measures(table)["measures"][0].as_py()) == {
        "height_cm": 30.0, "width_cm": 20.0, "largest_cm": 30.0,
    }  # fmt: skip


def test_rows_keep_their_own_numbers() -> None:
    told = [
        {"title_text": "Vase 30 cm"},
        {"title_text": "Vase", "measures": [("height_cm", 10.0)]},
        {"title_text": None},
        {"title_text": "Vase 30 cm", "measures": [("wheels", 2.0)]},
    ]
    table = pa.Table.from_pylist(told, schema=LANDED)
    whole = read_measures(table)
    assert whole["measures"].to_pylist() == [
        [("largest_cm", 30.0)],
        [("height_cm", 10.0), ("largest_cm", 10.0)],
        None,
        [("wheels", 2.0), ("largest_cm", 30.0)],
    ]
    assert read_measures(table.slice(1, 2)).equals(whole.slice(1, 2))
    assert read_measures(table.slice(0, 0)).num_rows == 0
