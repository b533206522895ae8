"""What is expected of a class: asked while planning, kept at its opening, held against it."""

import html
import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from members.models import Membership, User
from scoring import tasks
from scoring.core.course import Course
from scoring.core.credits import Choice
from scoring.core.estimation.estimate import LevelPaths
from scoring.core.estimation.honesty import Foreseen, honesty
from scoring.core.estimation.packing import packed
from scoring.core.notation import parse
from scoring.models import (
    EstimateRun,
    EstimateSnapshot,
    Fact,
    ForecastLine,
    ForecastRecord,
    QuestionAsked,
    Setup,
    State,
    StreamedClass,
)
from scoring.models.immutable import ImmutableError
from scoring.pages.forecast_record import bias_words, score_words, verdict
from scoring.problems import Refused
from scoring.selectors import estimates
from scoring.selectors.estimates import with_courses
from scoring.selectors.forecast_record import beside, forecast_record
from scoring.selectors.forecast_rows import classes_to_forecast, forecast_rows
from scoring.selectors.forecasts import day_of, expected, foretold, typical
from scoring.selectors.groups import Wanted, Who
from scoring.selectors.habits import AS_PRESCRIBED, Habit, choice_for, habits
from scoring.selectors.review import review
from scoring.selectors.review_plan import Kept
from scoring.services.classes import close_class
from scoring.services.erasing import erase_due
from scoring.services.erasures import ask_erasure
from scoring.services.exporting import own_data
from scoring.services.forecasting import keep_forecast

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log, make_class

pytestmark = pytest.mark.django_db

WORKOUT = parse(TWO_LADDERS).workout
EVERY = """Minutes
every 1:00 for 10 rounds
5 burpee
"""


def snapshot(people, *, fast=(), until=NOW - timedelta(days=2), classes=(0,)):
    """An estimate that knows some members as fast, half as slow again as the rest."""
    held = with_courses(estimates.held(gym_id=people.gym.pk), [Course(WORKOUT, weighted=True)])
    count = len(fast)
    levels = LevelPaths(
        start=np.arange(count + 1),
        day=np.full(count, day_of(until, "UTC")),
        mean=np.full(count, -0.4),
        variance=np.full(count, 0.001),
        gain=np.zeros(count),
        with_last=np.full(count, 0.001),
        results=np.full(count, 9),
        lean=np.zeros((count, 0)),
    )
    run = EstimateRun.objects.create(gym=people.gym, state="good", finished_at=NOW)
    return EstimateSnapshot.objects.create(
        run=run, gym=people.gym, fingerprint="f" * 64, rules_version=1, model_version=1, code="",
        result_count=9, member_count=count, class_count=1, converged=True, convergence="",
        made_at=NOW, until=until, figures=packed(replace(held.estimate, levels=levels)),
        members=np.array([m.pk for m in fast], dtype="<i8").tobytes(),
        classes=np.array(classes, dtype="<i8").tobytes(), results=b"",
    )  # fmt: skip


def record_forecast(*, class_id, now):
    """What the task does; the newest forecast there is then."""
    found = forecast_rows(class_id=class_id)
    if found is not None:
        keep_forecast(record=found[0], lines=found[1], now=now)
    return ForecastRecord.objects.filter(streamed_class=class_id).first()


def ask(people, **kwargs):
    return foretold(viewer=people.coach, workout=WORKOUT, starts_at=NOW, **kwargs).forecast


def earlier(people, days, text=FOR_TIME):
    at = NOW - timedelta(days=days)
    return make_class(people, text, starts_at=at)


def read(answer):
    return " ".join(html.unescape(answer.content.decode()).split())


# --- who usually comes, and what they usually take ---------------------------------


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


# --- kept at the opening -----------------------------------------------------------


