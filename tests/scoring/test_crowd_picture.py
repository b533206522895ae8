"""Everybody's place as drawn: to scale, nobody lost, counts where dots would overlap."""

from types import SimpleNamespace

import pytest

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.crowd import by_order, stop_of
from scoring.core.marks import parse_mark
from scoring.pages.crowd_picture import DOT, FIT, LEFT, LINE, RIGHT, picture
from scoring.pages.crowd_scale import scale_of

from ..conftest import TWO_LADDERS

TIDE = Course(notation.parse(TWO_LADDERS).workout)
# A rep of a movement nobody knows takes 3 reference seconds: 20 reps, a rest, 20 reps.
TIMED = Course(
    notation.parse(
        "Two\ncap 4:00\n\nfor time\n20 zig wave\n\nrest 0:30\n\nfor time\n20 zag wave"
    ).workout
)
BELLS = Course(notation.parse("Bells\nevery 1:00 for 3 rounds\n5 air squat\nmax burpee").workout)
LIFT = Course(notation.parse("Heavy\nmax load, 3 reps\ndeadlift").workout)


def rows(course, *marks, scaled=()):
    made = []
    for number, mark in enumerate(marks):
        stop = stop_of(course, parse_mark(course, mark), id=number, prescribed=number not in scaled)
        made.append(
            SimpleNamespace(
                score=SimpleNamespace(pk=number),
                name=f"Member {number}",
                stop=stop,
                result_id=number,
                place=mark,
            )
        )
    return made


def test_places_on_the_scale_by_hand():
    stops = [row.stop for row in rows(TIMED, "10 reps", "20 reps", "30 reps", "3:00", "2:30")]
    # 20 reps stand behind the rest: 60 + 30. The course ends at 150; who finished a minute
    # before the cap stands a minute beyond it, the next another half.
    assert scale_of(TIMED, stops).places == (30, 90, 120, 210, 240)


def test_where_all_finished_the_empty_minutes_are_left_out():
    scale = scale_of(TIMED, [row.stop for row in rows(TIMED, "2:10", "1:30")])
    # The slowest had 1:50 left: their minute, 3:00 to 2:00, is the first beyond the end.
    assert scale.places == (150 + 50, 150 + 90)
    assert next(s.label for s in scale.stretches if s.start >= 150) == "3:00"


@pytest.mark.parametrize(
    ("course", "marks", "unit"),
    [(BELLS, ["20 / 18 / 17", "10 / 9 / 8"], "reps"), (LIFT, ["80 kg", "122.5 kg"], "kg")],
)
def test_what_is_no_course_has_a_plain_scale(course, marks, unit):
    there = rows(course, *marks)
    scale = scale_of(course, [row.stop for row in there])
    assert scale.unit == unit
    assert all(scale.start <= place <= scale.length for place in scale.places)
    assert len(picture(course, there, []).dots) == 2


def test_a_dot_each_by_shape_and_words_until_a_line_is_full():
    there = rows(TIDE, *["2+9"] * FIT, scaled={1, 2})
    drawn = picture(TIDE, there, [("½", there[0])])
    assert len(drawn.dots) == FIT and drawn.heaps == ()
    # As prescribed first, then diamonds; each says who and how.
    assert [bool(dot.points) for dot in drawn.dots] == [False] * (FIT - 2) + [True] * 2
    assert drawn.dots[0].told == "Member 0: 2+9, as prescribed"
    assert drawn.dots[-1].told.endswith("scaled")
    xs = [dot.x for dot in drawn.dots]
    assert xs == list(range(LEFT + 8, LEFT + 8 + FIT * DOT, DOT)) and xs[-1] < RIGHT


def test_a_full_line_counts():
    there = rows(TIDE, *["2+9"] * (FIT + 1), scaled={0})
    drawn = picture(TIDE, there, [])
    (heap,) = drawn.heaps
    assert (drawn.dots, heap.prescribed, heap.scaled) == ((), FIT, 1)
    assert heap.told == f"{FIT + 1} members here: {FIT} as prescribed, 1 scaled"


def test_further_is_further_down_and_nobody_is_lost():
    marks = ["0 reps", "60 reps", "130 reps", "0+0", "2+9", "8+0"]
    there = rows(TIDE, *marks)
    drawn = picture(TIDE, there, [])
    ys = {dot.result_id: dot.y for dot in drawn.dots}
    ordered = [ys[stop.id] for stop in by_order(row.stop for row in there)]
    assert len(ordered) == len(marks) and ordered == sorted(ordered)
    assert all(0 < y <= drawn.height for y in ordered)


def test_quarters_at_one_place_share_a_line():
    there = rows(TIDE, "2+9", "2+9", "8+0")
    drawn = picture(TIDE, there, [("¼", there[0]), ("½", there[1]), ("¾", there[2])])
    assert [mark.label for mark in drawn.marks] == ["¼ ½", "¾"]
    assert drawn.marks[0].y % LINE == LINE // 2


def test_a_class_without_marks_draws_the_course_alone():
    drawn = picture(TIDE, [], [])
    assert drawn.bands and not drawn.dots


def test_one_wild_mark_that_is_asked_about_does_not_stretch_the_picture():
    usual = ["2+9", "3+1", "4+0"]
    plain = picture(TIDE, rows(TIDE, *usual), [])
    there = rows(TIDE, *usual, "31+0")
    drawn = picture(TIDE, there, [("¾", there[-1])], asked={3})
    assert drawn.bands == plain.bands and drawn.marks == ()
    ys = {dot.result_id: dot.y for dot in drawn.dots}
    assert plain.height < ys[3] < drawn.height <= plain.height + 3 * LINE
    assert drawn.edge.label == "1 farther: asked"
    assert drawn.dots[-1].told == (
        "Member 3: 31+0, as prescribed; farther than this picture, and a question about it is open"
    )
    # Not asked about it is drawn to.
    assert len(picture(TIDE, there, []).bands) > len(plain.bands)


def test_an_asked_mark_among_the_others_and_a_class_of_asked_marks_are_drawn_as_ever():
    there = rows(TIDE, "2+9", "3+1", "4+0")
    assert picture(TIDE, there, [], asked={0}) == picture(TIDE, there, [])
    assert picture(TIDE, there, [], asked={0, 1, 2}) == picture(TIDE, there, [])
