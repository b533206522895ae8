"""What a fit is given of a result is what the board says was done, rep by rep."""

import random
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scoring.core.course import Course
from scoring.core.credits import Choice, CreditTable
from scoring.core.estimation.gather import Held, gather
from scoring.core.estimation.naming import units
from scoring.core.estimation.ways import Way
from scoring.core.marks import Caught, Finished, IntervalReps, Lifted, MarkError, check_mark
from scoring.core.prescription import Block, BlockKind, Line, Load, Option, Unit, Workout
from scoring.core.scoring import Result, reps_of

from .boards import COURSE_L, COURSE_M, LADDER_1, LADDER_2, kg
from .strategies import workouts

SCALED = (Choice(1, 0), Choice(3, 0))
SQUAT, ROW = Way("goblet squat", load="20"), Way("single-arm row", load="16")
ROCK, TUCK = Way("hollow rock"), Way("hollow rock", "tuck rock")
PUSH, KNEE = Way("hand-release push-up"), Way("hand-release push-up", "knee push-up")
PRESS, LUNGE, SIT = Way("push press", load="16"), Way("reverse lunge"), Way("sit-up")


def of(course, *results, table=None, day=3.0):
    held = Held(1, course, day, [(10 + i, 100 + i, r) for i, r in enumerate(results)])
    return gather([held], table or CreditTable())


def told(gathered):
    """Rows as (seconds, way under way, units by way)."""
    rows, ways = gathered.rows, gathered.ways.ways
    found = []
    for index, line in enumerate(rows.counts.toarray()):
        stop = rows.stop[index]
        found.append(
            (
                float(rows.seconds[index]),
                None if stop < 0 else ways[stop],
                {ways[p]: float(n) for p, n in enumerate(line) if n},
            )
        )
    return found


def test_course_l_by_hand_two_rounds_and_nine():
    """57 reps into the tide are two rounds of 24, the third's 4 presses and 5 of 8 lunges: 12
    presses, 21 lunges, 24 sit-ups, and half of the lunge under way."""
    [row] = told(of(COURSE_L, Result(Caught(189), SCALED)))
    assert row == (
        1080.0,
        LUNGE,
        {SQUAT: 36.0, TUCK: 36.0, ROW: 30.0, KNEE: 30.0, PRESS: 12.0, LUNGE: 21.5, SIT: 24.0},
    )


def test_course_l_by_hand_caught_in_the_rung_of_ten():
    """72 and 14 + 14 + 10 + 6: six push-ups into the rung of 10."""
    rows = told(of(COURSE_L, Result(Caught(116), (Choice(3, 0),)), Result(Caught(116))))
    before = {SQUAT: 36.0, ROCK: 36.0, ROW: 24.0}
    assert rows == [
        (1080.0, KNEE, {**before, KNEE: 20.5}),
        (1080.0, PUSH, {**before, PUSH: 20.5}),
    ]


def test_a_finish_and_its_splits():
    """The first block's end is a time of its own; the last one's is the finish again."""
    splits = {1: Fraction(370), 2: Fraction(720)}
    rows = told(of(COURSE_M, Result(Finished(Fraction(720)), SCALED, splits)))
    assert rows == [
        (370.0, None, {SQUAT: 36.0, TUCK: 36.0}),
        (720.0, None, {SQUAT: 36.0, TUCK: 36.0, ROW: 30.0, KNEE: 30.0}),
    ]


def test_reps_without_a_count_come_first_and_the_clock_stops_in_the_last_choice():
    rows = told(of(COURSE_L, Result(Caught(40), (Choice(1, 0, reps=7),))))
    # 18 squats, 18 rocks, 4 squats: the squat is under way, 7 rocks were tucked.
    assert rows == [(1080.0, SQUAT, {SQUAT: 22.5, ROCK: 11.0, TUCK: 7.0})]
    [row] = told(of(COURSE_L, Result(Caught(30), (Choice(1, 0, reps=7),))))
    assert row == (1080.0, TUCK, {SQUAT: 18.0, ROCK: 5.0, TUCK: 7.5})


