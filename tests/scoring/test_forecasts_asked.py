"""What is expected of a class while it is planned: of whom, with what options, said how."""

import re
from dataclasses import replace

import pytest
from django.urls import reverse

from scoring.core.course import Course
from scoring.core.credits import Choice
from scoring.core.notation import parse
from scoring.models import (
    Setup,
)
from scoring.problems import Refused
from scoring.selectors.forecasts import foretold
from scoring.selectors.groups import Wanted, Who
from scoring.selectors.habits import AS_PRESCRIBED, Habit, choice_for, habits
from scoring.services.classes import close_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log
from .forecast_scenes import EVERY, WORKOUT, ask, earlier, preview, snapshot

pytestmark = pytest.mark.django_db


def test_without_results_it_is_the_catalogue_for_everybody_and_says_so(people):
    told = ask(people, cap=300)
    assert told.expected.held.is_prior
    # owner and coach teach, and have logged nothing
    assert set(told.expected.members) == {m.pk for m in (people.ana, people.ben, people.cleo)}
    assert "Too few classes" in told.rule
    gates = told.expected.told.gates
    assert [gate.block for gate in gates] == [1, 2]
    assert gates[0].share > gates[1].share
    assert [one.share for one in told.caps] == [0.5, 0.8, 0.95]
    assert told.caps[0].cap < told.caps[1].cap < told.caps[2].cap


def test_members_get_none_and_intervals_have_none(people):
    assert foretold(viewer=people.ana, workout=WORKOUT, starts_at=NOW) is None
    assert foretold(viewer=None, workout=WORKOUT, starts_at=NOW) is None
    every = parse(EVERY).workout
    found = foretold(viewer=people.coach, workout=every, starts_at=NOW)
    assert found.forecast is None and "no forecast for intervals" in found.reason
    heavy = parse("Heavy\n\nmax load, 3 reps\ndeadlift\n").workout
    found = foretold(viewer=people.coach, workout=heavy, starts_at=NOW)
    assert found.forecast is None and "strength piece" in found.reason


def test_a_group_can_be_everybody_or_people_picked_and_of_nobody_it_is_said(people):
    for days in (7, 14, 21):
        log(earlier(people, days), people.ana, "12:00")
    assert ask(people).expected.members == (people.ana.pk,)
    everybody = ask(people, wanted=Wanted(Who.EVERYBODY))
    assert set(everybody.expected.members) == {m.pk for m in (people.ana, people.ben, people.cleo)}
    picked = ask(people, wanted=Wanted(Who.PICKED, (people.ben.pk, people.coach.pk)))
    assert set(picked.expected.members) == {people.ben.pk, people.coach.pk}
    none = foretold(viewer=people.coach, workout=WORKOUT, starts_at=NOW, wanted=Wanted(Who.PICKED))
    assert none.forecast is None and "nobody is picked" in none.reason
    with pytest.raises(Refused) as refused:
        ask(people, wanted=Wanted(Who.PICKED, (people.ben.pk, people.foreigner.pk)))
    assert str(people.foreigner.pk) in refused.value.items[0].problem


def test_a_coach_who_logs_is_of_everybody(people):
    log(earlier(people, 9), people.coach, "12:00")
    assert people.coach.pk in ask(people).expected.members


def test_an_open_class_is_no_absence_of_who_has_not_logged_yet(people):
    for days in (7, 14):
        streamed = earlier(people, days)
        log(streamed, people.ana, "12:00")
        close_class(streamed_class=streamed, by=people.coach, now=NOW)
    log(earlier(people, 1), people.ben, "12:00")
    assert ask(people).expected.members == (people.ana.pk,)
    assert "2 of the last 2 classes" in ask(people).rule


def test_before_any_result_the_ranges_are_wide(people):
    told = ask(people, cap=480).expected.told
    gate = told.gates[1]
    assert gate.low < 0.35 and gate.high > 0.95
    low, middle, high = told.middle.tolist()
    assert low < 0.8 * middle and high > 1.2 * middle


