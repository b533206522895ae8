"""Work that stopped is found by whoever looks for it; whoever may still be at it is left alone."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import OperationalError
from kombu.exceptions import OperationalError as BrokerGone

from scoring import enqueue, tasks
from scoring.models import CreditChange, DataExport, EstimateRun, ImportRun, RecomputeRun
from scoring.selectors.imports import stopped_imports
from scoring.services import credit_changes, estimating, recompute
from scoring.services.credit_changes import EntryInput, accept, go_on, propose, seen_of
from scoring.services.estimate_runs import ask, take, waiting
from scoring.services.exporting import ask_export, make_export, waiting_exports
from scoring.services.importing import start_import
from scoring.services.recompute import recompute_class, start_recompute, stopped_recomputes

from ..conftest import NOW
from .classes import log, make_class
from .credit_scenes import ROCKS

MINUTE = timedelta(minutes=1)
BACK = NOW - timedelta(hours=2)
"""Two hours before what was noted at NOW: the clock was set back."""


@pytest.fixture
def streamed(people):
    streamed = make_class(people, ROCKS)
    for number, member in enumerate(people.members):
        log(streamed, member, f"{number + 2}+0", "tuck rock")
    return streamed


class TestRecomputes:
    def test_one_that_stopped_is_found_after_a_while_and_finished_once(self, streamed, monkeypatch):
        start_recompute(streamed_class=streamed, now=NOW)
        assert stopped_recomputes(now=NOW + MINUTE) == []
        assert stopped_recomputes(now=NOW + 2 * MINUTE) == [streamed.pk]
        monkeypatch.setattr(tasks.timezone, "now", lambda: NOW + 2 * MINUTE)
        assert tasks.go_on_recomputes() == 1
        run = RecomputeRun.objects.get()
        assert (run.done, run.finished_at) == (3, NOW + 2 * MINUTE)
        assert tasks.go_on_recomputes() == 0 and tasks.recompute(streamed.pk) == 0
        assert RecomputeRun.objects.count() == 1

    def test_one_that_began_before_the_clock_was_set_back_is_found(self, streamed):
        start_recompute(streamed_class=streamed, now=NOW)
        assert stopped_recomputes(now=BACK) == [streamed.pk]

    def test_one_of_a_change_of_credits_is_left_to_the_change_that_counts_it(
        self, streamed, people, monkeypatch
    ):
        change = propose(
            gym=people.gym, by=people.coach, reason="they are hard", scope="all", now=NOW,
            entries=[EntryInput("hollow rock", "tuck rock", "0.95")],
        )  # fmt: skip
        go_on(change_id=change.pk, now=NOW)
        change.refresh_from_db()
        change = accept(change=change, by=people.coach, seen=seen_of(change), now=NOW)
        monkeypatch.setattr(recompute, "CHUNK", 1)
        go_on(change_id=change.pk, now=NOW, steps=1)
        assert RecomputeRun.objects.get().finished_at is None
        assert stopped_recomputes(now=NOW + 5 * MINUTE) == []
        go_on(change_id=change.pk, now=NOW + 5 * MINUTE)
        assert change.classes.get().moved == 3

    def test_the_command_for_a_timer_goes_on_too(self, streamed, capsys):
        start_recompute(streamed_class=streamed, now=BACK)  # long ago by any clock
        call_command("due")
        assert "Recomputes taken up again: 1" in capsys.readouterr().out
        assert RecomputeRun.objects.get().finished_at is not None


def test_a_copy_of_data_that_nobody_made_is_found(people):
    row = ask_export(user=people.ana.user, site="http://x", now=NOW)
    assert waiting_exports(now=NOW + 4 * MINUTE) == []
    assert waiting_exports(now=NOW + 5 * MINUTE) == waiting_exports(now=BACK) == [row.pk]
    assert make_export(pk=row.pk, now=NOW) and waiting_exports(now=NOW + 5 * MINUTE) == []
    assert DataExport.objects.get().state == "ready"


def test_an_import_touched_before_the_clock_was_set_back_is_taken_up(streamed, people):
    run = start_import(
        streamed_class=streamed, by=people.coach, kind="chat", data=b"Ana Sol: 2+9", now=NOW
    )
    assert not stopped_imports(now=NOW + MINUTE).exists()
    assert list(stopped_imports(now=BACK)) == [run] == list(ImportRun.objects.all())


def test_a_change_of_credits_from_before_the_clock_was_set_back_is_taken_up(streamed, people):
    change = propose(
        gym=people.gym, by=people.coach, reason="they are hard", scope="all", now=NOW,
        entries=[EntryInput("hollow rock", "tuck rock", "0.95")],
    )  # fmt: skip
    assert credit_changes.unfinished(now=NOW + MINUTE) == []
    assert credit_changes.unfinished(now=BACK) == [change.pk]
    assert CreditChange.objects.get().state == "looking"


class TestEstimates:
    def test_one_held_before_the_clock_was_set_back_is_free(self, streamed, people):
        ask(gym=people.gym, by=None, now=NOW)
        held = take(gym_id=people.gym.pk, now=NOW)
        assert waiting(now=NOW + MINUTE) == [] and take(gym_id=people.gym.pk, now=NOW) is None
        assert waiting(now=BACK) == [people.gym.pk]
        other = take(gym_id=people.gym.pk, now=BACK)
        assert other.pk == held.pk and other.holder != held.holder

    def test_a_database_that_went_away_is_no_fault_of_the_estimate(
        self, streamed, people, monkeypatch
    ):
        ask(gym=people.gym, by=None, now=NOW)

        def away(**kwargs):
            raise OperationalError("the server closed the connection")

        monkeypatch.setattr(estimating, "read", away)
        with pytest.raises(OperationalError):
            estimating.estimate(gym_id=people.gym.pk, clock=lambda: NOW)
        assert EstimateRun.objects.get().finished_at is None
        assert waiting(now=NOW + 6 * MINUTE) == [people.gym.pk]


class TestStarting:
    """A broker that is away holds nobody up."""

    @pytest.fixture
    def asked(self, settings, monkeypatch):
        settings.CELERY_TASK_ALWAYS_EAGER = False
        calls = []

        def gone(*args):
            calls.append(args)
            raise BrokerGone("connection refused")

        for name in ("tell_opened", "tell_closed", "tell_erasure_asked"):
            monkeypatch.setattr(getattr(tasks, name), "delay", gone)
        enqueue._pause.end()
        yield calls
        enqueue._pause.end()

    def test_it_is_asked_once_and_then_left_alone(
        self, asked, django_capture_on_commit_callbacks, db
    ):
        with django_capture_on_commit_callbacks(execute=True):
            enqueue.class_opened(class_id=1)
            enqueue.class_closed(class_id=1)
        assert asked == [(1,)]

    def test_what_nothing_would_find_later_is_done_at_once(
        self, asked, django_capture_on_commit_callbacks, db, monkeypatch
    ):
        told = []
        monkeypatch.setattr(tasks.erasures, "tell_asked", lambda **kwargs: told.append(kwargs))
        with django_capture_on_commit_callbacks(execute=True):
            enqueue.tell_erasure_asked(pk=7, site="http://x/")
        assert told == [{"pk": 7, "site": "http://x/"}]


def test_a_finished_recompute_is_not_gone_on_with(streamed):
    recompute_class(streamed_class=streamed, now=NOW)
    assert recompute.go_on(class_id=streamed.pk, now=NOW) is None
    assert recompute.go_on(class_id=10**6, now=NOW) is None
