"""Workouts as a viewer may see them."""

from __future__ import annotations

from django.db.models import QuerySet

from scoring import access
from scoring.models import Workout


def workouts_for(*, viewer: access.Viewer) -> QuerySet[Workout]:
    """Workouts the viewer may see, the newest first."""
    return access.visible_workouts(viewer).order_by("-created_at", "-pk")


def workout_for(*, viewer: access.Viewer, pk: int) -> Workout | None:
    """One workout, ``None`` if there is none that the viewer may see."""
    return access.visible_workouts(viewer).filter(pk=pk).first()
