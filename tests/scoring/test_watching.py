"""What waits, and since when: counted from the rows, and of gyms whose estimates are behind."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scoring.messages import due
from scoring.models import CreditChange, EstimateRun, ImportRun, Message, RecomputeRun
from scoring.selectors.watching import LOOKED_BACK, Waiting, estimates_behind, watched
from scoring.services import estimate_runs
from scoring.services.classes import close_class

from ..conftest import NOW
from .classes import log, make_class
from .mail import prove_all
from .test_importing import begin

HOUR = timedelta(hours=1)


def estimated(gym, when, state="good"):
    return EstimateRun.objects.create(
        gym=gym, state=state, asked_at=when, finished_at=when + timedelta(minutes=5)
    )


@pytest.mark.django_db
def test_on_a_site_without_anything_nothing_waits():
    found = watched(now=NOW)
    assert (found.open_classes, found.messages) == (0, Waiting())
    assert set(found.work.values()) == {Waiting()}
    assert estimates_behind(now=NOW) == Waiting()


def test_open_classes_are_counted_and_closed_ones_not(people):
    one, _, _ = make_class(people), make_class(people), make_class(people, is_open=False)
    close_class(streamed_class=one, by=people.coach, now=NOW)
    assert watched(now=NOW).open_classes == 1


def test_messages_wait_from_when_they_are_due_and_not_before(people):
    prove_all()
    due.opened(class_id=make_class(people).pk, now=NOW)
    Message.objects.update(not_before=NOW + HOUR)
    assert watched(now=NOW).messages == Waiting()
    there = Message.objects.count()
    assert there and watched(now=NOW + 3 * HOUR).messages == Waiting(there, 7200.0)
    Message.objects.update(state="sent")
    assert watched(now=NOW + 3 * HOUR).messages == Waiting()


def test_long_work_waits_from_when_it_last_got_on(people):
    streamed = make_class(people)
    begin(streamed, people, "Ana Sol: 2+9")
    ImportRun.objects.update(state="saving", touched_at=NOW)
    RecomputeRun.objects.create(
        streamed_class=streamed, rules_version=1, credit_table=streamed.credit_table, started_at=NOW
    )
    CreditChange.objects.create(
        gym=people.gym, entries=[], reason="x", from_version=streamed.credit_table, went_on_at=NOW
    )
    estimate_runs.ask(gym=people.gym, by=None, now=NOW)
    work = watched(now=NOW + HOUR).work
    for kind in ("import", "recompute", "credit change", "estimate"):
        assert work[kind] == Waiting(1, 3600.0), kind
    ImportRun.objects.update(state="checking")  # now it is the coach who is waited for
    CreditChange.objects.update(state="shown")
    work = watched(now=NOW + HOUR).work
    assert work["import"] == work["credit change"] == Waiting()


def test_a_gym_without_any_estimate_is_behind_once_it_has_results(people):
    streamed = make_class(people)
    assert estimates_behind(now=NOW) == Waiting()
    log(streamed, people.ana, "2+9")
    assert estimates_behind(now=NOW + HOUR) == Waiting(1, 3600.0)


@pytest.mark.parametrize("state", ["good", "unchanged"])
def test_an_estimate_after_the_last_result_is_up_to_date(people, state):
    log(make_class(people), people.ana, "2+9")
    estimated(people.gym, NOW + HOUR, state)
    assert estimates_behind(now=NOW + 30 * HOUR) == Waiting()


def test_a_result_after_the_last_good_estimate_makes_it_old(people):
    streamed = make_class(people)
    estimated(people.gym, NOW - HOUR)
    log(streamed, people.ana, "2+9")
    estimated(people.gym, NOW + HOUR, "failed")
    found = estimates_behind(now=NOW + 2 * HOUR)
    assert found == Waiting(1, 3 * 3600.0 - 300)


def test_results_of_long_past_classes_wait_for_the_night_unnoticed(people):
    old = make_class(people, starts_at=NOW - LOOKED_BACK - 2 * HOUR)
    estimated(people.gym, NOW - HOUR)
    log(old, people.ana, "2+9")
    assert estimates_behind(now=NOW) == Waiting()


def test_it_costs_the_same_few_queries_whatever_there_is(people):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            watched(now=NOW)
            estimates_behind(now=NOW)
        return len(asked)

    before = queries()
    for member in people.members:
        log(make_class(people), member, "2+9")
    assert queries() == before == 9
