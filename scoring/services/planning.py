"""Planning: a draft's day, its end, a workout again, and a week copied into another."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import UTC, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F
from django.db.models.deletion import ProtectedError

from members import audit
from members.models import Gym, Membership
from scoring import access
from scoring.core.iso_week import IsoWeek, local_moment
from scoring.core.week_copy import Planned, Standing, copies
from scoring.models import State, StreamedClass, Workout
from scoring.problems import refuse

from .classes import _check_times, create_class

NO_DRAFT = "Members see this class already, so it stays as it is."


@dataclass(slots=True)
class Copied:
    """Classes made, and those of the other week that stood there already."""

    made: list[StreamedClass] = field(default_factory=list)
    there: int = 0


def _draft(streamed_class: StreamedClass, by: Membership) -> StreamedClass:
    row = (
        StreamedClass.objects.select_for_update(of=("self",))
        .select_related("workout", "gym")
        .filter(pk=streamed_class.pk)
        .first()
    )
    if row is None:
        raise refuse("", "This class was deleted meanwhile.", "Load the week again.", "conflict")
    if not access.may_manage(by, row):
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")
    if row.state != State.DRAFT:
        raise refuse("", NO_DRAFT, "Only a draft can be moved or deleted.", "conflict")
    return row


@transaction.atomic
def move_draft(
    *, streamed_class: StreamedClass, by: Membership, starts_at: datetime, now: datetime
) -> StreamedClass:
    """Put a draft at another time; when it closes by itself moves with it.

    Raises ``Refused`` for a class that members see, or if ``by`` is no coach of its gym.
    """
    row = _draft(streamed_class, by)
    before = row.starts_at
    if starts_at == before:
        return row
    _check_times(starts_at, None)
    row.starts_at = starts_at
    if row.closes_at is not None:
        row.closes_at += starts_at - before
    row.board_version = F("board_version") + 1
    row.save(update_fields=["starts_at", "closes_at", "board_version"])
    row.refresh_from_db()
    _record(row, by, "move-class", now, {"from": _said(before), "to": _said(starts_at)})
    return row


@transaction.atomic
def delete_draft(*, streamed_class: StreamedClass, by: Membership, now: datetime) -> None:
    """Delete a draft for good; its workout stays and can be used again.

    Raises ``Refused`` for a class that members see or that has anything of theirs.
    """
    row = _draft(streamed_class, by)
    if row.results.exists():
        raise refuse("", "This class has results, so it stays.", kind="conflict")
    _record(row, by, "delete-class", now, {"starts_at": _said(row.starts_at)})
    try:
        row.delete()
    except ProtectedError:
        raise refuse("", "Something of members' is kept with this class, so it stays.",
                     kind="conflict") from None  # fmt: skip


@transaction.atomic
def repeat_workout(
    *, workout: Workout, by: Membership, starts_at: datetime, now: datetime
) -> StreamedClass:
    """Make a draft of a workout as it is, to compare with the times before.

    It counts like its newest class: weighing, credits above 1 and the split that breaks
    ties are taken over.

    Raises ``Refused`` if it is planned at that time already or ``by`` is no coach here.
    """
    if not access.visible_workouts(by).filter(pk=workout.pk).exists() or not by.is_coach:
        raise refuse("workout", "That workout is not your gym's.", kind="forbidden")
    _lock(by.gym)
    here = StreamedClass.objects.filter(gym=by.gym, workout=workout)
    if here.filter(starts_at=starts_at).exists():
        raise refuse(
            "starts_at", "This workout is planned at that time already.",
            "Choose another time, or look at the week.", "conflict",
        )  # fmt: skip
    last = here.exclude(state=State.DRAFT).order_by("-starts_at", "-pk").first()
    settings = _settings(last) if last else {}
    made = create_class(gym=by.gym, coach=by, workout=workout, starts_at=starts_at, **settings)
    details = {"starts_at": _said(starts_at), "workout": workout.pk}
    _record(made, by, "repeat-workout", now, details)
    return made


@transaction.atomic
def copy_week(
    *,
    by: Membership,
    source: IsoWeek,
    target: IsoWeek,
    chosen: Collection[int] | None = None,
    with_notes: bool = False,
    now: datetime,
) -> Copied:
    """Make drafts in the target week of the source week's classes, on the same weekdays at
    the same times on the gym's clocks.

    ``chosen`` are keys of classes; without it, all that the target week doesn't have that
    day. What stands there at the same time is never made again. A class stays with its
    coach as long as they coach here.
    """
    if not by.is_coach:
        raise refuse("", "Only a coach of this gym can do that.", kind="forbidden")
    if source == target:
        raise refuse("to", "A week can't be copied into itself.", "Choose another week.")
    _lock(by.gym)
    zone = ZoneInfo(by.gym.timezone)
    rows = {row.pk: row for row in _of_week(by.gym, source, zone)}
    if chosen is not None and not set(chosen) <= set(rows):
        raise refuse(
            "classes", "Some of these classes are no longer in that week.",
            "Look at what would be copied again.", "conflict",
        )  # fmt: skip
    done = Copied()
    for copy in copies(
        [_planned(row) for row in rows.values()],
        [_planned(row) for row in _of_week(by.gym, target, zone)],
        target,
        zone,
    ):
        if copy.standing is Standing.THERE:
            done.there += 1
        elif copy.key in chosen if chosen is not None else copy.standing is Standing.NEW:
            row = rows[copy.key]
            done.made.append(_again(row, by, copy.starts_at, row.note if with_notes else ""))
    if done.made:
        audit.record(
            gym=by.gym, by=by, what="copy-week", subject=f"{source} to {target}", now=now,
            details={"made": [made.pk for made in done.made], "there": done.there},
        )  # fmt: skip
    return done


def _of_week(gym: Gym, week: IsoWeek, zone: ZoneInfo) -> list[StreamedClass]:
    return list(
        StreamedClass.objects.filter(
            gym=gym,
            starts_at__gte=local_moment(week.monday, time(0), zone),
            starts_at__lt=local_moment(week.plus(1).monday, time(0), zone),
        ).select_related("workout", "coach")
    )


def _planned(row: StreamedClass) -> Planned:
    return Planned(row.pk, row.workout_id, row.starts_at)


def _again(row: StreamedClass, by: Membership, starts_at: datetime, note: str) -> StreamedClass:
    stays = row.coach.is_coach and row.coach.left_at is None
    return create_class(
        gym=by.gym,
        coach=row.coach if stays else by,
        workout=row.workout,
        starts_at=starts_at,
        note=note,
        **_settings(row),
    )


def _settings(row: StreamedClass) -> dict[str, Any]:
    return {name: getattr(row, name) for name in ("weighted", "above_one", "tie_break_block")}


def _lock(gym: Gym) -> None:
    """One plan of a gym is changed at a time, so that pressing twice makes nothing twice."""
    Gym.objects.select_for_update().get(pk=gym.pk)


def _said(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="minutes")


def _record(
    row: StreamedClass, by: Membership, what: str, now: datetime, details: dict[str, object]
) -> None:
    audit.record(
        gym=row.gym, by=by, what=what, subject=row.workout.title,
        subject_key=f"class {row.pk}", details=details, now=now,
    )  # fmt: skip
