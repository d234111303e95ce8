"""Sales told twice, offered again and sold again, on small tables made by hand."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

import duckdb
import pyarrow as pa
import pytest

from pipeline.linking.decisions import SCHEMA
from pipeline.settings import LinkSettings
from pipeline.stages.link import link_sales

TEXTS = ("description", "category", "material", "period", "attribution", "maker", "size", "shipping",
         "premium", "place", "url", "condition", "price")  # fmt: skip
WOODS = ("oak", "walnut", "mahogany", "elm", "pine")
KINDS = ("mantel clock", "table lamp", "writing box", "side table", "wall mirror")
EXTRAS = ("with brass handles", "on bracket feet", "with painted panel", "with inlaid shell",
          "by Ambrose Tew", "with ivory knobs", "in need of repair", "signed under the lid")  # fmt: skip

Row = dict[str, Any]


def row(title: str, **given: Any) -> Row:
    """A sold piece in an online shop that numbers its listings."""
    made: Row = {
        "source": "stall", "file": "f1", "number": None, "category": "writing-box",
        "day": "2024-03-01", "price": "100", "currency": "GBP", "sold": True,
        "condition": None, "lot": "single", "pieces": 1, "title": title, "description": None,
    }  # fmt: skip
    return made | given


def crowd(n: int, seed: int = 1) -> list[Row]:
    """n unlike sales: the background against which likeness is weighed."""
    draw = random.Random(seed)
    start = dt.date(2022, 1, 1)
    return [
        row(
            f"{draw.choice(WOODS)} {kind}, {draw.choice(EXTRAS)}, {draw.choice(EXTRAS)}",
            number=f"c{k}", source=draw.choice(("stall", "rooms")), category=kind.replace(" ", "-"),
            day=(start + dt.timedelta(draw.randrange(1_400))).isoformat(),
            price=f"{draw.randrange(2_000, 60_000) / 100:.2f}",
        )
        for k, kind in enumerate(draw.choices(KINDS, k=n))
    ]  # fmt: skip


def linked(
    rows: list[Row],
    said: list[tuple[str, str, str]] = (),
    **knobs: Any,  # type: ignore[assignment]
) -> dict[str, Any]:
    """Links by sale_id: dropped (other -> kept), pieces {(earlier, later): reason}, review, rules."""
    with duckdb.connect() as con:
        table = pa.Table.from_pylist(
            [
                {
                    "row_key": k, "source_id": r["source"], "file_id": r["file"],
                    "listing_id": r["number"],
                    "sale_id": f"{r['source']}:{r['number'] or '~' + r['title'] + r['file']}",
                    "category_id": r["category"], "sold_on": dt.date.fromisoformat(r["day"]),
                    "price_flags": [] if r["sold"] else ["not_sold"], "title_text": r["title"],
                    "amount": r["price"], "currency": r["currency"], "lot_kind": r["lot"],
                    "n_pieces": r["pieces"], "description_text": r["description"],
                    "condition_text": r["condition"], "price_text": r["price"],
                    "condition": r.get("grade", "unknown"),
                    "measures": list((r.get("measures") or {}).items()) or None,
                }
                for k, r in enumerate(rows)
            ],
            schema=pa.schema(
                [("row_key", pa.int64()), *((c, pa.string()) for c in (
                    "source_id", "file_id", "listing_id", "sale_id", "category_id")),
                 ("sold_on", pa.date32()), ("price_flags", pa.list_(pa.string())),
                 *((c, pa.string()) for c in ("title_text", "amount", "currency", "lot_kind")),
                 ("n_pieces", pa.int32()), ("description_text", pa.string()),
                 ("condition_text", pa.string()), ("condition", pa.string()), ("price_text", pa.string()),
                 ("measures", pa.map_(pa.string(), pa.float64()))]
            ),
        )  # fmt: skip
        con.register("given", table)
        there = set(table.column_names)
        nulls = ", ".join(f'NULL::VARCHAR AS "{c}_text"' for c in TEXTS if f"{c}_text" not in there)
        con.execute(
            "CREATE TABLE rows AS SELECT * EXCLUDE (amount), amount::DECIMAL(18, 4) AS lot_amount, "
            "amount::DECIMAL(18, 4) AS price_amount, amount::DECIMAL(18, 4) AS basis_amount, "
            "1.0::DOUBLE AS rate, NULL::VARCHAR AS aside_reason, NULL::VARCHAR AS material_id, "
            "NULL::VARCHAR AS maker_id, 'unknown' AS attribution, NULL::INTEGER AS made_from_year, "
            "NULL::INTEGER AS made_to_year, NULL::MAP(VARCHAR, VARCHAR) AS other_cells, "
            f"{nulls} FROM given"
        )
        con.execute(
            "CREATE TABLE dropped (row_key BIGINT, kept_key BIGINT, reason VARCHAR, score DOUBLE)"
        )
        con.execute("CREATE TABLE parted_rows (row_key BIGINT, side UBIGINT)")
        decisions = pa.Table.from_pylist(
            [dict(zip(("sale_id", "other_sale_id", "link"), one, strict=True)) for one in said],
            schema=SCHEMA,
        )
        link_sales(con, decisions, LinkSettings(**knobs))
        name = "(SELECT row_key, sale_id FROM rows)"
        return {
            "dropped": dict(con.execute(
                f"SELECT x.sale_id, y.sale_id FROM dropped AS d JOIN {name} AS x USING (row_key) "
                f"JOIN {name} AS y ON y.row_key = d.kept_key").fetchall()),
            "pieces": {(a, b): reason for a, b, reason in con.execute(
                f"SELECT x.sale_id, y.sale_id, d.reason FROM piece_links AS d "
                f"JOIN {name} AS x USING (row_key) JOIN {name} AS y ON y.row_key = d.kept_key"
            ).fetchall()},
            "review": con.execute("FROM link_review").fetchall(),
            "rules": {r[0]: r[1:] for r in con.execute("FROM link_rules").fetchall()},
        }  # fmt: skip


FACTS = "coromandel writing box, fitted tray, brass plate engraved H. Quillfeather 1843"


def test_one_event_told_by_two_sources_in_other_words() -> None:
    rows = crowd(400)
    rows.append(row(f"A Victorian {FACTS}", number="1", source="rooms", price="320.00"))
    rows.append(row(f"ANTIQUE {FACTS.upper()} RARE", number="9", source="stall", price="320.00",
                    day="2024-03-02"))  # fmt: skip
    assert linked(rows)["dropped"] == {"stall:9": "rooms:1"}


def test_a_source_that_numbers_its_listings_tells_each_once() -> None:
    """Two numbers, one day, one price, one title: two of a kind, not one sale."""
    rows = [*crowd(400), row(FACTS, number="1"), row(FACTS, number="2")]
    found = linked(rows)
    assert found["dropped"] == {}
    assert found["pieces"] == {}


def test_a_row_without_a_number_that_was_typed_again() -> None:
    rows = crowd(400)
    rows += [row(FACTS, source="ledger", file="a", price="85"),
             row(f"{FACTS}.", source="ledger", file="b", price="85", description="see above")]  # fmt: skip
    found = linked(rows)["dropped"]
    assert list(found) == [f"ledger:~{FACTS}a"]  # the fuller row stays


def test_an_offer_that_did_not_sell_and_the_later_sale() -> None:
    rows = crowd(400)
    rows += [row(FACTS, number="1", sold=False, price="120", condition="Good, one old chip."),
             row(FACTS, number="2", price="95", day="2024-04-10", condition="Good, one old chip.")]  # fmt: skip
    found = linked(rows)
    assert found["pieces"] == {("stall:1", "stall:2"): "relisted"}
    assert found["dropped"] == {}


def test_a_piece_that_was_sold_again_and_a_third_time() -> None:
    rows = crowd(400)
    rows += [row(FACTS, number=str(k), price=price, day=day) for k, (price, day) in enumerate(
        [("200", "2022-03-01"), ("240", "2023-05-01"), ("260", "2024-08-01")])]  # fmt: skip
    assert linked(rows)["pieces"] == {
        ("stall:0", "stall:1"): "resale", ("stall:1", "stall:2"): "resale",
    }  # fmt: skip


def test_two_of_a_common_kind_are_no_resale() -> None:
    rows = crowd(400)
    plain = "oak mantel clock, with brass handles, on bracket feet"
    rows += [row(plain, number="1", category="mantel-clock", day="2022-03-01"),
             row(plain, number="2", category="mantel-clock", day="2024-03-01")]  # fmt: skip
    assert ("stall:1", "stall:2") not in linked(rows)["pieces"]


@pytest.mark.parametrize(
    "change",
    [{"pieces": 4, "lot": "set"}, {"measures": {"height_cm": 55.0}}, {"price": "90000"},
     {"lot": "bulk"}],
)  # fmt: skip
def test_what_cannot_be_the_same_piece_is_not(change: Row) -> None:
    rows = crowd(400)
    like = {"measures": {"height_cm": 30.0}} if "measures" in change else {}
    rows += [row(f"{FACTS} one", number="1", day="2022-03-01", **like),
             row(f"{FACTS} two", number="2", day="2024-03-01") | change]  # fmt: skip
    assert linked(rows)["pieces"] == {}


def test_ten_thousand_listings_with_one_title() -> None:
    """The block is capped, what it skips is told, and equal rows in it are still found."""
    draw = random.Random(3)
    title = "set of vintage drinking glasses"
    rows = [
        row(title, number=f"n{k}", source=("stall", "rooms")[k % 2], category="glass",
            price=f"{draw.randrange(100, 100_000) / 100:.2f}",
            day=(dt.date(2020, 1, 1) + dt.timedelta(draw.randrange(2_000))).isoformat())
        for k in range(10_000)
    ]  # fmt: skip
    rows += [row(title, number="twin1", source="rooms", category="glass", price="7777.77"),
             row(title, number="twin2", source="stall", category="glass", price="7777.77")]  # fmt: skip
    found = linked(rows)
    common = found["rules"]["the same words"][6]
    assert common == 10_002
    waiting = {(r[0], r[1]) for r in found["review"]}
    told = found["dropped"].items() | {(a, b) for a, b in waiting}
    assert ("stall:twin2", "rooms:twin1") in told or ("rooms:twin1", "stall:twin2") in told
    assert len(found["dropped"]) < 20


def test_the_order_of_rows_changes_nothing() -> None:
    rows = crowd(300)
    rows += [row(FACTS, number="1", source="rooms"), row(FACTS, number="2", source="stall"),
             row(FACTS, number="3", day="2024-09-01", price="130"),
             row(f"{FACTS} again", number="4", day="2024-02-01", sold=False)]  # fmt: skip
    first = linked(rows)
    random.Random(5).shuffle(rows)
    second = linked(rows)
    assert first == second
    assert first["dropped"]


def test_linking_what_was_linked_finds_nothing_new() -> None:
    rows = [*crowd(300), row(FACTS, number="1", source="rooms"), row(FACTS, number="2")]
    gone = linked(rows)["dropped"]
    assert gone
    kept = [r for r in rows if f"{r['source']}:{r['number']}" not in gone]
    assert linked(kept)["dropped"] == {}


def test_people_decide() -> None:
    rows = crowd(400)
    rows += [row(FACTS, number="1", source="rooms"), row(FACTS, number="2", source="stall"),
             row("a plain box", number="3"), row("another box altogether", number="4", day="2024-09-09")]  # fmt: skip
    said = [("rooms:1", "stall:2", "different"), ("stall:3", "stall:4", "same")]
    found = linked(rows, said)
    assert found["dropped"] == {}
    assert found["pieces"] == {("stall:3", "stall:4"): "resale"}
    assert not {(r[0], r[1]) for r in found["review"]} & {
        ("rooms:1", "stall:2"),
        ("stall:2", "rooms:1"),
    }


def test_doubtful_pairs_wait_with_their_evidence() -> None:
    rows = [*crowd(400), row(FACTS, number="1", source="rooms"), row(FACTS, number="2")]
    found = linked(rows, accept_score=100.0, review_score=10.0)
    pairs = {frozenset(r[:2]): r for r in found["review"]}
    told = pairs[frozenset(("rooms:1", "stall:2"))]
    assert told[2] == "same_event"
    assert {"title", "price", "day", "odds before"} <= set(told[6])
    assert linked(rows, accept_score=100.0, review_score=10.0, review_rows=0)["review"] == []


def test_no_rows_and_one_row() -> None:
    assert linked([])["dropped"] == {}
    assert linked([row(FACTS)])["pieces"] == {}


def test_titles_that_are_missing_or_empty() -> None:
    rows = crowd(50)
    for k, title in enumerate(("", "...", None)):
        rows += [row("x", number=f"{k}a", source="rooms") | {"title": title, "price": "21.50"},
                 row("x", number=f"{k}b", source="stall") | {"title": title, "price": "47.25"}]  # fmt: skip
    assert linked(rows)["dropped"] == {}


@pytest.mark.parametrize(("graded", "is_piece"), [("good", True), ("poor", False)])
def test_other_words_of_one_grade_speak_for_a_resale_and_another_grade_against(
    graded: str, is_piece: bool
) -> None:
    """Fellegi and Sunter (1969): an agreement weighs as it is rare, and a disagreement is held
    against; that a piece is graded as before 7 times of 10 is common practice, no source."""
    background = [{**one, "grade": ("good", "fair", "poor")[k % 3]} for k, one in
                  enumerate(crowd(400))]  # fmt: skip
    title = "writing box, with brass handles, signed under the lid, Coromandel"
    first = row(f"oak {title}", number="a", condition="VGC for its age", grade="good")
    later = row(f"oak {title}", number="b", condition="no faults that we saw", grade=graded,
                day="2025-06-01", price="110")  # fmt: skip
    pieces = linked([*background, first, later], piece_score=75)["pieces"]
    assert (("stall:a", "stall:b") in pieces) is is_piece
