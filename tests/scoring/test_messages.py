"""Who is told what by e-mail, when, and in which words."""

from datetime import timedelta
from io import StringIO

import pytest
from django.conf import settings as django_settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils.module_loading import import_string

from members.services import accept_invitation, invite, remove_member
from scoring.demo.load import load
from scoring.messages import due
from scoring.models import Message, MessageKind, MessageSettings, StreamedClass
from scoring.services.classes import close_class, reopen_class
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.messages import switch_off
from scoring.services.requests import answer_request, ask_for_change
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member
from .classes import log, make_class
from .mail import NOON, class_at, prove, prove_all, regular, run, send_all

HOUR = timedelta(hours=1)


def receivers(mailoutbox):
    return sorted(address for mail in mailoutbox for address in mail.to)


def address(*members):
    return sorted(member.user.email for member in members)


def correct(result, by, mark="3+0", reason="The recording shows it"):
    data = ResultInput(mark=mark)
    return correct_result(result=result, by=by, data=data, reason=reason, now=NOON)


def asked(people, streamed, member):
    return ask_for_change(
        streamed_class=streamed,
        member=member,
        data=ResultInput(mark="3+9"),
        words="I counted wrong",
        now=NOON,
    )


# --- a class is open ---------------------------------------------------------


def test_a_gym_is_told_that_a_class_is_open_but_not_its_coach(people, mailoutbox):
    prove_all()
    streamed = make_class(people)
    due.opened(class_id=streamed.pk, now=NOON)
    assert set(send_all()) == {"sent"}
    assert receivers(mailoutbox) == address(people.owner, *people.members)
    text = mailoutbox[0].body
    assert "Two ladders and a tide is open" in text and "Tuesday 24 November, 18:30" in text
    assert reverse("class", args=[streamed.pk]) in text


def test_the_time_is_that_of_the_members_own_clock(people, mailoutbox):
    prove(people.ana)
    people.ana.timezone = "Asia/Kathmandu"
    people.ana.save()
    due.opened(class_id=make_class(people).pk, now=NOON)
    send_all()
    # 18:30 UTC is a quarter past midnight there, +05:45 (IANA time zone database).
    assert "Wednesday 25 November, 00:15" in mailoutbox[0].body


def test_a_draft_and_a_closed_class_are_nobodys_news(people):
    prove_all()
    draft = make_class(people, is_open=False)
    assert due.opened(class_id=draft.pk, now=NOON) == []
    closed = close_class(streamed_class=make_class(people), by=people.coach, now=NOW)
    assert due.opened(class_id=closed.pk, now=NOON) == []
    assert due.opened(class_id=10**9, now=NOON) == []


@pytest.mark.parametrize("how", ["unproven", "no account", "closed account", "left", "off"])
def test_who_can_not_or_will_not_be_written_to_is_not(people, mailoutbox, how):
    prove(people.ana, people.ben)
    if how == "unproven":
        people.ana.user.emailaddress_set.update(verified=False)
    elif how == "no account":
        people.ana.user = None
        people.ana.save()
    elif how == "closed account":
        people.ana.user.is_active = False
        people.ana.user.save()
    elif how == "left":
        remove_member(membership=people.ana, by=people.coach, now=NOON)
    else:
        switch_off(member=people.ana, kind=MessageKind.OPENED)
    due.opened(class_id=make_class(people).pk, now=NOON)
    send_all()
    assert receivers(mailoutbox) == address(people.ben)


@pytest.mark.parametrize("how", ["left", "off", "closed", "unproven", "old"])
def test_what_is_no_longer_wanted_when_it_is_sent_is_dropped(people, mailoutbox, how):
    prove(people.ana)
    streamed, now = make_class(people), NOON
    due.opened(class_id=streamed.pk, now=NOON)
    if how == "left":
        remove_member(membership=people.ana, by=people.coach, now=NOON)
    elif how == "off":
        switch_off(member=people.ana, kind=MessageKind.OPENED)
    elif how == "closed":
        close_class(streamed_class=streamed, by=people.coach, now=NOON)
    elif how == "unproven":
        people.ana.user.emailaddress_set.update(verified=False)
    else:
        now = NOON + timedelta(days=4)
    assert send_all(now) == ["dropped"] and mailoutbox == []


