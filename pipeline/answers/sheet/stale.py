"""Which formulas of the person's own build on our columns, by the look of them.

When our columns change, what such a formula had computed is out of date. A program that opens
the sheet computes a formula anew if it carries no computed value; so the values are dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from pipeline.answers.sheet.cells import MOST_COLUMNS, column_number

_REFERENCE = re.compile(
    r"(?<![A-Za-z0-9_.])\$?([A-Za-z]{1,3})\$?[0-9]+(?::\.?\$?([A-Za-z]{1,3})\$?[0-9]+)?(?![\w(])"
    r"|(?<![A-Za-z0-9_.])\$?([A-Za-z]{1,3}):\$?([A-Za-z]{1,3})(?![\w(])"
    r"|(?<![A-Za-z0-9_.])\$?[0-9]+:\$?[0-9]+(?![\w(])"
)
_INDIRECT = re.compile(r"\b(?:INDIRECT|OFFSET|INDEX|SHEET)\s*\(|\[@|\[\[|\[#|\w\[[^.$]", re.I)
_STRING = re.compile(r'"(?:[^"]|"")*"')


def columns_mentioned(formula: str) -> Iterator[tuple[int, int]]:
    """First and last column of every reference in a formula; a row range is all columns."""
    plain = _STRING.sub('""', formula).replace("[.", "[").replace("[$.", "[")
    plain = re.sub(r":\.", ":", plain)
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


def builds_on(formula: str, own_sheet: bool, sheet_name: str, places: Iterable[int]) -> bool:
    """Whether a formula may depend on the columns `places` of the sheet `sheet_name`.

    `own_sheet` says that the formula stands in that sheet. When in doubt the answer is yes: a
    value computed once too often does no harm.
    """
    if _INDIRECT.search(_STRING.sub('""', formula)):
        return True
    if not own_sheet and sheet_name.replace("'", "''") not in formula:
        return False
    wanted = set(places)
    return any(
        any(low <= place <= high for place in wanted) for low, high in columns_mentioned(formula)
    )
