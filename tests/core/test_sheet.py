"""A results file: whatever a spreadsheet writes is read, and no line harms another."""

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from scoring.core.scoring import Rules
from scoring.core.sheet import (
    MAX_BYTES,
    MAX_LINES,
    Sheet,
    SheetError,
    decode,
    read_sheet,
)
from scoring.core.sheet_board import score_rows

from .boards import COURSE_L, COURSES

SAID = st.text(max_size=30)
CELLS = st.sampled_from(
    ["2+9", "189 reps", "12:34", "99:99", "tuck rock: 3", "block 1 / 18 / goblet squat / 4",
     "block", "block ² 4:10", "4:10; 9:55", "goblet squat @ 0 kg", "1.1 ", ": 5", "=1+1", "٣+٤"]
) | SAID  # fmt: skip


def csv_text(rows, delimiter=","):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue()


def board(text, course=COURSE_L, **rules):
    sheet = read_sheet(text)
    found = score_rows(course, Rules(**rules), sheet.rows)
    problems = [*sheet.problems, *found.problems]
    return found.lines, {p.line: p for p in problems}


def told(text):
    lines, _ = board(text)
    return [(line.rank, line.row.name) for line in lines]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_columns_come_in_any_order_case_separator_and_line_ending(delimiter, newline):
    rows = [["Options", "MARK", " Name "], ["tuck rock; knee push-up", "2+9", "Ann"]]
    text = csv_text(rows, delimiter).replace("\r\n", newline)
    (line,), problems = board(text)
    assert not problems
    assert (line.row.name, line.scored.score.credited) == ("Ann", 171)


def test_a_line_that_names_the_separator_is_understood():
    assert told("sep=;\nname;mark\nAnn;2+9\n") == [(1, "Ann")]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "empty"),
        ("\n \n", "empty"),
        ("name,note\nAnn,x", "'mark'"),
        ("nmae,mark\nAnn,2+9", "'name'"),
        ("Ann,2+9\nBen,2+8", "'name'"),
        ("name,mark,name\nAnn,2+9,x", "twice"),
        ("name,mark\n" + "a\n" * (MAX_LINES + 1), "lines"),
        ("name,mark" + ",x" * 300, "columns"),
    ],
)
def test_a_file_without_its_header_is_refused_with_the_reason(text, part):
    with pytest.raises(SheetError) as error:
        read_sheet(text)
    assert part in error.value.problem and error.value.suggestion


def test_a_misspelt_column_gets_its_name_suggested():
    with pytest.raises(SheetError) as error:
        read_sheet("naem,mark\nAnn,2+9")
    assert error.value.suggestion == "Call 'naem' 'name'."


def test_a_quotation_mark_left_open_costs_its_own_line_only():
    lines, problems = board('name,mark\n"Ann,2+9\n' + "Ben,2+1\nCleo,1+1\n")
    assert [line.row.name for line in lines] == ["Ben", "Cleo"]
    assert list(problems) == [2] and "quotation mark" in problems[2].problem


def test_a_quoted_note_may_run_over_lines_and_lines_keep_their_numbers():
    lines, problems = board('name,mark,note\nAnn,2+9,"first\nsecond"\nBen,never,\n')
    assert lines[0].row.note == "first second"
    assert list(problems) == [4] and problems[4].column == "mark"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (",2+9,,", "name"),
        ("Ann,,,", "mark"),
        ("Ann,2+24,,", "mark"),
        ("Ann,2+9,tuck rack,", "options"),
        ("Ann,2+9,tuck rock: 37,", "options"),
        ("Ann,2+9,,19:00", "splits"),
        ("Ann,2+9,,block", "splits"),
        ("Ann,2+9,tuck rock; knee push-up,,,x", None),
        ("A" * 121 + ",2+9,,", "name"),
        ("Ann," + "9" * 300 + ",,", "mark"),
        ("Ann,2+9," + "x" * 2001 + ",", "options"),
        ("Ann,2+9,," + "1:00;" * 400, "splits"),
    ],
)
def test_each_fault_names_its_line_and_column_and_what_would_do(row, column):
    lines, problems = board(f"name,mark,options,splits\nBen,1+1,,\n{row}\nCleo,1+0,,\n")
    assert [line.row.name for line in lines] == ["Ben", "Cleo"]
    assert list(problems) == [3]
    assert problems[3].column == column
    assert problems[3].problem and problems[3].suggestion


def test_a_second_line_of_one_name_is_told_and_the_first_counts():
    lines, problems = board("name,mark\nAnn,1+1\nann ,2+9\nBen,1+0")
    assert [(line.row.name, line.row.mark) for line in lines] == [("Ann", "1+1"), ("Ben", "1+0")]
    assert problems[3].column == "name" and "line 2" in problems[3].problem


