"""One export read whole: every line is a row, the header, set aside or inside a cell."""

from __future__ import annotations

import csv
import gzip
import io
import zipfile
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.errors import ExportError
from pipeline.exports.reader import ExportReader
from pipeline.exports.source import Source
from pipeline.stages.ingest import land, rows_that_are_none

SHOP = Source.model_validate(
    {
        "name": "shop", "market": "online", "date_order": "ymd",
        "columns": {"Title": "title", "Price": "price", "Sold": "sold"},
    }
)  # fmt: skip


def read(path: Path, source: Source = SHOP) -> tuple[ExportReader, pa.Table]:
    reader = ExportReader(path, source, path.name, 10**9)
    for records_of_pass in reader.passes():
        tables = []
        for records in records_of_pass:
            rows, reasons = rows_that_are_none(records.cells, source)
            if rows:
                reader.set_rows_aside(records, np.array(rows), reasons)
            keep = np.setdiff1d(np.arange(records.cells.num_rows), np.array(rows, dtype=int))
            cells = records.cells.take(pa.array(keep))
            tables.append(land(cells, records.line_number[keep], source, "f"))
    return reader, pa.concat_tables(tables)


def reasons(reader: ExportReader) -> dict[int, str]:
    return dict(zip(reader.aside.line_number, reader.aside.reason, strict=True))


MESSY = """My shop export
generated 2026
Id,Title,Desc,Price,Sold,H
1,Oak chair,"nice, old
two lines",12.00,2024-01-01,3
2,"Mirror,x,13.00,2024-01-02,4
3,12" globe,y,14.00,2024-01-03,5
4,ok,z,15.00,2024-01-04,6
5,short
6,too,many,1,2024-01-01,6,7

Id,Title,Desc,Price,Sold,H
7,"Mirror,x,13.00,2024-01-02,4
8,fine,"a ""q"" b",16.00,2024-01-05,7
9,b\xe9d,x,1,2024-01-01,3
Total,,,99,,
"""


def test_a_messy_file_balances_and_every_line_is_accounted_for(tmp_path: Path) -> None:
    path = tmp_path / "messy.csv"
    path.write_bytes(MESSY.encode("latin-1"))
    reader, rows = read(path)
    assert reader.encoding == "cp1252"
    assert reader.balance.holds
    assert reader.balance.n_lines == MESSY.count("\n")
    assert rows["line_number"].to_pylist() == [4, 7, 8, 14, 15]
    assert rows["title_text"].to_pylist() == ["Oak chair", '12" globe', "ok", "fine", "b\xe9d"]
    assert reasons(reader) == {
        6: "stray_quote", 9: "too_few_cells", 10: "too_many_cells", 11: "blank_line",
        12: "repeated_header", 13: "stray_quote", 16: "total_line",
    }  # fmt: skip


def test_a_stray_mark_does_not_swallow_the_rest_of_the_file(tmp_path: Path) -> None:
    lines = [f"{k},Chair {k},{k}.50,2024-01-01" for k in range(20_000)]
    lines[700] = '700,"Chair 700,700.50,2024-01-01'
    lines[15_000] = '15000,Mirror 12",1.00,2024-01-01'
    path = tmp_path / "a.csv"
    path.write_text("Id,Title,Price,Sold\n" + "\n".join(lines))
    reader, rows = read(path)
    assert reader.balance.holds
    assert rows.num_rows == 19_999
    assert reasons(reader) == {702: "stray_quote"}


def test_a_mark_that_is_never_closed(tmp_path: Path) -> None:
    lines = [f"{k},Chair {k},{k}.50,2024-01-01" for k in range(3_000)]
    lines[2_000] = '2000,"Chair,1.00,2024-01-01'
    path = tmp_path / "a.csv"
    path.write_text("Id,Title,Price,Sold\n" + "\n".join(lines))
    reader, rows = read(path)
    assert rows.num_rows == 2_999
    assert reasons(reader) == {2_002: "stray_quote"}


@pytest.mark.parametrize(
    ("encoding", "seen"),
    [("utf-8", "utf-8"), ("utf-8-sig", "utf-8-sig"), ("cp1252", "cp1252"),
     ("utf-16", "utf-16"), ("utf-16-le", "utf-16-le"), ("utf-16-be", "utf-16-be")],
)  # fmt: skip
def test_encodings(tmp_path: Path, encoding: str, seen: str) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes("Title,Price,Sold\nFauteuil doré,1 €,2024-01-01\n".encode(encoding))
    reader, rows = read(path)
    assert reader.encoding == seen
    assert rows["title_text"].to_pylist() == ["Fauteuil doré"]
    assert reader.balance.holds


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_and_line_ends(tmp_path: Path, delimiter: str, line_end: str) -> None:
    rows = [["Title", "Price", "Sold"], ["a chair", "1", "2024-01-01"], ["b", "2", "2024-01-02"]]
    path = tmp_path / "a.csv"
    path.write_bytes(line_end.join(delimiter.join(r) for r in rows).encode())
    reader, landed = read(path)
    assert reader.balance.n_lines == 3
    assert reader.balance.holds
    assert landed["price_text"].to_pylist() == ["1", "2"]


