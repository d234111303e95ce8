"""How well texts are read, on titles and field values labelled by hand before any tuning.

    python -m tests.bench.bench_reading               both parts, figures only
    python -m tests.bench.bench_reading --part tune --show   every miss of the part to tune on
                                     (of the lists that only judge, none)

The wide lists come first: there a label names all terms that are as fair an answer, so that wrong is
wrong (tests/bench/wide_lists.py). In the others it names one, and each convention counts. There, per
kind: right (accepted and equal to the label), wrong (accepted and not), review, unread, the
coverage of rows that state the kind, the precision of what was accepted and the share of all rows
that was accepted wrongly. A label `?` means that the text can be read in two ways: review is the
right answer, none is tolerated, acceptance is wrong. `finer` counts, among the wrong, the concepts
that lie below the label's: the label may be older than the concept. See tests/terms/LABELS.md.
"""

from __future__ import annotations

import argparse

import pyarrow as pa

from pipeline.settings import TermSettings
from pipeline.terms.reader import read_terms
from pipeline.terms.titles import read_titles
from pipeline.terms.vocabulary import Vocabulary
from tests.bench.museum_texts import (
    JUDGED,
    OPEN,
    auction_dates,
    museum_categories,
    museum_dates,
    museum_materials,
)
from tests.bench.reading_score import HEADER, Score, count_term, labelled_rows
from tests.bench.wide_lists import HEADER as WIDE_HEADER
from tests.bench.wide_lists import measure_wide

KINDS = ("category", "material", "period", "attribution", "condition")
YEARS_OF_PARTS = 10  # years; the ends of early, mid and late are conventions
ONLY_JUDGED = {"judged titles"}  # lists of which nobody sees a row: sums only, whatever is asked


def measure_titles(
    part: str, vocabulary: Vocabulary, name: str = "labelled_titles.csv"
) -> dict[str, Score]:
    """Score the labelled titles of a part."""
    rows = labelled_rows(name, part)
    table = read_titles(pa.array([row["title"] for row in rows]), vocabulary).to_pylist()
    scores = {kind: Score() for kind in (*KINDS, "date", "faults")}
    for row, read in zip(rows, table, strict=True):
        for kind in ("category", "material", "period", "condition"):
            value = read["condition" if kind == "condition" else f"{kind}_id"]
            above = vocabulary.ancestors(kind, value) if value else ()
            count_term(scores[kind], row["title"], row[kind], value, read[f"{kind}_status"], above)
        # the class of the rung is always answered: "unknown" is an answer
        status = "review" if read["attribution_status"] == "review" else "accepted"
        count_term(
            scores["attribution"], row["title"], row["attribution"], read["attribution"], status
        )
        _count_dates(scores["date"], row, read, vocabulary)
        _count_faults(scores["faults"], row, read)
    return scores


def measure_fields(part: str, vocabulary: Vocabulary) -> dict[str, Score]:
    """Score the labelled field values of a part."""
    scores = {kind: Score() for kind in KINDS}
    rows = labelled_rows("labelled_fields.csv", part)
    for kind in KINDS:
        of_kind = [row for row in rows if row["kind"] == kind]
        texts = pa.array([row["text"] for row in of_kind], pa.string())
        table = read_terms(texts, kind, vocabulary=vocabulary).to_pylist()
        for row, read in zip(of_kind, table, strict=True):
            count_term(
                scores[kind], row["text"], row["concept_id"], read["concept_id"], read["status"]
            )
    return scores


def measure_materials(part: str, vocabulary: Vocabulary) -> Score:
    """Score the titles that are labelled for their material alone."""
    rows = labelled_rows("labelled_materials.csv", part)
    table = read_titles(pa.array([row["title"] for row in rows]), vocabulary).to_pylist()
    score = Score()
    for row, read in zip(rows, table, strict=True):
        value = read["material_id"]
        above = vocabulary.ancestors("material", value) if value else ()
        count_term(score, row["title"], row["material"], value, read["material_status"], above)
    return score


