"""What is counted when readings are held against labels, the same for every list of texts."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

LABELS = Path(__file__).resolve().parent.parent / "terms"


@dataclass
class Score:
    """Counts of one kind."""

    stated: int = 0
    right: int = 0
    wrong: int = 0
    finer: int = 0  # of the wrong: the concept read lies below the label's
    review: int = 0
    unread: int = 0
    rows: int = 0
    misses: list[str] = field(default_factory=list)

    def line(self, name: str) -> str:
        accepted = self.right + self.wrong
        return (
            f"{name:<12}{self.rows:>6}{self.stated:>8}{self.right:>7}{self.wrong:>7}{self.finer:>7}"
            f"{self.review:>8}{self.unread:>8}"
            f"{_share(self.right, self.stated):>10}{_share(self.right, accepted):>11}"
            f"{_share(self.review, self.rows):>9}{_share(self.wrong, self.rows):>9}"
        )


HEADER = (
    f"{'kind':<12}{'rows':>6}{'stated':>8}{'right':>7}{'wrong':>7}{'finer':>7}{'review':>8}{'unread':>8}"
    f"{'coverage':>10}{'precision':>11}{'review':>9}{'wrong':>9}"
)


def count_term(
    score: Score,
    text: str,
    label: str,
    value: str | None,
    status: str,
    above: tuple[str, ...] = (),
) -> None:
    """Count one reading. label: the concept stated, "" for none, "?" where review is the answer;
    above: the concepts above the one read."""
    score.rows += 1
    score.stated += label not in ("", "?")
    if status == "accepted" and value is not None:
        if value == label:
            score.right += 1
            return
        score.wrong += 1
        score.finer += label in above
        score.misses.append(f"WRONG  {text} -> {value} (label {label or 'none'})")
    elif status == "review":
        score.review += 1
        if label != "?":
            score.misses.append(f"review {text} -> {value} (label {label or 'none'})")
    else:
        score.unread += 1
        if label not in ("", "?"):
            score.misses.append(f"unread {text} (label {label})")


def labelled_rows(name: str, part: str) -> list[dict[str, str]]:
    """The rows of a list of labelled texts that belong to a part."""
    with (LABELS / name).open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["part"] == part]


def _share(count: int, total: int) -> str:
    return f"{100 * count / total:.1f} %" if total else "-"
