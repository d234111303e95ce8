"""Quotation marks, headers and shapes of rows."""

from __future__ import annotations

import pytest

from pipeline.errors import ExportError
from pipeline.exports.lines import (
    RecordShape,
    find_header,
    opens_quote,
    split_line,
    stray_quote_lines,
)


@pytest.mark.parametrize(
    ("line", "is_open", "after"),
    [
        ("a,b,c", False, False),
        ('a,"b",c', False, False),
        ('a,"b', False, True),
        ('"a', False, True),
        ('a,12" globe,c', False, False),  # RFC 4180: a mark inside a bare cell opens nothing
        ('a,24" x 36",c', False, False),
        ('a,"b ""c"" d",e', False, False),
        ('a,"b ""c', False, True),
        ("still in it", True, True),
        ('ends here",d', True, False),
        ('ends here","opens', True, True),
        ('"",x', False, False),
        ('a,"","open', False, True),
        ('""",x', False, True),
    ],
)
def test_open_cells(line: str, is_open: bool, after: bool) -> None:
    assert opens_quote(line, ",", is_open) is after


def test_a_stray_mark_is_named_and_reading_goes_on() -> None:
    lines = list(
        enumerate(
            [
                "1,Mirror,10.00,2024-01-01",
                '2,"Mirror,11.00,2024-01-02',
                '3,Globe 12",12.00,2024-01-03',
                '4,"two\u2028',
                'lines",13.00,2024-01-04',
                '5,"Jug,14.00,2024-01-05',
                "6,Vase,15.00,2024-01-06",
            ],
            start=2,
        )
    )
    assert list(stray_quote_lines(lines, RecordShape(",", 4, (2, 3)))) == [3, 7]


def test_a_cell_of_several_lines_is_no_slip() -> None:
    lines = list(enumerate(['1,"oak, old', 'worn, good",10.00,2024-01-01', "2,x,1,2024-01-02"], 2))
    assert list(stray_quote_lines(lines, RecordShape(",", 4, (2, 3)))) == []


def test_header_below_a_preamble() -> None:
    text = "Our sales\nprinted today\n\nLot;Hammer;Date\n1;2;3\n"
    header = find_header(text, ["Lot", "Hammer"], "auto", None, "x.csv")
    assert (header.first_line, header.delimiter, header.names) == (
        4,
        ";",
        ["Lot", "Hammer", "Date"],
    )
    assert header.n_lines_before_data == 4


def test_header_with_a_line_break_in_a_cell() -> None:
    text = 'Lot,"Hammer\nprice",Date\n1,2,3\n'
    header = find_header(text, ["Lot", "Hammer\nprice"], ",", None, "x.csv")
    assert header.n_lines_before_data == 2


def test_missing_column_names_the_nearest() -> None:
    with pytest.raises(ExportError, match="'Hamer' is missing; the nearest there is 'Hammer'"):
        find_header("Lot,Hammer\n1,2\n", ["Lot", "Hamer"], ",", None, "x.csv")


def test_two_columns_of_one_name() -> None:
    with pytest.raises(ExportError, match="Two columns are headed 'Price'"):
        find_header("Id,Price,Price\n", ["Id", "Price"], ",", None, "x.csv")
    names = find_header("Id,Note,Note,\n", ["Id"], ",", None, "x.csv").names
    assert names == ["Id", "Note", "Note (2)", "column 4"]


def test_split_line() -> None:
    assert split_line('a,"b,c",d', ",") == ["a", "b,c", "d"]
