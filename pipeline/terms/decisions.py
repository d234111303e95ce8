"""What people decided on texts: data/decisions/terms.csv, one decision a line.

`accept`: the text means the concept. `ignore`: the text says nothing in that kind. `reject`: the
text does not mean that concept, whatever its likeness; another may still be found for it.
"""

from __future__ import annotations

import contextlib
import csv
import datetime as dt
import io
import os
import re
import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pipeline.csv_rows import read_rows
from pipeline.errors import DecisionError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary import Vocabulary

if TYPE_CHECKING:
    import pyarrow as pa

HEADER = ("kind", "text", "concept_id", "action", "who", "decided_on", "why")
ACTIONS = ("accept", "ignore", "reject")

# A spreadsheet program runs a cell that begins so as a formula; an apostrophe keeps it text.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_GUARDED = re.compile(r"\A'(?='?[=+\-@\t\r])")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_PLUS = re.compile(r"\+")
_Fail = Callable[[str, str, str], DecisionError]
_MINUS_SIGN = re.compile(r"(?<=\w)-(?=\s|$)")


class TermDecision(NamedTuple):
    """One line of terms.csv; `concept_id` is None where the text is ignored."""

    kind: str
    text: str
    concept_id: str | None
    action: str
    who: str
    decided_on: dt.date
    why: str
    line: int


def decision_key(text: str) -> str:
    """The form in which two texts are the same text for a decision.

    As `normalise_label`, but a plus or minus sign after a grade ("B+", "B-") stays, and a text
    of marks alone is itself.
    """
    signed = _MINUS_SIGN.sub(" minus ", _PLUS.sub(" plus ", text))
    return normalise_label(signed) or " ".join(text.split())


class TermDecisions:
    """The decisions of a workspace, found by kind and text."""

    def __init__(self, decisions: Iterable[TermDecision]) -> None:
        self.decisions = tuple(decisions)
        self._settled: dict[tuple[str, str], TermDecision] = {}
        self._rejected: dict[tuple[str, str], frozenset[str]] = {}
        for one in self.decisions:
            key = (one.kind, decision_key(one.text))
            if one.action == "reject":
                self._rejected[key] = self._rejected.get(key, frozenset()) | {str(one.concept_id)}
            else:
                self._settled.setdefault(key, one)
        self._kinds = {one.kind for one in self.decisions}

    def __len__(self) -> int:
        return len(self.decisions)

    def find(self, kind: str, text: str) -> TermDecision | None:
        """The decision that settles a text (accept or ignore), None where none does."""
        if kind not in self._kinds:
            return None
        return self._settled.get((kind, decision_key(text)))

    def rejected(self, kind: str, text: str) -> frozenset[str]:
        """Ids of the concepts that a person said the text does not mean."""
        if kind not in self._kinds:
            return frozenset()
        return self._rejected.get((kind, decision_key(text)), frozenset())

    def unused(self, seen: Iterable[tuple[str, str]]) -> tuple[TermDecision, ...]:
        """The decisions whose (kind, text) is not among the texts `seen`."""
        met = {(kind, decision_key(text)) for kind, text in seen if kind in self._kinds}
        return tuple(one for one in self.decisions if (one.kind, decision_key(one.text)) not in met)

    @property
    def table(self) -> pa.Table:
        """One row a decision: the columns of terms.csv (decided_on as date32) and line (int32).

        `concept_id` is null where the text is ignored.
        """
        import pyarrow as pa

        schema = pa.schema(
            [(name, pa.date32() if name == "decided_on" else pa.string()) for name in HEADER]
            + [("line", pa.int32())]
        )
        return pa.Table.from_pylist([one._asdict() for one in self.decisions], schema=schema)


def read_term_decisions(path: Path, vocabulary: Vocabulary) -> TermDecisions:
    """Read and prove data/decisions/terms.csv; no decisions where there is no such file.

    Raises:
        DecisionError: with file, line and column: an unknown kind, concept or action; nobody,
            no date or no reason given; a date that is none; two lines that disagree on a text.
    """
    if not path.exists():
        return TermDecisions(())
    proved: list[TermDecision] = []
    settled: dict[tuple[str, str], TermDecision] = {}
    rejected: dict[tuple[str, str], dict[str, TermDecision]] = {}
    for line, cells in read_rows(path, HEADER, DecisionError):
        decision = _prove(cells, vocabulary, path, line)
        _check_agreement(decision, settled, rejected, path)
        proved.append(decision)
    return TermDecisions(proved)


def append_decision(
    path: Path,
    vocabulary: Vocabulary,
    *,
    kind: str,
    text: str,
    concept_id: str | None,
    action: str,
    who: str,
    why: str,
    decided_on: dt.date | None = None,
) -> TermDecision:
    """Add one decision to data/decisions/terms.csv, all or nothing.

    The lines that are there stay as they are, byte for byte. The file is written beside itself
    and put in place in one step, so a reader or a crash never meets half of it.

    Args:
        decided_on: the day of the decision; today where not given.

    Raises:
        DecisionError: the decision does not hold, or disagrees with one that is there; nothing
            is written.
    """
    cells = {
        "kind": kind,
        "text": text,
        "concept_id": concept_id or "",
        "action": action,
        "who": who,
        "decided_on": (decided_on or dt.date.today()).isoformat(),
        "why": why,
    }
    cells = {name: " ".join(cell.split()) for name, cell in cells.items()}
    there = read_term_decisions(path, vocabulary)
    before = path.read_bytes() if path.exists() else b""
    line = before.count(b"\n") + 1 + (not before.endswith(b"\n"))
    decision = _prove(cells, vocabulary, path, line)
    settled: dict[tuple[str, str], TermDecision] = {}
    rejected: dict[tuple[str, str], dict[str, TermDecision]] = {}
    for one in (*there.decisions, decision):
        _check_agreement(one, settled, rejected, path)

    header = _header_of(before) if before.strip() else list(HEADER)
    start = before if before.strip() else (_csv_line(list(HEADER))).encode("utf-8")
    if not start.endswith(b"\n"):
        start += b"\n"
    added = _csv_line([_guard(cells.get(name, "")) for name in header])
    write_in_one_step(path, start + added.encode("utf-8"))
    return decision