def test_rests_passed_are_no_work():
    """Rest of 2:00 before block 2, of 1:00 before block 3."""
    course = with_rests()
    finished = Result(Finished(Fraction(900)), (), {1: Fraction(300), 2: Fraction(700)})
    assert [seconds for seconds, _, _ in told(of(course, finished))] == [300, 580, 720]
    in_block_2 = Result(Caught(72 + 3))
    assert told(of(course, in_block_2))[0][0] == 1200 - 120


def with_rests():
    rests = Block(BlockKind.REST, seconds=120), Block(BlockKind.REST, seconds=60)
    blocks = (LADDER_1, rests[0], LADDER_2, rests[1], LADDER_1)
    return Course(Workout("With rests", blocks, cap=1200))


@pytest.mark.parametrize(
    ("splits", "seconds"),
    [
        # Nobody knows how much of the two minutes had passed: half of them.
        ({}, 1200 - 60),
        # At 19:00 they came to the rest, at 20:00 the clock stopped: one minute of it.
        ({1: Fraction(1140)}, 1200 - 60),
        ({1: Fraction(1190)}, 1200 - 10),
        # They could have begun block 2 and did not: all of it.
        ({1: Fraction(600)}, 1200 - 120),
    ],
)
def test_who_is_caught_in_a_rest_has_part_of_it_behind(splits, seconds):
    row = told(of(with_rests(), Result(Caught(72), (), splits)))[-1]
    assert row == (seconds, ROW, {SQUAT: 36.0, ROCK: 36.0, ROW: 0.5})


def test_a_distance_is_counted_in_metres_and_half_of_what_makes_a_rep_is_under_way():
    run = Line("run", 400, Unit.METRES)
    pieces = Line("run", 400, Unit.METRES, units_per_rep=40)
    metres = Way("run", unit="metres")
    for line, done, expected in ((run, 1, 600.0), (pieces, 12, 480.0 + 20.0)):
        course = Course(Workout("Runs", (Block(BlockKind.ROUNDS, (line,), rounds=5),), cap=600))
        assert told(of(course, Result(Caught(done)))) == [(600.0, metres, {metres: expected})]
        [way] = of(course).ways.ways
        assert way == metres


def test_a_hold_per_side_takes_its_seconds_twice():
    hold = Line("plank", 30, Unit.SECONDS, per_side=True)
    course = Course(Workout("Hold", (Block(BlockKind.ROUNDS, (hold,), rounds=2),), cap=200))
    gathered = of(course, Result(Finished(Fraction(150))))
    assert told(gathered) == [(150.0, None, {Way("plank", unit="seconds"): 120.0})]
    assert gathered.ways.base == pytest.approx([0.0])  # a second of holding takes a second


def test_rests_that_leave_no_time_tell_no_pace():
    rest = Block(BlockKind.REST, seconds=600)
    course = Course(Workout("Long rest", (LADDER_1, rest, LADDER_2), cap=600))
    got = of(course, Result(Caught(80)), Result(Caught(70)))
    assert got.results.tolist() == [10, 11] and got.rows.result.tolist() == [1]


class TestIntervals:
    def course(self, *lines):
        return Course(
            Workout("Tide", (Block(BlockKind.INTERVALS, lines, rounds=4, seconds=60),), None)
        )

    def test_to_the_last_second_they_are_work_up_to_the_last_one_begun(self):
        course = self.course(Line("push-up", 5), Line("burpee"))
        [row] = told(of(course, Result(IntervalReps((15, 12, 3, 0)))))
        push, burpee = Way("push-up"), Way("burpee")
        assert row == (180.0, push, {push: 5 + 5 + 3.5, burpee: 10 + 7})
        [row] = told(of(course, Result(IntervalReps((15, 5)))))
        assert row == (120.0, burpee, {push: 10.0, burpee: 10.5})

    def test_a_total_of_one_movement_is_enough(self):
        burpee = Way("burpee")
        got = of(self.course(Line("burpee")), Result(Caught(55)))
        assert told(got) == [(240.0, burpee, {burpee: 55.5})]

    def test_a_set_count_leaves_time_over_and_tells_no_pace(self):
        got = of(self.course(Line("burpee", 10)), Result(IntervalReps((10, 10, 9, 8))))
        assert (len(got.rows), got.silent, got.left_out) == (0, 1, 0)

    def test_a_total_of_several_movements_tells_no_pace(self):
        got = of(self.course(Line("push-up", 5), Line("burpee")), Result(Caught(40)))
        assert (len(got.rows), got.silent) == (0, 1)

    def test_more_than_an_interval_holds_is_left_out(self):
        got = of(self.course(Line("burpee", 10)), Result(IntervalReps((11,))))
        assert (got.silent, got.left_out) == (0, 1)


