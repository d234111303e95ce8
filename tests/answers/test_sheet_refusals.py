"""What cannot be read or written: a clear message, the source untouched, no half file."""

from __future__ import annotations

import errno
import os
import resource
import signal
import struct
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from pipeline.answers.sheet import FilledColumn, fill_sheet, new_sheet, open_sheet, output
from pipeline.answers.sheet.archive import ENCRYPTED_MARK, OLE_START, climbs_out
from pipeline.errors import SheetError
from tests.answers.sheets import make

SHEET = "xl/worksheets/sheet1.xml"


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    return make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["stool", 5]])


def refuses(path: Path, message: str) -> SheetError:
    with pytest.raises(SheetError, match=message) as caught:
        open_sheet(path)
    assert caught.value.where and path.name in caught.value.where
    return caught.value


def test_password_protected_workbooks(tmp_path: Path) -> None:
    # MS-OFFCRYPTO 1.3: an encrypted package is an OLE container with a stream EncryptedPackage.
    locked = tmp_path / "locked.xlsx"
    locked.write_bytes(OLE_START + b"\x00" * 1024 + ENCRYPTED_MARK + b"\x00" * 512)
    refuses(locked, "protected with a password")
    # OpenDocument 1.2 part 3, 4.8.2: an entry with encryption-data is encrypted.
    entry = '<manifest:encryption-data manifest:checksum-type="SHA1/1K"/>'
    refuses(make.ods(tmp_path / "locked.ods", "<table:table/>", entry), "protected with a password")


def test_old_binary_and_foreign_files(tmp_path: Path) -> None:
    old = tmp_path / "old.xls"
    old.write_bytes(OLE_START + b"\x00" * 2048)
    assert "save it as .xlsx" in str(refuses(old, r"old binary \.xls"))
    named = tmp_path / "old.csv"
    named.write_bytes(OLE_START + b"\x00" * 2048)
    refuses(named, r"old binary \.xls")
    (tmp_path / "text.xlsx").write_text("Item,Price\nlamp,3\n")
    refuses(tmp_path / "text.xlsx", "no workbook")
    (tmp_path / "empty.xlsx").write_bytes(b"")
    refuses(tmp_path / "empty.xlsx", "empty")
    (tmp_path / "empty.csv").write_bytes(b"")
    refuses(tmp_path / "empty.csv", "empty")
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\x00\x00\x00\r\n\x1a\n")
    refuses(tmp_path / "picture.csv", "not text")
    (tmp_path / "list.pdf").write_bytes(b"%PDF")
    refuses(tmp_path / "list.pdf", "cannot be read from a .pdf")
    (tmp_path / "dir.xlsx").mkdir()
    refuses(tmp_path / "dir.xlsx", "folder")
    refuses(tmp_path / "none.xlsx", "no such file")
    with zipfile.ZipFile(tmp_path / "other.xlsx", "w") as archive:
        archive.writestr("a.txt", "a")
    refuses(tmp_path / "other.xlsx", r"no \.xlsx workbook")


def test_workbook_renamed_to_csv(plain: Path, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(plain.read_bytes())
    refuses(tmp_path / "a.csv", "workbook, though its name says text")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.99])
def test_a_file_cut_short(plain: Path, tmp_path: Path, share: float) -> None:
    data = plain.read_bytes()
    (tmp_path / "cut.xlsx").write_bytes(data[: int(len(data) * share)])
    refuses(tmp_path / "cut.xlsx", "damaged")


def test_a_file_with_a_flipped_byte_is_refused_or_harmless(plain: Path, tmp_path: Path) -> None:
    data = bytearray(plain.read_bytes())
    for at in range(0, len(data), 97):
        broken = bytearray(data)
        broken[at] ^= 0x5A
        path = tmp_path / "broken.xlsx"
        path.write_bytes(broken)
        try:
            reader = open_sheet(path)
            fill_sheet(
                reader, tmp_path / "x.xlsx",
                [FilledColumn("a", "ours", [1] * reader.items.num_rows)], replace=True,
            )  # fmt: skip
        except SheetError:
            continue


