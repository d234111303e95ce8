"""Open sets of real prices as a workspace: exports with a source file of their own, like any other.

    python -m tests.bench.open_workspace FOLDER [names]

makes FOLDER/NAME of each set, to be refreshed and back-tested by the commands. What the trade's
vocabulary does not know (screens, cuts, models of cars) is given as the workspace's own concepts;
terms that have no column (a grade that is no condition of antiques, a year) stand in the title.
"""

from __future__ import annotations

import argparse
import csv
import re
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from tests.bench.open_sales import SETS

SOURCE = """\
name = "{name}, prices of an open set"
market = "private"
date_order = "ymd"
currency = "USD"
decimal_mark = "."

[price]
price_type = "fixed"

[columns]
"Number" = "listing_id"
"Kind" = "category"
"Title" = "title"
"Sold" = "sold"
"Price" = "price"
"""
SETTINGS = '[basis]\ncurrency = "USD"\n'
# What stands in the title, since no column of an export holds it.
IN_TITLE = ("condition", "period_id", "market", "set_class")


def make_open_workspace(name: str, folder: Path) -> Path:
    """A workspace with one export of a set of `open_sales.SETS`, not yet refreshed."""
    sales = SETS[name]().to_pydict()
    n = len(sales["sale_id"])
    place = folder / "data" / "raw" / name
    place.mkdir(parents=True)
    kinds = [f"{name} {one}" for one in _slugs(sales["category_id"])]
    columns: dict[str, list[Any]] = {
        "Number": sales["sale_id"],
        "Kind": kinds,
        "Title": _titles(sales, n),
        "Sold": [str(day)[:10] for day in sales["sold_on"]],
        "Price": [f"{price:.2f}" for price in np.exp(sales["log_price"])],
    }
    source = SOURCE.format(name=name)
    if "material_id" in sales:
        columns["Made of"] = [f"{name} stuff {one}" for one in _slugs(sales["material_id"])]
        source += '"Made of" = "material"\n'
        _vocabulary(folder, "materials", "", columns["Made of"])
    for one in sales.get("measures", [{}])[0]:
        columns[one] = [_number(row[one]) for row in sales["measures"]]
        source += f'"{one}" = "measure:{one.lower()}"\n'
    families = sales.get("family_id", [name] * n)
    family = [f"{name} family {one}" for one in _slugs(families)]
    _vocabulary(folder, "categories", "", family, below=kinds)
    _write(place / "sales.csv", columns)
    (place / "source.toml").write_text(source, encoding="utf-8")
    (folder / "data" / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    return folder


def _titles(sales: dict[str, list[Any]], n: int) -> list[str]:
    """What the set says in words, then its other terms, each apart so that they make no pairs."""
    own = sales.get("title_text", [""] * n)
    terms = [name for name in IN_TITLE if name in sales]
    told = [
        [f"{name[:3]}{slug.replace(' ', '')}" for slug in _slugs(sales[name])] for name in terms
    ]
    rows = zip(own, *told, strict=True) if told else ((text,) for text in own)
    return [". . ".join(part for part in row if part) for row in rows]


def _slugs(values: list[Any]) -> list[str]:
    return [re.sub("[^a-z0-9]+", " ", str(v).lower()).strip() or "none" for v in values]


def _number(value: float | None) -> str:
    return "" if value is None or np.isnan(value) else f"{value:.10g}"


def _vocabulary(
    folder: Path, kind: str, broader: str, labels: list[str], below: list[str] | None = None
) -> None:
    """The workspace's own concepts: labels, and those below each where told."""
    pairs = dict.fromkeys((label, broader) for label in labels)
    if below is not None:
        pairs |= dict.fromkeys(zip(below, (_key(one) for one in labels), strict=True))
    rows: dict[str, list[Any]] = {
        "id": [_key(label) for label, _ in pairs],
        "prefLabel": [label for label, _ in pairs],
        "altLabels": [""] * len(pairs),
        "hiddenLabels": [""] * len(pairs),
        "broader": [above for _, above in pairs],
        "scopeNote": ["Of an open set."] * len(pairs),
    }
    if kind == "materials":
        rows |= {"aspect": ["material"] * len(pairs), "caution_ids": [""] * len(pairs)}
    place = folder / "data" / "decisions" / "vocabulary"
    place.mkdir(parents=True, exist_ok=True)
    _write(place / f"{kind}.csv", rows)


def _key(label: str) -> str:
    return label.replace(" ", "-")


def _write(path: Path, columns: dict[str, list[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        writer.writerows(zip(*columns.values(), strict=True))


def refreshed_sales(name: str, folder: Path) -> pa.Table:
    """The comparable sales of a set after it went through the whole line."""
    import pipeline
    from pipeline.refresh import refresh
    from pipeline.stages.model import sales_of_model

    refresh(make_open_workspace(name, folder))
    with pipeline.connect(folder) as con:
        return sales_of_model(con)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="*", default=list(SETS))
    asked = parser.parse_args()
    for name in asked.names:
        make_open_workspace(name, asked.folder / name)


if __name__ == "__main__":
    main()
