"""From a file on disk to clean UTF-8 text, with every physical line counted.

A reader of CSV sees records; only this module sees lines. It unpacks, decodes, makes every line
end a single line feed, takes out lines that cannot be text (or that a caller names) and keeps
count, so that the balance of a file can be drawn up.
"""

from __future__ import annotations

import codecs
import gzip
import io
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from pipeline.errors import ExportError

CHUNK = 1 << 24
ASCII_LIKE = ("utf-8", "utf-8-sig", "ascii")
BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def open_bytes(path: Path, largest: int) -> io.IOBase:
    """Open an export for reading, unpacked.

    Args:
        path: the file; .gz and .zip (with one member) are unpacked on the way.
        largest: size in bytes, unpacked, over which reading stops.

    Raises:
        ExportError: the file cannot be opened, or a .zip holds anything but one plain file.
    """
    name = path.name.lower()
    try:
        if name.endswith(".zip"):
            return _Limited(_only_member(path), path, largest)
        if name.endswith(".gz"):
            return _Limited(gzip.open(path, "rb"), path, largest)
        return path.open("rb")
    except zipfile.BadZipFile:
        raise ExportError(
            "The .zip is damaged or is none.", where=path, todo="Export it again."
        ) from None
    except OSError as error:
        raise ExportError(f"The file cannot be opened: {error.strerror}.", where=path) from None


def _only_member(path: Path) -> IO[bytes]:
    packed = zipfile.ZipFile(path)
    members = [m for m in packed.infolist() if not m.is_dir()]
    if len(members) != 1:
        raise ExportError(
            f"The .zip holds {len(members)} files, where one is expected.",
            where=path,
            todo="Pack each export alone, or unpack them into the source's folder.",
        )
    if members[0].flag_bits & 0x1:
        raise ExportError("The .zip asks for a password.", where=path, todo="Unpack it first.")
    return packed.open(members[0])


class _Limited(io.RawIOBase):
    """A packed stream that fails by name when it is damaged, cut short or unpacks without end."""

    def __init__(self, inner: IO[bytes] | gzip.GzipFile, path: Path, largest: int) -> None:
        super().__init__()
        self._inner, self._path, self._left = inner, path, largest

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        try:
            got = self._inner.read(CHUNK if size is None or size < 0 else size)
        except EOFError:
            raise ExportError(
                "The packed file is cut short.", where=self._path, todo="Copy or export it again."
            ) from None
        except (zlib.error, gzip.BadGzipFile, zipfile.BadZipFile) as error:
            raise ExportError(
                f"The packed file is damaged: {error}.",
                where=self._path,
                todo="Copy or export it again.",
            ) from None
        except NotImplementedError as error:
            raise ExportError(
                f"The packing cannot be read: {error}.", where=self._path, todo="Unpack it first."
            ) from None
        self._left -= len(got)
        if self._left < 0:
            raise ExportError(
                "The file unpacks to more than the largest size allowed.",
                where=self._path,
                todo="Look at it; if it is sound, raise refresh.largest_file in settings.toml.",
            )
        return got

    def close(self) -> None:
        self._inner.close()
        super().close()


def _chunks(path: Path, largest: int) -> Iterator[bytes]:
    with open_bytes(path, largest) as stream:
        while chunk := stream.read(CHUNK):
            yield chunk


def detect_encoding(path: Path, largest: int) -> str:
    """The encoding of an export: by its mark, else UTF-8 if it holds, else cp1252.

    A file of mostly good UTF-8 with a few broken lines is UTF-8: the lines are set aside later.

    Raises:
        ExportError: the file holds NUL bytes and no mark, so it is no text this can read.
    """
    good = bad = 0
    tail = b""
    first = True
    for chunk in _chunks(path, largest):
        if first:
            for mark, name in BOMS:
                if chunk.startswith(mark):
                    return name
            guess = _utf16_without_mark(chunk)
            if guess:
                return guess
            if b"\0" in chunk:
                raise ExportError(
                    "The file holds NUL bytes: it is no text, or UTF-16 without a mark.",
                    where=path,
                    todo="Export it as UTF-8, or state the encoding in source.toml.",
                )
            first = False
        text = tail + chunk
        cut = text.rfind(b"\n") + 1
        text, tail = text[:cut], text[cut:]
        more_good, more_bad = _count_utf8(text)
        good, bad = good + more_good, bad + more_bad
    more_good, more_bad = _count_utf8(tail)
    return "utf-8" if bad + more_bad <= (good + more_good) else "cp1252"


def _utf16_without_mark(chunk: bytes) -> str | None:
    sample = chunk[:2000]
    if len(sample) < 4 or len(sample) % 2:
        return None
    if sample[1::2].count(0) > len(sample) * 0.4:
        return "utf-16-le"
    if sample[0::2].count(0) > len(sample) * 0.4:
        return "utf-16-be"
    return None


