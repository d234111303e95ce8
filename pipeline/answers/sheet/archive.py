"""Archives of a workbook: opened with suspicion, written with every untouched part as it was.

The standard library's `zipfile` reads; writing is done here, because a part that did not change
is copied with its compressed bytes, its date and its place in the order.
"""

from __future__ import annotations

import posixpath
import struct
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import BinaryIO

from lxml import etree

from pipeline.errors import SheetError

OLE_START = bytes.fromhex("d0cf11e0a1b11ae1")
ENCRYPTED_MARK = "EncryptedPackage".encode("utf-16-le")

MOST_PARTS = 10_000
MOST_BYTES = 1 << 30  # of all parts, unpacked
RATIO_FROM = 16 << 20  # a part below this size may be packed as tightly as it likes
MOST_RATIO = 300  # repeated rows of a real sheet pack about 100 to 1 at the most (measured)

_UTF8_NAME = 0x800


def refuse_foreign_container(path: Path) -> None:
    """Name what a file is that only looks like a workbook.

    Raises:
        SheetError: an old binary workbook, an encrypted one, an empty file or no archive.
    """
    try:
        with path.open("rb") as file:
            start = file.read(8)
            if start == OLE_START:
                rest = file.read(8 << 20)
                if ENCRYPTED_MARK in rest:
                    raise SheetError(
                        "the workbook is protected with a password",
                        where=path,
                        todo="open it in your spreadsheet program, save it without a password "
                        "and try again",
                    )
                raise SheetError(
                    "this is a workbook in the old binary .xls format",
                    where=path,
                    todo="open it in your spreadsheet program and save it as .xlsx or .ods",
                )
    except OSError as error:
        raise unreadable(path, error) from error
    if not start:
        raise SheetError("the file is empty", where=path)
    if not start.startswith(b"PK"):
        raise SheetError(
            "the file is no workbook, whatever its name says",
            where=path,
            todo="save it again from your spreadsheet program as .xlsx or .ods",
        )


def unreadable(path: Path, error: OSError) -> SheetError:
    """The error for a file that the system would not give us."""
    if isinstance(error, FileNotFoundError):
        return SheetError("there is no such file", where=path)
    if isinstance(error, IsADirectoryError):
        return SheetError("this is a folder, not a sheet", where=path)
    return SheetError(
        f"the file cannot be read ({error.strerror})",
        where=path,
        todo="close it in other programs and check who may read it",
    )


class Archive:
    """The parts of one workbook file, in their order.

    Raises:
        SheetError: the archive is damaged, encrypted, too large when unpacked, or names parts
            outside itself.
    """

    def __init__(self, path: Path) -> None:
        refuse_foreign_container(path)
        self.path = path
        try:
            self._zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, OSError, ValueError, struct.error) as error:
            raise self._damaged(str(error)) from error
        try:
            self._check(path.stat().st_size)
        except SheetError:
            self._zip.close()
            raise

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    @property
    def names(self) -> list[str]:
        """Names of the parts, in the order of the file."""
        return self._zip.namelist()

    def __contains__(self, name: str) -> bool:
        return name in self._zip.NameToInfo

    def read(self, name: str) -> bytes:
        """The unpacked bytes of a part.

        Raises:
            SheetError: there is no such part, or its bytes do not add up.
        """
        try:
            return self._zip.read(name)
        except KeyError as error:
            raise self._damaged(f"the part {name} is missing") from error
        except (
            zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError,
            RuntimeError, struct.error,
        ) as error:  # fmt: skip
            raise self._damaged(f"{name}: {error}") from error

    def rewrite(self, file: BinaryIO, changed: Mapping[str, bytes], dropped: set[str]) -> None:
        """Write the archive with parts changed, added and dropped, all others byte for byte.

        A changed part keeps its place in the order; added ones go last.
        """
        writer = _Writer(file)
        for info in self._zip.infolist():
            if info.filename in dropped:
                continue
            if info.filename in changed:
                writer.add(info.filename, changed[info.filename], info)
            else:
                writer.copy(info, self._packed(info))
        for name in changed:
            if name not in self._zip.NameToInfo:
                writer.add(name, changed[name], None)
        writer.close(self._zip.comment)

    def _packed(self, info: zipfile.ZipInfo) -> bytes:
        with self.path.open("rb") as file:
            file.seek(info.header_offset)
            header = file.read(30)
            if header[:4] != b"PK\x03\x04":
                raise self._damaged(f"{info.filename} does not start where it should")
            name_length, extra_length = struct.unpack("<HH", header[26:30])
            file.seek(name_length + extra_length, 1)
            packed = file.read(info.compress_size)
        if len(packed) != info.compress_size:
            raise self._damaged(f"{info.filename} is cut short")
        return packed

    def _check(self, file_size: int) -> None:
        infos = self._zip.infolist()
        if len(infos) > MOST_PARTS:
            raise self._too_large(f"{len(infos):,} parts")
        if len({info.filename for info in infos}) != len(infos):
            raise self._damaged("a part is in it twice")
        if sum(info.compress_size for info in infos) > file_size:
            raise self._damaged("its parts overlap")
        unpacked = 0
        for info in infos:
            name = info.filename
            if info.flag_bits & 1:
                raise SheetError(
                    "the workbook is protected with a password",
                    where=self.path,
                    todo="save it without a password and try again",
                )
            if climbs_out(name):
                raise self._damaged(f"it names a part outside itself ({name!r})")
            unpacked += info.file_size
            packed_well = info.file_size > MOST_RATIO * max(info.compress_size, 1)
            if unpacked > MOST_BYTES or (packed_well and info.file_size > RATIO_FROM):
                raise self._too_large(f"{name} alone would take {info.file_size:,} bytes")

    def _damaged(self, detail: str) -> SheetError:
        return SheetError(
            f"the workbook is damaged: {detail}",
            where=self.path,
            todo="open it in your spreadsheet program, let it repair the file, and save it again",
        )

    def _too_large(self, detail: str) -> SheetError:
        return SheetError(
            f"the workbook unpacks to more than a sheet can need: {detail}",
            where=self.path,
            todo="save only the sheet that you need in a workbook of its own",
        )


