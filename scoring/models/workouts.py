"""Workouts: immutable prescriptions in canonical text."""

from django.db import models
from django.utils import timezone

from .immutable import Immutable


class Workout(Immutable):
    """A prescription as it was given.

    ``fingerprint`` is a hash of the canonical text without its title, so the same
    workout is recognised when it is repeated under another name.
    """

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="workouts")
    title = models.CharField(max_length=120)
    text = models.TextField()
    source = models.TextField(help_text="As the coach typed it.")
    fingerprint = models.CharField(max_length=64)
    author = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = [
            models.UniqueConstraint(fields=("gym", "text"), name="workout_text_once_a_gym"),
        ]
        indexes = [models.Index(fields=("gym", "fingerprint"), name="workout_fingerprint")]

    def __str__(self) -> str:
        return self.title
