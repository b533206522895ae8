"""Copying a week of classes into another: what would be made, and what is there already."""

from __future__ import annotations

import enum
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from .iso_week import IsoWeek, is_skipped, local_moment


class Standing(enum.Enum):
    """What a copy would find in the other week."""

    NEW = "new"
    THERE = "there"
    OTHER_TIME = "other time"


@dataclass(frozen=True, slots=True)
class Planned:
    """A class of a week: its ``key``, its ``workout``'s key and when it starts, aware."""

    key: int
    workout: int
    starts_at: datetime


@dataclass(frozen=True, slots=True)
class Copy:
    """Where a class would go. ``there`` is the class in the way: with the same workout at
    the same moment (``THERE``), or on the same day at another (``OTHER_TIME``).

    ``is_shifted`` says that clocks jump over its time on that day, so that it comes later.
    """

    key: int
    starts_at: datetime
    standing: Standing
    there: Planned | None
    is_shifted: bool


def copies(
    source: Iterable[Planned], target: Iterable[Planned], week: IsoWeek, zone: ZoneInfo
) -> tuple[Copy, ...]:
    """Every class of ``source`` on its weekday of ``week`` at its time on the zone's clocks.

    Each class of ``target``, those of that week already, stands in the way of one at most,
    so that two alike at one time stay two.
    """
    free = list(target)
    wanted = []
    for row in sorted(source, key=lambda row: (row.starts_at, row.key)):
        local = row.starts_at.astimezone(zone)
        day = week.days[local.weekday()]
        moment = local_moment(day, local.time(), zone)
        wanted.append((row, moment, is_skipped(day, local.time(), zone)))
    exact: dict[int, Planned] = {}
    for row, moment, _ in wanted:
        found = next((t for t in free if t.workout == row.workout and t.starts_at == moment), None)
        if found:
            free.remove(found)
            exact[row.key] = found
    made = []
    for row, moment, shifted in wanted:
        there = exact.get(row.key)
        standing = Standing.THERE if there else Standing.NEW
        if there is None:
            there = next((t for t in free if _same_day(t, row.workout, moment, zone)), None)
            if there:
                free.remove(there)
                standing = Standing.OTHER_TIME
        made.append(Copy(row.key, moment, standing, there, shifted))
    return tuple(made)


def _same_day(other: Planned, workout: int, moment: datetime, zone: ZoneInfo) -> bool:
    day = moment.astimezone(zone).date()
    return other.workout == workout and other.starts_at.astimezone(zone).date() == day
