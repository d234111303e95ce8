"""How titles of known meaning are judged, and what fails of them: the same for every kind."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Protocol, TypeVar

import pyarrow as pa

from pipeline.terms.titles import read_titles

_MOST_SHOWN = 120


class Case(Protocol):
    """A title, its pattern, and the concept that may be accepted for it, or the one that may not."""

    @property
    def title(self) -> str: ...
    @property
    def pattern(self) -> str: ...
    @property
    def wanted(self) -> str | None: ...
    @property
    def barred(self) -> str | None: ...


C = TypeVar("C", bound=Case)


def judge(cases: Sequence[C], kind: str) -> Iterator[tuple[C, str | None, str]]:
    """Each case with the concept read and "right", "wrong" (accepted in error) or "other".

    Args:
        kind: category or material.
    """
    table = read_titles(pa.array([case.title for case in cases]))
    readings = zip(
        table[f"{kind}_id"].to_pylist(), table[f"{kind}_status"].to_pylist(), strict=True
    )
    for case, (concept, status) in zip(cases, readings, strict=True):
        accepted = concept if status == "accepted" else None
        if case.barred is not None:
            verdict = "wrong" if accepted == case.barred else "right"
        elif accepted is None:
            verdict = "right" if case.wanted is None else "other"
        else:
            verdict = "right" if accepted == case.wanted else "wrong"
        yield case, concept if accepted else f"({concept})" if concept else None, verdict


def tell(judged: Sequence[tuple[C, str | None, str]], *keys: str) -> None:
    """Print what is not right, by each key of the cases and title by title."""
    for key in keys:
        counts: dict[str, Counter[str]] = defaultdict(Counter)
        for case, _, verdict in judged:
            counts[getattr(case, key)][verdict] += 1
        print(f"\n-- by {key}")
        worst = sorted(counts.items(), key=lambda item: (-item[1]["wrong"], -item[1]["other"]))
        for name, of in worst[:_MOST_SHOWN]:
            if of["wrong"] or of["other"]:
                print(f"{name:<64} n {of.total():>3} wrong {of['wrong']:>3} other {of['other']:>3}")
    print("\n-- titles")
    for case, read, verdict in judged:
        if verdict != "right":
            known = case.wanted or case.barred
            print(f"{verdict:<6} {case.title:<80} -> {read} (known: {known})")
    print(f"\n{len(judged)} titles: {dict(Counter(verdict for _, _, verdict in judged))}")
