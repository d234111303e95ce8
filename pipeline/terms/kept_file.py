"""Files of what was worked out before: proved by a digest, written whole or not at all."""

from __future__ import annotations

import hashlib
import os
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pyarrow as pa
import rapidfuzz

_DIGEST_BYTES = 32


def write_whole(path: Path, body: bytes | pa.Buffer) -> None:
    """Write a digest of the body and the body, in place of what is there, or nothing.

    Raises:
        OSError: the folder cannot be made or written to.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).digest())
            file.write(body)
        os.replace(part, path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise


def read_sound(path: Path) -> memoryview | None:
    """The body of a file whose digest holds; None for any other, and where there is none."""
    try:
        held = path.read_bytes()
    except OSError:
        return None
    digest, body = held[:_DIGEST_BYTES], memoryview(held)[_DIGEST_BYTES:]
    return body if hashlib.sha256(body).digest() == digest else None


def sweep(kept: Path) -> None:
    """Remove the other files of the same ending beside one: those of other words or code."""
    for other in kept.parent.glob("*" + kept.suffix):
        if other != kept:
            other.unlink(missing_ok=True)


@cache
def code_digest() -> bytes:
    """Digest of the code that reads terms, and of the libraries that it leans on."""
    digest = hashlib.sha256(f"{np.__version__};{rapidfuzz.__version__}".encode())
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.digest()
