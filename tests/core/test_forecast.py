"""Forecasts: by hand where nothing is left to chance, by formula where little is."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import exp, log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.core.course import Course
from scoring.core.credits import Choice
from scoring.core.estimation.beyond import Finish
from scoring.core.estimation.drawn import draw, standing
from scoring.core.estimation.estimate import Estimate, LevelPaths, Spreads, prior
from scoring.core.estimation.forecast import Field, forecast
from scoring.core.estimation.pace import Pace
from scoring.core.estimation.track import NoTrack, Track, track
from scoring.core.estimation.ways import Way, tied
from scoring.core.prescription import Block, BlockKind, Line, Option, Unit, Workout

from .boards import COURSE_L

CERTAIN = Spreads(noise=0, noise_within=0, level=0, drift=0, classes=0, fade=1)
SQUAT, ROCK, TUCK = Way("goblet squat"), Way("hollow rock"), Way("hollow rock", "tuck rock")
RUN = Way("run", unit="metres")
WAYS = tied({SQUAT: 2, ROCK: 3, RUN: 0.3}, {TUCK: (ROCK, 0.5)})
NOBODY = np.array([-1])
ONE = np.array([0])


def certain(spreads: Spreads = CERTAIN) -> Estimate:
    made = prior(WAYS)
    return replace(made, covariance=np.zeros_like(made.covariance), spreads=spreads)


def course(*blocks: Block, cap: int = 60) -> Course:
    return Course(Workout("A course", blocks, cap=cap))


LADDER = Block(
    BlockKind.LADDER,
    (Line("goblet squat"), Line("hollow rock", options=(Option("tuck rock"),))),
    rungs=(3, 2),
)
REST = Block(BlockKind.REST, seconds=10)
AMRAP = Block(BlockKind.AMRAP, (Line("goblet squat", 2), Line("hollow rock", 1)))


def field(made: Estimate, *tracks: Track, members: int = 1, **more: int) -> Field:
    chosen = np.arange(members) % max(1, len(tracks))
    return Field(made, tracks, chosen, np.full(members, -1), 0.0, **more)


def test_without_chance_places_are_the_arithmetic_of_the_clock() -> None:
    # 3 squats 6 s, 3 rocks 9 s, 2 squats 4 s, 2 rocks 6 s: 25 s in all
    ladder = track(course(LADDER))
    for cap, place in ((1, 0), (2, 1), (6, 3), (8, 3), (9, 4), (15, 6), (18, 7), (24, 9), (25, 10)):
        told = field(certain(), ladder, draws=3).forecast(cap)
        assert told.ensemble.tolist() == [[place] * 3], cap
        assert told.past[0, 0] == (cap >= 25)
        assert told.middle.tolist() == [place] * 3
    done = field(certain(), ladder).forecast(60)
    assert done.times[0] == pytest.approx([25, 25, 25])
    assert np.isnan(field(certain(), ladder).forecast(24).times).all()


def test_a_finish_counts_as_how_far_its_pace_would_have_got() -> None:
    # done at 25 of 60 s: 10 reps · 60 / 25 = 24, and an AMRAP's place is itself
    ladder = track(course(LADDER))
    assert field(certain(), ladder).beyond(60)[0, 0] == 24
    assert field(certain(), ladder).beyond(24)[0, 0] == 9
    # with rests of ten seconds, 50 s of work in 60: 10 · 50 / 25
    rested = track(course(REST, LADDER))
    assert field(certain(), rested).beyond(60)[0, 0] == 20
    assert field(certain(), rested).beyond(5)[0, 0] == 0
    assert field(certain(), track(course(AMRAP))).beyond(60)[0, 0] == 26
    assert field(certain(), ladder, members=0).beyond(60).shape == (0, 2000)
    end = Finish(10, 10, 60, 1)
    assert (end.reached(10, 35), end.reached(9, 60), end.reached(10, 60)) == (20, 9, 10)
    assert end.seconds(20) == pytest.approx(35)
    assert (end.seconds(9), end.seconds(10)) == (None, pytest.approx(60))
    assert end.reached(10, 10.5) == 200
    assert Finish(None, 0, 60, 1).reached(40, 60) == 40
    assert Finish(None, 0, 60, 1).seconds(40) is None


@given(st.integers(1, 500), st.floats(30, 590), st.sampled_from([1.0, 1.06]))
def test_a_finish_and_its_place_are_each_others_inverse(
    total: int, seconds: float, fade: float
) -> None:
    end = Finish(total, 20, 600, fade)
    reached = end.reached(total, seconds)
    back, next_ = end.seconds(reached), end.seconds(reached + 1)
    assert back is not None
    assert next_ is not None
    if reached == 20 * total:
        return  # nobody is taken to get further
    assert next_ < seconds + 1e-6
    assert seconds <= back + 1e-6


def test_an_option_takes_its_own_time() -> None:
    # rocks at 1.5 s: 6 + 4.5 + 4 + 3 = 17.5 s
    easy = track(course(LADDER), {1: Choice(1, option=0)})
    assert easy.ways == (SQUAT, TUCK)
    told = field(certain(), easy).forecast(60)
    assert told.times[0, 1] == pytest.approx(17.5)


def test_rests_add_to_the_clock_and_do_no_work() -> None:
    # ladder until 25, rest until 35, then rounds of 7 s: 2 squats, 1 rock
    both = track(course(LADDER, REST, AMRAP))
    for cap, place in ((25, 10), (34, 10), (36, 10), (37, 11), (39, 12), (42, 13), (60, 21)):
        assert field(certain(), both).forecast(cap).ensemble[0, 0] == place, cap
    rested = track(course(REST, LADDER, REST, LADDER))
    for cap, place in ((9, 0), (10, 0), (12, 1), (35, 10), (44, 10), (47, 11), (70, 20)):
        assert field(certain(), rested).forecast(cap).ensemble[0, 0] == place, cap


def test_work_fades_with_time() -> None:
    # 300 squats are 600 s whatever the fade; half of it takes 600 · 0.5^1.06 = 287.8 s
    long = track(course(Block(BlockKind.ROUNDS, (Line("goblet squat", 300),), for_time=True)))
    faded = field(certain(replace(CERTAIN, fade=1.06)), long)
    assert faded.forecast(600).times[0, 1] == pytest.approx(600)
    assert faded.forecast(288).ensemble[0, 0] == 150
    assert faded.forecast(287).ensemble[0, 0] == 149


def test_an_all_or_nothing_run_is_one_rep() -> None:
    run = Line("run", 400, Unit.METRES)
    made = track(course(Block(BlockKind.ROUNDS, (run,), rounds=2), cap=600))
    # 400 m at 0.3 s are two minutes
    for cap, place in ((119, 0), (120, 1), (239, 1), (240, 2)):
        assert field(certain(), made).forecast(cap).ensemble[0, 0] == place


def test_places_agree_with_the_course_counted_in_fractions() -> None:
    # the catalogue's tenths of seconds, counted exactly by the course itself
    weighed = Course(COURSE_L.workout, weighted=True)
    done = track(weighed)
    roots = {
        way: next(line.weight for line in weighed.lines if line.line.movement == way.movement) / 10
        for way in done.ways
    }
    sure = replace(
        prior(tied(roots, {})), spreads=CERTAIN, covariance=np.zeros((len(roots), len(roots)))
    )
    group = field(sure, done, draws=1)
    for cap in range(1, 1500, 7):
        place, _ = weighed.place_by_weight(Fraction(cap * 10))
        assert group.forecast(cap).ensemble[0, 0] == weighed.raw(place), cap


SURE_COSTS = replace(CERTAIN, noise=0.08, level=0.25, classes=0.05, fade=1.06)


def test_the_share_that_finishes_agrees_with_the_normal_distribution() -> None:
    long = track(course(Block(BlockKind.ROUNDS, (Line("goblet squat", 200),), for_time=True)))
    spread = sqrt(0.08**2 + 0.25**2 + 0.05**2)
    group = field(certain(SURE_COSTS), long, members=40)
    for cap in (300, 400, 500):
        z = (log(cap / 600) - 1.06 * log(400 / 600)) / spread
        assert group.share_past(1, cap) == pytest.approx(norm.cdf(z), abs=0.01)
    told = group.cap_for(0.8)
    exact = 600 * (400 / 600) ** 1.06 * exp(spread * norm.ppf(0.8))
    assert told is not None
    assert exact - 5 <= told <= exact + 35
    assert told % 30 == 0


def test_unsure_costs_widen_a_forecast_as_the_sum_of_their_variances_says() -> None:
    long = track(course(Block(BlockKind.ROUNDS, (Line("goblet squat", 300),), for_time=True)))
    unsure = replace(certain(), covariance=np.diag(np.array([0.09, 0, 0, 0])[order()]))
    group = field(unsure, long, members=3)
    assert group.share_past(1, 600 * exp(0.3)) == pytest.approx(norm.cdf(1), abs=0.001)


def order() -> list[int]:
    """Where the squat's variance goes, in the order of the ways."""
    wanted = [SQUAT, ROCK, RUN, TUCK]
    return [wanted.index(way) for way in WAYS.ways]