def climbs_out(name: str) -> bool:
    """Whether a part's name leads out of the archive."""
    return (
        name.startswith(("/", "\\"))
        or "\\" in name
        or (len(name) > 1 and name[1] == ":")
        or ".." in posixpath.normpath(name).split("/")
        or "\x00" in name
    )


class _Writer:
    """Writes a zip file of less than 4 GiB: local headers, data, central directory."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._directory: list[bytes] = []
        self._position = 0

    def copy(self, info: zipfile.ZipInfo, packed: bytes) -> None:
        """Copy a part with its compressed bytes as they are."""
        name = info.orig_filename.encode("utf-8" if info.flag_bits & _UTF8_NAME else "cp437")
        flags = info.flag_bits & ~0x08  # sizes stand in the header, none follow the data
        self._entry(info, name, flags, info.compress_type, info.CRC, info.file_size, packed)

    def add(self, name: str, data: bytes, like: zipfile.ZipInfo | None) -> None:
        """Write a part anew, packed as the one it replaces was."""
        info = like or zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
        if like is None:
            info.external_attr = 0o600 << 16
        stored = like is not None and like.compress_type == zipfile.ZIP_STORED
        method = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
        if stored:
            packed = data
        else:
            packer = zlib.compressobj(6, zlib.DEFLATED, -15)
            packed = packer.compress(data) + packer.flush()
        raw_name = name.encode("utf-8")
        flags = 0 if raw_name.isascii() else _UTF8_NAME
        self._entry(info, raw_name, flags, method, zlib.crc32(data), len(data), packed)

    def _entry(
        self, info: zipfile.ZipInfo, name: bytes, flags: int, method: int, crc: int, size: int,
        packed: bytes,
    ) -> None:  # fmt: skip
        year, month, day, hour, minute, second = info.date_time
        date = max(year - 1980, 0) << 9 | month << 5 | day
        time = hour << 11 | minute << 5 | second // 2
        version = max(info.extract_version, 20)
        common = struct.pack(
            "<HHHHHIIIHH",
            version, flags, method, time, date, crc, len(packed), size, len(name), 0,
        )  # fmt: skip
        self._directory.append(
            struct.pack("<4sBB", b"PK\x01\x02", info.create_version, info.create_system)
            + common
            + struct.pack("<HHHII", 0, 0, info.internal_attr, info.external_attr, self._position)
            + name
        )
        head = b"PK\x03\x04" + common + name
        self._file.write(head)
        self._file.write(packed)
        self._position += len(head) + len(packed)

    def close(self, comment: bytes) -> None:
        """Write the central directory."""
        directory = b"".join(self._directory)
        count = len(self._directory)
        self._file.write(directory)
        self._file.write(
            struct.pack(
                "<4sHHHHIIH",
                b"PK\x05\x06", 0, 0, count, count, len(directory), self._position, len(comment),
            )
            + comment
        )  # fmt: skip


def new_archive(file: BinaryIO, parts: Mapping[str, bytes], stored: frozenset[str]) -> None:
    """Write a new archive of parts, in order; those in `stored` are not compressed."""
    writer = _Writer(file)
    for name, data in parts.items():
        like = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
        like.compress_type = zipfile.ZIP_STORED if name in stored else zipfile.ZIP_DEFLATED
        writer.add(name, data, like)
    writer.close(b"")


def safe_parser() -> etree.XMLParser:
    """A parser that resolves no entity, reads no document type and asks no network."""
    return etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False,
        huge_tree=False, remove_blank_text=False, strip_cdata=False,
    )  # fmt: skip


def parse_part(data: bytes, where: Path, name: str) -> etree._Element:
    """Parse a part of an archive.

    Raises:
        SheetError: it is not well-formed, or declares a document type (which the packaging
            standard ECMA-376 part 2 forbids and through which entities come in).
    """
    refuse_doctype(data, where, name)
    try:
        return etree.fromstring(data, safe_parser())
    except etree.XMLSyntaxError as error:
        raise bad_xml(where, name, error) from error


def bad_xml(where: Path, name: str, error: Exception) -> SheetError:
    """The error for a part that is no well-formed XML."""
    return SheetError(
        f"the workbook is damaged: {name} is not well-formed ({error})",
        where=where,
        todo="open it in your spreadsheet program, let it repair the file, and save it again",
    )


def refuse_doctype(data: bytes, where: Path, name: str) -> None:
    """Refuse a part that declares a document type, in any of XML's usual encodings."""
    start = data[:65536]
    for encoding in ("ascii", "utf-16-le", "utf-16-be"):
        if "<!DOCTYPE".encode(encoding) in start or "<!ENTITY".encode(encoding) in start:
            raise SheetError(
                f"the part {name} declares a document type, which a workbook may not",
                where=where,
                todo="save the workbook again from your spreadsheet program",
            )
