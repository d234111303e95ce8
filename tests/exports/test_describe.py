"""What an unknown export seems to be."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.answers.describe import describe_file, proposal, save_proposal
from pipeline.errors import ExportError, UsageError
from pipeline.exports.source import load_source

AUCTION = """Rooms of Elsewhere
Results;printed 3.4.2024

Los;Bezeichnung;Kategorie;Zustand;Datum;Zuschlag;Bemerkung
12;Mahagoni-Kommode, um 1820;Möbel;gut;23.03.2024;1.250,00 EUR;
13;Tischlampe aus Messing;Lampen;gebraucht;24.03.2024;80,50 EUR;neu verkabelt
14;Ölgemälde, Landschaft;Bilder;beschädigt;25.03.2024;410,00 EUR;
"""
MARKET = """Item id,Item title,Sold price,Shipping cost,End date,Condition,Mystery
1,OLD BRASS LAMP,$45.00,$9.50,03/25/2024,Used,x
2,pine chest of drawers,"$1,250.00",$0.00,12/31/2023,Good,x
3,VTG quilt cotton,$80.00,$12.00,01/13/2024,New,x
"""


def means(path: Path) -> dict[str, str | None]:
    return {c.header: c.meaning for c in describe_file(path).columns}


def test_a_german_auction(tmp_path: Path) -> None:
    path = tmp_path / "lose.csv"
    path.write_bytes(AUCTION.encode("cp1252"))
    told = describe_file(path)
    assert (told.encoding, told.delimiter, told.header_line) == ("cp1252", ";", 4)
    assert (told.date_order, told.decimal_mark, told.currency) == ("dmy", ",", "EUR")
    assert means(path) == {
        "Los": "listing_id", "Bezeichnung": "title", "Kategorie": "category",
        "Zustand": "condition", "Datum": "sold", "Zuschlag": "price", "Bemerkung": None,
    }  # fmt: skip


def test_an_american_market(tmp_path: Path) -> None:
    path = tmp_path / "sold.csv"
    path.write_text(MARKET)
    told = describe_file(path)
    assert (told.date_order, told.decimal_mark, told.currency) == ("mdy", ".", "USD")
    assert means(path)["Sold price"] == "price"
    assert means(path)["End date"] == "sold"
    assert means(path)["Shipping cost"] == "shipping"
    assert means(path)["Mystery"] is None


def test_the_proposal_is_a_source_with_three_examples_a_column(tmp_path: Path) -> None:
    path = tmp_path / "sold.csv"
    path.write_text(MARKET)
    target = save_proposal(describe_file(path), path)
    source = load_source(target)
    assert source.header_of["title"] == "Item title"
    assert source.price.price_type == "unknown"  # a person must say what a price means
    assert "OLD BRASS LAMP; pine chest of drawers; VTG quilt cotton" in target.read_text()
    with pytest.raises(UsageError, match="source.toml already"):
        save_proposal(describe_file(path), path)


def test_dates_that_exist_in_two_orders_are_to_be_checked(tmp_path: Path) -> None:
    path = tmp_path / "sold.csv"
    path.write_text("Title,Price,Sold\na chair,1,03/04/2024\nb lamp,2,05/06/2024\n")
    assert "CHECK" in describe_file(path).date_reason
    assert "CHECK" in proposal(describe_file(path))


@pytest.mark.parametrize(("content", "message"), [(b"", "empty"), (b"\n\n\n", "empty")])
def test_nothing_to_describe(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    with pytest.raises(ExportError, match=message):
        describe_file(path)


def test_a_folder_and_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="a folder"):
        describe_file(tmp_path)
    with pytest.raises(ExportError, match="no such file"):
        describe_file(tmp_path / "none.csv")