def test_packed(tmp_path: Path) -> None:
    text = b"Title,Price,Sold\nchair,1,2024-01-01\n"
    with gzip.open(tmp_path / "a.csv.gz", "wb") as stream:
        stream.write(text)
    with zipfile.ZipFile(tmp_path / "a.csv.zip", "w") as packed:
        packed.writestr("inside.csv", text)
    for name in ("a.csv.gz", "a.csv.zip"):
        assert read(tmp_path / name)[1]["title_text"].to_pylist() == ["chair"]


def _truncated_gzip(path: Path) -> Path:
    whole = gzip.compress(b"Title,Price,Sold\n" + b"chair,1,2024-01-01\n" * 5_000)
    target = path / "cut.csv.gz"
    target.write_bytes(whole[: len(whole) // 2])
    return target


def _two_members(path: Path) -> Path:
    target = path / "two.csv.zip"
    with zipfile.ZipFile(target, "w") as packed:
        packed.writestr("a.csv", "x")
        packed.writestr("b.csv", "y")
    return target


def _no_zip(path: Path) -> Path:
    target = path / "a.csv.zip"
    target.write_bytes(b"this is no zip")
    return target


def _empty(path: Path) -> Path:
    target = path / "empty.csv"
    target.write_bytes(b"")
    return target


def _nul_bytes(path: Path) -> Path:
    target = path / "nul.csv"
    target.write_bytes(b"Title,Price\x00,Sold\nabc,de\x00f,g\n" * 3)
    return target


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (_truncated_gzip, "cut short"),
        (_two_members, "holds 2 files"),
        (_no_zip, "damaged or is none"),
        (_empty, "is empty"),
        (_nul_bytes, "NUL bytes"),
    ],
)
def test_what_is_no_export_is_named(tmp_path: Path, make: object, message: str) -> None:
    path = make(tmp_path)  # type: ignore[operator]
    with pytest.raises(ExportError, match=message):
        read(path)


def test_a_packed_file_that_unpacks_without_end(tmp_path: Path) -> None:
    path = tmp_path / "bomb.csv.gz"
    path.write_bytes(gzip.compress(b"Title,Price,Sold\n" + b"0" * 5_000_000))
    with pytest.raises(ExportError, match="unpacks to more"):
        ExportReader(path, SHOP, "bomb", 1_000_000)


def test_undecodable_lines_are_set_aside_and_the_rest_is_read(tmp_path: Path) -> None:
    good = ["Cr\u00eape,1,2024-01-01".encode()] * 3
    path = tmp_path / "a.csv"
    path.write_bytes(b"\n".join([b"Title,Price,Sold", *good, b"br\xff\xfeken,2,2024-01-02", *good]))
    reader, rows = read(path)
    assert reader.encoding == "utf-8"
    assert reasons(reader) == {5: "undecodable"}
    assert rows["line_number"].to_pylist() == [2, 3, 4, 6, 7, 8]
    assert reader.balance.holds


CELL = st.text(
    st.characters(codec="utf-8", exclude_characters="\r\x00\ufeff", exclude_categories=("Cs",)),
    max_size=12,
)


@given(
    rows=st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=12),
    delimiter=st.sampled_from([",", ";", "\t", "|"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
@settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_what_the_csv_module_writes_comes_back(
    tmp_path: Path, rows: list[tuple[str, str, str]], delimiter: str, quoting: int
) -> None:
    """Python's csv module is the reference; every cell comes back, and the lines balance."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator="\n")
    writer.writerow(["Id", "Title", "Note", "Price", "Sold"])
    for k, (title, note, price) in enumerate(rows):
        writer.writerow([k, f"t{title}", note, f"1{price}", "2024-01-01"])
    path = tmp_path / "a.csv"
    path.write_bytes(out.getvalue().encode())
    reader = ExportReader(path, SHOP, "a.csv", 10**9)
    for records_of_pass in reader.passes():
        cells = [c.cells for c in records_of_pass]
    assert reader.balance.holds
    got = pa.Table.from_batches(cells)
    assert len(reader.aside) == 0
    assert got["Title"].to_pylist() == [f"t{t}" for t, _, _ in rows]
    assert got["Note"].to_pylist() == [n for _, n, _ in rows]
    assert got["Price"].to_pylist() == [f"1{p}" for _, _, p in rows]
