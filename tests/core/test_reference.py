"""Courses in reference seconds, on movements whose seconds are set by hand: a metre of a
made-up run weighs 0.3 s, a rep of a movement nobody knows 3 s, a hold its own seconds."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course, Place
from scoring.core.drawing import Drawing
from scoring.core.reference import Expected, Reference, expected

# Each rep 3 s: block 1 is 20 reps, 60 s; then a rest of 30 s; block 2 is 30 reps, 90 s.
RESTED = Reference(
    Course(
        notation.parse(
            "Two\ncap 4:00\n\n2 rounds\n10 zig wave\n\nrest 0:30\n\nfor time\n30 zag wave"
        ).workout
    )
)
# A round is 10 + 10 reps, 60 s.
ENDLESS = Reference(Course(notation.parse("On\namrap 5:00\n10 zig wave\n10 zag wave").workout))


def test_blocks_end_by_hand_before_the_rest_after_them():
    assert (RESTED.block_end(1), RESTED.block_end(2), RESTED.total()) == (60, 180, 180)
    assert ENDLESS.total() is None


@pytest.mark.parametrize(
    ("seconds", "place"),
    [
        (0, Place(0, 0)),
        (29, Place(0, 9)),
        (30, Place(1, 0)),
        (60, Place(2, 0)),
        (75, Place(2, 0)),  # resting
        (90, Place(2, 0)),
        (93, Place(2, 1)),
        (179, Place(2, 29)),
        (180, Place(3, 0)),
        (500, Place(3, 0)),
    ],
)
def test_places_reached_by_hand(seconds, place):
    assert RESTED.reached(Fraction(seconds)) == place


@given(st.integers(0, 49))
def test_the_place_reached_when_reps_are_done_is_those_reps(raw):
    assert RESTED.course.raw(RESTED.reached(Drawing(RESTED.course).at(raw))) == raw


@given(st.integers(0, 400))
def test_an_endless_course_is_reached_back_too(raw):
    assert ENDLESS.course.raw(ENDLESS.reached(Drawing(ENDLESS.course, raw).at(raw))) == raw


def test_how_far_a_group_should_get_by_hand():
    # In 120 s: 60, 120 and 240 seconds of work at these ratios; the course takes 180.
    ratios = [Fraction(2), Fraction(1, 2), Fraction(1)]
    half = RESTED.reached(Fraction(120))
    assert expected(RESTED, ratios, Fraction(120)) == Expected(1, half, None)
    assert expected(RESTED, [], Fraction(120)) is None
    # With 200 s the one at half finishes too, at 180 / 1; the slowest has done 100 s of work.
    assert expected(RESTED, ratios, Fraction(200)) == Expected(2, Place(3, 0), Fraction(180))
    assert expected(ENDLESS, ratios, Fraction(60)) == Expected(0, Place(2, 0), None)


def test_a_rest_is_as_long_for_the_slow():
    # 60 s of work, 30 s of rest, 90 s of work; at half the speed the work takes twice that.
    half = Fraction(1, 2)
    assert (RESTED.block_end(1, half), RESTED.total(half)) == (120, 330)
    assert RESTED.reached(Fraction(210), half) == RESTED.reached(Fraction(120))
    assert expected(RESTED, [half], Fraction(330)).seconds == 330
    assert expected(RESTED, [half], Fraction(329)).finishing == 0