def measure_kinds(part: str, vocabulary: Vocabulary) -> Score:
    """Score the titles that are labelled for what the thing is alone."""
    rows = labelled_rows("labelled_kinds.csv", part)
    table = read_titles(pa.array([row["title"] for row in rows]), vocabulary).to_pylist()
    score = Score()
    for row, read in zip(rows, table, strict=True):
        value = read["category_id"]
        above = vocabulary.ancestors("category", value) if value else ()
        count_term(score, row["title"], row["category"], value, read["category_status"], above)
    return score


def measure_reports(part: str, vocabulary: Vocabulary) -> dict[str, Score]:
    """Score the condition reports: a fault marked `?` may be found or not."""
    rows = labelled_rows("labelled_condition.csv", part)
    table = read_titles(pa.array([row["title"] for row in rows]), vocabulary).to_pylist()
    scores = {kind: Score() for kind in ("period", "attribution", "condition", "faults")}
    for row, read in zip(rows, table, strict=True):
        for kind in ("period", "condition"):
            value = read["condition" if kind == "condition" else "period_id"]
            count_term(scores[kind], row["title"], row[kind], value, read[f"{kind}_status"])
        status = "review" if read["attribution_status"] == "review" else "accepted"
        count_term(
            scores["attribution"], row["title"], row["attribution"], read["attribution"], status
        )
        _count_faults(scores["faults"], row, read)
    return scores


def _count_dates(
    score: Score, row: dict[str, str], read: dict[str, object], vocabulary: Vocabulary
) -> None:
    label = (row["date_earliest"], row["date_latest"])
    found = (read["made_earliest"], read["made_latest"])
    score.rows += 1
    if "?" in label:
        return
    if label == ("", ""):
        # the years of a period that the title names are right too
        if found == (None, None) or (read["period_id"] is not None and row["period"]):
            return
        score.wrong += 1
        score.misses.append(f"WRONG  {row['title']} -> {found} (label none)")
        return
    score.stated += 1
    if found == (None, None):
        score.unread += 1
        score.misses.append(f"unread {row['title']} (label {label})")
        return
    wanted = tuple(int(year) if year else None for year in label)
    near = all(
        (a is None) == (b is None) and (a is None or abs(int(str(a)) - b) <= YEARS_OF_PARTS)
        for a, b in zip(found, wanted, strict=True)
    )
    if near:
        score.right += 1
    else:
        score.wrong += 1
        score.misses.append(f"WRONG  {row['title']} -> {found} (label {label})")


def _count_faults(score: Score, row: dict[str, str], read: dict[str, object]) -> None:
    """Each fault counts for itself: stated and found, found and not stated, or missed."""
    wanted = {part for part in row["faults"].split("|") if part}
    found = set(read["faults"] or [])  # type: ignore[call-overload]
    score.rows += 1
    if "?" in wanted:
        return
    open_to_doubt = {part[1:] for part in wanted if part.startswith("?")}
    wanted = {part for part in wanted if not part.startswith("?")}
    found -= open_to_doubt - wanted
    score.stated += len(wanted)
    score.right += len(wanted & found)
    score.wrong += len(found - wanted)
    score.unread += len(wanted - found)
    if wanted != found:
        score.misses.append(
            f"faults {row['title']} -> missed {sorted(wanted - found)}, "
            f"too many {sorted(found - wanted)}"
        )


LEAST_SURE = (80.0, 90.0, 95.0, 97.0, 98.0, 98.5)  # chance in 100


