"""E-mail messages: what a member wants to get and when, and the outbox."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import Q
from django.utils import timezone

QUIET_FROM = time(21, 0)
QUIET_UNTIL = time(7, 0)


class MessageKind(models.TextChoices):
    """What a message is about. The value is also the name of its switch."""

    OPENED = "opened", "A class is open"
    REMINDER = "reminder", "A reminder to log, if I usually do and have not yet"
    CORRECTED = "corrected", "A coach changed my result"
    ANSWERED = "answered", "A coach answered what I asked for"
    WEEKLY = "weekly", "On Monday: my last week, and what comes"
    CLOSED = "closed", "As a coach: a class of mine closed, and what waits for me"
    FOLLOW_UP = "follow_up", "A word from my coach after a class"

    @property
    def is_for_coaches(self) -> bool:
        """Whether only coaches get it."""
        return self is MessageKind.CLOSED


class MessageSettings(models.Model):
    """Which messages a member wants, and when not; without a row what stands here.

    Quiet hours run from ``quiet_from`` to ``quiet_until`` on the member's clock, over
    midnight if the first is later; equal ones mean that there are none.
    """

    member = models.OneToOneField(
        "members.Membership", on_delete=models.CASCADE, related_name="message_settings"
    )
    opened = models.BooleanField(default=True)
    reminder = models.BooleanField(default=True)
    corrected = models.BooleanField(default=True)
    answered = models.BooleanField(default=True)
    weekly = models.BooleanField(default=False)
    closed = models.BooleanField(default=True)
    follow_up = models.BooleanField(default=True)
    quiet_from = models.TimeField(default=QUIET_FROM)
    quiet_until = models.TimeField(default=QUIET_UNTIL)

    def __str__(self) -> str:
        return f"messages of {self.member_id}"

    def wants(self, kind: str) -> bool:
        """Whether a kind of message is switched on."""
        return bool(getattr(self, MessageKind(kind).value))


class Message(models.Model):
    """One message of the outbox. Its words are found when it is sent, none are kept.

    ``subject_key`` says what it is about: the number of a class, fact, request or letter, or
    a week such as ``2026-W48``. One member gets one message of a kind about one thing.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        SENDING = "sending", "being sent"
        SENT = "sent", "sent"
        FAILED = "failed", "failed"
        DROPPED = "dropped", "no longer needed"

    member = models.ForeignKey(
        "members.Membership", on_delete=models.CASCADE, related_name="messages"
    )
    kind = models.CharField(max_length=9, choices=MessageKind)
    subject_key = models.CharField(max_length=32)
    state = models.CharField(max_length=7, choices=State, default=State.WAITING)
    not_before = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    fault = models.CharField("what went wrong", max_length=200, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    claimed_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = [
            models.UniqueConstraint(
                fields=("member", "kind", "subject_key"), name="message_never_twice"
            ),
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "sending", "sent", "failed", "dropped")),
                name="message_state",
            ),
            models.CheckConstraint(
                condition=Q(
                    kind__in=(
                        "opened",
                        "reminder",
                        "corrected",
                        "answered",
                        "weekly",
                        "closed",
                        "follow_up",
                    )
                ),
                name="message_kind",
            ),
            models.CheckConstraint(
                condition=~Q(state="sending") | Q(claimed_at__isnull=False),
                name="message_claimed_at",
            ),
        ]
        indexes = [
            models.Index(
                fields=("not_before",), condition=Q(state="waiting"), name="message_waiting"
            ),
            models.Index(
                fields=("claimed_at",), condition=Q(state="sending"), name="message_sending"
            ),
        ]

    def __str__(self) -> str:
        return f"message {self.pk}, {self.kind}"
