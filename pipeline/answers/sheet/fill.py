"""Fill a person's sheet: the same kind of file, as a new one, hers untouched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.answers.sheet.archive import Archive
from pipeline.answers.sheet.cells import ExtraSheet, FilledColumn, column_letters
from pipeline.answers.sheet.delimited import DelimitedBook
from pipeline.answers.sheet.delimited_fill import DelimitedFill
from pipeline.answers.sheet.layout import lay_out
from pipeline.answers.sheet.ods_book import OdsBook
from pipeline.answers.sheet.ods_fill import OdsFill
from pipeline.answers.sheet.output import check_target, whole_file
from pipeline.answers.sheet.reader import SheetReader, open_book
from pipeline.answers.sheet.xlsx_fill import XlsxFill
from pipeline.errors import SheetError


@dataclass
class Filled:
    """What was written where."""

    target: Path
    sheet_name: str
    columns: dict[str, str]  # header -> letters of its column
    n_items: int
    extra_sheets: dict[str, str]  # name that was asked for -> name that it has
    left_out: list[str] = field(default_factory=list)  # sheets that this kind cannot hold
    notes: list[str] = field(default_factory=list)


def fill_sheet(
    reader: SheetReader,
    target: str | Path,
    columns: Sequence[FilledColumn],
    extra_sheets: Sequence[ExtraSheet] = (),
    *,
    replace: bool = False,
) -> Filled:
    """Write a filled copy of an opened sheet.

    Args:
        reader: the sheet, opened with `our_headers` so that our columns are known again.
        target: a new file of the same kind; the source is never touched.
        columns: what to fill in, one value an item of `reader.items`.
        extra_sheets: whole sheets to add, or to renew where they are there already; text files
            hold none, and the answer says what was left out.
        replace: whether a target that exists may be replaced.

    Raises:
        SheetError: the target cannot be written (nothing is then left of it), or the columns do
            not fit the sheet.
    """
    target = Path(target)
    check_target(target, reader.path, replace)
    layout = lay_out(reader, columns)
    filled = Filled(
        target,
        reader.sheet_name,
        dict(zip(layout.headers, map(column_letters, layout.places), strict=True)),
        reader.items.num_rows,
        {},
    )
    if reader.kind == "csv":
        book = DelimitedBook(reader.path)
        delimited = DelimitedFill(book, layout)
        with whole_file(target) as file:
            delimited.write(file)
        filled.notes = delimited.notes
        filled.left_out = [extra.name for extra in extra_sheets]
        return filled
    names = [extra.name for extra in extra_sheets]
    if len({name.casefold() for name in names}) != len(names):
        raise SheetError("two of the sheets to add have the same name")
    with Archive(reader.path) as archive:
        opened = open_book(archive)
        fill: OdsFill | XlsxFill
        if isinstance(opened, OdsBook):
            fill = OdsFill(opened, layout, extra_sheets)
        else:
            fill = XlsxFill(opened, layout, extra_sheets)
        fill.run()
        with whole_file(target) as file:
            archive.rewrite(file, fill.changed, fill.dropped)
    filled.extra_sheets = {
        wanted: name for wanted, name in fill.sheet_names.items() if wanted is not None
    }
    filled.notes = fill.notes
    if any("signature" in name.lower() for name in archive.names):
        filled.notes.append("the workbook was signed: the signature does not hold for the copy")
    return filled
