"""A member's level over time, for themselves and their coaches; and a class's effect."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from members.models import Membership
from scoring import access
from scoring.core.estimation.class_words import ClassEffect, Times, effect_of, times_of
from scoring.core.estimation.estimate import Spreads
from scoring.core.estimation.level_reading import MemberLevels, Reading, levels_of
from scoring.mapping import course, course_of
from scoring.models import Score, StreamedClass, Workout
from scoring.problems import refuse

from .estimates import Snapshot, latest

USUAL_MONTHS = 3
"""With when a level is compared, unless another day is asked for."""

EARLIEST = date(2000, 1, 1)
"""Earlier days to compare with are slips of the keyboard."""

STEP = 7.0
"""Days between points of a path where nothing was logged."""


def day_number(moment: datetime, zone: ZoneInfo) -> float:
    """The day of a moment on a gym's clock, as estimates count them."""
    return float(moment.astimezone(zone).date().toordinal())


@dataclass(frozen=True, slots=True)
class LevelPoint:
    """A level on a day; ``results`` is how many are from it, 0 for a day in between."""

    day: float
    date: date
    reading: Reading
    results: int


@dataclass(frozen=True, slots=True)
class LevelSeen:
    """A member's level today and how it came about.

    ``now`` is the typical member's, as wide as members differ, where ``results`` is 0.
    ``last`` is the day of the last result in it, ``away_since`` that of the last one by the
    clock, in it or not; ``until`` is when the last class in it began and ``later`` counts the
    member's results after that, which are not in it yet. ``since``
    is the day asked to compare with; ``compared`` the one that could be, which is that of the
    first result where that came later, ``None`` where there is nothing to compare with.
    ``improved`` is the probability of being faster now, and ``risen`` by how many percent the
    level is higher than on that day. ``points`` are the oldest first and end today.
    ``is_settled`` is false where the estimate's figures had not come to rest.
    """

    member: Membership
    today: date
    now: Reading
    results: int
    last: date | None
    away_since: date | None
    until: datetime | None
    later: int
    since: date
    compared: date | None
    improved: float | None
    risen: float | None
    points: tuple[LevelPoint, ...]
    path: MemberLevels
    is_settled: bool

    @property
    def first(self) -> date | None:
        """The day of the first result in it."""
        return None if self.path.first is None else _date(self.path.first)

    def on(self, moment: datetime) -> Reading | None:
        """The level at a moment, ``None`` before the first result and after the last."""
        day = day_number(moment, ZoneInfo(self.member.gym.timezone))
        return None if self.path.last is None or day > self.path.last else self.path.at(day)


def usual_since(today: date) -> date:
    """The same day three months ago, or the last of that month."""
    month = today.month - USUAL_MONTHS
    year, month = (today.year, month) if month > 0 else (today.year - 1, month + 12)
    for day in range(today.day, 0, -1):
        try:
            return date(year, month, day)
        except ValueError:
            continue
    raise AssertionError("every month has a first day")


def read_since(text: str, today: date) -> date:
    """The day to compare with; three months ago where nothing was typed. Raises ``Refused``."""
    if not text.strip():
        return usual_since(today)
    try:
        found = date.fromisoformat(text.strip())
    except ValueError:
        raise refuse("since", f"“{text[:40]}” is no day.", "Write it like 2026-09-01.") from None
    if found >= today:
        raise refuse("since", "That day is not in the past.", "Pick one before today.")
    if found < EARLIEST:
        raise refuse(
            "since", "No class was as early as that.", f"Pick one from {EARLIEST} to yesterday."
        )
    return found


def today_of(member: Membership, now: datetime) -> date:
    """The day on the clock of a member's gym."""
    return now.astimezone(ZoneInfo(member.gym.timezone)).date()


def level_of(
    *, member: Membership, viewer: access.Viewer, now: datetime, since: date | None = None
) -> LevelSeen | None:
    """A member's level by the gym's last estimate; ``None`` for who may not see their history."""
    if not access.may_see_history(viewer, member):
        return None
    zone = ZoneInfo(member.gym.timezone)
    snapshot = latest(gym_id=member.gym_id)
    path = _path(snapshot, member)
    today = now.astimezone(zone).date()
    since = since or usual_since(today)
    number = float(today.toordinal())
    if path.last is not None:
        number = max(number, path.last)
    asked = float(since.toordinal())
    compared = None if path.first is None else max(asked, path.first)
    improved = risen = None
    if compared is not None and path.last is not None and compared < path.last:
        improved = path.improved(compared, number)
        risen = 100 * (path.now(number).level / path.now(compared).level - 1)
    last, later = _logged(member, snapshot)

    return LevelSeen(
        member=member,
        today=today,
        now=path.now(number),
        results=path.results,
        last=None if path.last is None else _date(path.last),
        away_since=None if last is None else last.astimezone(zone).date(),
        until=snapshot.until if snapshot else None,
        later=later,
        since=since,
        compared=None if compared is None or improved is None else _date(compared),
        improved=improved,
        risen=risen,
        points=tuple(
            LevelPoint(day, _date(day), reading, results)
            for day, reading, results in _points(path, number)
        ),
        path=path,
        is_settled=snapshot is None or snapshot.converged,
    )


