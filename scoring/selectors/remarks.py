"""What a colleague would say of a planned class, with what this group did before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

from members.models import Membership
from scoring import access
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.prescription import Workout
from scoring.core.reference import SAME
from scoring.core.remarks import (
    Compared,
    Past,
    Remark,
    Worked,
    cap_remarks,
    compare,
    new_here,
    no_credit,
    no_easier_option,
    pattern_again,
    volume_jump,
)
from scoring.core.totals import Asked, by_movement, pattern_seconds, seconds_by_pattern
from scoring.mapping import prescription
from scoring.models import StreamedClass

from .past import Done, Speed

WITHIN = timedelta(days=14)
"""Classes longer ago don't count as running (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Remarked:
    """Remarks, and every planned volume that can be compared, the highest ratio first."""

    remarks: tuple[Remark, ...]
    volumes: tuple[Compared, ...]


def remarked(
    *,
    viewer: access.Viewer,
    workout: Workout,
    starts_at: datetime,
    classes: Sequence[StreamedClass],
    done: Mapping[int, Done],
    speed: Speed | None,
    plan: Asked,
    table: CreditTable,
    above_one: bool = False,
    has_forecast: bool = False,
) -> Remarked:
    """Remarks for a coach; none for others. ``classes`` are those before, newest first;
    ``plan`` is what the group should do of the workout. A forecast says better than usual
    seconds what the cap is to the group, and says it itself."""
    if not access.may_manage_gym(viewer) or viewer is None:
        return Remarked((), ())
    course = Course(workout)
    own_speed = speed.value if speed else None
    reps = by_movement(course, plan.counts)
    volumes = _volumes(viewer, reps, done)
    seen = {movement for each in done.values() for movement in each.reps}
    seconds = seconds_by_pattern(workout, plan.reached)
    worked = _worked(classes, workout, starts_at, own_speed or SAME)
    remarks = [
        *(r for volume in volumes for r in volume_jump(volume, is_guess=plan.is_guess)),
        *new_here(reps, seen, len(classes)),
        *pattern_again(seconds, worked),
        *([] if has_forecast else cap_remarks(workout, own_speed)),
        *no_easier_option(course),
        *no_credit(course, table, above_one=above_one),
    ]
    return Remarked(tuple(remarks), tuple(volumes))


def _volumes(
    viewer: Membership, planned: Mapping[str, int], done: Mapping[int, Done]
) -> list[Compared]:
    names = {
        member.pk: access.shown_name(viewer, member)
        for member in Membership.objects.filter(gym=viewer.gym_id, left_at__isnull=True)
    }
    found = []
    for movement, reps in planned.items():
        by_member: dict[int, list[int]] = {}
        for each in done.values():
            for member, count in each.reps.get(movement, {}).items():
                if count and member in names:
                    by_member.setdefault(member, []).append(count)
        past = [Past(names[member], tuple(counts)) for member, counts in by_member.items()]
        compared = compare(movement, reps, past) if reps else None
        if compared:
            found.append(compared)
    return sorted(found, key=lambda c: (-c.ratio, c.movement))


def _worked(
    classes: Iterable[StreamedClass], workout: Workout, starts_at: datetime, speed: Fraction
) -> list[Worked]:
    """The classes right before by what they worked, the same one of a day only once."""
    found: list[Worked] = []
    seen: set[tuple[object, object]] = set()
    for streamed in classes:
        if streamed.starts_at < starts_at - WITHIN:
            break
        zone = ZoneInfo(streamed.gym.timezone)
        day = streamed.starts_at.astimezone(zone).date()
        written = prescription(streamed.workout.text)
        is_this_one = day == starts_at.astimezone(zone).date() and written.blocks == workout.blocks
        key = day, written.blocks
        if key in seen or is_this_one:
            continue
        seen.add(key)
        name = f"{streamed.workout.title}, {day:%-d %b}"
        found.append(Worked(name, pattern_seconds(written, speed)))
    return found