def test_broken_markup_names_the_part(plain: Path, tmp_path: Path) -> None:
    broken = make.edit_part(
        plain, tmp_path / "b.xlsx", {SHEET: lambda d: d.replace(b"</row>", b"", 1)}
    )
    refuses(broken, "sheet1.xml is not well-formed")
    wild = make.edit_part(
        plain, tmp_path / "w.xlsx", {SHEET: lambda d: d.replace(b'r="2"', b'r="99999999"', 1)}
    )
    refuses(wild, "outside a sheet")


@pytest.mark.parametrize(
    "part", [SHEET, "xl/workbook.xml", "xl/sharedStrings.xml", "xl/styles.xml"]
)
def test_entities_are_never_resolved(tmp_path: Path, part: str) -> None:
    rich = make.rich_xlsx(tmp_path / "rich.xlsx")
    secret = tmp_path / "secret.txt"
    secret.write_text("the secret")

    def poison(data: bytes) -> bytes:
        start = data.index(b"?>") + 2 if data.startswith(b"<?xml") else 0
        doctype = f'<!DOCTYPE x [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'.encode()
        return data[:start] + doctype + data[start:].replace(b"lamp", b"&e;")

    refuses(make.edit_part(rich, tmp_path / "x.xlsx", {part: poison}), "document type")


def test_entities_of_an_ods(tmp_path: Path) -> None:
    source = make.round_ods(tmp_path / "r.ods")
    billion = b'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    bad = make.edit_part(
        source, tmp_path / "bad.ods",
        {"content.xml": lambda d: d.replace(b"?>", b"?>" + billion, 1)},
    )  # fmt: skip
    refuses(bad, "document type")


