"""Lines of a chat among their neighbours: names above marks, sentences that are none."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.name_book import NameBook
from scoring.core.told_chat import heading, is_time, read_chat_line

from ..conftest import FOR_TIME, TWO_LADDERS

COURSE = Course(notation.parse(TWO_LADDERS).workout)
TIMED = Course(notation.parse(FOR_TIME).workout)
BOOK = NameBook({1: "Ana Sol", 2: "Ben Okoro", 3: "Cleo Wren", 4: "Ben Adler"})


def read(text, course=COURSE, **neighbours):
    return read_chat_line(text, course=course, book=BOOK, **neighbours)


@pytest.mark.parametrize(
    ("line", "whose"),
    [
        ("Ana Sol", 1), ("ana sol:", 1), ("Ana Sol 18:42", 1), ("[18:42] Ana Sol", 1),
        ("24/11/2026, 18:42 Cleo", 3), ("Ben", None), ("Ana Sol 2+9", None),
        ("Ana was great", None), ("", None), ("18:42", None),
    ],
)  # fmt: skip
def test_a_heading_is_a_sure_name_and_nothing_else_but_a_time(line, whose):
    found = heading(line, BOOK)
    assert (found[0] if found else None) == whose


def test_a_mark_without_a_name_is_of_whom_the_line_above_names():
    read_below = read("2+9 tuck", before=["Ana Sol"])
    assert (read_below.reading.members, read_below.above) == ((1,), 1)
    assert read("2+9", before=["18:42", "Ana Sol"]).above == 2
    assert read("2+9", before=["well done", "Ana Sol"]).reading.members == ()
    assert read("Ben Okoro 2+9", before=["Ana Sol"]).reading.members == (2,)


def test_a_time_beside_a_name_is_the_chats_where_a_mark_stands_below():
    assert read("Ana Sol 12:34", TIMED, after=["13:05 tuck"]).reading.is_chatter
    alone = read("Ana Sol 12:34", TIMED, after=["Ben Okoro 13:05"]).reading
    assert (alone.mark, alone.members) == ("12:34", (1,))
    assert read("18:42", before=["Ana Sol"], after=["2+9"]).reading.is_chatter


@pytest.mark.parametrize(
    "line",
    ["see you at 19:30", "That was number 5!", "Who has 2 coffees left over?", "👏👏", "hi all",
     "room 12 next week please", "+1"],
)  # fmt: skip
def test_a_sentence_is_no_result_and_no_fault(line):
    assert read(line).reading.is_chatter


@pytest.mark.parametrize(
    "line", ["2+9", "Zed 2+9", "Zed 12", "somebody new here did 2+9", "nobody i know had 90 reps"]
)
def test_what_nobody_writes_by_chance_is_asked_about_even_without_a_name(line):
    reading = read(line).reading
    assert not reading.is_chatter and "member" in [p.column for p in reading.problems]


@given(st.text(max_size=400), st.lists(st.text(max_size=60), max_size=2))
def test_every_text_is_read_as_something(line, around):
    for course in (COURSE, TIMED):
        found = read(line, course, before=around, after=around).reading
        assert found.is_chatter or found.mark or found.problems
    is_time(line)
