"""What the tests of messages share: proven addresses, a clock, and running the outbox."""

from datetime import timedelta

from allauth.account.models import EmailAddress

from scoring.messages import due, sending
from scoring.models import Message
from scoring.services.classes import create_class, open_class

from ..conftest import NOW, TWO_LADDERS
from .classes import log

# The tests' classes start on a Tuesday at 18:30 in Lisbon, which is UTC in November.
NOON = NOW.replace(hour=12, minute=0)


def prove(*members):
    """Say that their addresses are theirs."""
    EmailAddress.objects.filter(user__memberships__in=members).update(verified=True)


def prove_all():
    EmailAddress.objects.update(verified=True)


def send_all(now=NOON):
    """Send what is waiting, by a clock that stands still; the states they end in."""
    return [
        sending.send(pk=pk, clock=lambda: now)
        for pk in Message.objects.order_by("pk").values_list("pk", flat=True)
    ]


def run(now):
    """What ``manage.py due`` does, at a time of one's own."""
    return [sending.send(pk=pk, clock=lambda: now) for pk in due.everything(now=now)]


def class_at(people, starts_at, *, is_open=True):
    streamed = create_class(
        gym=people.gym, coach=people.coach, starts_at=starts_at, text=TWO_LADDERS
    )
    if is_open:
        streamed = open_class(streamed_class=streamed, by=people.coach, now=starts_at)
    return streamed


def regular(people, *members, times=3):
    """Let members log in the classes of the days before."""
    for day in range(1, times + 1):
        streamed = class_at(people, NOW - timedelta(days=day + 1))
        for member in members:
            log(streamed, member, "2+9")