def test_an_archive_that_swells_is_not_unpacked(plain: Path, tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            if name == SHEET:
                data = data.replace(b"<sheetData>", b"<sheetData>" + b" " * (64 << 20))
            new.writestr(name, data)
    assert bomb.stat().st_size < 200_000
    refuses(bomb, "unpacks to more than a sheet can need")


def test_an_archive_that_lies_about_its_sizes(plain: Path, tmp_path: Path) -> None:
    data = bytearray(plain.read_bytes())
    with zipfile.ZipFile(plain) as archive:
        count = len(archive.namelist())
    at = data.find(b"PK\x01\x02")
    for _ in range(count):
        name, extra, comment = struct.unpack("<HHH", data[at + 28 : at + 34])
        if data[at + 46 : at + 46 + name].decode() == SHEET:
            data[at + 24 : at + 28] = struct.pack("<I", 10)  # unpacked size
        at += 46 + name + extra + comment
    (tmp_path / "lie.xlsx").write_bytes(data)
    refuses(tmp_path / "lie.xlsx", "damaged")


def test_parts_that_climb_out(plain: Path, tmp_path: Path) -> None:
    for name in ("../evil", "/etc/x", "a/../../b", "C:/x", "a\\b"):
        assert climbs_out(name)
    assert not climbs_out("xl/worksheets/sheet1.xml")
    path = tmp_path / "climb.xlsx"
    path.write_bytes(plain.read_bytes())
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("../evil.txt", "x")
    refuses(path, "outside itself")
    related = make.edit_part(
        plain, tmp_path / "rel.xlsx",
        {"xl/_rels/workbook.xml.rels": lambda d: d.replace(
            b"/xl/worksheets/sheet1.xml", b"../../../secret.xml")},
    )  # fmt: skip
    refuses(related, "outside itself")


def test_sheets_without_a_header_or_pieces(tmp_path: Path) -> None:
    bare = make.plain_xlsx(tmp_path / "bare.xlsx", [["a", "b"], [1, 2]])
    error = refuses(bare, "no row looks like a header")
    assert "'pieces'" in str(error.where)
    none = make.plain_xlsx(tmp_path / "none.xlsx", [["Item", "Price"], [None, 3]])
    assert "row 1" in str(refuses(none, "nothing to fill").where)
    (tmp_path / "stray.csv").write_text('Item,Price\n"12 inch globe,5\nlamp,4\n')
    error = refuses(tmp_path / "stray.csv", "never properly closed")
    assert "line 2, field 1" in str(error.where)


def column(n: int = 2) -> list[FilledColumn]:
    return [FilledColumn("a", "ours", ["x"] * n)]


def test_targets_that_will_not_do(plain: Path, tmp_path: Path) -> None:
    reader = open_sheet(plain)
    before = plain.read_bytes()
    (tmp_path / "there.xlsx").write_bytes(b"hers")
    (tmp_path / "link.xlsx").symlink_to(plain)
    os.link(plain, tmp_path / "twin.xlsx")
    for target, message in (
        (plain, "take the place of your own"),
        (tmp_path / "link.xlsx", "take the place of your own"),
        (tmp_path / "twin.xlsx", "take the place of your own"),
        (tmp_path / "b.ods", "filled as a .xlsx"),
        (tmp_path / "there.xlsx", "file of this name already"),
        (tmp_path / "no" / "b.xlsx", "no such folder"),
    ):
        with pytest.raises(SheetError, match=message):
            fill_sheet(reader, target, column())
    (tmp_path / ".~lock.there.xlsx#").write_text("someone")
    with pytest.raises(SheetError, match="open in a spreadsheet program"):
        fill_sheet(reader, tmp_path / "there.xlsx", column(), replace=True)
    (tmp_path / ".~lock.there.xlsx#").unlink()
    assert (tmp_path / "there.xlsx").read_bytes() == b"hers"
    fill_sheet(reader, tmp_path / "there.xlsx", column(), replace=True)
    assert plain.read_bytes() == before
    with pytest.raises(SheetError, match=r"cannot be written as \.doc"):
        new_sheet(tmp_path / "new.doc", {})


@contextmanager
def small_disk() -> Iterator[None]:
    """Files may not grow beyond 4 kB: the kernel's own limit stands in for a full disk.

    It ends before the test does, since the limit holds for pytest's own output too.
    """
    old_limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    old_handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, old_limits[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old_limits)
        signal.signal(signal.SIGXFSZ, old_handler)


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_full_disk_leaves_nothing(tmp_path: Path, ending: str) -> None:
    if ending == "xlsx":
        source = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4], ["s", 5]])
    else:
        source = tmp_path / "a.csv"
        source.write_text("Item,Price\n" + "lamp,4\nstool,5\n")
    reader = open_sheet(source)
    long = [FilledColumn("a", "ours", [os.urandom(9000).hex(), "y"])]
    with small_disk(), pytest.raises(SheetError, match="disk is full; nothing was written"):
        fill_sheet(reader, tmp_path / f"b.{ending}", long)
    assert [p.name for p in tmp_path.iterdir()] == [source.name]


def test_a_target_that_cannot_be_replaced_leaves_nothing(
    plain: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(self: Path, target: Path) -> Path:
        raise PermissionError(errno.EACCES, "the file is in use", str(target))

    reader = open_sheet(plain)
    monkeypatch.setattr(output.Path, "replace", locked)
    with pytest.raises(SheetError, match="cannot be written"):
        fill_sheet(reader, tmp_path / "b.xlsx", column())
    assert [p.name for p in tmp_path.iterdir()] == ["a.xlsx"]


def test_a_name_of_ours_that_is_hers_is_not_taken(tmp_path: Path) -> None:
    from openpyxl import load_workbook
    from openpyxl.workbook.defined_name import DefinedName

    from pipeline.answers.sheet import ExtraSheet

    path = make.plain_xlsx(tmp_path / "a.xlsx", [["Item", "Price"], ["lamp", 4]])
    book = load_workbook(path)
    book.defined_names["comparables_fee"] = DefinedName("comparables_fee", attr_text="pieces!$B$2")
    book.save(tmp_path / "b.xlsx")
    extra = ExtraSheet("notes", [["Notes"], [0.2]], names={"comparables_fee": "A2"})
    with pytest.raises(SheetError, match="uses the name comparables_fee"):
        fill_sheet(open_sheet(tmp_path / "b.xlsx"), tmp_path / "c.xlsx", column(1), [extra])
    assert not (tmp_path / "c.xlsx").exists()
