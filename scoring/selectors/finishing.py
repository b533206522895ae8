"""How many finish a workout by when, over all its runs, whatever cap each had."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db.models.functions import Right

from scoring.core.crowd import is_course
from scoring.core.finishing import End, Finishing, finishing
from scoring.mapping import course
from scoring.models import Score, State, Workout


@dataclass(frozen=True, slots=True)
class Finishers:
    """``caps`` are those that the runs with results had, in seconds; ``runs`` how many."""

    curve: Finishing
    caps: tuple[int, ...]
    runs: int


def finishers(*, workout: Workout, now: datetime) -> Finishers | None:
    """Each one's latest result counts; ``None`` without any, or where nobody can finish.

    Runs of the same blocks count together, under whatever title and cap.
    """
    total = course(workout.text, False).total
    if not total or not is_course(course(workout.text, False)):
        return None
    alike = {row.pk: course(row.text, False).limit or 0 for row in _but_for_caps(workout)}
    rows = (
        Score.objects.filter(
            streamed_class__gym=workout.gym_id,
            streamed_class__workout__in=list(alike),
            streamed_class__starts_at__lte=now,
        )
        .exclude(streamed_class__state=State.DRAFT)
        .order_by("streamed_class__starts_at", "streamed_class")
        .values_list(
            "result__member", "raw_reps", "seconds", "streamed_class", "streamed_class__workout"
        )
    )
    latest: dict[int, End] = {}
    runs, caps = set(), set()
    for member, reps, seconds, streamed, given in rows:
        latest[member] = End(Fraction(seconds), reps == total)
        runs.add(streamed)
        caps.add(alike[given])
    curve = finishing(latest.values())
    return Finishers(curve, tuple(sorted(caps)), len(runs)) if curve else None


def _but_for_caps(workout: Workout) -> list[Workout]:
    """The gym's workouts of the same blocks: all of the canonical text but title and cap."""
    blocks = workout.text.partition("\n\n")[2]
    found = (
        Workout.objects.filter(gym=workout.gym_id)
        .annotate(end=Right("text", len(blocks)))
        .filter(end=blocks)
    )
    return [row for row in found if row.text.partition("\n\n")[2] == blocks]
