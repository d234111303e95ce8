"""What stands around a piece in a listing changes nothing in what the piece is read as.

The same titles are read alone and inside the sentences of auctions, shops and private sellers. A
relation between two readings of our own, so no outside source is needed; the phrases are common
practice, no source.
"""

from __future__ import annotations

from typing import Any

import pyarrow as pa
import pytest

from pipeline.terms.titles import read_titles

PIECES = (
    "Stool, oak, English", "Silver teapot, London 1802", "Pair of brass candlesticks",
    "Set of six mahogany dining chairs, c. 1830", "Bronze figure of a dancer, signed",
    "Staffordshire pottery dog, 19th century", "Cut glass decanter and stopper",
    "Engraving of a ship, framed", "Gold ring set with a ruby", "Longcase clock, oak case",
    "Georgian walnut tea caddy", "Bisque head doll, 1905", "Persian wool rug",
)  # fmt: skip
CARRIERS = """
    Lot 88: {}|Lot 214 {}|[Lot 88] {}|88. {}|{} (lot 88)|Session 3, lot 12. {}|Lot # 88 - {}
    The property of a lady: {}|Property of a gentleman. {}|From a private collection. {}
    Various owners. {}|{}. Provenance: by descent in the family
    {}. Provenance: Brass House, Norfolk, and by descent|{}. Literature: The Art of the Clock, p. 45
    {}. Exhibited: Glass and Light, 1962|{}. A similar table was sold in 2009
    {}. Compare with the silver example at Windsor|{}. For a similar one see the county museum
    {}. Please see our other items for chairs and lamps|{} (books not included)
    {}. Vase in photo not for sale|{}. Coin for scale|{}, pick up only, Brass Street
    {} £45 ono|{} $40 obo|{} est. 40-60|{}. Sold for £120|{} rare!!!|L@@K {}|*** {} ***
    {} been in the loft for years|{} inherited from a clock maker|{} from an old church
    {} use as a table or a stool|{} in original box|{} in fitted case|{} with key
    {} with ebony handle|{} painted with a lady holding a fan|{} engraved with a clock tower
    {} stamped Glass & Co|{} labelled Carver & Sons|{} by Thomas Chair|{} made by Silver Brothers
    {} retailed by The Lamp Shop, Paris|{} 30 x 40 x 20 cm|{}, 12" high|{} 400g|{}, China
    A fine {}|An unusual {}|Superb quality {}|For sale: {}|Selling my {}|Here is a {}
    Up for auction is this {}|You are bidding on a {}|I have a {} for sale|{} - Antiques & Collectables
    REF 2231: {}|{} #antique #vintage #decor|{} // ref 332
"""


def _told(row: dict[str, Any]) -> tuple[str | None, ...]:
    kinds = ("category", "material")
    return tuple(row[f"{kind}_id"] for kind in kinds if row[f"{kind}_status"] == "accepted")


@pytest.fixture(scope="module")
def alone() -> dict[str, tuple[str | None, ...]]:
    rows = read_titles(pa.array(PIECES)).to_pylist()
    told = {piece: _told(row) for piece, row in zip(PIECES, rows, strict=True)}
    assert all(len(kinds) == 2 for kinds in told.values())
    return told


@pytest.mark.parametrize(
    "carrier", [one for one in CARRIERS.replace("\n", "|").split("|") if one.strip()]
)
def test_what_is_said_around_a_piece_does_not_change_it(
    carrier: str, alone: dict[str, tuple[str | None, ...]]
) -> None:
    texts = [carrier.strip().replace("{}", piece) for piece in PIECES]
    rows = read_titles(pa.array(texts)).to_pylist()
    differ = [
        text
        for text, row, piece in zip(texts, rows, PIECES, strict=True)
        if _told(row) != alone[piece]
    ]
    assert differ == []


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("Bisque doll 1905 marked Germany", 1905, 1905),
        ("Silver teapot London 1802 marked Bell", 1802, 1802),
        ("Staffordshire dog, 19th century, impressed mark", 1800, 1899),
        ("Vase, Kangxi marked", None, None),
    ],
)
def test_a_mark_told_behind_a_year_takes_nothing_from_it(
    text: str, earliest: int | None, latest: int | None
) -> None:
    row = read_titles(pa.array([text])).to_pylist()[0]
    assert (row["made_earliest"], row["made_latest"]) == (earliest, latest)