def test_a_class_that_opens_keeps_what_was_expected_of_everybody(people):
    known = snapshot(people, fast=[people.ana])
    streamed = make_class(people)
    record = record_forecast(class_id=streamed.pk, now=NOW)
    assert record.snapshot_id == known.pk and not record.is_prior and record.results == 9
    lines = {line.member_id: line for line in record.lines.all()}
    assert set(lines) == set(Membership.objects.filter(gym=people.gym).values_list("pk", flat=True))
    ana = lines[people.ana.pk]
    assert len(ana.ensemble) == 40 and ana.ensemble == sorted(ana.ensemble)
    assert ana.low <= ana.quarter <= ana.middle <= ana.three_quarters <= ana.high
    assert ana.is_known and not lines[people.ben.pk].is_known
    assert len(ana.past) == len(record.gates) == 2
    with pytest.raises(ImmutableError):
        record.save()
    # asked again it is the same one
    assert record_forecast(class_id=streamed.pk, now=NOW).pk == record.pk


def test_a_draft_and_a_strength_piece_have_none(people):
    assert record_forecast(class_id=make_class(people, is_open=False).pk, now=NOW) is None
    heavy = make_class(people, "Heavy\n\nmax load, 3 reps\ndeadlift\n")
    assert record_forecast(class_id=heavy.pk, now=NOW) is None
    assert record_forecast(class_id=99_999, now=NOW) is None
    assert not ForecastRecord.objects.exists()


def test_a_newer_estimate_forecasts_anew_until_somebody_logs(people):
    streamed = make_class(people)
    first = record_forecast(class_id=streamed.pk, now=NOW)
    assert first.is_prior
    snapshot(people)
    assert classes_to_forecast(gym_id=people.gym.pk) == [streamed.pk]
    tasks.forecast_again(people.gym.pk)
    second = ForecastRecord.objects.get(streamed_class=streamed, is_prior=False)
    log(streamed, people.ana, "100 reps")
    snapshot(people)
    assert record_forecast(class_id=streamed.pk, now=NOW).pk == second.pk
    assert classes_to_forecast(gym_id=people.gym.pk) == []
    assert ForecastRecord.objects.filter(streamed_class=streamed).count() == 2


def test_an_estimate_that_knows_what_happened_foretells_nothing(people):
    streamed = make_class(people)
    snapshot(people, classes=[streamed.pk])
    assert record_forecast(class_id=streamed.pk, now=NOW) is None
    snapshot(people, until=NOW + timedelta(days=1))
    assert record_forecast(class_id=streamed.pk, now=NOW) is None


def test_two_workers_keep_it_once_and_a_result_in_between_wins(people):
    streamed = make_class(people)
    one, two = (forecast_rows(class_id=streamed.pk) for _ in range(2))
    first = keep_forecast(record=one[0], lines=one[1], now=NOW)
    assert keep_forecast(record=two[0], lines=two[1], now=NOW).pk == first.pk
    snapshot(people)
    late = forecast_rows(class_id=streamed.pk)
    log(streamed, people.ana, "100 reps")
    assert keep_forecast(record=late[0], lines=late[1], now=NOW).pk == first.pk
    assert ForecastRecord.objects.count() == 1


def test_the_same_place_for_everybody_is_the_middle_of_earlier_runs(people):
    for days, mark in ((14, "90 reps"), (21, "110 reps")):
        log(earlier(people, days, TWO_LADDERS), people.ana, mark)
    record = record_forecast(class_id=make_class(people).pk, now=NOW)
    assert (record.naive, record.naive_results) == (90, 2)
    bare = record_forecast(class_id=make_class(people, FOR_TIME).pk, now=NOW)
    assert bare.naive_results == 0 and bare.naive > 0


