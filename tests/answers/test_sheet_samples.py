"""Real workbooks that source packages of the registries carry among their tests.

COMPARABLES_SHEET_SAMPLES names a folder with such packages as they are downloaded (.tar.gz or
.zip), for instance the source packages of ezodf, odfpy, pyexcel-ods3, pyexcel-xlsx and tablib.
"""

from __future__ import annotations

import io
import os
import tarfile
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from python_calamine import CalamineError, CalamineWorkbook

from pipeline.answers.sheet import ExtraSheet, FilledColumn, Link, fill_sheet, open_sheet
from pipeline.answers.sheet.cells import column_letters
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


def heading(path: Path) -> tuple[str, int, int] | None:
    """Sheet, row and column of the first text of a workbook, as python-calamine reads it."""
    for sheet, cells in sheet_values(path).items():
        for (row, column), value in cells.items():
            if isinstance(value, str):
                return sheet, row, column
    return None


def sample_kind(name: str, data: bytes, folder: Path) -> str:
    """What is to be expected of a workbook, told by another reader than ours.

    "filled": something stands below the first text; "bare": nothing does; "textless": no text;
    "unread": that reader gave up.
    """
    path = folder / ("sample" + Path(name).suffix)
    path.write_bytes(data)
    try:
        found = heading(path)
    except CalamineError:
        return "unread"
    if found is None:
        return "textless"
    sheet, row, column = found
    below = any(r > row and c == column for r, c in sheet_values(path)[sheet])
    return "filled" if below else "bare"


def sorted_samples() -> dict[str, list[tuple[str, bytes]]]:
    """The workbooks by what is expected of them."""
    kinds: dict[str, list[tuple[str, bytes]]] = {
        "filled": [], "bare": [], "textless": [], "unread": [],
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        for name, data in samples():
            kinds[sample_kind(name, data, Path(folder))].append((name, data))
    return kinds


SAMPLES = sorted_samples()


def shown(value: object) -> str:
    return value if isinstance(value, str) else ""


def test_most_workbooks_with_text_are_filled() -> None:
    assert len(SAMPLES["filled"]) > len(SAMPLES["bare"])
    assert SAMPLES["textless"], "no sample shows what a sheet of numbers is answered"


@pytest.mark.parametrize(("name", "data"), SAMPLES["bare"] + SAMPLES["textless"], ids=shown)
def test_a_workbook_without_pieces_is_refused(name: str, data: bytes, tmp_path: Path) -> None:
    source = tmp_path / ("source" + Path(name).suffix)
    source.write_bytes(data)
    found = heading(source)
    if found is None:
        columns, sheet = {"description": "A"}, None
        expected = r"no row looks like a header"
        if name.endswith("unknown_value_type.ods"):  # we take that cell's text; calamine drops it
            expected = r"there is nothing to fill"
    else:
        columns, sheet = {"description": column_letters(found[2])}, found[0]
        expected = r"there is nothing to fill: no row under the header describes a piece"
    with pytest.raises(SheetError, match=expected):
        open_sheet(source, columns, sheet)
    assert source.read_bytes() == data


@pytest.mark.parametrize(("name", "data"), SAMPLES["unread"], ids=shown)
def test_a_workbook_that_another_reader_gives_up_on_is_refused(
    name: str, data: bytes, tmp_path: Path
) -> None:
    source = tmp_path / ("source" + Path(name).suffix)
    source.write_bytes(data)
    with pytest.raises(SheetError, match=r"there is nothing to fill|no row looks like a header"):
        open_sheet(source, {"description": "A"})
    assert source.read_bytes() == data


@pytest.mark.parametrize(("name", "data"), SAMPLES["filled"], ids=shown)
def test_a_real_workbook_keeps_all_that_it_held(name: str, data: bytes, tmp_path: Path) -> None:
    source = tmp_path / ("source" + Path(name).suffix)
    source.write_bytes(data)
    target = tmp_path / ("filled" + source.suffix)
    found = heading(source)
    assert found is not None
    sheet, _, column = found
    reader = open_sheet(source, {"description": column_letters(column)}, sheet)
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
