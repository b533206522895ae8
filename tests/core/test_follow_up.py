"""Whom to have a word with: each rule by hand, on both sides of its edge."""

from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.body import AREAS
from scoring.core.catalogue import all_movements
from scoring.core.follow_up import (
    Point,
    Reason,
    Use,
    could_leave,
    days_away,
    days_silent,
    is_falling,
    is_hurt_there,
)
from scoring.core.follow_up_words import (
    DEFAULTS,
    FIELDS,
    MAX_WORDS,
    fields_of,
    fill,
    known_fields,
    problem_of,
)

DAY = date(2026, 11, 24)


def points(indexes, efforts):
    return [Point(index, effort) for index, effort in zip(indexes, efforts, strict=True)]


@pytest.mark.parametrize(
    ("indexes", "efforts", "falls"),
    [
        ([108, 104, 101, 97], [7, 7, 8, 7], True),
        ([108, 104, 101, 97], [7, 8, 7, 8], True),  # none easier than where it began
        ([108, 104, 101, 97], [7, 7, 6, 7], False),  # one was easier: it may be why
        ([108, 104, 101, 97], [7, 7, None, 7], False),  # not told: nothing is known
        ([108, 104, 101, 97], [None] * 4, False),
        ([108, 104, 104, 97], [7] * 4, False),  # level once
        ([102, 101, 100, 98], [7] * 4, False),  # 4 points in all are too few
        ([102, 101, 100, 97], [7] * 4, True),
        ([104, 101, 97], [7] * 3, False),  # two falls
        ([90, 108, 104, 101, 97], [9, 7, 7, 7, 7], True),  # only the last four count
        ([108, 104, 101, 97, 99], [7] * 5, False),  # better again
    ],
)
def test_pace_falls_three_classes_in_a_row_at_no_less_effort(indexes, efforts, falls):
    assert is_falling(points(indexes, efforts)) is falls


def test_by_chance_alone_one_order_of_24_falls():
    orders = list(permutations([80, 90, 100, 110]))
    assert sum(is_falling(points(order, [7] * 4)) for order in orders) == 1
    assert len(orders) == 24


@given(
    indexes=st.lists(st.integers(50, 150), min_size=4, max_size=4),
    efforts=st.lists(st.integers(0, 10), min_size=4, max_size=4),
    more=st.integers(0, 10),
)
def test_more_effort_at_the_end_never_takes_a_fall_back(indexes, efforts, more):
    harder = [*efforts[:3], min(10, efforts[3] + more)]
    assert not is_falling(points(indexes, efforts)) or is_falling(points(indexes, harder))


EASY = Use(2, 6, 6)


@pytest.mark.parametrize(
    ("uses", "could"),
    [
        ([EASY] * 4, True),
        ([EASY] * 3, False),
        ([EASY, EASY, EASY, Use(3, 6, 6)], False),  # third of six is no top third
        ([EASY, EASY, EASY, Use(3, 9, 6)], True),
        ([EASY, EASY, EASY, Use(1, 6, 7)], False),
        ([EASY, EASY, EASY, Use(1, 6, None)], False),
        ([EASY, EASY, EASY, Use(1, 5, 3)], False),  # the first of five says little
        ([Use(9, 9, 9), EASY, EASY, EASY, EASY], True),
    ],
)
def test_an_option_is_left_after_four_easy_results_in_the_top_third(uses, could):
    assert could_leave(uses) is could


@pytest.mark.parametrize(
    ("movement", "areas", "is_hurt"),
    [
        ("push-up", ["shoulder"], True),
        ("push-up", ["knee"], False),
        ("goblet squat", ["knee"], True),
        ("goblet squat", ["elbow"], False),
        ("push-up", [], False),
        ("burpee", ["calf or shin"], True),  # asks for the whole body
        ("lantern toss", ["elbow"], True),  # nobody knows what it loads
    ],
)
def test_pain_in_the_part_of_the_body_that_a_movement_loads(movement, areas, is_hurt):
    assert is_hurt_there(movement, areas) is is_hurt


