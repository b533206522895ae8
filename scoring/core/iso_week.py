"""Weeks of the calendar as ISO 8601 counts them, and a clock time on a day of a zone.

A week runs from Monday to Sunday and belongs to the year that has its Thursday, so that
``2020-W53`` ends on 3 January 2021.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAYS = 7
_WRITTEN = re.compile(r"([0-9]{4})-?[Ww]([0-9]{2})")


@dataclass(frozen=True, slots=True, order=True)
class IsoWeek:
    """One week, named by its ``monday``. Make one by ``of`` or ``read``."""

    monday: date

    @classmethod
    def of(cls, day: date) -> IsoWeek:
        """The week that a day lies in. Raises ``ValueError`` outside the years 1000 to 9998."""
        if not 1000 <= day.year <= 9998:
            raise ValueError("Weeks are known from the year 1000 to 9998.")
        return cls(day - timedelta(days=day.weekday()))

    @classmethod
    def read(cls, text: str) -> IsoWeek:
        """A week written ``2026-W48``. Raises ``ValueError`` for what is no week."""
        written = _WRITTEN.fullmatch(text.strip())
        if written is None:
            raise ValueError("A week is written like 2026-W48.")
        year, number = int(written[1]), int(written[2])
        try:
            return cls.of(date.fromisocalendar(year, number, 1))
        except ValueError:
            raise ValueError(f"The year {year} has no week {number}.") from None

    def __str__(self) -> str:
        year, number, _ = self.monday.isocalendar()
        return f"{year:04}-W{number:02}"

    @property
    def days(self) -> tuple[date, ...]:
        """Monday to Sunday."""
        return tuple(self.monday + timedelta(days=n) for n in range(DAYS))

    def plus(self, weeks: int) -> IsoWeek:
        """So many weeks later, earlier if below 0."""
        return IsoWeek.of(self.monday + timedelta(days=DAYS * weeks))


def local_moment(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """The moment at which a zone's clocks show ``clock`` on ``day``, in UTC.

    Where clocks are put back and show a time twice, it is the first of the two. Where they
    are put forward past it, it is as long after the last full minute before the change as
    ``clock`` says: 02:30 where 02:00 becomes 03:00 is 03:30.
    """
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


def is_skipped(day: date, clock: time, zone: ZoneInfo) -> bool:
    """Whether the zone's clocks never show this time on this day."""
    shown = local_moment(day, clock, zone).astimezone(zone)
    return (shown.date(), shown.time()) != (day, clock)


def same_clock(moment: datetime, days: int, zone: ZoneInfo) -> datetime:
    """So many days later at the same time on the zone's clocks, in UTC.

    A class at 18:00 stays at 18:00 when clocks are changed in between.
    """
    local = moment.astimezone(zone)
    return local_moment(local.date() + timedelta(days=days), local.time(), zone)
