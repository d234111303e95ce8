"""The demo is what its generator makes, is whole, and names nobody who exists."""

from __future__ import annotations

import csv
import gzip
import io
import re
from collections import Counter
from pathlib import Path

import pytest

from tests.demo import generate, words
from tests.demo.compare import DEMO, TRUTH, read_truth
from tests.demo.files import HEADERS, PREAMBLE
from tests.demo.market import hammer_for, premium_on
from tests.demo.model import SOURCES, kinds

MOST_BYTES = 4_000_000
HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    generate.write(folder)
    return folder


@pytest.fixture(scope="module")
def rows() -> list[dict[str, str]]:
    return read_truth("rows")


def _bytes(path: Path) -> bytes:
    # how well a .gz is packed depends on the library; what is in it must not
    data = path.read_bytes()
    return gzip.decompress(data) if path.suffix == ".gz" else data


@pytest.mark.parametrize(("part", "committed"), [("demo", DEMO), ("truth", TRUTH)])
def test_generator_makes_the_committed_files(made: Path, part: str, committed: Path) -> None:
    new = sorted(p.relative_to(made / part) for p in (made / part).rglob("*") if p.is_file())
    old = sorted(p.relative_to(committed) for p in committed.rglob("*") if p.is_file())
    assert new == old
    differ = [str(p) for p in new if _bytes(made / part / p) != _bytes(committed / p)]
    assert differ == []


def test_exports_are_small_enough() -> None:
    assert sum(p.stat().st_size for p in DEMO.rglob("*") if p.is_file()) <= MOST_BYTES


def test_there_is_enough(rows: list[dict[str, str]]) -> None:
    sold = [r for r in rows if r["outcome"] == "sold" and not r["duplicate_of"]]
    assert len({r["event"] for r in sold}) >= 8_000
    assert len({r["category"] for r in sold}) >= 60
    assert len({k.trade for k in kinds()}) >= 25
    days = sorted(r["sold_on"] for r in sold)
    assert days[0] < "2022-11-10"
    assert days[-1] == "2026-10-25"
    whole = [r for r in sold if r["lot_kind"] == "single" and not r["part"]]
    cells = Counter((r["category"], r["condition"]) for r in whole if r["class"] == "period")
    grades = Counter(category for (category, grade), n in cells.items()
                     if n >= 6 and grade not in ("used", "unknown"))  # fmt: skip
    assert sum(n >= 4 for n in grades.values()) >= 30


def test_everything_is_planted(rows: list[dict[str, str]]) -> None:
    events = [r for r in rows if r["event"]]
    duplicates = Counter(r["duplicate_kind"] for r in rows)
    assert duplicates["same_listing"] >= 300
    assert duplicates["same_row"] >= 60
    assert duplicates["corrected_listing"] >= 40
    assert duplicates["same_event"] >= 70
    assert sum(bool(r["relisting_of"]) for r in rows) >= 300
    assert sum(bool(r["resale_of"]) for r in rows) >= 150
    assert sum(bool(r["wild_factor"]) for r in rows) >= 60
    assert 0.05 <= sum(bool(r["n_slips"]) for r in events) / len(events) <= 0.10
    assert {r["lot_kind"] for r in events} == {"single", "pair", "set", "bulk"}
    assert {r["part"] for r in events} == {"", "part", "empty_box"}
    assert {r["outcome"] for r in events} == {"sold", "unsold", "withdrawn", "asking", "poa"}
    assert {r["broken"] for r in rows} == {
        "", "too_few_cells", "stray_quote", "undecodable", "impossible_date", "future_date",
        "repeated_header", "blank", "total",
    }  # fmt: skip
    called = {c for r in events for c in r["cautions"].split("|") if c}
    assert called >= {"ivory", "tortoiseshell", "feathers", "radium", "wiring", "crib", "firearm"}
    assert sum(bool(r["false_alarm"]) for r in events) >= 80


