"""Whatever is typed is read or refused in words; what was read is written back the same.

Only the documented refusal may come, never another error, and it says where and what would
be right. ``make fuzz`` tries these claims with as many inputs as one likes.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.board_edit import EditError, add_option
from scoring.core.course import Course
from scoring.core.credit_changes import changed
from scoring.core.credits import ChoiceError, CreditTable, choices_text, parse_choices
from scoring.core.iso_week import IsoWeek
from scoring.core.marks import MarkError, mark_text, parse_mark
from scoring.core.name_book import NameBook
from scoring.core.notation import NotationError, parse, to_text
from scoring.core.prescription import Option
from scoring.core.scoring import Result, Rules, ScoringError, parse_splits, score, splits_text
from scoring.core.sheet import SheetError, decode
from scoring.core.sheet_board import score_rows
from scoring.core.told_chat import read_chat_line
from scoring.core.told_line import read_line
from scoring.core.told_sheet import read_told_sheet
from scoring.problems import Refused
from scoring.services.credit_entries import EntryInput, read_entry
from scoring.services.messages import read_clock

from ..hostile import (
    CHATS,
    CLOCKS,
    CREDITS,
    MARKS,
    OPTIONS,
    SHEETS,
    SPLITS,
    TOLD,
    WORKOUTS,
    hostile,
    inputs,
)  # fmt: skip

COURSES = [Course(parse(text).workout) for text in WORKOUTS]
courses = st.sampled_from(COURSES)
BOOK = NameBook({1: "Ana Sol", 2: "Ben Okoro", 3: "Cleo Wren", 4: "Zoë ß", 5: "3 + 4"})


def in_words(refusal):
    assert refusal.problem.strip() and refusal.suggestion.strip()


@given(hostile(WORKOUTS))
@inputs(30)
def test_a_board_is_read_or_every_line_at_fault_is_told(text):
    try:
        workout = parse(text).workout
    except NotationError as error:
        lines = text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
        assert error.problems
        for problem in error.problems:
            in_words(problem)
            assert 1 <= problem.line <= lines
        return
    assert parse(to_text(workout)).workout == workout
    Course(workout)


@given(courses, hostile(MARKS))
@inputs(15)
def test_a_mark_is_read_or_refused_and_scores(course, text):
    try:
        mark = parse_mark(course, text)
    except MarkError as error:
        in_words(error)
        return
    assert parse_mark(course, mark_text(course, mark)) == mark
    found = score(course, Result(mark), Rules(CreditTable()))
    assert -(2**63) <= found.key < 2**63 and -(2**63) <= found.tie_key < 2**63


@given(courses, hostile(OPTIONS))
@inputs(15)
def test_options_are_read_or_refused(course, text):
    try:
        choices = parse_choices(course, text)
    except ChoiceError as error:
        in_words(error)
        return
    assert parse_choices(course, choices_text(course, choices)) == choices


@given(courses, hostile(SPLITS))
@inputs(5)
def test_splits_are_read_or_refused(course, text):
    try:
        splits = parse_splits(course, text)
    except ScoringError as error:
        in_words(error)
        return
    assert parse_splits(course, splits_text(splits)) == splits


@given(courses, hostile(TOLD))
@inputs(12)
def test_what_is_told_in_a_line_is_read_or_asked_about(course, text):
    reading = read_line(text, course=course, names=BOOK)
    for fault in reading.problems:
        in_words(fault)
    if reading.mark:
        parse_mark(course, reading.mark)
    if reading.options and not reading.problems:
        parse_choices(course, reading.options)


@given(courses, hostile(CHATS, most=12))
@inputs(5)
def test_a_chat_is_read_line_by_line(course, text):
    lines = text.split("\n")[:40]
    for number, line in enumerate(lines):
        before, after = lines[max(0, number - 2) : number][::-1], lines[number + 1 : number + 2]
        read_chat_line(line, course=course, book=BOOK, before=before, after=after)


@given(
    courses,
    hostile(SHEETS, most=10),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "utf-32"]),
)
@inputs(8)
def test_a_file_is_read_or_refused_whatever_it_is_written_in(course, text, encoding):
    data = text.encode(encoding, "replace")
    try:
        read, _ = decode(data)
        sheet, _ = read_told_sheet(read, most=5_000)
    except SheetError as error:
        in_words(error)
        return
    for fault in score_rows(course, Rules(CreditTable()), sheet.rows).problems + sheet.problems:
        in_words(fault)


@given(hostile(CREDITS), hostile(CREDITS), hostile(CREDITS))
@inputs(5)
def test_an_entry_of_the_credit_table_is_read_or_refused(movement, option, credit):
    try:
        entry = read_entry(EntryInput(movement, option, credit))
    except Refused as refused:
        for item in refused.items:
            in_words(item)
        return
    assert CreditTable.from_dict(changed(CreditTable(), [entry]).to_dict()) is not None


@given(hostile(CLOCKS))
@inputs(3)
def test_weeks_and_times_of_day_are_read_or_refused(text):
    for read in (IsoWeek.read, read_clock):
        try:
            read(text)
        except ValueError as error:
            assert type(error) is ValueError and str(error)


@given(hostile(WORKOUTS), st.integers(0, 40), hostile(OPTIONS))
@inputs(2)
def test_an_option_is_added_to_a_board_or_not(text, number, name):
    course = COURSES[0]
    line = course.lines[number % len(course.lines)]
    try:
        changed_text = add_option(text, line, Option("step-up", None, Fraction(1, 2)))
    except EditError as error:
        assert str(error)
        return
    assert "or step-up" in changed_text


@pytest.mark.parametrize("size", [10**5, 10**6])
def test_numbers_of_a_million_digits_are_refused_by_their_length(size):
    digits = "9" * size
    course = COURSES[0]
    with pytest.raises(NotationError):
        parse(f"A tide\ncap {digits}:00\n\n{digits} rounds\n{digits} push-up @ {digits} kg\n")
    for read in (parse_mark, parse_choices):
        for text in (
            digits,
            f"{digits}+9",
            f"tuck rock: {digits}",
            f"@ {digits} kg",
            f"0.{digits} kg",
        ):
            with pytest.raises((MarkError, ChoiceError)):
                read(course, text)
    with pytest.raises(ScoringError):
        parse_splits(course, f"{digits}:00")
    assert read_line(f"ana {digits}", course=course, names=BOOK).is_chatter
