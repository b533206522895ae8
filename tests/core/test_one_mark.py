"""One mark by itself is told what a class with this mark alone is told, to the last digit."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.course import Course
from scoring.core.credits import Choice, CreditTable
from scoring.core.estimation.estimate import LevelPaths, prior
from scoring.core.estimation.extending import extended
from scoring.core.estimation.gather import Held, gather
from scoring.core.estimation.impossible import marks_of, surprises
from scoring.core.estimation.impossible_words import Anybody, expected_marks
from scoring.core.estimation.listing import ways_of
from scoring.core.estimation.one_mark import KEPT_CHOICES, OneByOne, widths
from scoring.core.marks import Caught, Finished
from scoring.core.notation import parse
from scoring.core.scoring import Result

from .boards import COURSE_AMRAP, COURSE_L, COURSE_M, COURSE_ROUNDS, kg
from .test_gather import reported

TABLE = CreditTable(options={("hollow rock", "tuck rock"): Fraction("0.9")})
DAY = 5.0


def learned(*courses):
    """What a gym has learned of some courses: figures that lean on each other, two members."""
    dice = np.random.default_rng(7)
    start = prior(ways_of(courses, TABLE))
    size = len(start.ways)
    half = dice.normal(size=(size, size)) * 0.05
    paths = LevelPaths(
        np.arange(3), np.array([1.0, 2.0]), np.array([-0.2, 0.3]), np.array([0.01, 0.02]),
        np.zeros(2), np.array([0.01, 0.02]), np.ones(2, dtype=np.int64),
        dice.normal(size=(2, min(size, 3))) * 0.01,
    )  # fmt: skip
    return replace(
        start,
        cost=start.cost + dice.normal(size=size) * 0.2,
        covariance=half @ half.T + 0.001 * np.eye(size),
        levels=paths,
    )


def in_a_class(estimate, course, result, member, **common):
    """The same by what is made for whole classes."""
    gathered = gather([Held(1, course, DAY, [(1, 9, result)])], TABLE)
    estimate = extended(estimate, ways_of([course], TABLE, estimate.ways))
    estimate = extended(estimate, gathered.ways)
    members = np.full(len(gathered.members), member)
    marks, _ = marks_of(estimate, gathered, members, DAY, widths(course))
    return estimate, surprises(estimate, marks, **common)


def same(estimate, course, result, member=0, ready=None, **common):
    """Both ways of telling, of which the words are the same too; gives the figures."""
    wide, whole = in_a_class(estimate, course, result, member, **common)
    ready = ready or OneByOne(estimate, course, TABLE)
    alone = ready.against(result, member=member, day=DAY, **common)
    for name in ("z", "excess", "slowness", "spread"):
        assert getattr(alone.surprise, name).tolist() == getattr(whole, name).tolist(), name
    assert alone.too_fast == Anybody(wide, course).too_fast(result)
    for slowness, spread in zip(whole.slowness.tolist(), whole.spread.tolist(), strict=True):
        own = result.choices, slowness, spread
        assert expected_marks(alone.estimate, course, *own) == expected_marks(wide, course, *own)
    return alone.surprise


@st.composite
def loaded(draw):
    """A course and a result, some of whose lines were done with the member's own load, whole or
    in part."""
    course, result = draw(reported())
    own = []
    for line in course.lines:
        if line.line.load and draw(st.booleans()):
            reps = draw(st.sampled_from([None, 0, 1, 3, 500]))
            own.append(Choice(line.index, None, kg(draw(st.sampled_from([7, 14, 21]))), reps))
    return course, replace(result, choices=(*result.choices, *own))


@given(loaded(), st.sampled_from([-1, 0, 1]), st.booleans())
def test_one_mark_is_told_what_a_class_of_it_alone_is_told(case, member, is_known):
    course, result = case
    common = {"effect": 0.1, "effect_variance": 0.002} if is_known else {}
    estimate = learned(course, COURSE_L) if is_known else learned(COURSE_L, COURSE_ROUNDS)
    ready = OneByOne(estimate, course, TABLE)
    for _ in range(2):  # made, and kept
        same(estimate, course, result, member, ready, **common)


def test_splits_and_a_split_at_the_very_end_tell_the_same():
    estimate = learned(COURSE_L)
    scaled = (Choice(1, 0), Choice(3, 0, reps=4))
    for split in (300, 700, 840):
        for mark in (Finished(Fraction(840)), Caught(70)):
            same(estimate, COURSE_M, Result(mark, scaled, {1: Fraction(split)}))


def test_rests_tell_the_same_and_so_does_a_mark_that_cannot_be():
    text = "Rested\ncap 5:00\n\n2 rounds\n5 air squat\n100 m run\n\nrest 4:00\n\n6-4\npush-up\n"
    course = Course(parse(text).workout)
    estimate = learned(COURSE_L, course)
    for reps in range(22):
        same(estimate, course, Result(Caught(reps)))
    assert not len(same(estimate, course, Result(Caught(22))).z)
    assert not len(same(estimate, course, Result(Caught(0))).z)
    lift = Course(parse("Heavy three\nmax load, 3 reps\nback squat\n").workout)
    assert not len(same(estimate, lift, Result(Caught(3))).z)


def test_no_more_than_so_many_different_choices_are_kept():
    ready = OneByOne(learned(COURSE_L), COURSE_L, TABLE)
    for load in range(1, KEPT_CHOICES + 20):
        for reps in (1, 2):
            ready.against(Result(Caught(80), (Choice(0, None, kg(load), reps),)), member=0, day=DAY)
    assert len(ready._ready) == KEPT_CHOICES


def test_what_others_tell_one_more_mark_is_what_they_would_have_told_it_among_them():
    """Of marks by members of whom all the same is known, on figures beyond doubt."""
    sure = replace(
        learned(COURSE_AMRAP), covariance=np.zeros((2, 2)), levels=prior(ways_of([], TABLE)).levels
    )
    told = [(n, n, Result(Caught(90 + 7 * n))) for n in range(1, 7)]

    def compared(told):
        gathered = gather([Held(1, COURSE_AMRAP, DAY, told)], TABLE)
        members = np.full(len(gathered.members), -1)
        return surprises(sure, marks_of(sure, gathered, members, DAY, {})[0])

    extra = Result(Caught(300))
    effect, variance = compared(told).common
    alone = OneByOne(sure, COURSE_AMRAP, TABLE).against(
        extra, member=-1, day=DAY, effect=effect, effect_variance=variance
    )
    # The reps at which the clock stopped make it some millionths wider or narrower for each.
    among = compared([*told, (7, 7, extra)]).z[6]
    assert abs(alone.surprise.z[0] - among) < 1e-3 * abs(among)
    assert compared(told[:3]).common is None
