"""Read the distinct values of a column that states one kind of term.

Each value goes down a ladder and stops at the first rung that holds: a person's decision, the
concept's own name, a known label, the same words in another order, a phrase within the text,
and last the likeness of spelling, which has to clear a score and a margin over the next concept.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pyarrow as pa
from rapidfuzz import fuzz, process

from pipeline.settings import TermSettings
from pipeline.terms.aliases import canonical
from pipeline.terms.lexicon import Lexicon
from pipeline.terms.makers import KIND as MAKER
from pipeline.terms.makers import MakerReader
from pipeline.terms.phrase_tables import Reading, Readings
from pipeline.terms.picks import ACCEPTED, REVIEW
from pipeline.terms.readings import (
    DECISION,
    EXACT,
    FUZZY,
    IGNORED,
    LABEL,
    NOTHING,
    PHRASE,
    WORD_ORDER,
    FieldReading,
)
from pipeline.terms.several import PARTS
from pipeline.terms.text import normalise_label
from pipeline.terms.titles import TITLE_ACCEPT_SCORE, TitleReading, read_chunk

WORST_SHOWN = 60.0  # score of a label that is still shown as a candidate
_LIKENESS_BLOCK = 500  # values compared at once with all labels: bounds the memory
_SHORT_FIELD = 4  # words; in so short a value an unknown last word may be the head
_WORD = re.compile(r"\w+(?:['’-]\w+)*")
# what parts the steps of a path of kinds: "Silver - Flatware", "Tables: Dining", "Glass » Vases"
_STEP = re.compile(r"\s+[-–—|:»→\\]+\s+|\s*[»→|\\]\s*|:\s+")
_STROKES = re.compile(r"\w{3}\s*/\s*\w{3}[^/]*/\s*\w{3}")  # "Furniture/Tables/Coffee"
# steps of a path of kinds; "a/f" is none
_PATH = re.compile(r"[>|]|\w{3}\s*/\s*\w{3}")
# headings inside a museum's text for the medium
_MEDIUM = re.compile(
    r"\s*(?:medium|materials?)\s*:\s*(?P<medium>[^:]*?)\s*"
    r"(?:\b(?:technique|support|label|mount|structure)s?\s*:.*)?",
    re.IGNORECASE | re.DOTALL,
)
_TECHNIQUE = re.compile(
    r"\s*techniques?\s*:\s*(?P<medium>.+)|(?P<work>.+?)\s+supports?\s*:.*",
    re.IGNORECASE | re.DOTALL,
)
_ON = re.compile(r"\bon\b", re.IGNORECASE)
_COMMAS = re.compile(r"[,;]")
_ANDS = re.compile(r"[,;/&]|\band\b", re.IGNORECASE)
_LONGEST_PART = 3  # words of one of several kinds that a value lists
# two kinds and no more, in a whole value or in the last step of a path
_PAIR = re.compile(
    r"(?:^|>)\s*([\w' -]+?)\s*(?:&|\+|(?<=\w{3})/(?=\w{3})|\band\b)\s*([\w' -]+?)\s*$"
)
# "Books, Maps & Prints"
_TRIPLE = re.compile(
    r"(?:^|>)\s*([\w' -]+?)\s*,\s*([\w' -]+?)\s*(?:,\s*and\b|,|&|\+|\band\b)\s*([\w' -]+?)\s*$"
)
_JOINED = re.compile(r"[&+/]|\band\b", re.IGNORECASE)
# what a piece has beside it and is not named for
_GOES_WITH_IT = PARTS | frozenset(
    ["chain", "sheath", "scabbard", "underplate", "underdish", "pedestal", "slipcase", "slip case",
     "wrapper", "bow", "burner", "slip seat", "cushion", "lampshade", "lamp shade", "belljar",
     "bell jar", "dome", "plate", "socket", "sleeve", "packaging", "instructions", "spoon",
     "ladle", "insert", "holder"]
)  # fmt: skip
_LEADS_ON = frozenset(["in", "of", "for", "from", "by", "after", "with", "to", "on"])
_NEGATIVE = frozenset(["not", "no", "non", "un", "without", "faux", "imitation"])


class FieldReader:
    """Reads values of one kind. Holds what depends on the vocabulary alone."""

    def __init__(self, lexicon: Lexicon, kind: str, settings: TermSettings) -> None:
        self._lexicon = lexicon
        self._kind = kind
        self._settings = settings
        self._ids = lexicon.concept_ids.get(kind, ())
        self._readings = lexicon.readings.get(kind) or Readings.of({})
        self._own_names: dict[str, int] = lexicon.memo(f"own names {kind}", self._names)
        # sorted words -> concept; labels that were written down -> phrase
        self._by_words: dict[str, int] = lexicon.memo(f"word orders {kind}", self._word_orders)
        written: dict[str, int] = lexicon.memo(f"labels {kind}", self._written_labels)
        self._labels, self._label_phrases = list(written), list(written.values())

    def read(self, texts: list[str]) -> list[FieldReading]:
        """Read distinct texts; the answer for one does not depend on the others."""
        if self._kind == "material":
            texts = [_under_headings(text) for text in texts]
        if self._kind == "category":
            texts = [_as_path(text) for text in texts]
        readings: list[FieldReading | None] = [
            # a question mark doubts what stands before it: that is read in context
            None if "?" in text else self._by_name(text)
            for text in texts
        ]
        open_ones = [i for i, reading in enumerate(readings) if reading is None]
        for i, reading in zip(
            open_ones, self._by_phrase([texts[i] for i in open_ones]), strict=True
        ):
            readings[i] = reading
        running = self._as_running_text(texts, open_ones)
        for i, reading in running.items():
            readings[i] = reading
        open_ones = [i for i in open_ones if i not in running]
        unread = [i for i in open_ones if readings[i] is None]
        for i, reading in zip(unread, self._by_likeness([texts[i] for i in unread]), strict=True):
            readings[i] = reading
        if self._kind == "category":
            self._settle_pairs(texts, readings, open_ones)
        return [
            _doubted(reading) if reading is not None and text.rstrip().endswith("?") else reading
            for text, reading in zip(texts, (one or NOTHING for one in readings), strict=True)
        ]

    def _as_running_text(self, texts: list[str], open_ones: list[int]) -> dict[int, FieldReading]:
        """Readings of the values that are whole titles, as a title is read.

        Long values that name a kind of thing; of a column of kinds every long value that lists
        none. A grade stands bare in its own column whatever is written around it.
        """
        if self._kind == "condition":
            return {}
        long = [
            i for i in open_ones
            if len(_WORD.findall(texts[i])) > _SHORT_FIELD
            and not (self._kind == "category" and _lists_kinds(texts[i]))
            # "ink on artist's board": the thing named is what the work is on
            and not (self._kind == "material" and _ON.search(texts[i]))
        ]  # fmt: skip
        if not long:
            return {}
        chunk = read_chunk(
            self._lexicon,
            pa.array([texts[i] for i in long], pa.large_string()),
            self._settings,
            with_dates=self._kind == "attribution",
        )
        things = chunk.kinds["category"]
        named = (things.concept >= 0) & (things.score >= TITLE_ACCEPT_SCORE) & ~things.doubtful
        return {
            i: self._of_chunk(chunk, row, running=True) or NOTHING
            for row, i in enumerate(long)
            if self._kind == "category" or named[row]
        }

    def _settle_pairs(
        self, texts: list[str], readings: list[FieldReading | None], open_ones: list[int]
    ) -> None:
        """ "Chests & Trunks" names two kinds: the broader holds both; unlike ones need a person."""
        listed = {i: parts for i in open_ones if (parts := _parts_of(texts[i]))}
        if not listed:
            return
        told = iter(self.read([part for parts in listed.values() for part in parts]))
        for i, parts in listed.items():
            read = [next(told) for _ in parts]
            held = readings[i]
            if held is None or held.concept_id is None:
                continue
            first = read[0].status == ACCEPTED and read[0].concept_id == held.concept_id
            if first and all(normalise_label(part) in _GOES_WITH_IT for part in parts[1:]):
                # "decanter and stopper" is a decanter
                readings[i] = replace(read[0], method=PHRASE, also=held.also)
                continue
            accepted = [one for one in read if one.status == ACCEPTED]
            if not accepted or (len(parts) > 2 and len(accepted) < 2):
                continue
            if len(accepted) < len(parts) and not _JOINED.search(texts[i]):
                continue  # "Clock, brass, French style" lists what is said of one thing
            counted = read if len(parts) == 2 else accepted
            ids = [str(one.concept_id) for one in counted if one.concept_id is not None]
            if len(ids) < len(counted):
                continue
            # the broadest, where all the others stand below it
            broad = [one for one in ids if all(self._holds(one, each) for each in ids)]
            if broad:
                also = tuple(dict.fromkeys(each for each in ids if each != broad[0]))
                readings[i] = replace(held, concept_id=broad[0], also=also)
            else:
                readings[i] = _doubted(held)

    def _holds(self, broad: str, concept_id: str) -> bool:
        above = self._lexicon.vocabulary.ancestors(self._kind, concept_id)
        return concept_id == broad or broad in above

    def candidates(self, text: str, n: int) -> list[tuple[str, float, str]]:
        """At most n concepts for a text with score and label, the best first."""
        best: dict[str, tuple[float, str]] = {}
        reading = self.read([text])[0]
        for rank, concept_id in enumerate(
            [reading.concept_id, *reading.also] if reading.concept_id else reading.also
        ):
            score = max(reading.score - 5.0 * rank, 1.0)
            label = self._lexicon.vocabulary.concept(self._kind, concept_id).pref_label
            best[concept_id] = (round(score, 1), label)
        for label, score, phrase in self._nearest([normalise_label(text)], 5 * n)[0]:
            concept_id = self._ids[self._readings[phrase].concept]
            if concept_id not in best or best[concept_id][0] < score:
                best.setdefault(concept_id, (round(score, 1), label))
        ranked = sorted(best.items(), key=lambda item: (-item[1][0], item[0]))
        return [(concept_id, score, label) for concept_id, (score, label) in ranked[:n]]

    # -- rungs ------------------------------------------------------------------------------

    def _by_name(self, text: str) -> FieldReading | None:
        name = normalise_label(text)
        if not name:
            return NOTHING
        if self._kind == "category" and text.count(",") == 1:
            # "lamp, table" is a table lamp, though "lamp table" is a name too
            last, first = map(normalise_label, text.split(","))
            turned_name = f"{first} {last}".strip()
            if first and last and turned_name != name and self._is_label(turned_name):
                name = turned_name
        own = self._own_names.get(name)
        words = tuple(name.split())
        phrase = self._lexicon.phrase_numbers.get(words)
        reading = self._readings.get(phrase) if phrase is not None else None
        if self._kind == "material" and self._lists_substances(text, _COMMAS):
            return None  # "lead, crystal" is no lead crystal
        if own is not None and (
            reading is None or not reading.others or reading.score >= self._settings.accept_score
        ):
            return FieldReading(self._ids[own], (), 100.0, 100.0, EXACT, ACCEPTED)
        if reading is not None:
            return self._of_label(reading)
        turned = self._by_words.get(" ".join(sorted(words))) if len(words) > 1 else None
        if self._kind == "material" and turned is not None and self._lists_substances(text, _ANDS):
            turned = None  # "silk and wool" is silk, "wool and silk" wool
        if self._kind == "material" and turned is not None and self._says_less(text, turned):
            turned = None  # "cotton, printed" is cotton before it is anything printed
        if turned is not None:
            return FieldReading(self._ids[turned], (), WORD_ORDER, WORD_ORDER, LABEL, ACCEPTED)
        return None

    def _is_label(self, name: str) -> bool:
        phrase = self._lexicon.phrase_numbers.get(tuple(name.split()))
        return name in self._own_names or (phrase is not None and phrase in self._readings)

    def _lists_substances(self, text: str, between: re.Pattern[str]) -> bool:
        """Whether every part of a text between commas names a substance of its own."""
        if between.search(text) is None:
            return False
        return all(map(self._is_substance, map(normalise_label, between.split(text))))

    def _is_substance(self, name: str) -> bool:
        """Whether a folded text is the name of a substance and nothing else."""
        phrase = self._lexicon.phrase_numbers.get(tuple(name.split()))
        reading = self._readings.get(phrase) if phrase is not None else None
        if reading is None:
            return False
        concept = self._lexicon.vocabulary.concept("material", self._ids[reading.concept])
        return concept.extra.get("aspect") == "material" or concept.id == "enamel"

    def _says_less(self, text: str, concept: int) -> bool:
        """Whether a substance opens a text of several clauses, of which the concept is no sort."""
        first = _COMMAS.split(text, maxsplit=1)
        name = normalise_label(first[0])
        if len(first) < 2 or not self._is_substance(name):
            return False
        substance = self._readings[self._lexicon.phrase_numbers[tuple(name.split())]].concept
        return not self._holds(self._ids[substance], self._ids[concept])

    def _of_label(self, reading: Reading) -> FieldReading:
        others = tuple(self._ids[one] for one in reading.others)
        clear = reading.score >= self._settings.accept_score
        return FieldReading(
            self._ids[reading.concept],
            others,
            reading.score,
            reading.score if clear else 0.0,
            LABEL,
            ACCEPTED if clear else REVIEW,
        )

    def _by_phrase(self, texts: list[str]) -> list[FieldReading | None]:
        if not texts:
            return []
        spread, owner = _with_path_ends(texts) if self._kind == "category" else (texts, None)
        chunk = read_chunk(
            self._lexicon,
            pa.array(spread, pa.large_string()),
            self._settings,
            with_dates=False,
            as_field=self._kind,
        )
        found = [self._of_chunk(chunk, row) for row in range(len(spread))]
        if owner is None:
            return found
        best: list[FieldReading | None] = [None] * len(texts)
        for row, index in enumerate(owner):
            is_end = row + 1 == len(owner) or owner[row + 1] != index
            best[index] = self._narrower(best[index], found[row], is_end)
        return best

    def _of_chunk(
        self, chunk: TitleReading, row: int, *, running: bool = False
    ) -> FieldReading | None:
        reading = chunk.kinds[self._kind]
        number = int(reading.concept[row])
        if number < 0:
            return None
        first, past = np.searchsorted(reading.also_title, [row, row + 1])
        others = tuple(self._ids[int(one)] for one in reading.also_concept[first:past])
        score, margin = float(reading.score[row]), float(reading.margin[row])
        if self._kind == "category" and not running and self._ends_unknown(chunk, row):
            score, margin = min(score, 80.0), 0.0
        taken = score >= TITLE_ACCEPT_SCORE and not bool(reading.doubtful[row])
        if self._kind == "condition":
            # "good to fair", "box good, contents mint": which of the grades is the piece's?
            ranked = [self._ids[number], *others]
            ranks = {self._lexicon.vocabulary.concept(self._kind, one).rank for one in ranked}
            taken &= len(ranks - {None}) < 2
        return FieldReading(
            self._ids[number], others, score, margin, PHRASE, ACCEPTED if taken else REVIEW
        )

    def _ends_unknown(self, chunk: TitleReading, row: int) -> bool:
        """Whether nobody knows the word that a short value's name ends in.

        `chair lift` may be no chair, and turned round, `nozzle, candelabrum` is none.
        """
        stream = chunk.stream
        first, past = int(stream.first[row]), int(stream.first[row + 1])
        if past - first > _SHORT_FIELD:
            return False
        if stream.clause[first] != stream.clause[past - 1]:
            of_first = stream.clause[first:past] == stream.clause[first]
            return not chunk.known[first:past][of_first].any()
        last = stream.spellings[stream.spelling[past - 1]]
        led_to = any(  # "clarinet in F", "chair for a child"
            stream.spellings[stream.spelling[at]] in _LEADS_ON for at in range(first + 1, past - 1)
        )
        return not bool(chunk.known[past - 1]) and not last[:1].isdigit() and not led_to

    def _narrower(
        self, held: FieldReading | None, new: FieldReading | None, is_end: bool
    ) -> FieldReading | None:
        if held is None or new is None or held.concept_id is None:
            return held or new
        if is_end and new.status == ACCEPTED:
            return new  # the last step of a path is what the path is about
        above = self._lexicon.vocabulary.ancestors(self._kind, new.concept_id or "")
        if held.concept_id in above and new.status == ACCEPTED:
            return new
        return held

    def _by_likeness(self, texts: list[str]) -> list[FieldReading]:
        names = [normalise_label(text) for text in texts]
        out: list[FieldReading] = []
        for begin in range(0, len(names), _LIKENESS_BLOCK):
            block = names[begin : begin + _LIKENESS_BLOCK]
            for name, near in zip(block, self._nearest(block, 12), strict=True):
                out.append(self._like(name, near))
        return out

    def _like(self, name: str, near_labels: list[tuple[str, float, int]]) -> FieldReading:
        ranked: dict[int, tuple[float, str]] = {}
        for label, score, phrase in near_labels:
            if self._never_merged(name, label):
                continue
            concept = self._readings[phrase].concept
            if concept not in ranked or ranked[concept][0] < score:
                ranked[concept] = (score, label)
        order = sorted(ranked.items(), key=lambda item: (-item[1][0], self._ids[item[0]]))
        if not order or order[0][1][0] < self._settings.review_score:
            return NOTHING
        (concept, (score, label)), rest = order[0], order[1:]
        margin = score - (rest[0][1][0] if rest else 0.0)
        sure = (
            score >= self._settings.accept_score
            and margin >= self._settings.accept_margin
            and self._same_words(name, label)
        )
        return FieldReading(
            self._ids[concept],
            tuple(self._ids[other] for other, (near, _) in rest if near > score - 15)[:4],
            round(score, 1),
            round(margin, 1),
            FUZZY,
            ACCEPTED if sure else REVIEW,
        )

    def _nearest(self, names: list[str], n: int) -> list[list[tuple[str, float, int]]]:
        """For each name at most n labels like it, the likest first.

        Ratio on the letters in their order: a subset of words is no likeness.
        """
        if not self._labels or not names:
            return [[] for _ in names]
        scores = process.cdist(
            names, self._labels, scorer=fuzz.ratio, score_cutoff=WORST_SHOWN, dtype=np.float32
        )
        out = []
        for row in scores:
            near = np.flatnonzero(row >= WORST_SHOWN)
            near = near[np.lexsort((near, -row[near]))][:n]
            out.append([(self._labels[i], float(row[i]), self._label_phrases[i]) for i in near])
        return out

    def _never_merged(self, name: str, label: str) -> bool:
        ours, theirs = name.split(), label.split()
        return len(ours) == len(theirs) and any(
            pair in self._lexicon.modifiers.never_merge for pair in zip(ours, theirs, strict=True)
        )

    def _names(self) -> dict[str, int]:
        """Ids and preferred labels of the concepts, with their numbers."""
        names: dict[str, int] = {}
        for number, concept_id in enumerate(self._ids):
            concept = self._lexicon.vocabulary.concept(self._kind, concept_id)
            names.setdefault(normalise_label(concept_id), number)
            names.setdefault(normalise_label(concept.pref_label), number)
        for number, concept_id in enumerate(self._ids):
            # a preferred label beats another concept's id of the same words
            label = self._lexicon.vocabulary.concept(self._kind, concept_id).pref_label
            names[normalise_label(label)] = number
        return names

    def _written_labels(self) -> dict[str, int]:
        """Labels that somebody wrote down (no derived forms), in order, with their phrases."""
        written: dict[str, int] = {}
        known = set(self._readings)
        for concept in self._lexicon.vocabulary.concepts(self._kind):
            for label in (concept.pref_label, *concept.alt_labels, *concept.hidden_labels):
                words = canonical(label, self._lexicon.aliases)
                phrase = self._lexicon.phrase_numbers.get(words)
                if phrase is not None and phrase in known:
                    written[" ".join(words)] = phrase
        return dict(sorted(written.items()))

    def _same_words(self, name: str, label: str) -> bool:
        """Word by word: same count, same first letters, no opposites, nothing never merged."""
        ours, theirs = name.split(), label.split()
        if len(ours) != len(theirs):
            return False
        for one, other in zip(ours, theirs, strict=True):
            if one == other:
                continue
            if one in _NEGATIVE or other in _NEGATIVE or len(one) < 5:
                return False
            corrected, score = self._lexicon.speller.correct([one])[0]
            if corrected != other or score < TITLE_ACCEPT_SCORE:
                return False
        return True

    def _word_orders(self) -> dict[str, int]:
        """Sorted words -> concept, where only one concept has a label of these words."""
        seen: dict[str, int] = {}
        several = np.diff(self._readings.first) > 0
        texts = self._lexicon.phrases.texts
        for phrase, concept, shared in zip(
            self._readings.phrase.tolist(),
            self._readings.concept.tolist(),
            several.tolist(),
            strict=True,
        ):
            text = texts[phrase]
            if " " in text:
                words = " ".join(sorted(text.split(" ")))
                held = seen.setdefault(words, concept)
                if held != concept or shared:
                    seen[words] = -1
        return {words: concept for words, concept in seen.items() if concept >= 0}


def _parts_of(text: str) -> tuple[str, ...]:
    """The two or three names that a value lists, none where it lists nothing."""
    found = _PAIR.search(text) or _TRIPLE.search(text)
    parts: tuple[str, ...] = found.groups() if found else ()
    short = all(len(_WORD.findall(part)) <= _LONGEST_PART for part in parts)
    return parts if short else ()


def _lists_kinds(text: str) -> bool:
    """Whether a value is a path of kinds, or several kinds joined."""
    return bool(_PATH.search(text) or (_JOINED.search(text) and _parts_of(text)))


def _doubted(reading: FieldReading) -> FieldReading:
    """The reading as one that a person has to look at."""
    if reading.status != ACCEPTED or reading.method == DECISION:
        return reading
    return replace(reading, margin=0.0, status=REVIEW)


def _as_path(text: str) -> str:
    """A path of kinds with `>` between its steps, whatever the export writes there."""
    if _STROKES.search(text):
        text = re.sub(r"\s*/\s*", " > ", text)
    return _STEP.sub(" > ", text)


def _under_headings(text: str) -> str:
    """What stands under the heading that tells the material: "Medium: silk Technique: woven"."""
    if ":" not in text:
        return text
    found = _MEDIUM.fullmatch(text) or _TECHNIQUE.fullmatch(text)
    if found is None:
        return text
    told = [one for one in found.groups() if one]
    return told[0] if told else text


def _with_path_ends(texts: list[str]) -> tuple[list[str], list[int]]:
    """Texts and, for a path (`Furniture > Chairs > Dining`), its ends as texts of their own."""
    spread: list[str] = []
    owner: list[int] = []
    for index, text in enumerate(texts):
        spread.append(text)
        owner.append(index)
        steps = [step.strip() for step in text.split(">") if step.strip()]
        for begin in range(1, len(steps)):
            spread.append(" > ".join(steps[begin:]))
            owner.append(index)
    return spread, owner


def field_reader(lexicon: Lexicon, kind: str, settings: TermSettings) -> FieldReader | MakerReader:
    """The reader of a kind, made once for a lexicon and its settings."""
    key = ("field reader", kind, settings.model_dump_json())

    def make() -> FieldReader | MakerReader:
        if kind == MAKER:
            return MakerReader(lexicon.vocabulary, settings)
        return FieldReader(lexicon, kind, settings)

    reader: FieldReader | MakerReader = lexicon.memo(key, make)
    return reader


def decided(concept_id: str | None) -> FieldReading:
    """The reading that a person's decision gives; None: the text says nothing of the kind."""
    if concept_id is None:
        return replace(NOTHING, method=DECISION, status=IGNORED, score=100.0, margin=100.0)
    return FieldReading(concept_id, (), 100.0, 100.0, DECISION, ACCEPTED)
