"""Which sales tell of one event, and which of one piece.

Read: prepared rows that stayed after exports were laid over each other. Work: blocks, evidence in
bits, a score that is a chance in a hundred. Write: links, taken or doubtful, each with its
evidence; and what the blocks left out.

Three questions are asked of a pair, each with odds of its own before anything is compared:
one event told twice (by two sources, or twice by a source that numbers nothing), an offer that
came again after it had not sold, and a piece that was sold again. The figures of the evidence
below are estimates (common practice, no source), held to account by the planted truth of the
demo and by record-linkage sets with known links.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.linking.blocks import BlockingResult, find_pairs, kept_words, rare_word_keys
from pipeline.linking.counts import EVERYTHING, Frequencies, places_for
from pipeline.linking.evidence import (
    MOST_BITS,
    Evidence,
    Pairs,
    Plan,
    WordCounts,
    amounts,
    measurements,
    same_code,
    score_of,
    spans,
    words,
)
from pipeline.linking.threads import in_threads
from pipeline.linking.words import Words64, mixed, read_words
from pipeline.settings import LinkSettings
from pipeline.sql import run
from pipeline.terms.sizes import LARGEST

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

RULES = {
    1: "the same words",
    2: "two rare words, in one category",
    3: "price and day, in two sources",
    4: "the same words on condition, in one source and category",
}
ACROSS = (3,)
LED = (4,)  # by an offer that did not sell
STARRED = (1,)
SHARED_SIGNS = 0.34
Part = dict[str, Any]
"""A slice of rows: numbers as numpy arrays by name, and the Arrow array `title`."""

READ_ROWS = 20_000  # titles at once: their bytes stay in the processor's cache
WRITE_ROWS = 400_000
PAIRS_AT_ONCE = 20_000

# odds before anything is compared: of how many rows is there another telling, or another offer
TOLD_BY_TWO = 0.05
OFFERED_AGAIN = 0.35
SOLD_AGAIN = 0.02

UNGROUPED = 0.55  # of the bits of shared words counts where the kind of thing is not known
# bits where a title of six words or more comes again to the word
TOLD_ALIKE = {"same_event": 2.0, "relisted": 2.0, "resale": 3.0}
# bits for each word of a title that the other title lacks: two sources word one event freely
TITLE_APART = {"same_event": -0.35, "relisted": -0.7, "resale": -0.7}
# chance that a piece is graded again as it was, whatever the words; it may have been mended or worn
GRADED_AS_BEFORE = 0.7
# bits where the words on condition are not the same
CONDITION_APART = {"same_event": -0.2, "relisted": -2.0, "resale": -0.5}

LINK_SCHEMA = pa.schema(
    [
        pa.field("a", pa.int64()),
        pa.field("b", pa.int64()),
        pa.field("kind", pa.string()),
        pa.field("score", pa.float64()),
        pa.field("evidence", pa.map_(pa.string(), pa.float64())),
        pa.field("said", pa.int8()),
    ]
)
FEW_PAIRS = 200_000
KINDS = ("same_event", "relisted", "resale")


@dataclass(frozen=True)
class Market:
    """How common things are among all rows: the words of titles, prices and words on condition
    (`values`), and what makes a block by itself (`keys`); the share of each source in all rows, and
    of each grade of condition in those that are graded."""

    titles: WordCounts
    values: Frequencies
    keys: Frequencies
    n_days: int
    source_share: dict[str, float]
    grade_share: dict[str, float]


def propose_links(
    con: duckdb.DuckDBPyConnection, settings: LinkSettings
) -> tuple[pa.Table, list[BlockingResult]]:
    """Every pair of sales that is likely enough to be looked at by a person, or surer.

    Args:
        con: holds `rows`, `dropped` and `said_links` (sale_id, other_sale_id, link).

    Returns:
        Table with LINK_SCHEMA, ordered by a, b (a is the earlier row), of all pairs that score
        `review_score` or more, or of which a person said something; and what each rule of
        blocking did. `put_away` takes the working tables away.
    """
    run(con, "link_rows")
    n_rows, first, last = con.execute(
        "SELECT count(*), coalesce(min(day), 0), coalesce(max(day), 0) FROM link_rows"
    ).fetchall()[0]
    if n_rows < 2:
        return LINK_SCHEMA.empty_table(), []
    market = _count(con, n_rows, last - first + 1)
    common = _write_keys(con, market, settings)
    # A pair a sale is enough for what is rare; titles that are all alike must not cost the square.
    most_pairs = min(settings.most_pairs, max(FEW_PAIRS, n_rows))
    blocking = find_pairs(
        con, block_rows=settings.block_rows, most_pairs=most_pairs, share=SHARED_SIGNS,
        across=ACROSS, led=LED, starred=STARRED,
    )  # fmt: skip
    blocking = [replace(b, n_rows_common=common[b.rule]) for b in blocking]
    run(con, "link_said")
    run(con, "link_kinds", event_days=settings.event_days, relist_days=settings.relist_days)
    run(con, "link_texts")
    found = list(_judge(con, market, settings))
    links = pa.concat_tables([LINK_SCHEMA.empty_table(), *found])
    return links.sort_by([("a", "ascending"), ("b", "ascending")]), blocking


def put_away(con: duckdb.DuckDBPyConnection) -> None:
    """Drop the working tables."""
    for table in ("link_rows", "link_groups", "link_marks", "link_pairs", "link_candidates",
                  "link_texts", "link_said"):  # fmt: skip
        con.execute(f"DROP TABLE IF EXISTS {table}")


# ---------------------------------------------------------------------------------------------
# Two passes over the titles: count, then make keys


def _titles(con: duckdb.DuckDBPyConnection) -> Iterator[Part]:
    """The rows of `link_rows` with their titles, in slices."""
    reader = (
        con.cursor()
        .sql(
            "SELECT l.row_key, l.category, l.day, l.side, l.source, l.amount, l.condition, "
            "l.has_amount, l.is_offer, r.title_text FROM rows AS r INNER JOIN link_rows AS l "
            "ON l.row_key = r.row_key"
        )
        .to_arrow_reader(WRITE_ROWS)
    )
    for batch in reader:
        for start in range(0, batch.num_rows, READ_ROWS):
            part = batch.slice(start, READ_ROWS)
            out: Part = {
                name: part.column(name).to_numpy(zero_copy_only=False)
                for name in part.schema.names
                if name not in ("title_text", "condition")
            }
            out["condition"] = part.column("condition").fill_null(0).to_numpy(zero_copy_only=False)
            out["title"] = part.column("title_text")
            yield out


def _count(con: duckdb.DuckDBPyConnection, n_rows: int, n_days: int) -> Market:
    bits = places_for(n_rows)
    n_groups = con.execute("SELECT count(*) + 1 FROM link_groups").fetchall()[0][0]
    titles = WordCounts(Frequencies(bits, n_groups), Frequencies(bits, n_groups))
    values, keys = Frequencies(bits, n_groups), Frequencies(bits, 1)
    # cutting into words runs side by side; counting does not, so that no count is lost
    for part, told in in_threads(lambda part: (part, read_words(part["title"])), _titles(con)):
        group = part["category"]
        for table in (titles.single, titles.paired, values):
            table.add_rows(group)
        titles.add(told, group)
        priced = part["has_amount"]
        values.add(part["amount"][priced], group[priced])
        stated = part["condition"] != 0
        values.add(part["condition"][stated], group[stated])
        prints = told.fingerprints()
        keys.add(prints, _whole(prints))
        seller = _seller_words(part)[stated]
        keys.add(seller, _whole(seller))
    return Market(
        titles, values, keys, int(n_days),
        source_share=_shares(con, "source_id"),
        grade_share=_shares(con, "nullif(condition, 'unknown')"),
    )  # fmt: skip


def _shares(con: duckdb.DuckDBPyConnection, value: str) -> dict[str, float]:
    """Of the rows that hold some value, the part that holds each."""
    return dict(
        con.execute(
            f"SELECT {value} AS v, count(*) / sum(count(*)) OVER () FROM rows "
            "WHERE aside_reason IS NULL AND v IS NOT NULL GROUP BY v"
        ).fetchall()
    )


def _write_keys(
    con: duckdb.DuckDBPyConnection, market: Market, settings: LinkSettings
) -> dict[int, int]:
    """`link_keys` and `link_marks` of every row; gives the rows too common for a rule."""
    con.execute("CREATE OR REPLACE TABLE link_keys (rule TINYINT, block UBIGINT, row_key BIGINT)")
    con.execute(
        "CREATE OR REPLACE TABLE link_marks "
        "(row_key BIGINT, signature UBIGINT, side UBIGINT, leads BOOLEAN)"
    )
    keys: list[pa.Table] = []
    marks: list[pa.Table] = []
    common = dict.fromkeys(RULES, 0)
    waiting = 0
    for found in in_threads(lambda part: _keys_of(part, market, settings), _titles(con)):
        keys.append(found.keys)
        marks.append(found.marks)
        for rule, n in found.common.items():
            common[rule] += n
        waiting += found.marks.num_rows
        if waiting >= WRITE_ROWS:
            _flush(con, keys, marks)
            waiting = 0
    _flush(con, keys, marks)
    return common


def _flush(con: duckdb.DuckDBPyConnection, keys: list[pa.Table], marks: list[pa.Table]) -> None:
    for name, tables in (("link_keys", keys), ("link_marks", marks)):
        if tables:
            con.register("batch", pa.concat_tables(tables))
            con.execute(f"INSERT INTO {name} FROM batch")
            con.unregister("batch")
        tables.clear()


@dataclass(frozen=True)
class Keys:
    """Keys and marks of a slice of rows, and the rows too common for each rule."""

    keys: pa.Table
    marks: pa.Table
    common: dict[int, int]


def _keys_of(part: Part, market: Market, settings: LinkSettings) -> Keys:
    """The blocks of each row.

    A value that more rows share than a block may hold is parted by category, day and price; one
    that tells of condition alone is passed over.
    """
    row_key, group, day = part["row_key"], part["category"], part["day"].astype(np.int64)
    told = read_words(part["title"])
    finer = _together(part["amount"], day, group)
    prints = told.fingerprints()
    alike = market.keys.count(prints, _whole(prints))
    known = np.flatnonzero((told.counts > 0) & (alike > 1))
    crowded = alike > settings.block_rows
    same_words = np.where(crowded, _together(prints, finer), prints)
    kept = kept_words(int(market.titles.single.rows[0]))
    text, rare, n_common = rare_word_keys(told, group, market.titles, settings.block_rows, kept)
    rules = [(1, known, same_words[known]), (2, text, rare)]
    common = {1: int((crowded & (told.counts > 0)).sum()), 2: n_common}

    width = settings.event_days + 1
    priced = np.flatnonzero(part["has_amount"] & ~part["is_offer"])
    amount, bucket = part["amount"][priced], day[priced] // width
    expected = market.values.count(amount, _whole(amount)) * (2.0 * width / market.n_days)
    crowded = expected > settings.block_rows
    few, many = np.flatnonzero(~crowded), np.flatnonzero(crowded)
    for later in (0, 1):
        rules.append((3, priced[few], _together(amount[few], bucket[few] + later)))
    rules.append((3, priced[many], finer[priced[many]]))
    common[3] = len(many)

    seller = _seller_words(part)
    alike = market.keys.count(seller, _whole(seller))
    stated = part["condition"] != 0
    telling = np.flatnonzero(stated & (alike > 1) & (alike <= settings.block_rows))
    rules.append((4, telling, seller[telling]))
    common[4] = int((stated & (alike > settings.block_rows)).sum())
    keys = pa.concat_tables(
        pa.table(
            {
                "rule": pa.array(np.full(len(rows), rule, dtype=np.int8)),
                "block": pa.array(block),
                "row_key": pa.array(row_key[rows]),
            }
        )
        for rule, rows, block in rules
    )
    marks = pa.table(
        {
            "row_key": pa.array(row_key),
            "signature": pa.array(told.signatures()),
            "side": pa.array(part["side"]),
            "leads": pa.array(part["is_offer"]),
        }
    )
    return Keys(keys, marks, common)


def _seller_words(part: Part) -> Words64:
    """One number for the words on condition of one source in one category."""
    return _together(part["condition"], part["source"], part["category"])


def _together(*numbers: npt.NDArray[Any]) -> Words64:
    """One number for several, in their order."""
    joined = np.zeros(len(numbers[0]), dtype=np.uint64)
    with np.errstate(over="ignore"):
        for one in numbers:
            joined = mixed(joined + mixed(one.astype(np.uint64) + np.uint64(11)))
    return joined


def _whole(codes: Words64) -> Ints:
    return np.full(len(codes), EVERYTHING, dtype=np.int64)


# ---------------------------------------------------------------------------------------------
# Evidence


def plan_of(kind: str, market: Market, settings: LinkSettings) -> Plan:
    """What is compared for one question."""
    compared: dict[str, Evidence] = {
        "title": words(
            "title",
            market.titles,
            as_told=TOLD_ALIKE[kind],
            alone=TITLE_APART[kind],
            cut_short=kind == "same_event",
            ungrouped=UNGROUPED,
        ),
        "condition": _equal_value("condition", market.values, differ=CONDITION_APART[kind]),
        "measurements": measurements(
            "measures", agree=4.0, near=-2.0, differ=-8.0, summary=LARGEST
        ),
        "material": same_code("material", agree=0.5, differ=-3.0),
        "maker": same_code("maker", agree=0.5, differ=-8.0),
        "attribution": same_code("attribution", agree=0.2, differ=-4.0),
        "years": spans("made_from_year", "made_to_year", meet=0.4, part=-2.0, far_part=-6.0),
        "lot": same_code("lot_kind", agree=0.1, differ=-6.0),
        "pieces": same_code("n_pieces", agree=0.1, differ=-6.0),
    }
    if kind == "same_event":
        compared["price"] = _event_price(market)
        compared["day"] = _event_day()
    elif kind == "relisted":
        compared["price"] = amounts("log_amount", ratio=-0.15, spread=0.3, among_others=1.4)
        compared["source"] = _same_source(market, share=0.9)
        compared["time between"] = _time_between(settings)
    else:
        compared["condition"] = _condition_again(market)
        compared["price"] = amounts("log_amount", ratio=0.0, spread=0.4, among_others=1.4)
        compared["source"] = _same_source(market, share=0.6)
    return Plan(compared)


def _equal_value(name: str, counts: Frequencies, *, differ: float) -> Callable[[Pairs], Floats]:
    """Equal values weigh as they are rare, up to the most that one value may weigh."""

    def weigh(pairs: Pairs) -> Floats:
        left = pairs.left[name].fill_null(0).to_numpy()
        right = pairs.right[name].fill_null(0).to_numpy()
        rarity = np.minimum(-np.log2(counts.chance(left, pairs.group)), MOST_BITS)
        bits = np.where(left == right, rarity, differ)
        return np.where((left != 0) & (right != 0), bits, 0.0)

    return weigh


def _condition_again(market: Market) -> Evidence:
    """Words on condition of a piece sold again: other words that are read as the same grade speak
    for it as that grade is rare, and another grade speaks against it."""
    same_words = _equal_value("condition", market.values, differ=CONDITION_APART["resale"])
    grades = pa.array(sorted(market.grade_share), pa.string())
    share = np.array([market.grade_share[g] for g in grades.to_pylist()] or [1.0])
    agree = np.maximum(np.log2(GRADED_AS_BEFORE / share), 0.0)  # like grades speak against nothing
    by_chance = max(1.0 - float((share**2).sum()), 1e-3)
    differ = np.log2((1.0 - GRADED_AS_BEFORE) / by_chance)

    def weigh(pairs: Pairs) -> Floats:
        by_words = same_words(pairs)
        left, right = (
            pc.fill_null(pc.index_in(side, value_set=grades), -1).to_numpy(zero_copy_only=False)
            for side in pairs.texts("grade")
        )
        by_grade = np.where(left == right, agree[left], differ)
        told = (by_words <= 0) & (left >= 0) & (right >= 0)
        return np.where(told, by_grade, by_words)

    return weigh


def _event_price(market: Market) -> Evidence:
    """One event has one price: equal to the hundredth, or nearly so after an exchange."""

    def weigh(pairs: Pairs) -> Floats:
        left = pairs.left["amount"].fill_null(0).to_numpy()
        right = pairs.right["amount"].fill_null(0).to_numpy()
        rarity = np.minimum(-np.log2(market.values.chance(left, pairs.group)), MOST_BITS)
        one, other = pairs.numbers("log_amount")
        gap = np.abs(one - other)
        bits = np.where(gap <= 0.02, 3.0, np.where(gap <= 0.1, -2.0, -8.0))
        bits = np.where(np.isfinite(gap), bits, 0.0)
        return np.where((left == right) & (left != 0), rarity, bits)

    return weigh


def _event_day() -> Evidence:
    def weigh(pairs: Pairs) -> Floats:
        one, other = pairs.numbers("day")
        gap = np.abs(one - other)
        return np.where(gap == 0, 2.5, np.where(gap == 1, 0.5, -2.0))

    return weigh


def _time_between(settings: LinkSettings) -> Evidence:
    """What did not sell comes again soon: after a quarter of a year on the average, thinning out
    exponentially, against any day within `relist_days` by chance."""
    average = 90.0

    def weigh(pairs: Pairs) -> Floats:
        one, other = pairs.numbers("day")
        odds = np.log(settings.relist_days / average) - (other - one) / average
        return np.clip(odds / np.log(2.0), -MOST_BITS, MOST_BITS)

    return weigh


def _same_source(market: Market, *, share: float) -> Evidence:
    """A piece comes again where it was before more often than chance would have it."""

    def weigh(pairs: Pairs) -> Floats:
        left, right = pairs.texts("source")
        size = np.array([market.source_share[s] for s in right.to_pylist()])
        same = np.asarray(pc.equal(left, right).to_numpy(zero_copy_only=False), dtype=bool)
        other = np.maximum(1.0 - size, 0.01)
        return np.where(same, np.log2(share / size), np.log2((1.0 - share) / other))

    return weigh


def odds_before(kind: str, group: Ints, market: Market, settings: LinkSettings) -> Floats:
    """Bits of the odds that a pair is one, before it is compared: how many rows have a partner,
    over how many rows could be it."""
    rows = market.titles.single.rows[group].astype(np.float64)
    if kind == "same_event":
        within = min((2 * settings.event_days + 1) / market.n_days, 1.0)
        share = TOLD_BY_TWO
    elif kind == "relisted":
        within = min(settings.relist_days / market.n_days, 1.0)
        share = OFFERED_AGAIN
    else:
        within, share = 0.5, SOLD_AGAIN
    return np.log2(share) - np.log2(np.maximum(rows * within, 1.0))


COLUMNS = ("title", "condition", "grade", "material", "maker", "attribution", "made_from_year",
           "made_to_year", "lot_kind", "n_pieces", "measures", "amount", "log_amount", "day",
           "source")  # fmt: skip


def _judge(
    con: duckdb.DuckDBPyConnection, market: Market, settings: LinkSettings
) -> Iterator[pa.Table]:
    sides = ", ".join(
        f't{side}."{name}" AS "{side}_{name}"' for side in ("a", "b") for name in COLUMNS
    )
    plans = {kind: plan_of(kind, market, settings) for kind in KINDS}
    reader = con.sql(
        f"SELECT c.a, c.b, c.category, c.said, c.kind, {sides} FROM link_candidates AS c "
        "INNER JOIN link_texts AS ta ON ta.row_key = c.a "
        "INNER JOIN link_texts AS tb ON tb.row_key = c.b"
    ).to_arrow_reader(PAIRS_AT_ONCE)
    slices = (
        (kind, some)
        for batch in reader
        for kind in KINDS
        if (some := _of_kind(pa.Table.from_batches([batch]), kind)).num_rows
    )
    yield from in_threads(
        lambda one: _scored(one[1], one[0], plans[one[0]], market, settings), slices
    )


def _of_kind(pairs: pa.Table, kind: str) -> pa.Table:
    return pairs.filter(pc.equal(pairs["kind"], kind))


def _scored(
    table: pa.Table, kind: str, plan: Plan, market: Market, settings: LinkSettings
) -> pa.Table:
    group = table["category"].to_numpy()
    pairs = Pairs(
        table.select([f"a_{c}" for c in COLUMNS]).rename_columns(COLUMNS),
        table.select([f"b_{c}" for c in COLUMNS]).rename_columns(COLUMNS),
        group,
    )
    bits = {"odds before": odds_before(kind, group, market, settings), **plan.weigh(pairs)}
    total = np.sum(list(bits.values()), axis=0)
    score = score_of(total)
    said = table["said"].to_numpy()
    likely = np.flatnonzero((score >= settings.review_score) | (said != 0))
    names = list(bits)
    stacked = np.stack([bits[name][likely] for name in names], axis=1)
    told = stacked != 0
    counts = told.sum(axis=1)
    offsets = np.concatenate(([0], np.cumsum(counts))).astype(np.int32)
    keys = pa.array(np.tile(np.array(names), len(likely))[told.ravel()], pa.string())
    evidence = pa.MapArray.from_arrays(
        pa.array(offsets), keys, pa.array(np.round(stacked[told], 2), pa.float64())
    )
    return pa.table(
        {
            "a": table["a"].take(pa.array(likely)),
            "b": table["b"].take(pa.array(likely)),
            "kind": pa.repeat(pa.scalar(kind), len(likely)),
            "score": pa.array(score[likely]),
            "evidence": evidence,
            "said": pa.array(said[likely]),
        },
        schema=LINK_SCHEMA,
    )