def test_of_a_new_workout_it_is_where_the_group_gets_at_its_usual_pace(people):
    first = record_forecast(class_id=make_class(people, FOR_TIME).pk, now=NOW)
    log(earlier(people, 14, TWO_LADDERS), people.ana, "110 reps")
    quick = record_forecast(class_id=make_class(people, FOR_TIME).pk, now=NOW)
    log(earlier(people, 7, TWO_LADDERS), people.ana, "40 reps")
    log(earlier(people, 6, TWO_LADDERS), people.ana, "30 reps")
    slow = record_forecast(class_id=make_class(people, FOR_TIME).pk, now=NOW)
    assert slow.naive < quick.naive and {row.naive_results for row in (first, quick, slow)} == {0}


def test_opening_by_the_page_keeps_it(people, client, django_capture_on_commit_callbacks):
    streamed = make_class(people, is_open=False)
    client.force_login(people.coach.user)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("class-manage", args=[streamed.pk]), {"act": "open"})
    streamed.refresh_from_db()
    assert streamed.state == State.OPEN
    assert streamed.forecasts.count() == 1


# --- held against what happened ----------------------------------------------------


@pytest.fixture
def held_class(people):
    """A class that was forecast, run and closed: Ana inside her range, Ben short of his."""
    snapshot(people, fast=[people.ana])
    streamed = make_class(people, starts_at=NOW - timedelta(hours=2))
    record = record_forecast(class_id=streamed.pk, now=NOW)
    ana, ben = (record.lines.get(member=member) for member in (people.ana, people.ben))
    log(streamed, people.ana, f"{ana.middle} reps")
    log(streamed, people.ben, f"{ben.low - 9} reps")
    return close_class(streamed_class=streamed, by=people.coach, now=NOW)


def test_the_review_tells_the_kept_forecast_alone_and_plans_by_its_pace(people, held_class):
    found = review(streamed_class=held_class, viewer=people.coach)
    assert found.plan.is_learned and found.plan.forecast is None
    gate = found.foreseen.gates[-1]
    assert (found.plan.kept.share, found.plan.kept.did) == (gate.share, gate.actual)
    pace = typical(gym=people.gym, workout=WORKOUT)
    course = found.course
    last = {course_set.block: course_set.index for course_set in course.sets}
    assert {row.block: row.reference for row in found.passed} == {
        block: round(pace.end(last[block])) for block in (1, 2)
    }
    assert found.plan.place == course.describe(course.place(pace.reached(course.limit)))
    low, middle, high, done = found.foreseen.halfway
    assert low <= middle <= high
    assert done == min(member.seen.done for member in found.foreseen.members)


def test_the_paragraph_tells_the_kept_forecast_where_there_is_something_to_tell():
    assert Kept("finish", 0.62, 0.5).sentence == "62 % were foreseen to finish, and 50 % did."
    assert Kept("finish", 0.999, 0.5).sentence.startswith("Over 99 % were foreseen")
    assert Kept("finish", 0.999, 1.0).is_plain and Kept("finish", 0.001, 0.0).is_plain
    assert not Kept("finish", 0.999, 0.9).is_plain


def test_a_class_without_a_kept_forecast_is_planned_by_the_reference(people, client):
    snapshot(people, fast=[people.ana])
    streamed = make_class(people)
    log(streamed, people.ana, "100 reps")
    found = review(streamed_class=streamed, viewer=people.coach)
    assert not found.plan.is_learned and found.plan.kept is None
    client.force_login(people.coach.user)
    told = read(client.get(reverse("class-review", args=[streamed.pk])))
    assert "No forecast was kept of this class" in told


def test_a_class_beside_its_forecast(people, held_class):
    found = beside(streamed_class=held_class, viewer=people.coach)
    inside = {held.name: held.seen.is_inside for held in found.members}
    assert inside == {"Ana Sol": True, "Ben Okoro": False}
    assert (found.inside, found.others, found.logged) == (1, 0, 2)
    assert [(gate.block, gate.passed, gate.count) for gate in found.gates] == [
        (1, 2, 2),
        (2, found.gates[1].passed, 2),
    ]
    assert found.honesty.count == 2
    assert beside(streamed_class=held_class, viewer=people.ana) is None
    assert beside(streamed_class=held_class, viewer=people.foreign_coach) is None


