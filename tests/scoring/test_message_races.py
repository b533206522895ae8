"""Two workers at the same message, on real connections: it is made once and sent once."""

import threading

import pytest
from django.core.mail.backends.locmem import EmailBackend

from scoring.messages import due, outbox, sending
from scoring.models import Message

from ..conftest import make_people
from .classes import make_class
from .mail import NOON, prove_all
from .test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def test_workers_who_make_the_same_messages_at_once_make_them_once():
    streamed = make_class(make_people())
    prove_all()
    answers = at_once([lambda: due.opened(class_id=streamed.pk, now=NOON)] * 4)
    rows = list(Message.objects.values_list("pk", flat=True).order_by("pk"))
    assert len(rows) == 4  # Ana, Ben, Cleo and the owner
    # Each sees what it made; a worker that was too early for the others' rows sees fewer.
    assert all(set(answer) <= set(rows) for answer in answers) and rows in answers


def test_workers_who_both_saw_it_waiting_send_it_once(mailoutbox, monkeypatch):
    streamed = make_class(make_people())
    prove_all()
    rows = due.opened(class_id=streamed.pk, now=NOON)
    both_have_read = threading.Barrier(2)
    real = outbox.loud_from

    def read_by_both(*args):
        both_have_read.wait(timeout=10)
        return real(*args)

    monkeypatch.setattr(outbox, "loud_from", read_by_both)
    for pk in rows:
        at_once([lambda pk=pk: sending.send(pk=pk, clock=lambda: NOON)] * 2)
    assert len(mailoutbox) == len(rows) == 4
    assert len({mail.to[0] for mail in mailoutbox}) == 4
    assert set(Message.objects.values_list("state", flat=True)) == {"sent"}


def test_while_a_message_is_handed_over_it_is_already_taken_for_everybody(mailoutbox, monkeypatch):
    streamed = make_class(make_people())
    prove_all()
    [pk, *_] = due.opened(class_id=streamed.pk, now=NOON)
    inside = []
    real = EmailBackend.send_messages

    def slow(self, messages):
        if not inside:
            inside.append(None)
            seen = at_once([lambda: sending.send(pk=pk, clock=lambda: NOON)])
            inside[0] = seen[0]
        return real(self, messages)

    monkeypatch.setattr(EmailBackend, "send_messages", slow)
    assert sending.send(pk=pk, clock=lambda: NOON) == "sent"
    assert inside == ["sending"] and len(mailoutbox) == 1
