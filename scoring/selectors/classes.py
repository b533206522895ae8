"""Classes as a viewer may see them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from django.db.models import Exists, F, OuterRef, QuerySet

from members.models import Membership, Role
from members.plain import Plain
from scoring import access
from scoring.models import Result, Score, State, StreamedClass, Workout

from .usual import usual


def classes_for(*, viewer: access.Viewer, state: str | None = None) -> QuerySet[StreamedClass]:
    """Classes of the viewer's gym, the newest first, with ``logged`` results each."""
    found = access.visible_classes(viewer).select_related("workout", "coach", "gym", "credit_table")
    if state in State.values:
        found = found.filter(state=state)
    return found.annotate(logged=F("board_entries")).order_by("-starts_at", "-pk")


def class_for(*, viewer: access.Viewer, pk: int) -> StreamedClass | None:
    """One class, ``None`` if there is none that the viewer may see."""
    return (
        access.visible_classes(viewer)
        .select_related("workout", "coach", "gym", "credit_table")
        .filter(pk=pk)
        .first()
    )


def class_alone(*, viewer: access.Viewer, pk: int) -> StreamedClass | None:
    """One class with its workout, for what is asked for most often.

    Written out: Django would take longer to put the question together than all else about an
    unchanged board takes. A workout never changes and is kept.
    """
    if viewer is None:
        return None
    for found in _ALONE.rows([pk]):
        if access.may_see_class(viewer, found):
            found.workout, found.gym = _workout(found.workout_id), viewer.gym
            return found
    return None


_ALONE = Plain(StreamedClass, "of.id = %s")


@lru_cache(maxsize=512)
def _workout(pk: int) -> Workout:
    return Workout.objects.get(pk=pk)


def forget() -> None:
    """Forget the workouts that this process keeps."""
    _workout.cache_clear()


def open_to_log(*, viewer: access.Viewer, now: datetime) -> QuerySet[StreamedClass]:
    """Open classes that have begun and in which the viewer has no result on the board."""
    begun = classes_for(viewer=viewer, state=State.OPEN).filter(starts_at__lte=now)
    own = Score.objects.filter(result__streamed_class=OuterRef("pk"), result__member=viewer)
    return begun.filter(~Exists(own))


def next_classes(*, viewer: access.Viewer, now: datetime) -> QuerySet[StreamedClass]:
    """Visible classes that are still to come, the soonest first."""
    return classes_for(viewer=viewer).filter(starts_at__gt=now).order_by("starts_at")


@dataclass(frozen=True, slots=True)
class Attendance:
    """Who of the gym's active members has logged; ``usual`` marks those missing who usually
    come, by the rule of ``selectors/usual.py``."""

    logged: list[Result]
    missing: list[Membership]
    usual: frozenset[int]


def logged_and_missing(
    *, streamed_class: StreamedClass, viewer: access.Viewer
) -> Attendance | None:
    """For coaches of the class; ``None`` for others."""
    if not access.may_manage(viewer, streamed_class):
        return None
    logged = list(
        Result.objects.filter(streamed_class=streamed_class, score__isnull=False)
        .select_related("member", "score", "current")
        .order_by("member__display_name", "pk")
    )
    there = {result.member_id for result in logged}
    return Attendance(logged, missing_members(streamed_class, there), usual_members(streamed_class))


def missing_members(streamed_class: StreamedClass, there: Collection[int]) -> list[Membership]:
    """The gym's active members without those who are there, by name."""
    members = Membership.objects.filter(
        gym=streamed_class.gym_id, left_at__isnull=True, role=Role.MEMBER
    )
    return [m for m in members.order_by("display_name", "pk") if m.pk not in there]


def usual_members(streamed_class: StreamedClass) -> frozenset[int]:
    """Who usually comes to a class like this one."""
    return usual(streamed_class).members


def result_in(*, streamed_class: StreamedClass, member: Membership | None) -> Result | None:
    """A member's result in a class, if it counts."""
    if member is None:
        return None
    return (
        Result.objects.filter(
            streamed_class=streamed_class, member=member, current__is_withdrawn=False
        )
        .select_related("current", "score")
        .first()
    )
