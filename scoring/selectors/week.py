"""What is coming: today's classes and those of the next seven days, day by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from scoring import access
from scoring.mapping import prescription
from scoring.models import StreamedClass

from .classes import classes_for

AHEAD = 7
WARM_UP = timedelta(minutes=15)
UNSAID = timedelta(minutes=60)


@dataclass(frozen=True, slots=True)
class Day:
    """One day with its classes, the soonest first."""

    date: date
    classes: list[StreamedClass]


def lasts(streamed_class: StreamedClass) -> timedelta:
    """How long to keep free: the workout's clock and a warm-up, an hour where it has none."""
    limit = prescription(streamed_class.workout.text).time_limit
    return UNSAID if limit is None else timedelta(seconds=limit) + WARM_UP


def week_ahead(*, viewer: access.Viewer, zone: ZoneInfo, now: datetime) -> list[Day]:
    """Days that have classes, today first, those of today that have begun included.

    Days are those of ``zone``; one on which clocks change has 23 or 25 hours.
    """
    today = now.astimezone(zone).date()
    found = (
        classes_for(viewer=viewer)
        .filter(
            starts_at__gte=datetime.combine(today, time.min, tzinfo=zone),
            starts_at__lt=datetime.combine(today + timedelta(days=AHEAD + 1), time.min, zone),
        )
        .order_by("starts_at", "pk")
    )
    days = groupby(found, key=lambda row: row.starts_at.astimezone(zone).date())
    return [Day(day, list(rows)) for day, rows in days]
