"""What a gym's last weeks hold, gathered by a few queries for a list of whom to follow up.

Twelve weeks are looked at. The number of queries is the same for a gym of 15 and of 400.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import exp, log
from zoneinfo import ZoneInfo

from django.db.models import Max, Q

from members.models import Gym, Membership
from scoring.core.shrinkage import shrink, within_variance
from scoring.mapping import course_of
from scoring.models import Pain, Score, State, StreamedClass

USUAL_VARIANCE = 0.15**2
"""Of the logarithm of a member's pace against their class from one class to the next,
where a gym has too few results to tell: about 15 % (common practice, no source)."""

WINDOW = timedelta(weeks=12)
FRESH_DAYS = 14
"""For how long after a class what came up in it is on the gym's list."""

_FIELDS = (
    "pk", "result_id", "result__member_id", "streamed_class_id", "key", "tie_key",
    "performance", "adjusted_text", "fact__mark", "fact__options", "fact__effort",
)  # fmt: skip


def told_mark(mark: str, options: str, adjusted: str) -> str:
    """A mark in words; what was done otherwise is compared by the adjusted one, so it is told."""
    return f"{mark} (adjusted {adjusted})" if options else mark


@dataclass(frozen=True, slots=True)
class Row:
    """A result with its score."""

    pk: int
    result_id: int
    member_id: int
    class_id: int
    key: int
    tie_key: int
    performance: str
    adjusted: str
    mark: str
    options: str
    effort: int | None

    @property
    def told(self) -> str:
        """The mark in words."""
        return told_mark(self.mark, self.options, self.adjusted)

    @property
    def order(self) -> tuple[int, int]:
        """Greater is better, as everywhere."""
        return self.key, -self.tie_key


