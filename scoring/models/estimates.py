"""What results taught: snapshots of a gym's estimate, and the runs that make them."""

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .immutable import Immutable, ImmutableQuerySet


class EstimateRun(models.Model):
    """The making of an estimate: how far it got, so that one whose worker died is taken up.

    ``holder`` is whoever works on it, until ``held_until``; after that another may take it.
    ``done`` of ``total`` classes are read. ``unchanged`` says that nothing was new since the
    last snapshot, so none was made. ``why`` tells in plain words why it failed.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting to begin"
        GATHERING = "gathering", "reading results"
        FITTING = "fitting", "being worked out"
        GOOD = "good", "done"
        UNCHANGED = "unchanged", "nothing new"
        FAILED = "failed", "failed"

    UNFINISHED = (State.WAITING, State.GATHERING, State.FITTING)

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="estimate_runs")
    state = models.CharField(max_length=9, choices=State, default=State.WAITING)
    by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    again = models.BooleanField("something changed meanwhile", default=False)
    holder = models.CharField(max_length=32, blank=True)
    held_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    why = models.CharField(max_length=500, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-pk",)
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    state__in=("waiting", "gathering", "fitting", "good", "unchanged", "failed")
                ),
                name="estimate_run_state",
            ),
            models.CheckConstraint(
                condition=Q(state__in=("waiting", "gathering", "fitting"), finished_at=None)
                | Q(state__in=("good", "unchanged", "failed"), finished_at__isnull=False),
                name="estimate_run_finished",
            ),
            models.UniqueConstraint(
                fields=("gym",),
                condition=Q(finished_at__isnull=True),
                name="estimate_run_one_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"run {self.pk} of estimates"

    @property
    def is_finished(self) -> bool:
        return self.finished_at is not None


class SnapshotQuerySet(ImmutableQuerySet):
    """Rows that are never changed, but go when they are old."""

    def delete(self) -> tuple[int, dict[str, int]]:
        return models.QuerySet.delete(self)


class EstimateSnapshot(Immutable):
    """An estimate as it was fitted: never changed, only followed by the next one.

    ``fingerprint`` is a SHA-256 of what it was fitted to, ``code`` says which program did.
    ``figures`` are what ``core.estimation.packing.packed`` wrote; ``members``, ``classes``
    and ``results`` are primary keys by position in it, little-endian 64-bit integers, 0 for
    somebody who is erased; ``blanked`` counts who was after it was made. ``until`` is the
    start of the last class it counts. ``left_out`` results could not be read any more;
    ``silent`` ones tell nothing of pace, as a lift.
    """

    run = models.OneToOneField(EstimateRun, on_delete=models.CASCADE, related_name="snapshot")
    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="estimates")
    fingerprint = models.CharField(max_length=64)
    rules_version = models.PositiveIntegerField()
    model_version = models.PositiveIntegerField()
    code = models.CharField(max_length=100)
    made_at = models.DateTimeField(default=timezone.now)
    until = models.DateTimeField(null=True)
    result_count = models.PositiveIntegerField()
    member_count = models.PositiveIntegerField()
    class_count = models.PositiveIntegerField()
    left_out = models.PositiveIntegerField(default=0)
    silent = models.PositiveIntegerField(default=0)
    converged = models.BooleanField()
    convergence = models.CharField(max_length=200)
    figures = models.BinaryField()
    members = models.BinaryField()
    classes = models.BinaryField()
    results = models.BinaryField()
    blanked = models.PositiveIntegerField(default=0)

    objects: ClassVar[Any] = SnapshotQuerySet.as_manager()

    class Meta:
        ordering = ("-pk",)
        indexes = [models.Index(fields=("gym", "-id"), name="estimate_gym_newest")]

    def __str__(self) -> str:
        return f"estimate {self.pk}"

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        return models.Model.delete(self, *args, **kwargs)
