"""The course to scale: seconds, not reps, and every place somewhere on it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.drawing import MOST_SETS, Drawing
from scoring.core.marks import parse_mark

from ..conftest import FOR_TIME, TWO_LADDERS

# A movement the catalogue doesn't know takes 3 s a rep.


def course(text, weighted=False):
    return Course(notation.parse(text).workout, weighted=weighted)


def test_sets_are_as_long_as_their_reference_seconds():
    drawing = Drawing(course("P\ncap 5:00\n\n2 rounds\n10 zig\n5 zag\n"))
    assert [(int(s.start), int(s.end)) for s in drawing.segments] == [
        (0, 30), (30, 45), (45, 75), (75, 90),
    ]  # fmt: skip
    assert drawing.length == 90 and drawing.limit == 300


def test_a_place_in_a_set_lies_in_proportion_to_its_reps():
    drawing = Drawing(course("P\ncap 5:00\n\n2 rounds\n10 zig\n5 zag\n"))
    assert [int(drawing.at(raw)) for raw in (0, 5, 10, 12, 15, 30)] == [0, 15, 30, 36, 45, 90]


def test_a_rest_takes_its_time_and_a_place_behind_it_lies_behind_it():
    text = "P\ncap 5:00\n\n10 zig\n\nrest 0:30\n\n10 zag\n"
    text = text.replace("\n\n10 zig", "\n\nfor time\n10 zig").replace(
        "\n\n10 zag", "\n\nfor time\n10 zag"
    )
    drawing = Drawing(course(text))
    assert [(int(s.start), int(s.end), s.course_set is None) for s in drawing.segments] == [
        (0, 30, False), (30, 60, True), (60, 90, False),
    ]  # fmt: skip
    assert drawing.at(10) == 60 and drawing.at(9) == 27


def test_an_amrap_goes_on_to_the_cap_and_to_the_furthest():
    text = "P\ncap 1:00\n\namrap in the time left\n4 zig\n"
    assert Drawing(course(text)).length == 60  # five rounds of 12 s
    assert Drawing(course(text), furthest=30).length == 96  # 30 reps lie in round 8
    assert Drawing(course(text), furthest=30).at(30) == 90


def test_a_finisher_stands_at_the_end_and_a_lift_nowhere():
    ladders = course(FOR_TIME)
    drawing = Drawing(ladders)
    assert drawing.of_mark(parse_mark(ladders, "12:34")) == drawing.length
    lift = course("H\n\nmax load, 3 reps\nback squat\n")
    assert Drawing(lift).segments == ()
    assert Drawing(lift).of_mark(parse_mark(lift, "80 kg")) is None


def test_it_does_not_matter_whether_the_class_weighs_reps():
    assert (
        Drawing(course(TWO_LADDERS)).segments[5].end
        == Drawing(course(TWO_LADDERS, weighted=True)).segments[5].end
    )


def test_a_very_long_course_is_drawn_up_to_a_limit():
    drawing = Drawing(course("P\ncap 5:00:00\n\namrap in the time left\n1 zig\n"), furthest=900_000)
    assert len(drawing.segments) <= MOST_SETS
    assert drawing.at(900_000) == drawing.length


@pytest.mark.parametrize("text", [TWO_LADDERS, FOR_TIME])
@given(st.data())
def test_further_along_the_course_is_further_along_the_scale(text, data):
    whole = course(text)
    most = whole.total or 400
    drawing = Drawing(whole, furthest=most)
    one, other = sorted(data.draw(st.tuples(st.integers(0, most), st.integers(0, most))))
    assert drawing.at(one) <= drawing.at(other)
    if one < other:
        assert drawing.at(one) < drawing.at(other)
    assert Fraction(0) <= drawing.at(other) <= drawing.length


@pytest.mark.parametrize("text", [TWO_LADDERS, FOR_TIME])
def test_segments_lie_side_by_side(text):
    segments = Drawing(course(text)).segments
    for before, after in zip(segments, segments[1:], strict=False):
        assert before.end == after.start and before.last == after.first
