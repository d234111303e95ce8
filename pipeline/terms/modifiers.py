"""Words that change what a term beside them means: not, faux, effect, style, with, of ...

They are data (pipeline/vocabulary/modifiers.csv): a role, the phrases that play it, for some
roles a target, and why. This module reads them and proves that every role is one we know.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pipeline.csv_rows import read_rows
from pipeline.errors import VocabularyError
from pipeline.terms.text import normalise_label
from pipeline.terms.vocabulary_file import split_cell

MODIFIERS_FILE = Path(__file__).resolve().parent.parent / "vocabulary" / "modifiers.csv"
# Words picked by running the speller over the small American and British word lists of Debian's
# packages wamerican-small and wbritish-small (SCOWL): those that it would have corrected.
PLAIN_WORDS_FILE = MODIFIERS_FILE.with_name("plain_words.csv")
COLUMNS = ("role", "phrases", "target", "note")

# Roles that a phrase plays inside a title; the order is the bit that stands for the role.
PHRASE_ROLES = (
    "negate",
    "negate_end",
    "free_after",
    "imitate_before",
    "imitate_after",
    "period_style",
    "style_before",
    "period_part",
    "part",
    "body",
    "fitted",
    "with",
    "subject",
    "purpose",
    "quantity",
    "quantity_box",
    "scale_dolls",
    "scale_toy",
    "scale_model",
    "colour_word",
    "colour_follow",
    "mask",
    "title_grade",
    "grade_word",
    "neutral",
    "head_after",
    "conjunction",
    "alternative",
    "hedge",
    "hedge_after",
    "bare_material",
    "gem_word",
    "copy_word",
    "count",
    "shape_after",
    "period_mark",
    "holds",
)
# Roles of single words, settled before titles are read.
WORD_ROLES = ("same", "never_merge", "protect")


@dataclass(frozen=True)
class Modifiers:
    """The modifiers of a language.

    Attributes:
        phrases: normalised phrase -> the roles it plays.
        targets: role -> the concept it leads to, where it leads to one.
        same: another spelling of a word -> the word.
        never_merge: pairs of words that must not be taken for each other, either way round.
        protect: words that are right as they stand and never a misspelling of a term.
        plain: English words that lie near a word of the vocabulary; never corrected, though the
            vocabulary itself may give one as another spelling.
    """

    phrases: dict[str, frozenset[str]]
    targets: dict[str, str]
    same: dict[str, str]
    never_merge: frozenset[tuple[str, str]]
    protect: frozenset[str]
    plain: frozenset[str]


def load_modifiers(path: Path = MODIFIERS_FILE) -> Modifiers:
    """Read a file of modifiers.

    Raises:
        VocabularyError: an unknown role, or a pair without its second word.
    """
    status = path.stat()
    return _load(path, status.st_mtime_ns, status.st_size)


@lru_cache(maxsize=4)
def _load(path: Path, _modified: int, _size: int) -> Modifiers:
    phrases: dict[str, set[str]] = {}
    targets: dict[str, str] = {}
    same: dict[str, str] = {}
    pairs: set[tuple[str, str]] = set()
    protect: set[str] = set()
    for line, row in read_rows(path, COLUMNS, VocabularyError):
        role = row["role"]
        found = [normalise_label(part) for part in split_cell(row["phrases"])]
        target = normalise_label(row["target"])
        if role in ("same", "never_merge") and not target:
            raise VocabularyError(
                f"The role {role} needs a second word.",
                where=f"{path}, line {line}, column target",
                todo="Name the word that this one stands for, or must not be taken for.",
            )
        if role in PHRASE_ROLES:
            for phrase in found:
                phrases.setdefault(phrase, set()).add(role)
            if row["target"]:
                targets[role] = row["target"]
        elif role == "same":
            same.update(dict.fromkeys(found, target))
        elif role == "never_merge":
            pairs.update(pair for word in found for pair in ((word, target), (target, word)))
        elif role == "protect":
            protect.update(found)
        else:
            raise VocabularyError(
                f"'{role}' is no role of a modifier.",
                where=f"{path}, line {line}, column role",
                todo=f"Use one of: {', '.join(PHRASE_ROLES + WORD_ROLES)}.",
            )
    return Modifiers(
        phrases={phrase: frozenset(roles) for phrase, roles in phrases.items()},
        targets=targets,
        same=same,
        never_merge=frozenset(pairs),
        protect=frozenset(protect),
        plain=frozenset(
            row["word"] for _, row in read_rows(PLAIN_WORDS_FILE, ("word",), VocabularyError)
        ),
    )
