"""Estimates in operation: of what they are made, and that nothing is made twice."""

import random

import numpy as np
import pytest

from scoring import snapshots, tasks
from scoring.core.estimation.ways import Way
from scoring.models import (
    EstimateRun,
    EstimateSnapshot,
    Fact,
    ForecastRecord,
    Result,
    StreamedClass,
)
from scoring.selectors import estimates
from scoring.services import estimate_reading, estimating
from scoring.services.classes import create_class, open_class
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log, make_class
from .past_classes import held_class, made


def test_a_class_that_closes_leaves_a_snapshot(past):
    run = EstimateRun.objects.get()
    assert run.state == "waiting" and not EstimateSnapshot.objects.exists()
    assert tasks.estimate_due() == 1  # the other gym's night is due too, but it has no results
    run.refresh_from_db()
    assert run.state == "good" and run.done == run.total == 4
    row = EstimateSnapshot.objects.get()
    last = StreamedClass.objects.order_by("starts_at").last()
    assert (row.gym, row.until) == (past.gym, last.starts_at)
    assert (row.result_count, row.member_count, row.class_count) == (12, 3, 4)
    held = estimates.held(gym_id=past.gym.pk)
    assert not held.is_prior and held.results == 12
    levels = held.estimate.levels
    at = held.member_at(past.ana.pk)
    days = levels.day[levels.start[at] : levels.start[at + 1]]
    assert [snapshots.day_of(day) for day in days] == [
        row.starts_at.date() for row in StreamedClass.objects.order_by("starts_at")
    ]
    assert held.class_at(last.pk) == 3
    ways = held.estimate.ways
    assert held.estimate.used[ways.position(Way("hollow rock", "tuck rock"))] == 4
    assert held.estimate.used[ways.position(Way("hollow rock"))] == 8
    for result in Result.objects.all():
        assert np.isfinite(held.estimate.expected[held.result_at(result.pk)])


def test_nothing_new_makes_no_snapshot_and_something_new_does(past):
    assert made(past.gym).state == "good"
    again = made(past.gym)
    assert again.state == "unchanged" and EstimateSnapshot.objects.count() == 1
    held_class(past, 5)
    assert made(past.gym).state == "good" and EstimateSnapshot.objects.count() == 2


def test_a_corrected_and_a_withdrawn_result_are_something_new(past):
    made(past.gym)
    result = Result.objects.filter(member=past.ana).first()
    data = ResultInput(mark="3+3")
    correct_result(result=result, by=past.coach, data=data, reason="counted again", now=NOW)
    assert made(past.gym).state == "good"
    withdraw_result(result=result, by=past.coach, reason="another class", now=NOW)
    assert made(past.gym).state == "good"
    assert EstimateSnapshot.objects.order_by("-pk").first().result_count == 11
    assert estimates.held(gym_id=past.gym.pk).result_at(result.pk) is None


@pytest.mark.parametrize("field", ["rules_version", "model_version", "code"])
def test_another_program_makes_a_new_one_of_the_same_results(past, field, monkeypatch):
    made(past.gym)
    name = {"code": "CODE"}.get(field, field.upper())
    monkeypatch.setattr(estimating, name, "other" if field == "code" else 9)
    assert made(past.gym).state == "good"
    prints = EstimateSnapshot.objects.values_list("fingerprint", flat=True)
    assert len(prints) == 2 and len(set(prints)) == 1


def test_the_same_results_in_another_order_give_the_same_bytes(past, monkeypatch):
    made(past.gym)
    first = EstimateSnapshot.objects.get()

    def mixed(function):
        def call(*args, **kwargs):
            rows = list(function(*args, **kwargs))
            random.Random(1).shuffle(rows)
            return rows

        return call

    # What the database's order could change: the results of a class as they are fitted.
    monkeypatch.setattr(estimate_reading, "_results", mixed(estimate_reading._results))
    monkeypatch.setattr(estimating, "CODE", "other")
    made(past.gym)
    second = EstimateSnapshot.objects.order_by("-pk").first()
    assert second.pk != first.pk
    assert first.fingerprint == second.fingerprint
    for name in ("figures", "members", "classes", "results"):
        assert bytes(getattr(first, name)) == bytes(getattr(second, name)), name