def test_a_name_whose_first_line_cannot_be_read_keeps_its_second():
    lines, problems = board("name,mark\nAnn,oops\nAnn,2+9")
    assert [line.row.mark for line in lines] == ["2+9"] and list(problems) == [2]


def test_formulas_stay_text_and_controls_are_taken_out():
    names = ["=1+1", "@SUM(A1)", "+49", '=HYPERLINK("x")', "a\x1b[31mb\x07"]
    lines, problems = board(csv_text([["name", "mark"], *([n, "2+9"] for n in names)]))
    assert not problems
    assert {line.row.name for line in lines} == {*names[:4], "a[31mb"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_text_is_read_in_every_encoding_that_says_what_it_is(encoding):
    data = "name,mark\nZoë 木,2+9".encode(encoding)
    if encoding == "utf-16-le":
        data = b"\xff\xfe" + data
    text, remarks = decode(data)
    assert told(text) == [(1, "Zoë 木")] and not remarks


def test_what_is_no_utf_8_is_read_as_windows_1252_with_a_remark():
    text, remarks = decode("name,mark\nZoë,2+9".encode("cp1252"))
    assert told(text) == [(1, "Zoë")] and "Windows-1252" in remarks[0]


@pytest.mark.parametrize(
    "data",
    [
        b"PK\x03\x04",
        b"\xff\xfe\x00",
        b"\xff\xfe\x00\x00a\x00\x00\x00",
        b"name\x00mark",
        "name".encode("utf-16-le"),
        b"\x81\x8d",
        b"\x00\xff",
        b"a" * (MAX_BYTES + 1),
    ],
)
def test_what_is_no_text_is_refused_and_says_what_to_save(data):
    with pytest.raises(SheetError) as error:
        decode(data)
    assert error.value.suggestion


def test_ties_share_a_rank_and_stand_by_name():
    text = "name,mark\nCleo,2+9\nben,2+9\nAnn,1+0\nDora,3+0"
    assert told(text) == [(1, "Dora"), (2, "ben"), (2, "Cleo"), (4, "Ann")]


def test_a_split_breaks_the_tie_where_the_class_says_so():
    text = "name,mark,splits\nAnn,2+9,\nBen,2+9,4:10\nCleo,2+9,4:05"
    lines, _ = board(text, tie_break_block=1)
    assert [(line.rank, line.row.name) for line in lines] == [(1, "Cleo"), (2, "Ben"), (3, "Ann")]


def test_ten_thousand_lines_are_ranked_and_the_bad_ones_told():
    rows = ["name,mark"] + [
        f"M {i},{i % 100 + 100} reps" if i % 1000 else f"M {i},x" for i in range(10_000)
    ]
    lines, problems = board("\n".join(rows))
    assert (len(lines), len(problems)) == (9_990, 10)
    assert lines[0].rank == 1 and lines[100].rank == 101


@given(
    header=st.permutations(["name", "mark", "options", "splits", "note"]),
    rows=st.lists(st.lists(CELLS, min_size=1, max_size=6), max_size=8),
    delimiter=st.sampled_from(",;\t"),
    course=st.sampled_from(sorted(COURSES)),
)
def test_whatever_stands_in_the_cells_every_line_is_on_the_board_or_told(
    header, rows, delimiter, course
):
    text = csv_text([header, *rows], delimiter)
    sheet = read_sheet(text)
    found = score_rows(COURSES[course], Rules(), sheet.rows)
    on_board = [line.row.line for line in found.lines]
    off = [p.line for p in (*sheet.problems, *found.problems)]
    assert len(set(on_board + off)) == len(on_board) + len(off)
    assert sorted(r.line for r in sheet.rows) == sorted(on_board + [p.line for p in found.problems])


@given(st.text(alphabet='name,mrk;"\t\n\r 2+9\x00', max_size=200) | SAID)
@example('name,mark\n"')
@example('name,mark\n"a"b,2+9\nBen,2+9')
def test_any_text_is_read_or_refused_with_a_reason(text):
    try:
        sheet = read_sheet("name,mark\n" + text)
    except SheetError as error:
        assert error.problem and error.suggestion
    else:
        assert isinstance(sheet, Sheet)
        assert all(p.problem and p.suggestion for p in sheet.problems)
    try:
        read_sheet(text)
    except SheetError as error:
        assert error.problem and error.suggestion


@given(st.binary(max_size=200))
def test_any_bytes_are_text_or_refused_with_a_reason(data):
    try:
        text, _ = decode(data)
    except SheetError as error:
        assert error.suggestion
    else:
        assert "\0" not in text
