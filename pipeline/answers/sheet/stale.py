"""Which formulas of the person's own build on our columns, by the look of them.

When our columns change, what such a formula had computed is out of date. A program that opens
the sheet computes a formula anew if it carries no computed value; so the values are dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from pipeline.answers.sheet.cells import MOST_COLUMNS, column_number

_REFERENCE = re.compile(
    r"(?<![A-Za-z0-9_.])\$?([A-Za-z]{1,3})\$?[0-9]+(?::\$?([A-Za-z]{1,3})\$?[0-9]+)?(?![\w(])"
    r"|(?<![A-Za-z0-9_.])\$?([A-Za-z]{1,3}):\$?([A-Za-z]{1,3})(?![\w(])"
    r"|(?<![A-Za-z0-9_.])\$?[0-9]+:\$?[0-9]+(?![\w(])"
)
# Brackets that are left name columns of a table, or another workbook.
_INDIRECT = re.compile(r"\b(?:INDIRECT|OFFSET)\s*\(|\[", re.I)
_STRING = re.compile(r'"(?:[^"]|"")*"')


# OpenDocument 1.2 part 2, 5.8: references stand in brackets, as [$stock.A1:.B9].
_BRACKETED = re.compile(r"\[([^\]]*)\]")
_OPENDOCUMENT = re.compile(r"^(?:of|oooc):=")


def _plain_references(formula: str) -> str:
    """The formula without its texts, with references as a spreadsheet shows them."""
    plain = _STRING.sub('""', formula)
    if not _OPENDOCUMENT.match(plain):
        return plain
    return _BRACKETED.sub(
        lambda match: ":".join(part.rpartition(".")[2] for part in match[1].split(":")),
        _OPENDOCUMENT.sub("", plain),
    )


def columns_mentioned(formula: str) -> Iterator[tuple[int, int]]:
    """First and last column of every reference in a formula; a row range is all columns."""
    plain = _plain_references(formula)
    for match in _REFERENCE.finditer(plain):
        if match[1]:
            first, last = match[1], match[2] or match[1]
        elif match[3]:
            first, last = match[3], match[4]
        else:
            yield 1, MOST_COLUMNS
            continue
        low, high = sorted((column_number(first), column_number(last)))
        yield low, high


def names_on(
    names: Iterable[tuple[str, str]], sheet_name: str, places: Iterable[int]
) -> frozenset[str]:
    """The defined names, in folded case, whose references may depend on our columns."""
    wanted = set(places)
    return frozenset(
        name.casefold()
        for name, reference in names
        if builds_on(reference, False, sheet_name, wanted)
    )


def builds_on(
    formula: str,
    own_sheet: bool,
    sheet_name: str,
    places: Iterable[int],
    names: frozenset[str] = frozenset(),
) -> bool:
    """Whether a formula may depend on the columns `places` of the sheet `sheet_name`.

    `own_sheet` says that the formula stands in that sheet; `names` are those of `names_on`. When
    in doubt the answer is yes: a value computed once too often does no harm.
    """
    if _INDIRECT.search(_plain_references(formula)):
        return True
    if names and names.intersection(re.findall(r"[^\W\d][\w.]*", formula.casefold())):
        return True
    if not own_sheet and sheet_name.replace("'", "''") not in formula:
        return False
    wanted = set(places)
    return any(
        any(low <= place <= high for place in wanted) for low, high in columns_mentioned(formula)
    )
