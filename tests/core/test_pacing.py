"""Pacing: parts that add up and are even, and plans that follow from the usual seconds."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import catalogue, notation, pacing
from scoring.core.course import Course
from scoring.core.pacing import BIG, LARGEST_PART, Kind, hints, plan_text, plans, split, split_text
from scoring.core.prescription import Unit

from ..conftest import TWO_LADDERS
from .strategies import workouts


def read(text):
    return notation.parse(text).workout


@pytest.mark.parametrize(
    ("reps", "text"),
    [
        (1, "1"),
        (9, "9"),
        (10, "5-5"),
        (12, "6-6"),
        (14, "7-7"),
        (16, "8-8"),
        (17, "6-6-5"),
        (18, "6-6-6"),
        (20, "7-7-6"),
        (30, "8-8-7-7"),
        (50, "1 × 8, then 6 × 7"),
        (80, "10 × 8"),
    ],
)
def test_sets_are_broken_up_as_worked_out_by_hand(reps, text):
    assert split_text(split(reps)) == text


@given(st.integers(1, 10_000))
def test_parts_add_up_fall_are_even_few_and_small(reps):
    parts = split(reps)
    assert sum(parts) == reps
    assert list(parts) == sorted(parts, reverse=True)
    assert max(parts) - min(parts) <= 1
    if reps < BIG:
        assert parts == (reps,)
    else:
        assert len(parts) >= 2 and max(parts) <= LARGEST_PART
        assert (len(parts) - 1) * LARGEST_PART < reps  # one part less would not do


@given(st.integers(1, 10_000))
def test_the_text_of_a_split_says_every_part(reps):
    text = split_text(split(reps))
    if "×" in text:
        runs = [tuple(map(int, run.split(" × "))) for run in text.split(", then ")]
        assert sum(times * size for times, size in runs) == reps
    else:
        assert tuple(map(int, text.split("-"))) == split(reps)


@pytest.mark.parametrize("reps", [0, -1])
def test_there_is_no_set_without_reps(reps):
    with pytest.raises(ValueError, match="at least one"):
        split(reps)


@given(workouts())
def test_every_big_set_of_reps_has_one_hint_and_nothing_else_has(workout):
    course = Course(workout)
    made = hints(course)
    wanted = {
        (s.block, s.line.line.movement, s.count)
        for s in (*course.sets, *course.tail)
        if s.line.line.unit is Unit.REPS
        and s.count >= BIG
        and not (s.line.line.count is None and not course.workout_block(s.block).rungs)
    }
    assert {(h.block, h.movement, h.count) for h in made} == wanted
    assert all(sum(h.parts) == h.count for h in made)
    assert len({(h.block, h.movement, h.count, h.per_side) for h in made}) <= len(made)


@given(workouts())
def test_plans_follow_each_other_within_the_clock_they_are_for(workout):
    course = Course(workout)
    made = plans(workout)
    if course.limit is None:
        assert made == ()
        return
    assert [plan.block for plan in made] == [block.number for block in course.blocks]
    for plan, after in zip(made, made[1:], strict=False):
        assert plan.kind is Kind.FINITE and plan.starts <= plan.ends
        assert after.starts >= plan.ends - pacing.STEP  # each is rounded for itself
    for plan in made:
        assert plan.work >= 0 and plan_text(plan).endswith(".")
        assert plan.work % pacing.STEP == 0
        if plan.kind is Kind.AMRAP:
            assert plan.rounds >= 0


def test_the_times_are_those_of_the_catalogue_worked_out_by_hand():
    seconds = {m: catalogue.find(m).seconds for m in ("goblet squat", "hollow rock")}
    first = 36 * (seconds["goblet squat"] + seconds["hollow rock"])
    row, push = (catalogue.find(m).seconds for m in ("single-arm row", "hand-release push-up"))
    second = 30 * (row + push)
    press, lunge, sit = (
        catalogue.find(m).seconds for m in ("push press", "reverse lunge", "sit-up")
    )
    tail = 4 * press + 8 * lunge + 12 * sit
    one, two, three = plans(read(TWO_LADDERS))

    def rounded(value):
        return round(Fraction(value) / 10) * 10

    assert (one.work, one.starts, one.ends) == (rounded(first), 0, rounded(first))
    assert (two.starts, two.ends) == (rounded(first), rounded(first + second))
    assert three.work == rounded(tail) and three.starts == rounded(first + second)
    assert three.rounds == int((18 * 60 - first - second) // tail)
    assert two.spare == rounded(18 * 60 - first - second)


def test_hints_of_the_ladders_are_those_of_their_big_rungs():
    told = [(h.block, h.movement, h.count, h.text) for h in hints(Course(read(TWO_LADDERS)))]
    assert told == [
        (1, "goblet squat", 18, "6-6-6"),
        (1, "hollow rock", 18, "6-6-6"),
        (1, "goblet squat", 12, "6-6"),
        (1, "hollow rock", 12, "6-6"),
        (2, "single-arm row", 14, "7-7"),
        (2, "hand-release push-up", 14, "7-7"),
        (2, "single-arm row", 10, "5-5"),
        (2, "hand-release push-up", 10, "5-5"),
        (3, "sit-up", 12, "6-6"),
    ]


def test_a_rest_moves_what_comes_after_it():
    text = "X\ncap 20:00\n\n3 rounds\n10 air squat\n\n{}2 rounds\n10 push-up\n"
    plain, rested = plans(read(text.format(""))), plans(read(text.format("rest 2:00\n\n")))
    assert rested[0] == plain[0]
    assert rested[1].starts == plain[1].starts + 120 and rested[1].ends == plain[1].ends + 120


def test_what_is_too_much_for_the_clock_is_said():
    [plan] = plans(read("X\ncap 2:00\n\n10 rounds\n20 air squat\n"))
    assert not plan.fits and plan.spare == 120 - 360
    assert "after the clock has stopped" in plan_text(plan)
    [plan] = plans(read("X\n\nevery 0:30 for 10 rounds\n20 air squat\n"))
    assert not plan.fits and "longer than the interval" in plan_text(plan)


def test_an_interval_with_a_count_leaves_the_rest_and_max_is_not_counted():
    [plan] = plans(read("X\n\nevery 1:00 for 10 rounds\n10 air squat\nmax push-up\n"))
    assert (plan.work, plan.spare) == (20, 40)  # 18 s and 42 s
    assert "About 0:20 of work in each interval" in plan_text(plan)
    [plan] = plans(read("X\n\nevery 1:00 for 10 rounds\nmax push-up\n"))
    assert plan.work == 0 and "As much as goes well" in plan_text(plan)


def test_calories_distances_and_holds_have_no_parts():
    text = "X\ncap 20:00\n\n3 rounds\n20 cal row\n200 m run\n0:40 plank\n24 air squat, per side\n"
    [hint] = hints(Course(read(text)))
    assert (hint.count, hint.per_side, hint.text) == (24, True, "8-8-8")


def test_the_longest_rung_is_broken_up_like_any_other():
    [hint] = hints(Course(read("X\ncap 60:00\n\n10000\nair squat\n")))
    assert (hint.count, hint.text) == (10_000, "1250 × 8")


def test_what_has_no_clock_has_no_plan():
    assert plans(read("X\n\nmax load, 3 reps\nback squat\n")) == ()
    assert plans(read("X\n\n3 rounds, not scored\n10 air squat\n")) == ()
