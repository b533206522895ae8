"""What a comparison says: never more than its figures can bear."""

from math import log

import pytest

from scoring.core.compare_words import change_text, differs_text, effort_text, pace_text, share_text
from scoring.core.comparing import Estimate
from scoring.core.grouping import middle_of, share_of


def test_a_share_says_its_counts_and_what_is_likely():
    found = share_of({person: (int(person < 15), 1) for person in range(20)})
    assert share_text(found, "nobody") == "75 % (15 of 20), very likely 53 to 89 %"
    assert share_text(None, "nobody") == "nobody"
    many = share_of({person: (6, 10) for person in range(200)})
    assert "(1,200 of 2,000)" in share_text(many, "nobody")


def test_below_five_people_no_percentage_is_said():
    found = share_of({person: (int(person < 2), 1) for person in range(4)})
    assert share_text(found, "") == "2 of 4, from 4 members: too few to say"
    assert effort_text(middle_of([9, 9, 1, 2])) == "4 told: too few to say"
    few = Estimate(0.1, 0.05, 0.15, 4)
    assert pace_text(few, "workouts") == "from 4 workouts: too few to say"
    assert change_text(few) == "the same 4 members: too few to say"
    assert pace_text(Estimate(0.1, None, None, 1), "members") == "from 1 member: too few to say"


def test_efforts_are_a_middle_and_a_half():
    assert effort_text(middle_of([6, 7, 7, 8, 9])) == (
        "7 in the middle, half of all from 7 to 8 (5 told)"
    )
    assert effort_text(None) == "nobody told"


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (1.01, 1.07, "+4 %, very likely +1 to +7 %, the same 9 members: clearly faster"),
        (0.95, 1.04, "0 %, very likely −5 to +4 %, the same 9 members: no clear change"),
        (0.9, 0.96, "−7 %, very likely −10 to −4 %, the same 9 members: clearly slower"),
    ],
)
def test_a_change_is_clear_only_where_none_is_unlikely(low, high, said):
    value = log({1.01: 1.04, 0.95: 1.0, 0.9: 0.93}[low])
    assert change_text(Estimate(value, log(low), log(high), 9)) == said


def test_a_pace_of_one_class_is_said_to_be_its_workouts_too():
    assert "its workout being part of it" in differs_text("pace", "higher", "members")
    assert differs_text("pace", "lower", "workouts") == "clearly slower than the others"
    assert differs_text("logged", "none") == "no clear difference from the others"
