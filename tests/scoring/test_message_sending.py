"""At most once: crashes, mail servers that refuse or vanish, and quiet hours."""

import logging
import smtplib
from datetime import timedelta

import pytest
from django.core.mail.backends.base import BaseEmailBackend

from scoring.messages import due, outbox, sending
from scoring.models import Message, MessageSettings

from .classes import make_class
from .mail import NOON, prove, run, send_all

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


class Server(BaseEmailBackend):
    """A mail server that fails as it is told to, once; what it took is in ``taken``."""

    taken: list = []
    on_open = on_send = after_send = None

    def open(self):
        error, Server.on_open = Server.on_open, None
        if error:
            raise error

    def send_messages(self, messages):
        error, Server.on_send = Server.on_send, None
        if error:
            raise error
        Server.taken += messages
        error, Server.after_send = Server.after_send, None
        if error:
            raise error
        return len(messages)


@pytest.fixture
def server(monkeypatch, settings):
    settings.EMAIL_BACKEND = f"{__name__}.Server"
    monkeypatch.setattr(Server, "taken", [])
    for name in ("on_open", "on_send", "after_send"):
        monkeypatch.setattr(Server, name, None)
    return Server


@pytest.fixture
def message(people, server):
    prove(people.ana)
    due.opened(class_id=make_class(people).pk, now=NOON)
    return Message.objects.get()


class Crash(BaseException):
    """The worker is gone: no handler of errors runs."""


def test_a_crash_between_sending_and_saying_so_never_sends_twice(message, server, caplog):
    server.after_send = Crash()
    with pytest.raises(Crash):
        send_all()
    message.refresh_from_db()
    assert message.state == "sending" and len(server.taken) == 1
    for hours in (0, 0.9):
        run(NOON + hours * HOUR)
    message.refresh_from_db()
    assert message.state == "sending"
    # After an hour it is reported, once, and still not sent again.
    with caplog.at_level(logging.ERROR, logger="scoring.messages.outbox"):
        for hours in (1, 2, 3):
            run(NOON + hours * HOUR)
    assert [record.message for record in caplog.records].count(
        f"message {message.pk}: {outbox.UNKNOWN}"
    ) == 1
    message.refresh_from_db()
    assert (message.state, message.fault) == ("failed", outbox.UNKNOWN)
    assert len(server.taken) == 1 and due.stuck(now=NOON + 3 * HOUR) == [message]


def test_a_crash_before_sending_is_not_sent_later_either(message, server):
    server.on_send = Crash()
    with pytest.raises(Crash):
        send_all()
    run(NOON + 2 * HOUR)
    message.refresh_from_db()
    assert message.state == "failed" and server.taken == []


def test_a_worker_that_wakes_after_it_was_given_up_says_the_truth(message):
    assert outbox.claim(pk=message.pk, now=NOON)
    assert outbox.give_up_unknown(now=NOON + HOUR) == [message.pk]
    outbox.finish(pk=message.pk, state="sent", now=NOON + HOUR)
    message.refresh_from_db()
    assert (message.state, message.fault) == ("sent", "")


def test_a_task_that_is_delivered_twice_sends_once(message, server):
    assert send_all() == send_all() == ["sent"]
    assert len(server.taken) == 1
    assert sending.send(pk=10**9, clock=lambda: NOON) == ""


def test_without_a_mail_server_it_waits_longer_each_time_and_then_gives_up(message, server):
    now, waits = NOON, []
    for _ in range(outbox.MOST_TRIES):
        server.on_open = ConnectionRefusedError()
        run(now)
        message.refresh_from_db()
        if message.state == "waiting":
            waits.append((message.not_before - now) / MINUTE)
            run(message.not_before - MINUTE)  # not before its time
            now = message.not_before
            # Its class opened at half past six in the evening, and this goes on until then.
    assert waits == [5, 20, 80, 320]
    assert (message.state, message.fault) == ("failed", "ConnectionRefusedError")
    assert server.taken == []