def levels(mean: float, variance: float, lean: list[float], day: float = 0) -> LevelPaths:
    return LevelPaths(
        start=np.array([0, 1, 1]),
        day=np.array([day]),
        mean=np.array([mean]),
        variance=np.array([variance]),
        gain=np.zeros(1),
        with_last=np.array([variance]),
        results=np.ones(1, dtype=np.int64),
        lean=np.array([lean, [0.0] * len(lean)]),
    )


def test_a_level_moves_its_member_and_a_gap_widens_it() -> None:
    known = replace(certain(replace(CERTAIN, drift=0.01, level=0.3)), levels=levels(-0.2, 0.01, []))
    held = standing(known, np.array([0, 1, -1]), 100.0)
    assert held.mean == pytest.approx([-0.2, 0, 0])
    # 0.01 a day, squared, a hundred times; members without results as anybody
    assert held.variance == pytest.approx([0.02, 0.09, 0.09])
    assert standing(known, ONE, -5.0).variance == pytest.approx([0.01])


def test_what_a_fit_could_not_tell_apart_cancels_in_a_forecast() -> None:
    # whether the movement is slow or its member: u leans against θ, so γ·θ + u is sure
    made = certain()
    covariance = np.zeros((4, 4))
    squat = WAYS.ways.index(SQUAT)
    covariance[squat, squat] = 0.04
    leaning = replace(made, covariance=covariance, levels=levels(0.0, 0.04, [-0.2]))
    long = track(course(Block(BlockKind.ROUNDS, (Line("goblet squat", 300),), for_time=True)))
    told = Field(leaning, [long], ONE, ONE, 0.0).forecast(1200)
    assert told.times[0] == pytest.approx([600, 600, 600])
    drawn = draw(leaning, np.array([squat]), ONE, 0.0)
    assert np.corrcoef(drawn.log_seconds[0], drawn.slowness[0])[0, 1] == pytest.approx(-1)
    assert drawn.log_seconds.std() == pytest.approx(0.2, rel=0.01)