def test_a_gym_of_the_same_results_entered_in_another_order_learns_the_same(past):
    """Keys differ then, but not what is learned of the ways, to the last digit."""
    made(past.gym)
    other = past.stranger_gym
    other.timezone = past.gym.timezone
    other.save()
    copies = {
        person.pk: add_member(other, person.display_name, email=f"copy{person.pk}@example.org")
        for person in past.members
    }
    classes = list(StreamedClass.objects.filter(gym=past.gym).order_by("-pk"))
    for streamed in classes:
        coach = past.foreign_coach
        new = create_class(
            gym=other, coach=coach, text=streamed.workout.text, starts_at=streamed.starts_at,
            now=NOW,
        )  # fmt: skip
        new = open_class(streamed_class=new, by=coach, now=NOW)
        for result in streamed.results.order_by("-pk").select_related("current"):
            log(new, copies[result.member_id], result.current.mark, result.current.options)
    made(other)
    ours, theirs = (estimates.held(gym_id=gym.pk).estimate for gym in (past.gym, other))
    assert ours.ways.ways == theirs.ways.ways
    assert ours.cost.tobytes() == theirs.cost.tobytes()
    assert ours.covariance.tobytes() == theirs.covariance.tobytes()
    assert ours.levels.mean.tobytes() == theirs.levels.mean.tobytes()


def test_what_can_not_be_read_any_more_is_left_out_and_counted(past, monkeypatch):
    real = estimate_reading.parse_mark
    taken = Fact.objects.filter(result__member=past.cleo).values_list("mark", flat=True)
    gone = set(taken) - set(
        Fact.objects.exclude(result__member=past.cleo).values_list("mark", flat=True)
    )
    assert gone

    def parse(course, text):
        if text in gone:
            raise ValueError(text)
        return real(course, text)

    monkeypatch.setattr(estimate_reading, "parse_mark", parse)
    made(past.gym)
    row = EstimateSnapshot.objects.get()
    assert row.left_out == len([m for m in taken if m in gone])
    assert row.result_count == 12 - row.left_out


def test_a_gym_without_results_gets_no_snapshot_and_is_told_why(people):
    run = made(people.gym)
    assert (run.state, run.why) == ("unchanged", "There are no results yet.")
    assert estimates.held(gym_id=people.gym.pk).is_prior


def test_lifts_alone_teach_nothing(people):
    streamed = make_class(people, "Heavy\n\nmax load, 3 reps\nback squat\n")
    log(streamed, people.ana, "80 kg")
    assert made(people.gym).state == "unchanged"


def test_thirty_are_kept_and_older_ones_dropped(past, monkeypatch):
    monkeypatch.setattr(estimating, "KEPT", 2)
    pks = []
    for number in range(4):
        monkeypatch.setattr(estimating, "CODE", f"other {number}")
        made(past.gym)
        pks.append(EstimateSnapshot.objects.order_by("-pk").first().pk)
    kept = EstimateSnapshot.objects.order_by("pk")
    assert [row.pk for row in kept] == pks[2:]
    assert EstimateRun.objects.filter(state="good").count() == 2


def test_one_that_a_forecast_came_from_stays(past, monkeypatch):
    monkeypatch.setattr(estimating, "KEPT", 1)
    made(past.gym)
    first = EstimateSnapshot.objects.get()
    ForecastRecord.objects.create(
        streamed_class=StreamedClass.objects.first(), snapshot=first, is_prior=False, results=12,
        members=3, cap=1080, count=0, gates=[], halfway=[], fade=1.06, naive=0, naive_results=0,
    )  # fmt: skip
    for number in range(2):
        monkeypatch.setattr(estimating, "CODE", f"other {number}")
        made(past.gym)
    kept = list(EstimateSnapshot.objects.order_by("pk"))
    assert len(kept) == 2 and kept[0].pk == first.pk
    assert ForecastRecord.objects.get().snapshot_id == first.pk
