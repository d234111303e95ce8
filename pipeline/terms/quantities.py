"""How many pieces a title offers, and how they are sold: single, pair, set or bulk.

- `single`: one piece, compared with single pieces.
- `pair`: two pieces that belong together; the title says pair, pr or brace.
- `set`: pieces sold together as a set. Like pieces ("set of 6 chairs") have their number. A whole
  made of unlike parts ("tea set", "three-piece suite", "nest of tables", "table and six chairs",
  "chess set", "service for 8") is one thing that people buy as one, so it counts as one piece and
  is compared with others of its own category.
- `bulk`: things that were put together to be sold ("job lot", "box of", "collection of 12"), and
  two pieces that the title does not call a pair.

Objects that are twins by nature ("pair of scissors", "opera glasses", "cufflinks") are single.
Numbers that count something else (sizes, edition numbers, drawers, days, branches) are no
quantities. A price per piece is meant for pairs, sets and lots with more than one piece; a set
whose number is not told has none.

Titles are read by whole-column expressions: a cheap first one finds the titles that have anything
to say, and each rule looks only at titles that no rule before it took.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline import reasons
from pipeline.terms.quantity_rules import NUMBER_WORDS, NUMBERS, RULES, WORDS, Rule

LOT_KINDS = ("single", "pair", "set", "bulk")
# Reason -> one sentence.
REASONS: dict[str, str] = {**reasons.QUANTITIES, **reasons.QUANTITY_NOTES}
# A crate of a thousand postcards is a sale; more than this is a slip of the pen (common practice,
# no source).
MOST_PIECES = 5_000

# Services and sets of chairs end at two dozen; more of a kind without the word set are a lot
# (common practice, no source).
_MOST_ALIKE = 24

QUANTITY_SCHEMA = pa.schema(
    [
        ("n_pieces", pa.int32()),
        ("lot_kind", pa.string()),
        ("rule", pa.string()),
        ("reason", pa.string()),
    ]
)
_KIND_NUMBERS = {kind: place for place, kind in enumerate(LOT_KINDS)}
_UNTOLD, _ZERO, _TOO_LARGE, _UNREADABLE, _DISAGREES = -1, 1, 2, 3, 4
_REASON_NAMES = (None, *REASONS)

Numbers = npt.NDArray[np.int64]


class _Answers:
    """One row a title, filled rule by rule."""

    def __init__(self, size: int) -> None:
        self.pieces = np.ones(size, np.int64)
        self.kind = np.zeros(size, np.int8)
        self.rule = np.full(size, -1, np.int16)
        self.reason = np.zeros(size, np.int8)

    def table(self, names: list[str]) -> pa.Table:
        """The rows as `QUANTITY_SCHEMA`."""
        wrong = (self.reason != 0) & (self.reason != _DISAGREES)
        untold = (self.pieces == _UNTOLD) | wrong
        return pa.table(
            [
                pa.array(np.where(untold, 0, self.pieces).astype(np.int32), mask=untold),
                pa.array(LOT_KINDS, pa.string()).take(pa.array(self.kind)),
                pa.array(names, pa.string()).take(pa.array(self.rule, mask=self.rule < 0)),
                pa.array(_REASON_NAMES, pa.string()).take(pa.array(self.reason)),
            ],
            schema=QUANTITY_SCHEMA,
        )


def read_quantities(titles: pa.Array | pa.ChunkedArray) -> pa.Table:
    """Read the quantity of each title.

    Args:
        titles: strings; a null title says nothing and counts as a single piece.

    Returns:
        A table of `QUANTITY_SCHEMA`, aligned with `titles`. `n_pieces` is null where pieces are
        several and not counted; `rule` is null where no rule matched.
    """
    flat = _flat(titles).cast(pa.string())
    encoded = flat.dictionary_encode(null_encoding="encode")
    lowered = _tidied(pc.utf8_lower(pc.fill_null(encoded.dictionary, "")))
    answers = _Answers(len(lowered))
    has_word = _matches(lowered, WORDS)
    has_number = _matches(lowered, NUMBERS)
    unread = np.ones(len(lowered), bool)
    for number, rule in enumerate(RULES):
        rows = np.flatnonzero(unread & (has_number if rule.needs == "number" else has_word))
        texts = lowered.take(pa.array(rows))
        hit = np.flatnonzero(_matches(texts, rule.pattern))
        if rule.unless is not None and len(hit):
            hit = hit[~_matches(texts.take(pa.array(hit)), rule.unless)]
        if len(hit):
            _apply(answers, number, rule, rows[hit], texts.take(pa.array(hit)))
            unread[rows[hit]] = False
    return answers.table([rule.name for rule in RULES]).take(encoded.indices)


def _tidied(texts: pa.Array) -> pa.Array:
    """Titles with one kind of space and a plain ampersand; few need it, so only those are paid."""
    messy = np.flatnonzero(_matches(texts, r"&amp;|\s\s|[\t\r\n\x{a0}\x{2009}\x{202f}]"))
    if not len(messy):
        return texts
    plain = pc.replace_substring(texts.take(pa.array(messy)), "&amp;", "&")
    plain = pc.replace_substring_regex(plain, r"[\s\x{a0}\x{2009}\x{202f}]+", " ")
    mask = np.zeros(len(texts), bool)
    mask[messy] = True
    return pc.replace_with_mask(texts, pa.array(mask), plain)


def _matches(texts: pa.Array, pattern: str) -> npt.NDArray[np.bool_]:
    found = pc.match_substring_regex(texts, pattern)
    return np.array(found.to_numpy(zero_copy_only=False), bool)


def _flat(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def _apply(
    answers: _Answers, number: int, rule: Rule, rows: npt.NDArray[np.int64], texts: pa.Array
) -> None:
    answers.rule[rows] = number
    if isinstance(rule.n_pieces, str):
        pieces = _numbers(texts, rule.pattern)
        if rule.n_pieces == "2n":
            pieces = pieces * 2
        answers.reason[rows] = np.select([pieces == 0, pieces > MOST_PIECES], [_ZERO, _TOO_LARGE])
    else:
        pieces = np.full(len(rows), _UNTOLD if rule.n_pieces is None else rule.n_pieces)
    if rule.kind == "like":
        kind = np.select([pieces == 1, pieces == 2, pieces > _MOST_ALIKE], [0, 3, 3], 2)
    else:
        kind = np.full(len(rows), _KIND_NUMBERS[rule.kind])
        if rule.kind == "set" and rule.n_pieces in ("n", "2n"):
            kind = np.select([pieces == 1, pieces == 2], [0, 1], 2)
    answers.pieces[rows] = pieces
    answers.kind[rows] = kind


def _numbers(texts: pa.Array, pattern: str) -> Numbers:
    """The number in group `n`, or in group `m` where a rule has two forms."""
    found = pc.extract_regex(texts, pattern)
    written = found.field("n")
    if "(?P<m>" in pattern:
        written = pc.if_else(pc.equal(written, ""), found.field("m"), written)
    encoded = written.dictionary_encode()
    values = [
        NUMBER_WORDS.get(text) or (int(text) if text.isdigit() else 0)
        for text in encoded.dictionary.to_pylist()
    ]
    return np.array(values, np.int64)[np.asarray(encoded.indices)]


_PLAIN_QUANTITY = (
    r"^(?:x ?|qty:? ?)?(?P<n>[0-9]{1,9})(?:[.,]0+)?"
    r"(?: ?(?:x|pcs?|pieces?|items?|off|no|units?)\.?)?$"
)


def read_quantity_column(texts: pa.Array | pa.ChunkedArray) -> pa.Table:
    """Read a column that states quantities ("1", "6 pcs", "pair", "set of 4").

    Returns:
        A table of `QUANTITY_SCHEMA`. `lot_kind` is null for a bare number above one (the column
        does not say how the pieces go together) and where nothing is told; zero, numbers above
        `MOST_PIECES` and what is no number have their reason.
    """
    encoded = _flat(texts).cast(pa.string()).dictionary_encode(null_encoding="encode")
    distinct = pc.utf8_lower(pc.utf8_trim_whitespace(pc.fill_null(encoded.dictionary, "")))
    in_words = read_quantities(distinct).to_pylist()
    number = pc.extract_regex(distinct, _PLAIN_QUANTITY).to_pylist()
    rows = [
        _stated(text, found, words)
        for text, found, words in zip(distinct.to_pylist(), number, in_words, strict=True)
    ]
    table = pa.Table.from_pylist(rows, schema=QUANTITY_SCHEMA)
    return table.take(encoded.indices)


def _stated(text: str, found: dict[str, str] | None, words: dict[str, object]) -> dict[str, object]:
    nothing: dict[str, object] = {"n_pieces": None, "lot_kind": None, "rule": None, "reason": None}
    if text in ("", "-", "n/a", "none", "null", "nan"):
        return nothing
    count = int(found["n"]) if found else NUMBER_WORDS.get(text)
    if count is None:
        if words["rule"] is not None:
            return words
        return nothing | {"reason": "quantity_unreadable"}
    if count == 0:
        return nothing | {"reason": "quantity_zero"}
    if count > MOST_PIECES:
        return nothing | {"reason": "quantity_too_large"}
    kind = "single" if count == 1 else None
    return nothing | {"n_pieces": count, "lot_kind": kind, "rule": "quantity_column"}


def combine(title: pa.Table, column: pa.Table) -> pa.Table:
    """One quantity from the title's and the quantity column's reading.

    The title says how pieces go together, the column how many there are. A column of 1 beside a
    title that offers several is the number of lots and changes nothing. A column above 1 gives
    the number where the title has none; where both count and differ, the title's number is kept
    with the reason `quantity_disagrees`.

    Returns:
        A table of `QUANTITY_SCHEMA`.
    """
    stated = _plain(column["n_pieces"])
    told = _plain(title["n_pieces"])
    kind = title["lot_kind"].combine_chunks()
    rule = title["rule"].combine_chunks()
    own_kind = column["lot_kind"].combine_chunks()
    title_silent = np.asarray(pc.is_null(rule))
    several = stated > 1
    use = several & (title_silent | (told == _UNTOLD))
    differ = several & ~use & (told != stated)
    pieces = np.where(use, stated, told)
    # Two of a kind that nobody calls a pair are a lot; three and more like pieces go as a set.
    fresh = pa.array(np.where(stated == 2, "bulk", "set"), pa.string())
    fresh = pc.coalesce(own_kind, fresh)
    kinds = pc.if_else(pa.array(use & title_silent), fresh, kind)
    rules = pc.if_else(pa.array(use), "quantity_column", rule)
    reason = pc.coalesce(title["reason"].combine_chunks(), column["reason"].combine_chunks())
    reason = pc.coalesce(
        reason, pc.if_else(pa.array(differ), "quantity_disagrees", pa.scalar(None, pa.string()))
    )
    return pa.table(
        [
            pa.array(pieces.astype(np.int32), mask=pieces == _UNTOLD),
            kinds,
            rules,
            reason,
        ],
        schema=QUANTITY_SCHEMA,
    )


def _plain(numbers: pa.ChunkedArray) -> Numbers:
    return np.asarray(numbers.combine_chunks().cast(pa.int64()).fill_null(_UNTOLD))


# Sets of dining chairs, glasses and plates are made and sold in fours, sixes, eights and dozens;
# an odd one out goes with the class below the next step (common practice, no source).
_CLASSES = ((2, "pair"), (4, "3-4"), (6, "5-6"), (8, "7-8"), (12, "9-12"))


def size_class(n_pieces: int | None, lot_kind: str = "set") -> str:
    """The class whose sales are compared: single, pair, 3-4, 5-6, 7-8, 9-12, 13+, untold, bulk.

    A set that counts as one piece is compared as a single piece of its own category.
    """
    if lot_kind == "bulk":
        return "bulk"
    if lot_kind == "pair":
        return "pair"
    if n_pieces is None:
        return "untold"
    if n_pieces <= 1:
        return "single"
    return next((name for most, name in _CLASSES if n_pieces <= most), "13+")


def size_classes(
    n_pieces: pa.Array | pa.ChunkedArray, lot_kind: pa.Array | pa.ChunkedArray
) -> pa.Array:
    """`size_class` of whole columns."""
    pieces = _flat(n_pieces)
    kinds = _flat(lot_kind).cast(pa.string())
    both = pa.StructArray.from_arrays(
        [pc.fill_null(pieces.cast(pa.int32()), -1), pc.fill_null(kinds, "set")], ["n", "kind"]
    )
    key = pc.binary_join_element_wise(both.field("n").cast(pa.string()), both.field("kind"), " ")
    encoded = key.dictionary_encode()
    names = []
    for text in encoded.dictionary.to_pylist():
        n, kind = text.split(" ")
        names.append(size_class(None if n == "-1" else int(n), kind))
    return pa.array(names, pa.string()).take(encoded.indices)
