"""A file of results under the headers that people make up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.sheet import SheetError, decode
from scoring.core.told_sheet import COLUMNS, columns_named, read_told_sheet


def read(text, most=100):
    return read_told_sheet(text, most=most)[0]


@pytest.mark.parametrize(
    ("header", "columns"),
    [
        ("name,mark,options,effort,splits,note", list(COLUMNS)),
        ("Member;Result;Scaled;RPE;Split times;Comments",
         ["name", "mark", "options", "effort", "splits", "note"]),
        ("NAME\tSCORE", ["name", "mark"]),
        ("Nmae,Marks", ["name", "mark"]),
        ("Mark (rounds + reps),Full name", ["mark", "name"]),
    ],
)  # fmt: skip
def test_a_header_is_understood_however_it_is_spelt(header, columns):
    separator = next(sign for sign in ";\t," if sign in header)
    assert columns_named([name.lower() for name in header.split(separator)]) == columns
    cells = {"name": "Ana", "mark": "2+9", "effort": "7"}
    row = separator.join(cells.get(column, "x") for column in columns)
    [found] = read(f"{header}\n{row}").rows
    assert (found.name, found.mark) == ("Ana", "2+9")


def test_a_columns_own_name_goes_before_another_spelling_and_the_first_before_the_second():
    assert columns_named(["score", "mark", "name"]) == ["score", "mark", "name"]
    assert columns_named(["result", "score", "name"]) == ["mark", "score", "name"]
    sheet = read("result,score,name\n2+9,57,Ana")
    assert sheet.rows[0].mark == "2+9" and "'score'" in sheet.remarks[0]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_file_is_read_in_whatever_a_spreadsheet_writes(encoding):
    text, remarks = decode("Name;Mark\r\nZoë;82,5 kg\r\n".encode(encoding))
    [row] = read(text).rows
    assert (row.name, row.mark) == ("Zoë", "82,5 kg")
    assert ("Windows-1252" in " ".join(remarks)) is (encoding == "cp1252")


def test_a_line_that_is_torn_takes_no_other_with_it():
    sheet = read('name,mark\nAna,2+9\n"Ben,1+1\nCleo,2+2\n')
    assert [row.name for row in sheet.rows] == ["Ana", "Cleo"]
    assert [fault.line for fault in sheet.problems] == [3]


def test_more_lines_than_are_taken_are_refused():
    with pytest.raises(SheetError, match="more than 3 lines"):
        read("name,mark\n" + "Ana,2+9\n" * 4, most=3)


@given(st.lists(st.text(max_size=30), max_size=12))
def test_no_column_is_meant_twice_and_no_header_is_lost(header):
    named = columns_named(header)
    assert len(named) == len(header)
    meant = [new for old, new in zip(header, named, strict=True) if new != old]
    assert len(set(meant)) == len(meant) and set(meant) <= set(COLUMNS)
