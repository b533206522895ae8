"""Streamed classes: a workout, a time, a state, and how it is scored."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .credits import CreditTableVersion
from .workouts import Workout


class State(models.TextChoices):
    DRAFT = "draft", "draft"
    OPEN = "open", "open"
    CLOSED = "closed", "closed"


class StreamedClass(models.Model):
    """One class. ``board_version`` counts every change that a board could show, ``board_logs``
    those among them that were members logging for themselves, and nothing else.

    ``board_entries`` and ``board_prescribed`` are how many scores there are, and how many of
    them as prescribed. The database keeps them itself, see ``BoardStep``; nobody else may.
    """

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="classes")
    workout = models.ForeignKey(Workout, on_delete=models.PROTECT, related_name="classes")
    coach = models.ForeignKey("members.Membership", on_delete=models.PROTECT, related_name="+")
    starts_at = models.DateTimeField()
    state = models.CharField(max_length=6, choices=State, default=State.DRAFT)
    weighted = models.BooleanField("weigh reps by reference seconds", default=False)
    above_one = models.BooleanField("credits above 1 count", default=False)
    tie_break_block = models.PositiveSmallIntegerField(
        "split that breaks ties", null=True, blank=True
    )
    credit_table = models.ForeignKey(CreditTableVersion, on_delete=models.PROTECT, related_name="+")
    note = models.TextField("a word to the members", blank=True, max_length=2000)
    board_version = models.PositiveBigIntegerField(default=0)
    board_entries = models.PositiveIntegerField(default=0, db_default=0, editable=False)
    board_prescribed = models.PositiveIntegerField(default=0, db_default=0, editable=False)
    board_logs = models.PositiveBigIntegerField(default=0, db_default=0)
    closes_at = models.DateTimeField("closes by itself at", null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-starts_at", "-pk")
        verbose_name = "class"
        verbose_name_plural = "classes"
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=("draft", "open", "closed")), name="class_state"
            ),
            models.CheckConstraint(
                condition=Q(state="draft") | Q(opened_at__isnull=False), name="class_opened_at"
            ),
            models.CheckConstraint(
                condition=~Q(state="closed") | Q(closed_at__isnull=False), name="class_closed_at"
            ),
        ]
        indexes = [
            models.Index(fields=("gym", "-starts_at"), name="class_gym_starts"),
            models.Index(
                fields=("closes_at",), condition=Q(state="open"), name="class_open_closes_at"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.workout.title}, {self.starts_at:%d %b %Y}"

    @property
    def board_acts(self) -> int:
        """Counts the changes of the board that nobody may wait a moment to see: a coach's,
        a withdrawal, a name hidden, somebody erased."""
        return self.board_version - self.board_logs
