"""Records of any kind linked by the same blocks, evidence and clusters, by a mapping of fields.

For sets with known links, against which the linking is held; sales have a plan of their own
(`pipeline.linking.sales`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.linking.blocks import BlockingResult, find_pairs
from pipeline.linking.clusters import one_partner_a_side
from pipeline.linking.counts import EVERYTHING, Frequencies, places_for
from pipeline.linking.evidence import (
    Evidence,
    Pairs,
    Plan,
    WordCounts,
    score_of,
    spelling,
    value_codes,
    words,
)
from pipeline.linking.words import mixed, read_words

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Field:
    """How a column is compared.

    kind: `name` for words with slips, `number` for digits with slips, `words` for texts of
    several words. agree: chance that the values of one thing are equal or near.
    """

    column: str
    kind: Literal["name", "number", "words"] = "name"
    agree: float = 0.9


@dataclass(frozen=True)
class Candidates:
    """Pairs of rows with their score.

    a, b: row numbers, a < b. score: chance in a hundred. blocking: what the rules did; rule k is
    the k-th block.
    """

    a: Ints
    b: Ints
    score: Floats
    blocking: list[BlockingResult]


def link_records(
    records: pa.Table,
    side: Ints,
    fields: Sequence[Field],
    blocks: Sequence[Sequence[str]],
    *,
    expected_share: float = 0.9,
    block_rows: int = 1_000,
    most_pairs: int = 5_000_000,
) -> Candidates:
    """Score every pair of records that share all columns of some block.

    Args:
        records: n rows of text columns.
        side: n numbers; rows of one side are never paired. One number a row lets all be paired.
        fields: what is compared.
        blocks: column names; rows that are equal in all of them are compared.
        expected_share: of the rows that have a partner.
    """
    n = records.num_rows
    everything = np.full(n, EVERYTHING, dtype=np.int64)
    evidence: dict[str, Evidence] = {}
    for field in fields:
        column = records[field.column].combine_chunks()
        if field.kind == "words":
            counts = WordCounts(Frequencies(places_for(n), 1), Frequencies(places_for(n), 1))
            for table in (counts.single, counts.paired):
                table.add_rows(everything)
            counts.add(read_words(column), everything)
            evidence[field.column] = words(field.column, counts, weight=1.0, alone=-1.0)
        else:
            values = Frequencies(places_for(n), 1)
            values.add_rows(everything)
            known = column.is_valid().to_numpy(zero_copy_only=False)
            values.add(value_codes(column)[known], everything[known])
            evidence[field.column] = spelling(
                field.column, values, agree=field.agree, digits=field.kind == "number"
            )
    with duckdb.connect() as con:
        _write_keys(con, records, side, blocks)
        blocking = find_pairs(
            con, block_rows=block_rows, most_pairs=most_pairs, share=0.0,
            across=tuple(range(len(blocks))),
        )  # fmt: skip
        found = con.sql("SELECT a, b FROM link_pairs ORDER BY a, b").to_arrow_table()
    a, b = found["a"].to_numpy(), found["b"].to_numpy()
    pairs = Pairs(
        records.take(pa.array(a)), records.take(pa.array(b)), np.zeros(len(a), dtype=np.int64)
    )
    bits = np.log2(expected_share) - np.log2(max(n - 1, 1))
    total = np.full(len(a), bits)
    for weighed in Plan(evidence).weigh(pairs).values():
        total += weighed
    return Candidates(a, b, score_of(total), blocking)


def best_links(found: Candidates, side: Ints, accept_score: float) -> npt.NDArray[np.bool_]:
    """The pairs from `accept_score` on, one partner a side."""
    clear = np.flatnonzero(found.score >= accept_score)
    a, b = found.a[clear], found.b[clear]
    stays = one_partner_a_side(a, b, side[a], side[b], found.score[clear])
    taken = np.zeros(len(found.a), dtype=bool)
    taken[clear[stays]] = True
    return taken


def _write_keys(
    con: duckdb.DuckDBPyConnection, records: pa.Table, side: Ints, blocks: Sequence[Sequence[str]]
) -> None:
    n = records.num_rows
    parts = []
    for rule, columns in enumerate(blocks):
        key = np.full(n, mixed(np.array([rule + 1], dtype=np.uint64))[0], dtype=np.uint64)
        known = np.ones(n, dtype=bool)
        for name in columns:
            column = records[name].combine_chunks()
            known &= column.is_valid().to_numpy(zero_copy_only=False)
            with np.errstate(over="ignore"):
                key = mixed(key + value_codes(column))
        at = np.flatnonzero(known)
        parts.append(
            pa.table(
                {
                    "rule": pa.array(np.full(len(at), rule, dtype=np.int8)),
                    "block": pa.array(key[at]),
                    "row_key": pa.array(at),
                }
            )
        )
    marks = pa.table(
        {
            "row_key": pa.array(np.arange(n)),
            "signature": pa.array(np.full(n, 1, dtype=np.uint64)),
            "side": pa.array(side.astype(np.int64)),
            "leads": pa.array(np.ones(n, dtype=bool)),
        }
    )
    con.register("all_keys", pa.concat_tables(parts))
    con.register("all_marks", marks)
    con.execute("CREATE TABLE link_keys AS FROM all_keys")
    con.execute("CREATE TABLE link_marks AS FROM all_marks")
