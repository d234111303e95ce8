"""What waits for a person: spellings of fields, and titles of which nobody knows what they sell.

A spelling of a field is answered by a decision in data/decisions/terms.csv. A title is answered
by teaching the vocabulary the words that name the thing (`pipeline.answers.vocabulary.add_label`):
a decision on one whole title would serve that one sale only.
"""

from __future__ import annotations

import datetime as dt
import getpass
import subprocess
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import duckdb
import pyarrow as pa

from pipeline.answers.lookup import vocabulary_of
from pipeline.answers.query import connect
from pipeline.errors import DecisionError, UsageError
from pipeline.settings import TermSettings
from pipeline.sql import run
from pipeline.terms.decisions import (
    TermDecision,
    TermDecisions,
    append_decision,
    read_term_decisions,
)
from pipeline.terms.fields import FieldReader, field_reader
from pipeline.terms.lexicon import lexicon_for
from pipeline.terms.makers import MakerReader
from pipeline.terms.reader import KINDS, Candidate, read_terms, says_nothing
from pipeline.terms.vocabulary import Vocabulary
from pipeline.workspace import Workspace

FIELD, TITLE = "field", "title"
N_CANDIDATES = 5
N_EXAMPLES = 3
PLAIN_WHY = "answered in review"


@dataclass(frozen=True)
class Example:
    """One sale that carries the text: its title, and its price as read, before any basis."""

    sale_id: str
    title: str
    price: float | None
    currency: str | None
    sold_on: dt.date


@dataclass(frozen=True)
class Waiting:
    """One question to a person.

    Args:
        kind: kind of term.
        stated_in: field (one spelling of a mapped column) or title (titles read alike).
        text: the spelling, or the title that most sales carry.
        texts: the spelling alone, or all titles of the question.
        n_sales: sales that carry it.
        n_held: of these, sales that nothing else says it of; of category: that feed no band.
        candidates: the likeliest concepts first; none that a person rejected.
        examples: at most three sales, the newest first.
    """

    kind: str
    stated_in: str
    text: str
    texts: tuple[str, ...]
    n_sales: int
    n_held: int
    candidates: tuple[Candidate, ...] = ()
    examples: tuple[Example, ...] = ()


@dataclass(frozen=True)
class Review:
    """The questions that are shown, and how many there are in all."""

    items: tuple[Waiting, ...]
    n_items: int
    n_held: int


class _Read(NamedTuple):
    """What a title was read as."""

    concept_id: str | None
    also: list[str]
    score: float
    status: str


def review(workspace: Workspace, *, kind: str | None = None, limit: int = 20) -> Review:
    """What waits, the questions that hold up most sales first.

    What was decided, or taught to the vocabulary, since the last refresh waits no more.

    Args:
        kind: only this kind of term; None for all.
        limit: at most so many questions get candidates and examples.

    Raises:
        UsageError: an unknown kind, or a limit under 1.
        WorkspaceError: nothing has been published yet.
        VocabularyError, DecisionError: what people wrote does not hold.
    """
    if kind is not None and kind not in KINDS:
        raise UsageError(
            f"'{kind}' is no kind of term that is reviewed.",
            todo=f"Use one of: {', '.join(KINDS)}.",
        )
    if limit < 1:
        raise UsageError(f"At least one question must be shown; {limit} was asked for.")
    settings = workspace.settings().terms
    vocabulary = vocabulary_of(workspace)
    decisions = read_term_decisions(workspace.decisions / "terms.csv", vocabulary)
    with connect(workspace) as con:
        fields = _fields(con)
        asked = [one for one in fields if decisions.find(one.kind, one.text) is None]
        if kind in (None, "category"):
            spoken_for = [
                one.text for one in fields
                if one.kind == "category" and not _is_ignored(decisions, one)
            ]  # fmt: skip
            asked += _titles(con, spoken_for, vocabulary, settings)
        asked = [one for one in asked if kind in (None, one.kind)]
        asked.sort(key=lambda one: (-one.n_held, -one.n_sales, one.stated_in, one.kind, one.text))
        shown = asked[:limit]
        examples = _examples(con, shown)
    items = _with_candidates(shown, examples, vocabulary, decisions, settings)
    return Review(tuple(items), len(asked), sum(one.n_held for one in asked))


def decide(
    workspace: Workspace,
    vocabulary: Vocabulary,
    item: Waiting,
    action: str,
    concept_id: str | None,
    *,
    who: str,
    why: str = PLAIN_WHY,
) -> TermDecision:
    """Write a person's answer to data/decisions/terms.csv at once.

    Args:
        item: a question on the spelling of a field.
        action: accept, ignore or reject.
        concept_id: the concept accepted or rejected; None to ignore.

    Raises:
        UsageError: the question is on a title; a word of the vocabulary answers it.
        DecisionError: the decision does not hold; nothing is written.
    """
    if item.stated_in == TITLE:
        raise UsageError(
            "A title is not decided as a whole.",
            todo="Teach the vocabulary its words: `comparables vocabulary add`.",
        )
    try:
        return append_decision(
            workspace.decisions / "terms.csv", vocabulary, kind=item.kind, text=item.text,
            concept_id=concept_id, action=action, who=who, why=why.strip() or PLAIN_WHY,
        )  # fmt: skip
    except OSError as error:
        raise DecisionError(
            f"The decision cannot be written: {error.strerror}.",
            where=workspace.decisions / "terms.csv",
        ) from None


