"""What one value of a field was read as, and by which rung."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.terms.picks import NONE

EXACT, LABEL, PHRASE, FUZZY, DECISION = "exact", "label", "phrase", "fuzzy", "decision"
IGNORED = "ignored"
WORD_ORDER = 95.0  # score of a label whose words stand in another order


@dataclass(frozen=True)
class FieldReading:
    """One value read: the concept or None, others, scores 0 to 100, how, and how sure."""

    concept_id: str | None
    also: tuple[str, ...] = ()
    score: float = 0.0
    margin: float = 0.0
    method: str = NONE
    status: str = NONE


NOTHING = FieldReading(None)
