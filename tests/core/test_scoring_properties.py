"""What must hold of every result on every course."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.credits import Choice, CreditTable
from scoring.core.marks import Caught, Finished, Lifted
from scoring.core.ranking import NO_SPLIT, Entry, competition_ranks, ordered
from scoring.core.scoring import (
    Result,
    Rules,
    ScoringError,
    parse_splits,
    score,
    splits_text,
)

from .boards import COURSE_L, COURSE_LOAD, COURSE_M

SCALED = (Choice(1, 0), Choice(3, 0))
marks_m = st.one_of(
    st.integers(0, 131).map(Caught),
    st.integers(1_00, 840_00).map(lambda n: Finished(Fraction(n, 100))),
)
marks_l = st.integers(0, 900).map(Caught)


def entry(course, result, rules=None, name=""):
    got = score(course, result, rules or Rules())
    return Entry(got.key, got.tie_key, name)


@given(marks_l, st.integers(1, 200), st.booleans())
def test_more_reps_never_rank_lower(mark, more, is_scaled):
    choices = SCALED if is_scaled else ()
    less = entry(COURSE_L, Result(mark, choices))
    better = entry(COURSE_L, Result(Caught(mark.reps + more), choices))
    assert better.key > less.key


@given(st.lists(marks_m, min_size=2, max_size=12))
def test_as_prescribed_the_order_is_finishers_by_time_then_reps(marks):
    def trade(mark):
        return (0, mark.seconds) if isinstance(mark, Finished) else (1, -mark.reps)

    entries = [entry(COURSE_M, Result(mark), name=str(i)) for i, mark in enumerate(marks)]
    keys = [trade(mark) for mark in marks]
    expected = [1 + sum(other < key for other in keys) for key in keys]
    assert competition_ranks(entries) == expected


@given(marks_m)
def test_credits_of_one_change_nothing(mark):
    table = CreditTable(options={}, default_option=Fraction(1))
    workout = COURSE_M.workout
    blocks = tuple(
        replace(b, lines=tuple(replace(ln, options=tuple(replace(o, credit=Fraction(1)) for o in ln.options)) for ln in b.lines))
        for b in workout.blocks
    )  # fmt: skip
    course = type(COURSE_M)(replace(workout, blocks=blocks))
    plain = score(course, Result(mark), Rules(table))
    optioned = score(course, Result(mark, SCALED), Rules(table))
    assert (plain.key, plain.adjusted) == (optioned.key, optioned.adjusted)


@given(
    st.permutations(
        [Entry(5, 0, "a"), Entry(5, 0, "b"), Entry(7, 1, "c"), Entry(7, 0, "d"), Entry(1, 0, "e")]
    )
)
def test_the_order_of_input_is_irrelevant(entries):
    assert [e.name for e in ordered(entries)] == ["d", "c", "a", "b", "e"]
    by_name = dict(zip((e.name for e in entries), competition_ranks(entries), strict=True))
    assert by_name == {"d": 1, "c": 2, "a": 3, "b": 3, "e": 5}


@given(marks_m)
def test_an_adjusted_mark_as_prescribed_is_the_mark_itself(mark):
    got = score(COURSE_M, Result(mark), Rules())
    if isinstance(mark, Finished):
        assert got.adjusted.seconds == mark.seconds
    else:
        assert got.adjusted.reps == mark.reps
        assert got.adjusted.text == COURSE_M.describe(COURSE_M.place(mark.reps))


@given(marks_m)
def test_scaling_never_lifts_a_mark_and_an_adjusted_mark_scores_the_same(mark):
    plain = score(COURSE_M, Result(mark), Rules())
    scaled = score(COURSE_M, Result(mark, SCALED), Rules())
    assert scaled.key <= plain.key
    if scaled.adjusted.seconds is not None:
        assert Fraction(132) / scaled.adjusted.seconds == scaled.performance
    else:
        assert scaled.adjusted.reps == scaled.performance * 840


@given(marks_m)
def test_as_prescribed_means_every_rep_done_was(mark):
    got = score(COURSE_M, Result(mark, (Choice(3, 0),)), Rules())
    reached = isinstance(mark, Finished) or mark.reps > 72 + 14
    assert got.as_prescribed is not reached


def test_the_named_split_breaks_a_tie():
    rules = Rules(tie_break_block=1)
    early = entry(COURSE_L, Result(Caught(100), splits={1: Fraction(200)}), rules)
    late = entry(COURSE_L, Result(Caught(100), splits={1: Fraction(201)}), rules)
    none = entry(COURSE_L, Result(Caught(100)), rules)
    assert early.key == late.key == none.key
    assert early.tie_key < late.tie_key < none.tie_key == NO_SPLIT


@pytest.mark.parametrize(
    ("mark", "splits", "problem"),
    [
        (Caught(50), {1: 200}, "not reached"),
        (Caught(140), {1: 500, 2: 400}, "cannot be right"),
        (Caught(140), {1: 2000}, "cannot be right"),
        (Caught(140), {3: 900}, "no end"),
        (Caught(140), {7: 900}, "3 blocks"),
    ],
)
def test_splits_that_cannot_be_are_refused(mark, splits, problem):
    with pytest.raises(ScoringError, match=problem) as error:
        score(COURSE_L, Result(mark, (), {k: Fraction(v) for k, v in splits.items()}), Rules())
    assert error.value.column == "splits" and error.value.suggestion


def test_splits_are_written_in_order_or_by_block():
    assert parse_splits(COURSE_L, "4:10; 9:55") == {1: 250, 2: 595}
    assert parse_splits(COURSE_L, "block 2 9:55.5") == {2: Fraction("595.5")}
    assert parse_splits(COURSE_L, splits_text({1: Fraction("250.25")})) == {1: Fraction("250.25")}
    for bad in ("soon", "block x 4:10", "9 4:10", "1 2 3"):
        with pytest.raises(ScoringError):
            parse_splits(COURSE_L, bad)


def test_with_the_same_load_more_reps_stand_first():
    heavy = entry(COURSE_LOAD, Result(Lifted(Fraction(80), "kg", 3)))
    fewer = entry(COURSE_LOAD, Result(Lifted(Fraction(80), "kg", 2)))
    heavier = entry(COURSE_LOAD, Result(Lifted(Fraction("80.001"), "kg", 1)))
    assert competition_ranks([heavy, fewer, heavier]) == [2, 3, 1]
    # 45.359237 kg is 100 lb exactly, so the two tie (24 FR 5348, 1959)
    pounds = entry(COURSE_LOAD, Result(Lifted(Fraction(100), "lb", 3)))
    kilos = score(COURSE_LOAD, Result(Lifted(Fraction("45.359"), "kg", 3)), Rules())
    assert pounds.key == 45359237 * 10**9 and kilos.key < pounds.key


def test_a_time_no_body_could_do_is_refused():
    with pytest.raises(ScoringError, match="cannot be right"):
        score(COURSE_M, Result(Finished(Fraction(1, 100))), Rules())
