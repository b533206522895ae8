"""What planning rests on: frames for classes, and what past workouts are found by."""

from django.db import models
from django.utils import timezone

from .workouts import Workout


class ClassTemplate(models.Model):
    """A frame for a class, a text with gaps left to fill. It need not be a readable workout.

    Every coach of the gym uses and changes it.
    """

    gym = models.ForeignKey("members.Gym", on_delete=models.CASCADE, related_name="class_templates")
    author = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    name = models.CharField(max_length=120)
    text = models.TextField(max_length=20_000)
    note = models.TextField("for the coaches", blank=True, max_length=2000)
    changed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(fields=("gym", "name"), name="class_template_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class WorkoutIndex(models.Model):
    """What a workout is found by; derived from its text, and made anew when ``version`` is
    not that of scoring/core/searching.py.

    ``words`` is title and text, folded; ``movements`` and ``patterns`` are names between
    bars (``|goblet squat|hollow rock|``); ``seconds`` is when the clock stops.
    """

    workout = models.OneToOneField(
        Workout, on_delete=models.CASCADE, primary_key=True, related_name="index"
    )
    version = models.PositiveSmallIntegerField()
    words = models.TextField()
    movements = models.TextField()
    patterns = models.CharField(max_length=255)
    seconds = models.PositiveIntegerField(null=True)

    class Meta:
        indexes = [models.Index(fields=("seconds",), name="workout_index_seconds")]

    def __str__(self) -> str:
        return f"index of {self.workout_id}"
