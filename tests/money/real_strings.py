"""Finds the real price strings that price-parser's source distribution carries (BSD licence).

They are read where they are and copied nowhere. The test set-up fetches them with

    pip download --no-deps --no-binary :all: price-parser==0.5.1 -d <folder>

and names the folder in PRICE_PARSER_SDIST; without it the default cache folder is looked at.
"""

from __future__ import annotations

import ast
import os
import tarfile
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

ARCHIVE = "price_parser-0.5.1.tar.gz"
MEMBER = "price_parser-0.5.1/tests/test_price_parsing.py"
# The lists that the library itself is held to; together 1,042 strings.
LISTS = (
    "PRICE_PARSING_EXAMPLES_BUGS_CAUGHT",
    "PRICE_PARSING_EXAMPLES_NEW",
    "PRICE_PARSING_EXAMPLES",
    "PRICE_PARSING_EXAMPLES_2",
    "PRICE_PARSING_EXAMPLES_3",
    "PRICE_PARSING_EXAMPLES_NO_PRICE",
    "PRICE_PARSING_EXAMPLES_NO_CURRENCY",
)


class Labelled(NamedTuple):
    """hint: a text found beside the price; text: the price; sign and amount: what they are."""

    hint: str | None
    text: str | None
    sign: str | None
    amount: Decimal | None
    decimal_mark: str | None


def archive() -> Path | None:
    """The source distribution, or None where nobody fetched it."""
    cache = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    folders = [os.environ.get("PRICE_PARSER_SDIST"), str(cache / "resale-comparables")]
    for folder in folders:
        if folder and (Path(folder) / ARCHIVE).is_file():
            return Path(folder) / ARCHIVE
    return None


def labelled(path: Path) -> list[Labelled]:
    """The strings with their labels, read out of the syntax tree: nothing of it is run."""
    with tarfile.open(path) as packed:
        member = packed.extractfile(MEMBER)
        if member is None:
            return []
        tree = ast.parse(member.read())
    found = []
    for statement in tree.body:
        if not isinstance(statement, ast.Assign) or not isinstance(statement.targets[0], ast.Name):
            continue
        if statement.targets[0].id in LISTS and isinstance(statement.value, ast.List):
            found += [_one(call) for call in statement.value.elts if isinstance(call, ast.Call)]
    return found


def _one(call: ast.Call) -> Labelled:
    hint, text, sign, _, amount = (_value(a) for a in call.args[:5])
    mark = next(
        (_value(k.value) for k in call.keywords if k.arg == "decimal_separator"),
        _value(call.args[5]) if len(call.args) > 5 else None,
    )
    return Labelled(hint, text, sign, None if amount is None else Decimal(str(amount)), mark)


def _value(node: ast.expr) -> object:
    if isinstance(node, ast.Call):
        return ast.literal_eval(node.args[0])
    return ast.literal_eval(node)
