"""Changes of credits whose work stopped in the middle."""

from datetime import timedelta

import pytest
from django.core.management import call_command

from scoring import tasks
from scoring.models import CreditChange, RecomputeRun, Score, StreamedClass
from scoring.services import credit_changes, recompute
from scoring.services.credit_changes import (
    go_on,
)
from scoring.services.recompute import differences

from ..conftest import NOW
from .classes import log, make_class
from .credit_scenes import LATER, ROCKS, accepted, ask, done

pytestmark = pytest.mark.django_db


@pytest.fixture
def rocks(people):
    """100 tuck rocks: 80 by the usual figure, 95 by a credit of 0.95; 90 as prescribed."""
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    log(found, people.cleo, "1+0")
    return found


def test_work_that_fails_half_way_goes_on_and_nothing_is_done_twice(people, rocks, monkeypatch):
    other = make_class(people, ROCKS)
    log(other, people.ana, "4+0", "tuck rock")
    monkeypatch.setattr(recompute, "CHUNK", 1)
    change = accepted(people, ask(people))
    real, calls = recompute.score, []

    def dies(*args):
        calls.append(args)
        if len(calls) in (2, 3):
            raise RuntimeError("power cut")
        return real(*args)

    monkeypatch.setattr(recompute, "score", dies)
    assert go_on(change_id=change.pk, now=NOW) == "stuck"
    change.refresh_from_db()
    assert change.state == "working"
    monkeypatch.setattr(recompute, "score", real)
    later = NOW + timedelta(minutes=5)
    assert credit_changes.unfinished(now=later) == [change.pk]
    assert go_on(change_id=change.pk, now=later) == "done"
    runs = RecomputeRun.objects.order_by("streamed_class_id")
    assert [(r.streamed_class_id, r.done) for r in runs] == [(rocks.pk, 3), (other.pk, 1)]
    assert [row.moved for row in change.classes.order_by("streamed_class_id")] == [1, 1]
    for streamed in StreamedClass.objects.all():
        assert differences(streamed_class=streamed) == []


def test_a_worker_that_died_just_after_a_class_does_not_recompute_it(people, rocks, monkeypatch):
    change = accepted(people, ask(people))
    recompute.recompute_class(streamed_class=rocks, table=change.to_version, now=NOW)
    go_on(change_id=change.pk, now=LATER)
    assert RecomputeRun.objects.count() == 1 and change.classes.get().moved == 1


def test_steps_leave_off_and_are_taken_up_again(people, rocks, monkeypatch):
    monkeypatch.setattr(recompute, "CHUNK", 1)
    change = accepted(people, ask(people))
    answers = []
    while not answers or answers[-1] == "more":
        answers.append(go_on(change_id=change.pk, now=NOW, steps=1))
        log(rocks, people.owner, f"{len(answers)}+0", "tuck rock")  # logged all the while
    assert answers[:3] == ["more"] * 3 and answers[-1] == "done"
    assert differences(streamed_class=StreamedClass.objects.get(pk=rocks.pk)) == []
    assert {s.credit_table_id for s in Score.objects.all()} == {change.to_version_id}


def test_the_beat_takes_up_what_nobody_is_at_and_drops_old_previews(people, rocks):
    change = accepted(people, ask(people, now=NOW - timedelta(days=400)))
    CreditChange.objects.update(went_on_at=NOW - timedelta(days=1))
    forgotten = ask(people, ("hollow rock", "tuck rock", "0.5"), now=NOW - timedelta(days=400))
    assert tasks.credit_changes() == 1
    change.refresh_from_db()
    assert change.state == "done"
    assert not CreditChange.objects.filter(pk=forgotten.pk).exists()
    assert tasks.credit_changes() == 0


def test_the_command_finishes_what_was_left(people, rocks, capsys):
    change = accepted(people, ask(people))
    call_command("credit_changes")
    assert "done" in capsys.readouterr().out
    change.refresh_from_db()
    assert change.state == "done"


def test_a_class_opened_by_the_old_credits_while_it_is_accepted_is_taken_in(people, rocks):
    change = accepted(people, ask(people))
    late = make_class(people, ROCKS)
    StreamedClass.objects.filter(pk=late.pk).update(credit_table=change.from_version)
    go_on(change_id=change.pk, now=NOW)
    late.refresh_from_db()
    assert late.credit_table == change.to_version


def test_rescoring_from_a_class_read_before_does_not_take_the_old_credits_back(people, rocks):
    old = StreamedClass.objects.select_related("credit_table", "workout").get(pk=rocks.pk)
    change = done(people, ask(people))
    recompute.recompute_class(streamed_class=old, now=LATER)
    assert {s.credit_table_id for s in Score.objects.all()} == {change.to_version_id}
