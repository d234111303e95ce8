"""A column of money texts to a column of exact amounts.

Work is done once for each distinct text. Plain ones ("1,250.00", "£45", "45,00 EUR") are read by
whole-column operations, all others one at a time by `read_amount`; both ways give the same rows.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal

import pyarrow as pa
import pyarrow.compute as pc

from pipeline.errors import SettingsError
from pipeline.money.amount_text import KINDS, REASONS, AmountReading, read_amount
from pipeline.money.currencies import CODES, candidates, minor_units, settle

__all__ = [
    "AMOUNT_TYPE",
    "KINDS",
    "READING_SCHEMA",
    "REASONS",
    "USABLE_REASONS",
    "AmountReading",
    "read_amount",
    "read_amounts",
]

AMOUNT_TYPE = pa.decimal128(18, 4)
_SCALE = Decimal("0.0001")

READING_SCHEMA = pa.schema(
    [
        ("amount", AMOUNT_TYPE),
        ("currency", pa.string()),
        ("kind", pa.string()),
        ("reason", pa.string()),
        ("rule", pa.string()),
        ("price_type", pa.string()),
        ("low_amount", AMOUNT_TYPE),
        ("high_amount", AMOUNT_TYPE),
    ]
)

# With these an amount still is the amount of a sale; every other reason sets the row aside.
USABLE_REASONS: frozenset[str] = frozenset(r for r, (usable, _) in REASONS.items() if usable)

_SIGN = r"[£€$¥₹]|(?:US|AU|CA|NZ|HK|A|C|R) ?\$|[A-Z]{3} ?"
_AFTER = r" ?[€£]| ?[A-Z]{3}| ?kr| ?zł| ?Kč"
_LEAD = (
    r"(?i:sold|sold for|sold at|sold price|price|price realised|hammer|hammer price|final price"
    r"|winning bid|realised|realized|achieved):? "
)
_SEPARATOR = "\x1f"
_SPACES = r"[\x{a0}\x{2009}\x{202f}\t]"
# "45.-" says that there are no cents.
_NO_CENTS = r"(\d[.,]) ?[-–—]{1,2}( ?(?:[A-Za-z]{2,3}|€|£))?$"
# The ways to write the decimal mark and the thousands.
_STYLES = ((".", ","), (",", "."), (",", " "), (".", " "), (".", "'"), (",", "'"))


def _plain_pattern(point: str, group: str, *, known: bool) -> str:
    """RE2 source of the texts that can be read one way only with `point` as the decimal mark.

    Args:
        known: the source says that `point` is its decimal mark, so that "1,234" is plain too.
    """
    dot = "\\" + point
    if group in ".,":
        comma = "\\" + group
        grouped_only = rf"|[1-9]\d{{0,2}}(?:{comma}\d{{3}}){{1,3}}" if known else ""
        number = (
            rf"\d{{1,12}}(?:{dot}\d{{1,2}})?"
            rf"|[1-9]\d{{0,2}}(?:{comma}\d{{3}}){{1,3}}{dot}\d{{1,2}}{grouped_only}"
        )
    else:
        number = rf"[1-9]\d{{0,2}}(?:{group}\d{{3}}){{1,3}}(?:{dot}\d{{1,2}})?"
    return (
        rf"^ *(?P<lead>{_LEAD})?(?P<before>{_SIGN})? ?(?P<number>{number})(?P<after>{_AFTER})? *$"
    )


def read_amounts(
    texts: pa.Array | pa.ChunkedArray,
    decimal_mark: str | None = None,
    default_currency: str | pa.Array | pa.ChunkedArray | None = None,
) -> pa.Table:
    """Read a column of price texts.

    Args:
        texts: strings; null is `price_missing`.
        decimal_mark: the source's "." or ",", None where it does not say.
        default_currency: the source's ISO 4217 currency, or a column of them aligned with
            `texts` (an export with a currency column).

    Returns:
        A table aligned with `texts`, of `READING_SCHEMA`. Amounts are rounded half to even at the
        fourth decimal; more decimals than the currency has are told in `reason`.

    Raises:
        SettingsError: the decimal mark or the default currency is none.
    """
    _check(decimal_mark, default_currency)
    column = _flat(texts).cast(pa.string())
    if default_currency is None or isinstance(default_currency, str):
        encoded = column.dictionary_encode(null_encoding="encode")
        distinct = encoded.dictionary
        table = _read_distinct(distinct, decimal_mark, default_currency)
    else:
        currencies = _flat(default_currency).cast(pa.string())
        encoded = pc.binary_join_element_wise(
            column, currencies, _SEPARATOR, null_handling="replace", null_replacement="\x1e"
        ).dictionary_encode()
        table = _read_pairs(encoded.dictionary, decimal_mark)
    return table.take(encoded.indices)


def _check(mark: str | None, currency: object) -> None:
    if mark not in (None, ".", ","):
        raise SettingsError(
            f'The decimal mark is "{mark}".',
            todo='Set decimal_mark to "." or ",", or leave it out.',
        )
    if isinstance(currency, str) and currency not in CODES:
        raise SettingsError(
            f'"{currency}" is no ISO 4217 currency code.', todo="Write a code such as GBP or EUR."
        )


def _flat(column: pa.Array | pa.ChunkedArray) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column


def _read_pairs(pairs: pa.Array, mark: str | None) -> pa.Table:
    """Distinct text and currency pairs, read currency by currency."""
    parts = pc.split_pattern(pairs, _SEPARATOR, max_splits=1, reverse=True)
    text = pc.list_element(parts, 0)
    currency = pc.list_element(parts, 1)
    text = pc.if_else(pc.equal(text, "\x1e"), pa.scalar(None, pa.string()), text)
    tables, places = [], []
    for code in pc.unique(currency).to_pylist():
        here = pc.indices_nonzero(pc.equal(currency, code))
        known = code if code in CODES else None
        tables.append(_read_distinct(text.take(here), mark, known))
        places.append(here)
    if not tables:
        return READING_SCHEMA.empty_table()
    order = pc.sort_indices(pa.concat_arrays(places))
    return pa.concat_tables(tables).take(order)


def _read_distinct(texts: pa.Array, mark: str | None, currency: str | None) -> pa.Table:
    plain, places = _read_plain(texts, mark, currency)
    is_rest = pc.invert(pc.is_in(pa.array(range(len(texts)), pa.int64()), value_set=places))
    rest = pc.indices_nonzero(is_rest).cast(pa.int64())
    readings = [read_amount(t, mark, currency) for t in texts.take(rest).to_pylist()]
    order = pc.sort_indices(pa.concat_arrays([places, rest]))
    return pa.concat_tables([plain, readings_table(readings)]).take(order)


def readings_table(readings: Iterable[AmountReading]) -> pa.Table:
    """Readings as rows of `READING_SCHEMA`, amounts at the fourth decimal, half to even."""
    rows = list(readings)
    columns = {
        name: [getattr(r, name) for r in rows]
        for name in READING_SCHEMA.names
        if not name.endswith("amount")
    }
    for name in ("amount", "low_amount", "high_amount"):
        columns[name] = [_scaled(getattr(r, name)) for r in rows]
    return pa.table({n: columns[n] for n in READING_SCHEMA.names}, schema=READING_SCHEMA)


def _scaled(value: Decimal | None) -> Decimal | None:
    return None if value is None else value.quantize(_SCALE, rounding=ROUND_HALF_EVEN)


def _read_plain(
    texts: pa.Array, mark: str | None, currency: str | None
) -> tuple[pa.Table, pa.Array]:
    """The plain texts' rows and their places, one pass for each style of numbers."""
    tables, places = [], []
    taken = pa.nulls(len(texts), pa.bool_()).fill_null(False)
    tidy = pc.replace_substring_regex(texts, _SPACES, " ")
    tidy = pc.replace_substring_regex(tidy, _NO_CENTS, r"\1" + "00" + r"\2")
    for point, group in _STYLES:
        pattern = _plain_pattern(point, group, known=mark == point)
        matched = pc.fill_null(pc.match_substring_regex(tidy, pattern), False)
        matched = pc.and_not(matched, taken)
        taken = pc.or_(taken, matched)
        here = pc.indices_nonzero(matched).cast(pa.int64())
        found = pc.extract_regex(tidy.take(here), pattern)
        table, kept = _plain_rows(found, point, group, currency)
        tables.append(table)
        places.append(here.filter(kept))
    return pa.concat_tables(tables), pa.concat_arrays(places)


