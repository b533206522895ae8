"""The outbox: no message is made twice, none is taken twice."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from members.models import Membership
from scoring import metrics
from scoring.models import FollowUpLetter, Message, MessageKind, MessageSettings
from scoring.selectors.messages import unknown_messages

from .quiet import first_loud

logger = logging.getLogger(__name__)

MOST_TRIES = 5
FIRST_WAIT = timedelta(minutes=5)
WORDS_KEPT = timedelta(days=4)
UNKNOWN = "Whether it was sent is not known; it is not sent again."

State = Message.State


def settings_of(member: Membership) -> MessageSettings:
    """A member's settings, the usual ones if they never set any; no query if loaded along."""
    return getattr(member, "message_settings", None) or MessageSettings(member=member)


def loud_from(member: Membership, now: datetime) -> datetime:
    """From when on a member may be written to: now, or the end of their quiet hours."""
    wanted = settings_of(member)
    return first_loud(now, member.zone, wanted.quiet_from, wanted.quiet_until)


def put(
    *, kind: MessageKind, subject_key: str, members: Iterable[Membership], now: datetime
) -> list[int]:
    """Make a message for each of the members who wants that kind and has none about it yet.

    Answers which of them can be sent now. Run again, or by two workers at once, it makes
    nothing more: the database refuses the second row.
    """
    Message.objects.bulk_create(
        [
            Message(
                member=member,
                kind=kind,
                subject_key=subject_key,
                not_before=loud_from(member, now),
                created_at=now,
            )
            for member in members
            if settings_of(member).wants(kind)
        ],
        ignore_conflicts=True,
    )
    return list(
        Message.objects.filter(
            kind=kind, subject_key=subject_key, state=State.WAITING, not_before__lte=now
        )
        .order_by("pk")
        .values_list("pk", flat=True)
    )


def claim(*, pk: int, now: datetime) -> bool:
    """Take a message to send; of several who try only one is told yes.

    Committed before it answers, so that a crash afterwards can't give it back.
    """
    with transaction.atomic(durable=True):
        taken = Message.objects.filter(pk=pk, state=State.WAITING, not_before__lte=now).update(
            state=State.SENDING, claimed_at=now
        )
    return bool(taken)


def postpone(*, pk: int, until: datetime) -> None:
    """Let a message that nobody took yet wait longer."""
    Message.objects.filter(pk=pk, state=State.WAITING).update(not_before=until)


def finish(*, pk: int, state: str, now: datetime, fault: str = "") -> None:
    """Say how the sending of a taken message ended.

    That it was sent is also kept if it was given up meanwhile as unknown: it is the truth.
    """
    rows = Message.objects.filter(pk=pk)
    if state != State.SENT:
        rows = rows.filter(state=State.SENDING)
    if rows.update(state=state, finished_at=now, fault=fault[:200]):
        metrics.message_ended(str(state))
    # A coach's words are kept until they are out, or can't be, and no longer.
    FollowUpLetter.objects.filter(message=pk).exclude(words="").update(words="")


def forget_words(*, now: datetime) -> int:
    """Drop the words of letters that are finished, or that nothing came of in days; how many."""
    ended = Q(message__state__in=(State.SENT, State.FAILED, State.DROPPED))
    return (
        FollowUpLetter.objects.exclude(words="")
        .filter(ended | Q(asked_at__lte=now - WORDS_KEPT))
        .update(words="")
    )


def put_back(*, message: Message, now: datetime, fault: str) -> None:
    """Give back a taken message that surely did not go out; after some tries it has failed."""
    tries = message.tries + 1
    if tries >= MOST_TRIES:
        finish(pk=message.pk, state=State.FAILED, now=now, fault=fault)
        return
    metrics.message_ended("put back")
    Message.objects.filter(pk=message.pk, state=State.SENDING).update(
        state=State.WAITING,
        tries=tries,
        fault=fault[:200],
        not_before=now + FIRST_WAIT * 4 ** (tries - 1),
    )


def give_up_unknown(*, now: datetime) -> list[int]:
    """Report what was taken an hour ago and never finished, once, and leave it unsent.

    The worker died between sending and saying so, or just before sending: nobody knows.
    """
    found = list(unknown_messages(now=now).values_list("pk", flat=True))
    for pk in found:
        logger.error("message %s: %s", pk, UNKNOWN)
        finish(pk=pk, state=State.FAILED, now=now, fault=UNKNOWN)
    return found
