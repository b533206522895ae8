"""The course: what a workout unrolls to, and places on it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.course import Course, Place, PlaceError
from scoring.core.prescription import Block, BlockKind, Line, Unit, Workout

from .boards import COURSE_INTERVALS, COURSE_L, COURSE_M, COURSE_ROUNDS, COURSES


def ladder(*rungs, **line):
    block = Block(BlockKind.LADDER, (Line("row", **line), Line("push-up")), rungs=rungs)
    return Course(Workout("t", (block,), cap=600))


def test_the_blocks_of_course_l_have_72_and_60_reps_and_rounds_of_24():
    assert COURSE_L.block_end(1) == 72
    assert COURSE_L.block_end(2) == 72 + 60
    assert COURSE_L.round_reps == 24
    assert COURSE_L.total is None and COURSE_M.total == 132


def test_a_21_15_9_ladder_of_two_movements_is_90_reps_and_falls_by_six():
    # common practice, no source
    course = ladder(21, 15, 9)
    assert course.total == 90
    sizes = [course_set.reps for course_set in course.sets[::2]]
    assert [a - b for a, b in zip(sizes, sizes[1:], strict=False)] == [6, 6]


@pytest.mark.parametrize(
    ("rungs", "pairs", "total"),
    [
        ((14, 10, 6), [(7, 7), (5, 5), (3, 3)], (15, 15)),
        ((15, 9, 3), [(8, 7), (4, 5), (2, 1)], (14, 13)),
    ],
)
def test_alternating_goes_on_from_set_to_set(rungs, pairs, total):
    # an odd alternating set leaves one extra rep on a side: common practice, no source
    course = ladder(*rungs, alternating=True)
    done, seen = 0, []
    for rung in rungs:
        before = course.sides(0, done)
        done += rung
        after = course.sides(0, done)
        seen.append((after[0] - before[0], after[1] - before[1]))
    assert seen == pairs and course.sides(0, done) == total


def test_per_side_doubles_the_count():
    block = Block(BlockKind.ROUNDS, (Line("lunge", 10, per_side=True),), rounds=2)
    course = Course(Workout("t", (block,), cap=600))
    assert course.total == 40
    assert course.sides(0, 25) == (15, 10)


def test_one_side_per_round_gives_even_rounds_the_other_side():
    assert COURSE_L.sides(4, 4 + 4 + 3) == (7, 4)
    first_of_round_2 = len(COURSE_L.sets) + 3
    assert COURSE_L.set_at(first_of_round_2).other_side
    assert not COURSE_L.set_at(len(COURSE_L.sets)).other_side


@pytest.mark.parametrize(
    ("line", "reps"),
    [
        (Line("row", 15, Unit.CALORIES), 15),
        (Line("run", 400, Unit.METRES), 1),
        (Line("run", 400, Unit.METRES, units_per_rep=40), 10),
        (Line("plank", 30, Unit.SECONDS), 1),
        (Line("plank", 30, Unit.SECONDS, units_per_rep=10), 3),
        (Line("side plank", 30, Unit.SECONDS, per_side=True), 2),
    ],
)
def test_what_counts_as_a_rep(line, reps):
    course = Course(Workout("t", (Block(BlockKind.ROUNDS, (line,)),), cap=600))
    assert course.total == reps


def test_rests_and_unscored_blocks_are_not_on_the_course():
    work = Block(BlockKind.ROUNDS, (Line("burpee", 5),), rounds=2)
    warm_up = Block(BlockKind.ROUNDS, (Line("air squat", 10),), rounds=3, scored=False)
    rest = Block(BlockKind.REST, seconds=120)
    course = Course(Workout("t", (warm_up, work, rest, work), cap=600))
    assert course.total == 20 and len(course.blocks) == 2
    assert course.place_at(block=2, round=1, position=1, reps=1) == Place(2, 1)


def test_the_end_of_a_set_is_the_start_of_the_next():
    assert COURSE_L.raw(Place(0, 18)) == COURSE_L.raw(Place(1, 0)) == 18
    assert COURSE_L.place(18) == Place(1, 0)
    assert COURSE_M.place(132) == Place(len(COURSE_M.sets), 0)
    assert COURSE_M.raw(Place(len(COURSE_M.sets), 0)) == 132


@given(raw=st.integers(0, 5000), name=st.sampled_from(sorted(set(COURSES) - {"load"})))
def test_place_and_raw_reps_are_exact_inverses(raw, name):
    course = COURSES[name]
    if course.total is not None:
        raw = min(raw, course.total)
    place = course.place(raw)
    assert course.raw(place) == raw
    assert course.place(course.raw(place)) == place


@given(
    rungs=st.lists(st.integers(1, 50), min_size=1, max_size=8),
    counts=st.lists(st.integers(1, 30), min_size=1, max_size=4),
    data=st.data(),
)
def test_every_place_of_any_course_has_its_own_reps(rungs, counts, data):
    first = Block(BlockKind.LADDER, (Line("a"), Line("b")), rungs=tuple(rungs))
    tide = Block(BlockKind.AMRAP, tuple(Line(f"m{i}", n) for i, n in enumerate(counts)))
    course = Course(Workout("t", (first, tide), cap=600))
    index = data.draw(st.integers(0, len(course.sets) + 12))
    reps = data.draw(st.integers(0, course.set_at(index).reps - 1))
    assert course.place(course.raw(Place(index, reps))) == Place(index, reps)
    raw = course.raw(Place(index, reps))
    assert sum(course.line_reps(raw)) == raw
    # counted rep by rep, the slow way
    slow = [0] * len(course.lines)
    for done in range(index):
        slow[course.set_at(done).line.index] += course.set_at(done).reps
    slow[course.set_at(index).line.index] += reps
    assert course.line_reps(raw) == tuple(slow)
    # unweighted, a place by weight is the place by reps
    from fractions import Fraction

    assert course.place_by_weight(Fraction(raw)) == (Place(index, reps), 0)


def test_places_off_the_course_are_refused_with_what_is_there():
    with pytest.raises(PlaceError, match="132 reps"):
        COURSE_M.place(133)
    with pytest.raises(PlaceError, match="negative"):
        COURSE_M.place(-1)
    with pytest.raises(PlaceError, match="18 reps of goblet squat"):
        COURSE_L.raw(Place(0, 19))
    with pytest.raises(PlaceError, match="3 blocks"):
        COURSE_L.place_at(block=4, round=1, position=1, reps=0)
    with pytest.raises(PlaceError, match="5 rounds"):
        COURSE_ROUNDS.place_at(block=1, round=6, position=1, reps=0)
    with pytest.raises(PlaceError):
        COURSE_L.block_end(3)


def test_an_intervals_course_has_each_interval_once():
    assert [s.round for s in COURSE_INTERVALS.sets] == [1, 1, 2, 2, 3, 3]
    assert COURSE_INTERVALS.limit == 180
