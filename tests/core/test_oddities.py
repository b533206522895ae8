"""What a coach is asked about, and what not."""

from fractions import Fraction
from math import exp, log
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.credits import parse_choices
from scoring.core.marks import Finished, parse_mark
from scoring.core.oddities import (
    LEAST_BEFORE,
    Kind,
    all_out_at_first,
    oddities,
    too_fast,
    unlike_before,
)
from scoring.core.scoring import Result, parse_splits

from ..conftest import FOR_TIME, TWO_LADDERS

BELLS = """Short bells
every 1:00 for 5 rounds
10 kettlebell swing @ 16 kg
max burpee
"""


def fast(text, mark, options="", splits=""):
    course = Course(notation.parse(text).workout)
    return too_fast(
        course,
        Result(
            parse_mark(course, mark), parse_choices(course, options), parse_splits(course, splits)
        ),
    )


# Usual seconds: block 1 36 × 2.5 + 36 × 1.4 = 140.4, block 2 30 × 2.2 + 30 × 2.4 = 138, a
# round 4 × 2.4 + 8 × 2.2 + 12 × 2 = 51.2. Very quick is two fifths of that.
def test_a_mark_nobody_can_reach_in_the_time_is_asked_about():
    # 47 rounds: 0.4 × (278.4 + 2406.4) = 1073.9 s of the 1080; 48 rounds: 1094.4 s.
    assert fast(TWO_LADDERS, "47+0") == ""
    said = fast(TWO_LADDERS, "48+0")
    assert said == ("1284 reps in 18:00. Even somebody very quick needs about 18:15.")


def test_a_time_nobody_can_finish_in_is_asked_about():
    # 0.4 × 278.4 = 111.4 s
    assert fast(FOR_TIME, "1:52") == "" and "132 reps in 1:51." in fast(FOR_TIME, "1:51")


def test_a_split_is_looked_at_by_itself():
    # 0.4 × 140.4 = 56.2 s for block 1; 0.4 × 138 = 55.2 s for block 2.
    assert fast(TWO_LADDERS, "2+9", splits="block 1 4:10; block 2 8:00") == ""
    assert fast(TWO_LADDERS, "2+9", splits="block 1 0:56").startswith("Block 1: 72 reps in 0:56.")
    assert fast(TWO_LADDERS, "2+9", splits="block 1 4:10; block 2 4:30").startswith("Block 2: 60")
    assert fast(TWO_LADDERS, "2+9", splits="block 2 1:50").startswith("Blocks 1 to 2: 132 reps")
    # After block 2 at 17:50 ten seconds are left for 57 reps.
    assert fast(TWO_LADDERS, "2+9", splits="block 2 17:50").startswith("The rest: 57 reps in 0:10.")


def test_the_quickest_option_used_counts_for_its_whole_line():
    # With tuck rocks 0.4 × (90 + 46.8) = 54.7 s.
    assert fast(TWO_LADDERS, "2+9", splits="block 1 0:55") != ""
    assert fast(TWO_LADDERS, "2+9", "tuck rock", "block 1 0:55") == ""
    assert fast(TWO_LADDERS, "2+9", "tuck rock: 3", "block 1 0:55") == ""


def test_each_interval_has_its_own_minute():
    # 10 swings 7.2 s, a burpee 1.6 s: 33 burpees take 52.8 s, 34 take 54.4 s, more than a minute.
    assert fast(BELLS, "43 / 20 / 20") == ""
    assert fast(BELLS, "20 / 44 / 20").startswith("Interval 2: 44 reps in 1:00.")
    assert fast(BELLS, "120 reps") == ""  # which they were is not known


def test_what_is_not_known_is_not_judged():
    assert fast("Odd\ncap 1:00\n\n5 rounds\n100 garden wall vault\n", "0:01") == ""
    assert fast("Heavy\n\nmax load, 3 reps\nback squat\n", "900 kg") == ""