def test_a_common_day_makes_the_group_vary_together() -> None:
    ladder = track(course(LADDER))
    alone = field(certain(replace(CERTAIN, noise=0.2)), ladder, members=50).forecast(25).gates[0]
    day = field(certain(replace(CERTAIN, classes=0.2)), ladder, members=50).forecast(25).gates[0]
    assert alone.share == pytest.approx(day.share, abs=0.02)
    assert (day.low, day.high) == (0, 1)
    assert alone.high - alone.low < 0.3


def test_the_same_question_has_the_same_answer() -> None:
    ladder = track(course(LADDER, REST, AMRAP))
    one, two = (field(prior(WAYS), ladder, members=7).forecast() for _ in range(2))
    assert np.array_equal(one.ensemble, two.ensemble)
    other = field(prior(WAYS), ladder, members=7, seed=1).forecast()
    assert not np.array_equal(one.ensemble, other.ensemble)


def test_nobody_gives_an_empty_forecast() -> None:
    ladder = track(course(LADDER))
    empty = forecast(prior(WAYS), [ladder], NOBODY[:0], NOBODY[:0], 0.0)
    assert empty.ensemble.shape == (0, 2000)
    assert (empty.places.shape, empty.times.shape) == ((0, 3), (0, 3))
    assert (empty.gates, empty.last) == ((), None)
    assert field(prior(WAYS), ladder, members=0).cap_for(0.8) is None
    assert field(prior(WAYS), ladder, members=0).share_past(1, 100) == 0


def test_an_amrap_alone_has_no_gate() -> None:
    told = field(prior(WAYS), track(course(AMRAP)), members=3)
    assert told.forecast().last is None
    assert told.cap_for(0.8) is None
    assert told.forecast().ensemble.min() > 0


