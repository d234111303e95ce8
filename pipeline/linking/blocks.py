"""Blocks: which rows are compared at all.

Comparing all with all is out of reach, so rows are put in blocks by numbers that like rows share,
and only rows of one block are compared. The pairs are counted before anything is compared; what
is left out, because a block is too full or a value too common to make one, is counted and told.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import numpy.typing as npt

from pipeline.linking.counts import EVERYTHING
from pipeline.linking.evidence import WordCounts
from pipeline.linking.words import Words, Words64, mixed
from pipeline.sql import run

Ints = npt.NDArray[np.int64]

MANY_ROWS = 2_000_000
# In a block of more rows than COMPANY, more of the words must be the same.
COMPANY = 12
SHARE_IN_COMPANY = 0.6
ALONE_ENOUGH = 6  # a word that so few rows of a category have makes a key by itself


def kept_words(n_rows: int) -> int:
    """How many of the rarest words of a title make keys, each two one: five, or four where so
    many rows are read that the keys themselves would take the time."""
    return 5 if n_rows <= MANY_ROWS else 4


@dataclass(frozen=True)
class BlockingResult:
    """What one rule of blocking did.

    n_blocks: blocks of two rows or more; n_pairs: pairs within them; n_full: blocks over the
    limit; n_rows_full: rows in those; n_pairs_skipped: their pairs that were not compared;
    limit: rows up to which a block was compared whole; n_rows_common: rows whose value was too
    common to make a block.
    """

    rule: int
    n_blocks: int
    n_pairs: int
    n_full: int
    n_rows_full: int
    n_pairs_skipped: int
    limit: int
    n_rows_common: int = 0


def find_pairs(
    con: duckdb.DuckDBPyConnection,
    *,
    block_rows: int,
    most_pairs: int,
    share: float,
    across: tuple[int, ...] = (),
    led: tuple[int, ...] = (),
    starred: tuple[int, ...] = (),
) -> list[BlockingResult]:
    """Make `link_pairs` from `link_keys`: every two rows that share a block.

    Args:
        con: holds link_keys (rule TINYINT, block, row_key) and link_marks (row_key, signature,
            side, leads).
        block_rows: a block of more rows is too full.
        most_pairs: where the blocks of a rule together hold more pairs, the limit on a block is
            lowered for the rule until they do not.
        share: of the words of the text with fewer words that must be in the other, 0 to 1.
        across: rules that pair rows of different sides alone.
        led: rules that pair rows of which one at least leads.
        starred: rules by which the rows of a block that is too full are each held against its
            smallest key; those of the other rules are not compared.

    Returns:
        One entry a rule.
    """
    run(con, "link_block_sizes", block_rows=block_rows, most_pairs=most_pairs)
    run(
        con, "link_pairs", share=share, share_in_company=max(share, SHARE_IN_COMPANY),
        company=COMPANY, across=list(across), led=list(led), starred=list(starred),
    )  # fmt: skip
    told = con.execute(
        "SELECT rule, count(*), sum(n * (n - 1) // 2)::BIGINT, count(*) FILTER (n > most), "
        "coalesce(sum(n) FILTER (n > most), 0)::BIGINT, "
        "coalesce(sum(n * (n - 1) // 2) FILTER (n > most), 0)::BIGINT, any_value(most) "
        "FROM link_blocks GROUP BY rule ORDER BY rule"
    ).fetchall()
    for table in ("link_blocks", "link_members", "link_keys"):
        con.execute(f"DROP TABLE {table}")
    return [
        BlockingResult(
            rule, n, pairs, full, rows, over - (rows - full if rule in starred else 0), most
        )
        for rule, n, pairs, full, rows, over, most in told
    ]


def rare_word_keys(
    words: Words, group: Ints, counts: WordCounts, block_rows: int, kept: int
) -> tuple[Ints, Words64, int]:
    """Keys of each text: every two of its rarest words, within its group.

    Words that no other row has cannot be shared and are passed over. A word that hardly any other
    row has makes one key by itself, in place of one with each of the others. Two words that would
    be expected together in more than `block_rows` rows make no key.

    Args:
        words: of n texts, fewer than 32,768. group: of each text. kept: how many words of a text
            make keys.

    Returns:
        The text of each key, the key, and how many texts had words too common to make one.
    """
    told = group[words.text]
    n_with = counts.single.count(words.code, told)
    rows = counts.single.rows[group]
    useful = np.flatnonzero((n_with > 1) & (n_with <= np.maximum(0.5 * rows[words.text], 2)))
    if not len(useful):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.uint64), 0
    # one sortable number: text, how common, a few bits of the word, where it stands
    common = np.minimum(n_with[useful], (1 << 21) - 1).astype(np.uint64)
    ties = mixed(words.code[useful]) >> np.uint64(54)
    packed = (
        (words.text[useful].astype(np.uint64) << np.uint64(49))
        | (common << np.uint64(28))
        | (ties << np.uint64(18))
        | np.arange(len(useful), dtype=np.uint64)
    )
    packed.sort()
    at = useful[(packed & np.uint64((1 << 18) - 1)).astype(np.int64)]
    text, code = words.text[at], words.code[at]
    distinct = np.ones(len(at), dtype=bool)
    distinct[1:] = (text[1:] != text[:-1]) | (code[1:] != code[:-1])
    at, text, code = at[distinct], text[distinct], code[distinct]
    place = np.arange(len(at)) - np.searchsorted(text, text)
    grid = np.full((words.n_texts, kept), -1, dtype=np.int64)
    front = place < kept
    grid[text[front], place[front]] = at[front]
    texts, keys = [], []
    common = np.zeros(words.n_texts, dtype=bool)
    by_itself = np.zeros(words.n_texts, dtype=bool)
    for one in range(kept):
        first = np.flatnonzero(grid[:, one] >= 0)
        x = grid[first, one]
        few = n_with[x] <= ALONE_ENOUGH
        texts.append(first[few])
        keys.append(_key(words.code[x[few]], group[first[few]]))
        by_itself[:] = False
        by_itself[first[few]] = True
        for other in range(one + 1, kept):
            both = np.flatnonzero((grid[:, other] >= 0) & ~by_itself)
            x, y = grid[both, one], grid[both, other]
            expected = n_with[x].astype(np.float64) * n_with[y] / np.maximum(rows[both], 1)
            rare = expected <= block_rows
            common[both[~rare]] = True
            both, x, y = both[rare], x[rare], y[rare]
            with np.errstate(over="ignore"):
                pair = mixed(words.code[x]) + mixed(words.code[y])
            texts.append(both)
            keys.append(_key(pair, group[both]))
    return np.concatenate(texts), np.concatenate(keys), int(common.sum())


def _key(code: Words64, group: Ints) -> Words64:
    with np.errstate(over="ignore"):
        return mixed(mixed(code) + mixed(group.astype(np.uint64) + np.uint64(7)))


__all__ = ["EVERYTHING", "BlockingResult", "find_pairs", "rare_word_keys"]
