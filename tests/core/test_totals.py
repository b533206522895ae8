"""What a planned course asks for: totals, sides, and how far the usual pace gets."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.prescription import BlockKind
from scoring.core.totals import (
    OWN,
    asked,
    by_movement,
    by_pattern,
    by_side,
    odd_sets,
    odd_words,
    pattern_seconds,
)

from ..conftest import FOR_TIME, TWO_LADDERS
from .strategies import workouts


def read(text):
    workout = notation.parse(text).workout
    return workout, Course(workout)


def test_a_course_that_ends_asks_for_all_of_it():
    workout, course = read(FOR_TIME)
    plan = asked(workout)
    # Two movements 18+12+6 times each, two 14+10+6 times each.
    assert plan.counts == (36, 36, 30, 30) and not plan.is_guess
    assert by_movement(course, plan.counts) == {
        "goblet squat": 36,
        "hollow rock": 36,
        "hand-release push-up": 30,
        "single-arm row": 30,
    }
    assert by_pattern(course, plan.counts) == {"core": 36, "squat": 36, "pull": 30, "push": 30}


def test_an_amrap_asks_for_what_the_speed_reaches():
    # Air squats 2 s and burpees 4 s would be guesses here; own movements take 3 s a rep.
    text = "A tide\n\namrap 1:00\n4 sofa shuffle\n6 wall vault\n"
    workout, course = read(text)
    # A round is 30 s, so two rounds in a minute; at half the speed one.
    assert asked(workout).counts == (8, 12)
    slow = asked(workout, Fraction(1, 2))
    assert slow.counts == (4, 6) and slow.is_guess
    assert course.describe(slow.stopped) == "1 round + 0"
    assert by_pattern(course, slow.counts) == {OWN: 10}


def test_a_rest_is_as_long_at_any_speed():
    text = "Stop and go\ncap 2:00\n\n1 round\n10 sofa shuffle\n\nrest 0:30\n\n1 round\n20 sofa shuffle\n"
    workout, course = read(text)
    # 30 s of work, 30 s of rest, then 60 s for 20 reps: just done.
    usual = asked(workout)
    assert usual.seconds == 120 and usual.stopped is None and usual.reached == (10, 20)
    # At half the speed 60 s of work and 30 s of rest leave 30 s: five reps of six seconds.
    slow = asked(workout, Fraction(1, 2))
    assert slow.reached == (10, 5) and slow.counts == (10, 20)
    assert course.describe(slow.stopped) == "block 2, round 1, 5 sofa shuffle done"


def test_the_last_set_of_an_interval_fills_what_is_left():
    workout, _ = read("Bells\n\nevery 1:00 for 10 rounds\n8 sofa shuffle\nmax wall vault\n")
    # 24 s of 60 are taken; twelve reps of three seconds fit in the other 36.
    assert asked(workout).counts == (80, 120) and asked(workout).is_guess


def test_odd_reps_take_turns_from_rung_to_rung():
    text = FOR_TIME.replace("14-10-6", "15-9-3")
    workout, course = read(text)
    # 8+7, 4+5, 2+1 (the domain's worked example): 14 and 13 in all.
    assert [(o.where, o.to_starting) for o in odd_sets(course)] == [
        ("block 2, rung of 15", True),
        ("block 2, rung of 9", False),
        ("block 2, rung of 3", True),
    ]
    rows = by_side(course, asked(workout).counts)
    assert [(r.movement, r.starting, r.other) for r in rows] == [("single-arm row", 14, 13)]
    assert odd_words(course) == (
        "single-arm row, alternating: the side you start with gets the odd rep in rung of 15 and "
        "rung of 3; the other side gets the odd rep in rung of 9.",
    )


def test_an_amraps_odd_rep_goes_in_turn():
    text = "A tide\n\namrap 9:00\n9 reverse lunge, alternating\n6 sit-up\n"
    _, course = read(text)
    assert odd_words(course) == (
        "9 reverse lunge, alternating: the side you start with gets the odd rep in round 1, the "
        "other side in round 2, and so on in turn.",
    )


def test_what_has_no_sides_has_none_where_rounds_take_turns():
    workout, course = read(TWO_LADDERS)
    names = [row.movement for row in by_side(course, asked(workout).counts)]
    assert "sit-up" not in names and "push press" in names


@given(workouts(), st.fractions(Fraction(1, 10), Fraction(3)))
def test_nobody_reaches_more_than_there_is_and_more_speed_reaches_no_less(workout, speed):
    course = Course(workout)
    plan, faster = asked(workout, speed), asked(workout, speed * 2)
    assert len(plan.counts) == len(course.lines)
    assert all(0 <= few <= most for few, most in zip(plan.reached, plan.counts, strict=True))
    assert sum(plan.reached) <= sum(faster.reached)
    if course.total is not None and course.blocks:
        kind = course.workout_block(1).kind
        if kind not in (BlockKind.INTERVALS, BlockKind.MAX_LOAD):
            assert sum(plan.counts) == course.total
            assert (plan.stopped is None) == (plan.reached == plan.counts)
    if plan.stopped is not None:
        assert course.line_reps(course.raw(plan.stopped)) == plan.reached


@given(workouts())
def test_totals_by_movement_pattern_and_side_are_the_same_reps(workout):
    course = Course(workout)
    counts = asked(workout).counts
    assert sum(by_movement(course, counts).values()) == sum(counts)
    assert sum(by_pattern(course, counts).values()) == sum(counts)
    for row in by_side(course, counts):
        line = next(line for line in course.lines if line.number == row.line)
        assert row.starting + row.other == counts[line.index]
    assert all(seconds >= 0 for seconds in pattern_seconds(workout).values())


@given(workouts())
def test_a_line_s_odd_reps_are_the_difference_of_its_sides(workout):
    course = Course(workout)
    odd = odd_sets(course)
    for line in course.lines:
        block = course.workout_block(line.block)
        finite = block.kind in (BlockKind.LADDER, BlockKind.ROUNDS)
        if not line.line.alternating or not finite:
            continue
        own = [o.to_starting for o in odd if o.line == line.number]
        reps = sum(s.reps for s in course.sets if s.line.index == line.index)
        starting, other = course.sides(line.index, reps)
        assert starting - other == own.count(True) - own.count(False)
