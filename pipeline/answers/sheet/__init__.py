"""A person's own spreadsheet: read, understood, and filled in place.

`open_sheet` reads and understands a sheet, `fill_sheet` writes a filled copy of it, `new_sheet`
makes an empty one. The source is never touched; what need not change in the copy stays byte for
byte.
"""

from __future__ import annotations

from pipeline.answers.sheet.cells import ExtraSheet, FilledColumn, Formula, Link, Shown
from pipeline.answers.sheet.fill import Filled, fill_sheet
from pipeline.answers.sheet.new import new_sheet
from pipeline.answers.sheet.reader import SheetReader, Understood, open_sheet

__all__ = [
    "ExtraSheet",
    "Filled",
    "FilledColumn",
    "Formula",
    "Link",
    "SheetReader",
    "Shown",
    "Understood",
    "fill_sheet",
    "new_sheet",
    "open_sheet",
]