def test_the_running_record_counts_closed_classes_and_keeps_kinds_apart(people, held_class):
    open_one = make_class(people)
    record_forecast(class_id=open_one.pk, now=NOW)
    log(open_one, people.ana, "80 reps")
    found = forecast_record(viewer=people.coach)
    assert [row.streamed_class.pk for row in found.classes] == [held_class.pk]
    assert (found.taught.count, found.bare) == (2, None)
    assert found.taught.fifths.held.inside == 1
    assert (found.gates, forecast_record(viewer=people.ana)) == (2, None)


def test_many_classes_take_no_more_queries(people, held_class, django_assert_max_num_queries):
    snapshot(people, classes=[held_class.pk])  # it has been learned from
    with django_assert_max_num_queries(8):
        forecast_record(viewer=people.coach)


def test_what_is_kept_of_somebody_is_in_their_copy_and_goes_with_them(people, held_class):
    rows = own_data(people.ana.user)["forecasts"]
    assert [row["class"] for row in rows] == [held_class.pk]
    assert rows[0]["low"] <= rows[0]["middle"] <= rows[0]["high"]
    ask_erasure(user=people.ana.user, results="gone", now=NOW)
    erase_due(now=NOW + timedelta(days=400))
    assert not User.objects.filter(pk=people.ana.user_id).exists()
    assert not ForecastLine.objects.filter(member=people.ana.pk).exists()
    assert ForecastLine.objects.filter(member=people.ben.pk).exists()
    found = beside(streamed_class=StreamedClass.objects.get(pk=held_class.pk), viewer=people.coach)
    assert [held.name for held in found.members] == ["Ben Okoro"]


# --- pages --------------------------------------------------------------------------


def preview(client, text, **sent):
    answer = client.post(
        reverse("workout-preview"), {"text": text, "starts_at": "2026-11-24T18:30", **sent}
    )
    assert answer.status_code == 200
    return read(answer)


def test_the_preview_forecasts_and_says_from_what(people, client):
    client.force_login(people.coach.user)
    told = preview(client, TWO_LADDERS)
    assert "No results yet: these are the catalogue's usual figures" in told
    assert "Reach the AMRAP" in told and "Leave the first ladder" in told
    assert "catalogue's usual seconds a rep" in told
    snapshot(people, fast=[people.ana])
    told = preview(client, TWO_LADDERS)
    assert "From 9 results of 1 member until 22 November 2026." in told
    assert "As long as this gym's results say" in told
    assert 'class="heap"' in told
    assert "There is no forecast for intervals" in preview(client, EVERY)


def test_the_page_says_one_thing_of_how_far_the_group_gets(people, client):
    snapshot(people, fast=[people.ana])
    client.force_login(people.coach.user)
    told = preview(client, TWO_LADDERS)
    found = ask(people).expected
    half = found.course.describe(found.course.place(int(found.told.middle[1])))
    assert f"Half of the group should get at least as far as: {half}" in told
    assert f"As far as half of this group should get: {half}." in told
    assert "own pace" not in told


def test_the_sheet_and_the_review_go_by_what_was_learned(people, client, held_class):
    client.force_login(people.coach.user)
    told = read(client.get(reverse("class-sheet", args=[held_class.pk])))
    assert "The typical pace here" in told
    assert re.search(r"18 at \d:\d0, 12 at \d:\d0, 6 at \d:\d0", told)
    assert re.search(r"round \d+ at 1\d:\d0", told)
    told = read(client.get(reverse("class-review", args=[held_class.pk])))
    assert (
        "as this gym's results say" in told
        and "reference seconds" not in told.split("Everybody's place")[1][:600]
    )


