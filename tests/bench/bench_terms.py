"""How fast texts are read: distinct titles, field values, and the ratio to a plain loop.

    python -m tests.bench.bench_terms [--titles 1_000_000] [--rows 1_000_000] [--values 10_000]

Titles and values are made from the vocabulary's own words with a seeded generator: no two titles
are the same. The plain loop asks rapidfuzz's extractOne for the best label of each text of a
sample; its time is scaled up to all texts.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np
import pyarrow as pa
from rapidfuzz import fuzz, process

from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary

SEED = 20_240_229
SAMPLE = 300
LOOSE_WORDS = [
    "antique",
    "vintage",
    "fine",
    "large",
    "small",
    "english",
    "french",
    "country",
    "old",
    "rare",
    "pair",
    "of",
    "with",
    "and",
    "brass",
    "handles",
    "good",
    "condition",
    "signed",
    "marked",
    "superb",
    "lovely",
    "estate",
    "collection",
    "original",
    "working",
    "dated",
    "circa",
    "unusual",
    "decorative",
    "hand",
    "painted",
    "carved",
    "no",
    "damage",
    "minor",
    "wear",
    "to",
    "base",
    "top",
]
NAMES = [
    "Harrow",
    "Penley",
    "Ostrander",
    "Quill",
    "Wexcombe",
    "Darrow",
    "Tilden",
    "Marsh",
    "Farley",
    "Brandt",
    "Oakes",
]


def make_titles(vocabulary: Vocabulary, n: int) -> pa.Array:
    """n distinct titles of about nine words, a tenth misspelt, a third with a year.

    Periods, materials and things are drawn as trade has them, a few very often and most seldom
    (Zipf's law); a year lies in the years of the title's period.
    """
    rng = np.random.default_rng(SEED)

    def draw(kind: str) -> np.ndarray:
        number = vocabulary_size(kind)
        weight = 1 / np.arange(1, number + 1)
        return rng.permutation(number)[rng.choice(number, n, p=weight / weight.sum())]

    def vocabulary_size(kind: str) -> int:
        return len(vocabulary.concepts(kind))

    def labels(kind: str, numbers: np.ndarray) -> np.ndarray:
        return np.array([c.pref_label for c in vocabulary.concepts(kind)], dtype=object)[numbers]

    periods = draw("period")
    parts = [
        labels("period", periods),
        labels("material", draw("material")),
        labels("category", draw("category")),
    ]
    loose = rng.choice(np.array(LOOSE_WORDS, dtype=object), (n, 4))
    name = rng.choice(np.array(NAMES, dtype=object), n)
    dated = rng.random(n) < 1 / 3
    earliest = np.array([c.earliest_year or 1800 for c in vocabulary.concepts("period")])
    latest = np.array([c.latest_year or 1990 for c in vocabulary.concepts("period")])
    lowest = np.clip(earliest, 1500, 1980)[periods]
    highest = np.maximum(np.clip(latest, 1500, 1990)[periods], lowest + 1)
    years = rng.integers(lowest, highest)
    named = rng.random(n) < 0.5
    slip = rng.random(n) < 0.1
    titles = []
    for i in range(n):
        thing = parts[2][i]
        if slip[i] and len(thing) > 6:
            at = int(years[i]) % (len(thing) - 2) + 1
            thing = thing[:at] + thing[at + 1] + thing[at] + thing[at + 2 :]
        date = f" c{years[i]}" if dated[i] else ""
        titles.append(
            f"{loose[i, 0]} {parts[0][i] if named[i] else ''} {parts[1][i]} {thing}, "
            f"{loose[i, 1]} {loose[i, 2]} {loose[i, 3]} {name[i]}{date} {i}"
        )
    return pa.array(titles, pa.string())


def make_values(vocabulary: Vocabulary, n_rows: int, n_values: int) -> pa.Array:
    """n_rows field values of categories, n_values of them distinct."""
    rng = np.random.default_rng(SEED + 1)
    labels = [c.pref_label for c in vocabulary.concepts("category")]
    values = []
    for i in range(n_values):
        label = labels[i % len(labels)]
        word = LOOSE_WORDS[i % 17]
        form = i // len(labels) % 5
        if form == 1:
            label = label.title()
        elif form == 2:
            label = f"{word} {label}"
        elif form == 3 and len(label) > 6:
            at = i % (len(label) - 3) + 1
            label = label[:at] + label[at + 1 :]
        values.append(f"{label} {i}" if form == 4 else label if form else f"{label}  ")
    distinct = np.array([f"{value}{' ' * (i % 7)}" for i, value in enumerate(values)], dtype=object)
    return pa.array(distinct[rng.integers(0, n_values, n_rows)], pa.string())


def plain_loop(vocabulary: Vocabulary, texts: list[str]) -> float:
    """Seconds a text of asking for the likest label, one text after the other."""
    labels = list(vocabulary.labels("category"))
    started = time.perf_counter()
    for text in texts:
        process.extractOne(text, labels, scorer=fuzz.WRatio)
    return (time.perf_counter() - started) / len(texts)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--titles", type=lambda text: int(text.replace("_", "")), default=1_000_000)
    parser.add_argument("--rows", type=lambda text: int(text.replace("_", "")), default=1_000_000)
    parser.add_argument("--values", type=lambda text: int(text.replace("_", "")), default=10_000)
    arguments = parser.parse_args()
    started = time.perf_counter()
    vocabulary = Vocabulary.load()
    read_titles(pa.array(["oak mantel clock"]), vocabulary)
    print(f"vocabulary and lexicon ready: {time.perf_counter() - started:.1f} s")

    titles = make_titles(vocabulary, arguments.titles)
    started, busy = time.perf_counter(), time.process_time()
    table = read_titles(titles, vocabulary)
    seconds, busy = time.perf_counter() - started, time.process_time() - busy
    taken = sum(
        count
        for status, count in (
            (v["values"], v["counts"]) for v in table["category_status"].value_counts().to_pylist()
        )
        if status == "accepted"
    )
    each = plain_loop(vocabulary, titles.slice(0, SAMPLE).to_pylist())
    print(
        f"{len(titles):,} distinct titles: {seconds:.1f} s ({busy:.1f} s of one core); category "
        f"accepted in {100 * taken / len(titles):.0f} %; a plain loop for categories alone would "
        f"take {each * len(titles):,.0f} s ({each * len(titles) / seconds:,.0f} times)"
    )

    values = make_values(vocabulary, arguments.rows, arguments.values)
    n_distinct = len(values.unique())
    started = time.perf_counter()
    read_terms(pa.array(["oak mantel clock"]), "category", vocabulary=vocabulary)
    print(f"tables for fields ready: {time.perf_counter() - started:.1f} s")
    started, busy = time.perf_counter(), time.process_time()
    read_terms(values, "category", vocabulary=vocabulary)
    seconds, busy = time.perf_counter() - started, time.process_time() - busy
    each = plain_loop(vocabulary, values.slice(0, SAMPLE).to_pylist())
    print(
        f"{len(values):,} rows of {n_distinct:,} distinct values: {seconds:.2f} s "
        f"({busy:.2f} s of one core); a plain loop "
        f"over the distinct ones would take {each * n_distinct:,.1f} s "
        f"({each * n_distinct / seconds:.1f} times)"
    )
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MB")


if __name__ == "__main__":
    main()
