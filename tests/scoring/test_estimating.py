"""Estimates in operation: when they are made, of what, and that nothing is made twice."""

import random
from datetime import UTC, datetime, timedelta
from io import StringIO

import numpy as np
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import IntegrityError, transaction

from scoring import enqueue, snapshots, tasks
from scoring.core.estimation.packing import unpacked
from scoring.core.estimation.ways import Way
from scoring.models import (
    Erasure,
    EstimateRun,
    EstimateSnapshot,
    Fact,
    ForecastRecord,
    Result,
    StreamedClass,
)
from scoring.problems import Refused
from scoring.selectors import estimates
from scoring.services import estimate_reading, estimate_runs, estimating
from scoring.services.classes import create_class, open_class
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.erasing import erase
from scoring.services.estimate_runs import (
    FITTING,
    READING,
    Lost,
    ask,
    ask_nightly,
    get_on,
    take,
    waiting,
)
from scoring.services.own_data import own_data
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log, make_class
from .past_classes import held_class


def made(gym, now=NOW):
    """The run of an estimate that is asked for and worked out."""
    ask(gym=gym, by=None, now=now)
    return estimating.estimate(gym_id=gym.pk, clock=lambda: now)


@pytest.fixture
def past(people):
    for number in range(4):
        held_class(people, number)
    return people


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


class TestWhen:
    def test_every_night_once_by_the_gyms_own_clock(self, past):
        """Lisbon is at UTC in November: the night's is due from three o'clock on."""
        made(past.gym, now=datetime(2026, 11, 24, 18, 0, tzinfo=UTC))
        assert ask_nightly(now=datetime(2026, 11, 25, 2, 59, tzinfo=UTC)) == []
        assert ask_nightly(now=datetime(2026, 11, 25, 3, 0, tzinfo=UTC)) == [past.gym.pk]
        assert EstimateRun.objects.filter(state="waiting").count() == 1
        assert ask_nightly(now=datetime(2026, 11, 25, 3, 1, tzinfo=UTC)) == []

    def test_a_night_that_was_missed_is_made_up_for(self, past):
        made(past.gym)
        assert ask_nightly(now=NOW + timedelta(days=3)) == [past.gym.pk]

    def test_old_runs_without_a_snapshot_are_dropped(self, past):
        made(past.gym)
        made(past.gym)
        assert EstimateRun.objects.filter(state="unchanged").exists()
        ask_nightly(now=NOW + timedelta(days=31))
        assert set(EstimateRun.objects.values_list("state", flat=True)) == {"good", "waiting"}

    def test_beat_knows_it(self):
        beat = {job["task"] for job in settings.CELERY_BEAT_SCHEDULE.values()}
        assert tasks.estimate_due.name in beat

    def test_with_a_broker_it_is_begun_on_commit_and_a_lost_broker_breaks_no_page(
        self, past, settings, monkeypatch, django_capture_on_commit_callbacks
    ):
        begun = []
        settings.CELERY_TASK_ALWAYS_EAGER = False
        monkeypatch.setattr(tasks.estimate, "delay", begun.append)
        with django_capture_on_commit_callbacks(execute=True):
            enqueue.estimate(gym_id=past.gym.pk)
            assert not begun
        assert begun == [past.gym.pk]

        def away(pk):
            raise OSError("no broker")

        monkeypatch.setattr(tasks.estimate, "delay", away)
        with django_capture_on_commit_callbacks(execute=True):
            enqueue.estimate(gym_id=past.gym.pk)
        assert waiting(now=NOW) == [past.gym.pk]  # the next minute finds it

    def test_a_class_that_closes_while_one_is_worked_out_brings_another_after_it(self, past):
        first = take(gym_id=past.gym.pk, now=NOW)
        held_class(past, 6)
        assert EstimateRun.objects.get().again
        estimate_runs.finish(run=first, state="unchanged", now=NOW)
        [second] = EstimateRun.objects.filter(finished_at=None)
        assert second.state == "waiting" and second.pk != first.pk


