"""How fast sizes are read from titles of which a third state one.

    python -m tests.bench.bench_sizes [--titles 1_000_000]

Titles are made with a seeded generator and no two are the same. Beside it, in the same run, what
looking for a digit in each title costs.
"""

from __future__ import annotations

import argparse
import time

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.terms.sizes import read_sizes

SEED = 20_260_705
KINDS = (
    "oak table",
    "brass lamp",
    "Worcester vase",
    "oil on canvas",
    "mantel clock",
    "silver tray",
)
SHARE = 1 / 3


def make_titles(n: int) -> pa.Array:
    """n distinct titles of about seven words, `SHARE` of them with a size in one of twelve forms."""
    rng = np.random.default_rng(SEED)
    forms = (
        '{a}"', '{a} x {b} in.', "{a}cm high", "{a} x {b} cm", "H {a} cm", "{a} inches tall",
        "{a}.5 x {b} cm ({c} x {d} in)", "height {a}cm, width {b}cm", "{a} 1/2 in. wide",
        "{e}ft {d}in long", "diameter {a}.{e} cm", "Höhe {a} cm",
    )  # fmt: skip
    kind, form = rng.integers(0, len(KINDS), n), rng.integers(0, len(forms), n)
    a, b, e = rng.integers(12, 160, n), rng.integers(12, 160, n), rng.integers(1, 9, n)
    sized = rng.random(n) < SHARE
    titles = []
    for i in range(n):
        told = ""
        if sized[i]:
            sides = {"a": a[i], "b": b[i], "c": round(a[i] / 2.54), "d": round(b[i] / 2.54)}
            told = ", " + forms[form[i]].format(**sides, e=e[i])
        titles.append(f"A good Victorian {KINDS[kind[i]]}, circa {1800 + i % 130}{told}, lot {i}")
    return pa.array(titles)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--titles", type=lambda text: int(text.replace("_", "")), default=1_000_000)
    titles = make_titles(parser.parse_args().titles)
    started = time.perf_counter()
    pc.match_substring_regex(titles, "[0-9]")
    plain = time.perf_counter() - started
    started = time.perf_counter()
    found = read_sizes(titles)
    seconds = time.perf_counter() - started
    n_found = len(titles) - found["largest_cm"].null_count
    print(
        f"{len(titles):,} titles, a size in {n_found / len(titles):.0%}: {seconds:.2f} s, "
        f"{seconds / plain:.0f} times as long as looking for a digit"
    )


if __name__ == "__main__":
    main()