def test_a_hold_takes_as_long_as_it_is_and_a_metre_what_a_metre_takes():
    hold = "Hold\ncap 10:00\n\n4 rounds\nhold 0:30 plank\n"
    assert fast(hold, "2:00") == "" and fast(hold, "1:59") != ""
    run = "Run\ncap 30:00\n\n2 rounds\n400 m run, 40 m a rep\n"
    # 800 m × 0.3 s × 0.4 = 96 s
    assert fast(run, "1:36") == "" and fast(run, "1:35") != ""


shares = st.floats(0.2, 5)
pasts = st.lists(st.floats(0.8, 1.25), min_size=LEAST_BEFORE, max_size=15)


def test_far_from_ones_own_history_is_asked_with_the_figures():
    past = [0.9, 0.95, 0.97, 1.0, 1.04, 0.96]
    # The spread is the least, 10 %: exp(±0.35) of the middle 0.965 is 0.680 to 1.369.
    assert unlike_before(1.36, past) == "" and unlike_before(0.69, past) == ""
    assert unlike_before(1.38, past) == (
        "138 % of the class's middle pace. In their last 6 results it was 96 % in the middle, "
        "from 90 % to 104 %."
    )
    assert unlike_before(0.67, past) != ""


def test_whoever_varies_much_is_asked_later():
    # Middle 1; distances in logarithms 0.405, 0.223, 0, 0.223, 0.405: median 0.223, the
    # spread 0.331, far from 3.19 times or under 0.31.
    past = [1 / 1.5, 0.8, 1.0, 1.25, 1.5]
    assert unlike_before(3.1, past) == "" and unlike_before(3.3, past) != ""


@given(shares, st.lists(shares, max_size=LEAST_BEFORE - 1))
def test_a_short_history_asks_nothing(share, past):
    assert unlike_before(share, past) == ""


@given(pasts, st.floats(0.2, 5))
def test_twice_and_half_as_fast_are_equally_far(past, factor):
    middle = exp(median(map(log, past)))
    up, down = unlike_before(middle * factor, past), unlike_before(middle / factor, past)
    assert bool(up) == bool(down)


@given(pasts, st.floats(0.2, 5))
def test_the_order_of_the_history_does_not_matter(past, share):
    assert unlike_before(share, past) == unlike_before(share, past[::-1])


@given(pasts)
def test_one_of_ones_own_is_asked_about_only_if_it_was_far_itself(past):
    middle = sorted(past)[len(past) // 2]
    assert unlike_before(middle, past) == ""


@given(st.lists(st.floats(0.95, 1.05), min_size=6, max_size=12), st.floats(0.01, 100))
def test_one_bad_day_in_the_history_neither_hides_nor_makes_a_question(past, bad):
    assert unlike_before(1.0, [*past, bad]) == "" and unlike_before(2.0, [*past, bad]) != ""


@pytest.mark.parametrize("share", [None, 0, -1])
def test_without_a_pace_there_is_nothing_to_compare(share):
    assert unlike_before(share, [1.0] * 9) == ""


@pytest.mark.parametrize(
    ("effort", "is_first", "asked"),
    [(10, True, True), (10, False, False), (9, True, False), (None, True, False)],
)
def test_all_out_in_a_first_class_is_asked_about_with_care(effort, is_first, asked):
    said = all_out_at_first(effort, is_first=is_first)
    assert bool(said) is asked and ("doctor" in said) is asked


def test_every_question_of_a_result_is_asked_in_one_order():
    course = Course(notation.parse(FOR_TIME).workout)
    found = oddities(
        course,
        Result(parse_mark(course, "1:00")),
        effort=10,
        is_first=True,
        share=9.0,
        before=[1.0] * 5,
    )
    assert [each.kind for each in found] == [Kind.FAST, Kind.UNLIKE, Kind.ALL_OUT]
    assert oddities(course, Result(parse_mark(course, "12:00"))) == ()


@given(st.integers(1, 900))
def test_slower_is_never_faster(seconds):
    """If a time is asked about, so is every shorter one."""
    course = Course(notation.parse(FOR_TIME).workout)

    def asked(time):
        return bool(too_fast(course, Result(Finished(Fraction(time)))))

    if asked(seconds):
        assert asked(max(1, seconds - 1))