def test_who_takes_options_is_said_only_where_somebody_does(people, client):
    client.force_login(people.coach.user)
    assert "options they usually take" not in preview(client, TWO_LADDERS)
    for days in (7, 14):
        log(earlier(people, days), people.ana, "12:00", "tuck rock")
    assert "options they usually take" in preview(client, TWO_LADDERS)


CRABS = TWO_LADDERS.replace("hollow rock", "wobbly crab hop").replace(
    "  or tuck rock, credit 0.75\n", ""
)


def test_a_movement_that_nobody_has_done_here_is_a_guess_and_said_to_be(people, client):
    client.force_login(people.coach.user)
    guess = (
        "Nobody has done wobbly crab hop here; its seconds are a guess "
        "(an unknown movement's 3 s a rep)."
    )
    told = preview(client, CRABS)
    assert guess in told and "Nobody has done goblet squat" not in told
    snapshot(people, fast=[people.ana])
    told = preview(client, CRABS)
    assert guess in told and "Nobody has done goblet squat" in told


def test_a_cap_that_nothing_is_long_enough_for_and_a_sure_thing_are_said_plainly(people, client):
    client.force_login(people.coach.user)
    endless = "Huge\ncap 20:00\n\n900 rounds\n90 push-up\n"
    told = preview(client, endless)
    assert "No cap is long enough for 50 % of the group to finish." in told
    assert "by no cap" not in told and "Least likely" not in told
    assert "under 1 %" in told and "81,000" in told
    assert "What would come after 40:00 is not drawn." in told
    assert ":00:00<" not in told
    short = preview(client, "Short\ncap 5:00:00\n\n2 rounds\n5 push-up\n")
    assert "over 99 %" in short and "100 %" not in short


def test_no_remark_on_the_cap_stands_against_the_forecasts_own(people, client):
    client.force_login(people.coach.user)
    for cap in ("1:00", "59:00"):
        told = preview(client, f"Rounds\ncap {cap}\n\n5 rounds\n10 push-up\n10 air squat\n")
        assert "does not fit" not in told and "does not fill" not in told
        assert "would fit it" not in told


def test_the_drawing_says_whose_pace_it_is_and_why_the_group_differs(people, client):
    snapshot(people, fast=[people.ana, people.ben, people.cleo])
    client.force_login(people.coach.user)
    told = preview(client, TWO_LADDERS)
    assert "the typical member (level 100, everything as prescribed)" in told
    assert "the difference comes from this group's own levels." in told


def test_the_places_have_an_axis_of_their_own_and_are_told(people, client):
    client.force_login(people.coach.user)
    told = preview(client, TWO_LADDERS)
    assert "Places when the clock stops at 18:00</h4>" in told
    assert re.search(r"along the course by reps\. .*reps: about \d members?", told)
    assert "end of block 1" in told


def test_the_group_and_its_share_are_chosen_on_the_page(people, client):
    client.force_login(people.coach.user)
    sent = {"forecast_for": "picked", "people": [people.ben.pk], "share": "70"}
    told = preview(client, TWO_LADDERS, **sent)
    assert "For 1 member. This is for the people you picked." in told
    assert "The cap for so many to reach the AMRAP: 70 % by" in told
    assert "That is no share of a group." in preview(client, TWO_LADDERS, share="3")
    assert "nobody is picked" in preview(client, TWO_LADDERS, forecast_for="picked")
    page = client.get(
        reverse("class-new"), {"forecast_for": "picked", "people": people.ben.pk, "share": 70}
    )
    shown = page.content.decode()
    assert f'value="{people.ben.pk}" checked' in shown and 'value="70"' in shown


def test_who_usually_comes_is_forecast_and_nobody_who_left(people):
    for days in (7, 14, 21):
        streamed = earlier(people, days)
        log(streamed, people.ana, "12:00")
        log(streamed, people.ben, "13:00")
    assert set(ask(people).expected.members) == {people.ana.pk, people.ben.pk}
    people.ben.left_at = NOW
    people.ben.save()
    assert set(ask(people).expected.members) == {people.ana.pk}
    assert "at least 2 of the last 3 classes" in ask(people).rule