def test_a_lift_tells_no_pace():
    piece = Block(BlockKind.MAX_LOAD, (Line("deadlift"),), reps=3)
    got = of(Course(Workout("Heavy", (piece,))), Result(Lifted(Fraction(80), "kg", 3)))
    assert (len(got.rows), len(got.ways), got.silent) == (0, 0, 1)


def test_nobody_who_did_not_begin_is_fitted_but_they_keep_their_position():
    got = of(COURSE_L, Result(Caught(0)), Result(Caught(5)))
    assert got.results.tolist() == [10, 11]
    assert got.rows.result.tolist() == [1] and len(got.rows) == 2


@pytest.mark.parametrize(
    "result",
    [
        Result(Caught(COURSE_M.total)),
        Result(Caught(-1)),
        Result(Finished(Fraction(841))),
        Result(Caught(20), (Choice(1, 0, reps=3),)),  # two rocks were done
        Result(Caught(0), (Choice(1, 0, reps=3),)),
        Result(Caught(20), (Choice(1, 0), Choice(1))),
        Result(Caught(20), (Choice(9, 0),)),
        Result(Caught(20), (Choice(1, 5),)),
        Result(Caught(20), (Choice(1, 0, kg(5)),)),  # nothing to compare a load with
        Result(Caught(20), (), {1: Fraction(300)}),  # the block's end was not reached
        Result(Caught(100), (), {1: Fraction(900)}),
        Result(IntervalReps((3,))),
    ],
)
def test_what_can_not_be_is_left_out_and_counted(result):
    got = of(COURSE_M, result, Result(Caught(50)))
    assert (got.left_out, got.silent, len(got.rows)) == (1, 0, 1)
    assert got.results.tolist() == [11] and got.members.tolist() == [101]


