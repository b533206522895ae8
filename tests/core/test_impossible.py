"""Marks that are all but impossible: z by hand, what a class has in common, and the words."""

from dataclasses import replace
from fractions import Fraction
from math import exp, log, pi, sqrt

import numpy as np
import pytest

from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.estimation.estimate import LevelPaths, prior
from scoring.core.estimation.gather import Held, gather
from scoring.core.estimation.impossible import (
    Marks,
    fastest,
    marks_of,
    quickest_seconds,
    surprises,
)
from scoring.core.estimation.impossible_words import (
    Anybody,
    expected_marks,
    expected_reps,
    unlike,
)
from scoring.core.estimation.listing import ways_of
from scoring.core.estimation.ways import Way, tied
from scoring.core.marks import Caught, Finished
from scoring.core.notation import parse
from scoring.core.scoring import Result

SQUAT = Way("air squat")
PUSH = Way("push-up")
WAYS = tied({SQUAT: 2.0, PUSH: 1.5}, {})
GAMMA, NOISE, CLASS, LEVEL = 1.06, 0.08, 0.05, 0.25


def sure(ways=WAYS, **levels):
    """The catalogue's seconds, without any doubt about them."""
    start = prior(ways)
    return replace(start, covariance=np.zeros_like(start.covariance), **levels)


def known(ways, *members, variance=0.0, day=0.0):
    """Members with these log slownesses."""
    count = len(members)
    return sure(
        ways,
        levels=LevelPaths(
            np.arange(count + 1), np.full(count, day), np.array(members, dtype=float),
            np.full(count, variance), np.zeros(count), np.full(count, variance), np.ones(count, dtype=np.int64),
            np.zeros((count, 0)),
        ),
    )  # fmt: skip


def marks(*rows, level=0.0, variance=0.0):
    """Each row (seconds, air squats, push-ups); finished, so no rep is under way."""
    size = len(rows)
    return Marks(
        mean=np.full(size, level),
        variance=np.full(size, variance),
        seconds=np.array([row[0] for row in rows], dtype=float),
        used=np.arange(2),
        counts=np.array([row[1:] for row in rows], dtype=float),
        under_way=np.zeros(size),
    )


def test_a_mark_of_the_usual_pace_lies_nowhere():
    # 300 squats of 2 s are 600 s of work: by the model they take 600 s of somebody at level 0.
    found = surprises(sure(), marks((600, 300, 0)))
    assert found.z[0] == pytest.approx(0) and found.odd.tolist() == []


def test_z_is_the_log_of_the_times_over_the_spread_of_all_that_is_uncertain():
    # Twice as long. Level ± 0.1, noise 0.08, class 0.05: log 2 / √(0.01 + 0.0064 + 0.0025).
    found = surprises(sure(), marks((1200, 300, 0), variance=0.1**2))
    assert found.excess[0] == pytest.approx(log(2))
    assert found.z[0] == pytest.approx(log(2) / sqrt(0.1**2 + NOISE**2 + CLASS**2))
    assert found.odd.tolist() == [0]


def test_pace_fades_with_the_work():
    # Twice the work in 2^1.06 times the time is the same level.
    found = surprises(sure(), marks((600 * 2**GAMMA, 600, 0)))
    assert found.z[0] == pytest.approx(0, abs=1e-9)


def test_what_costs_are_uncertain_by_widens_what_is_possible():
    doubt = replace(sure(), covariance=np.diag([0.3**2, 0.0]))
    half = surprises(doubt, marks((1200, 150, 200)))  # the squats are half of the work
    assert half.spread[0] == pytest.approx(sqrt(NOISE**2 + CLASS**2 + (GAMMA * 0.5 * 0.3) ** 2))


def test_where_the_clock_stopped_in_a_long_rep_is_uncertain_too():
    row = marks((600, 300, 0))
    wide = surprises(sure(), replace(row, under_way=np.array([120.0])))
    # Even over a fifth of the work: the deviation is γ × 0.2 / √12.
    extra = GAMMA * 0.2 / sqrt(12)
    assert wide.spread[0] == pytest.approx(sqrt(NOISE**2 + CLASS**2 + extra**2))


def test_no_rep_tells_nothing():
    found = surprises(sure(), marks((600, 0, 0), (600, 300, 0)))
    assert np.isnan(found.z[0]) and found.z[1] == pytest.approx(0)
    assert found.odd.tolist() == []


def test_a_whole_class_that_is_slow_is_no_oddity_of_any_of_its_marks():
    # Six take 1.6 times as long and one twice that: it alone is odd.
    rows = [(960, 300, 0)] * 6 + [(1920, 300, 0)]
    found = surprises(sure(), marks(*rows, variance=0.05**2))
    assert found.odd.tolist() == [6]
    alone = surprises(sure(), marks(rows[0], variance=0.05**2))
    assert alone.odd.tolist() == [0]


