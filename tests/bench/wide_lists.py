"""The wide lists: texts by many hands, each label with all that an expert would accept as well.

`labelled_wide.csv` names a term in a cataloguer's own words (`kind`) and beside it the others that
are as fair an answer (`kind_ok`, parted by `|`); the words are looked up among the vocabulary's
labels here. So a reading counts as wrong only where it would be a mistake in a price band. Rows
whose words the vocabulary does not know are counted apart, as unmeasured.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field

import pyarrow as pa

from pipeline.settings import TermSettings
from pipeline.terms.aliases import canonical
from pipeline.terms.lexicon import lexicon_for
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary
from tests.bench.reading_score import LABELS

LIST = LABELS / "labelled_wide.csv"
COLUMNS = (
    "text", "kind", "kind_ok", "material", "material_ok", "period", "period_ok",
    "earliest", "latest", "hand", "part",
)  # fmt: skip
KINDS = {"category": "kind", "material": "material", "period": "period"}
YEARS_OF_PARTS = 10  # years; the ends of early, mid and late are conventions
HEADER = (
    f"{'kind':<10}{'rows':>6}{'stated':>8}{'right':>7}{'finer':>7}{'wrong':>7}{'open':>6}"
    f"{'beyond':>8}{'review':>8}{'unread':>8}{'unmeasured':>12}{'coverage':>10}{'wrong':>9}"
)


@dataclass
class WideScore:
    """Counts of one kind.

    finer: below the label, and not among what was accepted with it. open: accepted though the
    label says that the text leaves it open. beyond: accepted though the label states none (a
    technique, an age, a culture). unmeasured: the vocabulary has none of the label's words.
    """

    rows: int = 0
    right: int = 0
    finer: int = 0
    wrong: int = 0
    open: int = 0
    beyond: int = 0
    review: int = 0
    unread: int = 0
    unmeasured: int = 0
    misses: list[str] = field(default_factory=list)

    @property
    def stated(self) -> int:
        """Rows whose label states a term that can be measured."""
        return self.right + self.finer + self.wrong + self.review + self.unread

    @property
    def wrong_share(self) -> float:
        """Wrong and accepted, what was left open included, of all rows."""
        return (self.wrong + self.open) / self.rows if self.rows else 0.0

    def line(self, name: str) -> str:
        coverage = f"{100 * self.right / self.stated:.1f} %" if self.stated else "-"
        return (
            f"{name:<10}{self.rows:>6}{self.stated:>8}{self.right:>7}{self.finer:>7}{self.wrong:>7}"
            f"{self.open:>6}{self.beyond:>8}{self.review:>8}{self.unread:>8}{self.unmeasured:>12}"
            f"{coverage:>10}{100 * self.wrong_share:>7.2f} %"
        )


def wide_rows(part: str) -> list[dict[str, str]]:
    """The rows of a part, tune or held."""
    with LIST.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["part"] == part]


def measure_wide(
    part: str, vocabulary: Vocabulary, settings: TermSettings | None = None
) -> dict[str, WideScore]:
    """Score the rows of a part for kind, material, period and date."""
    rows = wide_rows(part)
    table = read_titles(pa.array([row["text"] for row in rows]), vocabulary, settings).to_pylist()
    scores = {name: WideScore() for name in (*KINDS, "date")}
    for row, read in zip(rows, table, strict=True):
        for kind, column in KINDS.items():
            _count_term(scores[kind], vocabulary, kind, row, column, read)
        _count_date(scores["date"], row, read)
    return scores


def concepts_of(vocabulary: Vocabulary, kind: str, words: str) -> set[str]:
    """The concepts that a label's words are a label of: none, one, or each side of the ocean's."""
    lexicon = lexicon_for(vocabulary)
    phrase = lexicon.phrase_numbers.get(canonical(words.strip(), lexicon.aliases), -1)
    if phrase < 0:
        return set()
    numbers = {int(lexicon.concept_of[kind][phrase])}
    numbers.update(lexicon.choices(kind).get(phrase, {}).values())
    return {lexicon.concept_ids[kind][number] for number in numbers if number >= 0}


def _count_term(
    score: WideScore,
    vocabulary: Vocabulary,
    kind: str,
    row: dict[str, str],
    column: str,
    read: dict[str, object],
) -> None:
    score.rows += 1
    label, value = row[column], read[f"{kind}_id"]
    accepted = read[f"{kind}_status"] == "accepted"
    if kind == "period" and read["period_is_style"]:
        accepted = False  # a style is no claim of a period
    named = set() if label == "?" else concepts_of(vocabulary, kind, label)
    fair = named.union(
        *(concepts_of(vocabulary, kind, words) for words in row[f"{column}_ok"].split("|"))
    )
    shown = f"{row['text']} -> {value} (label {label or 'none'}, or {row[f'{column}_ok']})"
    if not accepted:
        if label in ("", "?"):
            return
        if not fair:
            score.unmeasured += 1
        elif read[f"{kind}_status"] == "review":
            score.review += 1
            score.misses.append(f"review {shown}")
        else:
            score.unread += 1
            score.misses.append(f"unread {shown}")
        return
    if value in fair:
        score.right += label not in ("", "?")
    elif label == "?":
        score.open += 1
        score.misses.append(f"OPEN   {shown}")
    elif not label:
        score.beyond += 1
    elif not named:
        score.unmeasured += 1
    elif named & set(vocabulary.ancestors(kind, str(value))):
        score.finer += 1
    else:
        score.wrong += 1
        score.misses.append(f"WRONG  {shown}")


def _count_date(score: WideScore, row: dict[str, str], read: dict[str, object]) -> None:
    score.rows += 1
    label = (row["earliest"], row["latest"])
    found = (read["made_earliest"], read["made_latest"])
    shown = f"{row['text']} -> {found} (label {label})"
    if "?" in label:
        return  # whether a hedged year is taken is a matter of convention
    if label == ("", ""):
        score.beyond += found != (None, None) and read["period_id"] is None
        return
    if found == (None, None):
        score.unread += 1
        score.misses.append(f"unread {shown}")
        return
    near = all(
        (a is None) == (not b) and (a is None or abs(int(str(a)) - int(b)) <= YEARS_OF_PARTS)
        for a, b in zip(found, label, strict=True)
    )
    # "Edo period, 17th century": the years of the period named narrow the century
    narrowed = read["period_id"] is not None and _within(found, label)
    right = near or narrowed
    score.right += right
    score.wrong += not right
    if not right:
        score.misses.append(f"WRONG  {shown}")


def _within(found: tuple[object, object], label: tuple[str, str]) -> bool:
    if None in found or "" in label:
        return False
    return (
        int(str(found[0])) >= int(label[0]) - YEARS_OF_PARTS
        and int(str(found[1])) <= int(label[1]) + YEARS_OF_PARTS
    )
