"""From tokens to one reading: the dates that a text names, and the date of making among them."""

from __future__ import annotations

from pipeline.terms.dates import lexicon as lx
from pipeline.terms.dates import spans
from pipeline.terms.dates.grammar import Grammar
from pipeline.terms.dates.lexer import Token, lex, lex_title
from pipeline.terms.dates.model import DateReading, DateSettings, Span
from pipeline.terms.dates.reckonings import in_plain_words, in_words_of_titles
from pipeline.terms.dates.scan import NOT_OF_MAKING, Scan, scan_dates, wary_in_titles
from pipeline.terms.dates.settle import settle


def read_folded(folded: str, text: str, settings: DateSettings, *, title: bool) -> DateReading:
    """One reading of a folded text; `title` reads running text, and more warily."""
    tokens = lex_title(in_words_of_titles(folded)) if title else lex(in_plain_words(folded))
    grammar = Grammar(tokens, settings, title=title)
    scan = scan_dates(grammar, tokens, title)
    scan.future = grammar.future
    if grammar.rejected:
        scan.numbers += 1
        scan.unexplained += 1
    if title:
        wary_in_titles(scan)
    elif grammar.future:
        return DateReading(None, None, None, "none", "future", text)
    decided = settle(scan)
    if decided is None and not title and tokens and tokens[0].kind is lx.ROMAN:
        decided = _roman_alone(tokens, settings)
    if decided is None:
        return _no_date(scan, tokens, text, title)
    span, certainty, rule = decided
    if scan.doubt:
        span.unsure = True
    edtf = spans.edtf_of(span)
    if certainty == "stated":
        if span.ambiguous:
            certainty = "ambiguous"
        elif span.unsure:
            certainty = "uncertain"
        elif span.circa:
            certainty = "circa"
    if certainty in ("stated", "circa") and not title and (scan.unknown or scan.unexplained):
        certainty = "partial"
    return DateReading(span.earliest, span.latest, edtf, certainty, rule, text)


def _roman_alone(tokens: list[Token], settings: DateSettings) -> tuple[Span, str, str] | None:
    """ "XIX" as the whole text: a century, if it is a date at all."""
    number = tokens[0].value
    if len(tokens) > 2 or (len(tokens) == 2 and tokens[1].text != "."):
        return None
    if not isinstance(number, int) or not 13 <= number <= 19:
        return None
    return spans.century_span(number, None, None, settings), "ambiguous", "roman_century"


def _no_date(scan: Scan, tokens: list[Token], text: str, title: bool) -> DateReading:
    """Why there is no date, as a rule."""
    certainty, rule, edtf = "none", "unread", None
    if any(item.life or item.role == "life" for item in scan.items):
        certainty, rule = "style", "life_dates"
    elif any(item.role == "founded" for item in scan.items):
        certainty, rule = "style", "founded"
    elif any(item.role in NOT_OF_MAKING for item in scan.items):
        certainty, rule = "style", "other_event"
    elif scan.items or (scan.styled and scan.repro):
        certainty, rule = "style", "reproduction" if scan.repro else "style"
    elif scan.future:
        rule = "future"
    elif scan.nodate:
        rule = "no_date"
    elif not tokens:
        rule = "empty"
    elif not title and tokens[0].kind is lx.MONTH and len(tokens) <= 3:
        edtf, rule = _month_alone(tokens), "no_year"
    elif scan.numbers:
        rule = "number"
    return DateReading(None, None, edtf, certainty, rule, text)


def _month_alone(tokens: list[Token]) -> str | None:
    month = tokens[0].value
    day = tokens[-1].value if len(tokens) > 1 else None
    if len(tokens) == 1:
        return f"XXXX-{month:02d}"
    if isinstance(day, int) and tokens[-1].kind in (lx.NUM, lx.ORD) and 1 <= day <= 28:
        return f"XXXX-{month:02d}-{day:02d}"
    return None