def test_opened_again_or_told_again_it_is_one_message(people, mailoutbox):
    prove(people.ana)
    streamed = make_class(people)
    for _ in range(2):
        due.opened(class_id=streamed.pk, now=NOON)
        send_all()
    streamed = close_class(streamed_class=streamed, by=people.coach, now=NOON)
    reopen_class(streamed_class=streamed, by=people.coach, now=NOON)
    due.opened(class_id=streamed.pk, now=NOON)
    send_all()
    run(NOON)
    assert len(mailoutbox) == 1 and Message.objects.count() == 1


def test_who_is_told_of_one_class_is_told_of_the_next(people, mailoutbox):
    prove(people.ana)
    for _ in range(2):
        due.opened(class_id=make_class(people).pk, now=NOON)
    send_all()
    assert len(mailoutbox) == 2
    # Two classes, two e-mails that no mailbox takes for one.
    assert len({mail.extra_headers["Message-ID"] for mail in mailoutbox}) == 2


# --- the same by pages and API, after commit ---------------------------------


@pytest.fixture
def loud(monkeypatch, people):
    """Nobody has quiet hours, at whatever time the tests run."""
    for member in (people.owner, people.coach, *people.members):
        MessageSettings.objects.create(member=member, quiet_from="00:00", quiet_until="00:00")
    prove(people.ana)


def client_of(member):
    client = Client()
    client.force_login(member.user)
    return client


def test_what_coaches_do_by_pages_is_told(
    people, loud, mailoutbox, django_capture_on_commit_callbacks
):
    streamed = make_class(people, is_open=False)
    page = reverse("class-manage", args=[streamed.pk])
    coach = client_of(people.coach)
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(page, {"act": "open"})
    result = log(StreamedClass.objects.get(), people.ana, "2+9").result
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(page, {"act": "correct", "result": result.pk, "mark": "3+0", "reason": "x"})
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(page, {"act": "withdraw", "result": result.pk, "reason": "y"})
    with django_capture_on_commit_callbacks(execute=True):
        coach.post(page, {"act": "log", "member": people.ana.pk, "mark": "1+0", "key": "k"})
    subjects = [mail.subject for mail in mailoutbox]
    corrected = "Your result in Two ladders and a tide was corrected"
    assert subjects == ["Two ladders and a tide is open", corrected, corrected, corrected]


def test_what_coaches_do_by_the_api_is_told(
    people, loud, mailoutbox, django_capture_on_commit_callbacks
):
    streamed = make_class(people, is_open=False)
    coach = client_of(people.coach)

    def post(name, pk, body, **headers):
        with django_capture_on_commit_callbacks(execute=True):
            answer = coach.post(
                reverse(name, args=[pk]), body, content_type="application/json", headers=headers
            )
        assert answer.status_code in (200, 201), answer.content

    post("api-class-open", streamed.pk, {})
    result = log(StreamedClass.objects.get(), people.ana, "2+9").result
    post("api-correct", result.pk, {"mark": "3+0", "reason": "x"})
    post("api-withdraw", result.pk, {"reason": "y"})
    body = {"mark": "1+0", "member": people.ana.pk}
    post("api-results", streamed.pk, body, **{"Idempotency-Key": "k"})
    assert len(mailoutbox) == 4 and receivers(mailoutbox) == address(people.ana) * 4


def test_a_member_who_logs_and_withdraws_gets_no_mail_about_it(
    people, loud, mailoutbox, django_capture_on_commit_callbacks
):
    result = log(make_class(people), people.ana, "2+9").result
    with django_capture_on_commit_callbacks(execute=True):
        client_of(people.ana).post(reverse("result-withdraw", args=[result.pk]))
    assert mailoutbox == [] and not Message.objects.exists()


def test_a_broker_that_is_away_breaks_no_page_and_the_message_is_found_later(
    people, loud, mailoutbox, monkeypatch, django_capture_on_commit_callbacks
):
    def away(*args):
        raise OSError("no broker")

    monkeypatch.setattr("scoring.tasks.tell_opened.delay", away)
    streamed = make_class(people, is_open=False)
    with django_capture_on_commit_callbacks(execute=True):
        answer = client_of(people.coach).post(
            reverse("class-manage", args=[streamed.pk]), {"act": "open"}
        )
    assert answer.status_code == 302 and mailoutbox == []
    run(StreamedClass.objects.get().opened_at + HOUR)
    assert receivers(mailoutbox) == address(people.ana)


