"""Speed of reading dates and the figures on the phrases written before the grammar.

Run: python -m tests.bench.bench_dates
"""

from __future__ import annotations

import csv
import datetime as dt
import time
from collections import Counter
from pathlib import Path

from pipeline.terms.dates import find_dates, read_date

TODAY = dt.date(2026, 11, 24)
PHRASES = Path(__file__).parents[1] / "terms" / "date_phrases.csv"
CONFIDENT = ("stated", "circa")


def main() -> None:
    with PHRASES.open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    for part in ("tune", "held", "later"):
        chosen = [row for row in rows if row["part"] == part]
        counts: Counter[str] = Counter()
        for row in chosen:
            reading = read_date(row["text"], today=TODAY)
            expected = tuple(int(row[end]) if row[end] else None for end in ("earliest", "latest"))
            right = (reading.earliest, reading.latest) == expected
            counts["right" if right else "wrong"] += 1
            if not right and reading.certainty in CONFIDENT:
                counts["wrong and confident"] += 1
        print(f"{part}: {len(chosen)} phrases, {dict(counts)}")
    # Distinct texts: the phrases with their first year moved.
    texts = list(
        {
            f"{row['text'].replace('18', str(14 + shift % 6))}{' ' * (shift // 6)}"
            for row in rows
            for shift in range(60)
        }
    )
    titles = [f"Mahogany chest of drawers {text} with brass handles" for text in texts]
    for name, function, batch in (
        ("read_date", read_date, texts),
        ("find_dates", find_dates, titles),
    ):
        started = time.process_time()
        for text in batch:
            function(text, today=TODAY)
        rate = len(batch) / (time.process_time() - started)
        print(f"{name}: {len(batch):,} distinct texts, {rate:,.0f} a second of one core (CPU time)")


if __name__ == "__main__":
    main()