def _prove(cells: Mapping[str, str], vocabulary: Vocabulary, path: Path, line: int) -> TermDecision:
    said = {name: _GUARDED.sub("", cells[name], count=1) for name in HEADER}

    def fail(column: str, what: str, todo: str) -> DecisionError:
        return DecisionError(what, where=f"{path}, line {line}, column {column}", todo=todo)

    for column, what in (
        ("kind", "The decision names no kind of term."),
        ("text", "The decision names no text."),
        ("action", "The decision does not say what to do with the text."),
        ("who", f"Nobody stands by the decision on '{said['text']}'."),
        ("decided_on", f"The decision on '{said['text']}' has no date."),
        ("why", f"The decision on '{said['text']}' gives no reason."),
    ):
        if not said[column]:
            raise fail(column, what, f"Fill the column {column}.")
    kind, action, concept_id = said["kind"], said["action"], said["concept_id"]
    if kind not in vocabulary.kinds:
        todo = f"Use one of: {', '.join(vocabulary.kinds)}."
        raise fail("kind", f"'{kind}' is no kind of term.", todo)
    if action not in ACTIONS:
        raise fail("action", f"'{action}' is no action.", f"Use one of: {', '.join(ACTIONS)}.")
    if action == "ignore" and concept_id:
        raise fail(
            "concept_id",
            f"'{said['text']}' is to be ignored and names the {kind} {concept_id}.",
            "Leave concept_id empty, or accept the concept.",
        )
    if action != "ignore" and not concept_id:
        todo = f"Name the id of a {kind}, or use the action ignore."
        raise fail("concept_id", f"The decision on '{said['text']}' names no {kind}.", todo)
    if concept_id and not vocabulary.has(kind, concept_id):
        near = vocabulary.nearest_labels(kind, concept_id.replace("-", " "))
        names = ", ".join(f"{one.concept_id} ({one.label})" for one in near)
        todo = f"Nearest: {names}." if names else f"The vocabulary holds no {kind} yet."
        raise fail("concept_id", f"There is no {kind} '{concept_id}'.", todo)
    return TermDecision(
        kind, said["text"], concept_id or None, action, said["who"],
        _date(said["decided_on"], fail), said["why"], line,
    )  # fmt: skip


def _date(text: str, fail: _Fail) -> dt.date:
    # fromisoformat alone also takes week dates and dates without hyphens
    if _DATE.match(text):
        with contextlib.suppress(ValueError):
            return dt.date.fromisoformat(text)
    raise fail("decided_on", f"'{text}' is no date.", "Write it as YYYY-MM-DD.")


def _check_agreement(
    decision: TermDecision,
    settled: dict[tuple[str, str], TermDecision],
    rejected: dict[tuple[str, str], dict[str, TermDecision]],
    path: Path,
) -> None:
    """Note the decision, and raise if it disagrees with one that was noted before."""
    key = (decision.kind, decision_key(decision.text))
    refused = rejected.setdefault(key, {})
    other: TermDecision | None = None
    if decision.action == "reject":
        refused.setdefault(str(decision.concept_id), decision)
        first = settled.get(key)
        if first is not None and first.concept_id == decision.concept_id:
            other = first
    else:
        first = settled.setdefault(key, decision)
        if first.concept_id != decision.concept_id:
            other = first
        elif decision.concept_id in refused:
            other = refused[decision.concept_id]
    if other is not None:
        raise DecisionError(
            f"Two decisions on the {decision.kind} '{decision.text}' disagree: "
            f"{_in_words(other)} in line {other.line}, {_in_words(decision)} in line "
            f"{decision.line}.",
            where=f"{path}, line {decision.line}, column concept_id",
            todo="Keep the one that is right and remove the other.",
        )


def _in_words(decision: TermDecision) -> str:
    return " ".join(part for part in (decision.action, decision.concept_id) if part)


def _guard(cell: str) -> str:
    # A cell that already looks guarded gets a guard of its own, so that reading gives it back.
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) or _GUARDED.match(cell) else cell


def _csv_line(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()


def _header_of(data: bytes) -> list[str]:
    lines = io.StringIO(data.decode("utf-8-sig"), newline="")
    first = next(row for row in csv.reader(lines) if any(cell.strip() for cell in row))
    return [cell.strip() for cell in first]


def write_in_one_step(path: Path, data: bytes) -> None:
    """Write a file beside itself and put it in place whole; its mode stays."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        # mkstemp makes the file private; a shared folder needs the mode the old file had.
        temporary.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