def _wide(part: str, vocabulary: Vocabulary, *, show: bool) -> None:
    """Print the wide lists: texts by many hands, each label with what is as fair an answer."""
    scores = measure_wide(part, vocabulary)
    print(f"\nwide lists, part {part}", WIDE_HEADER, sep="\n")
    print(*(score.line(kind) for kind, score in scores.items()), sep="\n")
    print("left to a person where less sure than (right of what is stated, wrong of all):")
    for least in LEAST_SURE:
        bought = measure_wide(part, vocabulary, TermSettings(least_sure=least))
        told = (
            f"{kind} {100 * bought[kind].right / bought[kind].stated:.1f} % and "
            f"{100 * bought[kind].wrong_share:.2f} %"
            for kind in ("category", "material")
        )
        print(f"  {least:>4}: {', '.join(told)}")
    if show and part == "tune":
        for kind, score in scores.items():
            print(f"\n-- wide lists, {kind}", *score.misses, sep="\n")


def _museum(part: str, vocabulary: Vocabulary, *, show: bool) -> None:
    print(f"\ntexts of museums and in the manner of catalogues, part {part}")
    dates, missed = museum_dates(part)
    print(dates.line("dates of museums"))
    catalogue, missed_too = auction_dates(part)
    print(catalogue.line("dates of catalogues"))
    materials = museum_materials(part, vocabulary)
    print(HEADER, materials.line("mediums"), sep="\n")
    if show:
        print("\n-- museums and catalogues", *missed, *missed_too, *materials.misses, sep="\n")


def _open_museum(vocabulary: Vocabulary) -> None:
    """Print the sums of the open records of nine museums, all of the part to tune on."""
    dates, _ = museum_dates("tune", OPEN)
    print("\nopen records of museums, part tune", dates.line("dates"), HEADER, sep="\n")
    print(museum_categories("tune", vocabulary, OPEN).line("category"))
    print(museum_materials("tune", vocabulary, OPEN).line("mediums"))


def _judged_museum(vocabulary: Vocabulary) -> None:
    """Print the sums of the museums' records that only judge; they are all of the held part."""
    dates, _ = museum_dates("held", JUDGED)
    print("\njudged texts of museums, part held", dates.line("dates"), HEADER, sep="\n")
    print(museum_categories("held", vocabulary).line("category"))
    print(museum_materials("held", vocabulary, JUDGED).line("mediums"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--part", choices=("tune", "held", "both"), default="both")
    parser.add_argument("--show", action="store_true", help="print every miss")
    parser.add_argument("--kind", help="show this kind only")
    arguments = parser.parse_args()
    vocabulary = Vocabulary.load()
    parts = ("tune", "held") if arguments.part == "both" else (arguments.part,)
    for part in parts:
        _wide(part, vocabulary, show=arguments.show)
        for name, scores in (
            ("titles", measure_titles(part, vocabulary)),
            ("trade titles", measure_titles(part, vocabulary, "labelled_trade.csv")),
            ("fresh titles", measure_titles(part, vocabulary, "labelled_fresh.csv")),
            ("later titles", measure_titles(part, vocabulary, "labelled_later.csv")),
            ("material titles", {"material": measure_materials(part, vocabulary)}),
            ("kind titles", {"category": measure_kinds(part, vocabulary)}),
            (
                "museums' kinds",
                {"category": museum_categories(part, vocabulary, "museum_kinds.csv")},
            ),
            ("condition reports", measure_reports(part, vocabulary)),
            ("judged titles", measure_titles(part, vocabulary, "labelled_judged.csv")),
            ("fields", measure_fields(part, vocabulary)),
        ):
            print(f"\n{name}, part {part}\n{HEADER}")
            for kind, score in scores.items():
                print(score.line(kind))
            if arguments.show and name not in ONLY_JUDGED:
                for kind, score in scores.items():
                    if arguments.kind in (None, kind):
                        print(f"\n-- {name}, {kind}", *score.misses, sep="\n")
        _museum(part, vocabulary, show=arguments.show)
        if part == "held":
            _judged_museum(vocabulary)
        else:
            _open_museum(vocabulary)


if __name__ == "__main__":
    main()
