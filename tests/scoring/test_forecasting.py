"""What is expected of a class: kept at its opening, held against it, told on pages."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from members.models import Membership, User
from scoring import tasks
from scoring.core.estimation.honesty import Foreseen, honesty
from scoring.models import (
    Fact,
    ForecastLine,
    ForecastRecord,
    QuestionAsked,
    State,
    StreamedClass,
)
from scoring.models.immutable import ImmutableError
from scoring.pages.forecast_record import bias_words, score_words, verdict
from scoring.selectors.forecast_record import beside, forecast_record
from scoring.selectors.forecast_rows import classes_to_forecast, forecast_rows
from scoring.selectors.forecasts import expected, typical
from scoring.selectors.review import review
from scoring.selectors.review_plan import Kept
from scoring.services.classes import close_class
from scoring.services.erasing import erase_due
from scoring.services.erasures import ask_erasure
from scoring.services.exporting import own_data
from scoring.services.forecasting import keep_forecast

from ..conftest import FOR_TIME, NOW, TWO_LADDERS
from .classes import log, make_class
from .forecast_scenes import EVERY, WORKOUT, ask, earlier, preview, read, record_forecast, snapshot

pytestmark = pytest.mark.django_db


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
