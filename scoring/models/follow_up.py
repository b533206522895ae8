"""A coach's word to a member after a class: what became of each reason, and the words."""

from datetime import date

from django.db import models
from django.db.models import Q
from django.utils import timezone

from scoring.core.follow_up import LABELS, SILENT_DAYS, Reason

from .immutable import Immutable
from .messages import Message

REASONS = [(reason.value, LABELS[reason]) for reason in Reason]
_KNOWN = [reason.value for reason in Reason]


class FollowUpLetter(models.Model):
    """Words of a coach on their way to a member.

    ``words`` are kept only until they are sent, or can't be: then they are blank, and what
    stays is who wrote, when and for which reason. ``key`` says what was sent from one form,
    so that a second press of its button sends nothing more.
    """

    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="+")
    reason = models.CharField(max_length=7, choices=REASONS)
    occasion = models.CharField(max_length=40)
    words = models.TextField(blank=True, max_length=2000)
    key = models.CharField(max_length=64)
    by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    message = models.OneToOneField(
        Message, on_delete=models.SET_NULL, null=True, related_name="letter"
    )
    asked_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-asked_at", "-pk")
        constraints = [
            models.UniqueConstraint(fields=("member", "key"), name="letter_key_once"),
            models.CheckConstraint(condition=Q(reason__in=_KNOWN), name="letter_reason"),
        ]

    def __str__(self) -> str:
        return f"letter {self.pk}"

    @property
    def is_sent(self) -> bool:
        return self.message is not None and self.message.state == Message.State.SENT

    @property
    def is_lost(self) -> bool:
        """Whether it did not leave, or nobody knows; its words are gone."""
        return not self.words and not self.is_sent


class FollowUp(Immutable):
    """What a coach did about one reason of a member on one occasion. The newest row decides.

    An empty ``occasion`` is every one: only ``never`` and taking it back have it.
    """

    class State(models.TextChoices):
        DONE = "done", "done"
        LATER = "later", "later"
        NEVER = "never", "never for this reason"
        OPEN = "open", "taken back"

    member = models.ForeignKey("members.Membership", on_delete=models.CASCADE, related_name="+")
    reason = models.CharField(max_length=7, choices=REASONS)
    occasion = models.CharField(max_length=40, blank=True)
    state = models.CharField(max_length=5, choices=State)
    until = models.DateField(null=True, blank=True)
    letter = models.ForeignKey(FollowUpLetter, on_delete=models.CASCADE, null=True, blank=True)
    by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.CheckConstraint(condition=Q(reason__in=_KNOWN), name="follow_up_reason"),
            models.CheckConstraint(
                condition=Q(state="later", until__isnull=False)
                | (~Q(state="later") & Q(until__isnull=True)),
                name="follow_up_until",
            ),
            models.CheckConstraint(
                condition=Q(state="open")
                | Q(state="never", occasion="")
                | (Q(state__in=("done", "later")) & ~Q(occasion="")),
                name="follow_up_state",
            ),
            models.CheckConstraint(
                condition=~Q(state="never", reason="pain"), name="follow_up_pain_is_told"
            ),
        ]
        indexes = [
            models.Index(fields=("member", "reason", "occasion"), name="follow_up_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.reason}: {self.state}"

    @property
    def is_lost(self) -> bool:
        """Whether it stands for a letter that did not leave, and so for nothing."""
        return self.letter is not None and self.letter.is_lost

    def hides(self, today: date) -> bool:
        """Whether this, being the newest, keeps its reason off the list on a day."""
        if self.state == self.State.LATER:
            return self.until is not None and today < self.until
        return self.state == self.State.NEVER or (
            self.state == self.State.DONE and not self.is_lost
        )


class FollowUpWords(models.Model):
    """Words for a reason, of a gym (``coach`` is empty) or of one of its coaches."""

    gym = models.ForeignKey("members.Gym", on_delete=models.CASCADE, related_name="+")
    coach = models.ForeignKey(
        "members.Membership", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    reason = models.CharField(max_length=7, choices=REASONS)
    text = models.TextField(max_length=2000)
    saved_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("coach", "reason"), name="words_once_a_coach"),
            models.UniqueConstraint(
                fields=("gym", "reason"), condition=Q(coach__isnull=True), name="words_once_a_gym"
            ),
            models.CheckConstraint(condition=Q(reason__in=_KNOWN), name="words_reason"),
        ]

    def __str__(self) -> str:
        return f"words for {self.reason}"


class FollowUpSettings(models.Model):
    """After how many days without a result a gym's member is on the list."""

    gym = models.OneToOneField("members.Gym", on_delete=models.CASCADE, related_name="+")
    silent_days = models.PositiveSmallIntegerField(default=SILENT_DAYS)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(silent_days__gte=3, silent_days__lte=90), name="follow_up_silent_days"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.silent_days} days"
