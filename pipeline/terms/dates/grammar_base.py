"""What the parts of the date grammar share: the tokens, the settings, what was met on the way."""

from __future__ import annotations

from abc import ABC, abstractmethod

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates.lexer import Token
from pipeline.terms.dates.model import DateSettings, Span

END = Token("end", None, "", False)
CONNECTORS = frozenset({lx.TO, lx.OR, lx.AND})
SKIPPED = frozenset({".", "'", "[", "]"})
Found = tuple[Span, int]


class GrammarBase(ABC):
    """The tokens of one text, padded at the end, and the rules that call one another.

    Each rule takes the place it starts at and gives a span with the place after it, or None.

    Attributes:
        future: a year after the last that may be was met.
        closed: a range was met whose end is a "before".
        rejected: a number was met that its neighbours make a size, a code or a price.
    """

    def __init__(self, tokens: list[Token], settings: DateSettings, *, title: bool = False) -> None:
        self.title = title
        self.tokens = [*tokens, END, END, END, END]
        self.count = len(tokens)
        self.settings = settings
        self.future = False
        self.rejected = False
        self.closed = False
        self.has_era = any(token.kind is lx.ERA for token in tokens)

    def _skip(self, index: int) -> int:
        """Past small words and stops that say nothing."""
        tokens = self.tokens
        while tokens[index].kind is lx.NOISE or tokens[index].text in SKIPPED:
            if tokens[index].value == "period":
                break
            index += 1
        return index

    @abstractmethod
    def _chain(self, index: int, between: bool) -> Found | None:
        """Points joined by dashes, slashes, to, or."""

    @abstractmethod
    def _unit(self, index: int, previous: Span | None, circa: bool) -> Found | None:
        """A point without its marks of circa and doubt."""

    @abstractmethod
    def _year(self, index: int, circa: bool) -> Found | None:
        """A year in digits, with its era."""

    @abstractmethod
    def _month(self, index: int, day: int = 0) -> Found | None:
        """A month or season and its year."""

    @abstractmethod
    def _from_ordinal(self, index: int, previous: Span | None) -> Found | None:
        """What an ordinal or Roman numeral begins."""

    @abstractmethod
    def _part(self, index: int, previous: Span | None) -> Found | None:
        """A part of a century, decade or period."""

    @abstractmethod
    def _century(
        self, index: int, part: tuple[int, int] | None, previous: Span | None
    ) -> Found | None:
        """A century in any form."""

    @abstractmethod
    def _decade(
        self, index: int, part: tuple[int, int] | None, previous: Span | None
    ) -> Found | None:
        """A decade in any form."""

    @abstractmethod
    def _named(self, index: int, part: tuple[int, int] | None) -> Found | None:
        """A reign, dynasty or named period."""
