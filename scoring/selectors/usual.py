"""Who usually comes to a class like this one, and by what rule that is said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, OuterRef

from scoring.models import Result, Score, State, StreamedClass

LAST = 6
"""So many classes are looked at (common practice, no source)."""

ENOUGH = 3
"""From so many of the same day and hour on, others are not looked at."""

NEAR_MINUTES = 90
"""How far apart two classes may begin and still be at the same hour of the week."""

LOOK_BACK = 60
"""So many classes before are read to find those at the same time of the week."""


@dataclass(frozen=True, slots=True)
class Usual:
    """Who logged in at least ``least`` of ``of`` classes before: those at the same time of
    the week if ``is_same_time``, else the gym's last ones. Nobody where ``of`` is below 2."""

    times: Mapping[int, int]
    """In how many of those classes, by member."""
    least: int
    of: int
    is_same_time: bool

    @property
    def members(self) -> frozenset[int]:
        return frozenset(self.times)

    @property
    def rule(self) -> str:
        """The rule in words."""
        if self.of < 2:
            return "There were too few classes before to tell who usually comes."
        return f"Usually here: logged in at least {self.least} of {self.which}."

    @property
    def which(self) -> str:
        """Which classes were looked at, in words."""
        kind = "classes at this time of the week" if self.is_same_time else "classes"
        return f"the last {self.of} {kind}"


def looked_at(
    starts_at: datetime, before: Sequence[tuple[int, datetime]], zone: ZoneInfo
) -> tuple[list[int], bool]:
    """Which classes say who usually comes to one that starts at a moment, and whether they
    are those at the same time of the week. ``before`` are those before it in which anybody
    logged, the newest first."""
    here = starts_at.astimezone(zone)
    same = [pk for pk, at in before if _is_same_time(here, at.astimezone(zone))]
    if len(same) >= ENOUGH:
        return same[:LAST], True
    return [pk for pk, _ in before][:LAST], False


def least_of(number: int) -> int:
    """In how many of so many classes one must have logged to be usually there."""
    return max(2, -(-number // 2))


def usual(streamed_class: StreamedClass) -> Usual:
    """Who usually comes, from the classes before this one in which anybody logged.

    A member of the Tuesday class isn't missed on Saturday, so classes within an hour and a
    half of the same hour of the same day of the week are looked at, as soon as there were three of
    them. At least half of the last six count as usual, and never one alone. The last class is
    not looked at while it is open, as who hasn't logged there yet may still do so, but where a
    gym closes none.
    """
    logged = Exists(Score.objects.filter(streamed_class=OuterRef("pk")))
    found = list(
        StreamedClass.objects.filter(
            logged,
            gym=streamed_class.gym_id,
            starts_at__lt=streamed_class.starts_at,
        )
        .exclude(state=State.DRAFT)
        .order_by("-starts_at", "-pk")
        .values_list("pk", "starts_at", "state")[:LOOK_BACK]
    )
    if found and found[0][2] != State.CLOSED and any(one[2] == State.CLOSED for one in found):
        del found[0]
    before = [(pk, at) for pk, at, _ in found]
    zone = ZoneInfo(streamed_class.gym.timezone)
    classes, is_same_time = looked_at(streamed_class.starts_at, before, zone)
    least = least_of(len(classes))
    times = (
        Result.objects.filter(streamed_class__in=classes, score__isnull=False)
        .values_list("member")
        .annotate(times=Count("pk"))
        .filter(times__gte=least)
    )
    return Usual(dict(times.values_list("member", "times")), least, len(classes), is_same_time)


def _is_same_time(one: datetime, other: datetime) -> bool:
    """Whether two moments, both on the gym's clock, are near each other in the week."""
    week = 7 * 24 * 60
    apart = (_minute_of_week(one) - _minute_of_week(other)) % week
    return min(apart, week - apart) <= NEAR_MINUTES


def _minute_of_week(moment: datetime) -> int:
    return (moment.weekday() * 24 + moment.hour) * 60 + moment.minute
