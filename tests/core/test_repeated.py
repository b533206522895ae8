"""Scoring many results by what they share gives what scoring each by itself gives."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation, repeated
from scoring.core.course import Course
from scoring.core.credits import CreditTable, parse_choices
from scoring.core.marks import Caught, mark_text, parse_mark
from scoring.core.repeated import Repeated
from scoring.core.scoring import Result, Rules, ScoringError, parse_splits, score

from ..conftest import FOR_TIME, TWO_LADDERS

COURSE = Course(notation.parse(TWO_LADDERS).workout)
OPTIONS = ("", "tuck rock", "knee push-up; tuck rock", "goblet squat @ 12 kg", "tuck rock: 3")
TABLES = (CreditTable(), CreditTable(load_floor=Fraction(1, 10), load_slope=Fraction(9, 10)))


def splits_of(raw, first, second):
    found = [f"block 1 {first // 60}:{first % 60:02d}"] if raw >= COURSE.block_end(1) else []
    if raw >= COURSE.block_end(2):
        found.append(f"block 2 {second // 60}:{second % 60:02d}.50")
    return "; ".join(found)


results = st.tuples(
    st.integers(40, 400), st.sampled_from(OPTIONS), st.booleans(),
    st.integers(60, 400), st.integers(500, 1000),
)  # fmt: skip


@given(
    st.lists(results, min_size=1, max_size=20),
    st.sampled_from([None, 1, 2]),
    st.sampled_from(TABLES),
)
def test_every_result_scores_as_it_does_alone(drawn, tie_break, table):
    rules = Rules(table=table, tie_break_block=tie_break)
    scoring = Repeated(COURSE, rules)
    for raw, options, has_splits, first, second in drawn:
        mark = mark_text(COURSE, Caught(raw))
        splits = splits_of(raw, first, second) if has_splits else ""
        alone = score(
            COURSE,
            Result(
                parse_mark(COURSE, mark),
                parse_choices(COURSE, options),
                parse_splits(COURSE, splits),
            ),
            rules,
        )
        found, tie_key = scoring(mark, options, splits)
        assert tie_key == alone.tie_key
        assert (found.key, found.credited, found.adjusted, found.portions) == (
            alone.key, alone.credited, alone.adjusted, alone.portions,
        )  # fmt: skip


@pytest.mark.parametrize(
    "splits",
    [
        "block 1 20:00",  # past the cap
        "block 2 4:00; block 1 5:00",  # the second before the first
        "block 1 5:00; block 2 5:00",
        "block 1 4:00; block 2 5:00; block 3 6:00",  # an AMRAP has no end
        "block 9 4:00",
    ],
)
def test_splits_that_cannot_be_are_refused_in_the_same_words(splits):
    def alone():
        mark = parse_mark(COURSE, "2+9")
        score(COURSE, Result(mark, (), parse_splits(COURSE, splits)), Rules())

    with pytest.raises(ScoringError) as one:
        alone()
    with pytest.raises(ScoringError) as many:
        Repeated(COURSE, Rules())("2+9", "", splits)
    assert (many.value.problem, many.value.suggestion) == (one.value.problem, one.value.suggestion)


def test_splits_written_otherwise_are_read_all_the_same():
    scoring = Repeated(COURSE, Rules(tie_break_block=2))
    assert (
        scoring("2+9", "", "4:10; 9:55")[1] == scoring("2+9", "", "block 1 4:10; block 2 9:55")[1]
    )


def test_what_many_share_is_scored_once_and_only_so_much_is_kept(monkeypatch):
    asked = []

    def counting(*args):
        asked.append(args)
        return score(*args)

    scoring = Repeated(COURSE, Rules(), counting)
    for _ in range(3):
        scoring("2+9", "", ""), scoring("2+9", "tuck rock", ""), scoring("2+9", "", "block 1 4:00")
    assert len(asked) == 2
    monkeypatch.setattr(repeated, "MOST", 2)
    for number in range(10):
        scoring(f"{number}+0", "", "")
    assert len(scoring._kept) <= 2


def test_a_course_for_time_too():
    course = Course(notation.parse(FOR_TIME).workout)
    for mark in ("12:00", "13:30", "125 reps"):
        alone = score(course, Result(parse_mark(course, mark)), Rules())
        assert Repeated(course, Rules())(mark, "", "") == (alone, alone.tie_key)
