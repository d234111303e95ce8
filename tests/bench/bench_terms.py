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
LOOSE_WORDS = (
    "antique vintage fine large small english french country old rare pair of with and brass "
    "handles good condition signed marked superb lovely estate collection original working "
    "dated circa unusual decorative hand painted carved no damage minor wear to base top"
).split()
NAMES = "Harrow Penley Ostrander Quill Wexcombe Darrow Tilden Marsh Farley Brandt Oakes".split()


def make_titles(vocabulary: Vocabulary, n: int) -> pa.Array:
    """n distinct titles of about nine words, some misspelt, a third with a date."""
    rng = np.random.default_rng(SEED)

    def labels(kind: str) -> np.ndarray:
        return np.array([c.pref_label for c in vocabulary.concepts(kind)], dtype=object)

    parts = [
        rng.choice(labels("period"), n),
        rng.choice(labels("material"), n),
        rng.choice(labels("category"), n),
    ]
    loose = rng.choice(np.array(LOOSE_WORDS, dtype=object), (n, 4))
    name = rng.choice(np.array(NAMES, dtype=object), n)
    dated = rng.random(n) < 1 / 3
    years = rng.integers(1700, 1990, n)
    slip = rng.random(n) < 0.1
    titles = []
    for i in range(n):
        thing = parts[2][i]
        if slip[i] and len(thing) > 6:
            at = int(years[i]) % (len(thing) - 2) + 1
            thing = thing[:at] + thing[at + 1] + thing[at] + thing[at + 2 :]
        date = f" c{years[i]}" if dated[i] else ""
        titles.append(
            f"{loose[i, 0]} {parts[0][i]} {parts[1][i]} {thing}, {loose[i, 1]} {loose[i, 2]} "
            f"{loose[i, 3]} {name[i]}{date} {i}"
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
    started = time.perf_counter()
    table = read_titles(titles, vocabulary)
    seconds = time.perf_counter() - started
    taken = sum(
        count for status, count in
        ((v["values"], v["counts"]) for v in table["category_status"].value_counts().to_pylist())
        if status == "accepted"
    )
    each = plain_loop(vocabulary, titles.slice(0, SAMPLE).to_pylist())
    print(
        f"{len(titles):,} distinct titles: {seconds:.1f} s; category accepted in "
        f"{100 * taken / len(titles):.0f} %; a plain loop for categories alone would take "
        f"{each * len(titles):,.0f} s ({each * len(titles) / seconds:,.0f} times)"
    )

    values = make_values(vocabulary, arguments.rows, arguments.values)
    n_distinct = len(values.unique())
    started = time.perf_counter()
    read_terms(values, "category", vocabulary=vocabulary)
    seconds = time.perf_counter() - started
    each = plain_loop(vocabulary, values.slice(0, SAMPLE).to_pylist())
    print(
        f"{len(values):,} rows of {n_distinct:,} distinct values: {seconds:.2f} s; a plain loop "
        f"over the distinct ones would take {each * n_distinct:,.1f} s "
        f"({each * n_distinct / seconds:.1f} times)"
    )
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MB")


if __name__ == "__main__":
    main()
