"""Where a class stopped, counted out by hand on the two courses of the worked examples."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.credits import CreditTable, parse_choices, portions
from scoring.core.crowd import (
    QUARTERS,
    at_share,
    by_order,
    intervals,
    most_stopped,
    place_words,
    quarters,
    stop_of,
    stopped_in,
)
from scoring.core.marks import parse_mark
from scoring.core.passed import Splits, ends, passed
from scoring.core.scoring import line_counts
from scoring.core.used import used

from ..conftest import FOR_TIME, TWO_LADDERS

TIDE = Course(notation.parse(TWO_LADDERS).workout)
TIMED = Course(notation.parse(FOR_TIME).workout)
BELLS = Course(notation.parse("Bells\nevery 1:00 for 3 rounds\n5 air squat\nmax burpee").workout)
LIFT = Course(notation.parse("Heavy\nmax load, 3 reps\ndeadlift").workout)


def crowd(course, *marks):
    return [
        stop_of(course, parse_mark(course, mark), id=number, prescribed=True)
        for number, mark in enumerate(marks)
    ]


def test_the_nearest_rank_is_somebodys_own_figure():
    # ceil(¼ × 5) = 2nd, ceil(½ × 5) = 3rd, ceil(¾ × 5) = 4th; of four: the 1st, 2nd, 3rd.
    assert quarters([10, 20, 30, 40, 50]) == (20, 30, 40)
    assert quarters([10, 20, 30, 40]) == (10, 20, 30)
    assert quarters([7]) == (7, 7, 7)
    assert quarters([]) is None
    with pytest.raises(ValueError, match="share"):
        at_share([], Fraction(1, 2))


@given(st.lists(st.integers(), min_size=1), st.sampled_from(QUARTERS))
def test_at_least_the_share_lies_up_to_it_and_at_least_the_rest_from_it_on(values, share):
    ordered = sorted(values)
    at = at_share(ordered, share)
    assert sum(v <= at for v in values) >= share * len(values)
    assert sum(v >= at for v in values) >= (1 - share) * len(values)


def test_finishers_stand_behind_everybody_caught_the_fastest_last():
    stops = crowd(TIMED, "12:00", "131 reps", "0 reps", "13:30")
    assert [place_words(TIMED, s) for s in by_order(stops)] == [
        "block 1, rung of 18, 0 goblet squat done",
        "block 2, rung of 6, 5 hand-release push-up done",
        "13:30",
        "12:00",
    ]


def test_each_set_counts_who_stopped_in_it_and_how_many_got_no_further():
    # 18 reps are the first set whole, so the place is the start of the second.
    rows = stopped_in(TIMED, crowd(TIMED, "17 reps", "18 reps", "20 reps", "12:00"))
    assert [(r.where, r.movement, r.count, r.by_here) for r in rows] == [
        ("block 1, rung of 18", "18 goblet squat", 1, Fraction(1, 4)),
        ("block 1, rung of 18", "18 hollow rock", 2, Fraction(3, 4)),
        ("finished", "", 1, Fraction(1)),
    ]
    assert most_stopped(rows).movement == "18 hollow rock"
    assert sum(r.share for r in rows) == 1


def test_rounds_of_an_amrap_are_rows_of_their_own():
    rows = stopped_in(TIDE, crowd(TIDE, "2+9", "2+5", "0+0", "2+4"))
    # A round is 4 push press, 8 reverse lunge, 12 sit-up: 4 to 11 reps into it are lunges.
    assert [(r.where, r.movement, r.count) for r in rows] == [
        ("block 3, round 1", "4 push press", 1),
        ("block 3, round 3", "8 reverse lunge", 3),
    ]


def test_no_set_stopped_most_where_each_stopped_one_or_all_finished():
    assert most_stopped(stopped_in(TIMED, crowd(TIMED, "17 reps", "30 reps", "12:00"))) is None
    assert most_stopped(stopped_in(TIMED, crowd(TIMED, "11:00", "12:00"))) is None
    assert stopped_in(TIMED, []) == []


def test_intervals_and_lifts_have_no_places_but_figures():
    assert stopped_in(BELLS, crowd(BELLS, "20 / 18 / 17")) == []
    assert place_words(BELLS, crowd(BELLS, "20 / 18 / 17")[0]) == "55 reps"
    assert place_words(LIFT, crowd(LIFT, "100 lb")[0]) == "45.36 kg"
    marks = [parse_mark(BELLS, m) for m in ("20 / 18 / 17", "10 / 9", "15 / 15 / 15", "40 reps")]
    # The total alone tells no interval; the one who stopped after two did 0 in the third.
    assert [(i.number, i.count, i.low, i.middle, i.high) for i in intervals(marks)] == [
        (1, 3, 10, 15, 20),
        (2, 3, 9, 15, 18),
        (3, 3, 0, 15, 17),
    ]


def ways(course, *results):
    done = []
    for number, (mark, options) in enumerate(results):
        read = parse_mark(course, mark)
        parts = portions(
            course, line_counts(course, read), parse_choices(course, options), CreditTable()
        )
        is_rx = all(p.prescribed for p in parts)
        done.append((stop_of(course, read, id=number, prescribed=is_rx), parts))
    return used(course, done)


def test_ways_are_counted_among_those_who_got_to_the_movement():
    found = ways(
        TIMED,
        ("12:00", ""),
        ("13:00", "tuck rock"),
        ("30 reps", "tuck rock: 4"),
        ("10 reps", ""),
    )
    squat, rock, row, push = found
    assert (squat.there, rock.there, row.there, push.there) == (4, 3, 2, 2)
    assert [(w.label, w.count, w.share) for w in squat.ways] == [("goblet squat", 4, 1)]
    # Of three who rocked, one changed in the middle and counts to both ways.
    assert [(w.label, w.prescribed, w.count, w.share, w.reps) for w in rock.ways] == [
        ("hollow rock", True, 2, Fraction(2, 3), 36 + 8),
        ("tuck rock", False, 2, Fraction(2, 3), 36 + 4),
    ]
    assert rock.ways[1].credit == Fraction(3, 4)
    # Half of the two who rocked tucked: the less far of them, caught at 30 reps.
    assert rock.ways[1].median == "block 1, rung of 18, 12 hollow rock done"


def test_nobody_at_a_movement_is_no_way_of_doing_it():
    assert all(line.there == 0 and line.ways == () for line in ways(TIMED))


def member(number, split, pace, reps=132):
    splits = {} if split is None else {1: Fraction(split)}
    return Splits(number, reps, splits, Fraction(pace))


def test_a_block_is_told_by_those_who_noted_when_they_passed_it():
    members = [
        member(1, 300, 1),
        member(2, 360, 1),
        member(3, None, 1),
        member(4, None, 1, reps=71),
    ]
    (row,) = passed(TIMED, members, {1: Fraction(330)})
    assert (row.block, row.passed, row.noted) == (1, 3, 2)
    assert row.quarters == (300, 300, 360) and row.reference == 330
    assert row.slow == ()  # two clocks single nobody out


def test_a_block_that_cost_somebody_more_than_the_rest_is_told():
    # Five alike but for the last, who took 390 s where the middle is 300 s, at the same pace
    # over all: 390/300 × 1/1 − 1 = 0.3 more. The fourth is slow everywhere, at half the pace
    # and twice the time: 600/300 × 0.5 − 1 = 0.
    paces = [(300, 1), (300, 1), (300, 1), (600, Fraction(1, 2)), (390, 1)]
    members = [member(i, split, pace) for i, (split, pace) in enumerate(paces)]
    (row,) = passed(TIMED, members, {1: Fraction(330)})
    assert [(slow.id, slow.more) for slow in row.slow] == [(4, Fraction(3, 10))]


def test_only_blocks_that_end_before_the_course_does_are_passed():
    assert (ends(TIMED), ends(TIDE), ends(BELLS), ends(LIFT)) == ([1], [1, 2], [], [])
