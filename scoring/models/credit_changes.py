"""Changes of a gym's credits: shown first, then worked into the boards class by class."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .classes import StreamedClass
from .credits import CreditTableVersion


class CreditChange(models.Model):
    """What somebody wants a credit table to say, and how far it got.

    ``entries`` are what ``scoring.core.credit_changes.Entry.to_dict`` wrote. A change is
    ``looking`` while who would move is being worked out, ``shown`` until somebody accepts
    it, ``working`` while its classes are recomputed. ``went_on_at`` is when it last got on,
    so that one nobody is at any more is found.
    """

    class State(models.TextChoices):
        LOOKING = "looking", "being worked out"
        SHOWN = "shown", "shown, not accepted"
        WORKING = "working", "being worked into the boards"
        DONE = "done", "done"

    class Scope(models.TextChoices):
        ALL = "all", "all classes, past ones too"
        NEW = "new", "only classes opened from now on"

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="credit_changes")
    entries = models.JSONField()
    reason = models.CharField(max_length=200)
    scope = models.CharField(max_length=3, choices=Scope, default=Scope.ALL)
    state = models.CharField(max_length=7, choices=State, default=State.LOOKING)
    from_version = models.ForeignKey(CreditTableVersion, on_delete=models.PROTECT, related_name="+")
    to_version = models.OneToOneField(
        CreditTableVersion, on_delete=models.PROTECT, null=True, related_name="change"
    )
    undoes = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="undone_by"
    )
    by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    went_on_at = models.DateTimeField(default=timezone.now)
    accepted_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-pk",)
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=("looking", "shown", "working", "done")),
                name="credit_change_state",
            ),
            models.CheckConstraint(
                condition=Q(scope__in=("all", "new")), name="credit_change_scope"
            ),
            models.CheckConstraint(
                condition=Q(state__in=("looking", "shown"), to_version__isnull=True)
                | Q(state__in=("working", "done"), to_version__isnull=False),
                name="credit_change_has_version",
            ),
            models.UniqueConstraint(
                fields=("gym",), condition=Q(state="working"), name="credit_change_one_at_a_time"
            ),
        ]
        indexes = [models.Index(fields=("gym", "state"), name="credit_change_gym_state")]

    def __str__(self) -> str:
        return f"change of credits {self.pk}"


class ChangedClass(models.Model):
    """One class a change concerns.

    ``from_table`` is what it counted by when it was looked at, with ``board_version`` then;
    ``to_table`` is empty for the change's own new version. The counts are ``None`` until
    the class has been looked at. ``done_at`` is set once its board is recomputed, and
    ``moved`` to how many scores that changed.
    """

    change = models.ForeignKey(CreditChange, on_delete=models.CASCADE, related_name="classes")
    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="credit_changes"
    )
    from_table = models.ForeignKey(CreditTableVersion, on_delete=models.PROTECT, related_name="+")
    to_table = models.ForeignKey(
        CreditTableVersion, on_delete=models.PROTECT, null=True, related_name="+"
    )
    board_version = models.PositiveBigIntegerField(null=True)
    results = models.PositiveIntegerField(null=True)
    scores_moved = models.PositiveIntegerField(null=True)
    ranks_moved = models.PositiveIntegerField(null=True)
    moved = models.PositiveIntegerField(null=True)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("change", "streamed_class"), name="changed_class_once_a_change"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.change}, class {self.streamed_class_id}"