def test_the_rest_of_a_class_is_shrunk_toward_what_was_held_of_it():
    # By hand: six others at log 1.5, each with variance 0.0064: their median has variance
    # π/2 × 0.0064 / 6; the class was held to be 0 ± 0.05.
    found = surprises(sure(), marks(*[(900, 300, 0)] * 7))
    median = pi / 2 * NOISE**2 / 6
    gain = CLASS**2 / (CLASS**2 + median)
    assert found.excess[0] == pytest.approx((1 - gain) * log(1.5))
    assert found.spread[0] == pytest.approx(sqrt(NOISE**2 + gain * median))


@pytest.mark.parametrize(("others", "is_used"), [(3, False), (4, True)])
def test_fewer_than_four_others_make_no_middle(others, is_used):
    found = surprises(sure(), marks(*[(900, 300, 0)] * (others + 1)))
    assert (found.excess[0] < log(1.5) - 0.01) == is_used


def test_one_mark_does_not_move_the_middle_it_is_compared_with():
    rows = [(600, 300, 0)] * 5
    mild = surprises(sure(), marks(*rows, (660, 300, 0)))
    wild = surprises(sure(), marks(*rows, (6000, 300, 0)))
    assert wild.excess[5] - mild.excess[5] == pytest.approx(log(10) - log(1.1))


def test_an_effect_that_the_estimate_knows_is_taken_out():
    found = surprises(sure(), marks((600 * exp(0.2), 300, 0)), effect=0.2, effect_variance=0.01**2)
    assert found.z[0] == pytest.approx(0, abs=1e-9)
    assert found.spread[0] == pytest.approx(sqrt(NOISE**2 + 0.01**2))


def test_the_fastest_on_record_bounds_everybody_and_a_slow_record_nobody():
    assert fastest(known(WAYS, -0.9, 0.1, variance=0.01)) == (-0.9, pytest.approx(0.01))
    # Slow members, or none, say little of what is possible: twice the spread of levels.
    assert fastest(known(WAYS, 0.3)) == (-2 * LEVEL, 0.0)
    assert fastest(sure()) == (-2 * LEVEL, 0.0)


def test_nobody_is_under_the_record_by_four_deviations():
    estimate = known(WAYS, -0.9, variance=0.01)
    spread = sqrt(0.01 + NOISE**2 + CLASS**2)
    least = 600 * exp(-0.9 - 4 * spread)
    squat, push = (WAYS.position(way) for way in (SQUAT, PUSH))
    assert quickest_seconds(estimate, {squat: 300.0}) == pytest.approx(least)
    # Two ways together are one piece of work: 150 squats and 200 push-ups are as much.
    assert quickest_seconds(estimate, {squat: 150.0, push: 200.0}) == pytest.approx(least)
    assert quickest_seconds(estimate, {}) == quickest_seconds(estimate, {squat: 0.0}) == 0


TEXT = """Squats and runs
cap 10:00

30-20-10
air squat
push-up
"""
COURSE = Course(parse(TEXT).workout)
RUN = Course(parse("Runs\ncap 20:00\n\n2 rounds\n400 m run\n20 air squat\n").workout)
TIDE = Course(parse("Tide\namrap 10:00\n10 air squat\n10 push-up\n").workout)


def of(course, *results):
    """What these results come to, members 100, 101, ... none of whom is known."""
    ways = ways_of([course], CreditTable())
    told = [(10 + n, 100 + n, result) for n, result in enumerate(results)]
    gathered = gather([Held(1, course, 3.0, told)], CreditTable())
    return sure(ways), gathered


def test_marks_come_from_what_was_gathered_with_half_of_the_rep_under_way():
    estimate, gathered = of(TIDE, Result(Caught(0)), Result(Caught(25)))
    got, which = marks_of(estimate, gathered, np.array([-1, -1]), 3.0, {})
    assert gathered.results[which].tolist() == [11]  # no rep, no row
    squats, pushes = (estimate.ways.position(way) for way in (SQUAT, PUSH))
    assert got.used.tolist() == [squats, pushes] and got.counts.tolist() == [[15.5, 10]]
    assert got.seconds[0] == 600
    assert got.under_way[0] == pytest.approx(exp(estimate.cost[squats]))
    assert got.variance[0] == pytest.approx(LEVEL**2)  # nothing is known of them


def test_a_rep_of_a_distance_is_as_wide_as_the_distance():
    estimate, gathered = of(RUN, Result(Caught(21)))
    run = Way("run", unit="metres")
    got, _ = marks_of(estimate, gathered, np.array([-1]), 3.0, {run: 400.0})
    assert got.under_way[0] == pytest.approx(400 * exp(estimate.cost[estimate.ways.position(run)]))


def test_a_level_that_was_long_ago_is_less_certain():
    ways = ways_of([TIDE], CreditTable())
    _, gathered = of(TIDE, Result(Caught(25)))
    got, _ = marks_of(known(ways, 0.1, variance=0.01), gathered, np.array([0]), 100.0, {})
    assert got.mean[0] == pytest.approx(0.1)
    assert got.variance[0] == pytest.approx(0.01 + 100 * 0.005**2)


