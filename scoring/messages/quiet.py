"""Hours, days and weeks on a member's own clock, also when the clock is changed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from scoring.core.iso_week import IsoWeek

MINUTE = timedelta(minutes=1)


def is_quiet(moment: datetime, zone: ZoneInfo, start: time, end: time) -> bool:
    """Whether the clock on the wall stands in the quiet hours; ``end`` is no longer quiet."""
    clock = moment.astimezone(zone).time()
    if start <= end:
        return start <= clock < end
    return clock >= start or clock < end


def first_loud(moment: datetime, zone: ZoneInfo, start: time, end: time) -> datetime:
    """The moment itself, or the first full minute after it that is not quiet, in UTC."""
    moment = moment.astimezone(UTC)
    if not is_quiet(moment, zone, start, end):
        return moment
    return _first_loud(moment.replace(second=0, microsecond=0), zone, start, end)


@lru_cache(maxsize=256)
def _first_loud(moment: datetime, zone: ZoneInfo, start: time, end: time) -> datetime:
    # Minute by minute: in the hour that is skipped or comes twice an end that is worked
    # out from the date would be an hour off, or not be there at all.
    while is_quiet(moment, zone, start, end):
        moment += MINUTE
    return moment


def day_start(day: date, zone: ZoneInfo) -> datetime:
    """When a day begins, in UTC. From it to the next day's it may be 23 or 25 hours."""
    return datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)


def week_bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """From when to when the ISO week of a day runs, in UTC; the second is no part of it."""
    week = IsoWeek.of(day)
    return day_start(week.monday, zone), day_start(week.plus(1).monday, zone)