def test_a_cap_beyond_six_hours_is_none() -> None:
    run = Block(BlockKind.ROUNDS, (Line("run", 1000, Unit.METRES),), rounds=200)
    assert field(prior(WAYS), track(course(run)), members=3).cap_for(0.8) is None


def test_choices_of_members_are_kept_apart() -> None:
    tracks = [track(course(LADDER)), track(course(LADDER), {1: Choice(1, option=0)})]
    told = field(certain(), *tracks, members=5).forecast(18)
    assert told.ensemble[:, 0].tolist() == [7, 10, 7, 10, 7]
    assert told.gates[0].share == pytest.approx(0.4)
    at, count = told.shares()
    assert (at.tolist(), count.tolist()) == ([7, 10], [3, 2])


def test_another_course_of_the_same_ways_takes_the_same_luck() -> None:
    shorter = replace(LADDER, rungs=(2, 1))
    group = field(prior(WAYS), track(course(LADDER)), members=4)
    other = group.other([track(course(shorter))])
    direct = field(prior(WAYS), track(course(shorter)), members=4)
    assert np.array_equal(other.places(12), direct.places(12))


def test_the_pace_line_is_the_clock_of_the_typical_member() -> None:
    made = track(course(LADDER, REST, AMRAP))
    pace = Pace(certain(), made)
    line = pace.line()
    ends = [6, 15, 19, 25, 39, 42, 46, 49, 53, 56, 60]
    assert [p.seconds for p in line] == pytest.approx(ends)
    assert [p.index for p in line] == list(range(len(ends)))
    # a set takes as long in a later round, and a rest belongs to none
    assert [pace.set_seconds(index) for index in (0, 4, 5, 8)] == pytest.approx([6, 4, 3, 4])
    assert (pace.reached(37), pace.total) == (11, None)
    assert Pace(certain(), track(course(LADDER))).total == pytest.approx(25)
    # who is typical has neither luck nor doubt: unsure costs change nothing
    assert Pace(prior(WAYS), made).reached(37) == Pace(
        certain(replace(CERTAIN, fade=1.06)), made
    ).reached(37)


def test_only_courses_against_the_clock_are_forecast() -> None:
    every = Block(BlockKind.INTERVALS, (Line("burpee", 5),), rounds=3, seconds=60)
    for workout in (
        Workout("Every minute", (every,)),
        Workout("Heavy", (Block(BlockKind.MAX_LOAD, (Line("deadlift"),), reps=3),)),
    ):
        with pytest.raises(NoTrack, match="have places"):
            track(Course(workout))


def test_a_way_nothing_is_held_of_is_told() -> None:
    burpees = track(course(Block(BlockKind.AMRAP, (Line("burpee", 5),))))
    with pytest.raises(ValueError, match="Nothing is held of burpee"):
        field(prior(WAYS), burpees)
    with pytest.raises(ValueError, match="at most 1"):
        field(prior(WAYS), track(course(LADDER))).cap_for(1.5)


RUNGS = st.lists(st.integers(1, 12), min_size=1, max_size=4).map(tuple)


@settings(max_examples=25, deadline=None)
@given(RUNGS, st.integers(0, 60), st.integers(1, 400), st.integers(0, 200))
def test_more_time_never_takes_anybody_less_far(
    rungs: tuple[int, ...], pause: int, cap: int, more: int
) -> None:
    blocks = (replace(LADDER, rungs=rungs), *((replace(REST, seconds=pause),) if pause else ()))
    group = field(prior(WAYS), track(course(*blocks, AMRAP)), members=3, draws=50)
    sooner, later = group.forecast(cap), group.forecast(cap + more)
    assert (sooner.ensemble <= later.ensemble).all()
    assert (sooner.past <= later.past).all()
    # past the ladder is a place at its end or beyond
    end = sum(rungs) * 2
    assert np.array_equal(sooner.ensemble >= end, group.past(1, cap))


@settings(max_examples=25, deadline=None)
@given(RUNGS, st.floats(0.05, 1))
def test_the_cap_for_a_share_lets_that_share_through_and_half_a_minute_less_does_not(
    rungs: tuple[int, ...], share: float
) -> None:
    group = field(prior(WAYS), track(course(replace(LADDER, rungs=rungs))), members=5, draws=40)
    cap = group.cap_for(share)
    assert cap is not None
    assert group.share_past(1, cap) >= share - 1e-6
    assert cap == 30 or group.share_past(1, cap - 30) < share