@given(st.sampled_from(all_movements()), st.sampled_from(["chest", "head or neck", "elsewhere"]))
def test_chest_head_and_elsewhere_keep_back_every_movement(movement, area):
    assert is_hurt_there(movement.name, [area])


@given(st.sampled_from(all_movements()), st.sets(st.sampled_from(AREAS)), st.sampled_from(AREAS))
def test_one_more_pain_never_gives_leave(movement, areas, more):
    assert not is_hurt_there(movement.name, areas) or is_hurt_there(movement.name, areas | {more})


@pytest.mark.parametrize(
    ("days", "held", "away"),
    [(21, 2, 21), (20, 9, None), (21, 1, None), (30, 5, 30)],
)
def test_three_weeks_in_which_classes_were_held_are_a_break(days, held, away):
    assert days_away(DAY - timedelta(days=days), DAY, held=held) == away


@pytest.mark.parametrize(
    ("days", "held", "at_least", "silent"),
    [
        (14, 2, 14, 14), (13, 9, 14, None), (14, 1, 14, None), (13, 2, 10, 13),
        (182, 20, 14, 182), (183, 20, 14, None),
    ],
)  # fmt: skip
def test_silence_is_counted_while_classes_are_held_and_up_to_half_a_year(
    days, held, at_least, silent
):
    found = days_silent(DAY - timedelta(days=days), DAY, held=held, at_least=at_least)
    assert found == silent


def test_pain_comes_first_and_praise_last():
    assert [reason.value for reason in sorted(Reason, key=lambda r: r.rank)] == [
        "pain", "effort", "falling", "back", "first", "missed", "silent", "option", "best",
    ]  # fmt: skip


# --- words -------------------------------------------------------------------


@pytest.mark.parametrize("reason", list(Reason))
def test_the_usual_words_can_be_kept_and_leave_nothing_open(reason):
    assert problem_of(DEFAULTS[reason], reason) == ""
    told = fill(DEFAULTS[reason], {name: f"<{name}>" for name in fields_of(reason)})
    assert "{" not in told and told.startswith("Hello <name>,") and told.endswith("<coach>")


def test_the_usual_words_about_a_pain_leave_it_to_who_is_licensed():
    text = DEFAULTS[Reason.PAIN]
    assert "rest it" in text and "doctor or a physiotherapist" in text
    assert "result" not in fields_of(Reason.PAIN)  # no word of how well it went
    for word in ("try", "keep going", "push", "easier version", "next class"):
        assert word not in text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Hello {nam}", "“{nam}” can't be filled in here."),
        ("Hello {option}", "“{option}” can't be filled in here."),  # another reason's
        ("Hello {}", "“{}” can't be filled in here."),
        ("Hello {name.gym.owner}", "“{name.gym.owner}” can't be filled in here."),
        ("Hello {name", "A brace has no other half."),
        ("Hello }", "A brace has no other half."),
        ("  \n ", "Some words are needed."),
        ("x" * (MAX_WORDS + 1), f"At most {MAX_WORDS} letters."),
        ("Hello {name}, {class}: {result}", ""),
    ],
)
def test_an_unknown_field_is_refused(text, said):
    assert problem_of(text, Reason.BEST) == said


def test_known_fields_are_told_as_they_are_written():
    assert known_fields(Reason.SILENT) == "{name}, {coach}, {gym}, {days}"
    assert all(set(fields_of(reason)) <= set(FIELDS) for reason in Reason)


def test_a_value_with_braces_is_filled_in_once():
    assert fill("{name} {days} {x}", {"name": "{days}", "days": "3"}) == "{days} 3 {x}"


@given(st.text(max_size=200), st.dictionaries(st.sampled_from(sorted(FIELDS)), st.text()))
def test_filling_in_never_fails_and_leaves_other_text_alone(text, values):
    told = fill(text, values)
    if "{" not in text:
        assert told == text