@dataclass(slots=True)
class Facts:
    """``classes`` and ``rows`` of the window until ``upto``, the oldest first; ``fresh`` are
    those classes whose occasions are on the list."""

    gym: Gym
    upto: datetime
    classes: dict[int, StreamedClass]
    rows: list[Row]
    fresh: dict[int, StreamedClass]
    by_class: dict[int, list[Row]] = field(default_factory=dict)
    by_member: dict[int, list[Row]] = field(default_factory=dict)
    _noise: float = 0.0
    _indexes: dict[int, dict[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for row in self.rows:
            self.by_class.setdefault(row.class_id, []).append(row)
            self.by_member.setdefault(row.member_id, []).append(row)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.gym.timezone)

    def day(self, moment: datetime) -> date:
        """The day of a moment on the gym's clock."""
        return moment.astimezone(self.zone).date()

    def held_between(self, after: datetime, before: datetime) -> int:
        """Classes of the window that began between two moments, neither included."""
        return sum(after < streamed.starts_at < before for streamed in self.classes.values())

    def place(self, row: Row) -> tuple[int, int]:
        """The place of a result in its class, shared ones alike, and how many there are."""
        there = self.by_class[row.class_id]
        return 1 + sum(other.order > row.order for other in there), len(there)

    def is_timed(self, row: Row) -> bool:
        return bool(course_of(self.classes[row.class_id]).limit)

    def index(self, row: Row) -> int | None:
        """The pace as a percentage of the class's middle (geometric mean), drawn towards it as
        far as one result of a class this small can be believed, by the classes of the window."""
        if row.class_id not in self._indexes:
            self._indexes[row.class_id] = self._class_indexes(row.class_id)
        return self._indexes[row.class_id].get(row.member_id)

    def _class_indexes(self, class_id: int) -> dict[int, int]:
        self._noise = self._noise or self._find_noise()
        logs = _logs(self.by_class[class_id])
        if not logs:
            return {}
        found = shrink(list(logs.values()), self._noise)
        return {
            member_id: round(100 * exp(value - found.mean))
            for member_id, value in zip(logs, found.values, strict=True)
        }

    def _find_noise(self) -> float:
        by_member: dict[object, list[float]] = {}
        for rows in self.by_class.values():
            logs = _logs(rows)
            if not logs:
                continue
            mean = sum(logs.values()) / len(logs)
            for member_id, value in logs.items():
                by_member.setdefault(member_id, []).append(value - mean)
        return within_variance(by_member) or USUAL_VARIANCE


def _logs(rows: Iterable[Row]) -> dict[int, float]:
    paces = ((row.member_id, float(Fraction(row.performance))) for row in rows)
    return {member_id: log(pace) for member_id, pace in paces if pace > 0}


def facts_of(*, gym: Gym, streamed_class: StreamedClass | None, now: datetime) -> Facts:
    """What the list of a gym, or of one of its classes, is made of."""
    upto = streamed_class.starts_at if streamed_class else now
    held = {
        streamed.pk: streamed
        for streamed in StreamedClass.objects.filter(
            gym=gym, starts_at__gt=upto - WINDOW, starts_at__lte=min(upto, now)
        )
        .exclude(state=State.DRAFT)
        .select_related("workout", "gym")
        .order_by("starts_at", "pk")
    }
    if streamed_class is not None:
        fresh = {pk: held[pk] for pk in held if pk == streamed_class.pk}
    else:
        since = now - timedelta(days=FRESH_DAYS)
        fresh = {pk: streamed for pk, streamed in held.items() if streamed.starts_at >= since}
    rows = [
        Row(*values)
        for values in Score.objects.filter(
            streamed_class__gym=gym,
            streamed_class__starts_at__gt=upto - WINDOW,
            streamed_class__starts_at__lte=min(upto, now),
        )
        .exclude(streamed_class__state=State.DRAFT)
        .order_by("streamed_class__starts_at", "streamed_class", "pk")
        .values_list(*_FIELDS)
    ]
    return Facts(gym=gym, upto=upto, classes=held, rows=rows, fresh=fresh)


def last_before(facts: Facts) -> dict[int, datetime]:
    """When members last logged in a class before the window."""
    return dict(
        Score.objects.filter(
            streamed_class__gym=facts.gym, streamed_class__starts_at__lte=facts.upto - WINDOW
        )
        .values_list("result__member")
        .annotate(last=Max("streamed_class__starts_at"))
        .values_list("result__member", "last")
    )


@dataclass(frozen=True, slots=True)
class Earlier:
    """An earlier time of a workout that came up again."""

    starts_at: datetime
    order: tuple[int, int]
    mark: str
    """As told: with the adjusted mark behind it where something was done otherwise."""


def earlier_times(facts: Facts) -> dict[tuple[int, str, bool], list[Earlier]]:
    """All times that members did a fresh workout, by member, workout and weighing."""
    found: dict[tuple[int, str, bool], list[Earlier]] = {}
    rows = Score.objects.filter(
        streamed_class__gym=facts.gym,
        streamed_class__workout__fingerprint__in={
            streamed.workout.fingerprint for streamed in facts.fresh.values()
        },
        streamed_class__starts_at__lt=facts.upto,
        result__member__in={
            row.member_id for pk in facts.fresh for row in facts.by_class.get(pk, [])
        },
    )
    for member, workout, weighted, starts_at, key, tie_key, *told in rows.values_list(
        "result__member", "streamed_class__workout__fingerprint", "streamed_class__weighted",
        "streamed_class__starts_at", "key", "tie_key",
        "fact__mark", "fact__options", "adjusted_text",
    ):  # fmt: skip
        time = Earlier(starts_at, (key, -tie_key), told_mark(*told))
        found.setdefault((member, workout, weighted), []).append(time)
    return found


def told_pains(facts: Facts, *, since: datetime) -> dict[int, list[Pain]]:
    """Pains of the fresh classes and those told since, by member, the newest first."""
    found: dict[int, list[Pain]] = {}
    rows = (
        Pain.objects.filter(streamed_class__gym=facts.gym)
        .filter(Q(told_at__gte=since) | Q(streamed_class__in=list(facts.fresh)))
        .select_related("streamed_class__workout")
        .order_by("-told_at", "-pk")
    )
    for pain in rows:
        found.setdefault(pain.member_id, []).append(pain)
    return found


def active_members(gym: Gym) -> dict[int, Membership]:
    """Everybody in a gym now, by key, in the order of names."""
    return {
        member.pk: member
        for member in Membership.objects.filter(gym=gym, left_at__isnull=True).order_by(
            "display_name", "pk"
        )
    }