class TestWorkersThatDie:
    def test_nobody_takes_a_run_that_is_held(self, past):
        run = take(gym_id=past.gym.pk, now=NOW)
        assert run.state == "gathering"
        soon = NOW + READING - timedelta(seconds=1)
        assert take(gym_id=past.gym.pk, now=soon) is None and waiting(now=soon) == []

    @pytest.mark.parametrize(("state", "held"), [("gathering", READING), ("fitting", FITTING)])
    def test_one_left_in_any_state_is_taken_up_and_finished(self, past, state, held):
        dead = take(gym_id=past.gym.pk, now=NOW)
        get_on(run=dead, now=NOW, state=state)
        assert waiting(now=NOW + held) == [past.gym.pk]
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW + held)
        assert (run.pk, run.state, run.attempts) == (dead.pk, "good", 2)
        assert EstimateSnapshot.objects.count() == 1

    def test_a_worker_thought_dead_writes_nothing_when_it_comes_back(self, past):
        slow = take(gym_id=past.gym.pk, now=NOW)
        later = NOW + READING
        estimating.estimate(gym_id=past.gym.pk, clock=lambda: later)
        with pytest.raises(Lost):
            get_on(run=slow, now=later, done=3)
        with pytest.raises(Lost):
            estimate_runs.finish(run=slow, state="good", now=later)
        estimate_runs.fail(run=slow, why="late", now=later)
        assert EstimateRun.objects.get().state == "good"
        assert EstimateSnapshot.objects.count() == 1

    def test_one_whose_workers_keep_dying_is_given_up_and_says_so(self, past):
        now = NOW
        for _ in range(estimate_runs.MOST_ATTEMPTS):
            assert take(gym_id=past.gym.pk, now=now) is not None
            now += READING
        assert take(gym_id=past.gym.pk, now=now) is None
        run = EstimateRun.objects.get()
        assert run.state == "failed" and "stopped each time" in run.why
        assert made(past.gym, now=now).state == "good"  # the next night tries anew

    def test_a_fault_is_told_and_the_last_good_one_stays(self, past, monkeypatch):
        made(past.gym)
        held = estimates.latest(gym_id=past.gym.pk)
        held_class(past, 7)

        def broken(*args):
            raise ArithmeticError("no fit")

        monkeypatch.setattr(estimating, "fit", broken)
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW)
        assert run.state == "failed" and run.why
        assert estimates.latest(gym_id=past.gym.pk).pk == held.pk

    def test_only_one_run_of_a_gym_can_be_unfinished(self, past):
        with pytest.raises(IntegrityError), transaction.atomic():
            EstimateRun.objects.create(gym=past.gym)
        with pytest.raises(IntegrityError), transaction.atomic():
            EstimateRun.objects.create(gym=past.stranger_gym, state="good")


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


class TestAsking:
    def test_a_coach_asks_and_a_member_or_another_gyms_coach_may_not(self, past):
        EstimateRun.objects.all().delete()
        assert ask(gym=past.gym, by=past.coach, now=NOW).by == past.coach
        for by in (past.ana, past.foreign_coach):
            with pytest.raises(Refused):
                ask(gym=past.gym, by=by, now=NOW)

    def test_asked_twice_it_is_one(self, past):
        assert (
            ask(gym=past.gym, by=past.coach, now=NOW).pk == ask(gym=past.gym, by=None, now=NOW).pk
        )


class TestCommand:
    def test_it_prints_a_line_a_gym(self, past):
        out = StringIO()
        call_command("estimate", stdout=out)
        first, second = out.getvalue().splitlines()
        assert first.startswith("harbour: 12 results of 3 members in 4 classes, 0 left out.")
        assert second == "hilltop: nothing new. There are no results yet."

    def test_one_gym_by_its_slug(self, past):
        out = StringIO()
        call_command("estimate", "--gym", "harbour", stdout=out)
        assert len(out.getvalue().splitlines()) == 1
        with pytest.raises(Exception, match="no gym 'nowhere'"):
            call_command("estimate", "--gym", "nowhere")


