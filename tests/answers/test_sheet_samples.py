"""Real workbooks that source packages of the registries carry among their tests.

COMPARABLES_SHEET_SAMPLES names a folder with such packages as they are downloaded (.tar.gz or
.zip), for instance the source packages of ezodf, odfpy, pyexcel-ods3, pyexcel-xlsx and tablib.
"""

from __future__ import annotations

import io
import os
import tarfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.answers.sheet import ExtraSheet, FilledColumn, Link, fill_sheet, open_sheet
from pipeline.answers.sheet.archive import Archive
from pipeline.answers.sheet.cells import column_letters
from pipeline.answers.sheet.reader import open_book
from pipeline.errors import SheetError

FOLDER = os.environ.get("COMPARABLES_SHEET_SAMPLES", "")
pytestmark = pytest.mark.skipif(
    not FOLDER, reason="COMPARABLES_SHEET_SAMPLES names no folder of source packages"
)
ENDINGS = (".xlsx", ".xlsm", ".ods")


def samples() -> Iterator[tuple[str, bytes]]:
    """Name and bytes of every workbook in the packages of the folder."""
    if not FOLDER:
        return
    for package in sorted(Path(FOLDER).iterdir()):
        if package.name.endswith((".tar.gz", ".tgz")):
            with tarfile.open(package) as tar:
                for member in tar:
                    file = tar.extractfile(member) if member.isfile() else None
                    if file is not None and member.name.lower().endswith(ENDINGS):
                        yield member.name, file.read()
        elif package.suffix in (".zip", ".whl"):
            with zipfile.ZipFile(io.BytesIO(package.read_bytes())) as archive:
                for name in archive.namelist():
                    if name.lower().endswith(ENDINGS):
                        yield name, archive.read(name)


def sheet_values(path: Path) -> dict[str, dict[tuple[int, int], object]]:
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_path(path)
    return {
        name: {
            (r, c): value
            for r, row in enumerate(
                book.get_sheet_by_name(name).to_python(skip_empty_area=False), start=1
            )
            for c, value in enumerate(row, start=1)
            if value != ""
        }
        for name in book.sheet_names
    }


@pytest.mark.parametrize(
    ("name", "data"), list(samples()), ids=lambda v: v if isinstance(v, str) else ""
)
def test_a_real_workbook_keeps_all_that_it_held(name: str, data: bytes, tmp_path: Path) -> None:
    source = tmp_path / ("source" + Path(name).suffix)
    source.write_bytes(data)
    target = tmp_path / ("filled" + source.suffix)
    try:
        with Archive(source) as archive:
            book = open_book(archive)
            found = next(
                (
                    (entry.name, cell.column)
                    for entry in book.sheets
                    for _, cells in book.rows(entry.name)
                    for cell in cells
                    if cell.kind == "text"
                ),
                None,
            )
        if found is None:
            return  # the workbook holds no text to stand for a header
        sheet, column = found
        reader = open_sheet(source, {"description": column_letters(column)}, sheet)
    except SheetError as error:
        assert error.what  # a refusal that says why is an answer too
        return
    n = reader.items.num_rows
    columns = [
        FilledColumn("v", "value", [1.25] * n, number_format="money"),
        FilledColumn("w", "twice", [2.5] * n, formula="{v}*2", number_format="money"),
        FilledColumn("t", "why", ["=so"] * n, links=[Link("", "notes")] * n),
    ]
    result = fill_sheet(reader, target, columns, [ExtraSheet("notes", [["Notes"]])])
    before, after = sheet_values(source), sheet_values(target)
    assert list(after)[: len(before)] == list(before)
    for other, cells in before.items():
        kept = {place: after[other].get(place) for place in cells}
        assert kept == cells, other
    added = len(after[sheet]) - len(before[sheet])
    assert added == 3 * n + 3
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target) as new:
        assert new.testzip() is None
        changed = {
            part for part in old.namelist()
            if part not in new.namelist() or old.read(part) != new.read(part)
        }  # fmt: skip
    assert len(changed) <= (1 if source.suffix == ".ods" else 5), changed
    again = open_sheet(target, {"description": column_letters(column)}, sheet,
                       our_headers=[c.header for c in columns])  # fmt: skip
    assert len(again.ours) == 3 and again.items.num_rows == n
    assert set(result.columns.values()) == {column_letters(c) for c in again.ours.values()}
