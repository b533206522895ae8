"""Estimates in operation: when one is made, who may ask, and workers that die at it."""

from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import IntegrityError, transaction

from scoring import enqueue, tasks
from scoring.models import EstimateRun, EstimateSnapshot
from scoring.problems import Refused
from scoring.selectors import estimates
from scoring.services import estimate_runs, estimating
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

from ..conftest import NOW
from .past_classes import held_class, made


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