def test_options_that_members_mostly_take_are_theirs_in_the_forecast(people):
    for days, option in ((7, "tuck rock"), (14, "tuck rock"), (21, "")):
        streamed = earlier(people, days)
        log(streamed, people.ana, "12:00", option)
        log(streamed, people.ben, "13:00", "goblet squat @ 12 kg")
    did = habits(gym_id=people.gym.pk, members=[people.ana.pk, people.ben.pk], before=NOW)
    assert did[people.ana.pk]["hollow rock"] == Habit("tuck rock")
    assert did[people.ana.pk]["goblet squat"] == AS_PRESCRIBED
    assert str(did[people.ben.pk]["goblet squat"].load) == "12 kg"
    found = ask(people).expected
    ana = found.choices[found.chosen[found.members.index(people.ana.pk)]]
    assert ana == {1: Choice(1, 0)}
    # twelve kilograms are known of no result that an estimate learned from yet
    ben = found.choices[found.chosen[found.members.index(people.ben.pk)]]
    assert ben == {}


def test_of_equals_the_newer_and_before_that_what_was_told_at_home(people):
    for days, option in ((7, ""), (14, "tuck rock")):
        log(earlier(people, days), people.ana, "12:00", option)
    Setup.objects.create(member=people.cleo, usual={"hollow rock": "tuck rock"})
    did = habits(gym_id=people.gym.pk, members=[people.ana.pk, people.cleo.pk], before=NOW)
    assert did[people.ana.pk]["hollow rock"] == AS_PRESCRIBED
    assert did[people.cleo.pk] == {"hollow rock": Habit("tuck rock")}


def test_a_habit_is_taken_where_the_board_offers_it():
    course = Course(
        parse(
            "Loads\ncap 9:00\n\n5 rounds\n5 goblet squat @ 20/12 kg\n  or @ 8 kg\n"
            "  or air squat\n5 push-up\n"
        ).workout
    )
    squat, push = course.lines
    load = parse("A\ncap 9:00\n\n5 rounds\n5 swing @ 8 kg\n").workout.blocks[0].lines[0].load
    assert choice_for(squat, Habit("", load)) == Choice(0, 0)
    assert choice_for(squat, Habit("air squat")) == Choice(0, 1)
    assert choice_for(squat, Habit("lunge")) is None
    assert choice_for(squat, AS_PRESCRIBED) is None
    assert choice_for(push, Habit("", load)) is None
    heavier = replace(load, amounts=(load.amounts[0] * 2,))
    assert choice_for(squat, Habit("", heavier)) is None  # 16 of 20/12 is as prescribed
    other = replace(load, amounts=(load.amounts[0] / 2,))
    assert choice_for(squat, Habit("", other)) == Choice(0, load=other)


def test_what_an_estimate_knows_of_a_member_moves_their_forecast(people):
    snapshot(people, fast=[people.ana])
    found = ask(people).expected
    assert not found.held.is_prior
    ana, ben = (found.members.index(m.pk) for m in (people.ana, people.ben))
    assert found.told.places[ana, 1] > 1.2 * found.told.places[ben, 1]
    # what is known of one member is surer than what is held of any
    width = found.told.places[:, 2] - found.told.places[:, 0]
    assert width[ana] / found.told.places[ana, 1] < width[ben] / found.told.places[ben, 1]


def test_who_is_least_likely_to_leave_the_first_block_is_named(people):
    # before any result nobody is less likely than the others
    assert not ask(people, cap=110).unlikely
    snapshot(people, fast=[people.ana])
    told = ask(people, cap=110, share=0.8)
    assert set(dict(told.unlikely)) == {"Ben Okoro", "Cleo Wren"} and not told.more
    assert [one.share for one in told.caps] == [0.8]
    assert not ask(people, cap=20_000).unlikely
    # where hardly anybody does, that is said of all
    assert not ask(people, cap=50).unlikely
