"""How long a refresh takes, beside a plain pandas script over the same files.

    python -m tests.bench.refresh --sales 1_000_000

Makes exports of three sources with a seeded generator, refreshes as a user would in a process of
its own, and prints seconds and peak memory per stage, then the ratio to the baseline: a pandas
script that reads the same files, matches one column with rapidfuzz, drops exact duplicates, flags
by MAD and takes quantiles. Both run in this order, once each.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.csv as pa_csv

SOURCES = {
    "rooms": {"market": "auction", "price_type": "hammer", "currency": "GBP", "delimiter": ","},
    "stall": {"market": "online", "price_type": "fixed", "currency": "USD", "delimiter": ","},
    "ledger": {"market": "dealer", "price_type": "fixed", "currency": "EUR", "delimiter": ";"},
}
KINDS = [
    "chest of drawers", "dining chair", "mantel clock", "table lamp", "oil lamp", "side table",
    "corner cupboard", "wall mirror", "wine glass", "decanter", "teapot", "vase", "plate", "bowl",
    "candlestick", "tankard", "etching", "engraving", "map", "globe", "rug", "sampler", "quilt",
    "brooch", "locket", "doll", "rocking horse", "barometer", "writing box", "tea caddy",
    "bookcase", "wardrobe", "stool", "jug", "figurine", "paperweight", "coffee pot", "salver",
    "toast rack", "copper kettle",
]  # fmt: skip
WOODS = ["mahogany", "oak", "walnut", "pine", "brass", "silver", "glass", "porcelain", "copper",
         "pewter", "rosewood", "satinwood", "elm", "bronze", "silk"]  # fmt: skip
AGES = ["Victorian", "Georgian", "Edwardian", "Art Deco", "antique", "vintage", "c1860", "19th C",
        "circa 1920", "Regency", "1930s", "late 18th century"]  # fmt: skip
EXTRAS = ["signed", "rare", "lovely", "small", "large", "with label", "restored", "old repair",
          "original", "chipped", "in need of attention", "beautiful", "ornate", "unusual", "fine",
          "heavy", "from a country house", "must see", "boxed", "a/f"]  # fmt: skip
GRADES = [
    "good",
    "very good",
    "Fair",
    "excellent",
    "used",
    "poor",
    "A/F",
    "mint",
    "",
    "Good - some wear",
]


def make_exports(folder: Path, n_sales: int, seed: int = 11) -> int:
    """Write the exports of the three sources; returns their size in bytes."""
    rng = np.random.default_rng(seed)
    total = 0
    per_source = np.diff(np.linspace(0, n_sales, len(SOURCES) + 1).astype(int))
    for (name, what), n in zip(SOURCES.items(), per_source, strict=True):
        place = folder / "data" / "raw" / name
        place.mkdir(parents=True)
        _source_file(place / "source.toml", name, what)
        n_files = max(2, min(24, int(n) // 150_000))
        start = 0
        for number, size in enumerate(np.diff(np.linspace(0, n, n_files + 1).astype(int))):
            table = _rows(rng, int(size), start, what["currency"])
            start += int(size)
            path = place / f"{number + 1:03}.csv"
            options = pa_csv.WriteOptions(delimiter=what["delimiter"])
            pa_csv.write_csv(table, path, options)
            total += path.stat().st_size
    (folder / "data" / "settings.toml").write_text('[basis]\ncurrency = "GBP"\n')
    return total


def _source_file(path: Path, name: str, what: dict[str, str]) -> None:
    premium = "premium = 0.25\n" if what["price_type"] == "hammer" else ""
    path.write_text(
        f'name = "{name}"\nmarket = "{what["market"]}"\ndate_order = "ymd"\n'
        f'currency = "{what["currency"]}"\ndecimal_mark = "."\nencoding = "utf-8"\n'
        f'[price]\nprice_type = "{what["price_type"]}"\n{premium}'
        '[columns]\nId = "listing_id"\nTitle = "title"\nKind = "category"\n'
        'Condition = "condition"\nSold = "sold"\nPrice = "price"\n'
    )


def _rows(rng: np.random.Generator, n: int, start: int, currency: str) -> pa.Table:
    kind = rng.integers(0, len(KINDS), n)
    words = [
        _pick(rng, AGES, n),
        _pick(rng, WOODS, n),
        np.array(KINDS)[kind],
        _pick(rng, EXTRAS, n),
    ]
    number = rng.integers(1, 99_999, n).astype(str)
    title = words[0]
    for part in (words[1], words[2], words[3]):
        title = np.char.add(np.char.add(title, " "), part)
    title = np.char.add(np.char.add(title, ", ref "), number)
    slip = rng.random(n) < 0.03
    label = np.array([k.title() for k in KINDS])[kind]
    label = np.where(slip, np.array([k[:-1] + k[-1] * 2 for k in KINDS])[kind], label)
    price = np.exp(rng.normal(3.0 + (kind % 17) * 0.25, 0.7))
    wild = rng.random(n) < 0.002
    price = np.where(wild, price * 100, price)
    days = np.datetime64("2023-01-01") + rng.integers(0, 1_380, n).astype("timedelta64[D]")
    listing = np.arange(start, start + n)
    again = rng.random(n) < 0.01
    listing = np.where(again, np.maximum(listing - 1, 0), listing)
    return pa.table(
        {
            "Id": pa.array(listing.astype(str)),
            "Title": pa.array(title),
            "Kind": pa.array(label),
            "Condition": pa.array(_pick(rng, GRADES, n)),
            "Sold": pa.array(days.astype(str)),
            "Price": pa.array([f"{p:.2f}" for p in price]),
            "Seller note": pa.array(_pick(rng, ["collect only", "posted", "", "cash"], n)),
        }
    )


def _pick(rng: np.random.Generator, words: list[str], n: int) -> np.ndarray:
    return np.array(words)[rng.integers(0, len(words), n)]


BASELINE = """
import sys, glob, numpy as np, pandas as pd
from rapidfuzz import process, fuzz
labels = {labels!r}
frames = [pd.read_csv(p, sep=";" if "ledger" in p else ",") for p in sorted(glob.glob(sys.argv[1] + "/data/raw/*/*.csv"))]
df = pd.concat(frames, ignore_index=True)
match = {{k: process.extractOne(k.lower(), labels, scorer=fuzz.WRatio)[0] for k in df["Kind"].unique()}}
df["kind"] = df["Kind"].map(match)
df = df.drop_duplicates()
df["x"] = np.log(df["Price"])
group = df.groupby(["kind", "Condition"], dropna=False)["x"]
centre = group.transform("median")
mad = (df["x"] - centre).abs().groupby([df["kind"], df["Condition"]], dropna=False).transform("median")
df["flag"] = (0.6745 * (df["x"] - centre) / mad).abs() >= 3.5
out = df[~df["flag"]].groupby(["kind", "Condition"], dropna=False)["Price"].quantile([.1, .25, .5, .75, .9]).unstack()
print(len(df), len(out))
"""

REFRESH = """
import json, sys, threading, time
from pathlib import Path
from tests.bench.refresh import tree_memory
from pipeline.progress import Silent
from pipeline.refresh import refresh
class Clock(Silent):
    def __init__(self): self.rows, self.peak = [], 0
    def stage(self, name, n_steps=None):
        self.close(); self.rows.append([name, time.perf_counter(), 0.0, 0])
    def close(self):
        if self.rows:
            self.rows[-1][2] = time.perf_counter(); self.rows[-1][3] = self.peak; self.peak = 0