class TestTies:
    """What a way is held to be before any result."""

    def held(self, *blocks, table=None, cap=600, results=()):
        courses = [Course(Workout("One", (block,), cap=cap)) for block in blocks]
        return gather(
            [Held(i, course, float(i), results) for i, course in enumerate(courses)],
            table or CreditTable(),
        ).ways

    def tie(self, ways, way):
        at = ways.position(way)
        return ways.ways[ways.parent[at]], float(np.exp(ways.tie[at]))

    def block(self, *lines):
        return Block(BlockKind.ROUNDS, lines, rounds=3)

    def swing(self, load, *options):
        return self.block(Line("swing", 10, load=load, options=options))

    def test_the_root_is_the_load_prescribed_most_often(self):
        ways = self.held(self.swing(kg(16)), self.swing(kg(24)), self.swing(kg(24)))
        heavy, light = Way("swing", load="24"), Way("swing", load="16")
        assert ways.parent[ways.position(heavy)] == -1
        # 16 of 24: 1 - 0.5 (1 - 2/3) = 0.8333, to two places 0.83.
        assert self.tie(ways, light) == (heavy, pytest.approx(0.83))

    def test_of_loads_as_common_the_first_by_key_is_the_root(self):
        ways = self.held(self.swing(kg(24)), self.swing(kg(16)))
        assert ways.parent.tolist() == [-1, 0] and ways.ways[0].load == "16"
        # 24 of 16: 1 + 0.5 · 0.5 = 1.25.
        assert np.exp(ways.tie[1]) == pytest.approx(1.25)

    def test_two_loads_stand_for_their_mean(self):
        ways = self.held(self.swing(kg(24, 16)), self.swing(kg(24, 16)), self.swing(kg(10)))
        # 10 of 20: three quarters.
        assert self.tie(ways, Way("swing", load="10")) == (
            Way("swing", load="24/16"), pytest.approx(0.75),
        )  # fmt: skip

    def test_the_newest_board_that_writes_a_credit_is_believed_over_the_table(self):
        old, new = (Option("tuck rock", credit=Fraction(c)) for c in ("0.6", "0.7"))
        bare, table = (
            Option("tuck rock"),
            CreditTable(options={("hollow rock", "tuck rock"): Fraction("0.9")}),
        )
        boards = [self.block(Line("hollow rock", 9, options=(o,))) for o in (old, new, bare)]
        assert self.tie(self.held(*boards, table=table), TUCK) == (ROCK, pytest.approx(0.7))
        only = self.held(boards[2], table=table)
        assert self.tie(only, TUCK) == (ROCK, pytest.approx(0.9))
        assert self.tie(self.held(boards[2]), TUCK) == (ROCK, pytest.approx(0.8))

    def test_a_credit_above_one_is_held_whatever_a_class_allows(self):
        ways = self.held(self.block(
            Line("hollow rock", 9, options=(Option("long rock", credit=Fraction("1.3")),))
        ))  # fmt: skip
        assert self.tie(ways, Way("hollow rock", "long rock")) == (ROCK, pytest.approx(1.3))

    def test_a_tiny_credit_is_taken_as_a_twentieth(self):
        ways = self.held(self.block(
            Line("hollow rock", 9, options=(Option("breath", credit=Fraction("0.0001")),))
        ))  # fmt: skip
        assert self.tie(ways, Way("hollow rock", "breath"))[1] == pytest.approx(0.05)

    def test_an_own_load_of_an_option_is_tied_to_the_option(self):
        block = self.swing(kg(24), Option("single-arm swing", kg(16), Fraction("0.9")))
        own = Result(Caught(4), (Choice(0, 0, kg(8)),))
        ways = self.held(block, results=[(1, 1, own)])
        option = Way("swing", "single-arm swing", "16")
        assert self.tie(ways, option) == (Way("swing", load="24"), pytest.approx(0.9))
        assert self.tie(ways, Way("swing", "single-arm swing", "8")) == (
            option, pytest.approx(0.75),
        )  # fmt: skip

    def test_a_members_own_load_is_tied_by_the_load_rule(self):
        own = Result(Caught(4), (Choice(0, None, kg(12)),))
        got = gather(
            [Held(1, Course(Workout("One", (self.swing(kg(24)),), cap=60)), 1.0, [(1, 1, own)])],
            CreditTable(),
        )
        used = Way("swing", load="12")
        assert self.tie(got.ways, used) == (Way("swing", load="24"), pytest.approx(0.75))
        assert told(got) == [(60.0, used, {used: 4.5})]

    def test_a_load_offered_without_a_credit_goes_by_the_load_rule_against_the_root(self):
        block = self.swing(kg(24), Option("swing", kg(12)))
        assert self.tie(self.held(block), Way("swing", load="12")) == (
            Way("swing", load="24"), pytest.approx(0.75),
        )  # fmt: skip

    def test_pounds_are_told_in_kilograms(self):
        ways = self.held(self.swing(Load((Fraction(53),), "lb")))
        assert [way.load for way in ways.ways] == ["24"]