def test_the_expected_range_is_where_that_pace_gets_by_the_clock():
    estimate, _ = of(TIDE, Result(Caught(25)))
    cost = (
        exp(estimate.cost[estimate.ways.position(SQUAT)]),
        exp(estimate.cost[estimate.ways.position(PUSH)]),
    )
    round_ = 10 * cost[0] + 10 * cost[1]
    slow, fast = expected_marks(estimate, TIDE, (), 0.1, 0.1)
    for text, slowness in ((slow, 0.1 + 0.12816), (fast, 0.1 - 0.12816)):
        rounds, reps = map(int, text.split(" rounds + "))
        work = 600 * exp(-slowness / GAMMA)
        in_round = reps * cost[0] if reps <= 10 else 10 * cost[0] + (reps - 10) * cost[1]
        done = rounds * round_ + in_round
        assert done <= work < done + max(cost)


def test_who_would_be_done_before_the_clock_has_a_time_and_rests_count():
    rested = Course(parse(
        "Rested\ncap 20:00\n\n30-20-10\nair squat\npush-up\n\nrest 1:00\n\n10\nair squat\n"
    ).workout)  # fmt: skip
    estimate, _ = of(rested)
    squat, push = (exp(estimate.cost[estimate.ways.position(way)]) for way in (SQUAT, PUSH))
    work = 70 * squat + 60 * push
    clock = 600 * (work / 600) ** GAMMA + 60
    slow, fast = expected_marks(estimate, rested, (), 0.0, 0.0)
    assert slow == fast == f"{round(clock) // 60}:{round(clock) % 60:02d}"


def test_at_the_cap_the_range_ends_in_a_place():
    estimate, _ = of(COURSE)
    slow, fast = expected_marks(estimate, COURSE, (), 1.5, 0.05)
    assert slow.startswith("rung of ") and fast.endswith(" done")


def test_marks_that_are_no_places_have_no_range():
    lift = Course(parse("Heavy three\nmax load, 3 reps\nback squat\n").workout)
    minutes = Course(parse("Minutes\nevery 1:00 for 3 rounds\n12 air squat\nmax burpee\n").workout)
    estimate, _ = of(TIDE)
    assert expected_marks(estimate, lift, (), 0.0, 0.1) is None
    assert expected_marks(estimate, minutes, (), 0.0, 0.1) is None


def test_of_intervals_the_total_was_to_be_expected():
    # Twice the pace is 2^(1/1.06) = 1.923 times the reps; a tenth either way is 12.86 %.
    low, high = expected_reps(sure(), 200, -log(2), 0.1)
    middle = 200 / 2 ** (1 / GAMMA)
    assert (low, high) == (
        f"{round(middle * exp(-0.12816 / GAMMA))}",
        f"{round(middle * exp(0.12816 / GAMMA))} reps",
    )


def test_faster_than_anybody_is_found_in_a_part_by_its_split():
    two = Course(parse(
        "Two\ncap 20:00\n\n30-20-10\nair squat\npush-up\n\n30-20-10\nair squat\npush-up\n"
    ).workout)  # fmt: skip
    estimate, _ = of(two)
    usual = Result(Finished(Fraction(420)), splits={1: Fraction(200)})
    rushed = Result(Finished(Fraction(420)), splits={1: Fraction(20)})
    anybody = Anybody(estimate, two)
    assert anybody.too_fast(usual) == ""
    words = anybody.too_fast(rushed)
    assert words.startswith("Block 1: 120 reps in 0:20.")
    assert "even somebody faster than anybody so far needs about" in words


def test_what_the_estimate_does_not_hold_is_not_called_too_fast():
    assert Anybody(sure(tied({}, {})), TIDE).too_fast(Result(Caught(5000))) == ""
    assert Anybody(of(TIDE)[0], TIDE).too_fast(Result(Caught(5000))) != ""


def test_the_words_say_the_pace_the_range_and_what_they_rest_on():
    said = unlike(
        -log(2.1), results=23, gym_results=312, until="24 Nov 2026", expected=("3+2", "5+8")
    )
    assert said == (
        "That would be 2.1 times their usual pace. From 23 results of theirs until 24 Nov 2026 "
        "we'd expect between 3+2 and 5+8, four times in five."
    )


def test_a_slow_mark_is_told_as_a_share_and_a_newcomer_beside_the_others():
    said = unlike(log(2.5), results=1, gym_results=312, until="", expected=None)
    assert said == "That would be 40 % of their usual pace. It is known from 1 result of theirs."
    said = unlike(-log(3), results=0, gym_results=312, until="", expected=("3+2", "3+2"))
    assert said == (
        "That would be 3.0 times what the gym's members usually do. From 312 results of others "
        "we'd expect about 3+2, four times in five."
    )
