"""Where a group should be when the clock stops, on an axis of reps."""

from types import SimpleNamespace

import numpy as np
import pytest

from scoring.core.course import Course
from scoring.core.notation import parse
from scoring.pages.places_picture import WIDTH, places_picture

from ..conftest import TWO_LADDERS

ROUNDS = Course(parse("Rounds\ncap 10:00\n\n5 rounds\n10 push-up\n10 air squat\n").workout)


def drawn(course, at, counts, cap=600):
    told = SimpleNamespace(cap=cap, shares=lambda: (np.array(at), np.array(counts)))
    return places_picture(course, told)


def test_columns_stand_at_their_reps_and_who_finishes_stands_apart():
    picture = drawn(ROUNDS, [0, 50, 100], [1.0, 2.0, 4.0])
    assert len(picture.columns) == 3
    first, middle, done = picture.columns
    assert float(first.x) < float(middle.x) < float(done.x)
    assert float(done.height) == 2 * float(middle.height) == 4 * float(first.height)
    assert done.told == "finished: about 4 members"
    assert picture.ticks[-1].text == "finish"
    assert picture.told == (
        "Places when the clock stops at 10:00, along the course by reps. 0 to 19 reps: about 1 "
        "member; 40 to 59 reps: about 2 members; finished: about 4 members."
    )


@pytest.mark.parametrize("furthest", [1, 7, 333, 81_000])
def test_an_endless_course_has_a_few_ticks_and_stays_inside(furthest):
    picture = drawn(Course(parse(TWO_LADDERS).workout), [0, furthest], [1.0, 1.0])
    assert 2 <= len(picture.ticks) <= 8
    for column in picture.columns:
        assert 0 <= float(column.x) <= float(column.x) + float(column.width) <= WIDTH
    for tick in picture.ticks:
        assert 0 < float(tick.x) < WIDTH


def test_nobody_has_no_picture():
    assert drawn(ROUNDS, [], []) is None
