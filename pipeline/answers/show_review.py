"""The review as a person meets it: one question after the other, or a list."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from dataclasses import asdict

from rich.console import Console
from rich.text import Text

from pipeline.answers.lookup import vocabulary_of
from pipeline.answers.review import (
    N_CANDIDATES,
    N_EXAMPLES,
    PLAIN_WHY,
    TITLE,
    Review,
    Waiting,
    decide,
    title_reads_as,
)
from pipeline.answers.show import console_of, plain_text, safe_cell
from pipeline.answers.vocabulary import add_label
from pipeline.errors import ComparablesError
from pipeline.terms.reader import Candidate
from pipeline.terms.text import normalise_label
from pipeline.workspace import Workspace

HELP = (
    "  1, 2 ...   the text means this concept\n"
    "  n WORDS    it means another one: names it, or lists the nearest\n"
    "  i          the text says nothing of this kind: ignore it\n"
    "  r 1        the text does not mean candidate 1\n"
    "  s, Enter   leave it for later\n"
    "  q          stop; what was answered is saved"
)
HELP_TITLES = (
    "  1, 2 ...   these titles sell this; you are asked for the words that say so\n"
    "  n WORDS    they sell something else: names it, or lists the nearest\n"
    "  s, Enter   leave it for later\n"
    "  q          stop; what was answered is saved"
)
_SAID = re.compile(r"(?P<key>[a-z?]|\d+)(?:\s+(?P<rest>\S.*))?\Z", re.IGNORECASE)
Ask = Callable[[str], str]


def review_as_json(found: Review) -> str:
    """All that is known of the questions shown, and their number in all."""
    shown = {
        "questions_in_all": found.n_items,
        "sales_held_up": found.n_held,
        "questions": [asdict(one) for one in found.items],
    }
    return json.dumps(shown, default=str, ensure_ascii=False, indent=1) + "\n"


def review_as_csv(found: Review) -> str:
    """A line a question; text that a spreadsheet would run as a formula is guarded."""
    out = io.StringIO()
    writer = csv.writer(out)
    header = ["kind", "stated_in", "text", "n_texts", "n_sales", "n_held"]
    header += [f"{what}_{k}" for k in range(1, N_CANDIDATES + 1) for what in ("concept", "score")]
    writer.writerow([*header, *(f"example_{k}" for k in range(1, N_EXAMPLES + 1))])
    for one in found.items:
        cells: list[object] = [
            one.kind, one.stated_in, one.text, len(one.texts), one.n_sales, one.n_held
        ]  # fmt: skip
        for k in range(N_CANDIDATES):
            known = k < len(one.candidates)
            cells += [one.candidates[k].concept_id, one.candidates[k].score] if known else ["", ""]
        cells += [_example(e.title, e.price, e.currency) for e in one.examples]
        cells += [""] * (len(header) + N_EXAMPLES - len(cells))
        writer.writerow([safe_cell(cell) for cell in cells])
    return out.getvalue()


class Dialogue:
    """Asks a person one question after the other and saves each answer at once.

    Args:
        ask: gives a prompt and returns the line typed; raises EOFError at the end of input.
    """

    def __init__(
        self,
        workspace: Workspace,
        who: str,
        ask: Ask,
        console: Console | None = None,
    ) -> None:
        self._workspace = workspace
        self._vocabulary = vocabulary_of(workspace)
        self._who = who
        self._ask = ask
        self._console = console or console_of()
        self.n_decisions = 0
        self.n_labels = 0

    def run(self, found: Review) -> None:
        """Go through the questions until they are answered, skipped or the person stops."""
        say = self._console.print
        if not found.items:
            say("Nothing waits for a decision.")
            return
        say(
            f"{found.n_items:,} questions hold up {found.n_held:,} sales; the {len(found.items)} "
            f"that hold up most are asked. You answer as {self._who}. ? shows the answers."
        )
        try:
            for number, item in enumerate(found.items, 1):
                self._show(item, f"{number} of {len(found.items)}")
                self._question(item)
        except (EOFError, _Stop):
            say()
        self._end()

    def _question(self, item: Waiting) -> None:
        candidates = list(item.candidates)
        while True:
            said = _SAID.match(self._ask("? ").strip() or "s")
            key = said["key"].lower() if said else ""
            rest = (said["rest"] or "").strip() if said else ""
            try:
                if key == "q":
                    raise _Stop
                if key == "s":
                    return
                if key.isdigit() and not rest and 1 <= int(key) <= len(candidates):
                    if self._accept(item, candidates[int(key) - 1].concept_id):
                        return
                elif key == "n" and rest:
                    concept_id = self._named(item.kind, rest)
                    if concept_id is None:
                        candidates = self._nearest(item.kind, rest) or candidates
                    elif self._accept(item, concept_id):
                        return
                elif key == "i" and not rest and item.stated_in != TITLE:
                    self._decide(item, "ignore", None)
                    return
                elif (
                    key == "r" and item.stated_in != TITLE and rest.isdigit()
                    and 1 <= int(rest) <= len(candidates)
                ):  # fmt: skip
                    self._decide(item, "reject", candidates.pop(int(rest) - 1).concept_id)
                    self._list(candidates)
                else:
                    self._console.print(HELP_TITLES if item.stated_in == TITLE else HELP)
            except ComparablesError as error:
                self._console.print(plain_text(str(error)))

    def _accept(self, item: Waiting, concept_id: str) -> bool:
        """Save what the text means; for titles, the words that say so. False: ask again."""
        if item.stated_in != TITLE:
            self._decide(item, "accept", concept_id)
            return True
        words = self._ask("Which words of the titles say so? (Enter: ask again) ").strip()
        if not words:
            return False
        wanted = f" {normalise_label(words)} "
        holding = [one for one in item.texts if wanted in f" {normalise_label(one)} "]
        if not holding:
            self._console.print("None of these titles holds these words.")
            return False
        added = add_label(self._workspace, words, concept_id, item.kind)
        self.n_labels += 1
        self._vocabulary = vocabulary_of(self._workspace)
        settings = self._workspace.settings().terms
        read = title_reads_as(item.texts, self._vocabulary, settings).count(concept_id)
        self._console.print(
            f"Saved: '{added.label}' names {added.concept}. {read} of {len(item.texts)} titles are "
            "read so now."
        )
        return True

    def _decide(self, item: Waiting, action: str, concept_id: str | None) -> None:
        why = self._ask(f"Why? (Enter: {PLAIN_WHY}) ")
        decide(self._workspace, self._vocabulary, item, action, concept_id, who=self._who, why=why)
        self.n_decisions += 1
        meant = f" {concept_id}" if concept_id else ""
        self._console.print(plain_text(f"Saved: {item.kind} '{item.text}': {action}{meant}."))

    def _named(self, kind: str, words: str) -> str | None:
        """The concept of this id or label, if there is one and no other."""
        if self._vocabulary.has(kind, words):
            return words
        entries = self._vocabulary.labels(kind).get(normalise_label(words), ())
        ids = {entry.concept_id for entry in entries}
        return ids.pop() if len(ids) == 1 else None

    def _nearest(self, kind: str, words: str) -> list[Candidate]:
        near = [
            Candidate(one.concept_id, round(one.score, 1), one.label)
            for one in self._vocabulary.nearest_labels(kind, words, N_CANDIDATES)
        ]
        self._console.print(plain_text(f"No {kind} of the name '{words}'. The nearest:"))
        self._list(near)
        return near

    def _show(self, item: Waiting, place: str) -> None:
        say = self._console.print
        if item.stated_in == TITLE:
            what = f"{len(item.texts):,} titles, {item.n_sales:,} sales: what is sold?"
            say(plain_text(f"\n{place}. {what}"))
        else:
            held = f"{item.n_sales:,} sales carry it, {item.n_held:,} have nothing else to go by"
            say(plain_text(f"\n{place}. {item.kind} '{item.text}': {held}."))
        for one in item.examples:
            say(Text.assemble("     ", plain_text(_example(one.title, one.price, one.currency))))
        self._list(item.candidates)

    def _list(self, candidates: tuple[Candidate, ...] | list[Candidate]) -> None:
        for number, one in enumerate(candidates, 1):
            label = self._vocabulary_label(one)
            self._console.print(plain_text(f"  {number}  {label}  ({one.score:.0f})"))
        if not candidates:
            self._console.print("  No candidate; n WORDS names a concept.")

    def _vocabulary_label(self, one: Candidate) -> str:
        if normalise_label(one.label) == normalise_label(one.concept_id):
            return one.label
        return f"{one.label} [{one.concept_id}]"

    def _end(self) -> None:
        say = self._console.print
        if self.n_decisions:
            place = self._workspace.relative(self._workspace.decisions / "terms.csv")
            say(f"{self.n_decisions} decisions saved in {place}.")
        if self.n_labels:
            place = self._workspace.relative(self._workspace.decisions / "vocabulary")
            say(f"{self.n_labels} labels saved in {place}.")
        if self.n_decisions or self.n_labels:
            say("They count from the next `comparables refresh`.")


class _Stop(Exception):  # noqa: N818 - the person's wish, not a failure
    pass


def _example(title: str, price: float | None, currency: str | None) -> str:
    return title if price is None else f"{title}  {price:,.2f} {currency or ''}".rstrip()