def _date(day: float) -> date:
    return date.fromordinal(int(day))


def _path(snapshot: Snapshot | None, member: Membership) -> MemberLevels:
    if snapshot is None:
        return MemberLevels((), (), (), (), (), (), Spreads())
    estimate = snapshot.estimate
    return levels_of(estimate.levels, estimate.spreads, snapshot.member_at(member.pk))


def _points(path: MemberLevels, number: float) -> list[tuple[float, Reading, int]]:
    counts = dict(zip(path.days, path.counts, strict=True))
    return [(day, reading, counts.get(day, 0)) for day, reading in path.path(number, STEP)]


def _logged(member: Membership, snapshot: Snapshot | None) -> tuple[datetime | None, int]:
    """When a member last logged by the clock, and how many such results came after the
    estimate's last class. A strength piece and no rep at all tell nothing of a level."""
    scores = Score.objects.filter(result__member=member, raw_reps__gt=0)
    logged = scores.order_by("streamed_class__starts_at").values_list(
        "streamed_class__starts_at", "streamed_class__workout", "streamed_class__weighted"
    )
    texts = dict(
        Workout.objects.filter(pk__in={workout for _, workout, _ in logged}).values_list(
            "pk", "text"
        )
    )
    times = [at for at, workout, weighted in logged if course(texts[workout], weighted).limit]
    until = snapshot.until if snapshot else None
    later = len(times) if until is None else sum(time > until for time in times)
    return (times[-1] if times else None), later


@dataclass(frozen=True, slots=True)
class ClassEffectSeen:
    """What was common to a class beyond its movements. ``effect`` is ``None`` where the
    estimate doesn't hold the class; ``until`` is when the last class in the estimate began,
    and ``known`` counts all its results, of other classes too. ``times`` are other times of
    the same workout, where there are any."""

    effect: ClassEffect | None
    until: datetime | None
    known: int
    times: Times | None = None
    is_settled: bool = True


def class_effect_of(
    *, streamed_class: StreamedClass, viewer: access.Viewer
) -> ClassEffectSeen | None:
    """For who may manage the class; ``None`` for others, and for a class without a clock."""
    if not access.may_manage(viewer, streamed_class) or not course_of(streamed_class).limit:
        return None
    snapshot = latest(gym_id=streamed_class.gym_id)
    if snapshot is None:
        return ClassEffectSeen(None, None, 0)
    place = snapshot.class_at(streamed_class.pk)
    if place is None:
        return ClassEffectSeen(None, snapshot.until, snapshot.results)
    same = Score.objects.filter(
        streamed_class__gym=streamed_class.gym_id,
        streamed_class__workout__fingerprint=streamed_class.workout.fingerprint,
    ).values_list("streamed_class", "result")
    counts = Counter(pk for pk, result in same if snapshot.result_at(result) is not None)
    known = counts.pop(streamed_class.pk, 0)
    own = _effect(snapshot, place)
    others = {pk: at for pk in sorted(counts) if (at := snapshot.class_at(pk)) is not None}
    return ClassEffectSeen(
        effect_of(*own, known),
        snapshot.until,
        snapshot.results,
        times_of(
            own,
            [_effect(snapshot, at) for at in others.values()],
            sum(counts[pk] for pk in others),
        ),
        is_settled=snapshot.converged,
    )


def class_effects(
    *, classes: Iterable[StreamedClass], viewer: access.Viewer
) -> dict[int, ClassEffect]:
    """By key of those classes that the viewer may manage and their gym's estimate holds."""
    managed = [each.pk for each in classes if access.may_manage(viewer, each)]
    snapshot = latest(gym_id=viewer.gym_id) if viewer is not None and managed else None
    if snapshot is None:
        return {}
    held = {pk: at for pk in managed if (at := snapshot.class_at(pk)) is not None}
    logged = Score.objects.filter(streamed_class__in=held).values_list("streamed_class", "result")
    counts = Counter(pk for pk, result in logged if snapshot.result_at(result) is not None)
    return {pk: effect_of(*_effect(snapshot, at), counts[pk]) for pk, at in held.items()}


def _effect(snapshot: Snapshot, place: int) -> tuple[float, float]:
    """A class's effect in log time and its variance."""
    estimate = snapshot.estimate
    return float(estimate.effect[place]), float(estimate.effect_variance[place])
