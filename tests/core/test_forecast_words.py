"""What is said of a forecast, and that what it proposes holds."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.course import Course
from scoring.core.estimation.alternatives import lighter, shapes
from scoring.core.estimation.estimate import Spreads, prior
from scoring.core.estimation.forecast import Field
from scoring.core.estimation.forecast_words import (
    chance,
    chances,
    part_of_group,
    remarks,
    to_pass,
)
from scoring.core.estimation.track import track
from scoring.core.estimation.ways import Way, tied
from scoring.core.prescription import Block, BlockKind, Line, Workout

WAYS = tied({Way("goblet squat"): 3, Way("push-up"): 2}, {})
TIGHT = replace(
    prior(WAYS),
    covariance=np.zeros((2, 2)),
    spreads=Spreads(noise=0.05, level=0.1, classes=0.02, fade=1),
)
LINES = (Line("goblet squat"), Line("push-up"))
FIRST = Block(BlockKind.LADDER, LINES, rungs=(10, 8, 6))
SECOND = Block(BlockKind.LADDER, LINES, rungs=(21, 15, 9))
ROUNDS = Block(BlockKind.ROUNDS, (Line("goblet squat", 10), Line("push-up", 10)), rounds=8)
AMRAP = Block(BlockKind.AMRAP, (Line("goblet squat", 10), Line("push-up", 10)))


def said(*blocks: Block, cap: int, members: int = 20) -> tuple[str, ...]:
    course = Course(Workout("A course", blocks, cap=cap))
    field = asked(course, members)
    return remarks(course, field, field.forecast(), [{}])


def asked(course: Course, members: int = 20) -> Field:
    nobody = np.full(members, -1)
    return Field(TIGHT, [track(course)], np.zeros(members, dtype=int), nobody, 0.0)


def test_a_block_that_holds_half_up_is_told_with_what_would_mend_it() -> None:
    # first ladder 120 s, second 225 s: done at 5:45 by the typical member
    (told,) = said(FIRST, SECOND, AMRAP, cap=345)
    assert told == (
        "Half of the group will not reach the AMRAP: a cap of 6:30, or 17-12-7 in place of "
        "21-15-9, would let 80 % through."
    )


def test_what_is_proposed_lets_the_share_through_and_nothing_larger_does() -> None:
    course = Course(Workout("A course", (FIRST, SECOND, AMRAP), cap=300))
    field = asked(course)
    found = lighter(field, course.workout, [{}], 2, 300, 0.8)
    assert found is not None
    assert found.was == "21-15-9"
    assert asked(Course(found.workout)).share_past(2, 300) == found.share >= 0.8
    reps = sum(Course(found.workout).workout_block(2).rungs)
    larger = [rungs for rungs in shapes((21, 15, 9)) if sum(rungs) > reps]
    for rungs in larger:
        other = replace(course.workout, blocks=(FIRST, replace(SECOND, rungs=rungs), AMRAP))
        assert asked(Course(other)).share_past(2, 300) < 0.8


def test_rounds_are_taken_off_where_there_are_rounds() -> None:
    # a round is 50 s: 8 rounds 400 s, five in four minutes and a bit
    (told,) = said(ROUNDS, cap=280)
    assert told == (
        "Hardly anybody will finish: a cap of 7:30, or 5 rounds in place of 8 rounds, would let "
        "80 % through."
    )


def test_where_nothing_smaller_helps_only_time_does() -> None:
    one = Block(BlockKind.ROUNDS, (Line("goblet squat", 100),), for_time=True)
    (told,) = said(one, cap=280)
    assert told == "Seven in ten will not finish: a cap of 6:00 would let 80 % through."


def test_a_group_that_is_done_long_before_the_cap() -> None:
    # 25 reps of each take 125 s: neither half nor nine in ten end near a half minute
    (told,) = said(replace(FIRST, rungs=(10, 8, 7)), cap=600)
    assert told == (
        "Half of the group will be done by 2:30, long before the cap of 10:00: a cap of 2:30 "
        "would still let 90 % finish."
    )


def test_a_round_of_the_amrap_that_is_too_long() -> None:
    long = replace(AMRAP, lines=(Line("goblet squat", 100), Line("push-up", 100)))
    assert said(FIRST, long, cap=300) == (
        "Half of the group will not get through one round of the AMRAP: a shorter round would "
        "let them.",
    )


def test_nothing_remarkable_says_so() -> None:
    (told,) = said(FIRST, SECOND, AMRAP, cap=420)
    assert told == "Nothing stands out: 96 % are expected to reach the AMRAP."
    assert said(AMRAP, cap=300) == ("Nothing stands out.",)
    assert said(AMRAP, cap=300, members=0) == ()


def test_a_share_that_hangs_on_the_day_is_said_to_be_unsure() -> None:
    course = Course(Workout("A course", (SECOND,), cap=230))
    wide = replace(TIGHT, spreads=replace(TIGHT.spreads, classes=0.3))
    field = Field(wide, [track(course)], np.zeros(20, dtype=int), np.full(20, -1), 0.0)
    told = remarks(course, field, field.forecast(), [{}])
    assert told[-1].startswith("How many will finish is hard to say: anything from ")


def test_getting_past_a_block_by_name() -> None:
    both = Course(Workout("A course", (FIRST, SECOND, AMRAP), cap=300))
    assert [to_pass(both, n) for n in (1, 2)] == ["leave the first ladder", "reach the AMRAP"]
    one = Course(Workout("A course", (FIRST, ROUNDS), cap=300))
    assert [to_pass(one, n) for n in (1, 2)] == ["leave the ladder", "finish"]
    assert part_of_group(0.49) == "Half of the group"
    assert part_of_group(0.01) == "Hardly anybody"
    assert part_of_group(1) == "Nearly everybody"


@given(st.lists(st.integers(1, 30), min_size=1, max_size=5).map(tuple))
def test_smaller_ladders_keep_the_shape(rungs: tuple[int, ...]) -> None:
    for made in shapes(rungs):
        assert len(made) == len(rungs)
        assert 0 < sum(made) < sum(rungs)
        for (a, b), (c, d) in zip(pairwise(rungs), pairwise(made), strict=True):
            assert np.sign(b - a) == np.sign(d - c)
        ratio = Fraction(max(made), min(made)) / Fraction(max(rungs), min(rungs))
        assert 0.75 < ratio < 1.3


@pytest.mark.parametrize("rungs", [(21, 15, 9), (6, 9, 12), (10, 9, 8, 7, 6)])
def test_even_steps_stay_even(rungs: tuple[int, ...]) -> None:
    assert shapes(rungs)
    for made in shapes(rungs):
        assert len({b - a for a, b in pairwise(made)}) == 1


def test_what_is_expected_is_never_said_to_be_sure():
    assert (chance(1.0), chance(0.0), chance(0.62)) == ("over 99 %", "under 1 %", "62 %")
    assert chances(1.0, 1.0) == "over 99 %"
    assert chances(0.2, 1.0) == "20 % to over 99 %"