def _count_utf8(text: bytes) -> tuple[int, int]:
    """Lines that hold more than ASCII: how many are good UTF-8, and how many are not."""
    if text.isascii():
        return 0, 0
    good = bad = 0
    for line in text.split(b"\n"):
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
            good += 1
        except UnicodeDecodeError:
            bad += 1
    return good, bad


@dataclass
class LineCount:
    """What a pass over the text has seen. Lines count from 1 and are those of the whole file."""

    n_lines: int = 0
    undecodable: list[tuple[int, str]] = field(default_factory=list)
    """Line number and its text with the broken bytes marked."""


def clean_text(
    path: Path,
    encoding: str,
    largest: int,
    count: LineCount,
    without: frozenset[int] = frozenset(),
    head_lines: int = 0,
) -> Iterator[bytes]:
    """UTF-8 text of an export in chunks that end at a line end, with `\\n` as the only line end.

    Args:
        encoding: one that Python knows; `auto` is not taken here.
        count: filled as the text goes by; whole once the iterator is used up.
        without: line numbers to leave out.
        head_lines: lines at the start (preamble and header) of which none is left out.

    Raises:
        ExportError: of unpacking.
    """
    first_line = 1
    for block in _line_blocks(path, encoding, largest):
        text, broken = _decode(block, encoding, first_line)
        n = text.count(b"\n") + (not text.endswith(b"\n"))
        broken = [item for item in broken if item[0] > head_lines]
        drop = {number for number, _ in broken}
        count.undecodable += broken
        if without:
            drop |= {k for k in without if first_line <= k < first_line + n}
        if drop:
            lines = text.split(b"\n")
            if lines[-1] == b"":
                lines.pop()
            kept = [line for k, line in enumerate(lines, first_line) if k not in drop]
            text = b"".join(line + b"\n" for line in kept)
        count.n_lines += n
        first_line += n
        if text:
            yield text


def _line_blocks(path: Path, encoding: str, largest: int) -> Iterator[bytes]:
    """Blocks that end at a line end, in the file's own encoding, or in UTF-8 for UTF-16."""
    tail = b""
    if encoding.startswith(("utf-16", "utf-32")):
        decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
        source: Iterator[bytes] = (
            decoder.decode(c).encode("utf-8") for c in _chunks(path, largest)
        )
    else:
        source = _chunks(path, largest)
    first = True
    for chunk in source:
        if first and chunk.startswith(codecs.BOM_UTF8):
            chunk = chunk[3:]
        first = False
        chunk = tail + chunk
        if chunk.endswith(b"\r"):  # its line feed may begin the next chunk
            tail = chunk
            continue
        if b"\r" in chunk:
            chunk = chunk.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        cut = chunk.rfind(b"\n") + 1
        tail = chunk[cut:]
        if cut:
            yield chunk[:cut]
    if tail:
        yield tail.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def _decode(block: bytes, encoding: str, first_line: int) -> tuple[bytes, list[tuple[int, str]]]:
    """The block in UTF-8, and its lines that are no text in the encoding."""
    name = "utf-8" if encoding in ASCII_LIKE or encoding.startswith("utf-16") else encoding
    if name == "utf-8" and block.isascii():
        return block, []
    try:
        text = block.decode(name)
        return (block if name == "utf-8" else text.encode("utf-8")), []
    except UnicodeDecodeError:
        pass
    lines, broken = [], []
    for number, line in enumerate(block.split(b"\n"), first_line):
        try:
            lines.append(line.decode(name))
        except UnicodeDecodeError:
            shown = line.decode(name, errors="replace")
            broken.append((number, shown))
            lines.append(shown)
    return "\n".join(lines).encode("utf-8"), broken


class TextFile(io.RawIOBase):
    """A file-like view of chunks of text, for a reader of CSV; begins after `skip_lines` lines."""

    def __init__(self, chunks: Iterator[bytes], skip_lines: int = 0) -> None:
        super().__init__()
        self._chunks, self._skip, self._rest = chunks, skip_lines, b""

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        while not self._rest:
            chunk = next(self._chunks, None)
            if chunk is None:
                return b""
            self._rest = self._skipped(chunk)
        if size is None or size < 0 or size >= len(self._rest):
            got, self._rest = self._rest, b""
        else:
            got, self._rest = self._rest[:size], self._rest[size:]
        return got

    def _skipped(self, chunk: bytes) -> bytes:
        at = 0
        while self._skip and at < len(chunk):
            end = chunk.find(b"\n", at)
            at = len(chunk) if end < 0 else end + 1
            self._skip -= 1
        return chunk[at:] if at else chunk