def _plain_rows(
    found: pa.StructArray, point: str, group: str, currency: str | None
) -> tuple[pa.Table, pa.Array]:
    """Rows of matched texts, and which of the matches are plain after all."""
    before = pc.utf8_trim_whitespace(found.field("before"))
    after = pc.utf8_trim_whitespace(found.field("after"))
    sign = pc.binary_join_element_wise(before, after, "", null_handling="skip")
    one_sign = pc.or_(pc.equal(before, ""), pc.equal(after, ""))
    signs = sign.dictionary_encode()
    settled = [_settled(s, currency) for s in signs.dictionary.to_pylist()]
    codes = pa.array([c for c, _ in settled], pa.string()).take(signs.indices)
    fine = pa.array([ok for _, ok in settled], pa.bool_()).take(signs.indices)
    number = found.field("number")
    has_point = pc.match_substring(number, point)
    plain = pc.replace_substring(number, group, "")
    amount = pc.cast(pc.replace_substring(plain, point, "."), AMOUNT_TYPE)
    zero = pc.equal(amount, pa.scalar(Decimal(0), AMOUNT_TYPE))
    nothing = pa.scalar(None, pa.string())
    hammer = pc.match_substring(found.field("lead"), "hammer", ignore_case=True)
    rows = pa.table(
        [
            amount,
            codes,
            pa.array(["amount"] * len(number), pa.string()),
            pc.if_else(zero, "zero_amount", nothing),
            _plain_rule(number, group, has_point),
            pc.if_else(hammer, "hammer", nothing),
            pa.nulls(len(number), AMOUNT_TYPE),
            pa.nulls(len(number), AMOUNT_TYPE),
        ],
        schema=READING_SCHEMA,
    )
    kept = pc.and_(fine, one_sign)
    return rows.filter(kept), kept


def _plain_rule(number: pa.Array, group: str, has_point: pa.Array) -> pa.Array:
    """How `read_number` names the way it reads the same number."""
    if group not in ".,":
        return pc.if_else(has_point, "decimals", "whole")
    has_group = pc.match_substring(number, group)
    several = pc.greater(pc.count_substring(number, group), 1)
    conditions = pa.StructArray.from_arrays(
        [pc.and_(has_group, has_point), several, has_group, has_point], names=list("abcd")
    )
    return pc.case_when(conditions, "two_marks", "groups", "groups_by_source", "decimals", "whole")


def _settled(sign: str, default: str | None) -> tuple[str | None, bool]:
    """The currency of a plain text's sign, and whether it is beyond doubt.

    Left to the full reader: signs that are no money, shared signs that stay open, and currencies
    that are not paid in hundredths.
    """
    if not sign:
        return default, default is None or minor_units(default) == 2
    sign = sign.replace(" ", "")
    found = candidates(sign, default)
    code = settle(found, [sign], default) if found else None
    return code, code is not None and minor_units(code) == 2 and sign not in {"ALL", "TRY"}
