"""Classes that close by themselves, and what their coach is told then."""

from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import call_command
from django.urls import reverse

from scoring import tasks
from scoring.models import Message, MessageKind, State, StreamedClass
from scoring.problems import Refused
from scoring.selectors.digest import digest
from scoring.services.classes import change_draft, close_class, create_class, reopen_class
from scoring.services.closing import close_due, set_closing
from scoring.services.pains import tell_pain
from scoring.services.submitting import ResultInput, submit_result

from ..conftest import NOW, TWO_LADDERS
from .classes import log, make_class
from .mail import prove

ENDS = NOW + timedelta(hours=2)


@pytest.fixture
def timed(people):
    return make_class(people, closes_at=ENDS)


def state(streamed):
    return StreamedClass.objects.values_list("state", flat=True).get(pk=streamed.pk)


def test_it_closes_at_its_time_and_not_before(timed):
    assert close_due(now=ENDS - timedelta(seconds=1)) == [] and state(timed) == State.OPEN
    assert close_due(now=ENDS) == [timed.pk] and state(timed) == State.CLOSED
    assert close_due(now=ENDS) == []


def test_a_draft_and_a_class_without_a_time_stay_as_they_are(people):
    draft = make_class(people, is_open=False, closes_at=ENDS)
    opened = make_class(people)
    assert close_due(now=ENDS + timedelta(days=1)) == []
    assert (state(draft), state(opened)) == (State.DRAFT, State.OPEN)


def test_a_member_is_too_late_at_once_whoever_closes_it_and_when(timed, people):
    log(timed, people.ana, "2+9")
    for member, by in ((people.ben, people.ben), (people.cleo, people.coach)):
        given = dict(
            streamed_class=timed, member=member, entered_by=by, data=ResultInput("1+0"),
            key=f"late {member.pk}", now=ENDS,
        )  # fmt: skip
        if by == member:
            with pytest.raises(Refused, match="closed"):
                submit_result(**given)
        else:
            submit_result(**given)
    assert state(timed) == State.OPEN


def test_reopened_it_stays_open(timed, people):
    close_due(now=ENDS)
    timed.refresh_from_db()
    reopen_class(streamed_class=timed, by=people.coach, now=ENDS)
    assert close_due(now=ENDS + timedelta(days=1)) == [] and state(timed) == State.OPEN


def test_the_time_can_be_set_moved_and_taken_off(people):
    streamed = make_class(people)
    set_closing(streamed_class=streamed, by=people.coach, closes_at=ENDS, now=NOW)
    set_closing(
        streamed_class=streamed, by=people.coach, closes_at=ENDS + timedelta(hours=1), now=NOW
    )
    assert close_due(now=ENDS) == []
    set_closing(streamed_class=streamed, by=people.coach, closes_at=None, now=NOW)
    assert close_due(now=ENDS + timedelta(days=1)) == []


@pytest.mark.parametrize("wrong", [NOW, NOW - timedelta(hours=1), NOW + timedelta(days=61)])
def test_a_time_that_can_not_be_is_refused(people, wrong):
    for make in (
        lambda: create_class(
            gym=people.gym, coach=people.coach, starts_at=NOW, text=TWO_LADDERS, closes_at=wrong
        ),
        lambda: change_draft(
            streamed_class=make_class(people, is_open=False), by=people.coach, closes_at=wrong
        ),
        lambda: set_closing(
            streamed_class=make_class(people), by=people.coach, closes_at=wrong, now=NOW
        ),
    ):
        with pytest.raises(Refused) as refused:
            make()
        assert refused.value.items[0].column == "closes_at"


def test_a_class_that_is_closed_has_no_time_to_set(people, timed):
    close_class(streamed_class=timed, by=people.coach, now=NOW)
    timed.refresh_from_db()
    with pytest.raises(Refused, match="closed already"):
        set_closing(streamed_class=timed, by=people.coach, closes_at=ENDS, now=NOW)


def test_members_of_another_gym_and_members_set_no_time(people, timed):
    for by in (people.ana, people.foreign_coach):
        with pytest.raises(Refused):
            set_closing(streamed_class=timed, by=by, closes_at=None, now=NOW)


def test_the_api_sets_it(client, people):
    streamed = make_class(people)
    client.force_login(people.coach.user)
    later = "2099-01-01T00:00:00Z"
    sent = client.put(
        reverse("api-closing", args=[streamed.pk]), {"closes_at": later}, "application/json"
    )
    assert sent.status_code == 422 and "60 days" in sent.content.decode()
    sent = client.put(
        reverse("api-closing", args=[streamed.pk]), {"closes_at": None}, "application/json"
    )
    assert sent.status_code == 200 and sent.json()["closes_at"] is None


def test_the_digest_says_how_it_went_and_what_waits_and_names_nobody(people, timed):
    log(timed, people.ana, "2+9", effort=7)
    log(timed, people.ben, "2+5", "tuck rock", effort=8)
    log(timed, people.cleo, "1+3", effort=9)
    tell_pain(streamed_class=timed, member=people.ben, areas=["knee"], words="left", now=NOW)
    told = digest(streamed_class=timed, viewer=people.coach)
    assert told.summary == "3 members logged, 2 of them as prescribed."
    assert told.waiting == ("1 member said that something hurts: look at this first",)
    assert digest(streamed_class=timed, viewer=people.ana) is None


def test_of_nobody_it_says_so(people, timed):
    assert digest(streamed_class=timed, viewer=people.coach).summary == "Nobody logged a result."


def test_a_class_that_closes_is_told_to_its_coach_once(people, timed, time_machine):
    prove(people.coach)
    time_machine.move_to(ENDS)
    tasks.close_due()
    tasks.close_due()
    tasks.tell_closed(timed.pk)
    assert [m.subject for m in mail.outbox] == ["Two ladders and a tide is closed"]
    assert mail.outbox[0].to == [people.coach.user.email]
    assert "Nobody logged a result." in mail.outbox[0].body


def test_closed_again_it_is_told_again_and_reopened_it_is_not(people, timed):
    prove(people.coach)
    close_class(streamed_class=timed, by=people.coach, now=NOW)
    first = tasks.due.closed(class_id=timed.pk, now=NOW)
    timed.refresh_from_db()
    reopen_class(streamed_class=timed, by=people.coach, now=NOW)
    assert tasks.due.closed(class_id=timed.pk, now=NOW) == []
    assert tasks.sending.send(pk=first[0], clock=lambda: NOW) == Message.State.DROPPED
    timed.refresh_from_db()
    close_class(streamed_class=timed, by=people.coach, now=NOW + timedelta(minutes=1))
    assert len(tasks.due.closed(class_id=timed.pk, now=NOW)) == 1


def test_the_switch_is_there_for_coaches_only(client, people):
    for who, there in ((people.coach, True), (people.ana, False)):
        client.force_login(who.user)
        html = client.get(reverse("my-messages")).content.decode()
        assert (MessageKind.CLOSED.label in html) is there


def test_without_a_broker_the_command_closes_and_tells(people, timed, capsys, time_machine):
    prove(people.coach)
    time_machine.move_to(ENDS)
    call_command("due")
    assert "Classes closed: 1" in capsys.readouterr().out
    assert state(timed) == State.CLOSED and len(mail.outbox) == 1
