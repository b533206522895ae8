"""What a colleague would say of a plan: the numbers by hand, and nothing without numbers."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core import notation
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.remarks import (
    About,
    Kind,
    Past,
    Worked,
    cap_remarks,
    compare,
    new_here,
    no_credit,
    no_easier_option,
    pattern_again,
    times,
    volume_jump,
)
from scoring.core.totals import asked, pattern_seconds

from ..conftest import FOR_TIME, TWO_LADDERS
from .strategies import workouts


def read(text):
    workout = notation.parse(text).workout
    return workout, Course(workout)


def seconds(**patterns):
    return {name: Fraction(value) for name, value in patterns.items()}


# --- volume -----------------------------------------------------------------


def test_a_hundred_and_fifty_pull_ups_for_people_who_average_forty():
    # Averages 30 and 50, so 40 in the middle: 150 is 3.75 times that, 5 and 3 times their own.
    past = [Past("Ana", (20, 40)), Past("Ben", (50,))]
    found = compare("pull-up", 150, past)
    assert (found.members, found.average, found.ratio) == (2, 40, Fraction(15, 4))
    assert found.beyond == (("Ana", 5), ("Ben", 3))
    (remark,) = volume_jump(found)
    assert remark.about is About.VOLUME and remark.kind is Kind.CAUTION
    assert remark.what == "150 pull-up is 3.8 times the average of 40 a class here."
    assert "2 members" in remark.why and "Ana (5 times), Ben (3 times)" in remark.why
    assert "few people" in remark.why
    assert "Dark urine" in remark.words and "doctor" in remark.words and "licensed" in remark.words


def test_without_results_nothing_is_said_of_volume():
    assert compare("pull-up", 150, []) is None
    assert compare("pull-up", 150, [Past("Ana", ())]) is None


def test_what_most_have_done_before_is_no_jump():
    past = [Past("Ana", (36, 20)), Past("Ben", (36,)), Past("Cleo", (10,))]
    found = compare("goblet squat", 36, past)
    # More than the average of 24.7, but only Cleo goes beyond what she ever did.
    assert found.ratio > 1 and found.beyond == (("Cleo", Fraction(36, 10)),)
    assert volume_jump(found) == []


def test_only_the_highest_are_named():
    past = [Past(f"Member {n:02}", (n,)) for n in range(1, 13)]
    (remark,) = volume_jump(compare("burpee", 100, past))
    assert "Member 01 (100 times)" in remark.why and "Member 05" in remark.why
    assert "Member 06" not in remark.why and "and 7 more" in remark.why
    assert "few people" not in remark.why


@given(
    st.integers(1, 500),
    st.lists(st.lists(st.integers(1, 300), min_size=1, max_size=5), min_size=1, max_size=12),
)
def test_who_would_go_beyond_their_most_is_who_never_did_so_many(planned, done):
    past = [Past(f"m{n}", tuple(reps)) for n, reps in enumerate(done)]
    found = compare("burpee", planned, past)
    assert {name for name, _ in found.beyond} == {p.name for p in past if max(p.reps) < planned}
    ratios = [ratio for _, ratio in found.beyond]
    assert ratios == sorted(ratios, reverse=True) and all(ratio > 1 for ratio in ratios)
    assert bool(volume_jump(found)) == (2 * len(ratios) >= len(past))
    # The order in which members are listed changes nothing.
    assert compare("burpee", planned, past[::-1]) == found


def test_a_movement_nobody_did_lately_is_new_and_among_few_classes_nothing_is():
    planned = {"pull-up": 45, "sit-up": 60, "box jump": 0}
    (remark,) = new_here(planned, {"sit-up"}, 36)
    assert (
        remark.what == "pull-up is new here." and "last 36 classes: pull-up (45 reps)" in remark.why
    )
    assert "Dark urine" in remark.words
    assert new_here(planned, {"sit-up", "pull-up"}, 36) == []
    assert new_here(planned, {"sit-up"}, 5) == []


# --- pattern ----------------------------------------------------------------


def test_the_same_pattern_for_the_third_class_running():
    before = [
        Worked("Tuesday", seconds(squat=300, push=100)),
        Worked("Sunday", seconds(squat=250, pull=200)),
        Worked("Friday", seconds(pull=200, squat=190)),
    ]
    (remark,) = pattern_again(seconds(squat=60, core=40), before)
    assert remark.about is About.PATTERN and "squat for the third class running" in remark.what
    # 60 of 100, 300 of 400, 250 of 450 (55.6).
    assert "60 % here" in remark.why
    assert "Tuesday: 75 %; Sunday: 56 %" in remark.why and "Friday" not in remark.why
    assert "core" in remark.mend


@pytest.mark.parametrize(
    ("planned", "before"),
    [
        (seconds(squat=60), [seconds(squat=1)]),  # the second class only
        (seconds(squat=60), [seconds(squat=1), seconds(pull=1), seconds(squat=1)]),  # not running
        (seconds(pull=60, squat=59), [seconds(squat=1), seconds(squat=1)]),  # another one today
        ({}, [seconds(squat=1), seconds(squat=1)]),  # nothing planned
        (seconds(squat=0), [seconds(squat=1), seconds(squat=1)]),
    ],
)
def test_two_in_a_row_or_a_break_is_nothing_to_remark(planned, before):
    assert pattern_again(planned, [Worked("x", each) for each in before]) == []


# --- options and credits ------------------------------------------------------


def test_movements_without_an_easier_option_are_named_with_one_to_write():
    _, course = read(FOR_TIME)
    (remark,) = no_easier_option(course)
    assert "2 movements" in remark.what and "goblet squat, single-arm row" in remark.why
    assert "hollow rock" not in remark.why  # it has its tuck rock
    assert remark.mend == "Write “or air squat” below goblet squat."


def test_an_easy_movement_needs_no_easier_one_and_an_own_one_does():
    _, course = read("Own\ncap 5:00\n\n3 rounds\n10 sofa shuffle\n")
    assert "sofa shuffle has no easier option" in no_easier_option(course)[0].what
    _, course = read("Easy\ncap 5:00\n\n3 rounds\n10 assisted lunge\n")
    assert no_easier_option(course) == []


def test_an_option_without_a_credit_is_told_with_what_it_counts_meanwhile():
    _, course = read(FOR_TIME.replace("knee push-up, credit 0.7", "knee push-up"))
    (remark,) = no_credit(course, CreditTable())
    assert remark.what == "knee push-up has no credit."
    assert "0.8, the usual figure" in remark.why and "“or knee push-up, credit 0.8”" in remark.mend
    table = CreditTable(options={("hand-release push-up", "knee push-up"): Fraction(7, 10)})
    assert no_credit(course, table) == []
    # A lighter load has the load rule.
    _, course = read(FOR_TIME.replace("goblet squat @ 20 kg", "goblet squat @ 20 kg\n  or @ 12 kg"))
    assert no_credit(course, CreditTable()) == []


# --- the cap ------------------------------------------------------------------


def capped(cap, rest=""):
    """Sixty reps of an own movement, three seconds each: three minutes of work."""
    return read(f"Cap\ncap {cap}\n\n3 rounds\n20 sofa shuffle\n{rest}")[0]


@pytest.mark.parametrize(
    ("cap", "said"),
    [
        ("2:59", "does not fit into the cap of 2:59"),
        ("3:00", None),
        ("6:00", None),
        ("6:01", "does not fill the cap of 6:01"),
    ],
)
def test_a_cap_the_work_cannot_fit_or_fill(cap, said):
    remarks = cap_remarks(capped(cap))
    assert [said in r.what for r in remarks] == ([True] if said else [])


def test_the_numbers_of_a_cap():
    (remark,) = cap_remarks(capped("2:00"))
    # 120 s are 40 reps: two rounds of twenty.
    assert "about 3:00" in remark.why and "round 3, 0 sofa shuffle done" in remark.why
    assert "A cap of 3:00" in remark.mend


def test_a_group_that_needs_the_time_fills_the_cap():
    assert cap_remarks(capped("8:00"))
    # At half the usual speed the three minutes are six of eight.
    assert cap_remarks(capped("8:00"), Fraction(1, 2)) == []


@pytest.mark.parametrize(
    ("cap", "said"),
    [("2:00", "is not reached"), ("3:20", "Not one whole round"), ("3:30", None)],
)
def test_an_amrap_that_is_not_reached_or_has_no_round(cap, said):
    # Three minutes before it, a round of thirty seconds.
    remarks = cap_remarks(capped(cap, "\namrap in the time left\n10 wall vault\n"))
    assert [said in r.what for r in remarks] == ([True] if said else [])


def test_an_interval_too_short_for_its_work():
    text = "Bells\n\nevery 0:20 for 10 rounds\n8 sofa shuffle\n"
    (remark,) = cap_remarks(read(text)[0])
    # 24 s of work; shown to the nearest ten seconds, mended to the next ten.
    assert "interval of 0:20" in remark.what and "Intervals of 0:30" in remark.mend
    assert cap_remarks(read(text.replace("0:20", "0:24"))[0]) == []


@given(workouts(), st.none() | st.fractions(Fraction(1, 10), Fraction(2)))
def test_every_workout_can_be_remarked_on(workout, speed):
    course = Course(workout)
    remarks = [
        *cap_remarks(workout, speed),
        *no_easier_option(course),
        *no_credit(course, CreditTable()),
        *pattern_again(pattern_seconds(workout), []),
    ]
    assert all(r.what and r.why and r.mend for r in remarks)
    too_long = [r for r in remarks if "does not fit into the cap" in r.what]
    if course.total is not None and course.blocks and course.limit:
        assert not too_long or asked(workout).seconds > course.limit


def test_the_usual_class_has_little_said_of_it():
    workout, course = read(TWO_LADDERS)
    assert cap_remarks(workout) == [] and no_credit(course, CreditTable()) == []


def test_a_figure_that_decides_is_not_rounded_to_its_bound():
    # 21 own reps at 3 s are 63 s, which to ten seconds would be the minute itself
    workout, _ = read("Minutes\nevery 1:00 for 10 rounds\n21 sofa shuffle\n")
    (remark,) = cap_remarks(workout)
    assert remark.why == "At the usual pace it takes about 1:03."
    workout, _ = read("Rounds\ncap 4:00\n\n1 rounds\n81 sofa shuffle\n")
    (remark,) = cap_remarks(workout)
    assert "takes about 4:03" in remark.why


def test_a_ratio_is_no_finer_than_it_means():
    assert times(Fraction(375, 100)) == "3.8 times"
    assert times(Fraction(245, 10)) == "24 times"
    assert times(Fraction(11889, 10)) == "over 100 times"