clock, running = Clock(), True
def watch():
    while running:
        clock.peak = max(clock.peak, tree_memory()); time.sleep(0.05)
threading.Thread(target=watch, daemon=True).start()
started = time.perf_counter()
result = refresh(Path(sys.argv[1]), progress=clock)
clock.close(); running = False
print(json.dumps({"stages": [[r[0], r[2] - r[1], r[3]] for r in clock.rows], "n": result.n_sales,
    "bands": result.n_bands, "total": time.perf_counter() - started}))
"""


def tree_memory() -> int:
    """Resident bytes of this process and its children, shared pages counted once."""
    import psutil

    me = psutil.Process()
    total = 0
    for process in [me, *me.children(recursive=True)]:
        try:
            info = process.memory_info()
            total += info.rss - (info.shared if process is not me else 0)
        except psutil.Error:
            continue
    return total


def _timed(command: list[str]) -> tuple[float, int, str]:
    """Seconds, peak resident bytes of the process tree, and what it printed."""
    import psutil

    started = time.perf_counter()
    with tempfile.TemporaryFile("w+") as out:
        process = subprocess.Popen(command, stdout=out, text=True)
        watched, peak = psutil.Process(process.pid), 0
        while process.poll() is None:
            try:
                tree = [watched, *watched.children(recursive=True)]
                peak = max(peak, sum(p.memory_info().rss for p in tree))
            except psutil.Error:
                pass
            time.sleep(0.05)
        out.seek(0)
        printed = out.read()
    if process.returncode:
        raise SystemExit(f"{command[:3]} ended with {process.returncode}")
    return time.perf_counter() - started, peak, printed


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--sales", type=lambda s: int(s.replace("_", "")), default=1_000_000)
    parser.add_argument("--folder", type=Path, help="keep the exports here")
    asked = parser.parse_args()
    folder = asked.folder or Path(tempfile.mkdtemp(prefix="comparables-bench-"))
    started = time.perf_counter()
    size = make_exports(folder, asked.sales)
    print(f"exports: {asked.sales:,} rows, {size / 1e6:,.0f} MB, made in "
          f"{time.perf_counter() - started:.1f} s")  # fmt: skip
    plain, plain_peak, _ = _timed(
        [sys.executable, "-c", BASELINE.format(labels=KINDS), str(folder)]
    )
    whole, peak, printed = _timed([sys.executable, "-c", REFRESH, str(folder)])
    told = json.loads(printed.strip().splitlines()[-1])
    print(f"{'stage':<34}{'seconds':>9}{'peak MB':>9}")
    for name, seconds, memory in told["stages"]:
        print(f"{name:<34}{seconds:>9.2f}{memory / 1e6:>9.0f}")
    again, _, _ = _timed([sys.executable, "-c", REFRESH, str(folder)])
    print(
        f"refresh: {whole:.1f} s, {peak / 1e6:,.0f} MB, {told['n']:,} sales, {told['bands']:,} bands"
    )
    print(f"second refresh, nothing new: {again:.1f} s")
    print(f"pandas script: {plain:.1f} s, {plain_peak / 1e6:,.0f} MB")
    print(f"ratio: {whole / plain:.2f} of its time, {peak / plain_peak:.2f} of its memory")


if __name__ == "__main__":
    main()