def test_before_any_result_the_sheet_has_no_pace(people, client):
    client.force_login(people.coach.user)
    told = read(client.get(reverse("class-sheet", args=[make_class(people).pk])))
    assert "The typical pace here" not in told


def test_the_review_and_the_record_say_what_was_foreseen(people, client, held_class):
    client.force_login(people.coach.user)
    told = read(client.get(reverse("class-review", args=[held_class.pk])))
    assert "The forecast and what happened" in told
    assert "1 of 2 places lay in the member's own range" in told
    # one forecast: the kept one, with where half get to
    assert "Half get to" in told and "foretold" not in told.lower()
    assert "less far" in told
    told = read(client.get(reverse("forecast-record")))
    assert "From 2 results in one closed class that had a forecast." in told
    assert "too few classes to tell" in told and "1 of 2" in told
    assert "too narrow" not in told and "usual pace" in told
    assert told.index("How the miss is counted") < told.index("continuous ranked probability")


def test_results_with_an_open_question_are_left_out_and_counted_as_such(people, held_class):
    wrong = Fact.objects.get(result__member=people.ben)
    QuestionAsked.objects.create(
        fact=wrong, member=people.ben, kind="unlike", reason="odd", asked_at=NOW
    )
    found = forecast_record(viewer=people.coach)
    assert (found.taught.count, found.asked) == (1, 1)
    row = beside(streamed_class=held_class, viewer=people.coach)
    assert (row.asked, row.logged, [held.name for held in row.members]) == (1, 2, ["Ana Sol"])
    assert [gate.count for gate in row.gates] == [1, 1]
    client = Client()
    client.force_login(people.coach.user)
    told = read(client.get(reverse("forecast-record")))
    assert "1 more is left out while a question about the mark is open." in told
    QuestionAsked.objects.create(
        fact=Fact.objects.get(result__member=people.ana),
        member=people.ana,
        kind="unlike",
        reason="odd",
        asked_at=NOW,
    )
    found = forecast_record(viewer=people.coach)
    assert (found.classes, found.asked) == ((), 2)
    told = read(client.get(reverse("forecast-record")))
    assert "2 results are left out while a question about the mark is open." in told


def test_without_a_closed_class_the_record_says_what_will_be_there(people, client):
    client.force_login(people.coach.user)
    told = read(client.get(reverse("forecast-record")))
    assert "No class with a forecast has closed with results yet." in told


def test_a_forecast_of_nobody_is_none(people):
    Membership.objects.filter(gym=people.gym).update(left_at=NOW)
    assert expected(gym=people.gym, workout=WORKOUT, starts_at=NOW, members=[]) is not None
    assert record_forecast(class_id=make_class(people).pk, now=NOW) is None


def foreseen(done, naive=100):
    draws = tuple(range(81, 121))
    return Foreseen(draws, 85, 91, 100, 110, 116, naive, done)


@pytest.mark.parametrize(
    ("done", "said"),
    [
        (list(range(81, 121)), "As many places lay in their range as promised"),
        ([100] * 40, "the ranges were too wide"),
        ([125] * 40, "the ranges were too narrow, or lay to one side"),
    ],
)
def test_whether_ranges_kept_their_promise_is_said_as_far_as_it_can_be_told(done, said):
    told = honesty([foreseen(reps) for reps in done])
    assert said in verdict(told.fifths)


def test_how_far_off_and_to_which_side_is_said_in_reps():
    far = honesty([foreseen(110), foreseen(112)])
    assert (
        bias_words(far)
        == "On average people got 11.0 reps further than the middle of their forecast."
    )
    assert "the same place for everybody 11.0" in score_words(far)
    assert "% less" in score_words(far)
    near = honesty([foreseen(100)])
    assert bias_words(near) == "On average people got as far as foreseen."
    assert score_words(near).endswith("with the same place for everybody 0.0.")
    short = honesty([foreseen(90, naive=91)])
    assert "10.0 reps less far" in bias_words(short) and "% more" in score_words(short)
