"""One money text to one exact amount and its ISO 4217 currency, or to the reason why not.

Whole columns go through `pipeline.money.amounts`, which calls this for the texts that are not
plain numbers.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from itertools import pairwise

from pipeline import reasons
from pipeline.money import phrases
from pipeline.money.clean import clean
from pipeline.money.currencies import (
    candidates,
    is_also_a_word,
    minor_units,
    settle,
    sign_pattern,
)
from pipeline.money.numbers import AMOUNT_LIMIT, read_number
from pipeline.money.old_money import to_decimal_pounds

KINDS = ("amount", "range_estimate", "no_price", "unread", "ambiguous")


@dataclass(frozen=True, slots=True)
class AmountReading:
    """What a price text says.

    Attributes:
        amount: exact, signed, in `currency`; None unless `kind` is "amount".
        currency: ISO 4217, None where neither text nor source settles it.
        kind: one of `KINDS`.
        reason: a key of `REASONS`; None for a plain amount.
        rule: how the number was read, for people who ask why.
        price_type: "hammer", "with_premium", "asking" or "estimate" where the text itself says
            so, else None.
        low_amount, high_amount: the ends of a range.
    """

    amount: Decimal | None
    currency: str | None
    kind: str
    reason: str | None
    rule: str | None
    price_type: str | None = None
    low_amount: Decimal | None = None
    high_amount: Decimal | None = None


# Reason -> (usable as the amount of a sale, one sentence).
REASONS: dict[str, tuple[bool, str]] = {
    **{name: (False, sentence) for name, sentence in reasons.AMOUNTS.items()},
    **{name: (True, sentence) for name, sentence in reasons.AMOUNT_NOTES.items()},
}

_DATE = re.compile(
    r"(?<![\d.,/£$€-])(?:\d{4}-\d{1,2}-\d{1,2}|\d{1,2}([./-])\d{1,2}\1(?:\d{4}|\d{2}))(?![\d.,/-])"
)
_NUMBER = (
    r"(?:\d{1,3}(?:[ ']\d{3}(?!\d))+(?:[.,]\d+)?|[.,]{0,2}\d+(?:[.,]\d+)*)(?:[eE][+-]?\d{1,9}\b)?"
)


# "2 x £45" tells the price of each of two.
_TIMES = re.compile(r"(?<![\d.,])[1-9]\d{0,3} ?[x×] ?[^\w\s]{0,3}$")


@cache
def _tokens() -> re.Pattern[str]:
    return re.compile(
        rf"(?P<sign>{sign_pattern()})|(?P<number>{_NUMBER})"
        r"|(?P<word>p&p\b|o\.n\.o\b\.?|[^\W\d_]+(?:'[^\W\d_]+)?)|(?P<mark>\S)"
    )


@dataclass(slots=True)
class _Number:
    """A number in its place: what stands about it decides what it means."""

    text: str
    start: int
    end: int
    sign: str | None = None
    times: Decimal = Decimal(1)
    negative: bool = False
    usable: bool = True
    share: bool = False
    labels: list[str] = field(default_factory=list)
    value: Decimal | None = None
    reason: str | None = None
    rule: str = ""
    joined_to_next: str | None = None


def read_amount(
    text: str | None, decimal_mark: str | None = None, default_currency: str | None = None
) -> AmountReading:
    """Read one price text.

    Args:
        text: the cell as found.
        decimal_mark: the source's "." or ",", None where it does not say.
        default_currency: the source's ISO 4217 currency: taken where the text has none, and
            decides among currencies that share a sign.
    """
    if text is None:
        return _none("no_price", "price_missing", default_currency)
    plain, struck = clean(text)
    if phrases.NOTHING.fullmatch(plain):
        return _none("no_price", "price_missing", default_currency)
    early = _without_amount(plain, default_currency)
    if early is not None:
        return early
    offer = phrases.OFFER_AMOUNT.search(plain)
    if offer:
        plain = plain[offer.end() :]
    plain, old, fault = to_decimal_pounds(plain)
    if fault:
        return _none("unread", fault, "GBP")
    return _Text(plain, decimal_mark, default_currency, old=old, struck=struck).read()


def _none(kind: str, reason: str, currency: str | None, rule: str | None = None) -> AmountReading:
    return AmountReading(None, currency, kind, reason, rule)


def _without_amount(text: str, default_currency: str | None) -> AmountReading | None:
    """The readings that need no number, or None."""
    has_digit = any(c.isdigit() for c in text)
    if phrases.NAUGHT.fullmatch(text):
        return AmountReading(Decimal(0), default_currency, "amount", "zero_amount", "free")
    for pattern, reason in phrases.NO_PRICE:
        if pattern.search(text) and not (has_digit and reason == "price_withheld"):
            return _none("no_price", reason, default_currency, "phrase")
    if phrases.BEST_OFFER.search(text) and not phrases.OFFER_AMOUNT.search(text):
        return _none("no_price", "best_offer_hidden", default_currency, "phrase")
    return None


class _Text:
    """One cleaned text on its way to a reading."""

    def __init__(
        self, text: str, mark: str | None, default: str | None, *, old: bool, struck: bool
    ) -> None:
        self.mark, self.default, self.old, self.struck = mark, default, old, struck
        self.dated = False
        text, found = _DATE.subn(" ", text)
        self.dated = found > 0
        # "1.899,-" names its decimal mark; "1.899.-" does not.
        text = re.sub(r"(\d)\.(\d{3})\. ?[-–—]{1,2}(?!\d)", r"\1.\2", text)
        text = re.sub(r"(?<=\d)([.,]) ?[-–—]{1,2}(?!\d)", r"\g<1>00", text)
        # The point of "Rs.750" ends the word.
        text = re.sub(r"([^\W\d_])\.(?=\d)", r"\1. ", text)
        # "36. 24" is one number, "45. 12 bids" is not.
        text = re.sub(r"(?<=\d)\. (?=\d\d(?: ?[^\w\s.,]| ?[A-Z]{3}\b|\s*$))", ".", text)
        text = re.sub(r"(?<=\d) ([.,]) (?=\d{2,3}(?!\d))", r"\1", text)
        text = re.sub(r"(?<![\d.,])(\d+)([€£$]) ?(\d\d)(?![\d.,])", r"\1.\3\2", text)
        self.text = text
        self.words: list[tuple[str, int, int]] = []
        self.signs: list[tuple[str, int, int]] = []
        self.numbers: list[_Number] = []
        self.marks: list[tuple[str, int, int]] = []

    def read(self) -> AmountReading:
        self._lex()
        parted = re.compile(rf"(?<=\d), (?=\d\d{self._behind()})")
        if self.signs and parted.search(self.text):
            self.text = parted.sub(",", self.text)
            self._lex()
        self._attach_signs()
        self._attach_neighbours()
        self._join_ranges()
        found = self._currencies()
        if found is None:
            return _none("ambiguous", "two_currencies", None)
        signs = [s for s, _, _ in self.signs]
        currency = settle(found, signs, self.default) if signs else self.default
        self._values(found)
        return self._decide(currency, unclear=bool(signs) and currency is None)

    def _behind(self) -> str:
        """Expression for a sign of this text standing behind a number."""
        return (
            " ?(?:" + "|".join(re.escape(sign) for sign, _, _ in self.signs or [("$", 0, 0)]) + ")"
        )

    def _lex(self) -> None:
        self.words, self.signs, self.numbers, self.marks = [], [], [], []
        for match in _tokens().finditer(self.text):
            piece, start, end = match[0], match.start(), match.end()
            if match.lastgroup == "number":
                self.numbers.append(_Number(piece, start, end))
            elif match.lastgroup == "sign":
                self.signs.append((piece, start, end))
            elif match.lastgroup == "mark":
                self.marks.append((piece, start, end))
            elif candidates(piece, self.default) and self._beside_money(start, end):
                self.signs.append((piece, start, end))
            else:
                self.words.append((piece, start, end))
        sure = [s for s in self.signs if not is_also_a_word(s[0])]
        if sure and len(sure) < len(self.signs):
            self.words += [s for s in self.signs if is_also_a_word(s[0])]
            self.signs = sure

    def _beside_money(self, start: int, end: int) -> bool:
        before = self.text[:start].rstrip(" .:-('")
        after = self.text[end:].lstrip(" .:-)'")
        number = re.compile(r"[\d.,(]")
        last, first = before[-1:], after[:1]
        return bool(
            (last and (last.isdigit() or unicodedata.category(last) == "Sc"))
            or (first and (number.match(first) or unicodedata.category(first) == "Sc"))
            or (not last and not first)
        )

    def _attach_signs(self) -> None:
        """Give each number its sign: the one before it where the text writes signs first."""
        if not self.numbers:
            return
        first_sign = self.signs[0][1] if self.signs else None
        before_first = first_sign is not None and first_sign < self.numbers[0].start
        free = list(self.signs)
        ends = {n.end for n in self.numbers}
        starts = {n.start: n for n in self.numbers}
        for sign in self.signs:
            if sign[2] in starts and sign[1] not in ends:
                starts[sign[2]].sign = sign[0]
                free.remove(sign)
        for prefix in (before_first, not before_first):
            for number in self.numbers:
                if number.sign is not None:
                    continue
                for sign in free:
                    gap = (
                        self.text[sign[2] : number.start]
                        if prefix
                        else self.text[number.end : sign[1]]
                    )
                    right_side = sign[2] <= number.start if prefix else sign[1] >= number.end
                    if right_side and re.fullmatch(r"[ :.'\-(]{0,3}", gap):
                        number.sign = sign[0]
                        free.remove(sign)
                        break
        # A sign next to a sign says the same thing twice ("NZD $100"): nothing to attach.

    def _attach_neighbours(self) -> None:
        """Minus, per cent, multipliers, hundredths, letters grown onto the number, labels."""
        text = self.text
        last_end = 0
        for index, number in enumerate(self.numbers):
            ahead = text[number.end :]
            head = re.match(r" ?([^\W\d_]+|¢|%)", ahead)
            if head:
                self._right_neighbour(number, head[1], glued=ahead[0] != " ")
            if number.start and text[number.start - 1] == "¢":
                number.times = Decimal("0.01")
            if number.start and text[number.start - 1].isalpha():
                glued_to_sign = any(s[2] == number.start for s in self.signs)
                number.usable &= glued_to_sign
            number.negative = self._minus(number)
            self._label(self.numbers[index - 1] if index else None, number, last_end)
            if number.labels and number.labels[-1] in phrases.NUMBERING and number.sign is None:
                number.usable = False
            if index == len(self.numbers) - 1:
                trailing = [w.casefold().strip(".") for w, s, _ in self.words if s >= number.end]
                if len(self.numbers) > 1:
                    number.labels += [w for w in trailing if w in phrases.SIDE]
                elif trailing and self._is_all(number, trailing):
                    number.labels.append(trailing[0])
            last_end = number.end
        many = [n for n in self.numbers if n.usable]
        for number in many:
            after, before = text[number.end :], text[: number.start]
            times = re.match(r" ?x\b", after)
            if times or (len(many) > 1 and re.search(r"\bx ?$", before)):
                number.usable = number.sign is not None

    def _label(self, before: _Number | None, number: _Number, start: int) -> None:
        """Share out the words between two numbers: those before a comma or bracket look back."""
        between = [(w.casefold().strip("."), s) for w, s, _ in self.words]
        between = [(w, s) for w, s in between if start <= s < number.start]
        parted = re.search(r"[(),;|]", self.text[start : number.start])
        border = start + parted.start() if parted and before is not None else start
        number.labels = [w for w, s in between if s >= border]
        if before is not None:
            before.labels += [w for w, s in between if s < border]

    def _is_all(self, number: _Number, trailing: list[str]) -> bool:
        """Whether the word behind the only number says that it is not the price ("£5 off")."""
        if phrases.SIDE.get(trailing[0]) not in ("other", "shipping"):
            return False
        signs = "".join(re.escape(s) for s, _, _ in self.signs)
        gap = re.match(rf"[ {signs}]*", self.text[number.end :])
        start = number.end + (gap.end() if gap else 0)
        return self.text[start:].casefold().startswith(trailing[0]) and not (
            phrases.INCLUDED & set(trailing[1:])
        )

    def _right_neighbour(self, number: _Number, word: str, *, glued: bool) -> None:
        lowered = word.casefold()
        if lowered in phrases.COUNTED and number.sign is None:
            number.usable = False
        elif word == "%":
            number.usable, number.share = False, True
        elif lowered in phrases.MULTIPLIERS and (
            glued or len(lowered) > 1 or (lowered == "k" and word.islower())
        ):
            number.times = Decimal(phrases.MULTIPLIERS[lowered])
        elif lowered in phrases.HUNDREDTHS and number.sign is None and (glued or len(lowered) > 1):
            number.times = Decimal("0.01")
            pence = phrases.HUNDREDTHS[lowered]
            if pence and not self.signs:
                number.sign = pence
                self.signs.append((pence, number.end, number.end))
        elif glued and number.sign is None and lowered not in phrases.NEUTRAL:
            number.usable = False

    def _minus(self, number: _Number) -> bool:
        before = self.text[: number.start]
        sign = number.sign
        if sign and before.rstrip(" ").endswith(sign):
            before = before.rstrip(" ")[: -len(sign)]
        elif before.endswith(" "):
            return False
        if before.endswith("-"):
            return before[:-1] == "" or before[-2:-1] in " (" or bool(sign)
        after = self.text[number.end :]
        return bool(re.fullmatch(r"-", after)) and re.search(r"[.,]\d\d$", number.text) is not None

    def _join_ranges(self) -> None:
        for first, second in pairwise(self.numbers):
            between = self.text[first.end : second.start]
            for sign, start, end in self.signs:
                if first.end <= start and end <= second.start:
                    between = between.replace(sign, " ", 1)
            joined = between.replace(".", " ").strip().casefold()
            multiplied = joined.rstrip("-–—~ ")
            if multiplied in phrases.MULTIPLIERS:
                joined = joined[len(multiplied) :].strip()
            if joined in phrases.JOINING:
                first.joined_to_next = "range"
            elif joined == "/":
                first.joined_to_next = "stroke"
            else:
                continue
            if joined == "-" and second.negative and not second.sign:
                second.negative = False
            second.negative = False
            first.sign = first.sign or second.sign
            second.sign = second.sign or first.sign
            if second.times != 1 and first.times == 1:
                first.times = second.times

    def _currencies(self) -> frozenset[str] | None:
        """What all signs together allow; None where they exclude each other."""
        allowed: frozenset[str] | None = None
        for sign, _, _ in self.signs:
            here = candidates(sign, self.default)
            allowed = here if allowed is None else allowed & here
        if allowed is None:
            return frozenset()
        return allowed or None

    def _values(self, found: frozenset[str]) -> None:
        minor = max((minor_units(code) for code in found), default=None)
        for number in self.numbers:
            reading = read_number(
                number.text, self.mark, minor if number.sign is not None else None
            )
            number.rule, number.reason = reading.rule, reading.reason
            if reading.value is not None:
                value = reading.value * number.times
                number.value = -value if number.negative else value
                if value >= AMOUNT_LIMIT:
                    number.value, number.reason = None, "amount_too_large"

    def _decide(self, currency: str | None, *, unclear: bool) -> AmountReading:
        usable = [n for n in self.numbers if n.usable]
        if any(n.sign for n in usable):
            usable = [n for n in usable if n.sign or self._touches_money(n)]
        if not usable:
            if any(n.share for n in self.numbers):
                return _none("unread", "only_a_share", currency)
            reason = "date_not_price" if self.dated else "no_number"
            if self.numbers:
                reason = "words_not_understood"
            return _none("unread", reason, currency)
        stroke = self._stroke(usable, currency)
        if stroke is not None:
            return stroke
        pool, how = self._pool(usable)
        if how in ("not_the_price", "estimate_single"):
            kind = "range_estimate" if how == "estimate_single" else "ambiguous"
            low, high = pool[0].value, pool[-1].value
            if how == "not_the_price":
                low = high = None
            reason = "estimate_range" if low != high else how
            price_type = "estimate" if kind == "range_estimate" else None
            return AmountReading(None, currency, kind, reason, how, price_type, low, high)
        unread = next((n.reason for n in pool if n.reason), None)
        if unread:
            kind = "ambiguous" if unread == "decimal_mark_unknown" else "unread"
            return _none(kind, unread, currency, pool[0].rule)
        if len(pool) == 2 and pool[0].joined_to_next:
            low, high = pool[0].value, pool[1].value
            if low is not None and high is not None and low < high:
                return AmountReading(
                    None, currency, "range_estimate", "estimate_range", "range", "estimate",
                    low, high,
                )  # fmt: skip
        if len({n.value for n in pool}) > 1:
            return _none("ambiguous", "two_amounts", currency)
        return self._amount(pool[0], how, currency, unclear=unclear)

    def _touches_money(self, number: _Number) -> bool:
        """Whether only marks part the number from one with a sign: it may be money too."""
        return any(
            other.sign is not None
            and other.end <= number.start
            and re.fullmatch(r"[^\w(]{0,3}", self.text[other.end : number.start])
            for other in self.numbers
        )

    def _stroke(self, usable: list[_Number], currency: str | None) -> AmountReading | None:
        if len(usable) != 2 or usable[0].joined_to_next != "stroke":
            return None
        low, high = usable[0].value, usable[1].value
        if low is None or high is None or self.old:
            return None
        # Estimates are printed "80/120"; anything wider, falling, or with pence to spare is not.
        if low < high <= low * Decimal("2.5") and high >= 12:
            return AmountReading(
                None, currency, "range_estimate", "estimate_range", "stroke", "estimate", low, high
            )
        return _none("ambiguous", "old_money_or_fraction", currency)

    def _pool(self, usable: list[_Number]) -> tuple[list[_Number], str]:
        """The amounts that may be the price, and how they were told from the others."""
        ends = {id(b) for a, b in pairwise(usable) if a.joined_to_next}
        for first, second in pairwise(usable):
            if first.joined_to_next:
                second.labels = [*first.labels, *second.labels]
        decisive = [
            n for n in usable if id(n) not in ends and phrases.DECISIVE.keys() & set(n.labels)
        ]
        if decisive and len(usable) > 1:
            last = decisive[-1]
            return [last, *self._range_end(usable, last)], "labelled"
        side = [n for n in usable if phrases.SIDE.keys() & set(n.labels) and n not in decisive]
        rest = [n for n in usable if n not in side]
        if rest:
            return rest, "labelled" if side else ("struck" if self.struck else "")
        kinds = {phrases.SIDE[w] for n in side for w in n.labels if w in phrases.SIDE}
        if kinds == {"estimate"}:
            return side, "estimate_single"
        if kinds == {"struck"}:
            return side, "struck_only"
        if kinds <= {"tax", "premium"} and len(side) == 1:
            return side, ""
        return side, "not_the_price"

    @staticmethod
    def _range_end(usable: list[_Number], first: _Number) -> list[_Number]:
        place = usable.index(first)
        return usable[place + 1 : place + 2] if first.joined_to_next else []

    def _amount(
        self, number: _Number, how: str, currency: str | None, *, unclear: bool
    ) -> AmountReading:
        words = {w.casefold().strip(".") for w, _, _ in self.words}
        if number.sign is None and not self.old:
            unknown = words - phrases.NEUTRAL - phrases.MULTIPLIERS.keys()
            unknown -= phrases.HUNDREDTHS.keys() | phrases.SIDE.keys() | phrases.DECISIVE.keys()
            unknown -= phrases.NUMBERING | phrases.FROM | phrases.APPROXIMATE
            if unknown:
                return _none("unread", "words_not_understood", currency)
        amount = number.value or Decimal(0)
        if re.fullmatch(r"\([^()]*\)", self.text) and len(self.numbers) == 1:
            amount = -abs(amount)
        price_type = self._price_type(number, words)
        rule = "+".join(p for p in (("old_money" if self.old else number.rule), how) if p)
        reason = self._note(number, amount, currency, words, unclear=unclear)
        softer = (None, "price_each", "more_decimals_than_currency", "approximate_amount")
        if reason in softer and price_type == "asking":
            reason = "asking_price"
        return AmountReading(amount, currency, "amount", reason, rule, price_type)

    def _price_type(self, number: _Number, words: set[str]) -> str | None:
        """What the text says of the amount that was taken, not of the others beside it."""
        place = self.numbers.index(number)
        start = self.numbers[place - 1].end if place else 0
        end = self.numbers[place + 1].start if place + 1 < len(self.numbers) else len(self.text)
        about = self.text[start:end]
        if phrases.WITHOUT_PREMIUM.search(about):
            return "hammer"
        if "hammer" not in number.labels and phrases.WITH_PREMIUM.search(about):
            return "with_premium"
        if "hammer" in number.labels or (len(self.numbers) == 1 and "hammer" in words):
            return "hammer"
        if words & phrases.ASKING or "or best offer" in self.text.casefold():
            return "asking"
        return None

    def _note(
        self,
        number: _Number,
        amount: Decimal,
        currency: str | None,
        words: set[str],
        *,
        unclear: bool,
    ) -> str | None:
        if amount < 0:
            return "negative_amount"
        if amount == 0:
            return "zero_amount"
        if unclear:
            return "currency_unclear"
        labels = set(number.labels)
        if labels & phrases.FROM:
            return "price_from"
        if labels & phrases.APPROXIMATE or self.text[number.end :].lstrip().startswith("+ "[:1]):
            trailing_plus = re.match(r"\+(?! ?[\d£$€]| ?\w)", self.text[number.end :].lstrip())
            if labels & phrases.APPROXIMATE or trailing_plus:
                return "approximate_amount"
        if words & phrases.EACH or _TIMES.search(self.text[: number.start]):
            return "price_each"
        exponent = amount.normalize().as_tuple().exponent
        if (
            currency
            and not self.old
            and isinstance(exponent, int)
            and -exponent > minor_units(currency)
        ):
            return "more_decimals_than_currency"
        return None


def with_currency(reading: AmountReading, currency: str | None) -> AmountReading:
    """The same reading in another currency, for callers that learn it later."""
    return replace(reading, currency=currency)
