"""Minutes by movement pattern, worked out by hand, and patterns on days running."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import catalogue, notation
from scoring.core.movements import Pattern
from scoring.core.patterns import HEAVY_PIECE, MUCH, Work, heaviest, runs, work_by_pattern


def asked(text):
    return work_by_pattern(notation.parse(text).workout)


def usual(name):
    return catalogue.find(name).seconds


def test_a_ladder_is_its_reps_times_the_usual_seconds():
    work = asked("X\ncap 30:00\n\n18-12-6\ngoblet squat @ 20 kg\nhollow rock\n")
    assert work == {
        Pattern.SQUAT: Work(round(36 * usual("goblet squat")), True),
        Pattern.CORE: Work(round(36 * usual("hollow rock")), False),
    }


def test_an_amrap_fills_what_is_left_of_the_clock():
    work = asked("X\n\namrap 10:00\n10 air squat\n10 push-up\n")
    assert (usual("air squat"), usual("push-up")) == (Fraction(9, 5), Fraction(8, 5))
    # 17 rounds of 34 s, then 10 squats and 2 push-ups in the 22 s that are left.
    assert work[Pattern.SQUAT].seconds == round(180 * Fraction(9, 5))
    assert work[Pattern.PUSH].seconds == round(172 * Fraction(8, 5))


def test_what_lies_behind_the_cap_is_left_out():
    work = asked("X\ncap 1:00\n\n1 round\n100 air squat\n100 push-up\n")
    # 33 squats take 59.4 s.
    assert work == {Pattern.SQUAT: Work(59, False)}


def test_rests_are_no_work():
    work = asked("X\ncap 4:30\n\n1 round\n100 air squat\n\nrest 1:00\n\n1 round\n100 air squat\n")
    # 180 s of squats, a minute of rest, and 16 squats in the last 30 s.
    assert work[Pattern.SQUAT].seconds == round(116 * Fraction(9, 5))


def test_what_is_written_max_has_what_is_left_of_its_intervals():
    work = asked("X\n\nevery 1:00 for 10 rounds\n5 burpee\nmax push-up\n")
    burpees = 50 * usual("burpee")
    assert work[Pattern.WHOLE_BODY].seconds == round(burpees)
    assert work[Pattern.PUSH].seconds == round(600 - burpees)


def test_more_than_fits_into_intervals_is_cut_to_them():
    work = asked("X\n\nevery 0:30 for 4 rounds\n200 air squat\n")
    assert work == {Pattern.SQUAT: Work(120, False)}


def test_a_piece_for_the_heaviest_load_is_work_with_a_load():
    assert asked("X\n\nmax load, 3 reps\nback squat\n") == {Pattern.SQUAT: Work(HEAVY_PIECE, True)}


def test_warm_ups_and_the_coachs_own_movements_are_left_out():
    text = "X\ncap 9:00\n\n3 rounds, not scored\n10 air squat\n\n3 rounds\n12 sofa shuffle\n"
    assert asked(text) == {}
    assert asked("Easy\n\n3 rounds, not scored\n10 air squat\n") == {}


def test_a_member_comes_to_one_class_of_a_day():
    morning, evening = {Pattern.SQUAT: Work(300, False)}, {Pattern.SQUAT: Work(200, True)}
    assert heaviest([morning, evening]) == {Pattern.SQUAT: Work(300, True)}
    assert heaviest([]) == {}


MONDAY = date(2026, 11, 23)


def week(*seconds, has_load=True):
    return {
        MONDAY + timedelta(days=n): {Pattern.SQUAT: Work(each, has_load)}
        for n, each in enumerate(seconds)
        if each
    }


def test_three_days_running_are_pointed_out_and_two_are_not():
    (run,) = runs(week(400, 300, 200))
    assert run.pattern is Pattern.SQUAT and run.has_load
    assert run.days == (MONDAY, MONDAY + timedelta(days=1), MONDAY + timedelta(days=2))
    assert runs(week(400, 300)) == () == runs(week(400, 300, 0, 400, 300))


def test_a_little_of_a_pattern_is_no_day_of_it():
    assert runs(week(400, MUCH - 1, 400)) == ()
    assert len(runs(week(400, MUCH, 400))) == 1


def test_a_weight_counts_if_it_is_written_on_each_of_the_days():
    days = week(400, 400, 400)
    days[MONDAY] = {Pattern.SQUAT: Work(400, False)}
    assert not runs(days)[0].has_load


@pytest.mark.parametrize("pattern", [Pattern.MOBILITY, Pattern.LOCOMOTION])
def test_what_is_easy_by_nature_may_come_every_day(pattern):
    days = {MONDAY + timedelta(days=n): {pattern: Work(900, False)} for n in range(7)}
    assert runs(days) == ()


@given(st.sets(st.integers(0, 30)))
def test_runs_are_as_long_as_they_can_be_and_never_overlap(on):
    days = {MONDAY + timedelta(days=n): {Pattern.PULL: Work(MUCH, False)} for n in on}
    for run in runs(days):
        first, last = run.days[0], run.days[-1]
        assert len(run.days) == (last - first).days + 1 >= 3
        assert first - timedelta(days=1) not in days and last + timedelta(days=1) not in days
    covered = {day for run in runs(days) for day in run.days}
    by_hand = {
        d for d in days
        if any(all(d + timedelta(days=k + j) in days for j in range(3)) for k in (-2, -1, 0))
    }  # fmt: skip
    assert covered == by_hand
