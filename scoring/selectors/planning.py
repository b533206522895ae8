"""A planned class seen whole: what it asks for, of whom, with what, and what to say of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from scoring import access
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.core.gear import alternatives, can_do
from scoring.core.prescription import Workout
from scoring.core.reference import SAME
from scoring.core.remarks import Compared, Remark
from scoring.core.suggestions import LineSuggestions, suggest_options
from scoring.core.totals import (
    Asked,
    SideTotal,
    asked,
    by_movement,
    by_pattern,
    by_side,
    odd_words,
)
from scoring.models import CreditTableVersion, Setup

from .briefing import standards
from .forecasts import EARLIEST, LATEST, Foretold, foretold
from .past import Speed, classes_before, done_in, group_speed, used_options
from .remarks import remarked


@dataclass(frozen=True, slots=True)
class Needed:
    """Gear and the movements that need it. ``only_options`` if nothing as prescribed does."""

    gear: str
    movements: tuple[str, ...]
    only_options: bool


@dataclass(frozen=True, slots=True)
class Planned:
    """What a text comes to for a group.

    ``totals`` and ``patterns`` are reps; ``equipped`` of ``told_gear`` members can do all
    of it as prescribed or by an option with the gear they told of.
    """

    asked: Asked
    totals: Mapping[str, int]
    patterns: Mapping[str, int]
    sides: tuple[SideTotal, ...]
    odd: tuple[str, ...]
    gear: tuple[Needed, ...]
    told_gear: int
    equipped: int
    speed: Speed | None
    volumes: tuple[Compared, ...]
    remarks: tuple[Remark, ...]
    suggestions: tuple[LineSuggestions, ...]
    looked_at: int
    forecast: Foretold | None


def planned(
    *,
    viewer: access.Viewer,
    workout: Workout,
    starts_at: datetime,
    above_one: bool = False,
) -> Planned | None:
    """What to know of a plan, for a coach; ``None`` for others."""
    if not access.may_manage_gym(viewer) or viewer is None:
        return None
    starts_at = min(max(starts_at, EARLIEST), LATEST)
    classes = classes_before(viewer=viewer, before=starts_at)
    done = done_in(classes)
    speed = group_speed(done)
    newest = CreditTableVersion.objects.filter(gym=viewer.gym_id).order_by("-version").first()
    table = CreditTable.from_dict(newest.rules) if newest else CreditTable()
    course = Course(workout)
    forecast = foretold(viewer=viewer, workout=workout, starts_at=starts_at)
    plan = _as_forecast(asked(workout, speed.value if speed else SAME), course, forecast)
    said = remarked(
        viewer=viewer,
        workout=workout,
        starts_at=starts_at,
        classes=classes,
        done=done,
        speed=speed,
        plan=plan,
        table=table,
        above_one=above_one,
    )
    used = used_options(classes, done, [line.line.movement for line in course.lines])
    told, equipped = _equipped(viewer, course)
    return Planned(
        asked=plan,
        totals=by_movement(course, plan.counts),
        patterns=by_pattern(course, plan.counts),
        sides=by_side(course, plan.counts),
        odd=odd_words(course),
        gear=gear_needed(workout),
        told_gear=told,
        equipped=equipped,
        speed=speed,
        volumes=said.volumes,
        remarks=said.remarks,
        suggestions=suggest_options(course, used, table),
        looked_at=len(classes),
        forecast=forecast,
    )


def _as_forecast(plan: Asked, course: Course, forecast: Foretold | None) -> Asked:
    """What an AMRAP comes to where half of the group should be, once results have taught that;
    the group's own speed alone says it before."""
    if forecast is None or forecast.expected.held.is_prior or not course.is_endless:
        return plan
    raw = int(forecast.expected.told.middle[1])
    counts = course.line_reps(raw)
    return replace(plan, counts=counts, reached=counts, stopped=course.place(raw))


def gear_needed(workout: Workout) -> tuple[Needed, ...]:
    """Every piece of gear with what needs it, warm-up and cool-down included."""
    prescribed = {line.movement for block in workout.blocks for line in block.lines}
    by_gear: dict[str, list[str]] = {}
    for standard in standards(workout):
        for phrase in standard.gear:
            if alternatives(phrase):
                by_gear.setdefault(phrase, []).append(standard.name)
    needed = [
        Needed(phrase, tuple(names), prescribed.isdisjoint(names))
        for phrase, names in by_gear.items()
    ]
    return tuple(sorted(needed, key=lambda n: (n.only_options, n.gear)))


def _equipped(viewer: access.Viewer, course: Course) -> tuple[int, int]:
    """How many members told their gear, and how many of them can do every line some way."""
    assert viewer is not None
    listed = Setup.objects.filter(
        member__gym=viewer.gym_id, member__left_at__isnull=True, has_told_gear=True
    ).values_list("pieces", flat=True)
    ways = [
        {line.line.movement, *(option.movement for option in line.line.options)}
        for line in course.lines
    ]
    all_pieces = [frozenset(pieces) for pieces in listed]
    can = {
        pieces: all(any(can_do(name, pieces) for name in names) for names in ways)
        for pieces in set(all_pieces)
    }
    return len(all_pieces), sum(can[pieces] for pieces in all_pieces)