def test_the_order_of_classes_and_results_changes_no_byte():
    rng = random.Random(4)
    classes = []
    for key in range(6):
        course = COURSE_L if key % 2 else COURSE_M
        results = [
            (key * 100 + m, m, Result(Caught(rng.randrange(130)), SCALED if m % 3 else ()))
            for m in rng.sample(range(40), 12)
        ]
        classes.append(Held(key, course, float(key // 2), results))
    first = gather(classes, CreditTable())
    mixed = [
        Held(h.key, h.course, h.day, rng.sample(h.results, len(h.results)))
        for h in rng.sample(classes, len(classes))
    ]
    second = gather(mixed, CreditTable())
    assert first.ways.ways == second.ways.ways
    for name in ("members", "classes", "results"):
        assert getattr(first, name).tobytes() == getattr(second, name).tobytes()
    for name in ("member", "class_", "day", "result", "seconds", "stop"):
        assert getattr(first.rows, name).tobytes() == getattr(second.rows, name).tobytes()
    for name in ("data", "indices", "indptr"):
        one, other = (getattr(g.rows.counts, name) for g in (first, second))
        assert one.tobytes() == other.tobytes()


def test_results_are_in_the_order_of_members_days_and_classes():
    def held(key, day, *members):
        rows = [(key * 10 + m, m, Result(Caught(20 + m))) for m in members]
        return Held(key, COURSE_L, day, rows)

    got = gather([held(8, 2.0, 3, 1), held(5, 4.0, 1), held(9, 1.0), held(7, 2.0, 1)],
                 CreditTable())  # fmt: skip
    assert got.classes.tolist() == [7, 8, 5]  # 9 has no result
    assert got.members.tolist() == [1, 3]
    assert got.results.tolist() == [71, 81, 51, 83]
    assert got.rows.day.tolist() == [2.0, 2.0, 4.0, 2.0]
    assert got.rows.class_.tolist() == [0, 1, 2, 1]
    assert (got.rows.members, got.rows.classes) == (2, 3)
    assert np.all(np.diff(got.rows.result) >= 0)


def test_nothing_is_nothing():
    got = gather([], CreditTable())
    assert (len(got.ways), len(got.rows), got.rows.counts.shape) == (0, 0, (0, 0))
    got = of(COURSE_L)
    assert len(got.ways) == 9 and got.rows.counts.shape == (0, 9) and got.rows.members == 0


@st.composite
def reported(draw):
    """A course and a result that may be on it."""
    workout = draw(workouts())
    course = Course(workout)
    assume(course.lines)
    kinds = {block.block.kind for block in course.blocks}
    if BlockKind.INTERVALS in kinds:
        mark = IntervalReps(tuple(draw(st.lists(st.integers(0, 60), min_size=1, max_size=5))))
    elif course.total is not None and draw(st.booleans()):
        mark = Finished(Fraction(draw(st.integers(100, (course.limit or 60) * 100)), 100))
    else:
        mark = Caught(draw(st.integers(0, min(course.total or 5000, 5000))))
    try:
        check_mark(course, mark)
    except MarkError:
        assume(False)
    choices = []
    for line in course.lines:
        if line.line.options and draw(st.booleans()):
            choices.append(Choice(line.index, draw(st.integers(0, len(line.line.options) - 1))))
    return course, Result(mark, tuple(choices))


@given(reported())
def test_a_row_counts_the_reps_of_the_mark_and_half_of_one_under_way(case):
    course, result = case
    got = of(course, result)
    rows = got.rows
    assert got.left_out == 0
    if not len(rows.seconds):
        # A lift and the like, nobody who began, or rests as long as the clock ran.
        rests = sum(block.rest for block in course.blocks)
        assert got.silent or not reps_of(course, result.mark) or rests >= seconds_of(course, result)
        return
    # In units a rep differs from line to line: compare with the lines' own, by hand.
    [row] = rows.counts.toarray()
    raw, under_way = Fraction(0), None
    for course_set, done, is_last in walked(course, result.mark):
        raw += units(course_set.line, done)
        under_way = course_set.line if is_last else under_way
    if under_way is not None:
        raw += units(under_way) / 2
    assert row.sum() == pytest.approx(float(raw), rel=1e-12)
    assert (rows.stop[0] >= 0) == (under_way is not None)
    assert 0 < rows.seconds[0] <= (course.limit or 0)
    named = {choice.line: choice for choice in result.choices}
    if under_way is not None:
        way = got.ways.ways[rows.stop[0]]
        assert way.movement == under_way.line.movement
        if under_way.index not in named:
            assert not way.option


def seconds_of(course, result):
    mark = result.mark
    return mark.seconds if isinstance(mark, Finished) else course.limit


def walked(course, mark):
    """Sets begun, one after the other: reps done, and whether the clock stopped in it."""
    if isinstance(mark, IntervalReps):
        last = max((i for i, reps in enumerate(mark.reps) if reps), default=None)
        lines = len(course.lines)
        for number, reps in enumerate(mark.reps):
            left, stopped = reps, False
            for position, course_set in enumerate(course.sets[:lines]):
                done = min(left, course_set.reps)
                left -= done
                here = done < course_set.reps or position == lines - 1
                yield course_set, done, number == last and here and not stopped
                stopped = stopped or here
        return
    left, index = reps_of(course, mark), 0
    while left or isinstance(mark, Caught):
        course_set = course.set_at(index)
        done = min(left, course_set.reps)
        left -= done
        caught = isinstance(mark, Caught) and done < course_set.reps
        yield course_set, done, caught
        if caught:
            return
        index += 1