# --- reminders ---------------------------------------------------------------


@pytest.fixture
def evening(people):
    """Ana and Ben usually log, Cleo does not; a class at noon that is open."""
    prove_all()
    regular(people, people.ana, people.ben)
    regular(people, people.cleo, times=1)
    return class_at(people, NOON)


def reminded(mailoutbox):
    return receivers([mail for mail in mailoutbox if mail.subject.startswith("Did you do")])


def test_some_hours_after_the_start_those_are_reminded_who_usually_log(people, evening, mailoutbox):
    log(evening, people.ben, "2+9")
    run(NOON + 2 * HOUR)
    assert reminded(mailoutbox) == []
    for hours in (3, 3, 4):
        run(NOON + hours * HOUR)
    assert reminded(mailoutbox) == address(people.ana)


def test_nobody_is_reminded_of_a_class_that_is_closed_or_long_past(people, evening, mailoutbox):
    run(NOON + 25 * HOUR)
    assert reminded(mailoutbox) == []
    close_class(streamed_class=evening, by=people.coach, now=NOON)
    run(NOON + 3 * HOUR)
    assert reminded(mailoutbox) == []


def test_who_logs_while_the_reminder_waits_for_the_morning_is_not_reminded(
    people, evening, mailoutbox
):
    StreamedClass.objects.filter(pk=evening.pk).update(starts_at=NOW)
    run(NOW + 3 * HOUR)  # half past nine in the evening: quiet
    assert reminded(mailoutbox) == []
    log(evening, people.ana, "2+9")
    withdraw_result(
        result=log(evening, people.ben, "2+9").result, by=people.ben, reason="", now=NOW
    )
    run(NOW.replace(hour=7, minute=0) + timedelta(days=1))
    assert reminded(mailoutbox) == []
    states = Message.objects.filter(kind="reminder").values_list("state", flat=True)
    assert list(states) == ["dropped", "dropped"]


# --- corrected and answered --------------------------------------------------


def test_a_correction_says_what_was_what_is_and_why(people, mailoutbox):
    prove_all()
    result = log(make_class(people), people.ana, "2+9").result
    fact = correct(result, people.coach)
    due.corrected(fact_id=fact.pk, now=NOON)
    send_all()
    assert receivers(mailoutbox) == address(people.ana)
    for words in ("Carl Coach", "Before: 2+9", "Now: 3+0", "The recording shows it"):
        assert words in mailoutbox[0].body


def test_of_two_corrections_before_sending_only_what_counts_is_told(people, mailoutbox):
    prove_all()
    result = log(make_class(people), people.ana, "2+9").result
    for mark in ("3+0", "4+0"):
        due.corrected(fact_id=correct(result, people.coach, mark).pk, now=NOON)
    assert send_all() == ["dropped", "sent"]
    assert "Now: 4+0" in mailoutbox[0].body


def test_ones_own_change_and_a_first_entry_by_the_coach_are_no_corrections(people):
    prove_all()
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    own = log(streamed, people.ana, "3+0").fact
    entered = log(streamed, people.ben, "2+9", by=people.coach).fact
    by_coach_for_self = log(streamed, people.coach, "2+9").result
    for fact in (own, entered, correct(by_coach_for_self, people.coach)):
        due.corrected(fact_id=fact.pk, now=NOON)
    assert not Message.objects.exists()


@pytest.mark.parametrize("accept", [True, False])
def test_an_answer_is_told_once_and_not_as_a_correction_too(people, mailoutbox, accept):
    prove_all()
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    request = asked(people, streamed, people.ana)
    assert due.answered(request_id=request.pk, now=NOON) == []
    answer_request(request=request, by=people.coach, accept=accept, words="As you say", now=NOON)
    run(NOON)  # nobody told the outbox: it is found
    due.answered(request_id=request.pk, now=NOON)
    send_all()
    told = [sent for sent in mailoutbox if sent.to != [people.coach.user.email]]
    assert receivers(told) == address(people.ana)
    assert ("accepted" if accept else "declined") in told[0].subject
    assert "As you say" in told[0].body and "3+9" in told[0].body


# --- the weekly summary ------------------------------------------------------


