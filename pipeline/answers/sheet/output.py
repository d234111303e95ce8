"""Where a filled sheet goes: a new file that is whole, or none at all."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from pipeline.errors import SheetError

KINDS = {".xlsx": "xlsx", ".xlsm": "xlsx", ".ods": "ods", ".csv": "csv", ".tsv": "csv"}


def check_target(target: Path, source: Path | None, replace: bool) -> None:
    """See that a target is a new file of the same kind as its source.

    Raises:
        SheetError: it is the source itself, of another kind, there already (unless `replace`),
            or open in a spreadsheet program.
    """
    if source is not None:
        if _is_same(target, source):
            raise SheetError(
                "the filled sheet would take the place of your own",
                where=target,
                todo="give the filled sheet another name",
            )
        if target.suffix.lower() != source.suffix.lower():
            raise SheetError(
                f"a {source.suffix} sheet is filled as a {source.suffix} sheet, not as "
                f"{target.suffix or 'a file without an ending'}",
                where=target,
                todo=f"let the name end in {source.suffix}",
            )
    elif target.suffix.lower() not in KINDS:
        raise SheetError(
            f"a sheet cannot be written as {target.suffix or 'a file without an ending'}",
            where=target,
            todo="let the name end in .xlsx, .ods, .csv or .tsv",
        )
    if target.is_dir():
        raise SheetError("this is a folder, not a sheet", where=target)
    if not target.exists():
        return
    if not replace:
        raise SheetError(
            "there is a file of this name already",
            where=target,
            todo="give another name, or say that it may be replaced",
        )
    for lock in (f".~lock.{target.name}#", f"~${target.name}"):
        if (target.parent / lock).exists():
            raise SheetError(
                "the file seems to be open in a spreadsheet program",
                where=target,
                todo=f"close it there (or delete {lock} if it is left from a crash)",
            )


@contextmanager
def whole_file(target: Path) -> Iterator[BinaryIO]:
    """A file beside the target that takes its place once it is complete, and else is removed.

    Raises:
        SheetError: the folder cannot be written to, or the disk is full.
    """
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(
            prefix=f".{target.name}.", suffix=".part", dir=target.parent
        )
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        umask = os.umask(0)
        os.umask(umask)
        Path(temporary).chmod(0o666 & ~umask)
        Path(temporary).replace(target)
        temporary = None
    except OSError as error:
        raise _unwritable(target, error) from error
    finally:
        if temporary is not None:
            with suppress(OSError):
                Path(temporary).unlink()


def _is_same(target: Path, source: Path) -> bool:
    if target.resolve() == source.resolve():
        return True
    try:
        return target.samefile(source)
    except OSError:
        return False


def _unwritable(target: Path, error: OSError) -> SheetError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return SheetError(
            "the disk is full; nothing was written",
            where=target,
            todo="make room, or write to another disk",
        )
    if error.errno == errno.ENOENT:
        return SheetError("there is no such folder", where=target.parent)
    return SheetError(
        f"the sheet cannot be written ({error.strerror})",
        where=target,
        todo="close it in other programs, or write to a folder of your own",
    )