def test_a_mail_server_that_comes_back_gets_it(message, server):
    server.on_open = TimeoutError()
    run(NOON)
    run(NOON + 5 * MINUTE)
    message.refresh_from_db()
    assert message.state == "sent" and len(server.taken) == 1


# RFC 5321, section 4.2.1: 4yz is “not now”, 5yz “never”.
NOT_NOW = [
    smtplib.SMTPRecipientsRefused({"ana.sol@example.org": (450, b"greylisted")}),
    smtplib.SMTPDataError(451, b"try again"),
    smtplib.SMTPSenderRefused(421, b"busy", "gym@localhost"),
]
NEVER = [
    smtplib.SMTPRecipientsRefused({"ana.sol@example.org": (550, b"no ana.sol@example.org")}),
    smtplib.SMTPDataError(554, b"spam"),
]


@pytest.mark.parametrize("error", NOT_NOW, ids=str)
def test_a_server_that_says_not_now_is_asked_again(message, server, error):
    server.on_send = error
    assert send_all() == ["waiting"]
    run(NOON + 5 * MINUTE)
    message.refresh_from_db()
    assert message.state == "sent" and len(server.taken) == 1


@pytest.mark.parametrize("error", NEVER, ids=str)
def test_a_server_that_says_never_is_believed(message, server, error):
    server.on_send = error
    assert send_all() == ["failed"]
    run(NOON + HOUR)
    message.refresh_from_db()
    assert server.taken == [] and type(error).__name__ in message.fault
    assert "@" not in message.fault


@pytest.mark.parametrize(
    "error", [TimeoutError(), smtplib.SMTPServerDisconnected("gone"), OSError()], ids=repr
)
def test_a_line_that_breaks_in_the_middle_is_not_tried_again(message, server, error):
    server.after_send = error
    assert send_all() == ["failed"]
    run(NOON + HOUR)
    message.refresh_from_db()
    assert len(server.taken) == 1 and message.fault.startswith(outbox.UNKNOWN)


def test_a_message_that_cannot_be_written_has_failed_and_stops_no_other(
    people, message, server, monkeypatch
):
    prove(people.ben)
    due.opened(class_id=int(message.subject_key), now=NOON)
    real = sending.letter_of

    def broken(row, **kwargs):
        if row.member_id == people.ana.pk:
            raise KeyError("x")
        return real(row, **kwargs)

    monkeypatch.setattr(sending, "letter_of", broken)
    assert sorted(send_all()) == ["failed", "sent"]


# --- quiet hours -------------------------------------------------------------


def test_what_comes_up_in_the_evening_is_sent_in_the_morning(people, server):
    prove(people.ana)
    evening = NOON.replace(hour=22)
    assert due.opened(class_id=make_class(people).pk, now=evening) == []
    morning = NOON.replace(hour=7) + timedelta(days=1)
    assert run(morning - MINUTE) == [] and server.taken == []
    assert run(morning) == ["sent"]


def test_the_clock_is_the_members_own(people, server):
    prove(people.ana, people.ben)
    people.ana.timezone = "Pacific/Auckland"  # UTC+13: noon here is one at night there
    people.ana.save()
    due.opened(class_id=make_class(people).pk, now=NOON)
    run(NOON)
    assert [mail.to for mail in server.taken] == [[people.ben.user.email]]
    run(NOON.replace(hour=18))
    assert len(server.taken) == 2


def test_a_worker_that_is_late_does_not_send_into_quiet_hours(message, server):
    evening = NOON.replace(hour=21)
    assert send_all(evening) == ["waiting"] and server.taken == []
    message.refresh_from_db()
    assert message.not_before == NOON.replace(hour=7) + timedelta(days=1)


def test_quiet_hours_that_were_moved_meanwhile_count(people, message, server):
    MessageSettings.objects.create(member=people.ana, quiet_from="11:00", quiet_until="13:00")
    assert send_all() == ["waiting"]
    assert run(NOON + HOUR) == ["sent"]


def test_a_message_put_back_at_night_still_waits_for_its_next_try(message, server):
    server.on_open = OSError()
    run(NOON)
    assert send_all(NOON + MINUTE) == ["waiting"]