MONDAY = NOW.replace(day=30, hour=7, minute=5)  # of the week after the tests' classes


@pytest.fixture
def weekly(people):
    prove_all()
    for member in (people.ana, people.foreigner):
        MessageSettings.objects.create(member=member, weekly=True)


def summaries(mailoutbox):
    return [mail for mail in mailoutbox if mail.subject.startswith("Your week")]


def test_on_monday_the_last_week_is_told_with_places_and_what_comes(people, weekly, mailoutbox):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    log(streamed, people.ben, "3+9")
    class_at(people, NOW + timedelta(days=7))
    class_at(people, NOW + timedelta(days=8), is_open=False)
    class_at(people, NOW + timedelta(days=14))
    run(MONDAY - 2 * HOUR)
    run(MONDAY - timedelta(days=1))
    assert summaries(mailoutbox) == []
    for hours in (0, 1, 24):
        run(MONDAY + hours * HOUR)
    (mail,) = summaries(mailoutbox)
    assert mail.to == [people.ana.user.email]
    assert "You logged 1 class in the week of 23 November." in mail.body
    assert "2+9, adjusted" in mail.body and "place 2 of 2" in mail.body
    assert mail.body.count("Coming:") == 1 and "Tuesday 1 December, 18:30" in mail.body
    assert Message.objects.filter(kind="weekly", member=people.ana).get().subject_key == "2026-W48"


def test_monday_is_the_members_own(people, weekly, mailoutbox):
    people.ana.timezone = "Pacific/Auckland"
    people.ana.save()
    log(make_class(people), people.ana, "2+9")
    # Seven on Monday there is six in the evening of Sunday, UTC+13 (IANA database).
    run(MONDAY.replace(day=29, hour=17, minute=55))
    assert summaries(mailoutbox) == []
    run(MONDAY.replace(day=29, hour=18, minute=5))
    assert len(summaries(mailoutbox)) == 1


def test_a_week_with_nothing_in_it_is_not_written_about(people, weekly, mailoutbox):
    run(MONDAY)
    assert summaries(mailoutbox) == []


# --- running it --------------------------------------------------------------


def test_the_command_sends_what_is_due_and_says_so(people, evening, mailoutbox, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON + 3 * HOUR)
    out = StringIO()
    call_command("due", stdout=out)
    # Ana and Ben are reminded; all but the coach are told that the class is open.
    assert out.getvalue() == "Messages due: 6 (6 sent)\n" and len(mailoutbox) == 6
    Message.objects.update(state="sending", claimed_at=NOON)
    out = StringIO()
    call_command("due", stdout=out)
    assert out.getvalue().startswith("Messages due: 0\n")
    assert out.getvalue().count("not known") == 6 and len(mailoutbox) == 6


def test_beat_runs_what_there_is():
    for entry in django_settings.CELERY_BEAT_SCHEDULE.values():
        app, _, name = entry["task"].partition(".")
        assert import_string(f"{app}.tasks.{name}").name == entry["task"]


def test_the_invented_gym_sends_nothing(db, mailoutbox, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        load(now=NOW)
    run(NOW + HOUR)
    assert mailoutbox == [] and not Message.objects.exists()


def test_nobody_is_told_of_another_gyms_class(people, mailoutbox):
    prove_all()
    # Somebody in both gyms is told by each of its own.
    link = invite(by=people.foreign_coach, now=NOW)
    accept_invitation(token=link.token, user=people.ana.user, display_name="A", now=NOW)
    due.opened(class_id=make_class(people).pk, now=NOON)
    for row in Message.objects.select_related("member"):
        assert row.member.gym_id == people.gym.pk
    # A row that should not be there is not sent.
    Message.objects.all().delete()
    for kind in ("opened", "reminder"):
        Message.objects.create(
            member=people.foreigner,
            kind=kind,
            subject_key=str(StreamedClass.objects.get().pk),
            not_before=NOON,
            created_at=NOON,
        )
    assert send_all() == ["dropped", "dropped"] and mailoutbox == []


def test_somebody_added_later_has_the_usual_settings(people, mailoutbox):
    dora = add_member(people.gym, "Dora New")
    prove(dora)
    due.opened(class_id=make_class(people).pk, now=NOON)
    send_all()
    assert receivers(mailoutbox) == address(dora)
