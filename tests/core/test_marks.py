"""Marks as text: what is understood, and what is said of the rest."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.marks import (
    Caught,
    Finished,
    IntervalReps,
    Lifted,
    MarkError,
    mark_text,
    parse_clock,
    parse_mark,
)

from .boards import COURSE_AMRAP, COURSE_INTERVALS, COURSE_L, COURSE_LOAD, COURSE_M, COURSES


@pytest.mark.parametrize(
    ("course", "text", "mark"),
    [
        ("L", "2+9", Caught(189)),
        ("L", " 2 + 9 ", Caught(189)),
        ("L", "2 rounds + 9 reps", Caught(189)),
        ("L", "2 rounds", Caught(180)),
        ("L", "189 reps", Caught(189)),
        ("L", "block 2 / 10 / hand-release push-up / 6", Caught(116)),
        ("L", "2/10/Hand-Release Push-Up/6", Caught(116)),
        ("L", "2 / 10 / hand release push ups / 6", Caught(116)),
        ("L", "1 / 18 / hollow rocks / 3", Caught(21)),
        ("M", "12:34", Finished(Fraction(754))),
        ("M", "12:34.56", Finished(Fraction("754.56"))),
        ("intervals", "20 / 18 / 17", IntervalReps((20, 18, 17))),
        ("intervals", "55 reps", Caught(55)),
        ("load", "82.5 kg", Lifted(Fraction("82.5"), "kg", 3)),
        ("load", "185 lb x 2", Lifted(Fraction(185), "lb", 2)),
        ("rounds", "2+3", Caught(25)),
    ],
)
def test_marks_are_read(course, text, mark):
    assert parse_mark(COURSES[course], text) == mark


@pytest.mark.parametrize(
    ("course", "text", "problem"),
    [
        ("L", "", "no mark"),
        ("L", "banana", "not a mark"),
        ("L", "2+24", "round has 24 reps"),
        ("L", "12:34", "AMRAP has no finishing time"),
        ("L", "block 2 / 10 / hand-release push-up / 11", "10 reps of hand-release push-up"),
        ("L", "block 2 / 11 / hand-release push-up / 1", "no rung of 11"),
        ("L", "block 2 / 10 / knee pushup / 1", "no 'knee pushup'"),
        ("L", "block 9 / 10 / x / 1", "no 9"),
        ("L", "9999999 reps", "cannot be right"),
        ("L", "82 kg", "does not belong"),
        ("M", "14:01", "past the cap of 14:00"),
        ("M", "133 reps", "whole course has 132 reps"),
        ("M", "132 reps", "finished it"),
        ("M", "2+9", "no AMRAP"),
        ("M", "12:99", "not a time"),
        ("M", "0:00", "more than 0"),
        ("intervals", "1/2/3/4", "3 intervals"),
        ("intervals", "12:00", "by reps"),
        ("load", "12 reps", "does not belong"),
        ("load", "80 kg x 4", "asks for 3 reps"),
        ("load", "0 kg", "more than 0"),
        ("L", "9" * 300, "too long"),
    ],
)
def test_impossible_marks_say_why_and_what_would_be_right(course, text, problem):
    with pytest.raises(MarkError, match=problem) as error:
        parse_mark(COURSES[course], text)
    assert error.value.suggestion


@given(raw=st.integers(0, 2000), name=st.sampled_from(["L", "M", "rounds", "amrap", "intervals"]))
def test_a_printed_mark_reads_back_as_itself(raw, name):
    course = COURSES[name]
    if course.total is not None:
        raw = min(raw, course.total - 1)
    mark = Caught(raw)
    assert parse_mark(course, mark_text(course, mark)) == mark


@given(st.integers(1, 14 * 60 * 100))
def test_a_finishing_time_reads_back_to_the_hundredth(hundredths):
    mark = Finished(Fraction(hundredths, 100))
    assert parse_mark(COURSE_M, mark_text(COURSE_M, mark)) == mark


@given(st.lists(st.integers(0, 60), min_size=1, max_size=3))
def test_interval_reps_read_back(reps):
    mark = IntervalReps(tuple(reps))
    assert parse_mark(COURSE_INTERVALS, mark_text(COURSE_INTERVALS, mark)) == mark


@given(st.integers(1, 1_000_000), st.sampled_from(["kg", "lb"]), st.integers(1, 3))
def test_lifts_read_back(thousandths, unit, reps):
    mark = Lifted(Fraction(thousandths, 1000), unit, reps)
    assert parse_mark(COURSE_LOAD, mark_text(COURSE_LOAD, mark)) == mark


@given(st.text(max_size=60))
def test_no_text_breaks_the_reader(text):
    for course in (COURSE_L, COURSE_M, COURSE_AMRAP, COURSE_INTERVALS, COURSE_LOAD):
        try:
            parse_mark(course, text)
        except MarkError as error:
            assert error.problem and error.suggestion


def test_a_third_decimal_of_a_second_is_cut_off_not_rounded():
    # the declared resolution decides ties: swimming rule SW 11.2 (World Aquatics)
    assert parse_clock("1:02.349") == parse_clock("1:02.34") == Fraction("62.34")


@pytest.mark.parametrize(
    ("text", "seconds"), [("15:00", 900), ("1:30:00", 5400), ("14:59.5", "899.5")]
)
def test_clock_texts_mean_what_iso_8601_durations_of_the_same_length_mean(text, seconds):
    # PT15M = 900 s, PT1H30M = 5400 s, PT14M59.5S = 899.5 s: ISO 8601-1:2019
    assert parse_clock(text) == Fraction(seconds)
