"""What past workouts are found by: derived from their texts, made when it is missing."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from members.models import Gym
from scoring.core import notation
from scoring.core.searching import INDEX_VERSION, LookUp, barred, folded, look_up
from scoring.models import Workout, WorkoutIndex

BATCH = 500


def missing_index(*, gym: Gym | None = None) -> QuerySet[Workout]:
    """Workouts that can't be found yet, or are found by what an older version knew."""
    found = Workout.objects.filter(Q(index__isnull=True) | ~Q(index__version=INDEX_VERSION))
    return found if gym is None else found.filter(gym=gym)


def index_workouts(*, gym: Gym | None = None, at_most: int = BATCH) -> int:
    """Make what is missing, the newest workouts first; answers how many were made.

    It can be run again and by several at once: all would write the same.
    """
    rows = list(missing_index(gym=gym).order_by("-created_at", "-pk")[:at_most])
    WorkoutIndex.objects.bulk_create(
        [_index(row) for row in rows],
        update_conflicts=True,
        unique_fields=["workout"],
        update_fields=["version", "words", "movements", "patterns", "seconds"],
        batch_size=100,
    )
    return len(rows)


def _index(workout: Workout) -> WorkoutIndex:
    try:
        found = look_up(notation.parse(workout.text).workout)
    except notation.NotationError:  # kept by older rules: found by its words alone
        found = LookUp((), (), None)
    return WorkoutIndex(
        workout=workout,
        version=INDEX_VERSION,
        words=folded(f"{workout.title} {workout.text}"),
        movements=barred(found.movements),
        patterns=barred(tuple(pattern.value for pattern in found.patterns)),
        seconds=found.seconds,
    )
