"""The rows that a comparison is from, read in a handful of queries whatever their number."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from fractions import Fraction
from math import log
from zoneinfo import ZoneInfo

from members.models import Membership
from scoring.mapping import course, course_of
from scoring.models import Score, State, StreamedClass

from .compare_asked import Asked
from .usual import LOOK_BACK, least_of, looked_at

FRESH = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Told:
    """One member's result in a class. ``pace`` is the logarithm of reference seconds of work
    a second, ``None`` where the class has no clock or nothing was done."""

    member: int
    prescribed: bool
    effort: int | None
    pace: float | None


@dataclass(frozen=True, slots=True)
class Held:
    """A class that was held: who usually came to such a class, and who logged. ``is_fresh``
    while it is open and began within a day, so that more may well log."""

    streamed: StreamedClass
    starts: datetime
    usual: frozenset[int]
    told: tuple[Told, ...]
    is_fresh: bool

    @property
    def logged(self) -> frozenset[int]:
        return frozenset(told.member for told in self.told)


def read_held(*, viewer: Membership, asked: Asked, now: datetime) -> list[Held]:
    """Classes of the viewer's gym in the period that have begun, the oldest first.

    Four queries: classes, those just before them, results, and who has left since.
    """
    gym = viewer.gym
    zone = ZoneInfo(gym.timezone)
    start = datetime.combine(asked.first, time.min, zone)
    end = datetime.combine(asked.last + timedelta(days=1), time.min, zone)
    held = StreamedClass.objects.filter(gym=gym).exclude(state=State.DRAFT)
    inside = list(
        held.filter(starts_at__gte=start, starts_at__lt=end, starts_at__lte=now)
        .select_related("workout", "coach")
        .order_by("starts_at", "pk")
    )
    if not inside:
        return []
    earlier = held.filter(starts_at__lt=start).order_by("-starts_at", "-pk")
    before = list(earlier.values_list("pk", "starts_at")[:LOOK_BACK])[::-1]
    told, there = _results(inside, [pk for pk, _ in before])
    gone = Membership.objects.filter(gym=gym, left_at__isnull=False)
    left = {pk: at for pk, at in gone.values_list("pk", "left_at") if at is not None}
    times = before + [(row.pk, row.starts_at) for row in inside]
    found = []
    for row in inside:
        so_far = [(pk, at) for pk, at in times if at < row.starts_at and pk in there]
        recent, _ = looked_at(row.starts_at, so_far[::-1][:LOOK_BACK], zone)
        counts = Counter(member for pk in recent for member in there[pk])
        least = least_of(len(recent))
        usual = frozenset(
            member
            for member, count in counts.items()
            if count >= least and not (member in left and left[member] <= row.starts_at)
        )
        starts = row.starts_at.astimezone(zone)
        is_fresh = row.state == State.OPEN and now - row.starts_at < FRESH
        found.append(Held(row, starts, usual, tuple(told.get(row.pk, ())), is_fresh))
    return found


def _results(
    inside: list[StreamedClass], before: list[int]
) -> tuple[dict[int, list[Told]], dict[int, list[int]]]:
    """By class: what members told, and who was there, also in the classes before."""
    seconds = {row.pk: _seconds_a_rep(row) for row in inside}
    told: dict[int, list[Told]] = {}
    there: dict[int, list[int]] = {}
    ids = [*seconds, *before]
    rows = Score.objects.filter(streamed_class__in=ids).values_list(
        "streamed_class", "result__member", "as_prescribed", "fact__effort", "performance"
    )
    for class_id, member, prescribed, effort, performance in rows:
        there.setdefault(class_id, []).append(member)
        if class_id not in seconds:
            continue
        a_rep, pace = seconds[class_id], None
        top, _, bottom = performance.partition("/")
        if a_rep and top != "0":
            pace = log(int(top)) - log(int(bottom or 1)) + log(a_rep)
        told.setdefault(class_id, []).append(Told(member, prescribed, effort, pace))
    return told, there


def _seconds_a_rep(row: StreamedClass) -> float:
    """Reference seconds of the workout's usual rep, which bring paces in different workouts
    near each other; 0 where there is no clock."""
    if not course_of(row).limit:
        return 0.0
    if row.weighted:
        return 1.0
    weighed = course(row.workout.text, True)
    sets = (*weighed.sets, *weighed.tail)
    reps = sum(each.reps for each in sets)
    tenths = sum(each.reps * each.line.weight for each in sets)
    return float(Fraction(tenths, 10 * reps)) if tenths else 0.0