class TestErasing:
    def erased(self, people, member, results):
        row = Erasure.objects.create(
            user=member.user, results=results, due_at=NOW - timedelta(days=1)
        )
        assert erase(pk=row.pk, now=NOW)

    @pytest.mark.parametrize("results", ["anonymous", "gone"])
    def test_every_snapshot_loses_their_level(self, past, results):
        made(past.gym)
        held_class(past, 8)
        made(past.gym)
        before = estimates.latest(gym_id=past.gym.pk)
        at, key = before.member_at(past.ana.pk), past.ana.pk
        own = [before.result_at(r.pk) for r in Result.objects.filter(member=past.ana)]
        self.erased(past, past.ana, results)
        assert EstimateSnapshot.objects.count() == 2
        for row in EstimateSnapshot.objects.all():
            assert key not in snapshots.read_keys(row.members) and row.blanked == 1
            levels = unpacked(bytes(row.figures)).levels
            assert levels.start[at] == levels.start[at + 1]
            assert not levels.lean[at].any()
        after = estimates.latest(gym_id=past.gym.pk)
        assert after.pk == before.pk and after.member_at(key) is None  # not as read before
        assert np.isnan(after.estimate.expected[own]).all()
        # Others' figures are as they were.
        assert after.estimate.cost.tobytes() == before.estimate.cost.tobytes()
        for member in (past.ben, past.cleo):
            was, now = (h.member_at(member.pk) for h in (before, after))
            one, two = (
                h.estimate.levels.mean[h.estimate.levels.start[i] : h.estimate.levels.start[i + 1]]
                for h, i in ((before, was), (after, now))
            )
            assert one.tobytes() == two.tobytes() and len(one) == 5

    def test_a_snapshot_nobody_can_read_any_more_goes_as_a_whole(self, past, monkeypatch):
        made(past.gym)
        held_class(past, 8)
        monkeypatch.setattr(estimating, "packed", lambda estimate: b"of another version")
        made(past.gym)
        assert estimates.held(gym_id=past.gym.pk).is_prior  # pages go on without it
        self.erased(past, past.ana, "anonymous")
        [left] = EstimateSnapshot.objects.all()
        assert bytes(left.figures) != b"of another version"
        assert past.ana.pk not in snapshots.read_keys(left.members)

    @pytest.mark.parametrize("results", ["anonymous", "gone"])
    def test_who_is_erased_while_one_is_worked_out_is_not_in_it(self, past, monkeypatch, results):
        real, key = estimating.fit, past.ana.pk

        def slow(*args):
            self.erased(past, past.ana, results)
            return real(*args)

        monkeypatch.setattr(estimating, "fit", slow)
        assert made(past.gym).state == "good"
        row = EstimateSnapshot.objects.get()
        assert key not in snapshots.read_keys(row.members)
        starts = unpacked(bytes(row.figures)).levels.start
        assert sorted(np.diff(starts).tolist()) == [0, 4, 4]

    def test_results_that_go_are_learned_from_no_more(self, past):
        made(past.gym)
        self.erased(past, past.ana, "gone")
        assert waiting(now=NOW) == [past.gym.pk]
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW)
        assert run.state == "good" and run.snapshot.result_count == 8

    def test_who_stays_as_nobody_has_no_level_in_new_ones_either(self, past, monkeypatch):
        made(past.gym)
        self.erased(past, past.ana, "anonymous")
        blanked = EstimateSnapshot.objects.get()
        monkeypatch.setattr(estimating, "CODE", "other")
        made(past.gym)
        anew = EstimateSnapshot.objects.order_by("-pk").first()
        assert anew.result_count == 12  # their results still teach what a rep costs
        for name in ("figures", "members", "classes", "results"):
            assert bytes(getattr(anew, name)) == bytes(getattr(blanked, name)), name

    def test_when_all_are_gone_nothing_is_held_of_anybody(self, past):
        made(past.gym)
        for member in past.members:
            self.erased(past, member, "gone")
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW)
        assert run.state == "good" and run.snapshot.result_count == 0
        assert estimates.held(gym_id=past.gym.pk).is_prior


def test_a_copy_of_ones_data_has_ones_levels_and_nobody_elses(past):
    assert own_data(past.ana.user)["levels"] == []
    made(past.gym)
    rows = own_data(past.ana.user)["levels"]
    assert len(rows) == 4 and {row["gym"] for row in rows} == {past.gym.name}
    assert [row["results"] for row in rows] == [1] * 4
    assert all(row["level_low"] < row["level"] < row["level_high"] for row in rows)
    assert rows != own_data(past.ben.user)["levels"]
    assert own_data(past.coach.user)["levels"] == []