def who_decides(workspace: Workspace, given: str | None = None) -> str:
    """Who stands by the decisions: as given, else the name that git knows, else the user's."""
    if given and given.strip():
        return given.strip()
    try:
        asked = subprocess.run(
            ["git", "config", "user.name"],
            cwd=workspace.root, capture_output=True, text=True, timeout=5, check=False,
        )  # fmt: skip
        if asked.stdout.strip():
            return asked.stdout.strip()
    except (OSError, subprocess.TimeoutExpired):
        pass
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        raise UsageError(
            "Nobody is known to stand by the decisions.", todo="Say who with --who NAME."
        ) from None


def title_reads_as(
    titles: Sequence[str], vocabulary: Vocabulary, settings: TermSettings
) -> list[str | None]:
    """The category that each title is read as without doubt; None where there is a doubt."""
    rows = _read_titles(titles, vocabulary, settings)
    return [row.concept_id if row.status == "accepted" else None for row in rows]


def _fields(con: duckdb.DuckDBPyConnection) -> list[Waiting]:
    """Spellings that waited at the last refresh, decided since or not."""
    return [
        Waiting(kind, FIELD, text, (text,), n_sales, n_held)
        for kind, text, n_sales, n_held in run(con, "review_fields").fetchall()
        if not says_nothing(text)
    ]


def _is_ignored(decisions: TermDecisions, item: Waiting) -> bool:
    """Whether a person said that the spelling says nothing, so that the title has to."""
    found = decisions.find(item.kind, item.text)
    return found is not None and found.concept_id is None


def _titles(
    con: duckdb.DuckDBPyConnection,
    waiting: list[str],
    vocabulary: Vocabulary,
    settings: TermSettings,
) -> list[Waiting]:
    """Titles that are read alike are one question; a title of which nothing is read is its own."""
    found = run(con, "review_titles", waiting=waiting).fetchall()
    titles = [title for title, _ in found]
    together: dict[tuple[str, ...], list[int]] = {}
    for number, row in enumerate(_read_titles(titles, vocabulary, settings)):
        if row.status == "accepted":
            continue
        read = tuple(one for one in (row.concept_id, *row.also) if one)
        together.setdefault(read or ("", titles[number]), []).append(number)
    questions = []
    for numbers in together.values():
        n = sum(found[k][1] for k in numbers)
        texts = tuple(titles[k] for k in numbers)
        questions.append(Waiting("category", TITLE, texts[0], texts, n, n))
    return questions


def _read_titles(
    titles: Sequence[str], vocabulary: Vocabulary, settings: TermSettings
) -> list[_Read]:
    read = read_terms(
        pa.nulls(len(titles), pa.string()), "category", titles=pa.array(titles, pa.string()),
        vocabulary=vocabulary, settings=settings,
    )  # fmt: skip
    columns = ("concept_id", "also", "score", "status")
    parts = zip(*(read[name].to_pylist() for name in columns), strict=True)
    return [_Read(*values) for values in parts]


def _examples(con: duckdb.DuckDBPyConnection, shown: Sequence[Waiting]) -> dict[int, list[Example]]:
    asked = [
        {"item": number, "kind": TITLE if one.stated_in == TITLE else one.kind, "text": text}
        for number, one in enumerate(shown)
        for text in one.texts
    ]
    schema = pa.schema([("item", pa.int32()), ("kind", pa.string()), ("text", pa.string())])
    con.register("asked", pa.Table.from_pylist(asked, schema=schema))
    examples: dict[int, list[Example]] = {}
    for item, *told in run(con, "review_examples", n=N_EXAMPLES).fetchall():
        examples.setdefault(item, []).append(Example(*told))
    return examples


def _with_candidates(
    shown: Sequence[Waiting],
    examples: dict[int, list[Example]],
    vocabulary: Vocabulary,
    decisions: TermDecisions,
    settings: TermSettings,
) -> Iterable[Waiting]:
    lexicon = lexicon_for(vocabulary)
    readers: dict[str, FieldReader | MakerReader] = {}
    titles = [one.text for one in shown if one.stated_in == TITLE]
    read = dict(zip(titles, _read_titles(titles, vocabulary, settings), strict=True))
    for number, one in enumerate(shown):
        if one.kind not in readers:
            readers[one.kind] = field_reader(lexicon, one.kind, settings)
        found = [Candidate(*c) for c in readers[one.kind].candidates(one.text, 2 * N_CANDIDATES)]
        if one.stated_in == TITLE:
            found = _as_title(read[one.text], found, vocabulary)
        refused = decisions.rejected(one.kind, one.text)
        kept = [c for c in found if c.concept_id not in refused][:N_CANDIDATES]
        yield Waiting(
            one.kind, one.stated_in, one.text, one.texts, one.n_sales, one.n_held, tuple(kept),
            tuple(examples.get(number, ())),
        )  # fmt: skip


def _as_title(row: _Read, likenesses: list[Candidate], vocabulary: Vocabulary) -> list[Candidate]:
    """What the title itself was read as, then what a label like the whole of it would give."""
    named = [one for one in (row.concept_id, *row.also) if one]
    first = [
        Candidate(
            one, round(max(row.score - 5.0 * rank, 1.0), 1),
            vocabulary.concept("category", one).pref_label,
        )
        for rank, one in enumerate(named)
    ]  # fmt: skip
    return first + [one for one in likenesses if one.concept_id not in named]