def test_truth_has_every_line_of_every_file(rows: list[dict[str, str]]) -> None:
    """Each physical line is a header, begins a row of the truth, or lies within its cells."""
    for number, source in enumerate(SOURCES):
        encoding = ("utf-8-sig", "utf-8-sig", "cp1252")[number]
        for path in (DEMO / "raw" / source).glob("*.csv*"):
            text = _bytes(path).decode(encoding, errors="replace")
            n_lines = len(text.splitlines())
            mine = [r for r in rows if r["source"] == source and r["file"] == path.name]
            head = 1 + (len(PREAMBLE) if number == 0 else 0)
            # a line break inside a cell is the only line that begins no row
            inside = n_lines - head - len(mine)
            starts = {int(r["line"]) for r in mine}
            assert len(starts) == len(mine)
            assert max(starts) <= n_lines
            assert min(starts) == head + 1
            assert 0 <= inside <= (20 if number == 0 else 0)


def test_lines_of_the_truth_hold_their_listing(rows: list[dict[str, str]]) -> None:
    for source in SOURCES[:2]:
        for path in (DEMO / "raw" / source).glob("*.csv*"):
            lines = _bytes(path).decode("utf-8-sig", errors="replace").splitlines()
            for row in rows:
                if row["source"] == source and row["file"] == path.name and row["event"]:
                    assert lines[int(row["line"]) - 1].startswith(row["listing_id"] + ",")


def test_links_of_the_truth_lead_somewhere(rows: list[dict[str, str]]) -> None:
    by_key = {r["key"]: r for r in rows}
    for row in rows:
        for column in ("duplicate_of", "relisting_of", "resale_of"):
            if row[column]:
                assert by_key[row[column]]["event"], row["key"]
        if row["duplicate_of"]:
            assert by_key[row["duplicate_of"]]["event"] == row["event"]
        if row["relisting_of"]:
            before = by_key[row["relisting_of"]]
            assert before["outcome"] == "unsold"
            assert before["sold_on"] < row["sold_on"]
        if row["resale_of"]:
            assert by_key[row["resale_of"]]["sold_on"] < row["sold_on"]


def test_true_prices_follow_from_the_told_ones(rows: list[dict[str, str]]) -> None:
    """Hammer price and premium in steps; what is told by mistake differs by its factor."""
    for row in rows:
        if row["source"] != "pellow-wrake" or row["outcome"] != "sold" or row["wild_factor"]:
            continue
        hammer = float(row["price_told"])
        premium = 0.28 * min(hammer, 2000) + 0.22 * max(hammer - 2000, 0)
        assert float(row["basis_gbp"]) == pytest.approx(hammer + premium, abs=0.006)


@pytest.mark.parametrize("price", [12.0, 64.0, 240.0, 1500.0, 2560.0, 9000.0])
def test_hammer_price_undoes_the_premium(price: float) -> None:
    hammer = hammer_for(price)
    assert hammer + premium_on(hammer) == pytest.approx(price, rel=0.08)


def test_the_round_has_forty_pieces() -> None:
    text = (DEMO / "round.csv").read_text(encoding="utf-8")
    pieces = list(csv.DictReader(io.StringIO(text)))
    assert [p["tag"] for p in pieces] == [str(n) for n in range(1, 41)]
    assert all(p["what it is"] and p["asking"] for p in pieces)


def test_headers_are_those_of_the_files() -> None:
    for number, source in enumerate(SOURCES):
        delimiter = ";" if number == 2 else ","
        for path in (DEMO / "raw" / source).glob("*.csv*"):
            lines = _bytes(path).decode("utf-8-sig", errors="replace").splitlines()
            at = len(PREAMBLE) if number == 0 else 0
            assert tuple(lines[at].split(delimiter)) == HEADERS[number]


def _invented() -> set[str]:
    lines = (HERE / "invented_names.txt").read_text(encoding="utf-8").splitlines()
    return {line.strip() for line in lines if line.strip() and not line.startswith("#")}


def test_every_name_is_on_the_list_of_invented_ones() -> None:
    names = {m for found in words.MAKERS.values() for m in found}
    names |= set(words.TOWNS) | set(words.SELLERS) | {words.MARKET}
    names |= {part.strip() for told in (words.HOUSE, words.SHOP) for part in told.split(",")}
    assert names - _invented() == set()


def test_word_lists_name_nobody() -> None:
    """Words with a capital in the catalogue's nouns and features are kinds of things."""
    usual = {"Windsor", "Pembroke", "Toby", "Bible", "Roman", "QWERTZ"}
    told = [t for k in kinds() for t in (*k.nouns, *k.features)]
    found = {w for t in told for w in re.findall(r"\b[A-Z][\w-]*", t)}
    assert found - usual == set()
