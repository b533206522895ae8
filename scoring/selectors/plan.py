"""A week's plan: days in the gym's time zone, their classes, and what they ask of the body."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scoring import access
from scoring.core.iso_week import IsoWeek, local_moment
from scoring.core.movements import Pattern
from scoring.core.patterns import RUNNING, Run, Work, heaviest, runs, work_by_pattern
from scoring.core.prescription import clock_text
from scoring.core.week_copy import Copy, Planned, copies
from scoring.mapping import prescription
from scoring.models import State, StreamedClass

from .classes import classes_for


@dataclass(frozen=True, slots=True)
class PlannedClass:
    """A class in a plan. ``local`` is its start on the gym's clocks, ``cap`` as text."""

    streamed: StreamedClass
    local: datetime
    cap: str
    work: Mapping[Pattern, Work]

    @property
    def is_draft(self) -> bool:
        return self.streamed.state == State.DRAFT


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """A day of the week, its classes by time, and the most one of them asks by pattern."""

    date: date
    classes: list[PlannedClass]
    work: Mapping[Pattern, Work]


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """Seven days. ``runs`` are patterns on days running that touch the week; the two
    days before it and after it are looked at too."""

    week: IsoWeek
    zone: ZoneInfo
    days: list[PlannedDay]
    runs: list[Run]

    @property
    def patterns(self) -> list[Pattern]:
        """Those that any day of the week asks for."""
        return [p for p in Pattern if any(p in day.work for day in self.days)]


def zone_of(viewer: access.Viewer) -> ZoneInfo:
    """The gym's time zone: a plan is the gym's, wherever the coach travels."""
    assert viewer is not None
    return ZoneInfo(viewer.gym.timezone)


def week_plan(*, viewer: access.Viewer, week: IsoWeek) -> WeekPlan:
    """The plan of a week, drafts too for those who see them."""
    zone = zone_of(viewer)
    beside = timedelta(days=RUNNING - 1)
    first, last = week.days[0] - beside, week.days[-1] + beside
    by_day: dict[date, list[PlannedClass]] = {}
    for streamed in _between(viewer, first, last, zone):
        planned = _planned(streamed, zone)
        by_day.setdefault(planned.local.date(), []).append(planned)
    asked = {day: heaviest(row.work for row in rows) for day, rows in by_day.items()}
    days = [PlannedDay(d, by_day.get(d, []), asked.get(d, {})) for d in week.days]
    found = [run for run in runs(asked) if set(run.days) & set(week.days)]
    return WeekPlan(week, zone, days, found)


def _between(viewer: access.Viewer, first: date, last: date, zone: ZoneInfo) -> list[StreamedClass]:
    return list(
        classes_for(viewer=viewer)
        .filter(
            starts_at__gte=local_moment(first, time(0), zone),
            starts_at__lt=local_moment(last + timedelta(days=1), time(0), zone),
        )
        .order_by("starts_at", "pk")
    )


def _planned(streamed: StreamedClass, zone: ZoneInfo) -> PlannedClass:
    workout = prescription(streamed.workout.text)
    limit = workout.time_limit
    return PlannedClass(
        streamed,
        streamed.starts_at.astimezone(zone),
        clock_text(limit) if limit else "",
        work_by_pattern(workout),
    )


def copy_preview(
    *, viewer: access.Viewer, source: IsoWeek, target: IsoWeek
) -> list[tuple[StreamedClass, Copy]]:
    """What copying a week into another would make of each of its classes, in time's order."""
    zone = zone_of(viewer)
    rows = {row.pk: row for row in _between(viewer, source.days[0], source.days[-1], zone)}
    there = _between(viewer, target.days[0], target.days[-1], zone)
    made = copies(
        [Planned(row.pk, row.workout_id, row.starts_at) for row in rows.values()],
        [Planned(row.pk, row.workout_id, row.starts_at) for row in there],
        target,
        zone,
    )
    return [(rows[copy.key], copy) for copy in made]
