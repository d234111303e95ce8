"""Prices through the line: landed rows in, the money columns of `sales` out."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest
from currency_converter import CurrencyConverter

import pipeline
from pipeline import reasons
from pipeline.answers.explain import explain, price_way
from pipeline.columns import LANDED, SALES
from pipeline.errors import SettingsError
from pipeline.exports.source import Source, load_source
from pipeline.money.price_level import PriceLevel
from pipeline.money.rates import Rates
from pipeline.money.real_money import RealMoney, real_money, settings_in_force
from pipeline.refresh import refresh
from pipeline.settings import BasisSettings, Settings, prove
from pipeline.stages.price import PriceReader, price
from pipeline.workspace import Workspace
from tests.conftest import SHOP, WorkspaceMaker

RATES = Rates.bundled(10)
NEWEST = dt.date(2026, 10, 1)
COLUMNS = {
    name: name for name in ("title", "sold", "price", "currency", "price_type", "status",
                            "shipping", "premium", "tax", "quantity")
}  # fmt: skip


def source(price_of: str = "lot", currency: str = "GBP", **terms: Any) -> Source:
    said = {
        "name": "A house", "market": "auction", "date_order": "ymd", "currency": currency,
        "decimal_mark": ".", "price_of": price_of, "columns": COLUMNS,
        "price": {"price_type": "fixed", **terms},
    }  # fmt: skip
    return prove(said, Source, "source.toml")


def landed(*rows: dict[str, str]) -> pa.Table:
    """Rows of texts by meaning, as `ingest` lands them."""
    columns: dict[str, Any] = {
        "file_id": ["f"] * len(rows),
        "line_number": list(range(2, len(rows) + 2)),
    }
    stated = [{"title": "Oak chair", "sold": "2024-03-04", **row} for row in rows]
    for field in LANDED:
        meaning = field.name.removesuffix("_text")
        columns.setdefault(field.name, [row.get(meaning) for row in stated])
    return pa.table({f.name: pa.array(columns[f.name], f.type) for f in LANDED}, schema=LANDED)


def read(
    *rows: dict[str, str],
    of: Source | None = None,
    settings: Settings | None = None,
    real: RealMoney | None = None,
) -> list[dict[str, Any]]:
    """The money columns of the rows; every row of the table must fit the declared columns."""
    reader = PriceReader(of or source(), RATES, settings or Settings(), NEWEST, real)
    table = price(landed(*rows), reader)
    assert table.num_rows == len(rows)
    for column in SALES.columns:
        if column.name in table.column_names:
            assert table.schema.field(column.name).type == column.type, column.name
    found: list[dict[str, Any]] = table.to_pylist()
    for row in found:
        assert set(row["notes"]) <= set(reasons.NOTES)
        assert set(row["price_flags"]) <= set(reasons.FLAGS)
        assert row["real_reason"] is None or row["real_reason"] in reasons.REAL
        assert row["price_type"] in (SALES.column("price_type").allowed or ())
        assert row["aside_reason"] is None or row["aside_reason"] in reasons.SET_ASIDE
    return found


def one(row: dict[str, str], **given: Any) -> dict[str, Any]:
    return read(row, **given)[0]


def level(*months: tuple[str, float], base: str) -> RealMoney:
    figures = {dt.date.fromisoformat(f"{m}-01"): figure for m, figure in months}
    index = PriceLevel.from_months("an index", figures)
    return RealMoney("own", index, dt.date.fromisoformat(f"{base}-01"))


# ------------------------------------------------------------------------------------------------
# Money of one month


@pytest.mark.parametrize(
    ("amount", "sold", "base", "expected"),
    [
        ("$100", "1950-06-15", "2024-06", "1301.6141"),
        ("$250", "2021-06-15", "2024-06", "289.4130"),
        ("$100", "1920-06-15", "1933-06", "65.0000"),
    ],
)
def test_published_prices_in_real_terms(amount: str, sold: str, base: str, expected: str) -> None:
    # CPI-U, US city average, 1982-84 = 100, annual averages: US Bureau of Labor Statistics.
    annual = (("1920-06", 20.0), ("1933-06", 13.0), ("1950-06", 24.1), ("2021-06", 270.970),
              ("2024-06", 313.689))  # fmt: skip
    dollars = Settings(basis=BasisSettings(currency="USD"))
    row = one(
        {"price": amount, "sold": sold},
        of=source(currency="USD"), settings=dollars, real=level(*annual, base=base),
    )  # fmt: skip
    assert (row["real_amount"], row["real_reason"]) == (Decimal(expected), None)
    assert row["compared_amount"] == Decimal(amount[1:])


def test_a_month_without_a_figure_is_a_gap_and_an_old_price_stays_nominal() -> None:
    # The US index of October 2025 was never published (BLS).
    index = level(("2025-09", 324.8), ("2025-11", 324.1), base="2025-11")
    rows = read(
        {"price": "100", "sold": "2025-10-15"},
        {"price": "100", "sold": "1950-01-15"},
        {"price": "100", "sold": "2026-01-15"},
        {"price": "100", "sold": "2025-09-15"},
        real=index,
    )
    assert [(r["real_amount"], r["real_reason"]) for r in rows] == [
        (None, "no_index_month"),
        (Decimal(100), "before_index"),
        (None, "after_index"),
        (Decimal("99.7845"), None),
    ]
    assert all(r["compared_amount"] == 100 and not r["price_flags"] for r in rows)


def test_the_packaged_index_through_the_line(tmp_path: Path) -> None:
    cpi = pytest.importorskip("cpi")
    basis = BasisSettings(currency="USD", price_index="cpi:us_all_items", base_month="2010-01")
    real = real_money(basis, tmp_path)
    assert real is not None
    days = ["1950-01-09", "1999-12-31", "2025-10-02", "1912-12-31"]
    rows = read(
        *({"price": "$100", "sold": day} for day in days),
        of=source(currency="USD"), settings=Settings(basis=basis), real=real,
    )  # fmt: skip
    to = dt.date(2010, 1, 1)
    for row, day in zip(rows[:2], days[:2], strict=True):
        month = dt.date.fromisoformat(day).replace(day=1)
        assert float(row["real_amount"]) == pytest.approx(cpi.inflate(100, month, to=to), abs=6e-5)
    assert [r["real_reason"] for r in rows] == [None, None, "no_index_month", "before_index"]


def test_no_index_says_so() -> None:
    row = one({"price": "100"})
    assert (row["real_amount"], row["real_reason"]) == (None, "no_price_index")
    assert one({"price": "", "status": "unsold"})["real_reason"] is None


def test_which_index_a_workspace_measures_by(tmp_path: Path) -> None:
    pounds = BasisSettings()
    assert real_money(pounds, tmp_path) is None
    with pytest.raises(SettingsError, match="no such file"):
        real_money(BasisSettings(price_index="own"), tmp_path)
    with pytest.raises(SettingsError, match="an index of US prices"):
        real_money(BasisSettings(price_index="cpi:us_all_items"), tmp_path)
    (tmp_path / "price_index.csv").write_text(
        "month,index,name\n2020-01,100,ours\n2020-02,101,ours\n"
    )
    found = real_money(pounds, tmp_path)
    assert found is not None
    assert (found.setting, found.level.name, found.base_month) == (
        "own", "ours", dt.date(2020, 2, 1),
    )  # fmt: skip
    assert '"price_index_name": "ours"' in settings_in_force(Settings(), found)
    assert '"base_month": "2020-02"' in settings_in_force(Settings(), found)
    assert real_money(BasisSettings(price_index="none"), tmp_path) is None
    for month, message in (("2020-03", "no figure for 2020-03"), ("2020-13", "no month")):
        with pytest.raises(SettingsError, match=message):
            real_money(BasisSettings(base_month=month), tmp_path)
    before = found.fingerprint
    (tmp_path / "price_index.csv").write_text(
        "month,index,name\n2020-01,100,ours\n2020-02,102,ours\n"
    )
    again = real_money(pounds, tmp_path)
    assert again is not None
    assert again.fingerprint != before


# ------------------------------------------------------------------------------------------------
# Pieces and lots


def test_a_price_each_is_that_of_all_pieces_and_of_one() -> None:
    row = one({"title": "Set of six oak chairs", "price": "£45 each"})
    assert (row["price_amount"], row["lot_amount"], row["compared_amount"]) == (45, 270, 270)
    assert (row["piece_amount"], row["set_size"], row["notes"]) == (45, "5-6", ["price_each"])
    times = one({"title": "Pair of oak chairs", "price": "2 x £45"})
    assert (times["compared_amount"], times["notes"]) == (90, ["price_each"])
    single = one({"title": "Oak chair", "price": "£45 each"})
    assert (single["compared_amount"], single["piece_amount"]) == (45, 45)


def test_a_premium_in_steps_is_taken_of_what_all_pieces_cost() -> None:
    # Tiered 25 % to 1,000, then 20 %: a hammer price of 1,500 is 1,850.
    steps = [{"up_to": 1000, "share": 0.25}, {"share": 0.2}]
    row = one(
        {"title": "Pair of chairs", "price": "£750 each"},
        of=source(price_type="hammer", premium=steps),
    )
    assert (row["compared_amount"], row["piece_amount"]) == (1850, 925)


def test_a_price_each_of_nobody_knows_how_many() -> None:
    row = one({"title": "Set of oak chairs", "price": "£45 each"})
    assert row["n_pieces"] is None
    assert (row["lot_amount"], row["compared_amount"], row["piece_amount"]) == (None, None, 45)
    assert "pieces_unknown" in row["price_flags"]


def test_a_source_that_tells_prices_of_pieces() -> None:
    rows = read(
        {"title": "Oak chair", "price": "45", "quantity": "3"},
        {"title": "Set of oak chairs", "price": "45"},
        of=source(price_of="piece"),
    )
    assert [(r["lot_amount"], r["piece_amount"], r["compared_amount"]) for r in rows] == [
        (135, 45, 45),
        (None, 45, 45),
    ]
    assert [r["set_size"] for r in rows] == ["single", "single"]
    assert not rows[1]["price_flags"]


@pytest.mark.parametrize("quantity", ["0", "1000000", "5001"])
def test_a_quantity_of_zero_or_a_million_is_set_aside(quantity: str) -> None:
    row = one({"price": "45", "quantity": quantity})
    assert (row["aside_reason"], row["aside_column"]) == ("quantity_out_of_bounds", "quantity")


def test_quantities_that_disagree_or_are_none_are_notes() -> None:
    rows = read(
        {"title": "Set of 6 chairs", "price": "60", "quantity": "8"},
        {"title": "Set of 6 chairs", "price": "60", "quantity": "some"},
    )
    assert [(r["n_pieces"], r["notes"]) for r in rows] == [
        (6, ["quantity_disagrees"]),
        (6, ["quantity_unreadable"]),
    ]


def test_a_product_without_room_is_set_aside() -> None:
    row = one({"title": "Set of 12 plates", "price": "90000000000000 each"})
    assert (row["aside_reason"], row["compared_amount"]) == ("amount_too_large", None)


# ------------------------------------------------------------------------------------------------
# Notes, offers, and what is set aside


def test_every_note_is_kept() -> None:
    of = source(tax="unknown", shipping="unknown")
    assert one({"price": "45"}, of=of)["notes"] == ["tax_unknown", "shipping_unknown"]
    of = source(shipping="included")
    assert one({"price": "45"}, of=of)["notes"] == ["shipping_amount_missing"]
    told = one({"price": "45", "shipping": "£5"}, of=of)
    assert (told["notes"], told["compared_amount"]) == ([], 40)
    assert one({"price": "£45.125"}, of=of)["notes"][0] == "more_decimals_than_currency"
    other = one({"price": "£45", "shipping": "$5"}, of=of)
    assert other["notes"] == ["shipping_amount_missing", "shipping_unreadable"]
    assert one({"price": "45", "shipping": "Free"}, of=of)["notes"] == []
    of = source(price_type="hammer", premium=0.2, tax="included", tax_share=0.2)
    wrong = one({"price": "120", "premium": "see terms", "tax": "yes"}, of=of)
    assert wrong["notes"] == ["premium_unreadable", "tax_unreadable"]
    assert wrong["compared_amount"] == 120


def test_a_premium_told_as_a_rate_is_reckoned_of_the_price() -> None:
    """25 % of a hammer price of 400 is 100 (the arithmetic of the conditions of sale)."""
    rows = read(
        {"price": "400", "premium": "25%"},
        {"price": "400", "premium": "25 %"},
        {"price": "400", "premium": "12,5 per cent"},
        {"price": "400", "premium": "25 p.c."},
        {"price": "400", "premium": "0 %"},
        {"price": "400", "premium": "101%"},
        {"price": "400", "premium": "a quarter"},
        of=source(price_type="hammer"),
    )
    assert [r["compared_amount"] for r in rows[:5]] == [500, 500, 450, 500, 400]
    assert rows[5]["aside_reason"] == "premium_out_of_bounds"
    assert rows[6]["notes"] == ["premium_unreadable"]
    assert all("premium_unreadable" not in r["notes"] for r in rows[:6])
    seller = Settings(basis=BasisSettings(kind="seller"))
    with_it = {"price": "500", "premium": "25%"}
    of = source(price_type="with_premium", fees=0)
    assert one(with_it, of=of, settings=seller)["compared_amount"] == 400


@pytest.mark.parametrize(
    ("basis", "row", "terms", "expected"),
    [
        ("seller", {"price": "620", "shipping": "120"},
         {"price_type": "with_premium", "fees": 0, "shipping": "included"}, 400),
        ("seller", {"price": "600"},
         {"price_type": "with_premium", "fees": 0, "tax": "included", "tax_share": 0.2}, 400),
        ("buyer", {"price": "520", "shipping": "120"},
         {"price_type": "hammer", "shipping": "included"}, 500),
        ("buyer", {"price": "480"},
         {"price_type": "hammer", "tax": "included", "tax_share": 0.2}, 500),
        ("buyer", {"price": "400"}, {"price_type": "net_to_seller", "fees": 0.2}, 625),
    ],
)  # fmt: skip
def test_a_rate_of_a_row_does_what_the_same_rate_of_the_source_does(
    basis: str, row: dict[str, str], terms: dict[str, Any], expected: int
) -> None:
    """A hammer price of 400 and 25 % make 500, net of 20 % fees 400 is a hammer price of 500;
    shipping and tax that lie in a price bear no premium (arithmetic)."""
    settings = Settings(basis=BasisSettings(kind=basis))
    by_source = one(row, of=source(**terms, premium=0.25), settings=settings)
    # where a net price bears a premium at all, the source says so
    other = {"premium": 0.1} if terms["price_type"] == "net_to_seller" else {}
    by_row = one({**row, "premium": "25 %"}, of=source(**terms, **other), settings=settings)
    assert by_source["compared_amount"] == by_row["compared_amount"] == expected
    assert by_row["notes"] == by_source["notes"]


def test_a_rate_is_of_the_whole_lot_where_the_price_is_of_each_piece() -> None:
    """Six at 400 each are 2,400, and 25 % of them 600 (arithmetic)."""
    row = one(
        {"title": "Set of 6 oak chairs", "price": "400 each", "premium": "25 %"},
        of=source(price_type="hammer"),
    )
    assert row["aside_reason"] is None
    assert row["lot_amount"] == 3000


def test_a_bare_number_under_one_is_a_rate_where_it_is_too_small_for_an_amount() -> None:
    """0.25 of 400 is 100; as an amount it would be under a twentieth of the price (common
    practice, no source: a premium is a tenth of the hammer price or more)."""
    rows = read(
        {"price": "400", "premium": "+25%"},
        {"price": "400", "premium": "0.25"},
        {"price": "400", "premium": "+.25"},
        {"price": "400", "premium": "0,125"},
        {"price": "5.01", "premium": "0.25"},
        {"price": "5", "premium": "0.25"},
        {"price": "1", "premium": "0.25"},
        {"price": "400", "premium": "£0.25"},
        {"price": "400", "premium": "0.00"},
        of=source(price_type="hammer"),
    )
    wanted = ["500", "500", "500", "450", "6.2625", "5.25", "1.25", "400.25", "400"]
    assert [r["compared_amount"] for r in rows] == [Decimal(x) for x in wanted]
    noted = [k for k, r in enumerate(rows) if r["notes"] == ["premium_taken_as_rate"]]
    assert noted == [1, 2, 3, 4]
    assert all(r["notes"] == [] for k, r in enumerate(rows) if k not in noted)


def test_premium_and_tax_told_beside_the_price_count_before_the_source() -> None:
    rows = read(
        {"price": "400", "premium": "100"},
        {"price": "400", "premium": "0"},
        {"price": "400"},
        of=source(price_type="hammer"),
    )
    assert [r["compared_amount"] for r in rows] == [500, 400, None]
    assert rows[2]["price_flags"] == ["basis_out_of_reach"]
    taxed = source(price_type="with_premium", premium=0.25, tax="included", tax_share=0.2)
    assert one({"price": "540", "tax": "40"}, of=taxed)["compared_amount"] == 500
    assert one({"price": "600"}, of=taxed)["compared_amount"] == 500
    seller = Settings(basis=BasisSettings(kind="seller"))
    of = source(price_type="with_premium", fees=0.15)
    net = one({"price": "500", "premium": "100"}, of=of, settings=seller)
    assert net["compared_amount"] == 340


def test_a_premium_over_a_hundred_per_cent(tmp_path: Path) -> None:
    row = one({"price": "400", "premium": "401"}, of=source(price_type="hammer"))
    assert (row["aside_reason"], row["aside_column"]) == ("premium_out_of_bounds", "premium")
    file = tmp_path / "source.toml"
    file.write_text(
        'name = "A"\nmarket = "auction"\ndate_order = "dmy"\n'
        '[price]\nprice_type = "hammer"\npremium = 1.2\n'
        '[columns]\nTitle = "title"\nSold = "sold"\nPrice = "price"\n'
    )
    with pytest.raises(SettingsError, match=r"price\.premium") as caught:
        load_source(file)
    assert "source.toml" in str(caught.value)


@pytest.mark.parametrize(
    ("row", "flag", "kind", "amount"),
    [
        ({"price": "45", "status": "unsold"}, "not_sold", "fixed", 45),
        ({"price": "", "status": "passed"}, "not_sold", "fixed", None),
        ({"price": "POA", "status": "withdrawn"}, "not_sold", "fixed", None),
        ({"price": "Unsold"}, "not_sold", "fixed", None),
        ({"price": "45", "price_type": "asking"}, "not_a_sale_price", "asking", 45),
        ({"price": "45", "price_type": "Asking price"}, "not_a_sale_price", "asking", 45),
        ({"price": "45", "price_type": "estimate"}, "not_a_sale_price", "estimate", 45),
        ({"price": "45", "price_type": "gavel"}, "not_a_sale_price", "unknown", 45),
        ({"price": "£45 o.n.o."}, "not_a_sale_price", "asking", 45),
        ({"price": "£45 ono", "price_type": "fixed"}, "not_a_sale_price", "asking", 45),
    ],
)
def test_an_offer_is_kept_and_flagged(
    row: dict[str, str], flag: str, kind: str, amount: int | None
) -> None:
    found = one(row)
    assert found["aside_reason"] is None
    assert flag in found["price_flags"]
    assert (found["price_type"], found["price_amount"]) == (kind, amount)


def test_a_source_whose_prices_are_unknown_feeds_no_band() -> None:
    found = one({"price": "45"}, of=source(price_type="unknown"))
    assert (found["price_flags"], found["compared_amount"]) == (["not_a_sale_price"], None)
    assert found["aside_reason"] is None


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ({"price": "100-150"}, "estimate_range"),
        ({"price": "POA"}, "price_on_request"),
        ({"price": "£60 £45"}, "two_amounts"),
        ({"price": "£45 / $60"}, "two_currencies"),
        ({"price": "£45", "currency": "USD"}, "two_currencies"),
        ({"price": "45", "currency": "shells"}, "currency_unclear"),
        ({"price": "0.00"}, "zero_amount"),
        ({"price": "-45"}, "negative_amount"),
        ({"price": ""}, "price_missing"),
        ({"price": "best offer accepted"}, "best_offer_hidden"),
    ],
)
def test_what_is_no_amount_is_set_aside(row: dict[str, str], reason: str) -> None:
    found = one(row)
    assert (found["aside_reason"], found["aside_column"]) == (reason, "price")
    assert found["compared_amount"] is None or reason == "two_currencies"


def test_a_struck_price_is_the_lower_one_that_was_paid() -> None:
    assert one({"price": "~~£60~~ £45"})["compared_amount"] == 45
    assert one({"price": "was £60 now £45"})["compared_amount"] == 45


def test_a_currency_column_may_hold_signs() -> None:
    rows = read(
        {"price": "45", "currency": "gbp"},
        {"price": "45", "currency": "£"},
        {"price": "45", "currency": "€"},
        {"price": "$45", "currency": "CAD"},
        {"price": "£45", "currency": "shells"},
        of=source(currency=""),
    )
    assert [r["currency"] for r in rows] == ["GBP", "GBP", "EUR", "CAD", "GBP"]
    assert [r["aside_reason"] for r in rows] == [None] * 5


def test_an_amount_beyond_every_bound_is_flagged() -> None:
    row = one(
        {"price": "JPY 99999999999999"}, settings=Settings(basis=BasisSettings(currency="JPY"))
    )
    assert row["price_flags"] == ["price_out_of_bounds"]
    grown = one(
        {"price": "£99999999999999"}, settings=Settings(basis=BasisSettings(currency="JPY"))
    )
    assert (grown["compared_amount"], grown["price_flags"]) == (None, ["price_out_of_bounds"])


def test_no_rate_is_flagged_and_the_price_stays_in_its_own_currency() -> None:
    row = one({"price": "US$45", "sold": "1950-01-15"})
    assert (row["price_flags"], row["lot_amount"]) == (["no_rate"], 45)
    assert row["compared_amount"] is None


# ------------------------------------------------------------------------------------------------
# The explanation is the table's own way

TIERED = [{"up_to": 1000, "share": 0.25}, {"share": 0.2}]
SOURCES = {
    "hammer in steps": {"price_type": "hammer", "premium": TIERED, "fees": 0.15},
    "tax included": {"price_type": "with_premium", "premium": 0.25, "tax": "included",
                     "tax_share": 0.2, "fees": {"share": 0.1, "fixed": 0.3}},
    "free shipping": {"price_type": "fixed", "premium": 0, "shipping": "free",
                      "shipping_allowance": 35, "fees": 0.1},
    "shipping inside": {"price_type": "fixed", "premium": 0, "shipping": "included",
                        "tax": "unknown", "fees": 0.1},
    "seller's net": {"price_type": "net_to_seller", "fees": {"share": 0.13, "fixed": 0.45}},
    "fees unknown": {"price_type": "hammer", "premium": TIERED},
}  # fmt: skip
TEXTS = [
    ("Oak chair", "$1,500.55"),
    ("Set of four chairs", "$1,501"),
    ("Set of four chairs", "$375.37 each"),
    ("Set of oak chairs", "$375.37 each"),
    ("Set of oak chairs", "$700"),
    ("Pair of brass candlesticks", "hammer £333.33"),
    ("Job lot of glass", "¥90000"),
    ("Oak chair", "£45 ono"),
    ("Oak chair", "20"),
]
EXTRAS: list[dict[str, str]] = [
    {},
    {"shipping": "£5.55", "premium": "12.34", "tax": "7"},
    {"status": "unsold", "quantity": "3"},
    {"sold": "1987-05-05", "currency": "USD"},
]
ROWS: list[dict[str, str]] = [
    {"title": title, "price": text, **EXTRAS[(k + step) % 4]}
    for step in (0, 1)
    for k, (title, text) in enumerate(TEXTS)
]


@pytest.mark.parametrize("terms", list(SOURCES))
@pytest.mark.parametrize("price_of", ["lot", "piece"])
@pytest.mark.parametrize("kind", ["buyer", "seller"])
def test_the_last_step_is_the_stored_price(terms: str, price_of: str, kind: str) -> None:
    of = source(price_of=price_of, currency="USD", **SOURCES[terms])
    settings = prove({"basis": {"kind": kind}}, Settings, "settings.toml")
    real = level(("2020-01", 100.0), ("2024-03", 131.7), ("2024-06", 133.3), base="2024-06")
    found = read(*ROWS, of=of, settings=settings, real=real)
    texts = landed(*ROWS).to_pylist()
    n_reached = 0
    for row, text in zip(found, texts, strict=True):
        if row["aside_reason"]:
            continue
        sale = {**text, **row, "listing_id": text["listing_id_text"]}
        way = price_way(sale, of, settings, RATES, real)
        amounts = {step.name: step.amount for step in way}
        real_terms = amounts.pop("price_level", None)
        assert list(amounts.values())[-1] == row["compared_amount"], (text, way)
        assert real_terms == row["real_amount"], (text, way)
        assert all(step.sentence for step in way)
        n_reached += row["compared_amount"] is not None
    assert n_reached or (kind, terms) == ("seller", "fees unknown")


def test_the_steps_of_a_hammer_price_in_another_currency() -> None:
    of = source(currency="USD", **SOURCES["hammer in steps"])
    text = {"title": "Set of four chairs", "price": "$375 each", "sold": "2020-01-04"}
    row = one(text, of=of)
    way = price_way(
        {**landed(text).to_pylist()[0], **row, "listing_id": None}, of, Settings(),
        RATES,
    )  # fmt: skip
    assert [(s.name, s.amount) for s in way[:5]] == [
        ("text", None), ("amount", 375), ("pieces", 1500), ("premium", 1850), ("basis", 1850),
    ]  # fmt: skip
    # The sale was on a Saturday; CurrencyConverter's rate of the Friday before is the check.
    friday = CurrencyConverter().convert(1850, "USD", "GBP", date=dt.date(2020, 1, 3))
    assert float(way[5].amount or 0) == pytest.approx(friday, abs=6e-5)
    assert "2020-01-03" in way[5].sentence
    assert [s.amount for s in way][-1] == row["compared_amount"]


def test_pricing_takes_slices_of_any_length() -> None:
    assert (
        price(LANDED.empty_table(), PriceReader(source(), RATES, Settings(), NEWEST)).num_rows == 0
    )


WHOLE = SHOP + '"Qty" = "quantity"\n"Status" = "status"\n"Premium" = "premium"\n'
LINES = """\
Id,Title,Kind,State,Sold,Price,Qty,Status,Premium
1,Oak chair,chair,good,1999-12-05,£100,1,sold,
2,Oak chair,chair,good,2024-03-05,£60 each,1,sold,
3,Oak chair,chair,good,2024-03-06,£45 / $60,1,sold,
4,Oak chair,chair,good,2024-03-06,£45,0,sold,
5,Oak chair,chair,good,2024-03-06,£45,1000000,sold,
6,Oak chair,chair,good,2024-03-06,100-150,1,sold,
7,Oak chair,chair,good,2024-03-06,POA,1,sold,
8,Oak chair,chair,good,2024-03-06,£45,1,unsold,
9,Oak chair,chair,good,2024-03-06,£45 ono,1,sold,
10,Oak chair,chair,good,2024-03-06,hammer £45,1,sold,£46
"""


def test_a_refresh_loses_no_row_and_explains_by_its_index(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": LINES, "source.toml": WHOLE}})
    decisions = ws / "data" / "decisions"
    decisions.mkdir()
    (decisions / "price_index.csv").write_text(
        "month,index,name\n2000-01,100,household goods\n2024-03,150,household goods\n"
        "2024-06,180,household goods\n"
    )
    refresh(ws)
    with pipeline.connect(ws) as con:
        sales = con.execute(
            "SELECT listing_id, compared_amount, real_amount, real_reason, notes FROM sales "
            "ORDER BY listing_id"
        ).fetchall()
        gone = con.execute(
            "SELECT line_number, reason FROM set_aside WHERE stage = 'price' ORDER BY line_number"
        ).fetchall()
        fed = con.execute("SELECT listing_id FROM sales WHERE is_comparable").fetchall()
        told = json.loads(str(con.execute("SELECT settings FROM refreshes").fetchall()[0][0]))
    assert gone == [
        (4, "two_currencies"), (5, "quantity_out_of_bounds"), (6, "quantity_out_of_bounds"),
        (7, "estimate_range"), (8, "price_on_request"), (11, "premium_out_of_bounds"),
    ]  # fmt: skip
    assert fed == [("2",)]
    assert [s[0] for s in sales] == ["1", "2", "8", "9"]
    assert sales[:2] == [
        ("1", Decimal(100), Decimal(100), "before_index", []),
        ("2", Decimal(60), Decimal(72), None, ["price_each"]),
    ]
    assert told["basis"]["price_index"] == "own"
    assert told["basis"]["price_index_name"] == "household goods"
    assert told["basis"]["base_month"] == "2024-06"
    steps = explain(Workspace.at(ws), "shop:2").price_steps
    assert ("what bands compare", "60.0000 GBP") in steps
    assert ("note", reasons.NOTES["price_each"]) in steps
    assert any(n == "in real terms" and "household goods: 72.00 GBP" in t for n, t in steps)
    assert not any("have changed since" in t for _, t in steps)
